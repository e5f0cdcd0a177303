//! Which cue each station's screens show: the unit's, or the one the class that
//! runs has pinned.
//!
//! Not here: who pins one, and how long it stays (the lesson).

use std::collections::BTreeMap;

use afterturn_core::{
    kernel::StationNumber,
    plan::{Cue, Id, Language, StationView, Text, Unit},
    wire::{CueChoice, InBoth, StationCues},
};

use super::{Chosen, Sheets};

/// The ids of the cues that are pinned, each by what it belongs to, as
/// [`task_id`] has it: where something else stands it says nothing.
pub type Pins = BTreeMap<String, String>;

/// What a station of a unit is known by, whatever its number is.
#[must_use]
pub fn task_id(unit: &Unit, station: &Id) -> String {
    format!("{}/{station}", unit.id)
}

/// Words in both languages, as far as the unit has them.
#[must_use]
pub fn in_both(text: &Text) -> InBoth {
    InBoth {
        en: text.get(Language::En).to_owned(),
        es: text.get(Language::Es).to_owned(),
    }
}

impl Sheets {
    /// Says which cues are pinned; every screen follows.
    pub fn set_pins(&self, pins: Pins) {
        let mut chosen = self.chosen();
        if chosen.pins == pins {
            return;
        }
        chosen.pins = pins;
        drop(chosen);
        self.tell();
    }

    /// What can be chosen from, at each station that has any cue for the grade
    /// that is shown.
    #[must_use]
    pub fn cues(&self) -> Vec<StationCues> {
        let stations = self.screens.keys();
        stations.filter_map(|at| self.cues_at(*at)).collect()
    }

    /// The same at one station.
    #[must_use]
    pub fn cues_at(&self, station: StationNumber) -> Option<StationCues> {
        let chosen = self.chosen().clone();
        let view = self.view(station, chosen.grade)?;
        if view.details.board || view.cues.is_empty() {
            return None;
        }
        let pinned = self.pinned(&chosen, &view);
        let choice = |cue: &Cue| CueChoice {
            id: cue.id.to_string(),
            text: in_both(&cue.text),
        };
        Some(StationCues {
            station: station.get(),
            cues: view.cues.iter().map(choice).collect(),
            planned: view.shown_cue(None).map(|cue| cue.id.to_string()),
            // One that this grade does not have is not shown either.
            pinned: pinned.filter(|id| view.cues.iter().any(|cue| cue.id.as_str() == id)),
        })
    }

    /// The id of the cue that is pinned at a station, if it is one of what stands
    /// there.
    pub(super) fn pinned(&self, chosen: &Chosen, view: &StationView) -> Option<String> {
        let copy = self.unit()?;
        let of = task_id(copy.unit.as_ref()?, &view.id);
        chosen.pins.get(&of).cloned()
    }
}
