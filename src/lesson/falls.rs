//! When something falls that sees to who is covered, no station shows anything
//! until the class has been gone through again.
//!
//! Not here: starting it again.

use std::{sync::atomic::Ordering, thread};

use super::Lesson;

/// Covers every station if it is dropped by a panic.
pub(super) struct CoversIfItFalls<'a>(&'a Lesson);

impl Drop for CoversIfItFalls<'_> {
    fn drop(&mut self) {
        if !thread::panicking() {
            return;
        }
        self.0.fell.store(true, Ordering::SeqCst);
        for station in &self.0.settings.stations {
            station.leave_unattended(true);
        }
        // Whoever lets the time pass goes through it at once, if that still runs.
        self.0.changed.send_replace(());
    }
}

impl Lesson {
    pub(super) const fn covers_if_it_falls(&self) -> CoversIfItFalls<'_> {
        CoversIfItFalls(self)
    }

    /// Goes through the class; after a fall, what is covered is right then.
    pub(super) fn go_through(&self) {
        let fell = self.fell.swap(false, Ordering::SeqCst);
        self.with(|_, _| ());
        // Nobody else is at work on it, and nothing has fallen since.
        let _inner = self.lock();
        if fell && !self.fell.load(Ordering::SeqCst) {
            for station in &self.settings.stations {
                station.leave_unattended(false);
            }
        }
    }
}
