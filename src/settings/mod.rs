//! The server's settings: what the config file says, checked as a whole, with
//! every mistake reported at once at its exact place.
//!
//! Not here: the command line, the unit files (words, bands, delays of a
//! class), and anything that changes while the program runs. The environment
//! is passed in, so a test decides what it holds.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};

use afterturn_core::kernel::{AttemptS, DelayMs, StationNumber};
use toml::de::DeTable;

use crate::av::encode::Most;

mod camera;
mod clicker;
pub mod diagnostic;
pub mod https;
pub mod mask;
mod network;
pub mod reader;
mod screen;
mod secret;
pub mod sentence;
mod server;
mod station;
mod syntax;
pub mod value;

#[cfg(test)]
mod tests;

pub use clicker::{Clicker, Clickers};
pub use https::{HttpsSettings, OwnFiles};
pub use screen::ScreenSettings;
pub use secret::{CameraUrl, Credentials, Secret, UrlError};

use diagnostic::{Diagnostic, Report, Source};
use reader::Findings;

/// The port when nothing else is said.
pub const DEFAULT_PORT: u16 = 8460;

/// The largest config file that is read. A file with 99 stations and a comment
/// at every key is a tenth of this; a video opened by accident is not.
pub const MOST_FILE_BYTES: u64 = 1024 * 1024;

/// The folder of the unit files beside the config file.
const UNITS: &str = "units";

/// Looks up a variable of the environment.
pub type Environment<'e> = &'e dyn Fn(&str) -> Option<String>;

/// Everything the server is told before it starts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// Where pages are served to the box's own browser.
    pub listen: SocketAddr,
    /// How the network is served; not at all, if nothing is said.
    pub https: Option<HttpsSettings>,
    /// Where screens that take no certificate are served.
    pub plain_screens: Option<SocketAddr>,
    /// Where the program keeps what outlives it: the file's `state_dir`, else
    /// the directory the service manager made (`STATE_DIRECTORY`), else nothing
    /// is kept.
    pub state_dir: Option<PathBuf>,
    /// The folder with the unit files: the file's `units_dir`, else `units`
    /// beside the file, or in the state directory where the service manager
    /// hands the file over.
    pub units_dir: Option<PathBuf>,
    /// The folder with the teacher's own music; without one there is none.
    pub music_dir: Option<PathBuf>,
    /// What the pictures of all stations may take, in megabytes.
    pub memory_mb: u32,
    /// Whether a browser on the box itself may see every station without being
    /// let in.
    pub this_machine_watches: bool,
    /// What the keys of a screen may do, where its station says nothing else.
    pub clicker: Clicker,
    /// The encoder to use where it works; the best there is without one.
    pub encoder: Option<String>,
    /// The UDP port that publishers send to; 0 takes any free one.
    pub whip_port: u16,
    /// The stations, in the order of the file; at least one.
    pub stations: Vec<StationSettings>,
}

/// One station.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StationSettings {
    /// The number on its sign.
    pub number: StationNumber,
    /// Its title.
    pub title: String,
    /// Capture to glass.
    pub delay: DelayMs,
    /// How long an attempt lasts: what is shown again.
    pub attempt: AttemptS,
    /// How far back the ring reaches.
    pub window_ms: u32,
    /// The camera's own latency, to be taken off.
    pub latency_ms: u32,
    /// Its camera.
    pub camera: CameraSettings,
    /// Its screen.
    pub screen: ScreenSettings,
}

/// A station's camera.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum CameraSettings {
    /// One on the network, spoken to over RTSP.
    Network(NetworkSettings),
    /// One on this machine's USB.
    Usb(UsbSettings),
    /// A recording, over and over.
    File {
        /// Where it is.
        path: PathBuf,
    },
    /// Whoever publishes to the station over WHIP: a tablet, a phone.
    Whip,
    /// The built-in scene.
    Demo {
        /// Two cameras with the same seed show the same.
        seed: u64,
    },
}

/// Which USB camera, and what is wanted of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UsbSettings {
    /// Its device, below `/dev`.
    pub device: PathBuf,
    /// The size and rate to come near to.
    pub wanted: Most,
}

/// How to reach a network camera.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NetworkSettings {
    /// Its address, without name and password.
    pub url: CameraUrl,
    /// The name it asks for.
    pub user: Option<String>,
    /// The password it asks for.
    pub password: Option<Secret>,
}

/// Why a file's bytes could not be had.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// The system would not give them.
    #[error("{path}: cannot be read: {source}")]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// It is too large to be one of ours.
    #[error("{path}: too large for a config file ({MOST_FILE_BYTES} bytes at most)")]
    TooLarge {
        /// The file.
        path: PathBuf,
    },
}

/// Why a config file did not become settings.
#[derive(Debug, thiserror::Error)]
pub enum LoadError {
    /// It could not be read at all.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// It holds mistakes.
    #[error("{0}")]
    Mistakes(Report),
}

impl Settings {
    /// The stations with a camera on this machine's USB, and its device.
    #[must_use]
    pub fn usb_devices(&self) -> Vec<(StationNumber, PathBuf)> {
        let stations = self.stations.iter();
        stations
            .filter_map(|station| match &station.camera {
                CameraSettings::Usb(usb) => Some((station.number, usb.device.clone())),
                _ => None,
            })
            .collect()
    }

    /// Two stations with the built-in scene, nothing kept.
    ///
    /// # Panics
    ///
    /// Never: its numbers are constants that fit.
    #[must_use]
    pub fn demo(port: u16, seed: u64) -> Self {
        let station = |number: i64, title: &str, delay_ms: u32| StationSettings {
            number: StationNumber::try_from(number).expect("the demo's numbers are 1 and 2"),
            title: title.to_owned(),
            delay: DelayMs::new(delay_ms, station::DEFAULT_WINDOW_MS)
                .expect("the demo's delays fit the default window"),
            attempt: AttemptS::USUAL,
            window_ms: station::DEFAULT_WINDOW_MS,
            latency_ms: camera::DEMO_LATENCY_MS,
            // Neighbours that move in step would look like one camera twice.
            camera: CameraSettings::Demo {
                seed: seed.wrapping_add(number as u64 - 1),
            },
            // Nothing stands before a screen at a desk.
            screen: ScreenSettings {
                approach_cm: 300,
                ..ScreenSettings::default()
            },
        };
        Self {
            listen: SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), port),
            https: None,
            plain_screens: None,
            state_dir: None,
            units_dir: None,
            music_dir: None,
            memory_mb: server::DEFAULT_MEMORY_MB,
            this_machine_watches: true,
            // To be tried with the keyboard; no class depends on it.
            clicker: Clicker::Class,
            encoder: None,
            whip_port: 0,
            stations: vec![
                station(1, "Beam walk", 10_000),
                station(2, "Box jump", 6_000),
            ],
        }
    }

    /// Reads and checks a file. With the settings come its warnings.
    pub fn load(path: &Path, environment: Environment<'_>) -> Result<(Self, Report), LoadError> {
        let bytes = read_file(path)?;
        let (mut settings, report) =
            Self::from_bytes(&path.display().to_string(), &bytes, environment)
                .map_err(LoadError::Mistakes)?;
        if settings.units_dir.is_none() {
            settings.units_dir = settings.usual_units_dir(path, environment);
        }
        Ok((settings, report))
    }

    /// Where unit files are if nobody says: beside the config file. One that the
    /// service manager hands over as a credential has nothing beside it and
    /// nothing can be kept there; then in the state directory.
    fn usual_units_dir(&self, path: &Path, environment: Environment<'_>) -> Option<PathBuf> {
        let beside = path.parent()?;
        let handed_over = environment("CREDENTIALS_DIRECTORY");
        let handed_over = handed_over.is_some_and(|folder| Path::new(&folder) == beside);
        let folder = self.state_dir.as_deref().filter(|_| handed_over);
        Some(folder.unwrap_or(beside).join(UNITS))
    }

    /// Checks a file's bytes; `name` is how diagnostics call it. With the
    /// settings come its warnings; a report that comes alone holds at least one
    /// mistake.
    pub fn from_bytes(
        name: &str,
        bytes: &[u8],
        environment: Environment<'_>,
    ) -> Result<(Self, Report), Report> {
        let text = String::from_utf8_lossy(bytes).into_owned();
        let source = Source::new(name, text, server::KEYS);
        read_as(source, bytes, "afterturn.toml", |findings, root| {
            server::read(findings, root, environment)
        })
    }

    /// Whether a file looks like a server config at all: it holds at least one
    /// of its tables or keys, or nothing.
    #[must_use]
    pub fn recognises(bytes: &[u8]) -> bool {
        let text = String::from_utf8_lossy(bytes);
        let (root, errors) = DeTable::parse_recoverable(&text);
        let root = root.get_ref();
        (root.is_empty() && errors.is_empty())
            || unfit(bytes, &text, "").is_some()
            || root
                .keys()
                .any(|key| reader::nearest(key.get_ref(), server::TOP_KEYS).is_some())
    }
}

/// Reads a config file's bytes, up to [`MOST_FILE_BYTES`].
pub fn read_file(path: &Path) -> Result<Vec<u8>, ReadError> {
    use std::io::Read as _;
    let unreadable = |source| ReadError::Unreadable {
        path: path.to_owned(),
        source,
    };
    let mut bytes = Vec::new();
    std::fs::File::open(path)
        .and_then(|file| file.take(MOST_FILE_BYTES + 1).read_to_end(&mut bytes))
        .map_err(unreadable)?;
    if bytes.len() as u64 > MOST_FILE_BYTES {
        return Err(ReadError::TooLarge {
            path: path.to_owned(),
        });
    }
    Ok(bytes)
}

/// Reads a TOML file of one kind as a whole: `read` takes what it wants from the
/// tree and notes what is wrong. With what was read come warnings; a report that
/// comes alone holds at least one mistake. `sample` is the file to begin from.
pub fn read_as<T>(
    mut source: Source,
    bytes: &[u8],
    sample: &str,
    read: impl FnOnce(&Findings, &DeTable<'_>) -> Option<T>,
) -> Result<(T, Report), Report> {
    if let Some(unfit) = unfit(bytes, source.text(), sample) {
        return Err(Report::new(source, vec![unfit]));
    }
    let (legible, mut grammar) = syntax::legible(&source, bytes);
    let (root, _) = DeTable::parse_recoverable(&legible);
    let findings = Findings::default();
    let found = read(&findings, root.get_ref());
    let (meaning, secrets) = findings.into_parts();
    if grammar.is_empty() {
        grammar = meaning;
    } else {
        // A broken line is read as well as can be, so what its key means may
        // be wrong only because of the break; what seems absent may be in it.
        let present = meaning.into_iter().filter(|found| !found.absence);
        syntax::add_once_a_line(&mut grammar, present, &source);
    }
    source.hide(secrets);
    let report = Report::new(source, grammar);
    match found {
        Some(found) if report.mistakes() == 0 => Ok((found, report)),
        _ => Err(report),
    }
}

/// Files about which only one thing is worth saying.
fn unfit(bytes: &[u8], text: &str, sample: &str) -> Option<Diagnostic> {
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Some(Diagnostic::mistake(
            0..0,
            "the file is saved as UTF-16",
            "save it as UTF-8 in your editor",
        ));
    }
    let holds_nothing = text
        .trim_start_matches('\u{feff}')
        .lines()
        .all(|line| line.trim().is_empty());
    holds_nothing.then(|| {
        Diagnostic::mistake(
            0..0,
            "the file is empty",
            format!("copy the sample {sample} and change it"),
        )
    })
}
