//! What the service manager is told: ready, still alive, stopping. Outside a
//! service every call does nothing.
//!
//! Not here: when to say it. `WATCHDOG` in particular is sent only from where
//! being stuck would show.

use std::time::Duration;

use sd_notify::NotifyState;

/// The server answers requests.
pub fn ready() {
    tell(NotifyState::Ready);
}

/// The server has begun to stop.
pub fn stopping() {
    tell(NotifyState::Stopping);
}

/// The server is alive.
pub fn alive() {
    tell(NotifyState::Watchdog);
}

/// One line for `systemctl status`. Holds nothing about children or cameras'
/// addresses.
pub fn status(line: &str) {
    tell(NotifyState::Status(line));
}

/// How often to call [`alive`], if anyone listens: half of what the manager
/// waits, as `sd_watchdog_enabled(3)` recommends.
#[must_use]
pub fn watchdog_interval() -> Option<Duration> {
    sd_notify::watchdog_enabled().map(|limit| limit / 2)
}

fn tell(state: NotifyState<'_>) {
    if let Err(error) = sd_notify::notify(&[state]) {
        tracing::debug!(%error, "the service manager could not be told");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outside_a_service_nothing_happens() {
        // The test runner is not a service, so there is no watchdog to feed.
        assert_eq!(watchdog_interval(), None);
        ready();
        alive();
        status("two stations");
        stopping();
    }
}
