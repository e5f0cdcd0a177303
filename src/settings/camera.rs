//! The rules of a station's camera in the server's config file: its kind, what
//! belongs to which, and the kinds that live in this machine.
//!
//! Not here: how a network camera is reached ([`super::network`]), the rest of
//! the station, and opening a camera.

use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};

use super::reader::{Findings, Table, nearest};
use super::value::Entry;
use super::{CameraSettings, Environment, network};

/// Nothing sold for a wall is slower.
const LATENCY_MS: RangeInclusive<u32> = 0..=2_000;
/// Typical of a network camera: exposure, encoding, its own queue.
const NETWORK_LATENCY_MS: u32 = 200;
/// A recording's pictures are taken when their turn comes.
const FILE_LATENCY_MS: u32 = 0;
/// The scene is stamped as it is drawn.
pub(super) const DEMO_LATENCY_MS: u32 = 0;

/// Each kind, what one is called in a sentence, and the keys that only it has.
const KINDS: [(&str, &str, &[&str]); 3] = [
    ("network", "a network camera", &network::KEYS),
    ("file", "a recording", &["path"]),
    ("demo", "the demo camera", &["seed"]),
];

/// Reads a camera and its latency.
pub(super) fn read(
    findings: &Findings,
    mut table: Table<'_>,
    environment: Environment<'_>,
) -> Option<(CameraSettings, u32)> {
    let kind = table.required("kind", "kind = \"network\", \"file\" or \"demo\"");
    let latency = table.optional("latency_ms");
    let latency = latency.map(|entry| entry.whole_within(LATENCY_MS));
    let Some(kind) = kind.and_then(|entry| kind_of(&entry)) else {
        // Without a kind nothing can be said about the others, but a misspelt
        // one is still misspelt.
        for key in KINDS.iter().flat_map(|(_, _, keys)| *keys) {
            table.optional(key);
        }
        table.finish();
        return None;
    };
    let (camera, usual_ms) = match kind {
        "demo" => (demo(table), DEMO_LATENCY_MS),
        "file" => (file(table), FILE_LATENCY_MS),
        _ => {
            let camera = network::read(findings, table, environment);
            (camera.map(CameraSettings::Network), NETWORK_LATENCY_MS)
        }
    };
    Some((camera?, latency.unwrap_or(Some(usual_ms))?))
}

fn kind_of(entry: &Entry<'_>) -> Option<&'static str> {
    let names = || KINDS.iter().map(|(name, _, _)| *name);
    let given = entry.text()?;
    let kind = names().find(|kind| *kind == given);
    if kind.is_none() {
        let fix = match nearest(given, names()) {
            Some(meant) => format!("did you mean \"{meant}\"?"),
            None => "write \"network\", \"file\" or \"demo\"".to_owned(),
        };
        entry.refuse("there is no camera of this kind", fix);
    }
    kind
}

/// Refuses the keys of all kinds but `kind`.
pub(super) fn not_of_this_kind(table: &mut Table<'_>, kind: &str) {
    let called = |kind| KINDS.iter().find(|(name, _, _)| *name == kind);
    let this = called(kind).map_or("another", |(_, called, _)| called);
    for (name, other, keys) in KINDS.iter().filter(|(name, _, _)| *name != kind) {
        table.not_here(
            keys,
            &format!("belongs to {other}, and this is {this}"),
            &format!("take it out, or write kind = \"{name}\""),
        );
    }
}

fn demo(mut table: Table<'_>) -> Option<CameraSettings> {
    let seed = table.optional("seed");
    not_of_this_kind(&mut table, "demo");
    table.finish();
    let seed = match seed {
        Some(entry) => u64::from(entry.whole_within(0..=u32::MAX)?),
        None => 1,
    };
    Some(CameraSettings::Demo { seed })
}

fn file(mut table: Table<'_>) -> Option<CameraSettings> {
    let path = table.required("path", "path = \"/srv/afterturn/rehearsal.mp4\"");
    not_of_this_kind(&mut table, "file");
    table.finish();
    let entry = path?;
    let fix = "begin it with /: \"/srv/afterturn/rehearsal.mp4\"";
    let path = whole_path(&entry, "/", "`path` is the whole path of a recording", fix)?;
    Some(CameraSettings::File { path })
}

fn whole_path(entry: &Entry<'_>, below: &str, message: &str, fix: &str) -> Option<PathBuf> {
    let given = entry.text()?;
    if !given.starts_with(below) || given.len() == below.len() || given.contains('\0') {
        entry.refuse(message, fix);
        return None;
    }
    Some(Path::new(given).to_owned())
}
