//! Says in the log that requests were turned away at the door, without letting
//! whoever sends them fill it: the first at once, then a line a minute at most.
//!
//! Not here: turning anything away. Nothing that was sent is repeated, since it
//! may hold a secret, or be meant for whoever reads the log.

use std::{
    net::IpAddr,
    sync::{Arc, Mutex, PoisonError},
    time::Duration,
};

use tokio::time::Instant;

use crate::door::Refusal;

/// From one line to the next.
const SAY_EVERY: Duration = Duration::from_mins(1);

/// See the module.
#[derive(Clone, Default)]
pub(super) struct Refused(Arc<Mutex<Count>>);

#[derive(Default)]
struct Count {
    said: Option<Instant>,
    unsaid: u64,
}

impl Refused {
    pub(super) fn say(&self, why: Refusal, peer: IpAddr) {
        if let Some(times) = self.due(Instant::now()) {
            tracing::warn!(%peer, times, "turned away: {why}");
        }
    }

    /// How many there were since the last line, if it is time for one.
    fn due(&self, now: Instant) -> Option<u64> {
        let mut count = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        count.unsaid += 1;
        if count.said.is_some_and(|said| now < said + SAY_EVERY) {
            return None;
        }
        count.said = Some(now);
        Some(std::mem::take(&mut count.unsaid))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flood_is_a_line_a_minute() {
        let refused = Refused::default();
        let began = Instant::now();
        assert_eq!(refused.due(began), Some(1), "the first at once");
        for _ in 0..10_000 {
            assert_eq!(refused.due(began + SAY_EVERY / 2), None);
        }
        assert_eq!(refused.due(began + SAY_EVERY), Some(10_001));
        assert_eq!(refused.due(began + SAY_EVERY), None);
    }
}
