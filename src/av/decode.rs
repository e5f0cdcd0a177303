//! Decodes H.264 to brightness, for the moments in which a program has to look:
//! a camera being calibrated, a question about light and focus. What is decoded
//! is lent to a closure and let go.
//!
//! Not here: what is looked for, and where pictures come from (whoever asks has
//! them through the ring's one read). No picture is decoded in order to be shown.

use std::time::Duration;

use afterturn_core::{kernel::CaptureUs, media::ParameterSets, vision::Grey};
use bytes::Bytes;
use gstreamer::{self as gst, glib, prelude::*};
use gstreamer_app as gst_app;

use super::{MissingPart, MissingParts};

/// In order of preference: software first, since it takes every stream that is
/// passed on here and a hardware decoder is one more thing to be busy.
const DECODERS: &[Choice] = &[
    Choice {
        part: part("avdec_h264", "gstreamer1.0-libav"),
        // More would each hold a picture back, and one core is enough.
        settings: &[("max-threads", "2")],
    },
    Choice {
        part: part("openh264dec", "gstreamer1.0-plugins-bad"),
        settings: &[],
    },
    Choice {
        part: part("v4l2h264dec", "gstreamer1.0-plugins-good"),
        settings: &[],
    },
    Choice {
        part: part("vah264dec", "gstreamer1.0-plugins-bad"),
        settings: &[],
    },
];

/// What stands before and behind it.
const INLET: MissingPart = part("appsrc", "gstreamer1.0-plugins-base");
const SCALE: MissingPart = part("videoscale", "gstreamer1.0-plugins-base");
const CONVERT: MissingPart = part("videoconvert", "gstreamer1.0-plugins-base");
const FORM: MissingPart = part("capsfilter", "libgstreamer1.0-0");
const OUTLET: MissingPart = part("appsink", "gstreamer1.0-plugins-base");

/// Pictures that may wait to be decoded: two seconds of them.
const MOST_WAITING: u64 = 60;

/// A single picture that is not decoded by then never will be.
const PATIENCE: Duration = Duration::from_secs(3);

struct Choice {
    part: MissingPart,
    settings: &'static [(&'static str, &'static str)],
}

const fn part(element: &'static str, package: &'static str) -> MissingPart {
    MissingPart { element, package }
}

/// Why nothing is decoded.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DecodeError {
    /// A part is not installed; with no decoder at all, the preferred one is named.
    #[error(transparent)]
    Missing(MissingParts),
    /// The parts refuse each other.
    #[error("the decoder's parts do not fit")]
    Misfit,
    /// The stream cannot be decoded by what is installed.
    #[error("the decoder refused the stream")]
    Refused,
}

/// A running decoder; dropping it stops it and lets go of everything in it.
#[derive(Debug)]
pub struct Decoder {
    pipeline: gst::Pipeline,
    inlet: gst_app::AppSrc,
    form: gst::Element,
    most_width_px: u32,
}

impl Decoder {
    /// Each picture is lent to `look` on the decoder's own thread, no wider than
    /// this, with its capture time.
    pub fn start(
        most_width_px: u32,
        mut look: impl FnMut(CaptureUs, Grey<'_>) + Send + 'static,
    ) -> Result<Self, DecodeError> {
        let inlet = element(INLET)?
            .downcast::<gst_app::AppSrc>()
            .map_err(|_| DecodeError::Misfit)?;
        inlet.set_format(gst::Format::Time);
        inlet.set_max_buffers(MOST_WAITING);
        inlet.set_max_bytes(0);
        let outlet = element(OUTLET)?
            .downcast::<gst_app::AppSink>()
            .map_err(|_| DecodeError::Misfit)?;
        outlet.set_sync(false);
        outlet.set_async(false);
        outlet.set_enable_last_sample(false);
        let callbacks = gst_app::AppSinkCallbacks::builder().new_sample(move |sink| {
            let sample = sink.pull_sample().map_err(|_| gst::FlowError::Eos)?;
            lend(&sample, &mut look);
            Ok(gst::FlowSuccess::Ok)
        });
        outlet.set_callbacks(callbacks.build());
        let scale = element(SCALE)?;
        scale.set_property("add-borders", false);
        let form = element(FORM)?;
        let pipeline = gst::Pipeline::new();
        let parts = [
            inlet.upcast_ref(),
            &decoder()?,
            &scale,
            &element(CONVERT)?,
            &form,
            outlet.upcast_ref(),
        ];
        pipeline
            .add_many(parts)
            .and_then(|()| in_a_row(&parts))
            .map_err(|_| DecodeError::Misfit)?;
        // From here on a drop takes it down.
        let decoder = Self {
            pipeline,
            inlet,
            form,
            most_width_px,
        };
        let started = decoder.pipeline.set_state(gst::State::Playing);
        started.map(|_| decoder).map_err(|_| DecodeError::Misfit)
    }

    /// What the pictures that follow need; before the first.
    pub fn format(&self, params: &ParameterSets) -> Result<(), DecodeError> {
        let stream = caps_of(params)?;
        let (width, height) = size(params, self.most_width_px);
        let form = gst::Caps::builder("video/x-raw")
            .field("format", "GRAY8")
            .field("width", width)
            .field("height", height)
            .field("pixel-aspect-ratio", gst::Fraction::new(1, 1))
            .build();
        self.form.set_property("caps", form);
        self.inlet.set_caps(Some(&stream));
        Ok(())
    }

    /// The next picture, with four-byte NAL lengths. False if there is no room
    /// for it yet: try again in a while.
    pub fn take(
        &self,
        capture: CaptureUs,
        keyframe: bool,
        access_unit: Bytes,
    ) -> Result<bool, DecodeError> {
        if self.failed() {
            return Err(DecodeError::Refused);
        }
        if self.inlet.current_level_buffers() >= MOST_WAITING {
            return Ok(false);
        }
        let mut buffer = gst::Buffer::from_slice(access_unit);
        // A buffer just made has one owner.
        let open = buffer.get_mut().ok_or(DecodeError::Misfit)?;
        open.set_pts(gst::ClockTime::from_useconds(capture.0));
        if !keyframe {
            open.set_flags(gst::BufferFlags::DELTA_UNIT);
        }
        let taken = self.inlet.push_buffer(buffer);
        taken.map(|_| true).map_err(|_| DecodeError::Refused)
    }

    fn failed(&self) -> bool {
        let bus = self.pipeline.bus().expect("a pipeline has a bus");
        bus.pop_filtered(&[gst::MessageType::Error]).is_some()
    }

    /// No more pictures; waits until the last has been looked at.
    fn finish(self) -> Result<(), DecodeError> {
        let refused = |_| DecodeError::Refused;
        self.inlet.end_of_stream().map_err(refused)?;
        let bus = self.pipeline.bus().expect("a pipeline has a bus");
        let patience = gst::ClockTime::from_mseconds(PATIENCE.as_millis() as u64);
        let ends = [gst::MessageType::Error, gst::MessageType::Eos];
        let end = bus.timed_pop_filtered(patience, &ends);
        match end.as_deref().map(gst::MessageRef::type_) {
            Some(gst::MessageType::Eos) => Ok(()),
            _ => Err(DecodeError::Refused),
        }
    }
}

impl Drop for Decoder {
    fn drop(&mut self) {
        // It waits for its own threads; that cannot fail in a way anyone could
        // act on.
        let _ = self.pipeline.set_state(gst::State::Null);
    }
}

/// Decodes one keyframe and gives back what `look` says of it. Blocks for some
/// hundredths of a second.
pub fn one<T: Send + 'static>(
    params: &ParameterSets,
    most_width_px: u32,
    keyframe: Bytes,
    look: impl Fn(Grey<'_>) -> T + Send + 'static,
) -> Result<T, DecodeError> {
    let (tell, told) = std::sync::mpsc::channel();
    let decoder = Decoder::start(most_width_px, move |_, grey| {
        // Whoever asked may have given up.
        let _ = tell.send(look(grey));
    })?;
    decoder.format(params)?;
    decoder.take(CaptureUs::ZERO, true, keyframe)?;
    decoder.finish()?;
    told.try_recv().map_err(|_| DecodeError::Refused)
}

/// Lends a decoded picture.
fn lend(sample: &gst::Sample, look: &mut impl FnMut(CaptureUs, Grey<'_>)) {
    let structure = sample.caps().and_then(|caps| caps.structure(0));
    let size = |name| {
        let size = structure.and_then(|structure| structure.get::<i32>(name).ok());
        size.and_then(|size| usize::try_from(size).ok())
    };
    let (Some(width), Some(height), Some(buffer)) =
        (size("width"), size("height"), sample.buffer())
    else {
        return;
    };
    let (Some(pts), Ok(pixels)) = (buffer.pts(), buffer.map_readable()) else {
        return;
    };
    // A width in steps of four leaves no gaps between rows.
    if let Some(grey) = Grey::new(&pixels, width, height) {
        look(CaptureUs(pts.useconds()), grey);
    }
}

/// Links parts that have one way in and one out, without asking each which forms
/// it takes: for a single picture that took longer than decoding it, and what
/// does not fit is refused with the first picture anyway.
fn in_a_row(parts: &[&gst::Element]) -> Result<(), glib::BoolError> {
    let unasked = gst::PadLinkCheck::empty();
    parts
        .windows(2)
        .try_for_each(|pair| pair[0].link_pads_full(Some("src"), pair[1], Some("sink"), unasked))
}

/// The size to decode to: in proportion, no wider than asked, in steps of four.
fn size(params: &ParameterSets, most_width_px: u32) -> (i32, i32) {
    let given = (params.width_px.max(4), params.height_px.max(2));
    let width = given.0.min(most_width_px) / 4 * 4;
    let height = u64::from(given.1) * u64::from(width) / u64::from(given.0);
    (width as i32, (height.max(2)) as i32)
}

/// The form of a stream with these parameter sets.
pub(super) fn caps_of(params: &ParameterSets) -> Result<gst::Caps, DecodeError> {
    let record = params.record().ok_or(DecodeError::Refused)?;
    Ok(gst::Caps::builder("video/x-h264")
        .field("stream-format", "avc")
        .field("alignment", "au")
        .field("codec_data", gst::Buffer::from_slice(record))
        .build())
}

/// The best decoder there is.
pub(super) fn decoder() -> Result<gst::Element, DecodeError> {
    let made = DECODERS.iter().find_map(|choice| {
        let element = gst::ElementFactory::make(choice.part.element)
            .build()
            .ok()?;
        for &(name, value) in choice.settings {
            element.set_property_from_str(name, value);
        }
        Some(element)
    });
    made.ok_or_else(|| missing(DECODERS[0].part))
}

fn element(part: MissingPart) -> Result<gst::Element, DecodeError> {
    let made = gst::ElementFactory::make(part.element).build();
    made.map_err(|_| missing(part))
}

fn missing(part: MissingPart) -> DecodeError {
    DecodeError::Missing(MissingParts::Elements(vec![part]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_keep_their_proportion_in_steps_of_four() {
        let params = |width_px, height_px| ParameterSets {
            mime: String::new(),
            width_px,
            height_px,
            interlaced: false,
            promises_order: true,
            init: Bytes::new(),
        };
        assert_eq!(size(&params(1920, 1080), 1280), (1280, 720));
        assert_eq!(size(&params(1280, 720), 1280), (1280, 720));
        assert_eq!(size(&params(854, 480), 1280), (852, 478));
        assert_eq!(size(&params(1, 1), 1280), (4, 2));
    }

    #[test]
    fn a_missing_decoder_names_its_package() {
        let words = missing(DECODERS[0].part).to_string();
        assert_eq!(
            words,
            "GStreamer lacks avdec_h264 (Debian package gstreamer1.0-libav)"
        );
    }

    #[test]
    fn what_is_no_stream_is_refused() {
        super::super::init().unwrap();
        let nothing = ParameterSets {
            mime: String::new(),
            width_px: 64,
            height_px: 48,
            interlaced: false,
            promises_order: true,
            init: Bytes::from_static(b"\0\0\0\x0cavcCdust"),
        };
        let keyframe = Bytes::from_static(b"\0\0\0\x04dust");
        assert!(one(&nothing, 1280, keyframe, |_| ()).is_err());
    }
}
