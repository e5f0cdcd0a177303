//! The thread that watches over one pipeline: starts it, waits for its end or
//! for ours, takes it down. Taking down a network camera can hang on a camera
//! that no longer answers; it hangs here and nobody waits.
//!
//! Not here: what an end means (`fault` and the sources explain it).

use std::{sync::Arc, thread};

use afterturn_core::wire::CameraState;
use gstreamer::{self as gst, prelude::*};

use super::gate::Gate;
use crate::av::camera::{CameraError, Running};

/// A pipeline under watch; dropping it stops it without waiting.
pub(super) struct Driven {
    gate: Arc<Gate>,
    bus: gst::Bus,
}

impl Running for Driven {}

impl Drop for Driven {
    fn drop(&mut self) {
        self.gate.shut();
        let stop = gst::Structure::new_empty("afterturn-stop");
        // Refused only by a pipeline that is already down.
        let _ = self.bus.post(gst::message::Application::new(stop));
    }
}

/// Starts `pipeline` on a thread of its own. When it ends by itself, `explain`
/// gets the error, or none where the stream simply ended; it may take its time.
pub(super) fn drive(
    pipeline: gst::Pipeline,
    gate: &Arc<Gate>,
    explain: impl FnOnce(Option<&gst::message::Error>) -> CameraError + Send + 'static,
) -> Result<Driven, CameraError> {
    let bus = pipeline.bus().expect("a pipeline has a bus");
    let driven = Driven {
        gate: Arc::clone(gate),
        bus: bus.clone(),
    };
    let gate = Arc::clone(gate);
    thread::Builder::new()
        .name("camera-watch".into())
        .spawn(move || {
            // A failure to start posts its error on the bus like any other.
            let started = pipeline.set_state(gst::State::Playing).is_ok();
            watch(&bus, started, &gate, explain);
            // Going down, a pipeline waits for its threads; that cannot fail in
            // a way anyone could act on.
            let _ = pipeline.set_state(gst::State::Null);
        })
        .map_err(|error| {
            CameraError::new(
                CameraState::MissingPart,
                format!("no thread for the camera: {error}"),
            )
        })?;
    Ok(driven)
}

fn watch(
    bus: &gst::Bus,
    started: bool,
    gate: &Gate,
    explain: impl FnOnce(Option<&gst::message::Error>) -> CameraError,
) {
    // One that did not start has said why already, or never will.
    let patience = if started {
        gst::ClockTime::NONE
    } else {
        Some(gst::ClockTime::ZERO)
    };
    let wanted = [
        gst::MessageType::Error,
        gst::MessageType::Eos,
        gst::MessageType::Application,
    ];
    let end = bus.timed_pop_filtered(patience, &wanted);
    if gate.is_shut() {
        return;
    }
    let reason = explain(match end.as_deref().map(gst::MessageRef::view) {
        Some(gst::MessageView::Error(error)) => Some(error),
        _ => None,
    });
    tracing::debug!(state = ?reason.state, detail = %reason.detail, "camera ended");
    gate.end(reason);
}
