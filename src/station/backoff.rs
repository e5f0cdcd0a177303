//! How long to leave a failed camera alone.
//!
//! Not here: waiting.

use std::time::Duration;

use afterturn_core::wire::CameraState;

/// The first wait: a camera that merely hiccuped is back at once.
const FIRST: Duration = Duration::from_millis(250);
/// The longest wait.
const LONGEST: Duration = Duration::from_secs(10);
/// A camera that ran this long had recovered; its next failure is a first one.
const RECOVERED: Duration = Duration::from_secs(5);

/// Doubling waits, from a quarter of a second up to ten.
#[derive(Debug)]
pub struct Backoff {
    next: Duration,
}

impl Default for Backoff {
    fn default() -> Self {
        Self { next: FIRST }
    }
}

impl Backoff {
    /// The wait after a failure, the camera having shown pictures for `ran`.
    pub fn after(&mut self, why: CameraState, ran: Duration) -> Duration {
        if ran >= RECOVERED {
            self.next = FIRST;
        }
        // A refused password tried again and again locks some cameras, and
        // no repetition mends a wrong setting.
        if matches!(
            why,
            CameraState::Refused | CameraState::Unsuitable | CameraState::MissingPart
        ) {
            self.next = LONGEST;
        }
        let wait = self.next;
        self.next = (wait * 2).min(LONGEST);
        wait
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_double_up_to_ten_seconds_and_start_over_after_a_good_run() {
        let mut backoff = Backoff::default();
        let waits: Vec<u128> = (0..8)
            .map(|_| {
                backoff
                    .after(CameraState::Unreachable, Duration::ZERO)
                    .as_millis()
            })
            .collect();
        assert_eq!(waits, [250, 500, 1000, 2000, 4000, 8000, 10_000, 10_000]);
        assert_eq!(
            backoff.after(CameraState::Ended, Duration::from_secs(9)),
            FIRST
        );
    }

    #[test]
    fn a_wrong_password_is_not_hammered() {
        let mut backoff = Backoff::default();
        assert_eq!(backoff.after(CameraState::Refused, Duration::ZERO), LONGEST);
    }
}
