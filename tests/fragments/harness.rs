//! What the fragment tests stand on: pictures of real cameras, taken in as a
//! station does, in a file; and the programs that judge it from outside.
//!
//! Not here: what is to be found in the file.

#![allow(
    dead_code,
    reason = "several test programs stand on it, and none uses all of it"
)]

use std::{
    io::Write,
    process::{Command, Stdio},
};

use afterturn::av::camera::{Camera, CameraEvent};
use afterturn_core::{
    kernel::CaptureUs,
    media::{Fragment, Intake, IntakeSettings, Made, ParameterSets, strip},
};
use serde_json::Value;
use tempfile::NamedTempFile;

use crate::cameras;

/// Three seconds.
const PICTURES: usize = 90;

/// Every picture once, at its own time, not at that of the rate `ffmpeg` guesses:
/// rounded to it, two can fall together.
const AS_IT_IS: &[&str] = &["-fps_mode", "passthrough", "-enc_time_base", "-1"];

/// A camera's pictures.
pub(crate) struct Recording {
    pub(crate) params: ParameterSets,
    pub(crate) fragments: Vec<Fragment>,
}

/// Takes pictures in, as a station does.
pub(crate) fn record(camera: &mut dyn Camera) -> Recording {
    let heard = cameras::listen(camera);
    let mut intake = Intake::new(IntakeSettings {
        latency_us: 0,
        after: CaptureUs::ZERO,
    });
    let mut params: Option<ParameterSets> = None;
    let mut fragments = Vec::new();
    let mut keep = |made: Vec<Made>| {
        for made in made {
            match made {
                // A busy machine may leave pictures out; what follows a hole is
                // a chapter of the same kind and fits into the same file.
                Made::Break(_) => {}
                Made::Chapter(new) => {
                    // Pictures before it was clear that they need converting.
                    if params.as_ref().is_some_and(|old| *old != new) {
                        fragments.clear();
                    }
                    params = Some(new);
                }
                Made::Fragment(fragment) => fragments.push(fragment),
            }
        }
        fragments.len()
    };
    loop {
        let made = match heard.next() {
            CameraEvent::Format(config) => intake.format(&config.0).unwrap(),
            CameraEvent::Picture(picture) => intake.picture(picture),
            CameraEvent::Notes(_) => continue,
            CameraEvent::Ended(error) => panic!("ended: {error:?}"),
        };
        if keep(made) >= PICTURES {
            break;
        }
    }
    keep(intake.idle());
    heard.stop();
    let params = params.expect("a chapter comes before its pictures");
    Recording { params, fragments }
}

/// What a program said about the file of all of it; it must not have complained.
fn run(program: &str, before: &[&str], recording: &Recording, after: &[&str]) -> Vec<u8> {
    let file = recording.file();
    let output = Command::new(program)
        .args(["-v", "error"])
        .args(before)
        .arg(file.path())
        .args(after)
        .stdin(Stdio::null())
        .output()
        .unwrap_or_else(|error| {
            panic!("{program} cannot be run ({error}); install the Debian package ffmpeg")
        });
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(
        output.status.success() && said.is_empty(),
        "{program}: {said}"
    );
    output.stdout
}

impl Recording {
    /// All of it in a file.
    pub(crate) fn file(&self) -> NamedTempFile {
        let mut file = tempfile::Builder::new().suffix(".mp4").tempfile().unwrap();
        file.write_all(&self.params.init).unwrap();
        for fragment in &self.fragments {
            file.write_all(&fragment.bytes).unwrap();
        }
        file
    }

    /// What `ffprobe` finds, as it says it.
    pub(crate) fn probe(&self) -> Value {
        let show = [
            "-show_streams",
            "-show_packets",
            "-show_frames",
            "-of",
            "json",
        ];
        serde_json::from_slice(&run("ffprobe", &show, self, &[])).unwrap()
    }

    /// Decodes the file with `ffmpeg`, which stops at the first error.
    pub(crate) fn decode(&self) {
        let nowhere = [AS_IT_IS, &["-f", "null", "-"]].concat();
        run("ffmpeg", &["-xerror", "-i"], self, &nowhere);
    }

    /// The times that stand in the decoded pictures, in milliseconds.
    pub(crate) fn strips(&self) -> Vec<u64> {
        // Luma and its two chroma planes, as encoded: nothing is scaled.
        let planes = ["-pix_fmt", "yuv420p", "-f", "rawvideo", "-"];
        let raw = [AS_IT_IS, &planes].concat();
        let pictures = run("ffmpeg", &["-xerror", "-i"], self, &raw);
        let (width, height) = (
            self.params.width_px as usize,
            self.params.height_px as usize,
        );
        let picture_bytes = width * height * 3 / 2;
        assert_eq!(pictures.len() % picture_bytes, 0);
        pictures
            .chunks_exact(picture_bytes)
            .map(|luma| strip::read(luma, width, width, height).unwrap())
            .collect()
    }
}
