//! Which sheet each screen shows: the words of the unit, for the grade that was
//! chosen, in the screen's language, with letters as large as the screen needs.
//!
//! The choice is kept in memory and ends with the program. Not here: the unit
//! itself, or what the page makes of a sheet.

use std::{
    collections::BTreeMap,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use afterturn_core::{
    kernel::StationNumber,
    plan::lettering::{Screen, cue_fits},
    wire::{
        Applies, Language, LetterSizes, Look, Sheet, Showing, ShowingPatch, StationLanguage, Task,
        Turn, View, ViewChoice,
    },
};
use tokio::sync::watch;

/// The highest grade of an elementary school; kindergarten is 0.
const MOST_GRADE: u8 = 5;
/// From this grade on most children read a few words at a glance (common
/// practice, no source).
const READS_FROM: u8 = 3;

/// The words of a station for a grade, in a language.
pub type TaskFn = Arc<dyn Fn(StationNumber, u8, Language) -> Option<Task> + Send + Sync>;

/// Why a choice was not taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ShowingError {
    /// No class has this grade.
    #[error("a grade goes from 0, kindergarten, to {MOST_GRADE}, not {0}")]
    Grade(u8),
    /// It names a station there is not.
    #[error("there is no station {0}")]
    Station(u8),
}

/// See the module.
pub struct Sheets {
    screens: BTreeMap<StationNumber, Screen>,
    task: TaskFn,
    chosen: Mutex<Chosen>,
    changed: watch::Sender<()>,
}

#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Chosen {
    grade: Option<u8>,
    choice: ViewChoice,
    look: Look,
    languages: BTreeMap<StationNumber, Language>,
    turn: Option<Turn>,
}

impl Chosen {
    const fn view(&self) -> View {
        match (self.choice, self.grade) {
            (ViewChoice::Picture, _) => View::Picture,
            (ViewChoice::ByGrade, Some(grade)) if grade < READS_FROM => View::Picture,
            _ => View::Text,
        }
    }
}

impl Sheets {
    /// Sheets for these stations, with a unit's words, and no class yet.
    #[must_use]
    pub fn new(screens: BTreeMap<StationNumber, Screen>, task: TaskFn) -> Self {
        Self {
            screens,
            task,
            chosen: Mutex::default(),
            changed: watch::Sender::new(()),
        }
    }

    /// Sheets without any words.
    #[must_use]
    pub fn without_unit(screens: BTreeMap<StationNumber, Screen>) -> Self {
        Self::new(screens, Arc::new(|_, _, _| None))
    }

    /// Told at every change.
    #[must_use]
    pub fn changes(&self) -> watch::Receiver<()> {
        self.changed.subscribe()
    }

    /// The sheet of a screen that was opened in a language.
    #[must_use]
    pub fn sheet(&self, station: StationNumber, own: Language) -> Sheet {
        let chosen = self.chosen().clone();
        let language = chosen.languages.get(&station).copied().unwrap_or(own);
        let letters = self.screen(station).letters();
        Sheet {
            applies: Applies::Live,
            mark: station.get(),
            language,
            view: chosen.view(),
            look: chosen.look,
            letters: LetterSizes {
                least: letters.least,
                preferred: letters.preferred,
            },
            task: chosen
                .grade
                .and_then(|grade| (self.task)(station, grade, language)),
            turn: chosen.turn,
        }
    }

    /// Says which turn runs; every screen follows.
    pub fn set_turn(&self, turn: Option<Turn>) {
        self.chosen().turn = turn;
        self.changed.send_replace(());
    }

    /// What was chosen, and what follows from it.
    #[must_use]
    pub fn showing(&self) -> Showing {
        let chosen = self.chosen().clone();
        let stations = self.screens.keys().copied();
        let too_long = stations.filter(|station| self.too_long(&chosen, *station));
        Showing {
            grade: chosen.grade,
            choice: chosen.choice,
            view: chosen.view(),
            look: chosen.look,
            too_long: too_long.map(StationNumber::get).collect(),
            languages: chosen
                .languages
                .iter()
                .map(|(station, language)| StationLanguage {
                    station: station.get(),
                    language: Some(*language),
                })
                .collect(),
        }
    }

    /// Chooses; every screen follows.
    pub fn choose(&self, patch: ShowingPatch) -> Result<Showing, ShowingError> {
        let mut chosen = self.chosen();
        let mut next = chosen.clone();
        if let Some(grade) = patch.grade {
            if let Some(too_high) = grade.filter(|grade| *grade > MOST_GRADE) {
                return Err(ShowingError::Grade(too_high));
            }
            next.grade = grade;
        }
        if let Some(one) = patch.language {
            let station = StationNumber::try_from(i64::from(one.station)).ok();
            let station = station.filter(|station| self.screens.contains_key(station));
            let station = station.ok_or(ShowingError::Station(one.station))?;
            match one.language {
                Some(language) => next.languages.insert(station, language),
                None => next.languages.remove(&station),
            };
        }
        next.choice = patch.choice.unwrap_or(next.choice);
        next.look = patch.look.unwrap_or(next.look);
        *chosen = next;
        drop(chosen);
        self.changed.send_replace(());
        Ok(self.showing())
    }

    /// Whether a screen is shown a cue that cannot be read on it, in any
    /// language it may be shown in.
    fn too_long(&self, chosen: &Chosen, station: StationNumber) -> bool {
        let Some(grade) = chosen.grade.filter(|_| chosen.view() == View::Text) else {
            return false;
        };
        let screen = self.screen(station);
        let any = [Language::En, Language::Es];
        let languages = chosen
            .languages
            .get(&station)
            .map_or(&any[..], std::slice::from_ref);
        languages.iter().any(|language| {
            let cue = (self.task)(station, grade, *language).and_then(|task| task.cue);
            cue.is_some_and(|cue| !cue_fits(&cue.text, &screen))
        })
    }

    fn screen(&self, station: StationNumber) -> Screen {
        self.screens.get(&station).copied().unwrap_or_default()
    }

    fn chosen(&self) -> MutexGuard<'_, Chosen> {
        // What was chosen is whole at every moment.
        self.chosen.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests;
