//! Recordings in place of a camera: files of every common form, made by
//! `ffmpeg`, and what is no recording at all.
//!
//! Needs `ffmpeg`, and `cargo build -p rtsp-camera` first.

#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a test fails by panicking, and explains itself"
)]

#[path = "cameras/harness.rs"]
mod cameras;
#[path = "recordings/harness.rs"]
mod harness;

use std::{fs, time::Duration};

use afterturn::av::{
    camera::{Camera, CameraEvent, Knock},
    encode::Encoding,
    source::file::FileCamera,
};
use afterturn_core::{
    kernel::CaptureUs,
    media::{Intake, IntakeSettings, Made, stamp::SourceStamp},
    wire::CameraState,
};
use harness::{PICTURES_25, Recordings, SOUND};

fn camera(path: &std::path::Path) -> FileCamera {
    FileCamera::new(path.to_owned(), Encoding::default())
}

#[test]
fn recordings_of_every_common_form_are_played() {
    let recordings = Recordings::new();
    for (name, options) in [
        (
            "phone.mp4",
            "-c:v libx264 -pix_fmt yuv420p -g 250 -bf 2 -c:a aac",
        ),
        (
            "phone.mov",
            "-c:v libx265 -x265-params log-level=error -tag:v hvc1 -c:a aac",
        ),
        ("high.mkv", "-c:v libx264 -pix_fmt yuv422p10le -c:a libopus"),
        ("old.avi", "-c:v mpeg4 -c:a mp3"),
        (
            "web.webm",
            "-c:v libvpx-vp9 -deadline realtime -cpu-used 8 -c:a libopus",
        ),
        ("webcam.avi", "-c:v mjpeg -pix_fmt yuvj422p -an"),
        (
            "tape.ts",
            "-c:v mpeg2video -flags +ildct+ilme -top 1 -c:a mp2",
        ),
        ("disc.mpg", "-c:v mpeg2video -c:a mp2"),
        ("raw.y4m", "-an -pix_fmt yuv420p"),
    ] {
        let path = recordings.make(name, &format!("{PICTURES_25} {SOUND} -shortest {options}"));
        let heard = cameras::listen(&mut camera(&path));
        let pictures = heard.pictures(20);
        assert!(pictures[0].keyframe, "{name}");
        let stamps: Vec<_> = pictures.iter().map(|p| time_ms(p.source)).collect();
        assert!(stamps.is_sorted_by(|a, b| a < b), "{name}: {stamps:?}");
        assert_eq!(heard.stop(), 0, "{name}");
    }
}

fn time_ms(stamp: SourceStamp) -> u64 {
    let SourceStamp::PipelineNs(ns) = stamp else {
        panic!("a recording's pictures have their times");
    };
    ns / 1_000_000
}

#[test]
fn a_recording_is_played_at_its_own_pace() {
    let recordings = Recordings::new();
    let options = format!("{PICTURES_25} -t 3 -c:v libx264 -preset ultrafast -pix_fmt yuv420p");
    let path = recordings.make("pace.mp4", &options);
    let pictures = cameras::listen(&mut camera(&path)).pictures(40);
    for pair in pictures.windows(2) {
        // A busy machine leaves pictures out; none is moved.
        let apart_ms = time_ms(pair[1].source) - time_ms(pair[0].source);
        assert_eq!(apart_ms % 40, 0, "{pair:?}");
    }
    // Not faster than time goes by. It may be slower on a busy machine.
    let (first, last) = (&pictures[0], &pictures[39]);
    let recorded_ms = (time_ms(last.source) - time_ms(first.source)) as i64;
    let took_ms = last.arrival.since(first.arrival) / 1000;
    assert!(took_ms > recorded_ms - 100, "{took_ms} of {recorded_ms}");
}

#[test]
fn it_goes_round_and_times_only_grow() {
    let recordings = Recordings::new();
    // With sound that goes on for longer than the pictures.
    let options = format!(
        "{PICTURES_25} {SOUND} -map 0:v -map 1:a -frames:v 20 \
         -c:v libx264 -preset ultrafast -pix_fmt yuv420p -c:a aac"
    );
    let path = recordings.make("short.mp4", &options);
    let mut intake = Intake::new(IntakeSettings {
        latency_us: 0,
        after: CaptureUs::ZERO,
    });
    let heard = cameras::listen(&mut camera(&path));
    let mut captures = Vec::new();
    // Twenty to a lap, fewer on a busy machine.
    while captures.len() < 70 {
        let made = match heard.next() {
            CameraEvent::Format(config) => intake.format(&config.0).unwrap(),
            CameraEvent::Picture(picture) => intake.picture(picture),
            CameraEvent::Notes(_) => Vec::new(),
            CameraEvent::Ended(error) => panic!("{error:?}"),
        };
        captures.extend(made.into_iter().filter_map(|made| match made {
            Made::Fragment(fragment) => Some(fragment.capture),
            Made::Chapter(_) | Made::Break(_) => None,
        }));
    }
    assert!(captures.is_sorted_by(|a, b| a < b), "{captures:?}");
    let longest_us = captures.windows(2).map(|pair| pair[1].since(pair[0])).max();
    assert!(longest_us < Some(2_000_000), "{longest_us:?} between laps");
}

#[test]
fn what_is_no_recording_is_told_in_a_word() {
    let recordings = Recordings::new();
    let whole = recordings.make(
        "whole.mp4",
        &format!("{PICTURES_25} -c:v libx264 -preset ultrafast -pix_fmt yuv420p"),
    );
    let bytes = fs::read(&whole).unwrap();
    // The table of contents is at the end of such a file, and lost with it.
    let cut = recordings.write("cut.mp4", &bytes[..bytes.len() / 2]);
    let text = recordings.write("text.mp4", &b"Not a recording. ".repeat(1000));
    let noise: Vec<u8> = (0..100_000_u32)
        .map(|n| (n.wrapping_mul(2_654_435_761) >> 24) as u8)
        .collect();
    let noise = recordings.write("noise.mkv", &noise);
    let empty = recordings.write("empty.mp4", b"");
    let sound = recordings.make("sound.m4a", &format!("{SOUND} -t 2 -c:a aac"));
    let song = recordings.make("song.mp3", &format!("{SOUND} -t 2 -c:a mp3"));
    let still = recordings.make("still.jpg", &format!("{PICTURES_25} -frames:v 1 -q:v 2"));
    for (path, state, words) in [
        (cut, CameraState::Unsuitable, "damaged"),
        (text, CameraState::Unsuitable, "no recording"),
        (noise, CameraState::Unsuitable, "no recording"),
        (empty, CameraState::Unsuitable, "empty"),
        (sound, CameraState::Unsuitable, "sound and no pictures"),
        (song, CameraState::Unsuitable, "sound and no pictures"),
        (still, CameraState::Unsuitable, "half a second"),
        (
            recordings.path("none.mp4"),
            CameraState::Unreachable,
            "no file of this name",
        ),
    ] {
        let mut camera = camera(&path);
        assert_eq!(camera.knock(), Some(Knock::Path(path.clone())));
        let end = cameras::listen(&mut camera).end();
        assert_eq!(end.state, state, "{}: {end}", path.display());
        assert!(end.detail.contains(words), "{}: {end}", path.display());
        let name = path.file_stem().unwrap().to_str().unwrap();
        let folder = recordings.path("").display().to_string();
        assert!(!end.detail.contains(&folder) || name.len() < 3, "{end}");
    }
}

#[test]
fn one_that_breaks_off_is_shown_as_far_as_it_goes() {
    let recordings = Recordings::new();
    let options = format!("{PICTURES_25} -c:v libx264 -preset ultrafast -pix_fmt yuv420p");
    let whole = fs::read(recordings.make("whole.mkv", &options)).unwrap();
    let cut = recordings.write("cut.mkv", &whole[..whole.len() * 2 / 3]);
    let heard = cameras::listen(&mut camera(&cut));
    // Two thirds of two seconds, so this is the third lap.
    assert_eq!(heard.pictures(80).len(), 80);
}

#[test]
fn nothing_follows_a_drop_whatever_it_was_doing() {
    let recordings = Recordings::new();
    let options = format!("{PICTURES_25} -frames:v 15 -c:v libx264 -pix_fmt yuv420p");
    let path = recordings.make("short.mp4", &options);
    for wait_ms in [0, 5, 50, 300, 620, 700] {
        let heard = cameras::listen(&mut camera(&path));
        std::thread::sleep(Duration::from_millis(wait_ms));
        assert_eq!(heard.stop(), 0, "after {wait_ms} ms");
    }
}
