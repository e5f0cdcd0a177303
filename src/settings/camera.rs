//! The rules of a station's camera in the server's config file: its kind, what
//! belongs to which, and the kinds that live in this machine.
//!
//! Not here: how a network camera is reached ([`super::network`]), the rest of
//! the station, and opening a camera.

use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};

use super::diagnostic::Diagnostic;
use super::reader::{Findings, Table, nearest};
use super::value::Entry;
use super::{CameraSettings, Environment, UsbSettings, network};
use crate::av::encode::{Dimensions, Most, USUAL, fits_level_4_1};

/// Nothing sold for a wall is slower.
const LATENCY_MS: RangeInclusive<u32> = 0..=2_000;
/// Typical of a network camera: exposure, encoding, its own queue.
const NETWORK_LATENCY_MS: u32 = 200;
/// Half an exposure, reading the sensor out, packing the picture and sending it
/// over the cable: two pictures at thirty a second. An estimate; a camera's own
/// is measured.
const USB_LATENCY_MS: u32 = 65;
/// A recording's pictures are taken when their turn comes.
const FILE_LATENCY_MS: u32 = 0;
/// The scene is stamped as it is drawn.
pub(super) const DEMO_LATENCY_MS: u32 = 0;

/// Smaller, nobody is told from the wall; larger, no TV is sure to play it.
const WIDTH_PX: RangeInclusive<u32> = 160..=1_920;
const HEIGHT_PX: RangeInclusive<u32> = 120..=1_080;
/// Below, a jump is three pictures; above, no screen shows more.
const FPS: RangeInclusive<u32> = 5..=60;

/// Each kind, what one is called in a sentence, and the keys that only it has.
const KINDS: [(&str, &str, &[&str]); 4] = [
    ("network", "a network camera", &network::KEYS),
    (
        "usb",
        "a USB camera",
        &["device", "width_px", "height_px", "fps"],
    ),
    ("file", "a recording", &["path"]),
    ("demo", "the demo camera", &["seed"]),
];

/// Reads a camera and its latency.
pub(super) fn read(
    findings: &Findings,
    mut table: Table<'_>,
    environment: Environment<'_>,
) -> Option<(CameraSettings, u32)> {
    let kind = table.required("kind", "kind = \"network\", \"usb\", \"file\" or \"demo\"");
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
        "usb" => (
            usb(findings, table).map(CameraSettings::Usb),
            USB_LATENCY_MS,
        ),
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
            None => "write \"network\", \"usb\", \"file\" or \"demo\"".to_owned(),
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

fn usb(findings: &Findings, mut table: Table<'_>) -> Option<UsbSettings> {
    let device = table.required(
        "device",
        "device = \"/dev/v4l/by-id/…\"; `afterturn cameras` lists what is plugged in",
    );
    let width = table.optional("width_px");
    let height = table.optional("height_px");
    let fps = table.optional("fps");
    not_of_this_kind(&mut table, "usb");
    table.finish();

    let device = device.and_then(|entry| device_of(&entry));
    let size = size_of(findings, width.as_ref(), height.as_ref());
    let rate = fps.as_ref().map(|entry| entry.whole_within(FPS));
    let (device, size, rate) = (device?, size?, rate.unwrap_or(Some(USUAL.fps))?);
    let wanted = Most { size, fps: rate };
    if !fits_level_4_1(wanted) {
        let fix = "write fps = 30, or a smaller size";
        let entry = fps.or(height)?;
        entry.refuse("TVs are not sure to play so many large pictures", fix);
        return None;
    }
    Some(UsbSettings { device, wanted })
}

fn device_of(entry: &Entry<'_>) -> Option<PathBuf> {
    let fix = "`afterturn cameras` lists what is plugged in, and the name to write here";
    let path = whole_path(entry, "/dev/", "`device` is a path below /dev/", fix)?;
    let number = path
        .to_str()
        .and_then(|path| path.strip_prefix("/dev/video"));
    if number.is_some_and(|n| n.bytes().all(|b| b.is_ascii_digit())) {
        entry.warn(
            "this number may belong to another camera after the next start",
            "write the lasting name that `afterturn cameras` prints",
        );
    }
    Some(path)
}

fn whole_path(entry: &Entry<'_>, below: &str, message: &str, fix: &str) -> Option<PathBuf> {
    let given = entry.text()?;
    if !given.starts_with(below) || given.len() == below.len() || given.contains('\0') {
        entry.refuse(message, fix);
        return None;
    }
    Some(Path::new(given).to_owned())
}

fn size_of(
    findings: &Findings,
    width: Option<&Entry<'_>>,
    height: Option<&Entry<'_>>,
) -> Option<Dimensions> {
    let (width, height) = match (width, height) {
        (None, None) => return Some(USUAL.size),
        (Some(width), Some(height)) => (width, height),
        (Some(alone), None) | (None, Some(alone)) => {
            findings.add(Diagnostic::mistake(
                alone.key_span.clone(),
                "`width_px` and `height_px` go together",
                "write both, or neither",
            ));
            return None;
        }
    };
    let (width_px, height_px) = (width.whole_within(WIDTH_PX), height.whole_within(HEIGHT_PX));
    Some(Dimensions::new(width_px?, height_px?))
}
