//! One screen's seat at a station: what it is sent next, what it reported last.
//!
//! Not here: the socket, which carries out the steps.

use std::{sync::Arc, time::Duration};

use afterturn_core::{
    delay::{Ring, Step, Viewer},
    kernel::{CaptureUs, DelayMs},
    wire::ViewerInfo,
};
use tokio::{sync::watch as channel, time::sleep};

use super::{Inner, Station};

/// What the station knows of a screen. It is kept with the station, so that a
/// remote can ask after a screen whose socket is stuck.
pub(super) struct Seat {
    viewer: Viewer,
    reported: ViewerInfo,
    /// When it had last taken everything it was sent.
    ready: CaptureUs,
}

impl Seat {
    fn new(now: CaptureUs) -> Self {
        Self {
            viewer: Viewer::default(),
            reported: ViewerInfo::default(),
            ready: now,
        }
    }

    pub(super) fn info(&self, ring: &Ring, delay: DelayMs, now: CaptureUs) -> ViewerInfo {
        let stuck_ms = now.since(self.ready).max(0) / 1000;
        ViewerInfo {
            lost_pictures: self.viewer.lost_by(ring, delay, now),
            // A socket is closed long before this is no number any more.
            stuck_ms: u32::try_from(stuck_ms).unwrap_or(u32::MAX),
            ..self.reported
        }
    }
}

/// See the module. Dropping it gives the seat up.
pub struct Watch {
    station: Arc<Station>,
    id: u64,
    grown: channel::Receiver<()>,
    changed: channel::Receiver<()>,
    /// Seen while waiting, not yet taken.
    news: bool,
}

impl Watch {
    /// Takes a seat.
    #[must_use]
    pub fn new(station: &Arc<Station>) -> Self {
        let now = station.now();
        let id = {
            let mut inner = station.lock();
            let id = inner.next_seat;
            inner.next_seat += 1;
            inner.seats.insert(id, Seat::new(now));
            id
        };
        Self {
            id,
            grown: station.grown.subscribe(),
            changed: station.changed.subscribe(),
            news: false,
            station: Arc::clone(station),
        }
    }

    /// The screen wants pictures from here on.
    pub fn want(&mut self, from: Option<CaptureUs>) {
        self.with_seat(|seat, _, _| seat.viewer.want(from));
    }

    /// The screen's report. What is known without it is not taken from it.
    pub fn report(&mut self, buffer_end: Option<CaptureUs>, info: ViewerInfo) {
        self.with_seat(|seat, _, _| {
            seat.viewer.report(buffer_end);
            seat.reported = info;
        });
    }

    /// The next step, judged now. Who asks has taken everything before.
    pub fn step(&mut self) -> Step {
        let now = self.station.now();
        // Marked before the ring is read: what grows after is not missed.
        self.grown.mark_unchanged();
        let again_from = {
            let mut inner = self.station.lock();
            inner.shown_again(now);
            inner.again.from()
        };
        self.with_seat(|seat, ring, delay| {
            seat.ready = now;
            seat.viewer.again(again_from);
            seat.viewer.step(ring, delay, now)
        })
    }

    fn with_seat<T>(&self, act: impl FnOnce(&mut Seat, &Ring, DelayMs) -> T) -> T {
        let mut inner = self.station.lock();
        let delay = inner.delay_now();
        let Inner { seats, ring, .. } = &mut *inner;
        let seat = seats.get_mut(&self.id);
        act(
            seat.expect("a seat lasts as long as its watch"),
            ring,
            delay,
        )
    }

    /// Whether the station has news since the last call of
    /// [`take_news`](Self::take_news).
    pub fn take_news(&mut self) -> bool {
        let news = self.changed.has_changed().unwrap_or(false);
        self.changed.mark_unchanged();
        news | std::mem::take(&mut self.news)
    }

    /// Waits until another step may be due: the ring grew or the station has
    /// news.
    pub async fn wait_for_more(&mut self) {
        tokio::select! {
            _ = self.grown.changed() => {}
            _ = self.changed.changed() => self.news = true,
        }
    }

    /// Waits until a moment of capture time, or until the station has news.
    pub async fn wait_until(&mut self, until: CaptureUs) {
        let wait_us = until.since(self.station.now()).max(0);
        tokio::select! {
            () = sleep(Duration::from_micros(wait_us as u64)) => {}
            _ = self.changed.changed() => self.news = true,
        }
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        self.station.lock().seats.remove(&self.id);
    }
}
