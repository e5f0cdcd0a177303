//! The distinct ways the whole room is set up, and what has to be changed from
//! one to the next.
//!
//! A set-up is what stands in the room and what is on offer there. Words that
//! differ from grade to grade make none.
//!
//! Not here: how long a change takes, and who does it.

use serde::Serialize;

use super::grade::Grade;
use super::mark::Mark;
use super::resolve::{Allowed, Room, StationView, resolve};
use super::text::Text;
use super::unit::{Amount, Id, KitLine, Unit};

/// One way the whole room is set up.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Setup {
    /// Who finds it so, from the youngest.
    pub grades: Vec<Grade>,
    /// Its stations, in the order the groups walk.
    pub stations: Vec<StationSetup>,
}

/// What stands and is on offer at one station.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StationSetup {
    /// Its id.
    pub id: Id,
    /// Its mark.
    pub mark: Mark,
    /// What stands there.
    pub kit: Vec<KitLine>,
    /// How many can be under way at once.
    pub lanes: u8,
    /// Where a child stands to see their attempt.
    pub watch_from: Text,
    /// What travels here travels one way only.
    pub one_way: bool,
    /// How long a balance is held.
    pub hold_s: u8,
    /// An adult's hands are needed.
    pub adult_hands: bool,
    /// The levels on offer.
    pub levels: Vec<Id>,
    /// The other ways on offer.
    pub other_ways: Vec<Id>,
}

impl From<&StationView> for StationSetup {
    fn from(view: &StationView) -> Self {
        let details = &view.details;
        Self {
            id: view.id.clone(),
            mark: details.mark,
            kit: details.kit.clone(),
            lanes: details.lanes,
            watch_from: details.watch_from.clone(),
            one_way: details.one_way,
            hold_s: details.hold_s,
            adult_hands: details.adult_hands,
            levels: view.levels.iter().map(|level| level.id.clone()).collect(),
            other_ways: view.other_ways.iter().map(|way| way.id.clone()).collect(),
        }
    }
}

/// The distinct set-ups of a unit, in the order of their youngest grade. Each
/// grade of the unit has exactly one.
#[must_use]
pub fn setups(unit: &Unit, allowed: &Allowed) -> Vec<Setup> {
    let mut found: Vec<Setup> = Vec::new();
    for grade in unit.grades.iter() {
        let stations = stations_of(&resolve(unit, grade, allowed));
        // Kit that only stands in another order in the list is the same kit.
        let alike = |setup: &&mut Setup| difference(&setup.stations, &stations).is_empty();
        match found.iter_mut().find(alike) {
            Some(setup) => setup.grades.push(grade),
            None => found.push(Setup {
                grades: vec![grade],
                stations,
            }),
        }
    }
    found
}

fn stations_of(room: &Room) -> Vec<StationSetup> {
    room.stations.iter().map(StationSetup::from).collect()
}

/// What differs at one station.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Difference {
    /// Which station.
    pub station: Id,
    /// In what.
    pub changes: Vec<Change>,
}

impl Difference {
    /// Whether somebody has to lay hands on the room.
    #[must_use]
    pub fn is_rig(&self) -> bool {
        self.changes.iter().any(Change::is_rig)
    }
}

/// One thing that differs at a station.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Change {
    /// The station is put up.
    Appears,
    /// The station is taken down.
    Goes,
    /// It stands elsewhere in the order the groups walk.
    Moves,
    /// Of this there is another amount; none before, or none after, where it
    /// comes or goes.
    Kit {
        /// Which line.
        line: Id,
        /// What it is.
        item: Text,
        /// How much there was.
        from: Option<Amount>,
        /// How much there has to be.
        to: Option<Amount>,
    },
    /// A level or another way comes.
    Offered(Id),
    /// One goes.
    Withdrawn(Id),
    /// Something else differs.
    Other(Field),
}

/// What else can differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Field {
    /// Its mark.
    Mark,
    /// How many can be under way at once.
    Lanes,
    /// Where a child stands to see their attempt.
    WatchFrom,
    /// Whether things travel one way only.
    OneWay,
    /// How long a balance is held.
    Hold,
    /// Whether an adult's hands are needed.
    AdultHands,
    /// The order of what is on offer.
    Order,
}

impl Change {
    /// Whether somebody has to lay hands on the room, rather than say something
    /// else.
    #[must_use]
    pub const fn is_rig(&self) -> bool {
        match self {
            Self::Appears | Self::Goes | Self::Moves | Self::Kit { .. } => true,
            Self::Other(field) => matches!(field, Field::Mark | Field::Lanes | Field::WatchFrom),
            Self::Offered(_) | Self::Withdrawn(_) => false,
        }
    }
}

/// What has to be changed to get from one set-up to another, station by
/// station: first those that are there before, in their order, then those that
/// come. Empty exactly where nothing has to be done or said otherwise.
#[must_use]
pub fn difference(from: &[StationSetup], to: &[StationSetup]) -> Vec<Difference> {
    let there = |list: &[StationSetup], id: &Id| list.iter().position(|one| one.id == *id);
    // Places are compared among those that stay: who walks past a gap that
    // closed has not moved.
    let place = |list: &[StationSetup], other: &[StationSetup], id: &Id| {
        let stay = list.iter().filter(|one| there(other, &one.id).is_some());
        stay.map(|one| &one.id).position(|one| one == id)
    };
    let mut found = Vec::new();
    let mut note = |station: &Id, changes: Vec<Change>| {
        if !changes.is_empty() {
            let station = station.clone();
            found.push(Difference { station, changes });
        }
    };
    for before in from {
        let Some(at) = there(to, &before.id) else {
            note(&before.id, vec![Change::Goes]);
            continue;
        };
        let mut changes = between(before, &to[at]);
        if place(from, to, &before.id) != place(to, from, &before.id) {
            changes.insert(0, Change::Moves);
        }
        note(&before.id, changes);
    }
    for after in to {
        if there(from, &after.id).is_none() {
            note(&after.id, vec![Change::Appears]);
        }
    }
    found
}

fn between(before: &StationSetup, after: &StationSetup) -> Vec<Change> {
    let mut changes = kit_between(&before.kit, &after.kit);
    let offers = |one: &StationSetup| -> Vec<Id> {
        one.levels.iter().chain(&one.other_ways).cloned().collect()
    };
    let (had, has) = (offers(before), offers(after));
    let missing = |from: &[Id], to: &[Id]| -> Vec<Id> {
        from.iter().filter(|id| !to.contains(id)).cloned().collect()
    };
    let gone = missing(&had, &has);
    let come = missing(&has, &had);
    let reordered = had != has && gone.is_empty() && come.is_empty();
    changes.extend(come.into_iter().map(Change::Offered));
    changes.extend(gone.into_iter().map(Change::Withdrawn));
    let fields = [
        (before.mark != after.mark, Field::Mark),
        (before.lanes != after.lanes, Field::Lanes),
        (before.watch_from != after.watch_from, Field::WatchFrom),
        (before.one_way != after.one_way, Field::OneWay),
        (before.hold_s != after.hold_s, Field::Hold),
        (before.adult_hands != after.adult_hands, Field::AdultHands),
        (reordered, Field::Order),
    ];
    let differ = fields.into_iter().filter(|(differs, _)| *differs);
    changes.extend(differ.map(|(_, field)| Change::Other(field)));
    changes
}

fn kit_between(before: &[KitLine], after: &[KitLine]) -> Vec<Change> {
    let find = |lines: &[KitLine], id: &Id| lines.iter().find(|line| line.id == *id).cloned();
    let mut changes = Vec::new();
    for had in before {
        let has = find(after, &had.id);
        if has.as_ref() != Some(had) {
            changes.push(Change::Kit {
                line: had.id.clone(),
                item: has.as_ref().map_or(&had.item, |line| &line.item).clone(),
                from: Some(had.amount),
                to: has.map(|line| line.amount),
            });
        }
    }
    for has in after.iter().filter(|line| find(before, &line.id).is_none()) {
        changes.push(Change::Kit {
            line: has.id.clone(),
            item: has.item.clone(),
            from: None,
            to: Some(has.amount),
        });
    }
    changes
}
