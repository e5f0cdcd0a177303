//! What one part of a unit says of another: the level that has to be done first,
//! the choice that a cue belongs to.
//!
//! Not here: what each part is on its own.

use afterturn_core::plan::Id;

use super::{Index, Kind, Named};
use crate::settings::diagnostic::Diagnostic;
use crate::settings::reader::{Findings, nearest};
use crate::settings::sentence::{Sentence, say};
use crate::units::words::did_you_mean;

impl Index {
    fn level(&self, id: &Id) -> Option<&Named> {
        let mut levels = self.named.iter().filter(|one| one.kind == Kind::Level);
        levels.find(|one| one.is(id))
    }

    pub(super) fn firsts(&self, findings: &Findings) {
        for one in &self.named {
            let Some((first, span)) = &one.after else {
                continue;
            };
            let refuse = |message: Sentence, fix: Sentence| {
                findings.add(Diagnostic::mistake(span.clone(), message, fix));
            };
            let Some(level) = self.level(first) else {
                let ids = self.named.iter().filter(|one| one.kind == Kind::Level);
                let ids = ids.filter_map(|one| one.id.as_ref().map(|(id, _)| id.as_str()));
                let fix = match nearest(first.as_str(), ids) {
                    Some(meant) => did_you_mean(meant),
                    None => say!("id-of-level", "write the id of a level of this unit"),
                };
                refuse(
                    say!(
                        "no-first",
                        "there is no level `{id}` to do first",
                        id = first
                    ),
                    fix,
                );
                continue;
            };
            if self.waits_for_itself(one) {
                refuse(
                    say!(
                        "levels-wait",
                        "these levels wait for each other, so that none can be done first"
                    ),
                    say!("take-after-out", "take one `after` out"),
                );
                continue;
            }
            let lacking = one
                .grades
                .iter()
                .find(|grade| !level.grades.contains(*grade));
            if let Some(grade) = lacking {
                refuse(
                    say!(
                        "first-missing",
                        "grade {grade} has no `{id}`, which has to be done first",
                        grade = grade,
                        id = first
                    ),
                    say!(
                        "begin-later",
                        "let this begin later, or give `{id}` to grade {grade}",
                        grade = grade,
                        id = first
                    ),
                );
            }
        }
    }

    fn waits_for_itself(&self, start: &Named) -> bool {
        let mut at = start;
        // A longer chain than there are levels has come round.
        for _ in 0..=self.named.len() {
            let Some(next) = at.after.as_ref().and_then(|(id, _)| self.level(id)) else {
                return false;
            };
            at = next;
        }
        true
    }

    pub(super) fn owners(&self, findings: &Findings) {
        for cue in &self.named {
            let Some((owner, span)) = &cue.of else {
                continue;
            };
            let mut choices = self.named.iter().filter(|one| {
                one.station == cue.station && matches!(one.kind, Kind::Level | Kind::OtherWay)
            });
            if !choices.clone().any(|one| one.is(owner)) {
                let ids = choices.by_ref();
                let ids = ids.filter_map(|one| one.id.as_ref().map(|(id, _)| id.as_str()));
                let fix = match nearest(owner.as_str(), ids) {
                    Some(meant) => did_you_mean(meant),
                    None => say!(
                        "id-of-choice",
                        "write the id of a level or other way of this station"
                    ),
                };
                let message = say!(
                    "no-owner",
                    "this station has no level or other way `{id}`",
                    id = owner
                );
                findings.add(Diagnostic::mistake(span.clone(), message, fix));
            }
        }
    }
}
