//! The folder: every question sees the file as it is, nobody overwrites what
//! they have not seen, and whatever happens the file is whole.

use std::path::Path as FilePath;
use std::process::{Command, Stdio};

use serde_json::json;

use super::seeded::SMALL;
use super::*;

fn shelf() -> (tempfile::TempDir, Shelf) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    write(folder.path(), SMALL);
    let shelf = Shelf::new(folder.path().to_owned());
    (folder, shelf)
}

fn write(folder: &FilePath, text: &str) {
    std::fs::write(folder.join("small.toml"), text).expect("written");
}

fn read(folder: &FilePath) -> String {
    std::fs::read_to_string(folder.join("small.toml")).expect("readable")
}

fn title(to: &str) -> Change {
    let edit = json!([{ "set": { "at": ["station", "beam", "title"], "to": to } }]);
    Change::Edits(serde_json::from_value(edit).expect("a good edit"))
}

#[test]
fn a_change_is_saved_and_comments_stay() {
    let (folder, shelf) = shelf();
    let before = shelf.one("small").expect("it is there");
    let saved = shelf
        .save("small", &before.version, &title("Bar"))
        .expect("saved");
    assert_eq!(read(folder.path()), SMALL.replace("\"Beam\"", "\"Bar\""));
    assert_ne!(saved.copy.version, before.version);
    assert_eq!(
        shelf.one("small").expect("there").version,
        saved.copy.version
    );
}

#[test]
fn a_change_made_with_a_text_editor_is_seen_and_told() {
    let (folder, shelf) = shelf();
    let first = shelf.all().pop().expect("it is there");
    let mut changes = shelf.changes();
    changes.mark_unchanged();
    shelf.poll();
    assert!(!changes.has_changed().expect("open"));
    write(folder.path(), &SMALL.replace("\"Beam\"", "\"Plank\""));
    shelf.poll();
    assert!(changes.has_changed().expect("open"));
    let now = shelf.one("small").expect("there");
    assert_ne!(now.version, first.version);
    let unit = now.unit.as_ref().expect("whole");
    assert_eq!(
        unit.stations[0]
            .details
            .title
            .iter()
            .next()
            .expect("a text")
            .1,
        "Plank"
    );
}

#[test]
fn a_save_against_an_older_version_gets_both_and_overwrites_nothing() {
    let (folder, shelf) = shelf();
    let base = shelf.one("small").expect("there");
    let other = SMALL.replace("Cross it.", "Go across.");
    write(folder.path(), &other);
    let refused = shelf.save("small", &base.version, &title("Bar"));
    let Err(SaveError::Stale { theirs, yours }) = refused else {
        panic!("it was saved over somebody's words");
    };
    assert_eq!(theirs.text, other);
    assert_eq!(
        yours.expect("the base is known").text,
        SMALL.replace("\"Beam\"", "\"Bar\"")
    );
    assert_eq!(read(folder.path()), other);
    // A version that nobody here has ever seen.
    let refused = shelf.save("small", "0000", &title("Bar"));
    assert!(matches!(refused, Err(SaveError::Stale { yours: None, .. })));
    // With both in view it can be saved.
    shelf
        .save("small", &theirs.version, &title("Bar"))
        .expect("saved");
    assert_eq!(read(folder.path()), other.replace("\"Beam\"", "\"Bar\""));
}

#[test]
fn a_mistake_is_told_at_its_field_and_not_saved() {
    let (folder, shelf) = shelf();
    let base = shelf.one("small").expect("there");
    let edits = json!([
        { "set": { "at": ["station", "beam", "cue", "eyes", "text"], "to": "one two three four five six seven eight" } },
        { "set": { "at": ["station", "beam", "lanes"], "to": 0 } },
        { "set": { "at": ["station", "beam", "reset"], "to": null } },
    ]);
    let edits = Change::Edits(serde_json::from_value(edits).expect("good edits"));
    let Err(SaveError::Mistakes(notes)) = shelf.save("small", &base.version, &edits) else {
        panic!("it is not usable");
    };
    let at: Vec<String> = notes.iter().map(|note| note.at.join("/")).collect();
    assert_eq!(
        at,
        [
            "station/beam",
            "station/beam/lanes",
            "station/beam/cue/eyes/text"
        ]
    );
    assert_eq!(read(folder.path()), SMALL);
}

#[test]
fn a_save_can_be_taken_back_and_no_id_comes_again() {
    let (_folder, shelf) = shelf();
    let first = shelf.one("small").expect("there");
    let add =
        json!([{ "add": { "to": ["station", "beam", "cue"], "value": { "text": "Arms wide" } } }]);
    let add = Change::Edits(serde_json::from_value(add).expect("good edits"));
    let saved = shelf.save("small", &first.version, &add).expect("saved");
    assert_eq!(saved.ids, ["cue-1"]);
    let back = Change::Restore(first.version.clone());
    let back = shelf
        .save("small", &saved.copy.version, &back)
        .expect("back");
    assert_eq!(back.copy.unit, first.unit);
    let again = shelf
        .save("small", &back.copy.version, &add)
        .expect("saved");
    assert_eq!(again.ids, ["cue-2"]);
    let gone = Change::Restore("0000".to_owned());
    let gone = shelf.save("small", &again.copy.version, &gone);
    assert!(matches!(gone, Err(SaveError::Forgotten)));
}

#[test]
fn only_unit_files_of_the_folder_are_there() {
    let (folder, shelf) = shelf();
    for other in [".small.toml.12-0.tmp", "notes.txt", "Bad Name.toml", "sub"] {
        std::fs::write(folder.path().join(other), "id = \"half").expect("written");
    }
    std::fs::write(folder.path().join("broken.toml"), "id = \"broken").expect("written");
    let names: Vec<String> = shelf.all().iter().map(|copy| copy.name.clone()).collect();
    assert_eq!(names, ["broken", "small"]);
    let broken = shelf.one("broken").expect("there");
    assert!(broken.unit.is_none() && !broken.notes.is_empty());
    for path in ["../small", "small.toml", "", "/etc/passwd", "sub"] {
        assert!(shelf.one(path).is_none(), "{path}");
        assert!(matches!(
            shelf.save(path, "", &title("x")),
            Err(SaveError::NoSuch)
        ));
    }
    assert!(Shelf::new(folder.path().join("none")).all().is_empty());
}

/// Where the program below saves.
const FOLDER: &str = "AFTERTURN_TEST_UNITS";

/// Not a test: the program that the next one kills.
#[test]
#[ignore = "run by the test that kills it"]
fn saves_without_end() {
    let folder = std::env::var(FOLDER).expect("run by the other test");
    let shelf = Shelf::new(folder.into());
    for word in ["Bar", "Beam"].into_iter().cycle() {
        let now = shelf.one("small").expect("whole");
        shelf
            .save("small", &now.version, &title(word))
            .expect("saved");
    }
}

#[test]
fn a_program_killed_while_saving_leaves_the_old_file_or_the_new() {
    let (folder, _) = shelf();
    let versions = [SMALL.to_owned(), SMALL.replace("\"Beam\"", "\"Bar\"")];
    let mut seen = [0, 0];
    for round in 0..30 {
        let mut program = Command::new(std::env::current_exe().expect("this test"))
            .args([
                "--exact",
                "--ignored",
                "units::tests::shelf::saves_without_end",
            ])
            .env(FOLDER, folder.path())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("started");
        // Long enough to be amid it, a little different each time.
        std::thread::sleep(std::time::Duration::from_millis(40 + 3 * round));
        program.kill().expect("killed");
        program.wait().expect("ended");
        let now = read(folder.path());
        let which = versions.iter().position(|version| *version == now);
        seen[which.expect("the old file or the new one")] += 1;
        let listed = Shelf::new(folder.path().to_owned()).all().len();
        assert_eq!(listed, 1, "what a kill leaves beside is no unit");
    }
    assert!(
        seen[0] > 0 && seen[1] > 0,
        "it was killed amid saving: {seen:?}"
    );
}

#[test]
fn a_picture_is_kept_beside_the_units_and_found_again() {
    let dir = tempfile::tempdir().expect("a temporary directory");
    let shelf = Shelf::new(dir.path().to_owned());
    let mut sent = std::io::Cursor::new(Vec::new());
    let drawing = image::RgbImage::new(30, 20);
    drawing
        .write_to(&mut sent, image::ImageFormat::Png)
        .expect("encoded");
    let name = shelf.take_picture(sent.get_ref()).expect("taken in");
    let file = dir.path().join("pictures").join(&name);
    assert_eq!(
        std::fs::read(&file).expect("kept"),
        *shelf.picture(&name).expect("found")
    );
    // The same once more is the same file, and no other is left beside it.
    assert_eq!(shelf.take_picture(sent.get_ref()), Ok(name.clone()));
    let folder = std::fs::read_dir(dir.path().join("pictures")).expect("there");
    assert_eq!(folder.count(), 1);
    assert!(shelf.picture("../small.toml").is_none());
    assert!(shelf.take_picture(b"rubbish").is_err());

    let unit = SMALL.replace(
        "text = \"Look",
        &format!("picture = \"{name}\"\ntext = \"Look"),
    );
    std::fs::write(dir.path().join("small.toml"), unit).expect("written");
    let copy = shelf.one("small").expect("there");
    assert!(copy.unit.is_some(), "{:?}", copy.notes);
    assert_eq!(shelf.missing_pictures(&copy), []);
    std::fs::remove_file(&file).expect("gone");
    let missing = shelf.missing_pictures(&copy);
    assert_eq!(missing.len(), 1, "and it is noticed at once: {missing:?}");
    assert_eq!(missing[0].at, ["station", "beam", "cue", "eyes", "picture"]);
}

#[test]
fn a_new_unit_can_be_used_at_once_and_overwrites_nothing() {
    use afterturn_core::plan::Language;
    let (folder, shelf) = shelf();
    for (name, language) in [("ours", Language::En), ("nuestra", Language::Es)] {
        let begun = shelf.begin(name, None, language).expect("made");
        assert!(
            begun.unit.is_some() && begun.notes.is_empty(),
            "{:?}",
            begun.notes
        );
        let text = std::fs::read_to_string(folder.path().join(format!("{name}.toml")));
        assert_eq!(text.expect("it is a file"), begun.text);
        assert_eq!(begun.unit.as_ref().expect("usable").id.as_str(), name);
    }
    // A copy keeps every comment and has an id of its own.
    let copy = shelf
        .begin("second", Some("small"), Language::En)
        .expect("made");
    assert_eq!(
        copy.text,
        SMALL.replacen("id = \"small\"", "id = \"second\"", 1)
    );
    for (name, from) in [
        ("small", None),
        ("third", Some("none")),
        ("../out", None),
        ("", None),
    ] {
        assert!(shelf.begin(name, from, Language::En).is_err(), "{name}");
    }
    assert_eq!(
        read(folder.path()),
        SMALL,
        "and what was there stays as it was"
    );
    assert_eq!(shelf.all().len(), 4);
    // Where there is no folder yet, there is one then.
    let fresh = Shelf::new(folder.path().join("units"));
    fresh.begin("first", None, Language::En).expect("made");
    assert_eq!(fresh.all().len(), 1);
}
