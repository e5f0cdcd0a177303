//! A source's time as a line of microseconds, whatever it counts in.

use super::SourceStamp;

/// Remembers how often a 32-bit RTP clock went round (every 13.3 hours at
/// 90 kHz, RFC 3550 §5.1).
#[derive(Default)]
pub(super) struct Unwrap {
    last: Option<i64>,
}

impl Unwrap {
    /// Microseconds since an origin that stays the same until this is dropped.
    pub(super) fn read(&mut self, stamp: SourceStamp) -> Option<i64> {
        match stamp {
            SourceStamp::PipelineNs(ns) => i64::try_from(ns / 1000).ok(),
            SourceStamp::Missing | SourceStamp::Rtp { clock_hz: 0, .. } => None,
            SourceStamp::Rtp { ticks, clock_hz } => {
                let extended = match self.last {
                    None => i64::from(ticks),
                    // The nearest way round is the right one: no camera sleeps
                    // for half a turn without being reopened.
                    Some(last) => last + i64::from(ticks.wrapping_sub(last as u32) as i32),
                };
                self.last = Some(extended);
                Some((i128::from(extended) * 1_000_000 / i128::from(clock_hz)) as i64)
            }
        }
    }
}
