//! A small gym of screens, some of them stalled, slow or vanishing: the others
//! get every picture in its order, and nothing piles up for those.
//!
//! Needs `cargo build --workspace` first: camera and server are programs of
//! their own. Speed is measured by `scripts/measure-fan-out`, not here.

#![allow(missing_docs, reason = "a test explains itself")]

use std::process::Command;

#[test]
fn screens_that_read_miss_nothing_for_those_that_do_not() {
    let output = Command::new(env!("CARGO_BIN_EXE_watchers"))
        .args(["--viewers", "20", "--stalled", "4", "--slow", "2"])
        .args(["--vanishing", "2", "--seconds", "8", "--window-ms", "5000"])
        // What piles up has to show in seconds.
        .args(["--bitrate-kbps", "16000", "--judge", "order"])
        .output()
        .expect("it was just built");
    let said = String::from_utf8_lossy(&output.stdout);
    let complained = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}\n{complained}");
}
