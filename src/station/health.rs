//! How a camera is and since when.
//!
//! Not here: deciding what to do about it.

use afterturn_core::{kernel::CaptureUs, wire::CameraState};

pub(super) struct Health {
    pub(super) state: CameraState,
    pub(super) since: CaptureUs,
    pub(super) detail: String,
}

impl Health {
    pub(super) const fn at_first(captures: bool, now: CaptureUs) -> Self {
        Self {
            state: if captures {
                CameraState::Starting
            } else {
                CameraState::Off
            },
            since: now,
            detail: String::new(),
        }
    }

    /// Takes in how it is now; says whether that is news. `since` is when this
    /// state began, so trying again and failing the same way changes nothing.
    pub(super) fn set(&mut self, state: CameraState, detail: &str, now: CaptureUs) -> bool {
        if self.state == state && self.detail == detail {
            return false;
        }
        if self.state != state {
            self.since = now;
        }
        self.state = state;
        detail.clone_into(&mut self.detail);
        true
    }
}
