//! What a unit plans for a station that a class may have otherwise: its delay and
//! its cue; and the changes to the file that make of a class's own what is
//! planned for all.
//!
//! A delay is written where it is read from for that class's grade: into the band
//! that has the last word, or into the station. The cue that is shown is the
//! first one, so keeping another puts it first.
//!
//! Not here: which class has what otherwise (the lesson), and saving.

use std::collections::BTreeMap;

use afterturn_core::{
    kernel::StationNumber,
    plan::{Allowed, Cue, Grade, Station, StationView, Unit, resolve},
    rotation::Tuned,
};

use super::edit::{Edit, Path};
use super::sheets::{Sheets, task_id};

/// What is planned for a station.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Planned {
    /// What stands there, as [`task_id`] has it.
    pub of: String,
    /// Capture to glass; nothing where the unit leaves it to the server.
    pub delay_ms: Option<u32>,
}

/// A grade by its years after kindergarten.
#[must_use]
pub fn grade_of(years: Option<u8>) -> Option<Grade> {
    let mut all = Grade::ALL.into_iter();
    all.find(|grade| Some(grade.years()) == years)
}

impl Sheets {
    /// What the unit plans for a class. Of a class without a grade no more is
    /// known than what is shown, and its delays are the server's.
    #[must_use]
    pub fn planned(&self, grade: Option<u8>) -> BTreeMap<StationNumber, Planned> {
        let own = grade_of(grade);
        let shown = own.or_else(|| grade_of(self.grade()));
        let copy = self.unit();
        let unit = copy.as_ref().and_then(|copy| copy.unit.as_ref());
        let Some((unit, shown)) = unit.zip(shown) else {
            return BTreeMap::new();
        };
        let room = resolve(unit, shown, &Allowed::recorded(unit));
        let planned = |view: StationView| {
            let delay_ms = Some(view.details.delay_ms).filter(|ms| *ms > 0 && own.is_some());
            let of = task_id(unit, &view.id);
            (view.details.mark.number, Planned { of, delay_ms })
        };
        room.stations.into_iter().map(planned).collect()
    }
}

/// The station of a unit that is meant.
#[must_use]
pub fn station_of<'u>(unit: &'u Unit, of: &str) -> Option<&'u Station> {
    let mut all = unit.stations.iter();
    all.find(|station| task_id(unit, &station.id) == of)
}

/// A cue of a station by its id, whichever grade has it.
#[must_use]
pub fn cue_of<'s>(station: &'s Station, id: &str) -> Option<&'s Cue> {
    station.cues.iter().find(|cue| cue.id.as_str() == id)
}

/// The station as a grade finds it; nothing where the grade does not have it.
#[must_use]
pub fn view_of(unit: &Unit, station: &Station, grade: Grade) -> Option<StationView> {
    let room = resolve(unit, grade, &Allowed::recorded(unit));
    let mut views = room.stations.into_iter();
    views.find(|view| view.id == station.id)
}

/// The changes that make this what is planned, for every class that reads it from
/// the same place as one of this grade.
#[must_use]
pub fn keep_edits(station: &Station, grade: Option<Grade>, tuned: &Tuned) -> Vec<Edit> {
    let mut at: Path = vec!["station".to_owned(), station.id.to_string()];
    match tuned {
        Tuned::DelayMs(ms) => {
            let says = |grade| station.band_that_says(grade, |band| band.delay_ms.is_some());
            if let Some(band) = grade.and_then(says) {
                at.extend(["band".to_owned(), format!("#{band}")]);
            }
            at.push("delay_ms".to_owned());
            vec![Edit::Set {
                at,
                to: (*ms).into(),
            }]
        }
        Tuned::Cue(id) => {
            at.extend(["cue".to_owned(), id.clone()]);
            let first = station.cues.first().map(|cue| cue.id.to_string());
            // Before itself it is already.
            match first.filter(|first| first != id) {
                Some(first) => vec![Edit::Move {
                    at,
                    before: Some(first),
                }],
                None => Vec::new(),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use afterturn_core::wire::ShowingPatch;

    use super::*;
    use crate::units::{Shelf, apply, parse};

    const SAMPLE: &str = include_str!("../../config/units/larkfield-circuit.toml");
    const BEAM: &str = "larkfield-circuit/beam";

    fn unit(text: &str) -> Unit {
        let read = parse("unit.toml", text.as_bytes());
        read.unwrap_or_else(|report| panic!("{report}")).0
    }

    fn comments(text: &str) -> Vec<&str> {
        let lines = text.lines().filter_map(|line| line.split_once('#'));
        let mut comments: Vec<_> = lines.map(|(_, comment)| comment).collect();
        comments.sort_unstable();
        comments
    }

    fn kept(text: &str, grade: Option<u8>, tuned: &Tuned) -> String {
        let unit = unit(text);
        let station = station_of(&unit, BEAM).expect("the sample has a beam");
        let edits = keep_edits(station, grade_of(grade), tuned);
        apply(text, &edits).expect("it can be kept").0
    }

    fn delay(text: &str, grade: u8) -> u32 {
        let unit = unit(text);
        let station = station_of(&unit, BEAM).expect("the sample has a beam");
        station
            .details_for(grade_of(Some(grade)).expect("a grade"))
            .delay_ms
    }

    fn cue(text: &str, grade: u8) -> Option<String> {
        let unit = unit(text);
        let station = station_of(&unit, BEAM).expect("the sample has a beam");
        let view = view_of(&unit, station, grade_of(Some(grade))?)?;
        Some(view.shown_cue(None)?.id.to_string())
    }

    #[test]
    fn a_delay_is_kept_where_the_grade_reads_it() {
        let text = kept(SAMPLE, Some(3), &Tuned::DelayMs(12_000));
        assert_eq!((delay(&text, 0), delay(&text, 3)), (12_000, 12_000));
        assert_eq!(comments(&text), comments(SAMPLE));
        let banded = SAMPLE.replacen("grades = \"K\"\n", "grades = \"K\"\ndelay_ms = 8000\n", 1);
        assert_eq!(delay(&banded, 0), 8_000, "kindergarten has its own");
        let text = kept(&banded, Some(0), &Tuned::DelayMs(15_000));
        assert_eq!((delay(&text, 0), delay(&text, 3)), (15_000, 10_000));
        let text = kept(&banded, None, &Tuned::DelayMs(15_000));
        assert_eq!((delay(&text, 0), delay(&text, 3)), (8_000, 15_000));
    }

    #[test]
    fn a_station_whose_delay_is_the_servers_gets_one() {
        let bare = SAMPLE.replacen("delay_ms = 10000\n", "", 1);
        assert_eq!(delay(&bare, 3), 0);
        let text = kept(&bare, Some(3), &Tuned::DelayMs(500));
        assert_eq!(delay(&text, 3), 500);
        assert_eq!(comments(&text), comments(&bare));
    }

    #[test]
    fn a_cue_is_kept_by_standing_first() {
        assert_eq!(cue(SAMPLE, 3).as_deref(), Some("beam-eyes"));
        let arms = Tuned::Cue("beam-arms".to_owned());
        let text = kept(SAMPLE, Some(3), &arms);
        for grade in [0, 3, 5] {
            assert_eq!(cue(&text, grade).as_deref(), Some("beam-arms"));
        }
        assert_eq!(comments(&text), comments(SAMPLE));
        assert_eq!(kept(&text, Some(3), &arms), text, "it stands first already");
    }

    #[test]
    fn what_is_planned_follows_the_grade_and_without_one_only_what_is_shown() {
        let shelf = Shelf::sample();
        let sheets = Sheets::new(BTreeMap::new());
        assert!(sheets.planned(Some(3)).is_empty(), "no unit");
        sheets.follow(&shelf);
        let one = StationNumber::try_from(1).expect("a number");
        let planned = |grade| sheets.planned(grade).remove(&one);
        let beam = |delay_ms| Planned {
            of: BEAM.to_owned(),
            delay_ms,
        };
        assert_eq!(planned(Some(3)), Some(beam(Some(10_000))));
        assert_eq!(planned(None), None, "nobody knows what stands there");
        let third = ShowingPatch {
            grade: Some(Some(3)),
            ..ShowingPatch::default()
        };
        sheets.choose(third).expect("a grade");
        assert_eq!(planned(None), Some(beam(None)));
    }
}
