//! A class that the program was away from: it goes on, or somebody has to say how
//! far it is.
//!
//! Not here: how much time has passed (the core), asking.

use afterturn_core::{
    kernel::CaptureUs,
    rotation::{Readings, Why, restart},
    wire::AnswerAfterRestart,
};

use super::Inner;
use super::book::Running;

/// An interrupted class that nobody says anything about is over after this.
pub(super) const ASKED_US: i64 = 600_000_000;

/// A class that was interrupted and has to be asked about.
#[derive(Clone)]
pub(super) struct Asking {
    pub(super) class: Running,
    /// The best that is known of how long it was away…
    pub(super) away_us: i64,
    /// …and why that may be wrong.
    pub(super) why: Why,
    pub(super) since: CaptureUs,
}

impl Inner {
    /// What the journal held when the program started.
    pub(super) fn found(&mut self, class: Option<Running>, now: &Readings) {
        let Some(mut class) = class else { return };
        let passed = restart(&class.read, now);
        if let Some(why) = passed.doubt {
            tracing::warn!(
                ?why,
                "a class was interrupted, and it is not known for how long"
            );
            self.asking = Some(Asking {
                class,
                away_us: passed.us,
                why,
                since: now.capture,
            });
            return;
        }
        tracing::info!(away_s = passed.us / 1_000_000, "the class goes on");
        class.went_on(passed.us, now);
        self.class = Some(class);
        self.unkept_class = true;
    }
}

impl Asking {
    pub(super) fn answered(
        self,
        answer: AnswerAfterRestart,
        heard_of: Option<CaptureUs>,
        now: &Readings,
    ) -> Running {
        let mut class = self.class;
        match answer {
            AnswerAfterRestart::GoOn => class.went_on(self.away_us, now),
            AnswerAfterRestart::AsItWas => class.went_on(class.known_us(heard_of), now),
            AnswerAfterRestart::End => {
                class.went_on(0, now);
                class.end(now);
            }
        }
        class
    }
}
