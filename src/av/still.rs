//! A small JPEG to tell cameras apart by: of whatever raw pictures come, or of
//! one keyframe.
//!
//! Not here: keeping one. It is made when somebody asks, handed over and gone.
//! Whether a picture may be seen is for whoever asks to have found out.

use std::time::Duration;

use afterturn_core::{kernel::CaptureUs, media::ParameterSets, wire::CameraState};
use bytes::Bytes;
use gstreamer::{self as gst, prelude::*};
use gstreamer_app as gst_app;

use super::{
    camera::CameraError,
    decode::{self, DecodeError},
    element,
    encode::Dimensions,
};

/// No wider and no higher: enough to know a mat by.
pub(super) const STILL: Dimensions = Dimensions::new(640, 360);

/// A picture that is not made by then never will be.
const PATIENCE: Duration = Duration::from_secs(3);

/// What makes small JPEGs of raw pictures: the row, the last of it the sink.
pub(super) fn row() -> Result<(Vec<gst::Element>, gst_app::AppSink), CameraError> {
    let convert = element("videoconvertscale")?;
    let small = element("capsfilter")?;
    // A picture's shape is kept; what is smaller is not blown up.
    let within = |px: u32| gst::IntRange::new(16, px as i32);
    let caps = gst::Caps::builder("video/x-raw")
        .field("width", within(STILL.width_px))
        .field("height", within(STILL.height_px))
        .field("pixel-aspect-ratio", gst::Fraction::new(1, 1))
        .build();
    small.set_property("caps", caps);
    let encode = element("jpegenc")?;
    let sink = gst_app::AppSink::builder()
        .sync(false)
        .max_buffers(1)
        .build();
    let row = vec![convert, small, encode, sink.clone().upcast()];
    Ok((row, sink))
}

/// What came out of the row.
pub(super) fn jpeg_of(sample: &gst::Sample) -> Option<Bytes> {
    let readable = sample.buffer()?.map_readable().ok()?;
    Some(Bytes::copy_from_slice(&readable))
}

/// A small JPEG of one keyframe. Blocks for some hundredths of a second.
pub fn of_keyframe(params: &ParameterSets, keyframe: Bytes) -> Result<Bytes, CameraError> {
    let pipeline = gst::Pipeline::new();
    let outcome = made(&pipeline, params, keyframe);
    let _ = pipeline.set_state(gst::State::Null);
    outcome
}

fn made(
    pipeline: &gst::Pipeline,
    params: &ParameterSets,
    keyframe: Bytes,
) -> Result<Bytes, CameraError> {
    let refused = || CameraError::new(CameraState::Unsuitable, "the picture does not decode");
    let inlet = element("appsrc")?
        .downcast::<gst_app::AppSrc>()
        .map_err(|_| refused())?;
    inlet.set_format(gst::Format::Time);
    inlet.set_caps(Some(&decode::caps_of(params).map_err(|e| said(&e))?));
    let (rest, sink) = row()?;
    let mut parts = vec![
        inlet.clone().upcast(),
        decode::decoder().map_err(|e| said(&e))?,
    ];
    parts.extend(rest);
    pipeline
        .add_many(&parts)
        .and_then(|()| gst::Element::link_many(&parts))
        .map_err(|_| CameraError::new(CameraState::MissingPart, "the parts do not fit"))?;
    pipeline
        .set_state(gst::State::Playing)
        .map_err(|_| refused())?;
    let mut buffer = gst::Buffer::from_slice(keyframe);
    if let Some(open) = buffer.get_mut() {
        open.set_pts(gst::ClockTime::from_useconds(CaptureUs::ZERO.0));
    }
    inlet
        .push_buffer(buffer)
        .and_then(|_| inlet.end_of_stream())
        .map_err(|_| refused())?;
    let patience = gst::ClockTime::from_mseconds(PATIENCE.as_millis() as u64);
    sink.try_pull_sample(patience)
        .and_then(|sample| jpeg_of(&sample))
        .ok_or_else(refused)
}

fn said(error: &DecodeError) -> CameraError {
    let state = match error {
        DecodeError::Missing(_) => CameraState::MissingPart,
        DecodeError::Misfit | DecodeError::Refused => CameraState::Unsuitable,
    };
    CameraError::new(state, error.to_string())
}
