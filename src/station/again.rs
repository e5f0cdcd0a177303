//! Pictures once more: who asked for it at this station, and what screens are
//! told of it.
//!
//! Not here: when it is answered and with what (`core/delay`), or who may ask.

use afterturn_core::{
    delay::{Bounds, Way, Who},
    kernel::{AttemptError, AttemptS, CaptureUs},
    wire::{self, AgainAnswer, AgainAsk},
};

use super::{Inner, Station};

impl Inner {
    fn bounds(&self) -> Bounds {
        Bounds {
            attempt: self.attempt,
            delay: self.delay_now(),
            arrived: self.arrived,
        }
    }

    /// What screens show now instead of the late picture.
    pub(super) fn shown_again(&mut self, now: CaptureUs) -> Option<wire::Again> {
        self.again.look(&self.ring, self.arrived, now)
    }
}

impl Station {
    /// Sets how long an attempt lasts.
    pub fn set_attempt(&self, attempt_s: u32) -> Result<AttemptS, AttemptError> {
        let attempt = AttemptS::new(attempt_s)?;
        self.lock().attempt = attempt;
        self.changed.send_replace(());
        Ok(attempt)
    }

    /// The group that is at the station now came at that capture time: nothing
    /// taken before is shown again. `None`: nobody says.
    pub fn arrived(&self, at: Option<CaptureUs>) {
        let mut inner = self.lock();
        if std::mem::replace(&mut inner.arrived, at) != at {
            drop(inner);
            self.changed.send_replace(());
        }
    }

    /// When that was.
    #[cfg(test)]
    pub(crate) fn arrived_at(&self) -> Option<CaptureUs> {
        self.lock().arrived
    }

    /// Somebody asks for pictures once more; every screen follows.
    pub fn once_more(&self, ask: AgainAsk, who: Who) -> AgainAnswer {
        let now = self.now();
        let mut inner = self.lock();
        let bounds = inner.bounds();
        let Inner { again, ring, .. } = &mut *inner;
        let arrived = bounds.arrived;
        let answer = match ask {
            AgainAsk::Again => again.press(ring, &bounds, who, now),
            AgainAsk::Hold => again.hold(ring, &bounds, now),
            AgainAsk::StepBack => again.step(ring, arrived, Way::Back, now),
            AgainAsk::StepOn => again.step(ring, arrived, Way::On, now),
            AgainAsk::GoOn => again.go_on(ring, arrived, now),
        };
        drop(inner);
        if answer == AgainAnswer::Done {
            self.changed.send_replace(());
        }
        answer
    }
}
