//! Recordings made by `ffmpeg` in a folder of their own.
//!
//! Not here: what is to become of them.

use std::{
    fs,
    path::{Path, PathBuf},
    process::{Command, Stdio},
};

/// Two seconds of pictures, 25 a second.
pub(crate) const PICTURES_25: &str = "-f lavfi -i testsrc2=size=320x240:rate=25:duration=2";

/// More than two seconds of a tone.
pub(crate) const SOUND: &str = "-f lavfi -i sine=frequency=440:duration=2.4";

/// A folder of recordings; gone with it.
pub(crate) struct Recordings(tempfile::TempDir);

impl Recordings {
    pub(crate) fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    /// Makes one with these options of `ffmpeg`'s.
    pub(crate) fn make(&self, name: &str, options: &str) -> PathBuf {
        let path = self.path(name);
        ffmpeg(options, &path);
        path
    }

    pub(crate) fn write(&self, name: &str, bytes: &[u8]) -> PathBuf {
        let path = self.path(name);
        fs::write(&path, bytes).unwrap();
        path
    }
}

fn ffmpeg(options: &str, into: &Path) {
    let output = Command::new("ffmpeg")
        .args(["-v", "error", "-y"])
        .args(options.split_whitespace())
        .arg(into)
        .stdin(Stdio::null())
        .output()
        .unwrap_or_else(|error| {
            panic!("ffmpeg cannot be run ({error}); install the Debian package ffmpeg")
        });
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{options}: {said}");
}
