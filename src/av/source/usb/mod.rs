//! A camera on this machine's USB, through the kernel's V4L2.
//!
//! ```text
//! v4l2src ! (what was chosen) ! jpegdec ! (encode) ! (tail)    or, with H.264,
//! v4l2src ! (what was chosen) ! (tail)
//! ```
//!
//! - `modes`: choosing of what it offers; `offers`: reading that
//! - `trouble`: why it is not sending
//! - [`devices`]: what is plugged in, and a picture of each
//!
//! Everything behind `v4l2src` is put together by one function, which the tests
//! feed with a source of theirs.
//!
//! Not here: sound. A camera's microphone is another device and never opened.

pub mod devices;
pub mod modes;
mod offers;
#[cfg(test)]
pub(crate) mod scripted;
mod trouble;

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use afterturn_core::wire::{CameraNote, CameraState};
use gstreamer::{self as gst, prelude::*};

use self::{
    modes::{Form, Mode, choose},
    offers::{caps_of, offers},
    trouble::{Trouble, Why, explain},
};
use super::{
    arrivals::Arrivals,
    convert::Converter,
    drive::{Bench, Outcome, Recipe, drive},
    gate::Gate,
    tail::{self, Wishes},
    verdict::Verdict,
};
use crate::av::{
    camera::{Camera, CameraError, EventSink, Knock, Note, NowFn, Running},
    element,
    encode::{Encoding, Most},
};

/// A camera's own H.264 has to have a keyframe within this, or it is asked for
/// JPEG: a screen cannot begin, nor go on after a loss, before the next.
const KEYFRAME_WITHIN_US: i64 = 2_500_000;

/// What encoders in cameras are asked for, in V4L2's words; those a camera does
/// not have are passed over.
const CONTROLS: &str = "controls,h264_i_frame_period=30,video_gop_size=30,video_b_frames=0,\
                        repeat_sequence_header=1";

/// Opens a device; it does not send yet.
type Opener = fn(&Path) -> Result<gst::Element, CameraError>;

/// A camera on USB.
#[derive(Debug)]
pub struct UsbCamera {
    device: PathBuf,
    wanted: Most,
    encoding: Encoding,
    opener: Opener,
}

impl UsbCamera {
    /// The camera at this device; nothing is opened yet.
    #[must_use]
    pub const fn new(device: PathBuf, wanted: Most, encoding: Encoding) -> Self {
        Self {
            device,
            wanted,
            encoding,
            opener: open,
        }
    }

    /// The same with a stand-in for the kernel's device: see `scripted`.
    #[cfg(test)]
    pub(crate) fn scripted(device: PathBuf, encoding: Encoding) -> Self {
        let opener = scripted::open;
        Self {
            opener,
            ..Self::new(device, crate::av::encode::USUAL, encoding)
        }
    }
}

impl Camera for UsbCamera {
    fn kind(&self) -> &'static str {
        "usb"
    }

    fn knock(&self) -> Option<Knock> {
        Some(Knock::Path(self.device.clone()))
    }

    fn start(&mut self, now: NowFn, events: EventSink) -> Result<Box<dyn Running>, CameraError> {
        let plugged = Plugged {
            device: self.device.clone(),
            wanted: self.wanted,
            converter: Converter::new(self.encoding.clone(), self.wanted),
            opener: self.opener,
            refused: Vec::new(),
            asked: None,
        };
        let gate = Arc::new(Gate::new(events));
        Ok(Box::new(drive(plugged, &gate, &now)?))
    }
}

struct Plugged {
    device: PathBuf,
    wanted: Most,
    converter: Converter,
    opener: Opener,
    /// Forms that were tried and do not do.
    refused: Vec<Form>,
    asked: Option<Mode>,
}

impl Recipe for Plugged {
    fn build(&mut self, bench: &Bench) -> Result<(), CameraError> {
        let source = (self.opener)(&self.device)?;
        let listed = listed(&source);
        // A smaller picture of the camera's own costs less than one made smaller.
        let wanted = self.converter.most().unwrap_or(self.wanted);
        let Some(mode) = choose(&offers(&listed), wanted, &self.refused) else {
            let _ = source.set_state(gst::State::Null);
            return Err(trouble::nothing_to_use(&listed));
        };
        tracing::debug!(?mode, "asked of a USB camera");
        if mode.form == Form::H264 && source.has_property("extra-controls") {
            source.set_property_from_str("extra-controls", CONTROLS);
        }
        self.asked = Some(mode);
        bench
            .pipeline
            .add(&source)
            .map_err(|_| CameraError::new(CameraState::MissingPart, "the camera does not fit"))?;
        behind(bench, &source, &mode, &mut self.converter)
    }

    fn after(&mut self, outcome: Outcome<'_>) -> Result<(), CameraError> {
        match outcome {
            Outcome::Found(Verdict::TooSlow) => {
                self.converter.step_down();
                Ok(())
            }
            // Its own H.264 cannot be passed on; it has other forms, or says so
            // at the next try.
            Outcome::Found(verdict) => match self.asked.map(|mode| mode.form) {
                Some(Form::H264) => {
                    tracing::debug!(?verdict, "the camera's own H.264 does not do");
                    self.refused.push(Form::H264);
                    Ok(())
                }
                _ => Err(CameraError::new(CameraState::Unsuitable, verdict.advice())),
            },
            Outcome::Failed(error) => Err(explain(Trouble::of(error), &self.device)),
            Outcome::Ended => Err(explain(Trouble::default(), &self.device)),
        }
    }
}

/// The device, opened but not sending.
fn open(device: &Path) -> Result<gst::Element, CameraError> {
    opened(device).map_err(|why| match why {
        // It knows the part by its name.
        Why::MissingPart => element("v4l2src")
            .err()
            .unwrap_or_else(|| why.of_device(device)),
        _ => why.of_device(device),
    })
}

/// The same, with the reason alone.
fn opened(device: &Path) -> Result<gst::Element, Why> {
    let source = element("v4l2src").map_err(|_| Why::MissingPart)?;
    source.set_property("device", device);
    if source.set_state(gst::State::Ready).is_err() {
        let _ = source.set_state(gst::State::Null);
        return Err(trouble::why(Trouble::default(), device));
    }
    Ok(source)
}

/// What an opened device offers.
fn listed(source: &gst::Element) -> gst::Caps {
    source
        .static_pad("src")
        .map_or_else(gst::Caps::new_empty, |pad| pad.query_caps(None))
}

/// Everything behind a source that sends in this mode.
fn behind(
    bench: &Bench,
    source: &gst::Element,
    mode: &Mode,
    converter: &mut Converter,
) -> Result<(), CameraError> {
    let misfit = |_| CameraError::new(CameraState::MissingPart, "the camera parts do not fit");
    let asked = element("capsfilter")?;
    asked.set_property("caps", caps_of(mode));
    bench.pipeline.add(&asked).map_err(misfit)?;
    source.link(&asked).map_err(misfit)?;
    let entrance = asked.static_pad("src");
    let arrivals = entrance.map(|pad| Arrivals::at(&pad, &bench.now));
    let raw = match mode.form {
        Form::H264 => {
            bench.say(Vec::new());
            return tail::attach(
                bench,
                &asked,
                Wishes {
                    keyframe_within_us: Some(KEYFRAME_WITHIN_US),
                    ..Wishes::default()
                },
            );
        }
        Form::Jpeg => {
            let decode = element("jpegdec")?;
            // Webcams send a torn picture now and then.
            decode.set_property("max-errors", -1_i32);
            bench.pipeline.add(&decode).map_err(misfit)?;
            asked.link(&decode).map_err(misfit)?;
            decode
        }
        Form::Raw(_) => asked,
    };
    let notes = if mode.form.is_packed() {
        Vec::new()
    } else {
        vec![Note {
            word: CameraNote::Uncompressed,
            detail: "this camera sends its pictures uncompressed; \
                     give it a USB socket of its own, not one of a hub"
                .to_owned(),
        }]
    };
    converter.attach(bench, &raw, arrivals, notes).map(drop)
}

#[cfg(test)]
mod probe_tests;
#[cfg(test)]
mod tests;
