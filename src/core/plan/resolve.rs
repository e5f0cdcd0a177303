//! What one grade sees of a unit, at each station.
//!
//! Not here: which grade is in the gym.

use std::collections::BTreeSet;

use serde::Serialize;

use super::grade::Grade;
use super::unit::{Amount, AskFirst, Changes, Cue, Details, Id, Level, OtherWay, Station, Unit};

/// What of the things to ask about first is allowed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Allowed(BTreeSet<AskFirst>);

impl Allowed {
    /// Nothing.
    #[must_use]
    pub fn nothing() -> Self {
        Self::default()
    }

    /// Everything.
    #[must_use]
    pub fn everything() -> Self {
        AskFirst::ALL.iter().copied().collect()
    }

    /// What is recorded in a unit.
    #[must_use]
    pub fn recorded(unit: &Unit) -> Self {
        unit.permissions.iter().map(|one| one.what).collect()
    }

    fn bars(&self, asked: Option<AskFirst>) -> Option<AskFirst> {
        asked.filter(|what| !self.0.contains(what))
    }
}

impl FromIterator<AskFirst> for Allowed {
    fn from_iter<I: IntoIterator<Item = AskFirst>>(from: I) -> Self {
        Self(from.into_iter().collect())
    }
}

/// The room as one grade finds it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Room {
    /// Which grade.
    pub grade: Grade,
    /// Its stations, in the order the groups walk.
    pub stations: Vec<StationView>,
    /// What the grade does not have, and why.
    pub left_out: Vec<LeftOut>,
}

/// One station as one grade finds it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StationView {
    /// Its id.
    pub id: Id,
    /// What it is.
    pub details: Details,
    /// What can be chosen.
    pub levels: Vec<Level>,
    /// And the same another way.
    pub other_ways: Vec<OtherWay>,
    /// What to look for.
    pub cues: Vec<Cue>,
}

/// A station, level or kit line that a grade does not have.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LeftOut {
    /// Its station.
    pub station: Id,
    /// The level or kit line; nothing for the whole station.
    pub part: Option<Id>,
    /// Why.
    pub why: Why,
}

/// Why something is left out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// It is for other grades.
    Grade,
    /// Nobody has recorded that it is allowed.
    AskFirst(AskFirst),
    /// What has to be done first is left out.
    After(Id),
    /// Nothing is left to choose from.
    NothingToDo,
}

/// What a grade sees at each station, in order. Each station of the unit is
/// either there or left out.
#[must_use]
pub fn resolve(unit: &Unit, grade: Grade, allowed: &Allowed) -> Room {
    let levels = levels_there(unit, grade, allowed);
    let mut room = Room {
        grade,
        stations: Vec::with_capacity(unit.stations.len()),
        left_out: Vec::new(),
    };
    for station in &unit.stations {
        let mut left_out = Vec::new();
        match see(station, grade, allowed, &levels, &mut left_out) {
            Ok(view) => {
                room.stations.push(view);
                room.left_out.append(&mut left_out);
            }
            Err(why) => room.left_out.push(LeftOut {
                station: station.id.clone(),
                part: None,
                why,
            }),
        }
    }
    room
}

/// Why a station as a whole is not there.
fn station_out(station: &Station, grade: Grade, allowed: &Allowed) -> Option<Why> {
    if !station.grades.contains(grade) {
        return Some(Why::Grade);
    }
    allowed.bars(station.ask_first).map(Why::AskFirst)
}

/// Why a level is not there, what has to be done first aside.
fn level_out(level: &Level, grade: Grade, allowed: &Allowed) -> Option<Why> {
    if !level.grades.contains(grade) {
        return Some(Why::Grade);
    }
    allowed.bars(level.ask_first).map(Why::AskFirst)
}

/// The levels of the whole room. One whose first step is missing goes, and so
/// may the one that follows it; a circle of levels that wait for each other
/// never gets in.
fn levels_there<'u>(unit: &'u Unit, grade: Grade, allowed: &Allowed) -> BTreeSet<&'u Id> {
    let mut waiting: Vec<&Level> = unit
        .stations
        .iter()
        .filter(|station| station_out(station, grade, allowed).is_none())
        .flat_map(|station| &station.levels)
        .filter(|level| level_out(level, grade, allowed).is_none())
        .collect();
    let mut there = BTreeSet::new();
    loop {
        let before = waiting.len();
        waiting.retain(|level| {
            let in_now = level
                .after
                .as_ref()
                .is_none_or(|first| there.contains(first));
            if in_now {
                there.insert(&level.id);
            }
            !in_now
        });
        if waiting.len() == before {
            return there;
        }
    }
}

fn see(
    station: &Station,
    grade: Grade,
    allowed: &Allowed,
    there: &BTreeSet<&Id>,
    left_out: &mut Vec<LeftOut>,
) -> Result<StationView, Why> {
    if let Some(why) = station_out(station, grade, allowed) {
        return Err(why);
    }
    let mut leave = |part: &Id, why| {
        left_out.push(LeftOut {
            station: station.id.clone(),
            part: Some(part.clone()),
            why,
        });
    };
    let mut levels = Vec::new();
    for level in &station.levels {
        match level_out(level, grade, allowed) {
            Some(why) => leave(&level.id, why),
            None if there.contains(&level.id) => levels.push(level.clone()),
            None => {
                let first = level.after.clone().unwrap_or_else(|| level.id.clone());
                leave(&level.id, Why::After(first));
            }
        }
    }
    let other_ways: Vec<OtherWay> = station
        .other_ways
        .iter()
        .filter(|way| way.grades.contains(grade))
        .cloned()
        .collect();
    if levels.is_empty() && other_ways.is_empty() {
        return Err(Why::NothingToDo);
    }
    let mut details = station.details_for(grade);
    details.kit.retain(|line| {
        let barred = allowed.bars(line.ask_first);
        if let Some(what) = barred {
            leave(&line.id, Why::AskFirst(what));
        }
        barred.is_none() && line.amount != Amount::Count(0)
    });
    let offered = |id: &Id| {
        levels.iter().any(|level| level.id == *id) || other_ways.iter().any(|way| way.id == *id)
    };
    let cues = station
        .cues
        .iter()
        .filter(|cue| cue.grades.contains(grade) && cue.of.as_ref().is_none_or(offered))
        .cloned()
        .collect();
    Ok(StationView {
        id: station.id.clone(),
        details,
        levels,
        other_ways,
        cues,
    })
}

impl StationView {
    /// The one cue that is shown: the one that was pinned, as long as the grade has
    /// it; else the first, and rather one that is for all. None on a board.
    #[must_use]
    pub fn shown_cue(&self, pinned: Option<&str>) -> Option<&Cue> {
        if self.details.board {
            return None;
        }
        let pinned = self.cues.iter().find(|cue| Some(cue.id.as_str()) == pinned);
        let for_all = || self.cues.iter().find(|cue| cue.of.is_none());
        pinned.or_else(for_all).or_else(|| self.cues.first())
    }

    /// Whether a cue would be the one that is shown if it stood first: one that
    /// belongs to a level is not, where another is for all.
    #[must_use]
    pub fn leads_if_first(&self, cue: &str) -> bool {
        let meant = self.cues.iter().find(|one| one.id.as_str() == cue);
        let nobodys = self.cues.iter().all(|one| one.of.is_some());
        meant.is_some_and(|one| one.of.is_none() || nobodys)
    }
}

impl Station {
    /// Which band has the last word on something for a grade; none where the
    /// station itself has it.
    #[must_use]
    pub fn band_that_says(&self, grade: Grade, says: impl Fn(&Changes) -> bool) -> Option<usize> {
        let mut bands = self.bands.iter();
        bands.rposition(|band| band.grades.contains(grade) && says(&band.changes))
    }

    /// What it is for a grade.
    #[must_use]
    pub fn details_for(&self, grade: Grade) -> Details {
        let mut details = self.details.clone();
        for band in &self.bands {
            if band.grades.contains(grade) {
                details.apply(&band.changes);
            }
        }
        details
    }
}
