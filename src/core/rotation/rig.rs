//! How the stations were set up for the last class, and what the next one needs
//! changed.
//!
//! Not here: what a set-up is. It is a short text that a unit file gives.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::plan::{Hands, StationPlan};
use crate::kernel::StationNumber;

/// How each station stands set up.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Rig(BTreeMap<StationNumber, String>);

/// A station that has to be set up anew.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// Which.
    pub station: StationNumber,
    /// As it stands; nothing where nobody knows.
    pub from: Option<String>,
    /// As it is wanted.
    pub to: String,
}

impl Rig {
    /// A class began: what was changed stands as it wanted it. A station that
    /// was not is left as it was.
    pub fn set_up(&mut self, stations: &[StationPlan], unchanged: &BTreeSet<StationNumber>) {
        for station in stations {
            if !unchanged.contains(&station.number) {
                self.0.insert(station.number, station.setup.clone());
            }
        }
    }
}

/// What must differ from the rig, in walking order. The first class of all finds
/// everything as its teacher has just built it.
#[must_use]
pub fn changes(rig: &Rig, stations: &[StationPlan]) -> Vec<Change> {
    if rig.0.is_empty() {
        return Vec::new();
    }
    let differs = |s: &&StationPlan| rig.0.get(&s.number) != Some(&s.setup);
    let change = |s: &StationPlan| Change {
        station: s.number,
        from: rig.0.get(&s.number).cloned(),
        to: s.setup.clone(),
    };
    stations.iter().filter(differs).map(change).collect()
}

/// What starts closed: changes nobody has ticked, and without somebody to spot
/// whatever needs one.
#[must_use]
pub fn starts_closed(
    changes: &[Change],
    ticked: &BTreeSet<StationNumber>,
    stations: &[StationPlan],
    no_spotter: bool,
) -> BTreeSet<StationNumber> {
    let unticked = changes.iter().map(|change| change.station);
    let unticked = unticked.filter(|station| !ticked.contains(station));
    let needs = stations
        .iter()
        .filter(|s| no_spotter && s.hands == Hands::Close);
    unticked.chain(needs.map(|s| s.number)).collect()
}

/// What is done on the floor today.
#[must_use]
pub fn on_the_floor(stations: &[StationPlan], no_spotter: bool) -> BTreeSet<StationNumber> {
    let floored = stations
        .iter()
        .filter(|s| no_spotter && s.hands == Hands::Floor);
    floored.map(|s| s.number).collect()
}
