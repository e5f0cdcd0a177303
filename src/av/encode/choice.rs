//! The H.264 encoders there may be, best first, and how each is set for a
//! picture that must leave at once: no look-ahead, no B-frames, one reference,
//! a constant bit rate, nothing but 4:2:0.
//!
//! Not here: making one (`make`), or finding out whether it works (`trial`).
//! Of these only the last two were ever run by us; for the others the names and
//! values are those of their documentation, and the trial decides.

/// How an encoder is told its bit rate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum BitRate {
    /// Its `bitrate` is in units of so many bits a second.
    Unit(u32),
    /// By the controls of a V4L2 device, beside which these others are set.
    Controls(&'static str),
}

/// One encoder.
#[derive(Debug)]
pub(super) struct Choice {
    /// The `GStreamer` element.
    pub(super) element: &'static str,
    /// The Debian package that has it.
    pub(super) package: &'static str,
    /// It has processors of its own.
    pub(super) hardware: bool,
    /// The only raw form it is given.
    pub(super) raw: &'static str,
    /// The form of stream it is held to. TVs play Main and High; Baseline they
    /// may refuse above level 3.1.
    pub(super) profile: &'static str,
    /// Held to this level too, where the element does not work one out.
    pub(super) level: Option<&'static str>,
    /// It writes into the stream whether black is 0 or 16. Pictures of JPEGs have
    /// it at 0, and others take 16 for granted.
    pub(super) writes_range: bool,
    pub(super) bit_rate: BitRate,
    /// The most pictures from keyframe to keyframe. Keyframes are asked for by
    /// time (`keyframes`); this is for an encoder that does not listen.
    pub(super) keyframe_every: Option<&'static str>,
    /// Set in this order.
    pub(super) settings: &'static [(&'static str, &'static str)],
    /// Set where this version of the element has it.
    pub(super) wishes: &'static [(&'static str, &'static str)],
}

/// In order of preference: the first that works is used.
pub(super) const CHOICES: &[Choice] = &[
    // Small computers of the last years have the low-power entrance alone.
    va("vah264lpenc"),
    va("vah264enc"),
    Choice {
        element: "vaapih264enc",
        package: "gstreamer1.0-vaapi",
        bit_rate: BitRate::Unit(1000),
        keyframe_every: Some("keyframe-period"),
        settings: &[("rate-control", "cbr"), ("max-bframes", "0")],
        wishes: &[("refs", "1"), ("cabac", "true"), ("quality-level", "7")],
        ..HARDWARE
    },
    Choice {
        element: "v4l2h264enc",
        package: "gstreamer1.0-plugins-good",
        level: Some("4"),
        bit_rate: BitRate::Controls(
            "h264_i_frame_period=60,video_gop_size=60,video_b_frames=0,\
             video_bitrate_mode=1,repeat_sequence_header=1",
        ),
        keyframe_every: None,
        ..HARDWARE
    },
    Choice {
        element: "nvh264enc",
        package: "gstreamer1.0-plugins-bad",
        bit_rate: BitRate::Unit(1000),
        keyframe_every: Some("gop-size"),
        settings: &[("rc-mode", "cbr"), ("zerolatency", "true")],
        wishes: &[
            ("preset", "low-latency-hq"),
            ("bframes", "0"),
            ("b-adapt", "false"),
            ("rc-lookahead", "0"),
        ],
        ..HARDWARE
    },
    Choice {
        element: "x264enc",
        package: "gstreamer1.0-plugins-ugly",
        hardware: false,
        raw: "I420",
        profile: "main",
        level: None,
        writes_range: true,
        bit_rate: BitRate::Unit(1000),
        keyframe_every: Some("key-int-max"),
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
        wishes: &[],
    },
    Choice {
        element: "openh264enc",
        package: "gstreamer1.0-plugins-bad",
        hardware: false,
        raw: "I420",
        profile: "main",
        level: None,
        writes_range: false,
        bit_rate: BitRate::Unit(1),
        keyframe_every: Some("gop-size"),
        settings: &[
            ("complexity", "low"),
            ("rate-control", "bitrate"),
            ("multi-thread", "1"),
            ("scene-change-detection", "false"),
            ("background-detection", "false"),
        ],
        wishes: &[],
    },
];

/// What the encoders in hardware have in common.
const HARDWARE: Choice = Choice {
    element: "",
    package: "",
    hardware: true,
    raw: "NV12",
    profile: "main",
    level: None,
    writes_range: false,
    bit_rate: BitRate::Unit(1000),
    keyframe_every: None,
    settings: &[],
    wishes: &[],
};

const fn va(element: &'static str) -> Choice {
    Choice {
        element,
        package: "gstreamer1.0-plugins-bad",
        keyframe_every: Some("key-int-max"),
        settings: &[("rate-control", "cbr"), ("b-frames", "0")],
        wishes: &[
            ("ref-frames", "1"),
            ("cabac", "true"),
            ("dct8x8", "false"),
            // 7 is quickest, of 1 to 7.
            ("target-usage", "6"),
        ],
        ..HARDWARE
    }
}

/// The part to name where there is no encoder at all.
pub(super) const PREFERRED_SOFTWARE: &str = "x264enc";

/// By its element's name.
pub(super) fn named(element: &str) -> Option<&'static Choice> {
    CHOICES.iter().find(|choice| choice.element == element)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hardware_comes_first_and_the_order_is_the_documented_one() {
        let order: Vec<_> = CHOICES.iter().map(|choice| choice.element).collect();
        assert_eq!(
            order,
            [
                "vah264lpenc",
                "vah264enc",
                "vaapih264enc",
                "v4l2h264enc",
                "nvh264enc",
                "x264enc",
                "openh264enc"
            ]
        );
        assert!(CHOICES.is_sorted_by_key(|choice| !choice.hardware));
        assert!(named(PREFERRED_SOFTWARE).is_some_and(|choice| !choice.hardware));
        assert!(named("theoraenc").is_none());
    }

    #[test]
    fn each_is_held_to_a_profile_that_tvs_play_and_told_everything() {
        for choice in CHOICES {
            assert_eq!(choice.profile, "main", "{choice:?}");
            assert!(["I420", "NV12"].contains(&choice.raw), "{choice:?}");
            assert!(choice.package.starts_with("gstreamer1.0-"), "{choice:?}");
            assert!(
                choice.keyframe_every.is_some()
                    || matches!(choice.bit_rate, BitRate::Controls(c) if c.contains("i_frame_period")),
                "{choice:?}"
            );
        }
    }
}
