//! Starts this test program once more as a process that is killed, and hears what
//! it said before.
//!
//! Not here: what it does, and what must hold afterwards.

#![allow(
    dead_code,
    unreachable_pub,
    reason = "each test that has this module uses what it needs of it"
)]

use std::{
    io::{BufRead as _, BufReader, Read as _},
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    time::Duration,
};

const FOLDER: &str = "AFTERTURN_KILLED_IN";
const SEED: &str = "AFTERTURN_KILLED_SEED";

/// Xorshift: enough to be different each time, and the same for one seed.
pub struct Random(u64);

impl Random {
    /// Another in each run; says which.
    pub fn new() -> Self {
        let seed = u64::from(std::process::id()) * 0x9e37_79b9 + 1;
        println!("seed {seed}");
        Self(seed)
    }

    pub const fn below(&mut self, most: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % most
    }
}

/// In the process that is killed: where it works, and what it does next. None in
/// a run that nobody kills.
pub fn to_be_killed() -> Option<(PathBuf, Random)> {
    let folder = std::env::var_os(FOLDER)?;
    let seed = std::env::var(SEED).ok().and_then(|seed| seed.parse().ok());
    Some((folder.into(), Random(seed.unwrap_or(1))))
}

/// How often: twenty times, or as the environment says.
pub fn times(variable: &str) -> u64 {
    let said = std::env::var(variable).ok();
    said.and_then(|times| times.parse().ok()).unwrap_or(20)
}

/// Starts a test of this program as a process and kills it, so long after it has
/// said that it is ready, or after its start; what it said.
pub fn killed(test: &str, folder: &Path, seed: u64, after: Duration, once_ready: bool) -> String {
    let mut child = Command::new(std::env::current_exe().expect("this program"))
        .args(["--ignored", "--exact", test, "--nocapture"])
        .env(FOLDER, folder)
        .env(SEED, seed.max(1).to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    let mut out = BufReader::new(child.stdout.take().expect("its output"));
    let mut said = String::new();
    while once_ready && !said.contains("ready") {
        let read = out.read_line(&mut said).expect("a line");
        assert!(read > 0, "it ended by itself: {}", trouble(&mut child));
    }
    std::thread::sleep(after);
    child.kill().expect("killed");
    out.read_to_string(&mut said)
        .expect("the rest of what it said");
    let errors = trouble(&mut child);
    assert!(!errors.contains("panicked"), "{errors}");
    child.wait().expect("gone");
    // The last line may be cut.
    said.truncate(said.rfind('\n').map_or(0, |end| end + 1));
    said
}

fn trouble(child: &mut Child) -> String {
    let mut errors = String::new();
    if let Some(mut stream) = child.stderr.take() {
        let _ = stream.read_to_string(&mut errors);
    }
    errors
}
