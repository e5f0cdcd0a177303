//! What a plan promises: every grade finds every station or a reason, a unit
//! falls into its set-ups, and what differs from one to the next is named.

use super::*;

mod any_unit;
mod cues;
mod five;

/// An id.
pub(super) fn id(text: &str) -> Id {
    text.parse().expect("a good id")
}

/// A run of grades.
pub(super) fn grades(text: &str) -> Grades {
    text.parse().expect("good grades")
}

/// A sentence in English.
pub(super) fn en(sentence: &str) -> Text {
    Text::new(Language::En, sentence)
}

/// A line of kit.
pub(super) fn kit(line: &str, amount: Amount) -> KitLine {
    KitLine {
        id: id(line),
        item: en(line),
        amount,
        ask_first: None,
    }
}

/// A level.
pub(super) fn level(name: &str, run: &str) -> Level {
    Level {
        id: id(name),
        title: en(name),
        grades: grades(run),
        after: None,
        ask_first: None,
        figure: None,
        picture: None,
    }
}

/// A station with one level and nothing else of note.
pub(super) fn station(number: u8, name: &str) -> Station {
    let pick = usize::from(number - 1) % Shape::ALL.len();
    Station {
        id: id(name),
        grades: Grades::ALL,
        ask_first: None,
        details: Details {
            mark: Mark {
                number: i64::from(number).try_into().expect("a good number"),
                shape: Shape::ALL[pick],
                colour: Colour::ALL[pick],
            },
            title: en(name),
            task: en("Do it."),
            lanes: 1,
            watch_from: en("the line"),
            hold_s: 0,
            delay_ms: 0,
            one_way: false,
            reset: en("Mat back."),
            reminders: vec![],
            cautions: vec![],
            in_pairs: false,
            adult_hands: false,
            board: false,
            no_spotter: Text::default(),
            kit: vec![],
        },
        bands: vec![],
        levels: vec![level(&format!("{name}-plain"), "K-5")],
        other_ways: vec![],
        cues: vec![],
    }
}

/// A cue for all grades.
pub(super) fn cue(name: &str, of: Option<&str>) -> Cue {
    Cue {
        id: id(name),
        text: en("Look at the end"),
        grades: Grades::ALL,
        of: of.map(id),
        figure: None,
        picture: None,
    }
}

/// A band.
pub(super) fn band(run: &str, changes: Changes) -> Band {
    Band {
        grades: grades(run),
        changes,
    }
}

/// A unit of these stations.
pub(super) fn unit(stations: Vec<Station>) -> Unit {
    Unit {
        id: id("test"),
        title: en("Test"),
        languages: vec![Language::En],
        grades: Grades::ALL,
        permissions: vec![],
        stations,
    }
}

#[test]
fn grades_are_read_as_people_write_them() {
    assert_eq!(grades("K").to_string(), "K");
    assert_eq!(grades("k - 2").to_string(), "K-2");
    assert_eq!(grades("4–5").to_string(), "4-5");
    assert!(grades("1-3").contains("2".parse().expect("a grade")));
    assert!(!grades("1-3").contains(Grade::K));
    for wrong in ["", "6", "1-", "-3", "1-2-3", "3-1", "1,2", "+1"] {
        assert!(wrong.parse::<Grades>().is_err(), "{wrong}");
    }
}

#[test]
fn what_nobody_allowed_is_left_out_and_says_so() {
    let mut rope = station(1, "rope");
    rope.ask_first = Some(AskFirst::SwingRope);
    let mut line = station(2, "line");
    line.levels.push(Level {
        ask_first: Some(AskFirst::Inversions),
        ..level("wall-stand", "K-5")
    });
    line.levels.push(Level {
        after: Some(id("wall-stand")),
        ..level("away-from-the-wall", "K-5")
    });
    let mut board = kit("board", Amount::Count(1));
    board.ask_first = Some(AskFirst::MiniTrampoline);
    line.details.kit = vec![board, kit("mats", Amount::Count(2))];
    let unit = unit(vec![rope, line]);

    let room = resolve(&unit, Grade::K, &Allowed::nothing());
    assert_eq!(room.stations.len(), 1);
    assert_eq!(room.stations[0].levels.len(), 1);
    assert_eq!(room.stations[0].details.kit.len(), 1);
    let why: Vec<&Why> = room.left_out.iter().map(|one| &one.why).collect();
    assert_eq!(
        why,
        [
            &Why::AskFirst(AskFirst::SwingRope),
            &Why::AskFirst(AskFirst::Inversions),
            &Why::After(id("wall-stand")),
            &Why::AskFirst(AskFirst::MiniTrampoline),
        ]
    );

    let room = resolve(&unit, Grade::K, &Allowed::everything());
    assert_eq!(room.stations.len(), 2);
    assert_eq!(room.stations[1].levels.len(), 3);
    assert!(room.left_out.is_empty());
}

#[test]
fn a_cue_of_a_level_goes_with_it() {
    let mut beam = station(1, "beam");
    beam.levels.push(level("backwards", "3-5"));
    beam.cues = vec![cue("eyes", None), cue("feel", Some("backwards"))];
    let unit = unit(vec![beam]);
    let cues = |grade: &str| {
        let grade = grade.parse().expect("a grade");
        resolve(&unit, grade, &Allowed::nothing()).stations[0]
            .cues
            .len()
    };
    assert_eq!((cues("2"), cues("3")), (1, 2));
}

#[test]
fn the_words_a_child_reads_are_counted() {
    assert_eq!(words_in("  Push  the floor away "), 4);
    assert_eq!(words_in("Ready – hands, then feet!"), 4);
    assert_eq!(words_in(" "), 0);
}
