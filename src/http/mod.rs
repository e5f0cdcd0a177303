//! Routes, sockets and pages. Holds no rule of its own: it asks the station,
//! the door and the core, and turns their answers into HTTP.
//!
//! - `serve`: listening, and the check that every request passes first; `tls`
//!   and `places`: the handshake, and how many connections there may be;
//!   `patience`: how long one may take nothing; `refused`: what the log says of
//!   those turned away.
//! - `entrance`: the door, with the world it needs; `doors`: its pages.
//! - `routes`: which path leads where; `paths`: which there are; `bodies`: whose
//!   are read.
//! - `api`, `class`, `units`, `pictures`, `sound`, `pages`, `socket`, `hall`,
//!   `assets`, `cameras`, `still`, `whip`, `trust`: the handlers; `roster`: the
//!   pages of the vault.
//! - `problem`: the one mapping from errors to HTTP.
//!
//! warp is known in this room only. Handlers answer errors as replies, never
//! as rejections: those fall through to later routes and come back as another
//! status.

mod api;
mod asked;
mod assets;
mod bodies;
mod bundle;
mod cameras;
mod class;
mod doors;
mod entrance;
mod hall;
mod pages;
mod paths;
mod patience;
mod pictures;
mod places;
mod problem;
mod qr;
mod refused;
mod roster;
mod routes;
mod serve;
mod socket;
mod sound;
mod still;
mod tls;
mod trust;
mod units;
mod whip;
mod words;

use std::{
    collections::{BTreeMap, BTreeSet},
    hash::{DefaultHasher, Hash, Hasher},
    path::PathBuf,
    sync::{Arc, LazyLock},
};

use afterturn_core::kernel::StationNumber;
use tokio::sync::watch;

use crate::av::whip::Publishing;
use crate::host::parts::Failures;
use crate::lesson::Lesson;
use crate::settings::Clickers;
use crate::sound::{Kept, Sound};
use crate::station::Station;
use crate::units::{Sheets, Shelf};

pub use cameras::Plugged;
pub use entrance::{Entrance, ThisMachine};
pub use problem::{Kind, Problem};
pub use qr::qr_svg;
pub use roster::{TodayFn, Vault};
pub use routes::routes;
pub use serve::{Listening, listen, listen_plain_screens, listen_secure};
pub use sound::NAMES_FILES;
pub use tls::Shown;
pub use whip::cut_leavers;

/// This build: the version, and a mark of everything a page is made of, so that
/// a page from before an update knows itself to be old.
pub(crate) static BUILD: LazyLock<String> = LazyLock::new(|| {
    let mut hasher = DefaultHasher::new();
    assets::marks().hash(&mut hasher);
    format!(
        "{}-{:08x}",
        env!("CARGO_PKG_VERSION"),
        hasher.finish() as u32
    )
});

/// What the handlers work on.
#[derive(Clone)]
pub struct App {
    stations: Arc<[Arc<Station>]>,
    lesson: Arc<Lesson>,
    entrance: Arc<Entrance>,
    plugged: Arc<dyn Plugged>,
    /// Which stations have a camera on this machine's USB, and its device.
    usb: Arc<[(StationNumber, PathBuf)]>,
    sheets: Arc<Sheets>,
    units: Arc<Shelf>,
    clickers: Arc<Clickers>,
    sound: Arc<Sound>,
    demo: bool,
    stop: watch::Receiver<bool>,
    network: Option<Network>,
    whip: Option<whip::Whip>,
    vault: Option<Vault>,
    /// What all bodies that are on their way may take.
    room: bodies::Room,
    failures: Arc<Failures>,
}

/// What the box is on the network.
#[derive(Clone)]
struct Network {
    shown: watch::Receiver<Arc<Shown>>,
    port: u16,
}

impl App {
    /// An app over the stations of a circuit, in its order; its sockets close
    /// when `stop` turns true.
    #[must_use]
    pub fn new(
        stations: Vec<Arc<Station>>,
        lesson: Arc<Lesson>,
        entrance: Arc<Entrance>,
        demo: bool,
        stop: watch::Receiver<bool>,
    ) -> Self {
        Self {
            stations: stations.into(),
            lesson,
            entrance,
            plugged: Arc::new(cameras::ThisMachine),
            usb: Arc::default(),
            sheets: Arc::new(Sheets::new(BTreeMap::new())),
            units: Arc::new(Shelf::in_memory()),
            clickers: Arc::default(),
            sound: Sound::open(None, Kept::default()),
            demo,
            stop,
            network: None,
            whip: None,
            vault: None,
            room: bodies::Room::default(),
            failures: Arc::default(),
        }
    }

    /// The same with what is known of parts that failed.
    #[must_use]
    pub fn with_failures(self, failures: Arc<Failures>) -> Self {
        Self { failures, ..self }
    }

    /// The same with a vault.
    #[must_use]
    pub fn with_vault(mut self, vault: Vault) -> Self {
        self.vault = Some(vault);
        self
    }

    /// The same, with other cameras than those of this machine plugged in.
    #[must_use]
    pub fn with_plugged(self, plugged: Arc<dyn Plugged>) -> Self {
        Self { plugged, ..self }
    }

    /// The same with stations that have cameras on this machine's USB.
    #[must_use]
    pub fn with_usb(self, usb: Vec<(StationNumber, PathBuf)>) -> Self {
        let usb = usb.into();
        Self { usb, ..self }
    }

    /// The same with something to show beside the pictures.
    #[must_use]
    pub fn with_sheets(self, sheets: Arc<Sheets>) -> Self {
        Self { sheets, ..self }
    }

    /// The same with unit files.
    #[must_use]
    pub fn with_units(self, units: Arc<Shelf>) -> Self {
        Self { units, ..self }
    }

    /// The same with what the keys of each screen may do.
    #[must_use]
    pub fn with_clickers(self, clickers: Clickers) -> Self {
        let clickers = Arc::new(clickers);
        Self { clickers, ..self }
    }

    /// The same with something to hear.
    #[must_use]
    pub fn with_sound(self, sound: Arc<Sound>) -> Self {
        Self { sound, ..self }
    }

    /// The same on the network: what is shown of it, and its port.
    #[must_use]
    pub fn on_network(mut self, shown: watch::Receiver<Arc<Shown>>, port: u16) -> Self {
        self.network = Some(Network { shown, port });
        self
    }

    /// The same with publishers, who may be the cameras of these stations.
    #[must_use]
    pub fn with_publishing(
        mut self,
        publishing: impl Into<Option<Publishing>>,
        stations: BTreeSet<StationNumber>,
    ) -> Self {
        let publishing = publishing.into();
        self.whip = publishing.map(|publishing| whip::Whip::new(publishing, stations));
        self
    }

    fn has_station(&self, number: StationNumber) -> bool {
        let mut stations = self.stations.iter();
        stations.any(|station| station.config().number == number)
    }

    /// The station a path names.
    fn station(&self, number: &str) -> Result<&Arc<Station>, Problem> {
        let number: StationNumber = number
            .parse()
            .map_err(|_| Problem::new(Kind::NotFound, "a station has a number from 1 to 99"))?;
        let mut stations = self.stations.iter();
        stations
            .find(|station| station.config().number == number)
            .ok_or_else(|| Problem::no_station(number))
    }
}

#[cfg(test)]
mod tests;
