//! What is written down: the class that runs, and what is remembered of classes
//! from one lesson to the next.
//!
//! Groups that are not to be shown stand here as bare numbers, and classes of the
//! list as bare ids, since a class has to be able to start while everything with
//! names is locked.
//!
//! Not here: writing.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use afterturn_core::{
    consent::Grouping,
    kernel::{CaptureUs, ChildId, ClassId, StationNumber},
    rotation::{
        Accident, Change, Circuit, Clicks, Clock, Days, GroupNumber, Press, Readings, Rig,
        StationPlan, Times, Tuning,
    },
};
use serde::{Deserialize, Serialize};

use super::{list::TeachersWord, today::Wishes};

/// Notes of accidents that are kept; by then the district has them.
const MOST_ACCIDENTS: usize = 20;
/// Starts that are remembered: some days of them.
const MOST_STARTS: usize = 50;
/// Classes that are remembered; a school has fewer.
const MOST_CLASSES: usize = 60;

/// The class that runs, as its file has it.
#[derive(Debug, Default, Serialize, Deserialize)]
pub(super) struct Journal {
    pub(super) class: Option<Running>,
}

/// A class that runs.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(super) struct Running {
    pub(super) title: String,
    /// In years after kindergarten.
    #[serde(default)]
    pub(super) grade: Option<u8>,
    pub(super) clock: Clock,
    /// Stations that are done on the floor.
    pub(super) floor: BTreeSet<StationNumber>,
    pub(super) children: u16,
    pub(super) demo: bool,
    /// What was pressed at screens.
    #[serde(default)]
    pub(super) clicks: Clicks,
    /// What was set for it.
    #[serde(default)]
    pub(super) today: Wishes,
    /// Which class of the list it is, by its bare id.
    #[serde(default)]
    pub(super) listed: Option<i64>,
    /// In which groups each child was by the list while it ran.
    #[serde(default)]
    pub(super) grouping: Option<KeptGrouping>,
    /// Who is not shown, where the list cannot tell and the teacher has said so.
    #[serde(default)]
    pub(super) word: Option<TeachersWord>,
    /// When she said so last.
    #[serde(default)]
    pub(super) word_at: Option<CaptureUs>,
    /// All clocks when it was written down.
    pub(super) read: Readings,
}

/// A grouping by bare ids.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(super) struct KeptGrouping {
    groups: Option<u8>,
    children: BTreeMap<i64, BTreeSet<u8>>,
}

impl KeptGrouping {
    pub(super) fn write(grouping: Grouping) -> Self {
        let children = grouping.children.into_iter();
        Self {
            groups: grouping.groups,
            children: children
                .map(|(child, groups)| (child.get(), groups))
                .collect(),
        }
    }

    pub(super) fn read(&self) -> Grouping {
        let children = self.children.iter();
        let child = |(id, groups): (&i64, &BTreeSet<u8>)| (ChildId::from_kept(*id), groups.clone());
        Grouping {
            groups: self.groups,
            children: children.map(child).collect(),
        }
    }
}

impl Running {
    /// Which class of the list it is.
    pub(super) fn listed(&self) -> Option<ClassId> {
        self.listed.map(ClassId::from_kept)
    }

    /// The list has its class in these groups now; says whether that is new.
    pub(super) fn grouped(&mut self, now: Grouping) -> bool {
        let mut so_far = self
            .grouping
            .as_ref()
            .map_or_else(Grouping::default, KeptGrouping::read);
        let new = so_far.add(now);
        if new {
            self.grouping = Some(KeptGrouping::write(so_far));
        }
        new
    }

    /// How many groups it is in.
    pub(super) fn groups(&self) -> u8 {
        self.clock.plan().sizes().len() as u8
    }

    pub(super) fn read_at(&self, now: Readings) -> Self {
        Self {
            read: now,
            ..self.clone()
        }
    }

    /// The program was away for so long.
    pub(super) fn went_on(&mut self, away_us: i64, now: &Readings) {
        let would_be = self.read.capture.offset(away_us);
        self.clock
            .carry_over(now.capture.since(would_be), now.capture);
    }

    /// For how long after it was written down the box was heard of.
    pub(super) fn known_us(&self, heard_of: Option<CaptureUs>) -> i64 {
        heard_of.map_or(0, |at| at.since(self.read.capture).max(0))
    }

    pub(super) fn end(&mut self, now: &Readings) {
        let wall_ms = now.wall_us / 1000;
        // Over already, if it cannot be ended.
        let _ = self.clock.press("", Press::End, None, now.capture, wall_ms);
    }
}

/// See the module.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub(super) struct Book {
    pub(super) classes: Vec<Known>,
    days: Days,
    rig: Rig,
    /// For which grade each station was set up, where that is known.
    #[serde(default)]
    rigged_for: BTreeMap<StationNumber, u8>,
    pub(super) accidents: Vec<Accident>,
    /// The ids of the last starts: one that is sent again after its class is
    /// over must not switch the cameras on.
    #[serde(default)]
    starts: VecDeque<String>,
    /// Delays that the box itself keeps, where no unit does.
    #[serde(default)]
    delays: BTreeMap<StationNumber, KeptDelay>,
}

/// A delay that holds for every class.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
struct KeptDelay {
    /// What the config file said then: if it says something else, that is meant.
    file_ms: u32,
    delay_ms: u32,
}

/// A class that was here.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(super) struct Known {
    pub(super) title: String,
    /// In years after kindergarten.
    #[serde(default)]
    pub(super) grade: Option<u8>,
    pub(super) children: u16,
    pub(super) groups: u8,
    pub(super) not_shown: Option<BTreeSet<GroupNumber>>,
    /// It was the teacher who said so, on a box whose list is empty.
    #[serde(default)]
    pub(super) teachers_word: bool,
    /// Which class of the list it is, by its bare id.
    #[serde(default)]
    pub(super) listed: Option<i64>,
    /// What is left of its circuit.
    pub(super) circuit: Option<Circuit>,
    pub(super) times: Times,
    /// What it has otherwise than planned.
    #[serde(default)]
    pub(super) tuning: Tuning,
}

impl Book {
    pub(super) fn known(&self, title: &str) -> Option<&Known> {
        self.classes.iter().find(|known| known.title == title)
    }

    pub(super) fn known_mut(&mut self, title: &str) -> Option<&mut Known> {
        self.classes.iter_mut().find(|known| known.title == title)
    }

    /// The delay that the box keeps for a station whose config file says this.
    pub(super) fn delay_kept(&self, station: StationNumber, file_ms: u32) -> Option<u32> {
        let kept = self.delays.get(&station)?;
        (kept.file_ms == file_ms).then_some(kept.delay_ms)
    }

    pub(super) fn keep_delay(&mut self, station: StationNumber, file_ms: u32, delay_ms: u32) {
        let kept = KeptDelay { file_ms, delay_ms };
        self.delays.insert(station, kept);
    }

    /// What has to be set up anew for these stations.
    pub(super) fn changes(&self, stations: &[StationPlan]) -> Vec<Change> {
        afterturn_core::rotation::changes(&self.rig, stations)
    }

    /// Whether a station stands as a younger grade had it.
    pub(super) fn is_easier(&self, station: StationNumber, grade: Option<u8>) -> bool {
        let stands = self.rigged_for.get(&station);
        stands.zip(grade).is_some_and(|(was, is)| *was < is)
    }

    /// The classes, the likeliest first.
    pub(super) fn order(&self, wall_us: u64) -> Vec<&Known> {
        let titles: Vec<&str> = self.classes.iter().map(|c| c.title.as_str()).collect();
        let order = self.days.order(&titles, wall_us);
        order
            .into_iter()
            .filter_map(|title| self.known(title))
            .collect()
    }

    pub(super) fn has_started(&self, id: &str) -> bool {
        self.starts.iter().any(|earlier| earlier == id)
    }

    /// A class has started.
    pub(super) fn started(
        &mut self,
        id: &str,
        mut known: Known,
        unchanged: &BTreeSet<StationNumber>,
        stations: &[StationPlan],
        wall_us: u64,
    ) {
        self.starts.push_back(id.to_owned());
        if self.starts.len() > MOST_STARTS {
            self.starts.pop_front();
        }
        self.days.started(&known.title, wall_us);
        self.rig.set_up(stations, unchanged);
        for station in stations.iter().filter(|s| !unchanged.contains(&s.number)) {
            match known.grade {
                Some(grade) => self.rigged_for.insert(station.number, grade),
                None => self.rigged_for.remove(&station.number),
            };
        }
        // It takes along what it has otherwise.
        if let Some(old) = self.known_mut(&known.title) {
            known.tuning = std::mem::take(&mut old.tuning);
        }
        self.classes.retain(|old| old.title != known.title);
        self.classes.push(known);
        if self.classes.len() > MOST_CLASSES {
            self.classes.remove(0);
        }
    }

    /// A class is over.
    pub(super) fn ended(&mut self, class: &Running, now: CaptureUs) {
        if let Some(known) = self.known_mut(&class.title) {
            known.circuit = class.clock.unfinished(now);
        }
        let newest = class.clock.accidents().iter().rev().cloned();
        self.accidents.splice(0..0, newest);
        self.accidents.truncate(MOST_ACCIDENTS);
    }
}
