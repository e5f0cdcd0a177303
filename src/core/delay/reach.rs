//! How far back a ring can be counted on while memory is short.
//!
//! What a ring holds then goes up and down with every keyframe group it has to
//! give away; a delay that followed would have the screens chase it. So the
//! reach falls at once and rises only by what was there for a whole while.
//!
//! Not here: which ring gives how much away.

use crate::kernel::{CaptureUs, DELAY_STEP_MS, DelayMs};

/// For this long a ring has to hold more before it is counted on.
const WHILE_US: i64 = 10_000_000;

/// See the module.
#[derive(Clone, Debug)]
pub struct Reach {
    window_ms: u32,
    counted_ms: u32,
    /// The least the ring held since then, while memory is short.
    since: CaptureUs,
    least_ms: u32,
}

impl Reach {
    /// The whole window, until memory is short.
    #[must_use]
    pub const fn whole(window_ms: u32) -> Self {
        Self {
            window_ms,
            counted_ms: window_ms,
            since: CaptureUs::ZERO,
            least_ms: window_ms,
        }
    }

    /// The ring gave away pictures that the window had not passed, and is left
    /// with so much. Says whether the reach has changed.
    pub fn shortened(&mut self, span_us: i64, now: CaptureUs) -> bool {
        let holds_ms = steps(span_us).min(self.window_ms);
        if self.counted_ms == self.window_ms && holds_ms < self.window_ms {
            (self.since, self.least_ms) = (now, holds_ms);
        }
        let before = self.counted_ms;
        self.counted_ms = before.min(holds_ms);
        self.least_ms = self.least_ms.min(holds_ms);
        self.counted_ms != before
    }

    /// The ring holds so much. Says whether the reach has changed.
    pub fn holds(&mut self, span_us: i64, now: CaptureUs) -> bool {
        if self.counted_ms == self.window_ms {
            return false;
        }
        self.least_ms = self.least_ms.min(steps(span_us));
        if now.since(self.since) < WHILE_US {
            return false;
        }
        let before = self.counted_ms;
        self.counted_ms = before.max(self.least_ms.min(self.window_ms));
        (self.since, self.least_ms) = (now, steps(span_us));
        self.counted_ms != before
    }

    /// How far back the ring can be counted on: the window, or less.
    #[must_use]
    pub const fn ms(&self) -> u32 {
        self.counted_ms
    }

    /// The delay that can be kept: what was set, or the most that is in reach.
    #[must_use]
    pub fn delay(&self, set: DelayMs) -> DelayMs {
        let most_ms = DelayMs::most_ms(self.counted_ms);
        if set.ms() <= most_ms {
            return set;
        }
        DelayMs::new(most_ms, self.window_ms).unwrap_or(set)
    }
}

/// Whole steps of delay in a span.
fn steps(span_us: i64) -> u32 {
    let ms = u32::try_from(span_us.max(0) / 1000).unwrap_or(u32::MAX);
    ms / DELAY_STEP_MS * DELAY_STEP_MS
}

#[cfg(test)]
mod tests {
    use super::*;

    const S: i64 = 1_000_000;

    fn at(s: i64) -> CaptureUs {
        CaptureUs(1_790_000_000_000_000).offset(s * S)
    }

    #[test]
    fn it_falls_at_once_and_the_delay_with_it() {
        let mut reach = Reach::whole(30_000);
        let set = DelayMs::new(10_000, 30_000).expect("a delay the window allows");
        assert!(!reach.holds(3 * S, at(0)), "a ring that fills is not short");
        assert_eq!((reach.ms(), reach.delay(set)), (30_000, set));
        assert!(reach.shortened(14 * S, at(1)));
        assert_eq!((reach.ms(), reach.delay(set)), (14_000, set));
        assert!(reach.shortened(8_700_000, at(2)));
        assert_eq!(reach.ms(), 8_500);
        assert_eq!(reach.delay(set).ms(), 6_500, "two seconds stay in reserve");
    }

    #[test]
    fn it_does_not_follow_what_goes_up_and_down_with_the_groups() {
        let mut reach = Reach::whole(30_000);
        reach.shortened(8 * S, at(0));
        for s in 1..100 {
            // Grows to nine, gives a second away.
            reach.holds(9 * S, at(s));
            reach.shortened(8 * S, at(s));
            assert_eq!(reach.ms(), 8_000);
        }
    }

    #[test]
    fn it_rises_by_what_was_there_for_a_while_and_ends_with_the_window() {
        let mut reach = Reach::whole(30_000);
        reach.shortened(5 * S, at(0));
        let mut changes = 0;
        for s in 1..60 {
            changes += i32::from(reach.holds((5 + s).min(30) * S, at(s)));
            assert!(
                i64::from(reach.ms()) <= (5 + s).min(30) * 1000,
                "never more than is there"
            );
        }
        assert_eq!(reach.ms(), 30_000);
        assert!(changes <= 5, "{changes} changes");
    }

    #[test]
    fn a_window_given_away_to_almost_nothing_leaves_the_least_delay() {
        let mut reach = Reach::whole(4_000);
        reach.shortened(300_000, at(0));
        let set = DelayMs::new(2_000, 4_000).expect("a delay the window allows");
        assert_eq!((reach.ms(), reach.delay(set).ms()), (0, 0));
    }
}
