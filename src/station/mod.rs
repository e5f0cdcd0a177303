//! One station: its camera, its ring, the screens that watch it.
//!
//! - [`Station`]: what the rest of the program holds; cheap to share.
//! - [`supervise()`]: opens the camera, feeds the ring, and opens it again when
//!   it fails, for as long as the program runs. One task a station, so that a
//!   station's failure stays its own.
//! - [`Watch`]: one screen's seat: what it is sent next.
//! - [`watch_sight`]: whether cameras see well enough, looked at now and then;
//!   [`watch_aim`]: whether one still looks where it looked.
//!
//! A camera is on only while somebody wants it ([`Station::capture`]): the class
//! that runs does. The drawn demo scene needs nobody.
//!
//! Not here: kinds of camera, sockets, and anything about a class.

mod again;
mod aim;
mod backoff;
mod calibrate;
mod health;
mod keep;
mod memory;
mod moved;
mod sight;
mod supervise;
mod watch;

use std::{
    collections::BTreeMap,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use afterturn_core::{
    delay::{Again, Reach, Ring, RingSettings},
    kernel::{AttemptS, CaptureUs, DELAY_STEP_MS, DelayError, DelayMs, StationNumber},
    wire::{
        Applies, CameraInfo, CameraNote, CameraState, CoverReason, LatencyInfo, Order, StationInfo,
        StationState,
    },
};
use tokio::sync::watch as channel;

use crate::av::camera::NowFn;

pub use aim::watch_aim;
pub use backoff::Backoff;
pub use calibrate::Measured;
use health::Health;
pub use memory::Memory;
pub use sight::{LOOK_EVERY, watch_sight};
pub use supervise::supervise;
use watch::Seat;
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
    /// The camera's own latency, taken off every capture time until another is
    /// measured.
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
    memory: Arc<Memory>,
    inner: Mutex<Inner>,
    /// Told when the delay, the camera's health or what may be seen changes.
    changed: channel::Sender<()>,
    /// Told when the ring has grown.
    grown: channel::Sender<()>,
    /// Whether its camera is to be on.
    captures: channel::Sender<bool>,
    /// What is taken off capture times, in milliseconds.
    latency: channel::Sender<u32>,
}

#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a reason of its own, and they come and go by themselves"
)]
struct Inner {
    ring: Ring,
    /// How far back the ring can be counted on.
    reach: Reach,
    /// As it was set; screens are told what is in reach.
    delay: DelayMs,
    again: Again,
    /// How long an attempt lasts.
    attempt: AttemptS,
    /// When the group came that is here now, if somebody says.
    arrived: Option<CaptureUs>,
    health: Health,
    notes: Vec<CameraNote>,
    /// Somebody paused this station.
    paused: bool,
    /// The class shows no picture anywhere.
    held: bool,
    /// Nobody sees to who is covered.
    unattended: bool,
    /// It works without a picture of itself.
    quiet: bool,
    seats: BTreeMap<u64, Seat>,
    next_seat: u64,
    calibration: calibrate::Standing,
    looks: sight::Looks,
    aim: aim::Aimed,
}

impl Inner {
    /// Whether no picture is to be seen anywhere.
    fn covers(&self) -> bool {
        self.paused || self.held || self.unattended || self.aim.doubts()
    }

    /// The delay that can be kept.
    fn delay_now(&self) -> DelayMs {
        self.reach.delay(self.delay)
    }

    /// How far back the ring goes has changed, perhaps for want of memory.
    fn measure(&mut self, shortened: bool, now: CaptureUs) -> bool {
        let span_us = self.ring.span_us();
        if shortened {
            self.reach.shortened(span_us, now)
        } else {
            self.reach.holds(span_us, now)
        }
    }
}

impl Station {
    /// A station with an empty ring and a camera that has yet to start.
    #[must_use]
    pub fn new(config: StationConfig, now: NowFn, memory: &Arc<Memory>) -> Arc<Self> {
        let window_s = config.window_ms.div_ceil(1000) as usize;
        let ring = Ring::new(RingSettings {
            window_us: i64::from(config.window_ms) * 1000,
            most_bytes: window_s * MOST_BYTES_PER_S,
        });
        let inner = Inner {
            ring,
            reach: Reach::whole(config.window_ms),
            delay: config.delay,
            again: Again::default(),
            attempt: AttemptS::USUAL,
            arrived: None,
            health: Health::at_first(config.demo, now()),
            notes: Vec::new(),
            paused: false,
            held: false,
            unattended: false,
            quiet: false,
            seats: BTreeMap::new(),
            next_seat: 0,
            calibration: calibrate::Standing::default(),
            looks: sight::Looks::default(),
            aim: aim::Aimed::default(),
        };
        let captures = config.demo;
        let latency = channel::Sender::new(config.latency_ms);
        let station = Arc::new(Self {
            config,
            now,
            memory: Arc::clone(memory),
            inner: Mutex::new(inner),
            changed: channel::Sender::new(()),
            grown: channel::Sender::new(()),
            captures: channel::Sender::new(captures),
            latency,
        });
        memory.add(Arc::downgrade(&station));
        station
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

    /// The same for one who looks time and again; more than the window reaches is
    /// as much as it does.
    pub fn follow_delay(&self, delay_ms: u32) {
        let window_ms = self.config.window_ms;
        let delay_ms = delay_ms.min(DelayMs::most_ms(window_ms));
        if self.lock().delay.ms() != delay_ms {
            // Whoever says so has looked at its step.
            let _ = self.set_delay(delay_ms);
        }
    }

    /// Carries out an order about what may be seen; every screen follows.
    pub fn order(&self, order: Order) {
        let now = self.now();
        let mut inner = self.lock();
        let delay = inner.delay_now();
        let before = inner.ring.bytes();
        let again_from = inner.again.from();
        match order {
            Order::Pause => inner.paused = true,
            Order::Resume => inner.paused = false,
            Order::CameraRight => inner.trust_again(now),
            _ => {}
        }
        let covered = inner.covers();
        let ring = &mut inner.ring;
        match order {
            Order::DontShow => {
                // What is on a glass that lags a little is not to stay either.
                let from = now.offset(-delay.us() - GLASS_LAG_US);
                // And while pictures are shown once more, those are meant.
                let from = again_from.map_or(from, |again| from.min(again));
                ring.veil(from, Some(now), CoverReason::DontShow);
            }
            Order::Wipe => ring.wipe(now),
            Order::CoverFromNow if ring.covered_from().is_none() => {
                ring.veil(now, None, CoverReason::Covered);
            }
            Order::CoverFromNow => {}
            Order::Uncover => ring.unveil(now),
            Order::Pause | Order::Resume | Order::CameraRight => ring.pause(covered),
        }
        self.memory.account(before, ring.bytes());
        drop(inner);
        self.changed.send_replace(());
    }

    /// How it is, for its screens.
    #[must_use]
    pub fn state(&self) -> StationState {
        let now = self.now();
        let mut inner = self.lock();
        let again = inner.shown_again(now);
        StationState {
            applies: Applies::Live,
            number: self.config.number.get(),
            title: self.config.title.clone(),
            delay_ms: inner.delay_now().ms(),
            window_ms: self.config.window_ms,
            camera: inner.health.state,
            camera_since_us: inner.health.since,
            oldest_us: inner.ring.oldest_shown(),
            newest_us: inner.ring.newest(),
            demo: self.config.demo,
            calibrating: inner.calibration.running(),
            attempt_s: inner.attempt.get(),
            again,
            quiet: inner.quiet,
        }
    }

    /// How it is, for a remote.
    #[must_use]
    pub fn info(&self) -> StationInfo {
        let now = self.now();
        let mut inner = self.lock();
        let again = inner.shown_again(now);
        let seats = inner.seats.values();
        StationInfo {
            number: self.config.number.get(),
            title: self.config.title.clone(),
            delay_ms: inner.delay.ms(),
            delay_step_ms: DELAY_STEP_MS,
            delay_most_ms: DelayMs::most_ms(self.config.window_ms),
            delay_now_ms: inner.delay_now().ms(),
            window_ms: self.config.window_ms,
            reach_ms: inner.reach.ms(),
            ring_bytes: inner.ring.bytes() as u64,
            demo: self.config.demo,
            paused: inner.paused,
            covered_from_us: inner.ring.covered_from(),
            camera: CameraInfo {
                state: inner.health.state,
                since_us: inner.health.since,
                detail: inner.health.detail.clone(),
                notes: inner.notes.clone(),
                sight: inner.looks.said(),
                moved: inner.aim.moved(),
            },
            attempt_s: inner.attempt.get(),
            attempt_least_s: AttemptS::LEAST.get(),
            attempt_most_s: AttemptS::MOST.get(),
            again,
            latency: LatencyInfo {
                file_ms: self.config.latency_ms,
                now_ms: self.latency_ms(),
            },
            calibration: inner.calibration.info.clone(),
            oldest_us: inner.ring.oldest_shown(),
            newest_us: inner.ring.newest(),
            viewers: seats
                .map(|seat| seat.info(&inner.ring, inner.delay, now))
                .collect(),
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

    /// Changes what the ring holds, lets it forget what is past, and sees to the
    /// memory all rings share.
    fn keep(&self, change: impl FnOnce(&mut Ring)) {
        let now = self.now();
        let mut inner = self.lock();
        let before = inner.ring.bytes();
        change(&mut inner.ring);
        let shortened = inner.ring.prune(now);
        self.memory.account(before, inner.ring.bytes());
        let news = inner.measure(shortened, now);
        drop(inner);
        if news {
            self.reach_changed();
        }
        self.memory.relieve();
    }

    fn reach_changed(&self) {
        let reach_ms = self.lock().reach.ms();
        let station = self.config.number.get();
        let window_ms = self.config.window_ms;
        if reach_ms < window_ms {
            tracing::warn!(
                station,
                reach_ms,
                window_ms,
                "memory is short: pictures go back less far"
            );
        } else {
            tracing::info!(station, window_ms, "memory is enough again");
        }
        self.changed.send_replace(());
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
#[cfg(test)]
mod unplug_tests;
