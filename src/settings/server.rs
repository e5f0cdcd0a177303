//! The rules of the server's config file: its keys, their bounds, defaults and
//! what to say about each mistake. `config/afterturn.toml` documents them.
//!
//! Not here: a station ([`super::station`]) and its camera ([`super::camera`]), TOML itself, and how
//! mistakes are shown.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::ops::{Range, RangeInclusive};
use std::path::{Path, PathBuf};

use afterturn_core::kernel::StationNumber;
use toml::de::DeTable;

use super::mask::KnownKeys;
use super::reader::{Findings, Table, nearest};
use super::value::Entry;
use super::{
    CameraSettings, Clicker, DEFAULT_PORT, Environment, Settings, camera, clicker, https, station,
};
use crate::av::encode::Encoding;

/// The keys at the top of the file.
pub(super) const TOP_KEYS: [&str; 12] = [
    "listen",
    "state_dir",
    "units_dir",
    "music_dir",
    "memory_mb",
    "this_machine",
    "clicker",
    "encoder",
    "whip_port",
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
        "whip_port",
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
    let whip_port = camera::whip_port(top.optional("whip_port"));
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
            stations.extend(station::read(findings, table, &mut used, environment));
        }
        if stations.len() < count {
            return None;
        }
        let mut cameras = stations.iter().map(|station| &station.camera);
        if https.is_none() && cameras.any(|camera| *camera == CameraSettings::Whip) {
            rows.warn(
                "a browser gives its camera to no page without HTTPS, so no tablet can publish",
                "add a table [https]",
            );
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
        whip_port: whip_port?,
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
