//! When a picture was taken, as its sender says: an RTCP sender report (RFC 3550
//! §6.4.1) ties an RTP timestamp to the sender's own clock, and the sender has
//! said how far its clock is from ours.
//!
//! Not here: stamping ([`super::stamp`] takes this in place of the arrival, which
//! is late by encoding and the network), or reading either clock.

use crate::kernel::CaptureUs;

/// Of one sender report, what ties its two clocks together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SenderReport {
    /// The sender's wall clock, Unix microseconds.
    pub sender_us: i64,
    /// The RTP timestamp of the same moment; wraps.
    pub ticks: u32,
    /// Ticks a second.
    pub clock_hz: u32,
}

/// Nobody's encoder and network take longer and are still of use; what says so
/// has a clock that was set meanwhile.
const LONGEST_WAY_US: i64 = 1_000_000;

impl SenderReport {
    /// When the picture with this RTP timestamp was taken, on our clock, which
    /// is `ahead_us` ahead of the sender's. `None` where that cannot be: after it
    /// arrived, or more than a second before.
    #[must_use]
    pub fn taken(&self, ticks: u32, ahead_us: i64, arrival: CaptureUs) -> Option<CaptureUs> {
        // The nearer way round: a picture is seconds from its report, not hours.
        let since_report = i64::from(ticks.wrapping_sub(self.ticks).cast_signed());
        let since_us = since_report * 1_000_000 / i64::from(self.clock_hz.max(1));
        let taken_us = self
            .sender_us
            .checked_add(since_us)?
            .checked_add(ahead_us)?;
        let taken = CaptureUs(u64::try_from(taken_us).ok()?);
        (0..=LONGEST_WAY_US)
            .contains(&arrival.since(taken))
            .then_some(taken)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const REPORT: SenderReport = SenderReport {
        sender_us: 1_700_000_000_000_000,
        ticks: 90_000,
        clock_hz: 90_000,
    };

    #[test]
    fn a_picture_has_the_time_its_sender_gives_it() {
        // A tenth of a second after the report; our clock is five seconds ahead.
        let taken = CaptureUs(1_700_000_005_100_000);
        let arrival = taken.offset(80_000);
        assert_eq!(REPORT.taken(99_000, 5_000_000, arrival), Some(taken));
        // And one from before it.
        let before = CaptureUs(1_700_000_004_900_000);
        assert_eq!(REPORT.taken(81_000, 5_000_000, arrival), Some(before));
    }

    #[test]
    fn timestamps_wrap() {
        let report = SenderReport {
            ticks: u32::MAX - 899,
            ..REPORT
        };
        let taken = CaptureUs(1_700_000_000_020_000);
        assert_eq!(report.taken(900, 0, taken.offset(1)), Some(taken));
    }

    #[test]
    fn what_cannot_be_is_not_believed() {
        let taken = CaptureUs(1_700_000_000_000_000);
        assert_eq!(REPORT.taken(90_000, 0, taken.offset(-1)), None);
        assert_eq!(REPORT.taken(90_000, 0, taken.offset(1_000_001)), None);
        assert_eq!(REPORT.taken(90_000, i64::MAX, taken), None);
        assert_eq!(REPORT.taken(90_000, i64::MIN, taken), None);
    }

    proptest! {
        #[test]
        fn whatever_is_said_a_picture_is_at_most_a_second_old(
            sender_us: i64, at: u32, ticks: u32, clock_hz: u32, ahead_us: i64, arrival in 0..1_u64 << 60,
        ) {
            let report = SenderReport { sender_us, ticks: at, clock_hz };
            let arrival = CaptureUs(arrival);
            if let Some(taken) = report.taken(ticks, ahead_us, arrival) {
                prop_assert!((0..=1_000_000).contains(&arrival.since(taken)));
            }
        }
    }
}
