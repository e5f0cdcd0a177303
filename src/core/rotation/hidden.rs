//! What must not be seen of a station, by capture time, because a group that is
//! not shown was there or may have been.
//!
//! A group is at its station once it has settled there, and anywhere in the gym
//! before: in the warm-up, on every walk and for as long as a walk takes where
//! one was cut short. So while it walks no station is shown. What is to come is
//! reckoned from the class as it would go on by itself, and is hidden before it
//! comes: a picture must not be on its way when somebody notices that it should
//! not be.
//!
//! Where a group is not shown at all, one of the others is covered too, another
//! at each turn, so that a covered screen points at nobody.
//!
//! Not here: hiding it.

use serde::{Deserialize, Serialize};

use super::clock::{Clock, Runs};
use super::groups::GroupNumber;
use super::history::{Stage, Stretch};
use crate::kernel::{CaptureUs, StationNumber};

/// A group covered for the sake of one stay.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Cover {
    pub(super) group: GroupNumber,
    /// The turn of that stay.
    pub(super) turn: u16,
    /// When it began to come.
    pub(super) from: CaptureUs,
    /// When it had left, once it has.
    pub(super) to: Option<CaptureUs>,
}

/// A stretch of capture time: its first moment, and the first after it, if that
/// is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// The first moment.
    pub from: CaptureUs,
    /// The first one after.
    pub to: Option<CaptureUs>,
}

/// After everything.
const NEVER: CaptureUs = CaptureUs(u64::MAX);

impl Clock {
    /// What must not be seen of a station, oldest first, without overlap.
    #[must_use]
    pub fn hidden(&self, station: StationNumber) -> Vec<Span> {
        if self.covers.is_empty() && self.not_shown.is_empty() {
            return Vec::new();
        }
        let foreseen = self.foreseen();
        let history = foreseen.history.all();
        let mut spans = Vec::new();
        for (i, stretch) in history.iter().enumerate() {
            let to = history.get(i + 1).map_or(NEVER, |next| next.from);
            foreseen.hidden_in(stretch, to, station, &mut spans);
        }
        joined(spans)
    }

    /// The class as it would go on if nobody pressed anything.
    fn foreseen(&self) -> Self {
        let mut clock = self.clone();
        while let (Runs::Until(ends), false) = (clock.runs, clock.is_done()) {
            clock.advance(ends);
        }
        clock
    }

    fn hidden_in(
        &self,
        stretch: &Stretch,
        to: CaptureUs,
        station: StationNumber,
        spans: &mut Vec<(CaptureUs, CaptureUs)>,
    ) {
        // Settled or not, a class that is over shows nothing at all.
        if stretch.stage == Stage::Done {
            return;
        }
        let settled = if stretch.stage.is_at_stations() {
            stretch.settled.clamp(stretch.from, to)
        } else {
            to
        };
        // Without children by the head count as well: that may be wrong, and the
        // list's groups have children whatever it says.
        for group in self.plan.groups() {
            for (from, until) in self.hidden_times(group) {
                let mut add = |start: CaptureUs, end: CaptureUs| {
                    let (start, end) = (start.max(from), end.min(until));
                    if start < end {
                        spans.push((start, end));
                    }
                };
                add(stretch.from, settled);
                if stretch.stands[group.index()].at == Some(station) {
                    add(settled, to);
                }
            }
        }
        let other = self.covered_in_turn(stretch.turn);
        let stand = other.and_then(|other| stretch.stands.get(other.index()));
        if stand.is_some_and(|stand| stand.at == Some(station)) && settled < to {
            spans.push((settled, to));
        }
    }

    /// The group that is covered at a turn only because another always is.
    fn covered_in_turn(&self, turn: u16) -> Option<GroupNumber> {
        if self.not_shown.is_empty() {
            return None;
        }
        let shown = |group: &GroupNumber| {
            !self.not_shown.contains(group) && self.plan.sizes()[group.index()] > 0
        };
        let others: Vec<GroupNumber> = self.plan.groups().filter(shown).collect();
        match others[..] {
            [] => None,
            // The only other one is covered every second turn.
            [one] => (turn % 2 == 1).then_some(one),
            _ => Some(others[usize::from(turn) % others.len()]),
        }
    }

    /// When a group is not to be shown, wherever it is.
    fn hidden_times(&self, group: GroupNumber) -> Vec<(CaptureUs, CaptureUs)> {
        if self.not_shown.contains(&group) {
            return vec![(CaptureUs::ZERO, NEVER)];
        }
        let own = self.covers.iter().filter(|cover| cover.group == group);
        own.map(|cover| (cover.from, cover.to.unwrap_or(NEVER)))
            .collect()
    }

    /// Whether a group is hidden at a moment.
    #[must_use]
    pub fn is_hidden(&self, group: GroupNumber, at: CaptureUs) -> bool {
        let times = self.hidden_times(group);
        let stretch = self.history.at(at).filter(|s| s.stage.is_at_stations());
        let in_turn = stretch.and_then(|stretch| self.covered_in_turn(stretch.turn));
        in_turn == Some(group) || times.into_iter().any(|(from, to)| from <= at && at < to)
    }

    /// When everybody set out for where they stand now: with the walk that led
    /// here. In a walk, for where they come from.
    pub(super) fn came(&self, now: CaptureUs) -> CaptureUs {
        let here = |stretch: &&Stretch| stretch.turn == self.turn || stretch.stage == Stage::Walk;
        let back = self.history.all().iter().rev();
        let stay = back.take_while(here).map(|stretch| stretch.from);
        stay.last().map_or(now, |from| from.min(now))
    }

    /// A stage has begun: who was covered for an earlier stay has left by the
    /// time everybody has settled.
    pub(super) fn close_covers(&mut self, at: CaptureUs) {
        if self.stage != Stage::Work {
            return;
        }
        let settled = self.history.all().last().map_or(at, |last| last.settled);
        let turn = self.turn;
        for cover in &mut self.covers {
            if cover.to.is_none() && cover.turn < turn {
                cover.to = Some(settled.max(at));
            }
        }
    }
}

/// Sorted and joined where they meet.
fn joined(mut spans: Vec<(CaptureUs, CaptureUs)>) -> Vec<Span> {
    spans.sort_unstable();
    let mut all: Vec<(CaptureUs, CaptureUs)> = Vec::new();
    for (from, to) in spans {
        match all.last_mut() {
            Some(last) if from <= last.1 => last.1 = last.1.max(to),
            _ => all.push((from, to)),
        }
    }
    let span = |(from, to): (CaptureUs, CaptureUs)| Span {
        from,
        to: (to != NEVER).then_some(to),
    };
    all.into_iter().map(span).collect()
}
