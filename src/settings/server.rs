//! The rules of the server's config file: its keys, their bounds, defaults and
//! what to say about each mistake. `config/afterturn.toml` documents them.
//!
//! Not here: a station's camera ([`super::camera`]), TOML itself, and how
//! mistakes are shown.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::ops::{Range, RangeInclusive};
use std::path::{Path, PathBuf};

use afterturn_core::kernel::{AttemptS, DELAY_STEP_MS, DelayMs, StationNumber};
use toml::de::DeTable;

use super::diagnostic::Diagnostic;
use super::mask::KnownKeys;
use super::reader::{Findings, Table, nearest};
use super::value::Entry;
use super::{
    Clicker, DEFAULT_PORT, Environment, ScreenSettings, Settings, StationSettings, camera, clicker,
    https, screen,
};
use crate::av::encode::Encoding;

/// The keys at the top of the file.
pub(super) const TOP_KEYS: [&str; 11] = [
    "listen",
    "state_dir",
    "units_dir",
    "music_dir",
    "memory_mb",
    "this_machine",
    "clicker",
    "encoder",
    "https",
    "plain_screens",
    "station",
];

/// Which values a shown line may hold. `user`, `password_env` and `key` are
/// closed because a password or a private key ends up there by mistake.
pub(super) const KEYS: KnownKeys = KnownKeys {
    open: &[
        "listen",
        "state_dir",
        "units_dir",
        "music_dir",
        "memory_mb",
        "this_machine",
        "clicker",
        "encoder",
        "https",
        "plain_screens",
        "name",
        "certificate",
        "station",
        "number",
        "title",
        "delay_ms",
        "attempt_s",
        "window_ms",
        "camera",
        "kind",
        "url",
        "latency_ms",
        "seed",
        "path",
        "device",
        "width_px",
        "height_px",
        "fps",
        "screen",
        "diagonal_in",
        "lower_edge_cm",
        "distance_cm",
        "approach_cm",
    ],
    closed: &["user", "password", "password_env", "key"],
};

/// Eight stations of a minute and more, in half of the smallest computer worth
/// having for this.
pub(super) const DEFAULT_MEMORY_MB: u32 = 512;
/// Below, one station's shortest window does not fit; above, the number is
/// rather one of another unit.
const MEMORY_MB: RangeInclusive<u32> = 16..=65_536;
/// A window holds any delay a class is likely to want, in 15 MB a station.
pub(super) const DEFAULT_WINDOW_MS: u32 = 30_000;
/// Long enough to walk from the mat to the line and look up.
const DEFAULT_DELAY_MS: u32 = 10_000;
/// Below, a keyframe may not fit beside the reserve; above, a camera at
/// 8 Mbit/s takes more than 120 MB.
const WINDOW_MS: RangeInclusive<u32> = 4_000..=120_000;
const ATTEMPT_S: RangeInclusive<u32> = AttemptS::LEAST.get() as u32..=AttemptS::MOST.get() as u32;
/// A sign's line.
const TITLE_CHARACTERS: usize = 60;

/// Reads the whole file. `None` where something was missing or wrong; then the
/// findings say what.
pub(super) fn read(
    findings: &Findings,
    root: &DeTable<'_>,
    environment: Environment<'_>,
) -> Option<Settings> {
    let mut top = Table::new(findings, root, 0..0, "this file");
    let listen = match top.optional("listen") {
        Some(entry) => listen(&entry),
        None => Some(SocketAddr::new(
            IpAddr::V4(Ipv4Addr::LOCALHOST),
            DEFAULT_PORT,
        )),
    };
    let given_state_dir = top.optional("state_dir");
    // Looked over elsewhere than where it will run, the file may rely on it.
    let service_keeps = environment("STATE_DIRECTORY");
    let no_state = given_state_dir.is_none() && service_keeps.is_none();
    let state_dir = match given_state_dir {
        Some(entry) => whole_path(&entry, "/var/lib/afterturn"),
        None => service_keeps.and_then(|all| first_directory(&all)),
    };
    let units_dir = top.optional("units_dir");
    let units_dir = units_dir.map(|entry| whole_path(&entry, "/var/lib/afterturn/units"));
    let music_dir = top.optional("music_dir");
    let music_dir = music_dir.map(|entry| whole_path(&entry, "/srv/afterturn/music"));
    let memory_mb = match top.optional("memory_mb") {
        Some(entry) => entry.whole_within(MEMORY_MB),
        None => Some(DEFAULT_MEMORY_MB),
    };
    let this_machine_watches = match top.optional("this_machine") {
        Some(entry) => this_machine(&entry),
        None => Some(false),
    };
    let clicker = match top.optional("clicker") {
        Some(entry) => clicker::read(&entry),
        None => Some(Clicker::default()),
    };
    let encoder = match top.optional("encoder") {
        Some(entry) => encoder(&entry),
        None => Some(None),
    };
    let https = top.optional("https");
    let plain_screens = top.optional("plain_screens");
    let rows = top.required(
        "station",
        "a station: [[station]] with number = 1 and title = \"…\"",
    );
    top.finish();
    let network = https::network(findings, https.as_ref(), plain_screens.as_ref(), no_state);
    if let (Some(listen), Some(network)) = (listen, &network) {
        https::apart(listen, network, https.as_ref(), plain_screens.as_ref());
    }
    let mut used: Vec<(StationNumber, Range<usize>)> = Vec::new();
    let mut stations = Vec::new();
    if let Some(rows) = rows {
        let tables = rows.tables("this station", "[[station]]");
        let count = tables.len();
        for table in tables {
            stations.extend(station(findings, table, &mut used, environment));
        }
        if stations.len() < count {
            return None;
        }
    }
    let (https, plain_screens) = network?;
    Some(Settings {
        listen: listen?,
        https,
        plain_screens,
        state_dir,
        units_dir: units_dir.flatten(),
        music_dir: music_dir.flatten(),
        memory_mb: memory_mb?,
        this_machine_watches: this_machine_watches?,
        clicker: clicker?,
        encoder: encoder?,
        stations: Some(stations).filter(|all| !all.is_empty())?,
    })
}

fn listen(entry: &Entry<'_>) -> Option<SocketAddr> {
    let example = format!("write \"127.0.0.1:{DEFAULT_PORT}\"");
    let Ok(address) = entry.text()?.parse::<SocketAddr>() else {
        entry.refuse("this is not an address with a port", example);
        return None;
    };
    if !address.ip().is_loopback() {
        entry.refuse(
            "only this machine's own browser may be served without encryption: others on the \
             network could watch the children",
            format!("{example}, and add a table [https] for the network"),
        );
        return None;
    }
    if address.port() == 0 {
        entry.refuse("port 0 would be another port at each start", example);
        return None;
    }
    Some(address)
}

/// Whether browsers on the box itself may watch without being let in.
fn this_machine(entry: &Entry<'_>) -> Option<bool> {
    match entry.text()? {
        "sign-in" => Some(false),
        "watch" => Some(true),
        _ => {
            entry.refuse(
                "this is not something the box's own browser can be allowed",
                "write \"sign-in\" or \"watch\"",
            );
            None
        }
    }
}

fn whole_path(entry: &Entry<'_>, example: &str) -> Option<PathBuf> {
    let path = Path::new(entry.text()?);
    if !path.is_absolute() || entry.text()?.contains('\0') {
        entry.refuse(
            format!(
                "`{}` is a whole path, so that it does not depend on where the program starts",
                entry.key
            ),
            format!("begin it with /: \"{example}\""),
        );
        return None;
    }
    Some(path.to_owned())
}

/// The encoder to use, `None` inside for the best there is; the outer one is a
/// mistake.
#[expect(
    clippy::option_option,
    reason = "wrong and left to the program are different answers"
)]
fn encoder(entry: &Entry<'_>) -> Option<Option<String>> {
    const AUTO: &str = "auto";
    let given = entry.text()?;
    if given == AUTO {
        return Some(None);
    }
    if Encoding::names().any(|name| name == given) {
        return Some(Some(given.to_owned()));
    }
    let meant = nearest(given, Encoding::names().chain([AUTO]));
    let names: Vec<_> = Encoding::names()
        .map(|name| format!("\"{name}\""))
        .collect();
    let fix = meant.map_or_else(
        || format!("write \"{AUTO}\", or one of {}", names.join(", ")),
        |meant| format!("did you mean \"{meant}\"?"),
    );
    entry.refuse("there is no encoder of this name", fix);
    None
}

/// systemd names several directories with colons between.
fn first_directory(all: &str) -> Option<PathBuf> {
    all.split(':')
        .next()
        .filter(|dir| dir.starts_with('/'))
        .map(PathBuf::from)
}

fn station(
    findings: &Findings,
    mut table: Table<'_>,
    used: &mut Vec<(StationNumber, Range<usize>)>,
    environment: Environment<'_>,
) -> Option<StationSettings> {
    let number = table.required("number", "number = 1");
    let title = table.required("title", "title = \"Beam walk\"");
    let delay = table.optional("delay_ms");
    let attempt = table.optional("attempt_s");
    let window = table.optional("window_ms");
    let camera = table.required(
        "camera",
        "[station.camera] with kind = \"network\", \"usb\", \"file\" or \"demo\"",
    );
    let screen = table.optional("screen");
    table.finish();

    let number = number.and_then(|entry| number_of(findings, &entry, used));
    let title = title.and_then(|entry| title_of(&entry));
    let window_ms = match &window {
        Some(entry) => entry.whole_within(WINDOW_MS),
        None => Some(DEFAULT_WINDOW_MS),
    };
    let delay = delay_of(delay.as_ref(), window.as_ref(), window_ms);
    let attempt = match attempt {
        Some(entry) => entry
            .whole_within(ATTEMPT_S)
            .and_then(|attempt_s| AttemptS::new(attempt_s).ok()),
        None => Some(AttemptS::USUAL),
    };
    let camera = camera
        .and_then(|entry| entry.table("this camera", "[station.camera]"))
        .and_then(|table| camera::read(findings, table, environment));
    let screen = match screen {
        Some(entry) => entry
            .table("this screen", "[station.screen]")
            .and_then(screen::read),
        None => Some(ScreenSettings::default()),
    };
    let (camera, latency_ms) = camera?;
    Some(StationSettings {
        number: number?,
        title: title?,
        delay: delay?,
        attempt: attempt?,
        window_ms: window_ms?,
        latency_ms,
        camera,
        screen: screen?,
    })
}

fn number_of(
    findings: &Findings,
    entry: &Entry<'_>,
    used: &mut Vec<(StationNumber, Range<usize>)>,
) -> Option<StationNumber> {
    let number = match StationNumber::try_from(entry.whole()?) {
        Ok(number) => number,
        Err(error) => {
            entry.refuse(error.to_string(), "write the number on the station's sign");
            return None;
        }
    };
    if let Some((_, first)) = used.iter().find(|(other, _)| *other == number) {
        let free = (1..=99).find(|n| used.iter().all(|(other, _)| i64::from(other.get()) != *n));
        let free = free.map_or_else(|| "another".to_owned(), |n| n.to_string());
        findings.add(
            Diagnostic::mistake(
                entry.span.clone(),
                format!("there is a station {number} already"),
                format!("give one of them another number; {free} is free so far"),
            )
            .with_also(first.clone(), "the first is here"),
        );
        return None;
    }
    used.push((number, entry.span.clone()));
    Some(number)
}

fn title_of(entry: &Entry<'_>) -> Option<String> {
    let title = entry.text()?.trim();
    let characters = title.chars().count();
    if characters == 0 || characters > TITLE_CHARACTERS {
        entry.refuse(
            format!("a title has 1 to {TITLE_CHARACTERS} characters, not {characters}"),
            "write what the station's sign says",
        );
        return None;
    }
    if title.chars().any(char::is_control) {
        entry.refuse("a title is one line", "take line breaks and tabs out");
        return None;
    }
    Some(title.to_owned())
}

/// The delay, against its window. Where the window itself is wrong, only the
/// step is checked, against the widest window there is.
fn delay_of(
    entry: Option<&Entry<'_>>,
    window: Option<&Entry<'_>>,
    window_ms: Option<u32>,
) -> Option<DelayMs> {
    let most_ms = DelayMs::most_ms(window_ms.unwrap_or(*WINDOW_MS.end()));
    let Some(entry) = entry else {
        let delay = DelayMs::new(DEFAULT_DELAY_MS, window_ms?).ok();
        if let (None, Some(window)) = (delay, window) {
            window.refuse(
                format!("this window reaches back {most_ms} ms, less than the usual delay"),
                format!("add  delay_ms = {most_ms}  or less, or make the window longer"),
            );
        }
        return delay;
    };
    let given = entry.whole()?;
    let clamped = given.clamp(0, i64::from(most_ms)) as u32;
    let near = ((clamped + DELAY_STEP_MS / 2) / DELAY_STEP_MS * DELAY_STEP_MS).min(most_ms);
    let mut fix = format!("the nearest possible is {near}");
    if (1..=120).contains(&given) {
        fix = format!("{fix}; for {given} seconds write {}", given * 1000);
    }
    let Ok(given_ms) = u32::try_from(given) else {
        entry.refuse(
            format!("a delay goes from 0 to {most_ms} ms here, not {given}"),
            fix,
        );
        return None;
    };
    DelayMs::new(given_ms, window_ms.unwrap_or(*WINDOW_MS.end()))
        .map_err(|error| entry.refuse(error.to_string(), fix))
        .ok()
}
