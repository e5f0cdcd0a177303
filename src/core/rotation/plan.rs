//! What a class sets out to do.
//!
//! Groups walk round a ring of places. At turn *r* the group that began at place
//! *p* stands at place (*p* + *r*) mod *n*: a cyclic Latin square, so nobody
//! stands anywhere twice before all places were visited, and where no two began
//! at one place no two ever meet.
//!
//! - As many groups as open stations: each place is a station.
//! - Fewer groups: some stations stand free at each turn, and there are as many
//!   turns as stations.
//! - More groups: places to rest are put in between, so that nobody shares; or,
//!   where that was told, groups share.
//! - A station that is closed in mid-class keeps its place, and whoever comes to
//!   it rests. Nothing is gained by closing the ring: a group that was there has
//!   as many stations before it as there were turns left.
//!
//! Not here: the time that passes.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::groups::{GroupNumber, MOST_CHILDREN, MOST_GROUPS, spread};
use super::history::Stand;
use crate::kernel::StationNumber;

/// How long each part of a class takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
pub struct Times {
    /// Before anything else.
    pub warm_up_s: u32,
    /// The stations are explained.
    pub briefing_s: u32,
    /// At each station, the last turn included.
    pub work_s: u32,
    /// The end of that: finish, no new starts.
    pub last_turn_s: u32,
    /// Stand at your sign; the station is put right.
    pub gather_s: u32,
    /// To the next station.
    pub walk_s: u32,
    /// Stretching at the end.
    pub closing_s: u32,
}

impl Times {
    /// What a teacher who has set nothing gets: four minutes a station, half a
    /// minute to change. Common practice, no source.
    pub const USUAL: Self = Self {
        warm_up_s: 240,
        briefing_s: 120,
        work_s: 240,
        last_turn_s: 20,
        gather_s: 10,
        walk_s: 20,
        closing_s: 120,
    };

    /// From one station's work to the next one's.
    #[must_use]
    pub const fn change_s(&self) -> u32 {
        self.gather_s + self.walk_s
    }

    /// What so many turns take: n·T + (n−1)·(gather + walk).
    #[must_use]
    pub const fn circuit_s(&self, turns: u32) -> u32 {
        turns * self.work_s + turns.saturating_sub(1) * self.change_s()
    }

    /// What is no circuit: warm-up, briefing, closing stretch.
    #[must_use]
    pub const fn around_s(&self) -> u32 {
        self.warm_up_s + self.briefing_s + self.closing_s
    }

    /// The whole lesson.
    #[must_use]
    pub const fn lesson_s(&self, turns: u32) -> u32 {
        self.around_s() + self.circuit_s(turns)
    }

    /// The same with the work that makes so many turns fill a lesson; nothing
    /// where less than the last turn would be left of it.
    #[must_use]
    pub fn filling(self, lesson_s: u32, turns: u32) -> Option<Self> {
        let changes_s = turns.checked_sub(1)? * self.change_s();
        let left_s = lesson_s.checked_sub(self.around_s() + changes_s)?;
        let work_s = left_s / turns;
        (work_s > self.last_turn_s).then_some(Self { work_s, ..self })
    }

    fn fault(&self) -> Option<PlanError> {
        const MOST_S: u32 = 3 * 3600;
        let all = [
            self.warm_up_s,
            self.briefing_s,
            self.work_s,
            self.last_turn_s,
            self.gather_s,
            self.walk_s,
            self.closing_s,
        ];
        let fits = all.iter().all(|part_s| *part_s <= MOST_S);
        let works = self.work_s > 0 && self.last_turn_s <= self.work_s;
        (!fits || !works).then_some(PlanError::Times)
    }
}

/// What more groups than stations do.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum Crowd {
    /// Some rest at each turn.
    #[default]
    Rest,
    /// Some share a station.
    Share,
}

/// What a station needs of adults.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum Hands {
    /// Nothing.
    #[default]
    None,
    /// Without somebody to spot it is closed.
    Close,
    /// Without somebody to spot it is done on the floor.
    Floor,
}

/// A station as a class finds it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StationPlan {
    /// The number on its sign.
    pub number: StationNumber,
    /// How it is set up for this class.
    pub setup: String,
    /// Children work two and two.
    pub in_pairs: bool,
    /// Whether somebody has to spot.
    pub hands: Hands,
}

/// A place of the ring.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// A station.
    Station(StationNumber),
    /// Where a group rests.
    Rest,
}

/// Why a class cannot be planned like this.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PlanError {
    /// Nowhere to go.
    #[error("every station is closed; open one")]
    NoStation,
    /// Nobody to go.
    #[error("a class has 1 to {MOST_CHILDREN} children")]
    Children,
    /// Too few or too many groups.
    #[error("a class has 1 to {MOST_GROUPS} groups")]
    Groups,
    /// The times make no class.
    #[error("work has to last longer than its last turn, and nothing longer than three hours")]
    Times,
}

/// The part of a plan that is the same in the next lesson.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Circuit {
    places: Vec<Place>,
    /// The place where each group began.
    starts: Vec<u8>,
    /// The turn that is next.
    pub next_turn: u16,
}

impl Circuit {
    /// How many groups go round.
    #[must_use]
    pub fn groups(&self) -> u8 {
        self.starts.len() as u8
    }

    /// How many turns it has altogether.
    #[must_use]
    pub fn turns(&self) -> u16 {
        self.places.len() as u16
    }
}

/// See the module.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Plan {
    circuit: Circuit,
    /// The children of each group.
    sizes: Vec<u16>,
    stations: Vec<StationPlan>,
    /// How long each part takes.
    pub times: Times,
}

impl Plan {
    /// A whole circuit over stations in walking order, of which some are closed.
    pub fn new(
        stations: Vec<StationPlan>,
        closed: &BTreeSet<StationNumber>,
        children: u16,
        groups: u8,
        crowd: Crowd,
        times: Times,
    ) -> Result<Self, PlanError> {
        if !(1..=MOST_GROUPS).contains(&groups) {
            return Err(PlanError::Groups);
        }
        let open = stations.iter().filter(|s| !closed.contains(&s.number));
        let open = open.count();
        if open == 0 {
            return Err(PlanError::NoStation);
        }
        let places = places(&stations, closed, usize::from(groups), crowd);
        let starts = (0..groups).map(|group| group % places.len() as u8);
        let circuit = Circuit {
            starts: starts.collect(),
            places,
            next_turn: 0,
        };
        Self::going_on(circuit, stations, children, times)
    }

    /// What is left of a circuit, with the same groups. A station that is no
    /// more is one that is closed.
    pub fn going_on(
        circuit: Circuit,
        stations: Vec<StationPlan>,
        children: u16,
        times: Times,
    ) -> Result<Self, PlanError> {
        if !(1..=MOST_CHILDREN).contains(&children) {
            return Err(PlanError::Children);
        }
        if let Some(fault) = times.fault() {
            return Err(fault);
        }
        let in_pairs = stations.iter().any(|s| s.in_pairs);
        Ok(Self {
            sizes: spread(children, circuit.groups(), in_pairs),
            circuit,
            stations,
            times,
        })
    }

    /// The stations, in walking order.
    #[must_use]
    pub fn stations(&self) -> &[StationPlan] {
        &self.stations
    }

    /// One of them.
    #[must_use]
    pub fn station(&self, number: StationNumber) -> Option<&StationPlan> {
        self.stations.iter().find(|s| s.number == number)
    }

    /// Whether groups come to a station in this circuit at all.
    #[must_use]
    pub fn has_place(&self, number: StationNumber) -> bool {
        self.circuit.places.contains(&Place::Station(number))
    }

    /// The children of each group.
    #[must_use]
    pub fn sizes(&self) -> &[u16] {
        &self.sizes
    }

    /// Every group, an empty one too.
    pub fn groups(&self) -> impl Iterator<Item = GroupNumber> + use<> {
        (0..self.sizes.len()).map(GroupNumber::at)
    }

    /// How many turns the circuit has, those of earlier lessons included.
    #[must_use]
    pub fn turns(&self) -> u16 {
        self.circuit.turns()
    }

    /// The turn it begins with today.
    #[must_use]
    pub const fn first_turn(&self) -> u16 {
        self.circuit.next_turn
    }

    /// What is left when this turn is the next; nothing once all are done.
    #[must_use]
    pub fn left(&self, next_turn: u16) -> Option<Circuit> {
        let mut circuit = self.circuit.clone();
        circuit.next_turn = next_turn;
        (next_turn < self.turns()).then_some(circuit)
    }

    /// Where a group stands at a turn, and whether it works there. One without
    /// children has its place too: the head count may be wrong.
    #[must_use]
    pub fn stand(&self, group: GroupNumber, turn: u16, closed: &BTreeSet<StationNumber>) -> Stand {
        let size = self.sizes[group.index()];
        let start = usize::from(self.circuit.starts[group.index()]);
        let places = &self.circuit.places;
        match places[(start + usize::from(turn)) % places.len()] {
            Place::Station(number) => {
                let station = self.station(number).filter(|_| !closed.contains(&number));
                let alone = size == 1 && !self.shares(group);
                Stand {
                    at: Some(number),
                    works: station.is_some_and(|s| !(s.in_pairs && alone)),
                }
            }
            Place::Rest => Stand::NOWHERE,
        }
    }

    /// Whether other children stand where this group does.
    fn shares(&self, group: GroupNumber) -> bool {
        let starts = &self.circuit.starts;
        let own = starts[group.index()];
        let others = starts.iter().zip(&self.sizes).enumerate();
        others
            .filter(|(other, _)| *other != group.index())
            .any(|(_, (start, size))| *start == own && *size > 0)
    }
}

/// The ring: open stations in walking order. Where more rest than that, closed
/// stations keep their places, so that they can be opened again, and further
/// places to rest are put evenly between.
fn places(
    stations: &[StationPlan],
    closed: &BTreeSet<StationNumber>,
    groups: usize,
    crowd: Crowd,
) -> Vec<Place> {
    let is_open = |s: &&StationPlan| !closed.contains(&s.number);
    let open = stations.iter().filter(is_open).count();
    let mut resting = match crowd {
        Crowd::Rest => groups.saturating_sub(open),
        Crowd::Share => 0,
    };
    let mut ring = Vec::with_capacity(open + resting);
    for station in stations {
        if is_open(&station) {
            ring.push(Place::Station(station.number));
        } else if resting > 0 {
            resting -= 1;
            ring.push(Place::Station(station.number));
        }
    }
    let all = ring.len() + resting;
    let mut walking = ring.into_iter();
    (0..all)
        .filter_map(|i| {
            let rests = (i + 1) * resting / all > i * resting / all;
            if rests {
                Some(Place::Rest)
            } else {
                walking.next()
            }
        })
        .collect()
}
