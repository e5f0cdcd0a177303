//! Finds out how long a station's camera takes: its screens show bars with the
//! time, the camera films one of them, and what it sends is decoded and read, for
//! some seconds and no longer.
//!
//! Pictures come through the ring's one read, as they do for everybody: what is
//! hidden is hidden from this too. Each is looked at and let go.
//!
//! Not here: reading bars and what they say (`core/vision`), decoding
//! ([`crate::av::decode`]), showing them (`web/live/bars.js`).

use std::{sync::Arc, time::Duration};

use afterturn_core::{
    delay::Reading,
    kernel::FragmentNumber,
    vision::{Calibration, Latency, Unclear, bars},
    wire::{CalibrationInfo, CalibrationOrder, CalibrationRefusal, CameraState},
};
use serde::{Deserialize, Serialize};
use tokio::{
    sync::{mpsc, watch as channel},
    task::AbortHandle,
    time::{Instant, sleep, sleep_until},
};

use super::Station;
use crate::av::decode::{DecodeError, Decoder};

/// It ends by itself after this.
const LONGEST: Duration = Duration::from_secs(20);

/// How soon a decoder that was full is tried again.
const AGAIN: Duration = Duration::from_millis(100);

/// Pictures are decoded no wider: the bars of a screen that fills a third of the
/// picture are then still eight pixels wide.
const MOST_WIDTH_PX: u32 = 1280;

/// The calibration of a station: the one that runs, or how the last one went.
#[derive(Default)]
pub(super) struct Standing {
    pub(super) info: Option<CalibrationInfo>,
    task: Option<AbortHandle>,
    /// Counts them, so that one that is over has no more to say.
    run: u64,
}

impl Standing {
    pub(super) const fn running(&self) -> bool {
        matches!(self.info, Some(CalibrationInfo::Running { .. }))
    }
}

/// A figure that was measured, and the config file's that it stands in for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// The station's number.
    pub station: u8,
    /// What the config file said: once it says something else, the measured
    /// figure is no longer meant.
    pub file_ms: u32,
    /// What is taken off instead.
    pub latency_ms: u32,
}

/// Why there is no figure, and more of it for a technician.
type Refused = (CalibrationRefusal, String);

impl Station {
    /// What is taken off capture times.
    #[must_use]
    pub fn latency_ms(&self) -> u32 {
        *self.latency.borrow()
    }

    /// Told when that changes.
    #[must_use]
    pub fn latency_changes(&self) -> channel::Receiver<u32> {
        self.latency.subscribe()
    }

    /// The measured figure in force, if there is one.
    #[must_use]
    pub fn measured(&self) -> Option<Measured> {
        let measured = Measured {
            station: self.config.number.get(),
            file_ms: self.config.latency_ms,
            latency_ms: self.latency_ms(),
        };
        (measured.latency_ms != measured.file_ms).then_some(measured)
    }

    /// A figure measured in an earlier run; goes for nothing where it belongs to
    /// another station, or the config file says something else by now.
    pub fn remember(&self, measured: Measured) {
        let same = (self.config.number.get(), self.config.latency_ms);
        if same == (measured.station, measured.file_ms) {
            self.latency.send_replace(measured.latency_ms);
        }
    }

    /// Carries out an order about the camera's latency. To be called from within
    /// the runtime.
    pub fn calibration(self: &Arc<Self>, order: CalibrationOrder) {
        match order {
            CalibrationOrder::Start => self.start_calibration(),
            CalibrationOrder::Stop => {
                let running = self.lock().calibration.running();
                if running {
                    self.end_calibration(None, Err((CalibrationRefusal::Stopped, String::new())));
                }
            }
            CalibrationOrder::Forget => {
                let task = self.lock().calibration.forget();
                if let Some(task) = task {
                    task.abort();
                }
                self.latency.send_replace(self.config.latency_ms);
            }
        }
        self.changed.send_replace(());
    }

    fn start_calibration(self: &Arc<Self>) {
        let mut inner = self.lock();
        if inner.calibration.running() {
            return;
        }
        // Whoever turns the camera to the screen stands beside it.
        let now = self.now();
        inner.trust_again(now);
        let covered = inner.covers();
        inner.ring.pause(covered);
        let refusal = if inner.health.state != CameraState::Showing {
            away(inner.health.state)
        } else if inner.ring.paused() || inner.ring.covered_from().is_some() {
            CalibrationRefusal::Hidden
        } else if inner.seats.is_empty() {
            CalibrationRefusal::NoScreen
        } else {
            let run = inner.calibration.run;
            let station = Arc::clone(self);
            let task = tokio::spawn(async move {
                let outcome = watch_bars(&station).await;
                station.end_calibration(Some(run), outcome);
            });
            inner.calibration.task = Some(task.abort_handle());
            inner.calibration.info = Some(running(0));
            return;
        };
        drop(inner);
        self.end_calibration(None, Err((refusal, String::new())));
    }

    /// Says how it went, unless it is about a run that is over.
    fn end_calibration(&self, run: Option<u64>, outcome: Result<Latency, Refused>) {
        let station = self.config.number.get();
        let mut inner = self.lock();
        if run.is_some_and(|run| run != inner.calibration.run) {
            return;
        }
        let task = inner.calibration.forget();
        // It is turned back, and learnt anew.
        inner.forget_aim();
        inner.calibration.info = Some(match outcome {
            Ok(found) => {
                tracing::info!(station, ?found, "camera calibrated");
                self.latency.send_replace(found.latency_ms);
                CalibrationInfo::Found {
                    latency_ms: found.latency_ms,
                    unsure_ms: found.unsure_ms,
                }
            }
            Err((why, detail)) => {
                tracing::info!(station, ?why, detail, "camera not calibrated");
                CalibrationInfo::Refused { why, detail }
            }
        });
        drop(inner);
        self.changed.send_replace(());
        // Last: it may be the task that runs this.
        if let Some(task) = task {
            task.abort();
        }
    }
}

impl Standing {
    /// As if there had been none; what is to be aborted, if anything runs.
    fn forget(&mut self) -> Option<AbortHandle> {
        self.run += 1;
        self.info = None;
        self.task.take()
    }
}

fn running(changes: usize) -> CalibrationInfo {
    CalibrationInfo::Running {
        changes: changes as u32,
        wanted: Calibration::ENOUGH as u32,
    }
}

/// Watches the station's own pictures until enough of the bars was seen, or time
/// is up.
async fn watch_bars(station: &Arc<Station>) -> Result<Latency, Refused> {
    let latency_us = i64::from(station.latency_ms()) * 1000;
    let mut calibration = Calibration::new(latency_us);
    let (tell, mut told) = mpsc::unbounded_channel();
    let decoder = Decoder::start(MOST_WIDTH_PX, move |capture, grey| {
        let possible_ms = Calibration::new(latency_us).possible(capture);
        // Whoever asked may have heard enough.
        let _ = tell.send((capture, bars::read(grey, &possible_ms)));
    });
    let mut reader = Reader {
        station,
        decoder: decoder.map_err(|error| undecodable(&error))?,
        next: station.lock().ring.end(),
        chapter: None,
    };
    let mut grown = station.grown.subscribe();
    let end = Instant::now() + LONGEST;
    loop {
        reader.read_on()?;
        tokio::select! {
            seen = told.recv() => {
                let Some((capture, seen)) = seen else {
                    return Err(undecodable(&DecodeError::Refused));
                };
                let before = calibration.changes();
                calibration.add(capture, seen);
                if calibration.changes() > before {
                    station.calibration_goes_on(calibration.changes());
                }
                if calibration.suffices() {
                    break;
                }
            }
            _ = grown.changed() => {}
            () = sleep(AGAIN) => {}
            () = sleep_until(end) => break,
        }
    }
    let camera = station.camera_state();
    if camera != CameraState::Showing {
        return Err((away(camera), String::new()));
    }
    calibration.verdict().map_err(|unclear| {
        let why = match unclear {
            Unclear::NotFound => CalibrationRefusal::NotFound,
            Unclear::TooDark => CalibrationRefusal::TooDark,
            Unclear::TooFew => CalibrationRefusal::TooFew,
            Unclear::Uneven => CalibrationRefusal::Uneven,
            Unclear::Impossible => CalibrationRefusal::Impossible,
        };
        (why, format!("{} changes seen", calibration.changes()))
    })
}

impl Station {
    fn calibration_goes_on(&self, changes: usize) {
        let mut inner = self.lock();
        if inner.calibration.running() {
            inner.calibration.info = Some(running(changes));
        }
    }
}

/// Why there are no pictures.
const fn away(camera: CameraState) -> CalibrationRefusal {
    match camera {
        CameraState::Off => CalibrationRefusal::CameraOff,
        _ => CalibrationRefusal::NoCamera,
    }
}

fn undecodable(error: &DecodeError) -> Refused {
    (CalibrationRefusal::NoDecoder, error.to_string())
}

/// From the ring to the decoder.
struct Reader<'a> {
    station: &'a Station,
    decoder: Decoder,
    next: FragmentNumber,
    /// Whose parameter sets the decoder has; none until a keyframe.
    chapter: Option<u64>,
}

impl Reader<'_> {
    /// Hands on what there is, as far as there is room.
    fn read_on(&mut self) -> Result<(), Refused> {
        loop {
            let reading = self.station.lock().ring.read(self.next);
            let (fragment, chapter) = match reading {
                Reading::NotYet => return Ok(()),
                Reading::Veiled(_) | Reading::Paused => {
                    return Err((CalibrationRefusal::Hidden, String::new()));
                }
                Reading::Past(oldest) => {
                    self.next = oldest;
                    continue;
                }
                Reading::Wiped => {
                    self.next = self.station.lock().ring.end();
                    self.chapter = None;
                    continue;
                }
                Reading::Shown(fragment, chapter) => (fragment, chapter),
            };
            if self.chapter != Some(chapter.index) {
                if !fragment.keyframe {
                    self.next = self.next.next();
                    continue;
                }
                self.decoder
                    .format(&chapter.params)
                    .map_err(|error| undecodable(&error))?;
                self.chapter = Some(chapter.index);
            }
            let (capture, keyframe) = (fragment.capture, fragment.keyframe);
            let taken = self.decoder.take(capture, keyframe, fragment.access_unit());
            if !taken.map_err(|error| undecodable(&error))? {
                return Ok(());
            }
            self.next = self.next.next();
        }
    }
}
