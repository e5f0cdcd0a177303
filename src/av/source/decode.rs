//! Decodes what a network camera sends where it cannot be passed on as it is:
//! H.265, H.264 with B-frames, fields or an unusual profile, Motion JPEG.
//!
//! ```text
//! depayloader ! parser ! queue ! decoder
//! ```
//!
//! Decoders are in software first. What they do is known, and it costs less than
//! the encoding that follows; a chip's is used where there is no other.
//!
//! Not here: recordings (`file` has any form there is), and encoding.

use std::sync::Mutex;

use afterturn_core::wire::CameraState;
use gstreamer::{self as gst, prelude::*};

use super::{arrivals::Arrivals, drive::Bench};
use crate::av::{MissingPart, MissingParts, camera::CameraError, element};

/// A form in which cameras send pictures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Codec {
    H264,
    H265,
    Jpeg,
}

impl Codec {
    /// By the name RTP has for it (RFC 6184, 7798, 2435).
    pub(super) fn of(encoding_name: &str) -> Option<Self> {
        match encoding_name {
            "H264" => Some(Self::H264),
            "H265" => Some(Self::H265),
            "JPEG" => Some(Self::Jpeg),
            _ => None,
        }
    }

    /// What takes it out of RTP, and what sorts it into pictures.
    const fn parts(self) -> (&'static str, Option<&'static str>) {
        match self {
            Self::H264 => ("rtph264depay", Some("h264parse")),
            Self::H265 => ("rtph265depay", Some("h265parse")),
            Self::Jpeg => ("rtpjpegdepay", None),
        }
    }

    /// Its decoders with their packages, the surest first.
    const fn decoders(self) -> &'static [(&'static str, &'static str)] {
        const LIBAV: &str = "gstreamer1.0-libav";
        const BAD: &str = "gstreamer1.0-plugins-bad";
        const GOOD: &str = "gstreamer1.0-plugins-good";
        match self {
            // `openh264dec` knows neither fields nor the order of B-frames.
            Self::H264 => &[
                ("avdec_h264", LIBAV),
                ("vah264dec", BAD),
                ("v4l2h264dec", GOOD),
                ("nvh264dec", BAD),
            ],
            Self::H265 => &[
                ("avdec_h265", LIBAV),
                ("libde265dec", BAD),
                ("vah265dec", BAD),
                ("v4l2h265dec", GOOD),
                ("nvh265dec", BAD),
            ],
            Self::Jpeg => &[("jpegdec", GOOD)],
        }
    }
}

/// Pictures that may wait for the decoder. It takes them as they come; half a
/// second behind, it will not catch up.
const MOST_BEHIND: u32 = 15;

/// A row of parts from RTP to raw pictures.
pub(super) struct Decoder {
    pub(super) first: gst::Element,
    pub(super) last: gst::Element,
    pub(super) arrivals: Option<Arrivals>,
    queue: gst::Element,
}

/// Puts the row into the bench's pipeline.
pub(super) fn attach(bench: &Bench, codec: Codec) -> Result<Decoder, CameraError> {
    let (depay, parse) = codec.parts();
    let first = element(depay)?;
    let parse = parse.map(element).transpose()?;
    let queue = element("queue")?;
    // Bounded by what is let in (`shed`): a queue that is full would hold up the
    // camera's connection instead.
    for bound in ["max-size-buffers", "max-size-bytes"] {
        queue.set_property(bound, 0_u32);
    }
    queue.set_property("max-size-time", 0_u64);
    let last = decoder(codec)?;
    let mut parts = vec![&first];
    parts.extend(&parse);
    parts.extend([&queue, &last]);
    bench
        .pipeline
        .add_many(&parts)
        .and_then(|()| gst::Element::link_many(&parts))
        .map_err(|_| CameraError::new(CameraState::MissingPart, "the decoding parts do not fit"))?;
    let entrance = queue.static_pad("sink");
    Ok(Decoder {
        arrivals: entrance.map(|pad| Arrivals::at(&pad, &bench.now)),
        first,
        last,
        queue,
    })
}

fn decoder(codec: Codec) -> Result<gst::Element, CameraError> {
    let made = codec
        .decoders()
        .iter()
        .find_map(|(name, _)| gst::ElementFactory::make(name).build().ok());
    let Some(decoder) = made else {
        let &(element, package) = codec
            .decoders()
            .first()
            .expect("each form of pictures has a decoder somewhere");
        let part = MissingParts::Elements(vec![MissingPart { element, package }]);
        return Err(CameraError::new(CameraState::MissingPart, part.to_string()));
    };
    let set = |name, value: &dyn Fn() -> gst::glib::Value| {
        if decoder.has_property(name) {
            decoder.set_property_from_value(name, &value());
        }
    };
    // Several threads would each hold a picture back.
    set("max-threads", &|| 1_i32.to_value());
    // A damaged picture is a damaged picture, and no reason to stop.
    set("max-errors", &|| (-1_i32).to_value());
    Ok(decoder)
}

impl Decoder {
    /// Leaves out pictures up to the next keyframe where the decoder has fallen
    /// behind, and says so, once.
    pub(super) fn shed(&self, too_slow: impl Fn() + Send + Sync + 'static) {
        let Some(pad) = self.queue.static_pad("sink") else {
            return;
        };
        let queue = self.queue.downgrade();
        let shedding = Mutex::new(Shedding::default());
        pad.add_probe(gst::PadProbeType::BUFFER, move |_, info| {
            let Some(buffer) = info.buffer() else {
                return gst::PadProbeReturn::Ok;
            };
            let keyframe = !buffer.flags().contains(gst::BufferFlags::DELTA_UNIT);
            let behind = queue
                .upgrade()
                .map_or(0, |queue| queue.property::<u32>("current-level-buffers"));
            let mut shedding = shedding
                .lock()
                .unwrap_or_else(std::sync::PoisonError::into_inner);
            let first = shedding.picture(keyframe, behind);
            let out = shedding.out;
            drop(shedding);
            if first {
                too_slow();
            }
            if out {
                gst::PadProbeReturn::Drop
            } else {
                gst::PadProbeReturn::Ok
            }
        });
    }
}

/// Whether pictures are being left out.
#[derive(Debug, Default)]
struct Shedding {
    out: bool,
    said: bool,
}

impl Shedding {
    /// Takes in a picture; true where one is left out for the first time.
    fn picture(&mut self, keyframe: bool, behind: u32) -> bool {
        self.out = behind >= MOST_BEHIND || (self.out && !keyframe);
        let first = self.out && !self.said;
        self.said |= self.out;
        first
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_out_ends_at_a_keyframe_and_is_said_once() {
        let mut shedding = Shedding::default();
        let mut told = 0;
        let mut out = |keyframe, behind| {
            told += u32::from(shedding.picture(keyframe, behind));
            shedding.out
        };
        assert!(!out(true, 0) && !out(false, 14));
        assert!(out(false, 15) && out(false, 3) && out(false, 0));
        assert!(!out(true, 0) && !out(false, 1));
        assert!(out(true, 20) && out(true, 15) && !out(true, 2));
        assert_eq!(told, 1);
    }

    #[test]
    fn every_form_has_a_decoder_here() {
        crate::av::init().unwrap();
        for codec in [Codec::H264, Codec::H265, Codec::Jpeg] {
            let decoder = decoder(codec).unwrap_or_else(|error| panic!("{codec:?}: {error}"));
            assert!(decoder.static_pad("src").is_some());
        }
        assert_eq!(Codec::of("H265"), Some(Codec::H265));
        assert_eq!(Codec::of("VP8"), None);
    }
}
