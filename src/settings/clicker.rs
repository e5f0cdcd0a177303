//! The rule of `clicker` in the server's config file: what a clicker, or a
//! keyboard's keys, may do at a screen.
//!
//! Not here: which keys those are (the page knows), and what of it counts while a
//! class runs (`core/rotation/clicker`).

use std::collections::BTreeMap;

use afterturn_core::kernel::StationNumber;

use super::Settings;
use super::value::Entry;

/// What the keys of a screen may do.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Clicker {
    /// Nothing.
    Off,
    /// Ask for the last attempt once more. What it shows was shown before, and it
    /// moves no class: so much anybody may who can reach the screen.
    #[default]
    Again,
    /// That, and the class: next, freeze.
    Class,
}

impl Clicker {
    /// Whether somebody at the screen may ask for the last attempt once more.
    #[must_use]
    pub const fn asks_again(self) -> bool {
        matches!(self, Self::Again | Self::Class)
    }

    /// Whether somebody at the screen may move the class.
    #[must_use]
    pub const fn moves_class(self) -> bool {
        matches!(self, Self::Class)
    }
}

/// What the keys of each screen may do.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Clickers {
    /// Where nothing else is said, and at a board of the hall.
    pub all: Clicker,
    /// At these stations.
    pub own: BTreeMap<StationNumber, Clicker>,
}

impl Clickers {
    /// At a station's screen, or at a board of the hall.
    #[must_use]
    pub fn at(&self, station: Option<StationNumber>) -> Clicker {
        let own = station.and_then(|number| self.own.get(&number));
        own.copied().unwrap_or(self.all)
    }
}

impl Settings {
    /// What the keys of each screen may do.
    #[must_use]
    pub fn clickers(&self) -> Clickers {
        let own = |s: &super::StationSettings| Some((s.number, s.screen.clicker?));
        Clickers {
            all: self.clicker,
            own: self.stations.iter().filter_map(own).collect(),
        }
    }
}

/// Reads one.
pub(super) fn read(entry: &Entry<'_>) -> Option<Clicker> {
    match entry.text()? {
        "off" => Some(Clicker::Off),
        "again" => Some(Clicker::Again),
        "class" => Some(Clicker::Class),
        _ => {
            entry.refuse(
                "this is not something the keys of a screen can do",
                "write \"off\", \"again\" or \"class\"",
            );
            None
        }
    }
}
