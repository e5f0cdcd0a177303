//! The one H.264 encoder, set for a picture that must leave at once: no
//! look-ahead, no B-frames, a keyframe a second.
//!
//! Not here: where the raw pictures come from. They must be I420; anything else
//! makes an encoder choose a profile that browsers do not play.

use afterturn_core::wire::CameraState;
use gstreamer::{self as gst, prelude::*};

use super::{MissingPart, MissingParts, camera::CameraError};

/// In order of preference: the first found is used.
const ENCODERS: &[Choice] = &[
    Choice {
        element: "x264enc",
        package: "gstreamer1.0-plugins-ugly",
        profile: "main",
        bitrate_unit_bits: 1000,
        keyframe_every: "key-int-max",
        // `bframes=0` alone was not enough for everyone; `b-adapt` goes with it.
        // Scene cuts would add keyframes a viewer does not need.
        // One thread: with the drawing it takes an eighth of a core for 720p30,
        // and slicing for more costs more than it gains beside a browser.
        settings: &[
            ("tune", "zerolatency"),
            ("speed-preset", "ultrafast"),
            ("bframes", "0"),
            ("b-adapt", "false"),
            // The preset would turn it off, and with it the Main profile.
            ("cabac", "true"),
            ("threads", "1"),
            ("option-string", "scenecut=0"),
        ],
    },
    Choice {
        element: "openh264enc",
        package: "gstreamer1.0-plugins-bad",
        profile: "constrained-baseline",
        bitrate_unit_bits: 1,
        keyframe_every: "gop-size",
        settings: &[
            ("complexity", "low"),
            ("rate-control", "bitrate"),
            ("multi-thread", "1"),
            ("scene-change-detection", "false"),
            ("background-detection", "false"),
        ],
    },
];

struct Choice {
    element: &'static str,
    package: &'static str,
    profile: &'static str,
    bitrate_unit_bits: u32,
    keyframe_every: &'static str,
    settings: &'static [(&'static str, &'static str)],
}

/// What the encoder should make.
#[derive(Clone, Copy, Debug)]
pub(super) struct Target {
    pub(super) bitrate_kbps: u32,
    /// Pictures from keyframe to keyframe.
    pub(super) keyframe_every: u32,
}

/// An encoder and the form of stream it is held to.
pub(super) struct Encoder {
    pub(super) element: gst::Element,
    pub(super) caps: gst::Caps,
}

/// The part to name when there is no encoder at all: the preferred one.
pub(super) fn missing() -> Option<MissingPart> {
    let found = ENCODERS
        .iter()
        .any(|c| gst::ElementFactory::find(c.element).is_some());
    let Choice {
        element, package, ..
    } = ENCODERS[0];
    (!found).then_some(MissingPart { element, package })
}

/// The best encoder this machine has.
pub(super) fn encoder(target: Target) -> Result<Encoder, CameraError> {
    ENCODERS
        .iter()
        .find_map(|choice| choice.make(target))
        .ok_or_else(|| {
            let parts = MissingParts::Elements(missing().into_iter().collect());
            CameraError::new(CameraState::MissingPart, parts.to_string())
        })
}

impl Choice {
    /// `None` when it is not installed.
    fn make(&self, target: Target) -> Option<Encoder> {
        let element = gst::ElementFactory::make(self.element).build().ok()?;
        for &(name, value) in self.settings {
            element.set_property_from_str(name, value);
        }
        element.set_property(
            "bitrate",
            target.bitrate_kbps * (1000 / self.bitrate_unit_bits),
        );
        element.set_property(self.keyframe_every, target.keyframe_every);
        let caps = gst::Caps::builder("video/x-h264")
            .field("profile", self.profile)
            .build();
        Some(Encoder { element, caps })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_installed_encoder_takes_its_settings() {
        crate::av::init().unwrap();
        let target = Target {
            bitrate_kbps: 4000,
            keyframe_every: 30,
        };
        for (choice, bitrate) in ENCODERS.iter().zip([4000_u32, 4_000_000]) {
            let Some(made) = choice.make(target) else {
                continue;
            };
            assert_eq!(made.element.property::<u32>("bitrate"), bitrate);
            assert_eq!(made.element.property::<u32>(choice.keyframe_every), 30);
        }
    }
}
