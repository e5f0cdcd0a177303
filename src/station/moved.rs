//! What a station does because of a class: its camera on or off, no picture
//! anywhere, stretches that are hidden.
//!
//! Not here: the class, and what is ordered at one station.

use afterturn_core::{
    delay::Veil,
    kernel::{CaptureUs, FragmentNumber},
    wire::CameraState,
};

use super::Station;

/// A picture's stamp and its arrival are at most this far apart; see the stamper.
const STAMP_AHEAD_US: i64 = 1_000_000;

impl Station {
    /// Switches its camera on or off. Off, everything taken so far is forgotten,
    /// here and on every screen; and again once the camera has let go.
    pub fn capture(&self, on: bool) {
        if self.captures.send_replace(on) == on {
            return;
        }
        if on {
            self.set_health(CameraState::Starting, "");
        } else {
            self.went_off();
        }
    }

    /// Whether its camera is to be on.
    #[must_use]
    pub fn captures(&self) -> bool {
        *self.captures.borrow()
    }

    /// Shows no picture anywhere, or again what may be shown.
    pub fn hold(&self, held: bool) {
        let mut inner = self.lock();
        if std::mem::replace(&mut inner.held, held) == held {
            return;
        }
        let covered = inner.covers();
        inner.ring.pause(covered);
        drop(inner);
        self.changed.send_replace(());
    }

    /// Shows no picture anywhere while nobody sees to who is covered.
    pub fn leave_unattended(&self, unattended: bool) {
        let mut inner = self.lock();
        if std::mem::replace(&mut inner.unattended, unattended) == unattended {
            return;
        }
        let covered = inner.covers();
        inner.ring.pause(covered);
        drop(inner);
        self.changed.send_replace(());
    }

    /// Where a ring that was fed before is to be fed from: nothing at or before
    /// this time, and this number next.
    pub(super) fn fed_up_to(&self) -> (CaptureUs, FragmentNumber) {
        let inner = self.lock();
        let newest = inner.ring.newest().unwrap_or(CaptureUs::ZERO);
        (newest, inner.ring.end())
    }

    /// Says that it works without a picture of itself, or with one again.
    pub fn set_quiet(&self, quiet: bool) {
        if std::mem::replace(&mut self.lock().quiet, quiet) != quiet {
            self.changed.send_replace(());
        }
    }

    /// Hides exactly these stretches, besides what was ordered.
    pub fn hide(&self, veils: Vec<Veil>) {
        if self.lock().ring.veil_as_told(veils) {
            self.changed.send_replace(());
        }
    }

    pub(super) fn went_off(&self) {
        let mut inner = self.lock();
        let before = inner.ring.bytes();
        // Whoever carries it in next aims it anew.
        if inner.forget_aim() {
            let covered = inner.covers();
            inner.ring.pause(covered);
        }
        // A stamp may lie a little ahead of the clock.
        inner.ring.wipe(self.now().offset(STAMP_AHEAD_US));
        self.memory.account(before, inner.ring.bytes());
        drop(inner);
        self.set_health(CameraState::Off, "");
        self.changed.send_replace(());
    }
}
