//! What a camera lists, taken out of `GStreamer`'s words for it; and what is
//! asked of the camera, put into them.
//!
//! Not here: choosing (`modes`).

use gstreamer as gst;

use super::modes::{Form, Mode, Offer, RAW_FORMS, Rates, Span};
use crate::av::encode::Rate;

/// More lines than any camera has. A list multiplied out by forms, widths and
/// heights stays below.
const MOST: usize = 4_096;

/// Everything in `caps` that could be used.
pub(super) fn offers(caps: &gst::CapsRef) -> Vec<Offer> {
    let mut offers = Vec::new();
    for (form, features) in caps.iter_with_features() {
        // Pictures in the memory of some chip need parts of that chip's.
        if !features.is_any() && !features.is_equal(&gst::CapsFeatures::new_empty()) {
            let plain = features.is_equal(gst::CAPS_FEATURES_MEMORY_SYSTEM_MEMORY.as_ref());
            if !plain {
                continue;
            }
        }
        offers.extend(of_structure(form));
    }
    offers.truncate(MOST);
    offers
}

fn of_structure(form: &gst::StructureRef) -> Vec<Offer> {
    let forms = forms(form);
    let spans = |name| {
        form.value(name)
            .map(|value| flat(value).iter().filter_map(span).collect::<Vec<_>>())
            .unwrap_or_default()
    };
    let (widths, heights) = (spans("width"), spans("height"));
    let rates = form.value("framerate").map_or(Rates::Unsaid, rates);
    let mut offers = Vec::new();
    for form in forms {
        for width in &widths {
            for height in &heights {
                offers.push(Offer {
                    form,
                    width: *width,
                    height: *height,
                    rates: rates.clone(),
                });
            }
        }
    }
    offers
}

fn forms(form: &gst::StructureRef) -> Vec<Form> {
    match form.name().as_str() {
        "video/x-h264" => vec![Form::H264],
        "image/jpeg" => vec![Form::Jpeg],
        "video/x-raw" => {
            let formats = form.value("format").map(flat).unwrap_or_default();
            let names = formats.iter().filter_map(|value| value.get::<&str>().ok());
            names
                .filter_map(|name| RAW_FORMS.iter().find(|known| **known == name))
                .map(|known| Form::Raw(known))
                .collect()
        }
        _ => Vec::new(),
    }
}

/// The values of a list, or the one value there is.
fn flat(value: &gst::glib::SendValue) -> Vec<gst::glib::SendValue> {
    match value.get::<gst::ListRef<'_>>() {
        Ok(list) => list.as_slice().to_vec(),
        Err(_) => vec![value.clone()],
    }
}

fn span(value: &gst::glib::SendValue) -> Option<Span> {
    let px = |px: i32| u32::try_from(px).ok();
    if let Ok(one) = value.get::<i32>() {
        return px(one).map(Span::one);
    }
    let range = value.get::<gst::IntRange<i32>>().ok()?;
    Some(Span {
        least_px: px(range.min())?,
        most_px: px(range.max())?,
        step_px: px(range.step())?.max(1),
    })
}

fn rates(value: &gst::glib::SendValue) -> Rates {
    let values = flat(value);
    let ranges = values
        .iter()
        .find_map(|value| value.get::<gst::FractionRange>().ok());
    if let Some(range) = ranges {
        // A range from nothing at all begins at a picture in ten seconds.
        let least = rate(range.min()).or(Rate::new(1, 10));
        return match (least, rate(range.max())) {
            (Some(least), Some(most)) => Rates::Between(least, most),
            _ => Rates::Unsaid,
        };
    }
    let rates: Vec<_> = values
        .iter()
        .filter_map(|value| rate(value.get::<gst::Fraction>().ok()?))
        .collect();
    if rates.is_empty() {
        Rates::Unsaid
    } else {
        Rates::Some(rates)
    }
}

fn rate(fraction: gst::Fraction) -> Option<Rate> {
    let pictures = u32::try_from(fraction.numer()).ok()?;
    Rate::new(pictures, u32::try_from(fraction.denom()).ok()?)
}

/// What is asked of a camera, in `GStreamer`'s words.
pub(super) fn caps_of(mode: &Mode) -> gst::Caps {
    let caps = match mode.form {
        Form::H264 => gst::Caps::builder("video/x-h264"),
        Form::Jpeg => gst::Caps::builder("image/jpeg"),
        Form::Raw(format) => gst::Caps::builder("video/x-raw").field("format", format),
    };
    let caps = caps
        .field("width", mode.size.width_px as i32)
        .field("height", mode.size.height_px as i32);
    match mode.rate {
        Some(rate) => {
            let fraction = gst::Fraction::new(rate.pictures as i32, rate.seconds as i32);
            caps.field("framerate", fraction).build()
        }
        None => caps.build(),
    }
}

#[cfg(test)]
mod tests {
    use std::str::FromStr as _;

    use super::*;
    use crate::av::{
        encode::{Dimensions, USUAL},
        source::usb::modes::choose,
    };

    fn read(caps: &str) -> Vec<Offer> {
        crate::av::init().unwrap();
        offers(&gst::Caps::from_str(caps).unwrap())
    }

    fn some(rates: &[(u32, u32)]) -> Rates {
        let rates = rates.iter().map(|(n, d)| Rate::new(*n, *d).unwrap());
        Rates::Some(rates.collect())
    }

    #[test]
    fn single_values_lists_and_ranges_are_read() {
        // As `v4l2src` writes a webcam's list.
        let offers = read(
            "image/jpeg, width=1280, height=720, framerate={ (fraction)30/1, (fraction)30000/1001 }; \
             video/x-raw, format=YUY2, width=640, height=480, framerate=30/1; \
             video/x-h264, stream-format=byte-stream, alignment=au, width=[ 320, 1920, 16 ], \
             height=[ 240, 1080 ], framerate=[ 5/1, 60/1 ]",
        );
        let [jpeg, raw, h264] = &offers[..] else {
            panic!("{offers:?}");
        };
        assert_eq!((jpeg.form, jpeg.width), (Form::Jpeg, Span::one(1280)));
        assert_eq!(jpeg.rates, some(&[(30, 1), (30_000, 1001)]));
        assert_eq!(
            (raw.form, &raw.rates),
            (Form::Raw("YUY2"), &some(&[(30, 1)]))
        );
        assert_eq!((h264.width.least_px, h264.width.step_px), (320, 16));
        assert_eq!((h264.height.most_px, h264.height.step_px), (1080, 1));
        assert_eq!(
            h264.rates,
            Rates::Between(Rate::new(5, 1).unwrap(), Rate::new(60, 1).unwrap())
        );
    }

    #[test]
    fn lists_of_forms_and_sizes_are_multiplied_out() {
        let offers =
            read("video/x-raw, format={ NV12, YUY2, GBR }, width={ 640, 320 }, height=240");
        assert_eq!(offers.len(), 4, "{offers:?}");
        assert!(offers.iter().all(|offer| offer.rates == Rates::Unsaid));
    }

    #[test]
    fn what_cannot_be_used_is_left_out() {
        for nothing in [
            "video/x-bayer, format=bggr, width=640, height=480, framerate=30/1",
            "video/x-raw, format=GBR_10LE, width=640, height=480, framerate=30/1",
            "video/x-raw(memory:DMABuf), format=NV12, width=640, height=480, framerate=30/1",
            "video/x-raw(format:Interlaced), format=NV12, width=640, height=480",
            "audio/x-raw, rate=48000",
            "video/x-raw, format=NV12",
            "image/jpeg, width=-5, height=480",
            "EMPTY",
        ] {
            assert!(read(nothing).is_empty(), "{nothing}");
        }
        let unsaid = read("image/jpeg, width=640, height=480, framerate=0/1");
        assert_eq!(unsaid[0].rates, Rates::Unsaid);
        let slow = read("image/jpeg, width=640, height=480, framerate=[ 0/1, 30/1 ]");
        assert!(matches!(slow[0].rates, Rates::Between(..)));
    }

    #[test]
    fn what_is_asked_is_part_of_what_was_offered() {
        let listed = "video/x-raw, format={ YUY2, NV12 }, width=[ 32, 1920 ], height=[ 32, 1080 ], \
                      framerate=[ 1/1, 25/1 ]; \
                      image/jpeg, width=1280, height=720, framerate={ 30000/1001, 15/1 }";
        let offers = read(listed);
        let mode = choose(&offers, USUAL, &[]).unwrap();
        assert_eq!((mode.form, mode.size), (Form::Jpeg, Dimensions::HD));
        for refused in [&[][..], &[Form::Jpeg], &[Form::Jpeg, Form::Raw("NV12")]] {
            let asked = caps_of(&choose(&offers, USUAL, refused).unwrap());
            assert!(asked.is_fixed(), "{asked}");
            assert!(
                asked.is_subset(&gst::Caps::from_str(listed).unwrap()),
                "{asked}"
            );
        }
    }
}
