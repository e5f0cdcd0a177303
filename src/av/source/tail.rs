//! The end every kind of camera shares: parameter sets out of the stream and
//! into the format, one access unit at a time, and out as plain bytes.
//!
//! Not here: decoding, wrapping, and the capture time (the source's own time is
//! handed on as it is). The rules a stream must keep to be passed through are
//! here, because here is where they show; what follows from a broken one is for
//! the kind of camera to decide.

use std::sync::Arc;

use afterturn_core::{
    kernel::CaptureUs,
    media::{
        ParameterSets,
        slice::{PictureKind, picture_kind},
        stamp::SourceStamp,
    },
    wire::CameraState,
};
use bytes::Bytes;
use gstreamer::{self as gst, prelude::*};
use gstreamer_app as gst_app;

use super::{
    arrivals::Arrivals,
    drive::Bench,
    gate::Gate,
    verdict::{Verdict, Whistle},
};
use crate::av::{
    camera::{AvcConfig, CameraError, CameraEvent, Picture},
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

/// What is asked of a tail beside its one job.
#[derive(Debug, Default)]
pub(super) struct Wishes {
    /// Pictures were decoded and encoded on their way: when they came in.
    pub(super) arrivals: Option<Arrivals>,
    /// Without a keyframe for this long, the stream is found wanting.
    pub(super) keyframe_within_us: Option<i64>,
}

/// Puts the tail behind `source`, an element of the bench's pipeline with H.264
/// coming out.
pub(super) fn attach(
    bench: &Bench,
    source: &gst::Element,
    wishes: Wishes,
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
    let mut intake = Intake::new(Arc::clone(&bench.gate), bench.whistle.clone());
    intake.wishes = wishes;
    intake.base_ns = bench.base_ns;
    let now = Arc::clone(&bench.now);
    let callbacks = gst_app::AppSinkCallbacks::builder().new_sample(move |sink| {
        // First of all: this is the arrival.
        let arrival = now();
        let sample = sink.pull_sample().map_err(|_| gst::FlowError::Eos)?;
        intake.take(&sample, arrival)
    });
    sink.set_callbacks(callbacks.build());

    let sink: gst::Element = sink.upcast();
    bench
        .pipeline
        .add_many([&parse, &sink])
        .and_then(|()| gst::Element::link_many([source, &parse, &sink]))
        .map_err(|_| CameraError::new(CameraState::MissingPart, "the H.264 parts do not fit"))
}

/// Why no more samples are taken.
enum Stop {
    /// Nobody listens any more.
    Shut,
    Found(Verdict),
}

/// Turns samples into events.
struct Intake {
    gate: Arc<Gate>,
    whistle: Whistle,
    wishes: Wishes,
    base_ns: u64,
    /// As last seen; caps are compared before their content is.
    caps: Option<gst::Caps>,
    config: Option<AvcConfig>,
    /// Until one comes, nothing can be decoded.
    awaits_keyframe: bool,
    last_keyframe: Option<CaptureUs>,
}

impl Intake {
    fn new(gate: Arc<Gate>, whistle: Whistle) -> Self {
        Self {
            gate,
            whistle,
            wishes: Wishes::default(),
            base_ns: 0,
            caps: None,
            config: None,
            awaits_keyframe: true,
            last_keyframe: None,
        }
    }

    fn take(
        &mut self,
        sample: &gst::Sample,
        arrival: CaptureUs,
    ) -> Result<gst::FlowSuccess, gst::FlowError> {
        self.hand_on(sample, arrival)
            .map(|()| gst::FlowSuccess::Ok)
            .map_err(|stop| {
                if let Stop::Found(verdict) = stop {
                    self.whistle.blow(verdict);
                }
                gst::FlowError::Eos
            })
    }

    fn hand_on(&mut self, sample: &gst::Sample, arrival: CaptureUs) -> Result<(), Stop> {
        if let Some(caps) = sample
            .caps_owned()
            .filter(|caps| self.caps.as_ref() != Some(caps))
        {
            self.new_caps(caps)?;
        }
        let Some(buffer) = sample.buffer() else {
            return Ok(());
        };
        self.keyframes_come(arrival)?;
        if self.config.is_none() {
            return Ok(());
        }
        let Some(data) = copied(buffer) else {
            return Ok(());
        };
        let kind = picture_kind(&data);
        if kind == PictureKind::Bidirectional {
            return Err(Stop::Found(Verdict::Bidirectional));
        }
        // The buffer's flag would not do: `h264parse` also clears it for a
        // picture with an I slice that later pictures may look behind.
        let keyframe = kind == PictureKind::Idr;
        if self.awaits_keyframe && !keyframe {
            return Ok(());
        }
        self.awaits_keyframe = false;
        if keyframe {
            self.last_keyframe = Some(arrival);
        }
        let (source, arrival) = self.times(sample, buffer, arrival);
        let picture = Picture {
            source,
            arrival,
            keyframe,
            data,
        };
        if self.gate.pass(CameraEvent::Picture(picture)) {
            Ok(())
        } else {
            Err(Stop::Shut)
        }
    }

    /// The source's time, and when the picture came in.
    fn times(
        &self,
        sample: &gst::Sample,
        buffer: &gst::BufferRef,
        arrival: CaptureUs,
    ) -> (SourceStamp, CaptureUs) {
        let Some(time_ns) = running_time_ns(sample, buffer) else {
            return (SourceStamp::Missing, arrival);
        };
        let came_in = self.wishes.arrivals.as_ref().and_then(|a| a.of(time_ns));
        (
            SourceStamp::PipelineNs(self.base_ns + time_ns),
            came_in.unwrap_or(arrival),
        )
    }

    /// Where keyframes are wanted within a time, whether they come.
    fn keyframes_come(&mut self, arrival: CaptureUs) -> Result<(), Stop> {
        let Some(within_us) = self.wishes.keyframe_within_us else {
            return Ok(());
        };
        let last = *self.last_keyframe.get_or_insert(arrival);
        if arrival.since(last) > within_us {
            return Err(Stop::Found(Verdict::RareKeyframes));
        }
        Ok(())
    }

    fn new_caps(&mut self, caps: gst::Caps) -> Result<(), Stop> {
        let Some(structure) = caps.structure(0) else {
            return Ok(());
        };
        if let Some(verdict) = found_in(structure) {
            return Err(Stop::Found(verdict));
        }
        let record = structure.get::<gst::Buffer>("codec_data").ok();
        if let Some(config) = record.and_then(|record| copied(&record)).map(AvcConfig)
            && self.config.as_ref() != Some(&config)
        {
            // A record that cannot be read is refused by whoever wraps pictures.
            if ParameterSets::from_avcc(&config.0).is_ok_and(|params| params.interlaced) {
                return Err(Stop::Found(Verdict::Interlaced));
            }
            self.config = Some(config.clone());
            self.awaits_keyframe = true;
            if !self.gate.pass(CameraEvent::Format(config)) {
                return Err(Stop::Shut);
            }
        }
        self.caps = Some(caps);
        Ok(())
    }
}

/// What keeps a stream of this form from being passed on to a browser as it is.
fn found_in(form: &gst::StructureRef) -> Option<Verdict> {
    // Of the two words `h264parse` uses, only the second is read from the
    // stream itself, and not for fields that are mixed within a picture; the
    // first it repeats where the source says so.
    let says = |field, word| form.get::<&str>(field).is_ok_and(|said| said != word);
    if says("interlace-mode", "progressive") || says("coded-picture-structure", "frame") {
        return Some(Verdict::Interlaced);
    }
    let profile = form.get::<&str>("profile").ok()?;
    UNPLAYABLE_PROFILES
        .iter()
        .any(|p| profile.starts_with(p))
        .then(|| Verdict::Profile(profile.to_owned()))
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
fn running_time_ns(sample: &gst::Sample, buffer: &gst::BufferRef) -> Option<u64> {
    let segment = sample.segment()?;
    let segment = segment.downcast_ref::<gst::ClockTime>()?;
    segment
        .to_running_time(buffer.pts()?)
        .map(gst::ClockTime::nseconds)
}

#[cfg(test)]
#[path = "tail_tests.rs"]
mod tests;
