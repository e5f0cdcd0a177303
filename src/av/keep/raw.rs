//! Pictures decoded to raw ones, one after the other.
//!
//! Not here: what is done with them.

use afterturn_core::kernel::CaptureUs;
use gstreamer::{self as gst, prelude::*};
use gstreamer_app as gst_app;

use super::{KeepError, PATIENCE, Source};
use crate::av::decode::{self, DecodeError};

/// Raw pictures that may wait: they are large.
const MOST_WAITING: u32 = 3;

/// A running pipeline, stopped when it goes.
pub(super) struct Running(pub(super) gst::Pipeline);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.set_state(gst::State::Null);
    }
}

impl Running {
    /// Links the parts into a pipeline of their own and starts it.
    pub(super) fn start(parts: &[&gst::Element]) -> Result<Self, KeepError> {
        let running = Self(gst::Pipeline::new());
        running
            .0
            .add_many(parts)
            .and_then(|()| gst::Element::link_many(parts))
            .map_err(|_| DecodeError::Misfit)?;
        let started = running.0.set_state(gst::State::Playing);
        started.map_err(|_| DecodeError::Misfit)?;
        Ok(running)
    }

    /// Whether a part has given up.
    pub(super) fn failed(&self) -> bool {
        let bus = self.0.bus().expect("a pipeline has a bus");
        bus.pop_filtered(&[gst::MessageType::Error]).is_some()
    }
}

pub(super) fn part(name: &'static str) -> Result<gst::Element, KeepError> {
    let made = gst::ElementFactory::make(name).build();
    made.map_err(|_| KeepError::Decode(DecodeError::Misfit))
}

/// An inlet for buffers in this form.
pub(super) fn inlet(caps: &gst::Caps) -> Result<gst_app::AppSrc, KeepError> {
    let inlet = part("appsrc")?
        .downcast::<gst_app::AppSrc>()
        .map_err(|_| DecodeError::Misfit)?;
    inlet.set_format(gst::Format::Time);
    inlet.set_caps(Some(caps));
    Ok(inlet)
}

/// An outlet that waits with so many.
pub(super) fn outlet(most: u32) -> Result<gst_app::AppSink, KeepError> {
    let outlet = part("appsink")?
        .downcast::<gst_app::AppSink>()
        .map_err(|_| DecodeError::Misfit)?;
    outlet.set_sync(false);
    outlet.set_max_buffers(most);
    outlet.set_enable_last_sample(false);
    Ok(outlet)
}

/// A filter that lets one form pass.
pub(super) fn form(caps: &gst::Caps) -> Result<gst::Element, KeepError> {
    let form = part("capsfilter")?;
    form.set_property("caps", caps);
    Ok(form)
}

/// The next sample; none at the end, and an error if none comes.
pub(super) fn next(
    outlet: &gst_app::AppSink,
    running: &Running,
) -> Result<Option<gst::Sample>, KeepError> {
    let patience = gst::ClockTime::from_mseconds(PATIENCE.as_millis() as u64);
    match outlet.try_pull_sample(patience) {
        Some(sample) => Ok(Some(sample)),
        None if outlet.is_eos() && !running.failed() => Ok(None),
        None => Err(KeepError::Decode(DecodeError::Refused)),
    }
}

/// Decodes pictures and lends each with its form and its time, in order.
pub(super) fn decoded(
    source: &Source<'_>,
    mut look: impl FnMut(&gst::Caps, CaptureUs, &[u8]) -> Result<(), KeepError>,
) -> Result<(), KeepError> {
    let first = source.pictures.first().ok_or(DecodeError::Refused)?.capture;
    let inlet = inlet(&decode::caps_of(source.params)?)?;
    inlet.set_max_bytes(0);
    let outlet = outlet(MOST_WAITING)?;
    let raw = gst::Caps::builder("video/x-raw")
        .field("format", "I420")
        .field("pixel-aspect-ratio", gst::Fraction::new(1, 1))
        .build();
    let running = Running::start(&[
        inlet.upcast_ref(),
        &decode::decoder()?,
        &part("videoconvertscale")?,
        &form(&raw)?,
        outlet.upcast_ref(),
    ])?;
    for one in source.pictures {
        let mut buffer = gst::Buffer::from_slice(one.access_unit());
        let open = buffer.get_mut().ok_or(DecodeError::Misfit)?;
        let at_us = one.capture.since(first).max(0) as u64;
        open.set_pts(gst::ClockTime::from_useconds(at_us));
        if !one.keyframe {
            open.set_flags(gst::BufferFlags::DELTA_UNIT);
        }
        let taken = inlet.push_buffer(buffer);
        taken.map_err(|_| DecodeError::Refused)?;
    }
    inlet.end_of_stream().map_err(|_| DecodeError::Refused)?;
    while let Some(sample) = next(&outlet, &running)? {
        let (caps, buffer) = (sample.caps_owned(), sample.buffer_owned());
        let (Some(caps), Some(buffer)) = (caps, buffer) else {
            return Err(KeepError::Form);
        };
        let pts = buffer.pts().ok_or(DecodeError::Refused)?;
        let pixels = buffer.map_readable().map_err(|_| KeepError::Form)?;
        look(&caps, first.offset(pts.useconds() as i64), &pixels)?;
    }
    Ok(())
}
