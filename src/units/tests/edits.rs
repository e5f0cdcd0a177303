//! Whatever the editor does, what it does not touch stays as it was written,
//! and no id ever comes twice.

use serde_json::{Value, json};

use super::seeded::SMALL;
use super::*;

const SAMPLE: &str = include_str!("../../../config/units/larkfield-circuit.toml");

fn edits(given: Value) -> Vec<Edit> {
    serde_json::from_value(given).expect("good edits")
}

fn edited(text: &str, given: Value) -> String {
    let (text, _) = apply(text, &edits(given)).unwrap_or_else(|error| panic!("{error}"));
    if let Err(report) = parse("edited.toml", text.as_bytes()) {
        panic!("{report}\n{text}");
    }
    text
}

/// The comments of a text, in order.
fn comments(text: &str) -> Vec<&str> {
    let lines = text.lines().filter_map(|line| line.split_once('#'));
    lines.map(|(_, comment)| comment).collect()
}

/// The lines of a text that are not in another.
fn lost<'t>(from: &'t str, to: &str) -> Vec<&'t str> {
    let mut rest: Vec<&str> = to.lines().collect();
    let gone = |line: &&str| match rest.iter().position(|other| other == line) {
        Some(at) => {
            rest.remove(at);
            false
        }
        None => true,
    };
    from.lines().filter(gone).collect()
}

#[test]
fn a_text_that_nobody_changes_stays_as_it_is() {
    for text in [SAMPLE, SMALL] {
        assert_eq!(apply(text, &[]), Ok((text.to_owned(), vec![])));
    }
}

#[test]
fn one_value_changes_one_line() {
    let text = edited(
        SAMPLE,
        json!([
            { "set": { "at": ["station", "beam", "title", "en"], "to": "Low beam" } },
            { "set": { "at": ["station", "beam", "cue", "beam-eyes", "text", "es"], "to": "Mira al frente" } },
            { "set": { "at": ["station", "stack", "kit", "stack", "count"], "to": 1 } },
            { "set": { "at": ["station", "stack", "reminders", "#1", "en"], "to": "Two feet land." } },
            { "set": { "at": ["station", "stack", "band", "#1", "grades"], "to": "5" } },
        ]),
    );
    assert_eq!(lost(SAMPLE, &text).len(), 5);
    assert_eq!(lost(&text, SAMPLE).len(), 5);
    assert_eq!(comments(&text), comments(SAMPLE));
}

#[test]
fn a_key_comes_and_goes() {
    let came = edited(
        SMALL,
        json!([{ "set": { "at": ["station", "beam", "hold_s"], "to": 3 } }]),
    );
    assert!(came.contains("hold_s = 3\n"));
    assert!(lost(SMALL, &came).is_empty());
    let went = edited(
        &came,
        json!([{ "set": { "at": ["station", "beam", "hold_s"], "to": null } }]),
    );
    assert_eq!(went, SMALL);
}

#[test]
fn a_text_in_one_language_stays_as_plain_as_it_was() {
    let text = edited(
        SMALL,
        json!([{ "set": { "at": ["station", "beam", "title", "en"], "to": "Bar" } }]),
    );
    assert_eq!(text, SMALL.replace("\"Beam\"", "\"Bar\""));
}

#[test]
fn stations_and_cues_change_places_with_everything_of_theirs() {
    let text = edited(
        SAMPLE,
        json!([
            { "move": { "at": ["station", "hands"], "before": "beam" } },
            { "move": { "at": ["station", "stack", "cue", "stack-land"], "before": "stack-push" } },
            { "move": { "at": ["station", "beam"] } },
            { "move": { "at": ["station", "beam", "kit", "height"], "before": "beam" } },
        ]),
    );
    let (unit, _) = parse("edited.toml", text.as_bytes()).expect("still whole");
    let (before, _) = parse("sample.toml", SAMPLE.as_bytes()).expect("whole");
    let ids: Vec<&str> = unit.stations.iter().map(|one| one.id.as_str()).collect();
    assert_eq!(
        ids,
        [
            "hands", "jumps", "rope", "stack", "roll", "shapes", "bar", "beam"
        ]
    );
    for station in &unit.stations {
        let same = before.stations.iter().find(|one| one.id == station.id);
        let same = same.expect("it was there");
        assert_eq!(station.levels, same.levels);
        assert_eq!(station.bands, same.bands);
    }
    assert_eq!(unit.stations[3].cues[0].id.as_str(), "stack-land");
    assert_eq!(unit.stations[7].details.kit[0].id.as_str(), "height");
    // Nothing is lost, whatever the order.
    assert!(lost(SAMPLE, &text).is_empty());
    let sorted = |text| {
        let mut all = comments(text);
        all.sort_unstable();
        all.join("\n")
    };
    assert_eq!(sorted(&text), sorted(SAMPLE));
}

#[test]
fn what_comes_new_gets_an_id_that_was_never_there() {
    let cue = json!({ "text": "Arms out wide" });
    let add = json!([{ "add": { "to": ["station", "beam", "cue"], "value": cue } }]);
    let (once, ids) = apply(SMALL, &edits(add.clone())).expect("added");
    assert_eq!(ids, ["cue-1"]);
    let without = edited(
        &once,
        json!([{ "remove": { "at": ["station", "beam", "cue", "cue-1"] } }]),
    );
    let (_, ids) = apply(&without, &edits(add.clone())).expect("added again");
    assert_eq!(ids, ["cue-2"]);
    // Neither does one that a person wrote come again, nor one asked for.
    let by_hand = SMALL.replace("\"eyes\"", "\"look-41\"");
    let asked = json!([{ "add": { "to": ["station", "beam", "cue"],
        "value": { "id": "look-41", "text": "Arms out" } } }]);
    assert_eq!(apply(&by_hand, &edits(asked)).expect("added").1, ["cue-42"]);
}

#[test]
fn a_whole_station_and_its_rows_can_come() {
    let station = json!({
        "number": 2, "shape": "star", "colour": "green", "title": "Roll", "task": "Roll.",
        "watch_from": "the star", "reset": "Mat back.",
        "level": [{ "id": "log", "title": "Log" }],
        "other_way": [{ "id": "curl", "way": "seated", "title": "Curl" }],
        "cue": [{ "text": "Chin to chest" }],
        "band": [{ "grades": "K", "lanes": 2 }],
    });
    let first = edited(
        SMALL,
        json!([{ "add": { "to": ["station"], "value": station, "before": "beam" } }]),
    );
    let (unit, _) = parse("a.toml", first.as_bytes()).expect("whole");
    let ids: Vec<&str> = unit.stations.iter().map(|one| one.id.as_str()).collect();
    assert_eq!(ids, ["station-1", "beam"]);
    assert_eq!(unit.stations[0].cues[0].id.as_str(), "cue-2");
    assert_eq!(unit.stations[0].bands.len(), 1);
    assert_eq!(unit.stations[1].bands.len(), 0);
    assert!(lost(SMALL, &first).is_empty(), "{first}");
    // Rows that the station did not have yet.
    let more = edited(
        &first,
        json!([
            { "add": { "to": ["station", "beam", "band"], "value": { "grades": "1-2", "lanes": 3 } } },
            { "add": { "to": ["station", "beam", "kit"], "value": { "item": "beam", "count": 1 } } },
            { "add": { "to": ["station", "beam", "kit"], "value": { "item": "mats", "count": 4 } } },
            { "add": { "to": ["station", "beam", "reminders"], "value": "Wait your turn" } },
            { "add": { "to": ["permission"], "value": { "what": "inversions", "place": "gym", "by": "office", "on": "2026-08-20" } } },
        ]),
    );
    let (unit, _) = parse("a.toml", more.as_bytes()).expect("whole");
    assert_eq!(unit.stations[1].bands.len(), 1);
    assert_eq!(unit.stations[1].details.kit.len(), 2);
    assert_eq!(unit.permissions.len(), 1);
    assert!(
        lost(&first, &more)
            .iter()
            .all(|line| line.starts_with("last_id"))
    );
}

#[test]
fn rows_that_are_mixed_up_are_put_in_order_without_loss() {
    let mixed = SMALL.replace(
        "[[station.other_way]]",
        "# One that comes between.\n[[station.cue]]\nid = \"toes\"\ntext = \"Feel with your toes\"\n\n\
         [[station.other_way]]",
    ) + "\n[[station.level]]\nid = \"back\" # late\ntitle = \"Backward\"\n";
    let text = edited(
        &mixed,
        json!([
            { "move": { "at": ["station", "beam", "level", "back"], "before": "walk" } },
            { "add": { "to": ["station"], "value": {
                "number": 2, "shape": "star", "colour": "green", "title": "Roll", "task": "Roll.",
                "watch_from": "the star", "reset": "Mat back.",
                "level": [{ "id": "log", "title": "Log" }],
                "other_way": [{ "id": "curl", "way": "seated", "title": "Curl" }],
                "cue": [{ "id": "chin", "text": "Chin to chest" }] } } },
        ]),
    );
    let (unit, _) = parse("a.toml", text.as_bytes()).expect("whole");
    let levels: Vec<&str> = unit.stations[0]
        .levels
        .iter()
        .map(|one| one.id.as_str())
        .collect();
    assert_eq!(levels, ["back", "walk"]);
    assert_eq!(unit.stations[0].cues.len(), 2);
    assert_eq!(unit.stations[1].levels.len(), 1);
    assert!(lost(&mixed, &text).is_empty(), "{text}");
}

#[test]
fn what_cannot_be_changed_changes_nothing() {
    let refused = [
        json!({ "set": { "at": [], "to": 1 } }),
        json!({ "set": { "at": ["station", "roll", "title"], "to": "x" } }),
        json!({ "set": { "at": ["station", "beam", "hold_s"], "to": null } }),
        json!({ "set": { "at": ["station", "beam", "level"], "to": [] } }),
        json!({ "set": { "at": ["station", "beam", "lanes"], "to": 1.5 } }),
        json!({ "set": { "at": ["station", "beam", "title", "en", "x"], "to": "x" } }),
        json!({ "move": { "at": ["station", "beam"], "before": "roll" } }),
        json!({ "remove": { "at": ["station", "#1"] } }),
        json!({ "remove": { "at": ["station"] } }),
        json!({ "add": { "to": ["title"], "value": {} } }),
        json!({ "add": { "to": ["station", "beam", "cue"], "value": "x" } }),
    ];
    for one in refused {
        let edits = edits(json!([one]));
        assert!(apply(SMALL, &edits).is_err(), "{edits:?}");
    }
    assert!(matches!(apply("a = ", &[]), Err(EditError::Unreadable(_))));
}

#[test]
fn a_language_comes_as_a_copy_of_each_text_and_goes_without_a_trace() {
    let edit = |name: &str, language: &str| -> Vec<Edit> {
        serde_json::from_value(serde_json::json!([{ name: { "language": language } }]))
            .expect("an edit")
    };
    let sample = include_str!("../../../config/units/larkfield-circuit.toml");
    let (english, _) = apply(sample, &edit("remove_language", "es")).expect("it has two");
    let (unit, warnings) = parse("a.toml", english.as_bytes()).expect("it can be used");
    assert!(warnings.is_empty(), "{warnings}");
    assert_eq!(unit.languages.len(), 1);
    assert!(
        !english
            .lines()
            .any(|line| !line.trim_start().starts_with('#') && line.contains(" es = \""))
    );
    // And back: every text is there and waits to be translated.
    let (both, _) = apply(&english, &edit("add_language", "es")).expect("it has one");
    let (unit, warnings) = parse("a.toml", both.as_bytes()).expect("it can be used all the while");
    assert_eq!(unit.languages.len(), 2);
    assert!(
        warnings.diagnostics().len() > 100,
        "{}",
        warnings.diagnostics().len()
    );
    let texts = unit.stations.iter().flat_map(|one| &one.details.reminders);
    for text in texts.chain(unit.stations.iter().map(|one| &one.details.task)) {
        let [english, spanish] = afterturn_core::plan::Language::ALL.map(|one| text.get(one));
        assert_eq!(english, spanish);
    }
    let comments = |text: &str| text.matches('#').count();
    assert_eq!(comments(&both), comments(sample));
    for (name, language) in [("add_language", "en"), ("remove_language", "es")] {
        assert!(
            apply(&english, &edit(name, language)).is_err(),
            "{name} {language}"
        );
    }
    assert!(
        apply(&english, &edit("remove_language", "en")).is_err(),
        "one has to stay"
    );
    // A text that never said its language does then.
    let (small, _) = apply(super::seeded::SMALL, &edit("add_language", "es")).expect("it has one");
    assert!(
        small.contains("title = { en = \"Walk\", es = \"Walk\" }"),
        "{small}"
    );
    parse("small.toml", small.as_bytes()).expect("it can be used");
}
