use afterturn_core::plan::{
    Colour, Cue, Details, Grades, Level, OtherWay, Shape, Station, Unit, Way,
};

use super::*;
use crate::units::Shelf;

fn number(number: i64) -> StationNumber {
    number.try_into().expect("a good number")
}

fn both(english: &str, spanish: &str) -> Text {
    Text::new(plan::Language::En, english).with(plan::Language::Es, spanish)
}

/// A station for all grades, of a mark that its number would not give it.
fn station() -> Station {
    let id = |name: &str| name.parse().expect("a good id");
    let grades = |run: &str| -> Grades { run.parse().expect("good grades") };
    Station {
        id: id("beam"),
        grades: Grades::ALL,
        ask_first: None,
        details: Details {
            mark: Mark {
                number: number(1),
                shape: Shape::Star,
                colour: Colour::Blue,
            },
            title: both("Low beam", "Barra baja"),
            task: both("Walk the beam", "Camina por la barra"),
            lanes: 1,
            watch_from: Text::default(),
            hold_s: 0,
            delay_ms: 0,
            one_way: false,
            reset: Text::default(),
            reminders: vec![both("One at a time", "De uno en uno")],
            cautions: vec![],
            in_pairs: false,
            adult_hands: false,
            board: false,
            no_spotter: Text::default(),
            kit: vec![],
        },
        bands: vec![],
        levels: vec![Level {
            id: id("forwards"),
            title: both("Forwards", "Hacia delante"),
            grades: Grades::ALL,
            after: None,
            ask_first: None,
            figure: None,
            picture: None,
        }],
        other_ways: vec![OtherWay {
            id: id("line"),
            way: Way::OnTheLine,
            title: both("On the line", "Por la línea"),
            grades: grades("3-5"),
            figure: None,
            picture: None,
        }],
        cues: vec![
            Cue {
                id: id("on-the-line"),
                text: both("Heel to toe", "Talón con punta"),
                grades: Grades::ALL,
                of: Some(id("forwards")),
                figure: None,
                picture: None,
            },
            Cue {
                id: id("eyes"),
                text: both("Eyes ahead", "Mira adelante"),
                grades: grades("K-4"),
                of: None,
                figure: Some("walk".to_owned()),
                picture: None,
            },
            Cue {
                id: id("long"),
                text: both("Eyes ahead", &"Mira siempre hacia delante, ".repeat(9)),
                grades: grades("5"),
                of: None,
                figure: None,
                picture: None,
            },
        ],
    }
}

/// Stations 1 and 2; the unit knows the first.
fn sheets() -> Sheets {
    let unit = Unit {
        id: "test".parse().expect("a good id"),
        title: both("Test", "Prueba"),
        languages: plan::Language::ALL.to_vec(),
        grades: Grades::ALL,
        permissions: vec![],
        stations: vec![station()],
    };
    let screens = [1, 2].map(|n| (number(n), Screen::default()));
    let sheets = Sheets::new(screens.into());
    sheets.show(unit);
    sheets
}

fn grade(grade: u8) -> ShowingPatch {
    ShowingPatch {
        grade: Some(Some(grade)),
        ..ShowingPatch::default()
    }
}

#[test]
fn without_a_class_or_a_station_in_the_unit_there_are_no_words() {
    let sheets = sheets();
    assert_eq!(sheets.sheet(number(1), Language::En).task, None);
    sheets.choose(grade(3)).expect("a good grade");
    assert!(sheets.sheet(number(1), Language::En).task.is_some());
    assert_eq!(sheets.sheet(number(2), Language::En).task, None);
    let nobody = ShowingPatch {
        grade: Some(None),
        ..ShowingPatch::default()
    };
    sheets.choose(nobody).expect("the class is over");
    assert_eq!(sheets.sheet(number(1), Language::En).task, None);
}

#[test]
fn the_youngest_get_figures_unless_the_teacher_says_otherwise() {
    let sheets = sheets();
    for (of, view) in [
        (0, View::Picture),
        (2, View::Picture),
        (3, View::Text),
        (5, View::Text),
    ] {
        let showing = sheets.choose(grade(of)).expect("a good grade");
        assert_eq!(showing.view, view, "grade {of}");
    }
    for (choice, view) in [
        (ViewChoice::Picture, View::Picture),
        (ViewChoice::Text, View::Text),
    ] {
        let patch = ShowingPatch {
            choice: Some(choice),
            ..ShowingPatch::default()
        };
        sheets.choose(patch).expect("a view");
        assert_eq!(sheets.sheet(number(1), Language::En).view, view);
    }
}

#[test]
fn a_screen_keeps_its_language_until_the_teacher_gives_it_one() {
    let sheets = sheets();
    let give = |language| ShowingPatch {
        language: Some(StationLanguage {
            station: 1,
            language,
        }),
        ..grade(3)
    };
    sheets.choose(give(Some(Language::Es))).expect("a station");
    let sheet = sheets.sheet(number(1), Language::En);
    assert_eq!(sheet.language, Language::Es);
    assert_eq!(sheet.task.expect("words").task, "Camina por la barra");
    let other = sheets.sheet(number(2), Language::En);
    assert_eq!(
        other.language,
        Language::En,
        "the other station's is its own"
    );
    sheets.choose(give(None)).expect("a station");
    let sheet = sheets.sheet(number(1), Language::En);
    assert_eq!(sheet.language, Language::En);
}

#[test]
fn a_sheet_has_one_cue_and_what_the_grade_may_choose_from() {
    let sheets = sheets();
    let of = |grade_of| {
        sheets.choose(grade(grade_of)).expect("a good grade");
        let sheet = sheets.sheet(number(1), Language::En);
        sheet.task.expect("words")
    };
    let third = of(3);
    assert_eq!(
        third.cue,
        Some(Shown {
            text: "Eyes ahead".to_owned(),
            figure: Some("walk".to_owned()),
            picture: None,
        }),
        "rather the one that is for all"
    );
    assert_eq!(third.levels[0].text, "Forwards");
    assert_eq!(third.reminders, ["One at a time"]);
    assert_eq!(third.other_ways[0].text, "On the line");
    assert!(of(2).other_ways.is_empty());
}

#[test]
fn the_mark_is_the_units_whether_or_not_a_grade_is_chosen() {
    let sheets = sheets();
    let mark = |of: i64| {
        let of = number(of);
        let mark = sheets.mark(of);
        let told = sheets.sheet(of, Language::En).mark;
        assert_eq!(told.outline, mark.shape.outline());
        assert_eq!(told.number, mark.number.get());
        format!("{} {}", told.shape, told.colour)
    };
    assert_eq!(mark(1), "star blue");
    sheets.choose(grade(3)).expect("a good grade");
    assert_eq!(mark(1), "star blue");
    assert_eq!(mark(2), "square sky-blue", "the unit has no such station");
}

#[test]
fn what_is_refused_changes_nothing() {
    let sheets = sheets();
    let before = sheets.choose(grade(3)).expect("a good grade");
    assert_eq!(sheets.choose(grade(6)), Err(ShowingError::Grade(6)));
    let nowhere = ShowingPatch {
        look: Some(Look::Bright),
        language: Some(StationLanguage {
            station: 9,
            language: None,
        }),
        ..grade(4)
    };
    assert_eq!(sheets.choose(nowhere), Err(ShowingError::Station(9)));
    assert_eq!(sheets.showing(), before);
}

#[test]
fn a_cue_that_is_too_long_for_its_screen_is_said_where_it_is_read() {
    let sheets = sheets();
    let showing = sheets.choose(grade(3)).expect("a grade");
    assert!(showing.too_long.is_empty());
    assert_eq!(sheets.choose(grade(5)).expect("a grade").too_long, [1]);
    let figures = ShowingPatch {
        choice: Some(ViewChoice::Picture),
        ..ShowingPatch::default()
    };
    let showing = sheets.choose(figures).expect("a view");
    assert!(showing.too_long.is_empty());
}

#[test]
fn screens_are_told_of_a_change() {
    let sheets = sheets();
    let changes = sheets.changes();
    assert!(!changes.has_changed().expect("it is there"));
    sheets.choose(grade(1)).expect("a good grade");
    assert!(changes.has_changed().expect("it is there"));
}

#[test]
fn the_screens_stay_with_their_unit_whatever_else_comes() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let shelf = Shelf::new(folder.path().to_owned());
    let en = plan::Language::En;
    shelf.begin("middle", None, en).expect("made");
    let sheets = Sheets::new(BTreeMap::new());
    sheets.follow(&shelf);
    shelf.begin("another", None, en).expect("made");
    sheets.follow(&shelf);
    assert_eq!(sheets.name().as_deref(), Some("middle"));
    // Mistakes in it do not bring another onto the screens either.
    std::fs::write(folder.path().join("middle.toml"), "id = 3").expect("written");
    sheets.follow(&shelf);
    assert_eq!(sheets.name().as_deref(), Some("middle"));
    std::fs::remove_file(folder.path().join("middle.toml")).expect("gone");
    sheets.follow(&shelf);
    assert_eq!(sheets.name().as_deref(), Some("another"));
}
