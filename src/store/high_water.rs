//! The high-water mark of the capture clock: the latest capture time that may
//! have been given out before the program stopped, as one line of text.
//!
//! Saved every [`SAVE_EVERY`]. A power cut leaves a mark at most that old, and
//! the clock starts further than that beyond it, but only where the wall clock
//! has not got there by itself.
//!
//! Not here: the clock ([`crate::host::clock`]).

use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use afterturn_core::kernel::CaptureUs;

use super::atomic;

/// How often the mark is saved: often enough for a small gap after a power cut,
/// rarely enough for a memory card.
pub const SAVE_EVERY: Duration = Duration::from_secs(10);

/// The file's name in the state directory.
const FILE_NAME: &str = "capture-clock";

/// What the line begins with.
const KEY: &str = "high_water_us ";

/// A JavaScript number is exact up to here, so no mark of ours lies beyond.
const MOST_US: u64 = 1 << 53;

/// Far longer than the line, far shorter than any accident.
const MOST_BYTES: usize = 100;

/// What was found of an earlier run.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Loaded {
    /// The mark, if there is a readable one.
    pub mark: Option<CaptureUs>,
    /// Why there is none although there should be; for the log.
    pub warning: Option<String>,
}

/// Reads the mark. Never fails: a clock can start without one.
#[must_use]
pub fn load(state_dir: &Path) -> Loaded {
    let path = file(state_dir);
    match std::fs::read(&path) {
        Ok(bytes) => match parse(&bytes) {
            Some(mark) => Loaded {
                mark: Some(mark),
                warning: None,
            },
            None => without(&path, "it does not hold a capture time"),
        },
        Err(error) if error.kind() == io::ErrorKind::NotFound => Loaded::default(),
        Err(error) => without(&path, &error.to_string()),
    }
}

/// Saves the mark.
pub fn save(state_dir: &Path, mark: CaptureUs) -> io::Result<()> {
    atomic::write(&file(state_dir), format!("{KEY}{}\n", mark.0).as_bytes())
}

fn file(state_dir: &Path) -> PathBuf {
    state_dir.join(FILE_NAME)
}

fn without(path: &Path, why: &str) -> Loaded {
    Loaded {
        mark: None,
        warning: Some(format!(
            "{} is left aside, {why}; capture time starts from the clock on the wall",
            path.display()
        )),
    }
}

fn parse(bytes: &[u8]) -> Option<CaptureUs> {
    let text = std::str::from_utf8(bytes.get(..bytes.len().min(MOST_BYTES))?).ok()?;
    let digits = text.strip_prefix(KEY)?.strip_suffix('\n')?;
    let us = digits.parse().ok().filter(|us| *us <= MOST_US)?;
    // `parse` takes a leading plus sign; a file of ours has none.
    digits
        .starts_with(|c: char| c.is_ascii_digit())
        .then_some(CaptureUs(us))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_comes_back() {
        let dir = tempfile::tempdir().expect("a temporary directory");
        assert_eq!(load(dir.path()), Loaded::default());
        let mark = CaptureUs(1_764_060_000_123_456);
        save(dir.path(), mark).expect("saved");
        assert_eq!(load(dir.path()).mark, Some(mark));
        assert_eq!(load(dir.path()).warning, None);
    }

    #[test]
    fn garbage_is_a_warning_and_no_mark() {
        let dir = tempfile::tempdir().expect("a temporary directory");
        for garbage in [
            &b""[..],
            b"high_water_us 17",
            b"high_water_us +17\n",
            b"high_water_us -1\n",
            b"high_water_us 9999999999999999999\n",
            b"high_water_us 17\n18\n",
            b"\xff\xfe",
            &[b'9'; 4096],
        ] {
            std::fs::write(file(dir.path()), garbage).expect("written");
            let found = load(dir.path());
            assert_eq!(found.mark, None, "{garbage:?}");
            assert!(
                found
                    .warning
                    .is_some_and(|why| why.contains("capture-clock"))
            );
        }
    }

    #[test]
    fn an_unreadable_file_is_a_warning() {
        let dir = tempfile::tempdir().expect("a temporary directory");
        std::fs::create_dir(file(dir.path())).expect("created");
        let found = load(dir.path());
        assert_eq!(found.mark, None);
        assert!(found.warning.is_some());
    }
}
