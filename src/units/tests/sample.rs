//! The sample unit that is shipped: complete, in both languages, and safe as it
//! comes.

use afterturn_core::plan::{
    Allowed, AskFirst, Grade, Language, Text, Unit, difference, resolve, setups,
};

use super::*;

fn sample() -> Unit {
    let bytes = include_bytes!("../../../config/units/larkfield-circuit.toml");
    match parse("larkfield-circuit.toml", bytes) {
        Ok((unit, warnings)) => {
            assert!(warnings.is_empty(), "{warnings}");
            unit
        }
        Err(report) => panic!("{report}"),
    }
}

#[test]
fn it_is_complete_in_both_languages_and_has_a_figure_at_every_cue() {
    let unit = sample();
    assert_eq!(unit.languages, Language::ALL);
    let mut texts: Vec<&Text> = vec![&unit.title];
    for station in &unit.stations {
        let details = &station.details;
        texts.extend([&details.title, &details.task, &details.reset]);
        texts.extend(details.reminders.iter().chain(&details.cautions));
        texts.extend(station.levels.iter().map(|one| &one.title));
        texts.extend(station.cues.iter().map(|one| &one.text));
        assert!(station.cues.iter().all(|cue| cue.figure.is_some()));
        assert!(station.levels.iter().all(|level| level.figure.is_some()));
        assert!(!details.cautions.is_empty() && !details.reminders.is_empty());
    }
    for text in texts {
        let [english, spanish] = Language::ALL.map(|language| text.get(language));
        assert!(text.has(Language::En) && text.has(Language::Es), "{text:?}");
        assert_ne!(english, spanish);
    }
}

#[test]
fn nothing_many_districts_bar_is_on_as_it_comes() {
    let unit = sample();
    let allowed = Allowed::recorded(&unit);
    for grade in Grade::ALL {
        let room = resolve(&unit, grade, &allowed);
        assert!(room.stations.iter().all(|one| one.id.as_str() != "rope"));
        let mut levels = room.stations.iter().flat_map(|one| &one.levels);
        assert!(levels.all(|level| level.ask_first.is_none()));
        // Each grade still has a circuit worth walking.
        assert!(room.stations.len() >= 6, "{grade}");
    }
    let asked = |what| unit.stations.iter().any(|one| one.ask_first == Some(what));
    assert!(asked(AskFirst::SwingRope));
}

#[test]
fn it_has_seven_stations_for_the_younger_and_eight_for_the_older() {
    let unit = sample();
    let count = |grade| resolve(&unit, grade, &Allowed::everything()).stations.len();
    assert_eq!(
        Grade::ALL.map(count),
        [7, 7, 7, 8, 8, 8],
        "with everything allowed"
    );
    let found = setups(&unit, &Allowed::everything());
    for pair in found.windows(2) {
        assert!(!difference(&pair[0].stations, &pair[1].stations).is_empty());
    }
}
