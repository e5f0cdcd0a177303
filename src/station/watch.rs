//! One screen's seat at a station: what it is sent next, what it reported last.
//!
//! Not here: the socket, which carries out the steps.

use std::{sync::Arc, time::Duration};

use afterturn_core::{
    delay::{Step, Viewer},
    kernel::CaptureUs,
    wire::ViewerInfo,
};
use tokio::{sync::watch as channel, time::sleep};

use super::Station;

/// See the module. Dropping it gives the seat up.
pub struct Watch {
    station: Arc<Station>,
    viewer: Viewer,
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
        let id = {
            let mut inner = station.lock();
            let id = inner.next_viewer;
            inner.next_viewer += 1;
            inner.viewers.insert(id, ViewerInfo::default());
            id
        };
        Self {
            viewer: Viewer::default(),
            id,
            grown: station.grown.subscribe(),
            changed: station.changed.subscribe(),
            news: false,
            station: Arc::clone(station),
        }
    }

    /// The screen wants pictures from here on.
    pub fn want(&mut self, from: Option<CaptureUs>) {
        self.viewer.want(from);
    }

    /// The screen's report.
    pub fn report(&mut self, buffer_end: Option<CaptureUs>, info: ViewerInfo) {
        self.viewer.report(buffer_end);
        let lost_pictures = self.viewer.lost();
        self.station.lock().viewers.insert(
            self.id,
            ViewerInfo {
                lost_pictures,
                ..info
            },
        );
    }

    /// The next step, judged now.
    pub fn step(&mut self) -> Step {
        let now = self.station.now();
        // Marked before the ring is read: what grows after is not missed.
        self.grown.mark_unchanged();
        let inner = self.station.lock();
        self.viewer.step(&inner.ring, inner.delay_now(), now)
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
        self.station.lock().viewers.remove(&self.id);
    }
}
