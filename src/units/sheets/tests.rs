use afterturn_core::wire::Shown;

use super::*;

fn number(number: i64) -> StationNumber {
    number.try_into().expect("a good number")
}

/// Stations 1 and 2; the unit knows the first.
fn sheets() -> Sheets {
    let screens = [1, 2].map(|n| (number(n), Screen::default()));
    let task = |station: StationNumber, grade: u8, language: Language| {
        let words = format!("grade {grade} in {language:?}");
        (station.get() == 1).then(|| Task {
            task: words.clone(),
            cue: Some(Shown {
                text: if grade == 5 { words.repeat(9) } else { words },
                figure: None,
            }),
            levels: Vec::new(),
            reminders: Vec::new(),
            another_way: None,
        })
    };
    Sheets::new(screens.into(), Arc::new(task))
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
    assert_eq!(sheet.task.expect("words").task, "grade 3 in Es");
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
