//! The end every kind of camera shares: parameter sets out of the stream and
//! into the format, one access unit at a time, and out as plain bytes.
//!
//! Not here: decoding, wrapping, and the capture time (the source's own time is
//! handed on as it is). The rules a stream must keep to be passed through are
//! here, because here is where they show.

use std::sync::Arc;

use afterturn_core::{
    kernel::CaptureUs,
    media::{
        slice::{PictureKind, picture_kind},
        stamp::SourceStamp,
    },
    wire::CameraState,
};
use bytes::Bytes;
use gstreamer::{self as gst, prelude::*};
use gstreamer_app as gst_app;

use super::gate::Gate;
use crate::av::{
    camera::{AvcConfig, CameraError, CameraEvent, NowFn, Picture},
    element,
};

/// Pictures that may wait at the end of the pipeline. They are taken as they
/// come, so more than one waits only when the machine is choking.
const MOST_WAITING: u32 = 4;

/// Profiles no browser plays; the word as `GStreamer` writes it, up to a
/// hyphen that may follow.
const UNPLAYABLE_PROFILES: &[&str] = &[
    "high-10",
    "high-4:2:2",
    "high-4:4:4",
    "cavlc-4:4:4",
    "extended",
];

/// Puts the tail behind `source`, an element of `pipeline` with H.264 coming out.
pub(super) fn attach(
    pipeline: &gst::Pipeline,
    source: &gst::Element,
    gate: &Arc<Gate>,
    now: &NowFn,
) -> Result<(), CameraError> {
    let parse = element("h264parse")?;
    // Parameter sets before every keyframe, inside the stream as well.
    parse.set_property("config-interval", -1_i32);
    let caps = gst::Caps::builder("video/x-h264")
        .field("stream-format", "avc")
        .field("alignment", "au")
        .build();
    let sink = element("appsink")?
        .downcast::<gst_app::AppSink>()
        .expect("the element named appsink is an AppSink");
    sink.set_caps(Some(&caps));
    sink.set_sync(false);
    sink.set_async(false);
    sink.set_qos(false);
    sink.set_enable_last_sample(false);
    sink.set_max_buffers(MOST_WAITING);
    let mut intake = Intake::new(Arc::clone(gate));
    let now = Arc::clone(now);
    let callbacks = gst_app::AppSinkCallbacks::builder().new_sample(move |sink| {
        // First of all: this is the arrival.
        let arrival = now();
        let sample = sink.pull_sample().map_err(|_| gst::FlowError::Eos)?;
        intake.take(&sample, arrival)
    });
    sink.set_callbacks(callbacks.build());

    let sink: gst::Element = sink.upcast();
    pipeline
        .add_many([&parse, &sink])
        .and_then(|()| gst::Element::link_many([source, &parse, &sink]))
        .map_err(|_| CameraError::new(CameraState::MissingPart, "the H.264 parts do not fit"))
}

/// Turns samples into events.
struct Intake {
    gate: Arc<Gate>,
    /// As last seen; caps are compared before their content is.
    caps: Option<gst::Caps>,
    config: Option<AvcConfig>,
    /// Until one comes, nothing can be decoded.
    awaits_keyframe: bool,
}

impl Intake {
    fn new(gate: Arc<Gate>) -> Self {
        Self {
            gate,
            caps: None,
            config: None,
            awaits_keyframe: true,
        }
    }

    fn take(
        &mut self,
        sample: &gst::Sample,
        arrival: CaptureUs,
    ) -> Result<gst::FlowSuccess, gst::FlowError> {
        self.hand_on(sample, arrival)
            .map(|()| gst::FlowSuccess::Ok)
            .map_err(|unsuitable| {
                if let Some(error) = unsuitable {
                    self.gate.end(error);
                }
                gst::FlowError::Eos
            })
    }

    /// `Err(None)`: nobody listens any more.
    fn hand_on(
        &mut self,
        sample: &gst::Sample,
        arrival: CaptureUs,
    ) -> Result<(), Option<CameraError>> {
        if let Some(caps) = sample
            .caps_owned()
            .filter(|caps| self.caps.as_ref() != Some(caps))
        {
            self.new_caps(caps)?;
        }
        let Some(buffer) = sample.buffer() else {
            return Ok(());
        };
        let delta = buffer.flags().contains(gst::BufferFlags::DELTA_UNIT);
        if self.config.is_none() || (self.awaits_keyframe && delta) {
            return Ok(());
        }
        let Some(data) = copied(buffer) else {
            return Ok(());
        };
        let kind = picture_kind(&data);
        if kind == PictureKind::Bidirectional {
            return Err(Some(unsuitable(
                "This camera sends B-frames; set its profile to Baseline or turn B-frames off",
            )));
        }
        // The flag alone would not do: `h264parse` also clears it for a picture
        // with an I slice that later pictures may look behind.
        let keyframe = kind == PictureKind::Idr;
        if self.awaits_keyframe && !keyframe {
            return Ok(());
        }
        self.awaits_keyframe = false;
        let picture = Picture {
            source: source_stamp(sample, buffer),
            arrival,
            keyframe,
            data,
        };
        if self.gate.pass(CameraEvent::Picture(picture)) {
            Ok(())
        } else {
            Err(None)
        }
    }

    fn new_caps(&mut self, caps: gst::Caps) -> Result<(), Option<CameraError>> {
        let Some(structure) = caps.structure(0) else {
            return Ok(());
        };
        suitable(structure).map_err(Some)?;
        let record = structure.get::<gst::Buffer>("codec_data").ok();
        if let Some(config) = record.and_then(|record| copied(&record)).map(AvcConfig)
            && self.config.as_ref() != Some(&config)
        {
            self.config = Some(config.clone());
            self.awaits_keyframe = true;
            if !self.gate.pass(CameraEvent::Format(config)) {
                return Err(None);
            }
        }
        self.caps = Some(caps);
        Ok(())
    }
}

/// Whether a stream of this form can be passed on to a browser as it is.
fn suitable(form: &gst::StructureRef) -> Result<(), CameraError> {
    // Of the two words `h264parse` uses, only the second is read from the
    // stream itself; the first it repeats where the source says so.
    let says = |field, word| form.get::<&str>(field).is_ok_and(|said| said != word);
    if says("interlace-mode", "progressive") || says("coded-picture-structure", "frame") {
        return Err(unsuitable(
            "This camera sends interlaced pictures; set its video to progressive",
        ));
    }
    match form.get::<&str>("profile") {
        Ok(profile) if UNPLAYABLE_PROFILES.iter().any(|p| profile.starts_with(p)) => {
            Err(unsuitable(format!(
                "This camera sends H.264 in the {profile} profile; set its profile to Main or Baseline"
            )))
        }
        _ => Ok(()),
    }
}

fn unsuitable(detail: impl Into<String>) -> CameraError {
    CameraError::new(CameraState::Unsuitable, detail)
}

/// The one copy on a picture's whole way: out of the pipeline's memory, piece by
/// piece, so that joining the pieces is not a second one.
fn copied(buffer: &gst::BufferRef) -> Option<Bytes> {
    let mut bytes = Vec::with_capacity(buffer.size());
    for memory in buffer.iter_memories() {
        bytes.extend_from_slice(&memory.map_readable().ok()?);
    }
    Some(Bytes::from(bytes))
}

/// The source's own time. Running time, because x264enc starts its stamps a
/// thousand hours in and says so in the segment.
fn source_stamp(sample: &gst::Sample, buffer: &gst::BufferRef) -> SourceStamp {
    let segment = sample
        .segment()
        .and_then(|s| s.downcast_ref::<gst::ClockTime>());
    segment
        .zip(buffer.pts())
        .and_then(|(segment, pts)| segment.to_running_time(pts))
        .map_or(SourceStamp::Missing, |time| {
            SourceStamp::PipelineNs(time.nseconds())
        })
}

#[cfg(test)]
#[path = "tail_tests.rs"]
mod tests;
