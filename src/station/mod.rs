//! One station: its camera, its ring, the screens that watch it.
//!
//! - [`Station`]: what the rest of the program holds; cheap to share.
//! - [`supervise()`]: opens the camera, feeds the ring, and opens it again when
//!   it fails, for as long as the program runs. One task a station, so that a
//!   station's failure stays its own.
//! - [`Watch`]: one screen's seat: what it is sent next.
//!
//! Not here: kinds of camera, sockets, and anything about a class.

mod backoff;
mod health;
mod supervise;
mod watch;

use std::{
    collections::BTreeMap,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use afterturn_core::{
    delay::{Ring, RingSettings},
    kernel::{CaptureUs, DELAY_STEP_MS, DelayError, DelayMs, StationNumber},
    wire::{
        Applies, CameraInfo, CameraNote, CameraState, CoverReason, Order, StationInfo,
        StationState, ViewerInfo,
    },
};
use tokio::sync::watch as channel;

use crate::av::camera::NowFn;

pub use backoff::Backoff;
use health::Health;
pub use supervise::supervise;
pub use watch::Watch;

/// What a station is told once.
#[derive(Clone, Debug)]
pub struct StationConfig {
    /// The number on its sign.
    pub number: StationNumber,
    /// Its title.
    pub title: String,
    /// The delay it starts with.
    pub delay: DelayMs,
    /// How far back its ring reaches.
    pub window_ms: u32,
    /// The camera's own latency, taken off every capture time.
    pub latency_ms: u32,
    /// It is the built-in demo scene.
    pub demo: bool,
}

/// Memory a ring may take for each second of its window. Four times what a
/// usual camera sends at 720p, so it only ever bites where one is set wrong.
const MOST_BYTES_PER_S: usize = 2_000_000;

/// A glass may lag behind its delay by this and still count as on time.
const GLASS_LAG_US: i64 = 100_000;

/// See the module.
pub struct Station {
    config: StationConfig,
    now: NowFn,
    inner: Mutex<Inner>,
    /// Told when the delay, the camera's health or what may be seen changes.
    changed: channel::Sender<()>,
    /// Told when the ring has grown.
    grown: channel::Sender<()>,
}

struct Inner {
    ring: Ring,
    delay: DelayMs,
    health: Health,
    notes: Vec<CameraNote>,
    viewers: BTreeMap<u64, ViewerInfo>,
    next_viewer: u64,
}

impl Station {
    /// A station with an empty ring and a camera that has yet to start.
    #[must_use]
    pub fn new(config: StationConfig, now: NowFn) -> Arc<Self> {
        let window_s = config.window_ms.div_ceil(1000) as usize;
        let ring = Ring::new(RingSettings {
            window_us: i64::from(config.window_ms) * 1000,
            most_bytes: window_s * MOST_BYTES_PER_S,
        });
        let inner = Inner {
            ring,
            delay: config.delay,
            health: Health::starting(now()),
            notes: Vec::new(),
            viewers: BTreeMap::new(),
            next_viewer: 0,
        };
        Arc::new(Self {
            config,
            now,
            inner: Mutex::new(inner),
            changed: channel::Sender::new(()),
            grown: channel::Sender::new(()),
        })
    }

    /// What it was told at the start.
    #[must_use]
    pub const fn config(&self) -> &StationConfig {
        &self.config
    }

    /// The capture clock.
    #[must_use]
    pub fn now(&self) -> CaptureUs {
        (self.now)()
    }

    /// Sets the delay; every screen follows.
    pub fn set_delay(&self, delay_ms: u32) -> Result<DelayMs, DelayError> {
        let delay = DelayMs::new(delay_ms, self.config.window_ms)?;
        self.lock().delay = delay;
        self.changed.send_replace(());
        Ok(delay)
    }

    /// Carries out an order about what may be seen; every screen follows.
    pub fn order(&self, order: Order) {
        let now = self.now();
        let mut inner = self.lock();
        let delay = inner.delay;
        let ring = &mut inner.ring;
        match order {
            Order::DontShow => {
                // What is on a glass that lags a little is not to stay either.
                let from = now.offset(-delay.us() - GLASS_LAG_US);
                ring.veil(from, Some(now), CoverReason::DontShow);
            }
            Order::Wipe => ring.wipe(now),
            Order::CoverFromNow if ring.covered_from().is_none() => {
                ring.veil(now, None, CoverReason::Covered);
            }
            Order::CoverFromNow => {}
            Order::Uncover => ring.unveil(now),
            Order::Pause => ring.pause(true),
            Order::Resume => ring.pause(false),
        }
        drop(inner);
        self.changed.send_replace(());
    }

    /// How it is, for its screens.
    #[must_use]
    pub fn state(&self) -> StationState {
        let inner = self.lock();
        StationState {
            applies: Applies::Live,
            number: self.config.number.get(),
            title: self.config.title.clone(),
            delay_ms: inner.delay.ms(),
            window_ms: self.config.window_ms,
            camera: inner.health.state,
            camera_since_us: inner.health.since,
            oldest_us: inner.ring.oldest_shown(),
            newest_us: inner.ring.newest(),
            demo: self.config.demo,
        }
    }

    /// How it is, for a remote.
    #[must_use]
    pub fn info(&self) -> StationInfo {
        let inner = self.lock();
        StationInfo {
            number: self.config.number.get(),
            title: self.config.title.clone(),
            delay_ms: inner.delay.ms(),
            delay_step_ms: DELAY_STEP_MS,
            delay_most_ms: DelayMs::most_ms(self.config.window_ms),
            window_ms: self.config.window_ms,
            ring_bytes: inner.ring.bytes() as u64,
            demo: self.config.demo,
            paused: inner.ring.paused(),
            covered_from_us: inner.ring.covered_from(),
            camera: CameraInfo {
                state: inner.health.state,
                since_us: inner.health.since,
                detail: inner.health.detail.clone(),
                notes: inner.notes.clone(),
            },
            oldest_us: inner.ring.oldest_shown(),
            newest_us: inner.ring.newest(),
            viewers: inner.viewers.values().copied().collect(),
        }
    }

    /// How its camera is.
    #[must_use]
    pub fn camera_state(&self) -> CameraState {
        self.lock().health.state
    }

    /// Told whenever [`state`](Self::state) has news that should not wait.
    #[must_use]
    pub fn changes(&self) -> channel::Receiver<()> {
        self.changed.subscribe()
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        // A poisoned lock means a broken invariant in another task; what the
        // ring holds is still whole, and one station must not take the rest down.
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn set_notes(&self, notes: Vec<CameraNote>) {
        self.lock().notes = notes;
    }

    fn set_health(&self, state: CameraState, detail: &str) {
        let now = self.now();
        if self.lock().health.set(state, detail, now) {
            let number = self.config.number.get();
            tracing::info!(station = number, ?state, detail, "camera");
            self.changed.send_replace(());
        }
    }
}

#[cfg(test)]
mod tests;
