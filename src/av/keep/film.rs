//! Raw pictures into a film: encoded anew, wrapped as a finished file.
//!
//! By an encoder in software: those in hardware are busy with the cameras, and
//! one makes the same of the same pictures each time.
//!
//! Not here: what is in the pictures.

use afterturn_core::media::{Sample, movie, slice::bare_sample_of};
use gstreamer::{self as gst, prelude::*};
use gstreamer_app as gst_app;

use super::{
    KeepError,
    raw::{Running, form, inlet, next, outlet, part},
};
use crate::av::encode::{Dimensions, bitrate_kbps};

/// An encoder, and how it is set: the same quality throughout, since nobody waits
/// for its next byte; no B-frames, so that pictures come out as they go in; a
/// keyframe every two seconds, to seek to.
struct Choice {
    element: &'static str,
    /// Its `bitrate`, the most it may take, is in units of so many bits a second.
    bits: u32,
    settings: &'static [(&'static str, &'static str)],
}

/// In order of preference.
const CHOICES: [Choice; 2] = [
    Choice {
        element: "x264enc",
        bits: 1000,
        settings: &[
            ("speed-preset", "superfast"),
            ("pass", "qual"),
            // Between 18, where nobody sees a difference, and 23, the encoder's
            // own choice (its documentation).
            ("quantizer", "21"),
            ("bframes", "0"),
            ("b-adapt", "false"),
            ("rc-lookahead", "0"),
            ("sync-lookahead", "0"),
            ("mb-tree", "false"),
            // Its own choice goes by the machine, and so would the file.
            ("threads", "2"),
            ("key-int-max", "60"),
        ],
    },
    Choice {
        element: "openh264enc",
        bits: 1,
        settings: &[
            ("rate-control", "quality"),
            ("complexity", "medium"),
            ("multi-thread", "1"),
            ("gop-size", "60"),
            ("scene-change-detection", "false"),
            ("background-detection", "false"),
        ],
    },
];

/// Pictures that may wait for the encoder.
const MOST_WAITING: u64 = 3;

/// What encoders reckon with where a stream does not say; pictures keep their
/// own times.
const PER_S: i32 = 30;

/// A film that is being made.
pub(super) struct Film {
    running: Running,
    inlet: gst_app::AppSrc,
    outlet: gst_app::AppSink,
    durations_us: Vec<u32>,
    at_us: u64,
}

impl Film {
    /// One of raw pictures in this form.
    pub(super) fn start(raw: &gst::Caps) -> Result<Self, KeepError> {
        let mut raw = raw.clone();
        let open = raw.make_mut().structure_mut(0).ok_or(KeepError::Form)?;
        open.set("framerate", gst::Fraction::new(PER_S, 1));
        let inlet = inlet(&raw)?;
        inlet.set_max_buffers(MOST_WAITING);
        inlet.set_max_bytes(0);
        inlet.set_block(true);
        // What comes out is small.
        let outlet = outlet(0)?;
        let main = gst::Caps::builder("video/x-h264")
            .field("profile", "main")
            .build();
        let units = gst::Caps::builder("video/x-h264")
            .field("stream-format", "avc")
            .field("alignment", "au")
            .build();
        let running = Running::start(&[
            inlet.upcast_ref(),
            &encoder(&raw)?,
            &form(&main)?,
            &part("h264parse")?,
            &form(&units)?,
            outlet.upcast_ref(),
        ])?;
        Ok(Self {
            running,
            inlet,
            outlet,
            durations_us: Vec::new(),
            at_us: 0,
        })
    }

    /// The next picture.
    pub(super) fn take(&mut self, pixels: Vec<u8>, duration_us: u32) -> Result<(), KeepError> {
        if self.running.failed() {
            return Err(KeepError::Encode);
        }
        let mut buffer = gst::Buffer::from_mut_slice(pixels);
        let open = buffer.get_mut().ok_or(KeepError::Encode)?;
        open.set_pts(gst::ClockTime::from_useconds(self.at_us));
        open.set_duration(gst::ClockTime::from_useconds(u64::from(duration_us)));
        self.at_us += u64::from(duration_us);
        self.durations_us.push(duration_us);
        let taken = self.inlet.push_buffer(buffer);
        taken.map(|_| ()).map_err(|_| KeepError::Encode)
    }

    /// The file, once everything is encoded.
    pub(super) fn finish(self) -> Result<Vec<u8>, KeepError> {
        let ended = self.inlet.end_of_stream();
        ended.map_err(|_| KeepError::Encode)?;
        let mut samples = Vec::with_capacity(self.durations_us.len());
        let mut record = None;
        let mut durations_us = self.durations_us.iter();
        while let Some(sample) = next(&self.outlet, &self.running)? {
            let buffer = sample.buffer().ok_or(KeepError::Encode)?;
            let unit = buffer.map_readable().map_err(|_| KeepError::Encode)?;
            if record.is_none() {
                record = sample.caps().and_then(record_of);
            }
            samples.push(Sample {
                data: bare_sample_of(&unit).into_owned().into(),
                duration_us: *durations_us.next().ok_or(KeepError::Encode)?,
                keyframe: !buffer.flags().contains(gst::BufferFlags::DELTA_UNIT),
            });
        }
        // One that was left out would make all that follow early.
        if durations_us.next().is_some() {
            return Err(KeepError::Encode);
        }
        Ok(movie(&record.ok_or(KeepError::Encode)?, &samples)?)
    }
}

fn record_of(caps: &gst::CapsRef) -> Option<Vec<u8>> {
    let record = caps.structure(0)?.get::<gst::Buffer>("codec_data").ok()?;
    let bytes = record.map_readable().ok()?;
    Some(bytes.to_vec())
}

fn encoder(raw: &gst::Caps) -> Result<gst::Element, KeepError> {
    let form = raw.structure(0).ok_or(KeepError::Form)?;
    let px = |name| u32::try_from(form.get::<i32>(name).unwrap_or_default());
    let (Ok(width_px), Ok(height_px)) = (px("width"), px("height")) else {
        return Err(KeepError::Form);
    };
    // Twice what a camera's own stream has: quality decides, and this is for a
    // picture full of grain.
    let most_kbps = 2 * bitrate_kbps(Dimensions::new(width_px, height_px), f64::from(PER_S));
    let made = CHOICES.iter().find_map(|choice| {
        let element = gst::ElementFactory::make(choice.element).build().ok()?;
        element.set_property("bitrate", most_kbps * (1000 / choice.bits));
        for &(name, value) in choice.settings {
            element.find_property(name)?;
            element.set_property_from_str(name, value);
        }
        Some(element)
    });
    made.ok_or(KeepError::Encode)
}
