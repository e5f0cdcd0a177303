//! The program was away in the middle of a class: for how long?
//!
//! The boot clock knows where the machine was on all the while. After a power
//! cut it has begun anew, and only the clock on the wall has gone on; that one
//! may be wrong, on a box without a battery by years. Where the two cannot both
//! be right somebody is asked.
//!
//! A wall clock that is wrong by a few minutes after a power cut is believed:
//! nothing contradicts it.
//!
//! Not here: reading clocks.

use serde::{Deserialize, Serialize};

use crate::kernel::CaptureUs;

/// All clocks at one moment.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Readings {
    /// The capture clock.
    pub capture: CaptureUs,
    /// The clock on the wall: Unix microseconds.
    pub wall_us: u64,
    /// Since the machine was switched on.
    pub boot_us: u64,
    /// Which time it was switched on: a word of the system's own, another each
    /// time.
    pub boot: String,
}

/// A time server steps a clock by less than this on a box that runs; and nobody
/// notices a class that is wrong by more.
const APART_US: i64 = 30_000_000;
/// Whoever was away for longer is asked: the class is likely to be over.
const MOST_AWAY_US: i64 = 30 * 60 * 1_000_000;

/// Why somebody has to be asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// The clock on the wall says something else than the boot clock.
    WallClock,
    /// More than half an hour has passed.
    LongAway,
}

/// How long it was away.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Passed {
    /// The best that is known.
    pub us: i64,
    /// Set where it may be wrong.
    pub doubt: Option<Why>,
}

/// What has passed between two readings.
#[must_use]
pub fn restart(before: &Readings, after: &Readings) -> Passed {
    let wall_us = CaptureUs(after.wall_us).since(CaptureUs(before.wall_us));
    let same = !before.boot.is_empty() && before.boot == after.boot;
    let least_us = if same {
        CaptureUs(after.boot_us)
            .since(CaptureUs(before.boot_us))
            .max(0)
    } else {
        i64::try_from(after.boot_us).unwrap_or(i64::MAX)
    };
    let apart_us = wall_us.saturating_sub(least_us);
    let wall_is_wrong = if same {
        apart_us.abs() > APART_US
    } else {
        // It was off for some time as well, nobody knows how long.
        apart_us < -APART_US
    };
    let us = if same || wall_is_wrong {
        least_us
    } else {
        wall_us
    };
    let doubt = if wall_is_wrong {
        Some(Why::WallClock)
    } else {
        (us > MOST_AWAY_US).then_some(Why::LongAway)
    };
    Passed { us, doubt }
}

#[cfg(test)]
mod tests {
    use super::*;

    const S: u64 = 1_000_000;
    const YEAR: u64 = 365 * 86_400 * S;

    fn reading(later_s: u64, boot_s: u64, boot: &str) -> Readings {
        let wall_us = 1_790_000_000 * S + later_s * S;
        Readings {
            capture: CaptureUs(wall_us),
            wall_us,
            boot_us: boot_s * S,
            boot: boot.to_owned(),
        }
    }

    fn passed(after: &Readings) -> (i64, Option<Why>) {
        let passed = restart(&reading(0, 5_000, "a"), after);
        (passed.us / S as i64, passed.doubt)
    }

    #[test]
    fn the_boot_clock_knows_where_the_machine_was_on() {
        assert_eq!(passed(&reading(90, 5_090, "a")), (90, None));
        assert_eq!(passed(&reading(70, 5_090, "a")), (90, None), "a small step");
    }

    #[test]
    fn after_a_power_cut_the_wall_clock_is_believed_where_it_can_be_right() {
        assert_eq!(passed(&reading(90, 40, "b")), (90, None));
        assert_eq!(passed(&reading(1_700, 40, "b")), (1_700, None));
        assert_eq!(
            passed(&reading(1_900, 40, "b")),
            (1_900, Some(Why::LongAway))
        );
    }

    #[test]
    fn a_wall_clock_wrong_by_a_year_is_asked_about() {
        for boot in ["a", "b"] {
            let boot_us = if boot == "a" { 5_090 * S } else { 40 * S };
            for wall_us in [1_790_000_090 * S + YEAR, 1_790_000_090 * S - YEAR] {
                let after = Readings {
                    wall_us,
                    boot_us,
                    ..reading(0, 0, boot)
                };
                assert!(passed(&after).1.is_some(), "{boot} {wall_us}");
            }
        }
        let behind = passed(&reading(10, 90, "b"));
        assert_eq!(
            behind,
            (90, Some(Why::WallClock)),
            "on for longer than that"
        );
    }

    #[test]
    fn without_a_word_for_the_boot_every_start_is_another() {
        let before = Readings::default();
        let after = Readings {
            wall_us: 5 * S,
            boot_us: 2 * S,
            ..Readings::default()
        };
        assert_eq!(restart(&before, &after).us, 5 * S as i64);
    }
}
