//! The thread that watches over one camera's pipeline: builds it, starts it,
//! waits for its end or for ours, takes it down, and builds the next where the
//! camera's recipe has one. Taking down a network camera can hang on a camera
//! that no longer answers; it hangs here and nobody waits.
//!
//! Not here: what is built, and what an end means (the kinds of camera know).

use std::{
    sync::{Arc, Mutex, PoisonError},
    thread,
    time::{Duration, Instant},
};

use afterturn_core::wire::CameraState;
use gstreamer::{self as gst, prelude::*};

use super::{
    gate::Gate,
    verdict::{Verdict, Whistle},
};
use crate::av::camera::{CameraError, CameraEvent, Note, NowFn, Running};

/// When a pipeline is asked whether it looks well: long after any that works has
/// begun, and before a station gives up on it.
const LOOK: Duration = Duration::from_secs(4);

/// How one kind of camera makes its pipelines.
pub(super) trait Recipe: Send + 'static {
    /// Puts the parts together. May take its time: it is not on anybody's
    /// thread.
    fn build(&mut self, bench: &Bench) -> Result<(), CameraError>;

    /// Asked once, this long after the start, whether it looks as it should; an
    /// error ends it. Some elements fail without a word.
    fn looks_well(&self) -> Result<(), CameraError> {
        Ok(())
    }

    /// What follows an end: why the camera stopped, or, with `Ok`, another
    /// pipeline. May take its time.
    fn after(&mut self, outcome: Outcome<'_>) -> Result<(), CameraError>;
}

/// How a pipeline ended.
pub(super) enum Outcome<'a> {
    /// An element failed.
    Failed(&'a gst::message::Error),
    /// Its stream came to an end.
    Ended,
    /// It found out something about itself.
    Found(Verdict),
}

/// What a pipeline is built on.
pub(super) struct Bench {
    pub(super) pipeline: gst::Pipeline,
    pub(super) gate: Arc<Gate>,
    pub(super) now: NowFn,
    pub(super) whistle: Whistle,
    /// Added to the pipeline's own times, so that those of one start only grow.
    pub(super) base_ns: u64,
}

impl Bench {
    /// Says what could be better, in place of what the pipeline before this one
    /// said.
    pub(super) fn say(&self, notes: Vec<Note>) {
        if !notes.is_empty() || self.base_ns > 0 {
            self.gate.pass(CameraEvent::Notes(notes));
        }
    }
}

/// A pipeline under watch; dropping it stops it without waiting.
pub(super) struct Driven {
    gate: Arc<Gate>,
    /// The bus of the pipeline that runs now.
    bus: Arc<Mutex<Option<gst::Bus>>>,
}

impl Running for Driven {}

impl Drop for Driven {
    fn drop(&mut self) {
        self.gate.shut();
        let bus = self.bus.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(bus) = &*bus {
            let stop = gst::Structure::new_empty("afterturn-stop");
            // Refused only by a pipeline that is already down.
            let _ = bus.post(gst::message::Application::new(stop));
        }
    }
}

/// Follows `recipe` on a thread of its own until it ends, or until what is
/// given back is dropped.
pub(super) fn drive(
    recipe: impl Recipe,
    gate: &Arc<Gate>,
    now: &NowFn,
) -> Result<Driven, CameraError> {
    let driven = Driven {
        gate: Arc::clone(gate),
        bus: Arc::default(),
    };
    let watch = Driver {
        recipe,
        gate: Arc::clone(gate),
        now: Arc::clone(now),
        bus: Arc::clone(&driven.bus),
        began: Instant::now(),
    };
    thread::Builder::new()
        .name("camera-watch".into())
        .spawn(move || watch.run())
        .map_err(|error| {
            CameraError::new(
                CameraState::MissingPart,
                format!("no thread for the camera: {error}"),
            )
        })?;
    Ok(driven)
}

struct Driver<R> {
    recipe: R,
    gate: Arc<Gate>,
    now: NowFn,
    bus: Arc<Mutex<Option<gst::Bus>>>,
    began: Instant,
}

impl<R: Recipe> Driver<R> {
    fn run(mut self) {
        let mut base_ns = 0;
        while !self.gate.is_shut() {
            let bench = self.bench(base_ns);
            let outcome = self.recipe.build(&bench).and_then(|()| self.play(&bench));
            if let Err(reason) = outcome {
                tracing::debug!(state = ?reason.state, detail = %reason.detail, "camera ended");
                self.gate.end(reason);
            }
            // Going down, a pipeline waits for its threads; that cannot fail in
            // a way anyone could act on.
            let _ = bench.pipeline.set_state(gst::State::Null);
            base_ns = self.began.elapsed().as_nanos() as u64;
        }
    }

    fn bench(&self, base_ns: u64) -> Bench {
        let pipeline = gst::Pipeline::new();
        let bus = pipeline.bus().expect("a pipeline has a bus");
        // From here on a drop is heard by this one.
        *self.bus.lock().unwrap_or_else(PoisonError::into_inner) = Some(bus.clone());
        Bench {
            pipeline,
            gate: Arc::clone(&self.gate),
            now: Arc::clone(&self.now),
            whistle: Whistle::new(bus),
            base_ns,
        }
    }

    /// Runs a pipeline to its end; `Ok` where another is to follow.
    fn play(&mut self, bench: &Bench) -> Result<(), CameraError> {
        if self.gate.is_shut() {
            return Ok(());
        }
        // A failure to start posts its error on the bus like any other; one that
        // did not start has said why already, or never will.
        let started = bench.pipeline.set_state(gst::State::Playing).is_ok();
        let mut end = next_message(bench, if started { LOOK } else { Duration::ZERO });
        if started && end.is_none() && !self.gate.is_shut() {
            self.recipe.looks_well()?;
            end = next_message(bench, None);
        }
        if self.gate.is_shut() {
            return Ok(());
        }
        let outcome = match (
            bench.whistle.heard(),
            end.as_deref().map(gst::MessageRef::view),
        ) {
            (Some(verdict), _) => Outcome::Found(verdict),
            (None, Some(gst::MessageView::Error(error))) => Outcome::Failed(error),
            (None, _) => Outcome::Ended,
        };
        self.recipe.after(outcome)
    }
}

/// The next message that ends a pipeline; none within `patience`, if that is
/// limited.
fn next_message(bench: &Bench, patience: impl Into<Option<Duration>>) -> Option<gst::Message> {
    let wanted = [
        gst::MessageType::Error,
        gst::MessageType::Eos,
        gst::MessageType::Application,
    ];
    let patience = patience
        .into()
        .map(|time| gst::ClockTime::from_mseconds(time.as_millis() as u64));
    let bus = bench.pipeline.bus().expect("a pipeline has a bus");
    bus.timed_pop_filtered(patience, &wanted)
}

/// A bench for tests that build a pipeline and look at it.
#[cfg(test)]
pub(super) fn bench(events: crate::av::camera::EventSink) -> Bench {
    use afterturn_core::kernel::CaptureUs;

    let pipeline = gst::Pipeline::new();
    let bus = pipeline.bus().expect("a pipeline has a bus");
    let began = Instant::now();
    Bench {
        pipeline,
        gate: Arc::new(Gate::new(events)),
        now: Arc::new(move || CaptureUs(1_000_000_000 + began.elapsed().as_micros() as u64)),
        whistle: Whistle::new(bus),
        base_ns: 0,
    }
}
