//! Which sheet each screen shows: the words of the unit, for the grade that was
//! chosen, in the screen's language, with letters as large as the screen needs.
//!
//! The choice is kept in memory and ends with the program; which cues are pinned
//! is the class's to say. Not here: the unit itself, or what the page makes of a
//! sheet.

use std::{
    collections::BTreeMap,
    sync::{Mutex, MutexGuard, PoisonError},
};

use afterturn_core::{
    kernel::StationNumber,
    plan::{
        self, Allowed, Grade, Mark, StationView, Text,
        lettering::{Screen, cue_fits},
        resolve,
    },
    rotation::MOST_GROUPS,
    wire::{
        Applies, Language, LetterSizes, Look, Sheet, SheetMark, Showing, ShowingPatch, Shown,
        StationLanguage, Task, Turn, View, ViewChoice,
    },
};
use tokio::sync::watch;

#[cfg(test)]
use super::Copy;
pub use cues::{Pins, in_both, task_id};
use in_use::InUse;

/// From this grade on most children read a few words at a glance (common
/// practice, no source).
const READS_FROM: u8 = 3;

/// Why a choice was not taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ShowingError {
    /// No class has this grade.
    #[error("a grade goes from 0, kindergarten, to 5, not {0}")]
    Grade(u8),
    /// It names a station there is not.
    #[error("there is no station {0}")]
    Station(u8),
}

/// See the module.
pub struct Sheets {
    screens: BTreeMap<StationNumber, Screen>,
    in_use: Mutex<InUse>,
    chosen: Mutex<Chosen>,
    changed: watch::Sender<()>,
}

#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Chosen {
    grade: Option<Grade>,
    choice: ViewChoice,
    look: Look,
    languages: BTreeMap<StationNumber, Language>,
    turn: Option<Turn>,
    pins: Pins,
}

impl Chosen {
    const fn view(&self) -> View {
        match (self.choice, self.grade) {
            (ViewChoice::Picture, _) => View::Picture,
            (ViewChoice::ByGrade, Some(grade)) if grade.years() < READS_FROM => View::Picture,
            _ => View::Text,
        }
    }
}

impl Sheets {
    /// Sheets for these stations, with no unit and no class yet.
    #[must_use]
    pub fn new(screens: BTreeMap<StationNumber, Screen>) -> Self {
        Self {
            screens,
            in_use: Mutex::default(),
            chosen: Mutex::default(),
            changed: watch::Sender::new(()),
        }
    }

    #[cfg(test)]
    fn show(&self, unit: plan::Unit) {
        let copy = Copy {
            name: unit.id.to_string(),
            version: String::new(),
            text: String::new(),
            unit: Some(unit),
            notes: Vec::new(),
        };
        self.use_unit(std::sync::Arc::new(copy));
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
        let view = self.view(station, chosen.grade);
        let all = self.screens.keys().copied();
        Sheet {
            applies: Applies::Live,
            mark: on_wire(self.mark(station)),
            language,
            view: chosen.view(),
            look: chosen.look,
            letters: LetterSizes {
                least: letters.least,
                preferred: letters.preferred,
            },
            task: view.map(|view| {
                let pinned = self.pinned(&chosen, &view);
                task_in(&view, language, pinned.as_deref())
            }),
            turn: chosen.turn,
            stations: all.map(|station| on_wire(self.mark(station))).collect(),
            groups: (1..=MOST_GROUPS).map(group_mark).collect(),
        }
    }

    /// Whether a picture is on a station's sheet: then whoever may see the sheet
    /// may see it.
    #[must_use]
    pub fn shows_picture(&self, station: StationNumber, picture: &str) -> bool {
        let Some(view) = self.view(station, self.chosen().grade) else {
            return false;
        };
        let levels = view.levels.iter().map(|one| &one.picture);
        let ways = view.other_ways.iter().map(|one| &one.picture);
        let cues = view.cues.iter().map(|one| &one.picture);
        let mut all = levels.chain(ways).chain(cues).flatten();
        all.any(|name| name == picture)
    }

    /// The grade that is shown.
    #[must_use]
    pub fn grade(&self) -> Option<u8> {
        self.chosen().grade.map(Grade::years)
    }

    /// How a board of the hall is told, and how it looks.
    #[must_use]
    pub fn hall(&self) -> (View, Look) {
        let chosen = self.chosen();
        (chosen.view(), chosen.look)
    }

    /// The mark of a station, the same on every page: the unit's for the grade
    /// that was chosen, the unit's for any, or the one its number gives it.
    #[must_use]
    pub fn mark(&self, station: StationNumber) -> Mark {
        let grade = self.chosen().grade;
        if let Some(view) = self.view(station, grade) {
            return view.details.mark;
        }
        let unit = self.unit();
        let stations = unit.iter().flat_map(|copy| &copy.unit);
        let mut marks = stations.flat_map(|unit| unit.stations.iter().map(|s| s.details.mark));
        let own = marks.find(|mark| mark.number == station);
        own.unwrap_or_else(|| Mark::usual(station))
    }

    /// What a grade finds at a station; nothing without a unit, a class, or
    /// where the class does not have that station.
    fn view(&self, station: StationNumber, grade: Option<Grade>) -> Option<StationView> {
        let copy = self.unit()?;
        let unit = copy.unit.as_ref()?;
        let room = resolve(unit, grade?, &Allowed::recorded(unit));
        let mut views = room.stations.into_iter();
        views.find(|view| view.details.mark.number == station)
    }

    /// Says which turn runs; every screen follows.
    pub fn set_turn(&self, turn: Option<Turn>) {
        self.chosen().turn = turn;
        self.tell();
    }

    /// What was chosen, and what follows from it.
    #[must_use]
    pub fn showing(&self) -> Showing {
        let chosen = self.chosen().clone();
        let stations = self.screens.keys().copied();
        let too_long = stations.filter(|station| self.too_long(&chosen, *station));
        Showing {
            grade: chosen.grade.map(Grade::years),
            choice: chosen.choice,
            view: chosen.view(),
            look: chosen.look,
            too_long: too_long.map(StationNumber::get).collect(),
            cues: self.cues(),
            unit: self.name(),
            units: self.choices(),
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
            let known = |years: u8| {
                let known = Grade::ALL.into_iter().find(|one| one.years() == years);
                known.ok_or(ShowingError::Grade(years))
            };
            next.grade = grade.map(known).transpose()?;
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
        self.tell();
        Ok(self.showing())
    }

    /// Whether a screen is shown a cue that cannot be read on it, in any
    /// language it may be shown in.
    fn too_long(&self, chosen: &Chosen, station: StationNumber) -> bool {
        if chosen.view() != View::Text {
            return false;
        }
        let Some(view) = self.view(station, chosen.grade) else {
            return false;
        };
        let screen = self.screen(station);
        let pinned = self.pinned(chosen, &view);
        let any = [Language::En, Language::Es];
        let languages = chosen
            .languages
            .get(&station)
            .map_or(&any[..], std::slice::from_ref);
        languages.iter().any(|language| {
            let cue = task_in(&view, *language, pinned.as_deref()).cue;
            cue.is_some_and(|cue| !cue_fits(&cue.text, &screen))
        })
    }

    fn screen(&self, station: StationNumber) -> Screen {
        self.screens.get(&station).copied().unwrap_or_default()
    }

    fn tell(&self) {
        self.changed.send_replace(());
    }

    fn chosen(&self) -> MutexGuard<'_, Chosen> {
        // What was chosen is whole at every moment.
        self.chosen.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// A mark as a page draws it.
pub(crate) fn on_wire(mark: Mark) -> SheetMark {
    SheetMark {
        number: mark.number.get(),
        shape: mark.shape.name().to_owned(),
        colour: mark.colour.name().to_owned(),
        outline: mark.shape.outline().to_owned(),
    }
}

/// The mark of a group: what its number gives it. A page draws it with heads, so
/// that nobody takes it for a station.
pub(crate) fn group_mark(group: u8) -> SheetMark {
    let number = StationNumber::try_from(i64::from(group));
    on_wire(Mark::usual(
        number.expect("groups go to 32, stations to 99"),
    ))
}

/// A station's words in one language, for a screen.
fn task_in(view: &StationView, language: Language, pinned: Option<&str>) -> Task {
    let language = match language {
        Language::En => plan::Language::En,
        Language::Es => plan::Language::Es,
    };
    let shown = |text: &Text, figure: &Option<String>, picture: &Option<String>| Shown {
        text: text.get(language).to_owned(),
        figure: figure.clone(),
        picture: picture.clone(),
    };
    let cue = view.shown_cue(pinned);
    Task {
        task: view.details.task.get(language).to_owned(),
        cue: cue.map(|cue| shown(&cue.text, &cue.figure, &cue.picture)),
        board: view.details.board,
        levels: view
            .levels
            .iter()
            .map(|level| shown(&level.title, &level.figure, &level.picture))
            .collect(),
        reminders: view
            .details
            .reminders
            .iter()
            .map(|text| text.get(language).to_owned())
            .collect(),
        reset: view.details.reset.get(language).to_owned(),
        other_ways: view
            .other_ways
            .iter()
            .map(|way| shown(&way.title, &way.figure, &way.picture))
            .collect(),
    }
}

mod cues;
mod in_use;
mod room;
#[cfg(test)]
mod tests;
