//! Capture time, the only timeline, and the delay that is set against it.
//!
//! Not here: reading a clock. The edge reads one and passes `now` in.

use serde::{Deserialize, Serialize};

/// A moment on the capture timeline: microseconds since the Unix epoch, from a
/// wall-clock anchor read once at start plus the boot clock. It never follows
/// a step of the wall clock, so differences are real time.
///
/// Fits the exact range of a JavaScript number (2^53) until the year 2255.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct CaptureUs(pub u64);

impl CaptureUs {
    /// The epoch itself, before every picture.
    pub const ZERO: Self = Self(0);

    /// This moment, `us` microseconds later (earlier when negative); stops at
    /// the ends of the range instead of wrapping.
    #[must_use]
    pub const fn offset(self, us: i64) -> Self {
        Self(self.0.saturating_add_signed(us))
    }

    /// Microseconds from `earlier` to this moment; negative if it is later.
    /// Stops at the ends of the range instead of wrapping.
    #[must_use]
    pub const fn since(self, earlier: Self) -> i64 {
        let apart = self.0.abs_diff(earlier.0);
        let size = if apart > i64::MAX as u64 {
            i64::MAX
        } else {
            apart as i64
        };
        if self.0 < earlier.0 { -size } else { size }
    }

    /// Whole milliseconds, as the time strip carries them.
    #[must_use]
    pub const fn as_ms(self) -> u64 {
        self.0 / 1000
    }
}

/// The step in which a delay is set. Half a second is finer than a child's walk
/// from the mat varies, and coarse enough for one thumb.
pub const DELAY_STEP_MS: u32 = 500;

/// Capture to glass, in milliseconds; always a multiple of [`DELAY_STEP_MS`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(transparent)]
pub struct DelayMs(u32);

/// Why a delay cannot be set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DelayError {
    /// Not a multiple of half a second.
    #[error("a delay goes in steps of {DELAY_STEP_MS} ms; {given_ms} ms lies between two")]
    OffStep {
        /// What was asked for.
        given_ms: u32,
    },
    /// More than the ring can reach back.
    #[error(
        "a window of {window_ms} ms reaches delays up to {most_ms} ms; {given_ms} ms is beyond it"
    )]
    BeyondWindow {
        /// What was asked for.
        given_ms: u32,
        /// The station's window.
        window_ms: u32,
        /// The greatest delay that window allows.
        most_ms: u32,
    },
}

impl DelayMs {
    /// What a window keeps beyond the greatest delay, so that a keyframe and
    /// the release lead are still inside it.
    pub const RESERVE_MS: u32 = 2000;

    /// The greatest delay a window allows.
    #[must_use]
    pub const fn most_ms(window_ms: u32) -> u32 {
        window_ms.saturating_sub(Self::RESERVE_MS) / DELAY_STEP_MS * DELAY_STEP_MS
    }

    /// Checks a delay against its step and the window it has to fit.
    pub const fn new(given_ms: u32, window_ms: u32) -> Result<Self, DelayError> {
        if !given_ms.is_multiple_of(DELAY_STEP_MS) {
            return Err(DelayError::OffStep { given_ms });
        }
        let most_ms = Self::most_ms(window_ms);
        if given_ms > most_ms {
            return Err(DelayError::BeyondWindow {
                given_ms,
                window_ms,
                most_ms,
            });
        }
        Ok(Self(given_ms))
    }

    /// Milliseconds.
    #[must_use]
    pub const fn ms(self) -> u32 {
        self.0
    }

    /// Microseconds, to reckon with capture times.
    #[must_use]
    pub const fn us(self) -> i64 {
        self.0 as i64 * 1000
    }
}

/// How long an attempt at a station lasts, in whole seconds: what is shown again
/// when somebody asks for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(transparent)]
pub struct AttemptS(u8);

/// Why an attempt cannot be that long.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("an attempt lasts from {} to {} seconds, not {given_s}", AttemptS::LEAST.get(), AttemptS::MOST.get())]
pub struct AttemptError {
    /// What was asked for.
    pub given_s: u32,
}

impl AttemptS {
    /// A jump from a box.
    pub const LEAST: Self = Self(2);
    /// A walk along a beam and back. Longer ones would keep the next child's
    /// attempt off the screen: half speed takes twice as long.
    pub const MOST: Self = Self(20);
    /// Two steps, a roll, and standing up again, with some to spare: a guess of
    /// ours, no source.
    pub const USUAL: Self = Self(8);

    /// Checks a number of seconds.
    pub const fn new(given_s: u32) -> Result<Self, AttemptError> {
        if given_s < Self::LEAST.0 as u32 || given_s > Self::MOST.0 as u32 {
            return Err(AttemptError { given_s });
        }
        Ok(Self(given_s as u8))
    }

    /// Seconds.
    #[must_use]
    pub const fn get(self) -> u8 {
        self.0
    }

    /// Microseconds, to reckon with capture times.
    #[must_use]
    pub const fn us(self) -> i64 {
        self.0 as i64 * 1_000_000
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_attempt_keeps_its_bounds() {
        for given_s in [2, 8, 20] {
            let attempt = AttemptS::new(given_s).expect("within the bounds");
            assert_eq!(u32::from(attempt.get()), given_s);
        }
        for given_s in [0, 1, 21, 256 + 8, u32::MAX] {
            assert_eq!(AttemptS::new(given_s), Err(AttemptError { given_s }));
        }
    }

    #[test]
    fn a_delay_keeps_its_step_and_its_window() {
        assert_eq!(DelayMs::new(10_000, 30_000).map(DelayMs::ms), Ok(10_000));
        assert_eq!(DelayMs::new(28_000, 30_000).map(DelayMs::ms), Ok(28_000));
        assert_eq!(DelayMs::new(0, 2_000).map(DelayMs::us), Ok(0));
        assert!(matches!(
            DelayMs::new(10_250, 30_000),
            Err(DelayError::OffStep { .. })
        ));
        assert_eq!(
            DelayMs::new(28_500, 30_000),
            Err(DelayError::BeyondWindow {
                given_ms: 28_500,
                window_ms: 30_000,
                most_ms: 28_000
            })
        );
    }

    #[test]
    fn offsets_stop_at_the_ends() {
        assert_eq!(CaptureUs(5).offset(-9), CaptureUs::ZERO);
        assert_eq!(CaptureUs(5).since(CaptureUs(9)), -4);
        assert_eq!(CaptureUs(5).since(CaptureUs(u64::MAX)), -i64::MAX);
    }
}
