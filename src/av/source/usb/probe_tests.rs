//! What comes out behind each form of a USB camera, in every encoder that works
//! here, as `ffprobe` sees it in the fragments that a ring would hold.
//!
//! Needs `ffmpeg`.

use std::{
    fs,
    io::Write as _,
    process::{Command, Stdio},
    sync::{Arc, mpsc},
    time::{Duration, Instant},
};

use afterturn_core::{
    kernel::CaptureUs,
    media::{Fragment, Intake, IntakeSettings, Made, ParameterSets},
};
use serde_json::Value;

use super::{UsbCamera, scripted};
use crate::av::{
    camera::{Camera as _, CameraEvent},
    encode::Encoding,
};

/// Longer than anything here takes; only a failure waits it out.
const PATIENCE: Duration = Duration::from_secs(20);

/// Three seconds and a keyframe.
const PICTURES: usize = 95;

/// What a station makes of a camera's events.
fn fragments(mut camera: UsbCamera) -> (ParameterSets, Vec<Fragment>) {
    let (sender, events) = mpsc::channel();
    let began = Instant::now();
    let now = move || CaptureUs(1_790_000_000_000_000 + began.elapsed().as_micros() as u64);
    let sink = Arc::new(move |event| {
        let _ = sender.send(event);
    });
    let _running = camera.start(Arc::new(now), sink).unwrap();
    let mut intake = Intake::new(IntakeSettings {
        latency_us: 0,
        after: CaptureUs::ZERO,
    });
    let (mut params, mut fragments) = (None, Vec::new());
    while fragments.len() < PICTURES {
        let made = match events.recv_timeout(PATIENCE).expect("an event in time") {
            CameraEvent::Format(config) => intake.format(&config.0).unwrap(),
            CameraEvent::Picture(picture) => intake.picture(picture),
            CameraEvent::Notes(_) => continue,
            CameraEvent::Ended(error) => panic!("{error}"),
        };
        for made in made {
            match made {
                Made::Break(_) => {}
                Made::Chapter(new) => params = Some(new),
                Made::Fragment(fragment) => fragments.push(fragment),
            }
        }
    }
    (params.expect("a chapter comes first"), fragments)
}

fn probe(params: &ParameterSets, fragments: &[Fragment]) -> Value {
    let mut file = tempfile::Builder::new().suffix(".mp4").tempfile().unwrap();
    file.write_all(&params.init).unwrap();
    for fragment in fragments {
        file.write_all(&fragment.bytes).unwrap();
    }
    let output = Command::new("ffprobe")
        .args([
            "-v",
            "error",
            "-show_streams",
            "-show_frames",
            "-of",
            "json",
        ])
        .arg(file.path())
        .stdin(Stdio::null())
        .output()
        .expect("ffprobe runs; install the Debian package ffmpeg");
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && said.is_empty(), "{said}");
    serde_json::from_slice(&output.stdout).unwrap()
}

#[test]
fn every_form_in_every_encoder_is_what_tvs_play() {
    crate::av::init().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let works: Vec<_> = Encoding::names()
        .filter(|name| Encoding::works(name))
        .collect();
    assert!(works.contains(&"x264enc") && works.contains(&"openh264enc"));
    for (name, script) in [
        ("raw", scripted::RAW),
        ("jpeg", scripted::JPEG),
        ("h264", scripted::H264),
    ] {
        let device = folder.path().join(name);
        fs::write(&device, script).unwrap();
        // What is passed on is encoded by none.
        let encoders = if name == "h264" {
            &works[..1]
        } else {
            &works[..]
        };
        for encoder in encoders {
            let encoding = Encoding::new(Some((*encoder).to_owned()), 1);
            let camera = UsbCamera::scripted(device.clone(), encoding);
            let (params, fragments) = fragments(camera);
            let name = format!("{name} in {encoder}");
            judge(&name, &probe(&params, &fragments), &fragments);
        }
    }
}

/// Profile and level Main or High up to 4.1 is what
/// TVs play; Constrained Baseline is a part of Main (ITU-T H.264 Annex A.2).
fn judge(name: &str, probe: &Value, fragments: &[Fragment]) {
    let stream = &probe["streams"][0];
    let profile = stream["profile"].as_str().unwrap();
    if name.starts_with("h264") {
        assert_eq!(profile, "Constrained Baseline", "{name}: the camera's own");
    } else {
        // What was asked of the encoder, or what it makes of it: openh264 calls
        // its Main so only where it writes CABAC.
        assert!(
            ["Main", "High", "Constrained Baseline"].contains(&profile),
            "{name}: {profile}"
        );
    }
    assert!(stream["level"].as_u64().unwrap() <= 41, "{name}: {stream}");
    // The second is how ffprobe calls it where black is 0.
    let form = stream["pix_fmt"].as_str().unwrap();
    assert!(["yuv420p", "yuvj420p"].contains(&form), "{name}: {form}");
    assert_eq!(stream["has_b_frames"], 0, "{name}");
    let frames = probe["frames"].as_array().unwrap();
    assert_eq!(frames.len(), fragments.len(), "{name}");
    for (frame, fragment) in frames.iter().zip(fragments) {
        assert_ne!(frame["pict_type"], "B", "{name}");
        // Shown in the order they come in, each at its capture time.
        assert_eq!(frame["pts"], fragment.capture.0, "{name}");
        assert_eq!(frame["key_frame"] == 1, fragment.keyframe, "{name}");
    }
    let keyframes: Vec<_> = fragments.iter().filter(|f| f.keyframe).collect();
    assert!(keyframes.len() >= 3, "{name}: {}", keyframes.len());
    for pair in keyframes.windows(2) {
        let apart_us = pair[1].capture.since(pair[0].capture);
        assert!(apart_us <= 1_050_000, "{name}: {apart_us}");
    }
}
