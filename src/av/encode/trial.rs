//! Finds out whether an encoder does what is needed of it, by having it encode
//! a second or two of the drawn gym: that it comes up at all, keeps pictures in
//! order, makes a keyframe when asked, stays in a form that TVs play; and how
//! many pixels it does in a second. A driver that is installed is none that
//! works, and no table of hardware is ever complete.
//!
//! Not here: what follows from it.

use std::{
    sync::mpsc,
    thread,
    time::{Duration, Instant},
};

use afterturn_core::{
    kernel::CaptureUs,
    media::slice::{PictureKind, picture_kind},
    scene::{Scene, Size},
};
use gstreamer::{self as gst, prelude::*};
use gstreamer_app as gst_app;

use super::{
    choice::Choice,
    keyframes,
    make::{Encoder, Target, Unmade, make},
};

/// Two seconds at this rate, so that one keyframe has to be asked for.
const PICTURES: usize = 30;
const TRIAL_FPS: u64 = 15;

/// Pictures that are drawn; the trial goes through them to and fro.
const DRAWN: usize = 8;

/// One that takes longer for two seconds of pictures is no encoder, but a
/// driver that hangs.
const PATIENCE: Duration = Duration::from_secs(8);

const TARGET: Target = Target {
    bitrate_kbps: 4000,
    // Never reached: a keyframe comes because it was asked for.
    keyframe_every: 60,
};

/// What is wrong with an encoder.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub(super) enum Fault {
    #[error(transparent)]
    Unmade(#[from] Unmade),
    #[error("it does not start")]
    NoStart,
    #[error("it gave {0} of {PICTURES} pictures")]
    Silent(usize),
    #[error("it makes {0}")]
    Form(String),
    #[error("it does not keep pictures in order")]
    Order,
    #[error("it makes no keyframe when asked")]
    NoKeyframe,
}

/// How many pixels it does in a second.
pub(super) fn try_out(choice: &'static Choice) -> Result<f64, Fault> {
    // Most are not there, and that shows without a thread.
    make(choice, TARGET)?;
    let (said, answer) = mpsc::channel();
    // A driver that hangs hangs there, for as long as the program runs.
    let tried = thread::Builder::new()
        .name("encoder-trial".into())
        .spawn(move || {
            let _ = said.send(run(choice));
        });
    tried.map_err(|_| Fault::NoStart)?;
    answer
        .recv_timeout(PATIENCE)
        .unwrap_or(Err(Fault::Silent(0)))
}

fn run(choice: &Choice) -> Result<f64, Fault> {
    let Encoder { element, caps } = make(choice, TARGET)?;
    keyframes::ask_for(&element);
    let bench = Bench::new(choice, &element, &caps).ok_or(Fault::NoStart)?;
    let outcome = bench.run();
    let _ = bench.pipeline.set_state(gst::State::Null);
    outcome
}

struct Bench {
    pipeline: gst::Pipeline,
    inlet: gst_app::AppSrc,
    outlet: gst_app::AppSink,
    pictures: Vec<gst::Buffer>,
}

impl Bench {
    fn new(choice: &Choice, encoder: &gst::Element, form: &gst::Caps) -> Option<Self> {
        let raw = gst::Caps::builder("video/x-raw")
            .field("format", choice.raw)
            .field("width", Size::HD.width_px() as i32)
            .field("height", Size::HD.height_px() as i32)
            .field("framerate", gst::Fraction::new(TRIAL_FPS as i32, 1))
            .field("pixel-aspect-ratio", gst::Fraction::new(1, 1))
            .field("interlace-mode", "progressive")
            .build();
        let inlet = gst_app::AppSrc::builder()
            .caps(&raw)
            .format(gst::Format::Time)
            .max_bytes(0)
            .build();
        let make = |name| gst::ElementFactory::make(name).build().ok();
        let profile = make("capsfilter")?;
        profile.set_property("caps", form);
        let parse = make("h264parse")?;
        let outlet = gst_app::AppSink::builder()
            .caps(
                &gst::Caps::builder("video/x-h264")
                    .field("stream-format", "avc")
                    .field("alignment", "au")
                    .build(),
            )
            .sync(false)
            .async_(false)
            .build();
        let pipeline = gst::Pipeline::new();
        let parts = [
            inlet.upcast_ref(),
            encoder,
            &profile,
            &parse,
            outlet.upcast_ref(),
        ];
        pipeline.add_many(parts).ok()?;
        gst::Element::link_many(parts).ok()?;
        Some(Self {
            pipeline,
            inlet,
            outlet,
            pictures: drawn(choice.raw),
        })
    }

    fn run(&self) -> Result<f64, Fault> {
        self.pipeline
            .set_state(gst::State::Playing)
            .map_err(|_| Fault::NoStart)?;
        for number in 0..PICTURES {
            let (lap, step) = (number / DRAWN, number % DRAWN);
            let at = if lap.is_multiple_of(2) {
                step
            } else {
                DRAWN - 1 - step
            };
            let mut picture = self.pictures[at].copy();
            let open = picture.get_mut().ok_or(Fault::NoStart)?;
            open.set_pts(stamp(number));
            open.set_duration(gst::ClockTime::from_nseconds(1_000_000_000 / TRIAL_FPS));
            self.inlet
                .push_buffer(picture)
                .map_err(|_| Fault::NoStart)?;
        }
        let _ = self.inlet.end_of_stream();
        self.judge()
    }

    fn judge(&self) -> Result<f64, Fault> {
        let mut began = None;
        let mut ended = Instant::now();
        for number in 0..PICTURES {
            let wait = gst::ClockTime::from_mseconds(PATIENCE.as_millis() as u64 / 2);
            let sample = self.outlet.try_pull_sample(wait);
            let sample = sample.ok_or(Fault::Silent(number))?;
            ended = Instant::now();
            began.get_or_insert(ended);
            look_at(&sample, number)?;
        }
        // What its first picture took is setting up.
        let took = ended.duration_since(began.unwrap_or(ended));
        let pixels = u64::from(Size::HD.width_px()) * u64::from(Size::HD.height_px());
        let pixels = pixels * (PICTURES as u64 - 1);
        Ok(pixels as f64 / took.max(Duration::from_micros(1)).as_secs_f64())
    }
}

fn stamp(number: usize) -> gst::ClockTime {
    gst::ClockTime::from_nseconds(number as u64 * 1_000_000_000 / TRIAL_FPS)
}

/// Whether picture `number` is as it has to be.
fn look_at(sample: &gst::Sample, number: usize) -> Result<(), Fault> {
    let form = sample.caps().and_then(|caps| caps.structure(0));
    let buffer = sample.buffer().ok_or(Fault::Silent(number))?;
    if let Some(form) = form.filter(|_| number == 0) {
        suits_a_tv(form)?;
    }
    let time = sample
        .segment()
        .and_then(|segment| segment.downcast_ref::<gst::ClockTime>())
        .and_then(|segment| segment.to_running_time(buffer.pts()?));
    // Encoders count in ticks of their own; half a millisecond is none of ours.
    let right =
        time.is_some_and(|time| time.nseconds().abs_diff(stamp(number).nseconds()) < 500_000);
    let bytes = buffer.map_readable().map_err(|_| Fault::Silent(number))?;
    let kind = picture_kind(&bytes);
    if !right || kind == PictureKind::Bidirectional {
        return Err(Fault::Order);
    }
    let asked_for = number.is_multiple_of(TRIAL_FPS as usize);
    if asked_for && kind != PictureKind::Idr {
        return Err(Fault::NoKeyframe);
    }
    Ok(())
}

fn suits_a_tv(form: &gst::StructureRef) -> Result<(), Fault> {
    const PROFILES: &[&str] = &[
        "constrained-baseline",
        "main",
        "constrained-high",
        "progressive-high",
        "high",
    ];
    let said = |field| form.get::<&str>(field).unwrap_or("nothing");
    let (profile, level, chroma) = (said("profile"), said("level"), said("chroma-format"));
    // `GStreamer` writes level 4.1 as "4.1" and 4 as "4".
    let level_fits = level.parse::<f64>().is_ok_and(|level| level <= 4.1);
    if PROFILES.contains(&profile) && level_fits && matches!(chroma, "4:2:0" | "nothing") {
        return Ok(());
    }
    Err(Fault::Form(format!(
        "the {profile} profile at level {level}, {chroma}"
    )))
}

/// Some moments of the gym, with a camera's noise over them: without it an
/// encoder has less to do than it will have.
fn drawn(raw: &str) -> Vec<gst::Buffer> {
    const APART_US: i64 = 66_667;
    let start = CaptureUs(1_000_000_000);
    let mut scene = Scene::new(1, start, Size::HD);
    let mut noise = 1_u32;
    (0..DRAWN as i64)
        .map(|number| {
            let mut picture = vec![0; Size::HD.i420_bytes()];
            // Well into an attempt. A size that fits is drawn.
            let _ = scene.draw(start.offset(6_000_000 + number * APART_US), &mut picture);
            let luma = picture.len() * 2 / 3;
            for pixel in &mut picture[..luma] {
                noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                *pixel = pixel.wrapping_add((noise >> 30) as u8).clamp(16, 235);
            }
            if raw == "NV12" {
                interleave(&mut picture[luma..]);
            }
            gst::Buffer::from_mut_slice(picture)
        })
        .collect()
}

/// I420 has one plane of each colour, NV12 one plane of both by turns.
fn interleave(chroma: &mut [u8]) {
    let planes = chroma.to_vec();
    let (blue, red) = planes.split_at(planes.len() / 2);
    for (pair, (blue, red)) in chroma.chunks_exact_mut(2).zip(blue.iter().zip(red)) {
        pair.copy_from_slice(&[*blue, *red]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::av::encode::choice::{BitRate, CHOICES, named};

    #[test]
    fn each_encoder_in_software_passes() {
        crate::av::init().unwrap();
        for choice in CHOICES.iter().filter(|choice| !choice.hardware) {
            let speed = match try_out(choice) {
                Err(Fault::Unmade(Unmade::Absent)) => continue,
                tried => tried.unwrap_or_else(|fault| panic!("{}: {fault}", choice.element)),
            };
            // Ten small pictures a second; only a machine that stands still is slower.
            assert!(speed > 2_000_000.0, "{}: {speed}", choice.element);
        }
    }

    /// x264enc, with some of its settings spoilt.
    fn spoilt(settings: &'static [(&'static str, &'static str)], raw: &'static str) -> Fault {
        crate::av::init().unwrap();
        let good = named("x264enc").unwrap();
        let choice = Box::leak(Box::new(Choice {
            element: good.element,
            package: good.package,
            hardware: false,
            raw,
            profile: good.profile,
            level: None,
            writes_range: true,
            bit_rate: BitRate::Unit(1000),
            keyframe_every: good.keyframe_every,
            settings,
            wishes: &[],
        }));
        try_out(choice).expect_err("it does not do")
    }

    #[test]
    fn one_that_does_not_do_is_found_out() {
        let b_frames = &[
            ("speed-preset", "ultrafast"),
            ("bframes", "2"),
            ("b-adapt", "false"),
        ];
        assert_eq!(spoilt(b_frames, "I420"), Fault::Order);
        let deaf = &[("colour", "red")];
        assert_eq!(spoilt(deaf, "I420"), Fault::Unmade(Unmade::Deaf("colour")));
        // 4:4:4 in the Main profile is nothing it can make.
        let silent = spoilt(&[("tune", "zerolatency")], "Y444");
        assert!(
            matches!(silent, Fault::Silent(0) | Fault::NoStart),
            "{silent}"
        );
    }

    #[test]
    fn forms_that_tvs_do_not_play_are_refused() {
        crate::av::init().unwrap();
        let form = |profile: &str, level: &str, chroma: &str| {
            let caps = gst::Caps::builder("video/x-h264")
                .field("profile", profile)
                .field("level", level)
                .field("chroma-format", chroma)
                .build();
            suits_a_tv(caps.structure(0).unwrap()).is_ok()
        };
        assert!(form("main", "3.1", "4:2:0") && form("high", "4.1", "4:2:0"));
        assert!(!form("main", "4.2", "4:2:0") && !form("high-4:4:4", "3.1", "4:4:4"));
        assert!(!form("baseline", "3", "4:2:0") && !form("high", "", "4:2:0"));
    }

    #[test]
    fn colours_are_told_by_turns() {
        let mut chroma = [1, 2, 3, 7, 8, 9];
        interleave(&mut chroma);
        assert_eq!(chroma, [1, 7, 2, 8, 3, 9]);
    }
}
