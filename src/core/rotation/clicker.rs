//! What a press on a clicker, or on a keyboard's keys, at a screen means.
//!
//! Whoever is bored finds the clicker. So it does less than a remote: the next
//! phase, and a freeze that its own screen lifts again; one answer to whoever
//! mashes it, and nothing that ends a class.
//!
//! Not here: whether a screen may press at all (the config file says), and which
//! keys those are (its page knows).

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::clock::{Clock, SECOND_US};
use super::press::{Hold, Press};
use crate::kernel::{CaptureUs, StationNumber};

/// *Next* counts only so long after the last change, and only when nobody has
/// pressed at that screen for so long: who mashes a key gets one answer, and a
/// press that meant the phase before does not skip the one after.
const QUIET_US: i64 = 3 * SECOND_US;

/// No two long presses at one screen are nearer to each other; what is, was not
/// pressed by a hand. A freeze is taken all the same, going on is not.
const HAND_US: i64 = SECOND_US / 2;

/// How long it was pressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum Click {
    /// *Next*.
    Short,
    /// *Freeze*; a second time, go on.
    Long,
}

/// The screen it was pressed at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ClickedAt {
    /// A station's.
    Station(StationNumber),
    /// A board of the hall.
    Hall,
}

/// What is remembered of presses at screens while a class runs.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Clicks {
    /// Whose freeze it is, if it is a screen's.
    froze: Option<ClickedAt>,
    /// When somebody last pressed at each. A restart forgets it.
    #[serde(skip)]
    last: BTreeMap<ClickedAt, CaptureUs>,
}

impl Clicks {
    /// What a press at a screen means as the class stands; nothing, if it is not
    /// to count. The time has been let pass.
    pub fn means(
        &mut self,
        id: &str,
        at: ClickedAt,
        click: Click,
        class: &Clock,
        now: CaptureUs,
    ) -> Option<Press> {
        // The same press again, because its line broke: nothing is new.
        if class.is_done() || class.has_had(id) {
            return None;
        }
        let before = self.last.insert(at, now);
        let since = |then: CaptureUs| now.since(then);
        match click {
            Click::Short => {
                let changed = class.history().all().last().map(|stretch| stretch.from);
                let quiet = |then: Option<CaptureUs>| then.is_none_or(|t| since(t) >= QUIET_US);
                let counts = quiet(before) && quiet(changed) && class.holds().is_empty();
                // The end wipes everything: that is pressed on a remote.
                (counts && !ends(class, now)).then_some(Press::Next)
            }
            Click::Long => {
                let hold = Hold::Freeze;
                if !class.holds().contains(&hold) {
                    self.froze = Some(at);
                    return Some(Press::Hold { hold });
                }
                let by_hand = before.is_none_or(|then| since(then) >= HAND_US);
                (by_hand && self.froze == Some(at)).then(|| {
                    self.froze = None;
                    Press::Resume { hold }
                })
            }
        }
    }

    /// A remote has pressed: its freeze is no screen's to lift.
    pub fn remote_pressed(&mut self, press: Press) {
        if let Press::Hold { hold: Hold::Freeze } | Press::Resume { hold: Hold::Freeze } = press {
            self.froze = None;
        }
    }
}

/// Whether the next phase would be none.
fn ends(class: &Clock, now: CaptureUs) -> bool {
    let mut trial = class.clone();
    trial.leave(now);
    trial.is_done()
}
