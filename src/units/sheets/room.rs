//! What of a unit has no room on the screens it is for, said before anybody
//! stands in front of one: a warning at the place in the file.
//!
//! Not here: the reckoning ([`without_room`]), and what the page itself does
//! about it.

use std::collections::BTreeMap;

use afterturn_core::{
    plan::{
        Allowed, Grade, Language, Station, StationView, Unit,
        lettering::{Part, Words, cue_fits, without_room},
        resolve,
    },
    wire::ViewChoice,
};

use super::{READS_FROM, Sheets};
use crate::settings::diagnostic::Source;
use crate::settings::sentence::Sentence;
use crate::units::edit::Path;
use crate::units::place::Places;
use crate::units::shelf::{Copy, Note};

/// A place in the unit that has no room on a station's screen, by what it is
/// and which grades meet it there.
type Found = BTreeMap<(Path, u8, bool), Vec<Grade>>;

impl Sheets {
    /// What of a unit has no room, on the screens there are; nothing of a unit
    /// with mistakes.
    #[must_use]
    pub fn without_room(&self, copy: &Copy) -> Vec<Note> {
        let Some(unit) = &copy.unit else {
            return Vec::new();
        };
        let found = self.found(unit);
        let places = Places::of(&copy.text);
        let source = Source::without_secrets(copy.name.as_str(), copy.text.clone());
        let notes = found.into_iter().map(|((at, station, cue), grades)| {
            let place = source.place(places.find(&at).unwrap_or_default());
            Note {
                warning: true,
                line: place.line,
                column: place.column,
                at,
                message: message(station, cue, &grades),
                fix: fix(cue),
            }
        });
        let mut notes: Vec<Note> = notes.collect();
        notes.sort_by_key(|note| note.line);
        notes
    }

    fn found(&self, unit: &Unit) -> Found {
        let mut found = Found::new();
        let allowed = Allowed::recorded(unit);
        let reads = |grade: &Grade| match self.chosen().choice {
            ViewChoice::Text => true,
            ViewChoice::Picture | ViewChoice::ByGrade => grade.years() >= READS_FROM,
        };
        for grade in unit.grades.iter().filter(reads) {
            for view in resolve(unit, grade, &allowed).stations {
                let number = view.details.mark.number;
                let Some(screen) = self.screens.get(&number) else {
                    continue;
                };
                let Some(station) = unit.stations.iter().find(|one| one.id == view.id) else {
                    continue;
                };
                for language in &unit.languages {
                    let words = words(&view, *language);
                    let gone = without_room(&words, view.details.mark.shape, screen);
                    // Whichever cue is shown one day has to have room.
                    let cues = view.cues.iter();
                    let cues = cues.filter(|cue| {
                        !view.details.board && !cue_fits(cue.text.get(*language), screen)
                    });
                    let cues = cues
                        .map(|cue| (vec!["cue".into(), cue.id.to_string(), "text".into()], true));
                    let parts = gone.into_iter().filter(|part| *part != Part::Cue);
                    let parts = parts.map(|part| (path(part, &view, station, grade), false));
                    for (below, cue) in cues.chain(parts) {
                        let mut at = vec!["station".to_owned(), station.id.to_string()];
                        at.extend(below);
                        at.push(language.tag().to_owned());
                        found
                            .entry((at, number.get(), cue))
                            .or_default()
                            .push(grade);
                    }
                }
            }
        }
        found
    }
}

/// What the text view of a station has to find room for.
fn words(view: &StationView, language: Language) -> Words<'_> {
    let details = &view.details;
    let levels = view.levels.iter().map(|level| level.title.get(language));
    let ways = view.other_ways.iter().map(|way| way.title.get(language));
    Words {
        cue: view.shown_cue(None).map(|cue| cue.text.get(language)),
        board: details.board,
        task: details.task.get(language),
        choices: levels.chain(ways).collect(),
        ways: view.other_ways.len(),
        reminders: details
            .reminders
            .iter()
            .map(|text| text.get(language))
            .collect(),
    }
}

/// Where a part stands below its station.
fn path(part: Part, view: &StationView, station: &Station, grade: Grade) -> Path {
    let levels = view.levels.len();
    let (row, id, key) = match part {
        Part::Choice(at) if at < levels => ("level", view.levels[at].id.to_string(), "title"),
        Part::Choice(at) => (
            "other_way",
            view.other_ways[at - levels].id.to_string(),
            "title",
        ),
        Part::Task => return of_details(station, grade, "task", None),
        Part::Reminder(at) => return of_details(station, grade, "reminders", Some(at)),
        // Cues are looked at one by one.
        Part::Cue => return Path::new(),
    };
    vec![row.to_owned(), id, key.to_owned()]
}

/// A key of a station, or of the band that says otherwise for this grade.
fn of_details(station: &Station, grade: Grade, key: &str, item: Option<usize>) -> Path {
    let says = |changes: &afterturn_core::plan::Changes| match item {
        None => changes.task.is_some(),
        Some(_) => changes.reminders.is_some(),
    };
    let band = station.band_that_says(grade, says);
    let mut path = Path::new();
    if let Some(band) = band {
        path.extend(["band".to_owned(), format!("#{band}")]);
    }
    path.push(key.to_owned());
    path.extend(item.map(|at| format!("#{at}")));
    path
}

fn message(station: u8, cue: bool, grades: &[Grade]) -> Sentence {
    let values = [("station", station.to_string()), ("grades", run(grades))];
    if cue {
        Sentence::new(
            "cue-too-long",
            "too long for the TV of station {station}, in letters that can be read from where a child stands (grades {grades})",
            values,
        )
    } else {
        Sentence::new(
            "no-room",
            "the TV of station {station} has no room for this (grades {grades})",
            values,
        )
    }
}

fn fix(cue: bool) -> Sentence {
    if cue {
        Sentence::new("say-shorter", "say it shorter", [])
    } else {
        Sentence::new(
            "say-shorter-or-less",
            "shorten it, or what stands beside it; as it is, the screen leaves it out",
            [],
        )
    }
}

/// Grades as they are spoken of: `3–5`, or `2, 4`.
fn run(grades: &[Grade]) -> String {
    let first = grades.first().map_or(0, |grade| grade.years());
    let together = grades
        .iter()
        .zip(first..)
        .all(|(grade, years)| grade.years() == years);
    match grades {
        [first, .., last] if together => format!("{first}–{last}"),
        _ => {
            let all: Vec<String> = grades.iter().map(ToString::to_string).collect();
            all.join(", ")
        }
    }
}

#[cfg(test)]
mod tests {
    use afterturn_core::{kernel::StationNumber, plan::lettering::Screen, wire::ShowingPatch};

    use super::*;
    use crate::units::{Change, Edit, Shelf};

    const NAME: &str = "larkfield-circuit";

    fn sheets(screen: Screen) -> Sheets {
        let numbers = (1..=8).map(|n| StationNumber::try_from(n).expect("a number"));
        Sheets::new(numbers.map(|number| (number, screen)).collect())
    }

    fn usual() -> Screen {
        Screen {
            approach_mm: 3_000.0,
            ..Screen::default()
        }
    }

    fn with(at: &[&str], to: &str) -> Copy {
        let shelf = Shelf::sample();
        let set = Edit::Set {
            at: at.iter().map(ToString::to_string).collect(),
            to: to.into(),
        };
        let version = shelf.one(NAME).expect("the sample").version.clone();
        shelf
            .trial(NAME, &version, &Change::Edits(vec![set]))
            .expect("it can be changed")
    }

    #[test]
    fn a_long_cue_is_flagged_at_its_line_for_its_grades_and_language() {
        let at = ["station", "beam", "cue", "beam-eyes", "text", "es"];
        let long = "Contrarrevolucionariamente desproporcionadamente interdisciplinariamente electroencefalográficamente";
        let copy = with(&at, long);
        let small = Screen::read_from(32.0, 1_020.0, 6_000.0);
        let notes = sheets(small).without_room(&copy);
        let note = notes
            .iter()
            .find(|note| note.at == at)
            .expect("it is flagged");
        assert!(
            note.warning && note.message.contains("station 1"),
            "{note:?}"
        );
        assert!(note.message.contains("grades 3–5"), "{}", note.message);
        let line = copy.text.lines().nth(note.line - 1).expect("a line");
        assert!(line.contains(long), "{line}");
        // Whoever chose the text view for all has the younger ones told too.
        let all = sheets(small);
        all.choose(ShowingPatch {
            choice: Some(ViewChoice::Text),
            ..ShowingPatch::default()
        })
        .expect("chosen");
        let notes = all.without_room(&copy);
        let note = notes
            .iter()
            .find(|note| note.at == at)
            .expect("it is flagged");
        assert!(note.message.contains("grades K–5"), "{}", note.message);
    }

    #[test]
    fn what_a_band_says_is_flagged_in_the_band() {
        let shelf = Shelf::sample();
        let version = shelf.one(NAME).expect("the sample").version.clone();
        let path = |keys: &[&str]| keys.iter().map(ToString::to_string).collect::<Path>();
        let task = "Cross the low beam and step down softly, ".repeat(6);
        let text = serde_json::json!({ "en": task, "es": "Cruza la barra." });
        let band = serde_json::json!({ "grades": "4-5", "task": text });
        let add = Edit::Add {
            to: path(&["station", "beam", "band"]),
            value: band,
            before: None,
        };
        let copy = shelf
            .trial(NAME, &version, &Change::Edits(vec![add]))
            .expect("changed");
        assert!(copy.unit.is_some(), "{:?}", copy.notes);
        let notes = sheets(usual()).without_room(&copy);
        let at = path(&["station", "beam", "band", "#1", "task", "en"]);
        let note = notes
            .iter()
            .find(|note| note.at == at)
            .expect("it is flagged");
        assert!(note.message.contains("grades 4–5"), "{}", note.message);
    }

    #[test]
    fn where_there_is_no_screen_nothing_is_flagged() {
        let copy = with(
            &["station", "beam", "cue", "beam-eyes", "text", "es"],
            "Anda ".repeat(7).trim(),
        );
        assert!(Sheets::new(BTreeMap::new()).without_room(&copy).is_empty());
    }

    #[test]
    fn the_sample_has_room_for_every_cue_and_task_on_a_usual_screen() {
        let notes = sheets(usual()).without_room(&with(&["title", "en"], "Same"));
        let bad: Vec<_> = notes
            .iter()
            .filter(|note| note.at.iter().any(|key| key == "cue" || key == "task"))
            .collect();
        assert!(bad.is_empty(), "{bad:#?}");
    }
}
