//! Makes an encoder from its entry in the table.
//!
//! Not here: which one (`choice`), and whether it works (`trial`).

use gstreamer::{self as gst, prelude::*};

use super::choice::{BitRate, Choice};

/// What an encoder should make.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Target {
    pub(super) bitrate_kbps: u32,
    /// The most pictures from keyframe to keyframe.
    pub(super) keyframe_every: u32,
}

/// An encoder and the form of stream it is held to.
#[derive(Debug)]
pub(super) struct Encoder {
    pub(super) element: gst::Element,
    pub(super) caps: gst::Caps,
}

/// Why one could not be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub(super) enum Unmade {
    #[error("it is not installed, or finds no device")]
    Absent,
    #[error("it cannot be told `{0}`")]
    Deaf(&'static str),
}

/// An encoder, set and ready to be linked.
pub(super) fn make(choice: &Choice, target: Target) -> Result<Encoder, Unmade> {
    let element = gst::ElementFactory::make(choice.element)
        .build()
        .map_err(|_| Unmade::Absent)?;
    for &(name, value) in choice.settings {
        if !set(&element, name, value) {
            return Err(Unmade::Deaf(name));
        }
    }
    for &(name, value) in choice.wishes {
        set(&element, name, value);
    }
    if let Some(name) = choice.keyframe_every
        && !set(&element, name, &target.keyframe_every.to_string())
    {
        return Err(Unmade::Deaf(name));
    }
    let (name, value) = bit_rate(choice, target.bitrate_kbps);
    if !set(&element, name, &value) {
        return Err(Unmade::Deaf(name));
    }
    let caps = gst::Caps::builder("video/x-h264").field("profile", choice.profile);
    let caps = match choice.level {
        Some(level) => caps.field("level", level).build(),
        None => caps.build(),
    };
    Ok(Encoder { element, caps })
}

/// Changes the bit rate of an encoder that was made from `choice`.
pub(super) fn set_bit_rate(element: &gst::Element, choice: &Choice, kbps: u32) {
    let (name, value) = bit_rate(choice, kbps);
    set(element, name, &value);
}

fn bit_rate(choice: &Choice, kbps: u32) -> (&'static str, String) {
    match choice.bit_rate {
        BitRate::Unit(bits) => ("bitrate", (kbps * (1000 / bits)).to_string()),
        BitRate::Controls(others) => (
            "extra-controls",
            format!("controls,video_bitrate={},{others}", kbps * 1000),
        ),
    }
}

/// Sets a property from text; false where this version of the element does not
/// have it, or not with this value.
fn set(element: &gst::Element, name: &str, value: &str) -> bool {
    let Some(property) = element.find_property(name) else {
        return false;
    };
    let Ok(value) = gst::glib::Value::deserialize_with_pspec(value, &property) else {
        return false;
    };
    element.set_property_from_value(name, &value);
    true
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::av::encode::choice::{CHOICES, named};

    const TARGET: Target = Target {
        bitrate_kbps: 2500,
        keyframe_every: 60,
    };

    #[test]
    fn each_installed_encoder_takes_its_settings() {
        crate::av::init().unwrap();
        let mut software = 0;
        for choice in CHOICES {
            let made = match make(choice, TARGET) {
                Ok(made) => made,
                Err(Unmade::Absent) => continue,
                Err(deaf) => panic!("{}: {deaf}", choice.element),
            };
            software += u32::from(!choice.hardware);
            if let BitRate::Unit(bits) = choice.bit_rate {
                let set = made.element.property::<u32>("bitrate");
                assert_eq!(set, 2_500_000 / bits, "{}", choice.element);
            }
            set_bit_rate(&made.element, choice, 900);
            if let BitRate::Unit(bits) = choice.bit_rate {
                let set = made.element.property::<u32>("bitrate");
                assert_eq!(set, 900_000 / bits, "{}", choice.element);
            }
        }
        assert!(software > 0);
    }

    #[test]
    fn a_word_an_element_does_not_know_is_no_panic() {
        crate::av::init().unwrap();
        let made = make(named("x264enc").unwrap(), TARGET).unwrap();
        assert!(!set(&made.element, "colour", "red"));
        assert!(!set(&made.element, "tune", "beautiful"));
        assert!(set(&made.element, "tune", "zerolatency"));
    }

    #[test]
    fn a_device_is_told_its_bit_rate_by_controls() {
        crate::av::init().unwrap();
        let choice = named("v4l2h264enc").unwrap();
        let (name, value) = bit_rate(choice, 4000);
        assert_eq!(name, "extra-controls");
        let controls: gst::Structure = value.parse().unwrap();
        assert_eq!(controls.get::<i32>("video_bitrate"), Ok(4_000_000));
        assert_eq!(controls.get::<i32>("video_b_frames"), Ok(0));
    }
}
