//! A file with more than fifty different mistakes, each of which is found, at
//! its line and in words that help; and a few that need a file of their own.

use super::*;

const FIFTY: &str = include_str!("fifty.toml");

/// The lines that say what has to be said of them.
fn seeded() -> Vec<(usize, &'static str)> {
    let lines = FIFTY.lines().enumerate();
    let said = lines.filter_map(|(at, line)| Some((at + 1, line.split_once("#! ")?.1)));
    said.collect()
}

#[test]
fn each_of_fifty_mistakes_is_found_at_its_line() {
    let report = parse("fifty.toml", FIFTY.as_bytes()).expect_err("it is full of mistakes");
    let found: Vec<(usize, String)> = report
        .diagnostics()
        .iter()
        .map(|one| {
            let line = report.place(one).line;
            (line, format!("{} / {}", one.message, one.fix))
        })
        .collect();
    let seeded = seeded();
    assert!(seeded.len() >= 50, "{}", seeded.len());
    for (line, words) in &seeded {
        let met = found
            .iter()
            .any(|(at, said)| at == line && said.contains(words));
        assert!(met, "line {line}: {words}\n{found:#?}");
    }
    for (line, said) in &found {
        let wanted = seeded
            .iter()
            .any(|(at, words)| at == line && said.contains(words));
        assert!(wanted, "line {line} was not seeded: {said}");
    }
    // Different mistakes, and none said twice.
    assert_eq!(found.len(), seeded.len());
}

#[test]
fn a_mistake_is_shown_with_its_line_a_caret_and_what_to_write() {
    let page = parse("fifty.toml", FIFTY.as_bytes())
        .expect_err("it is full of mistakes")
        .to_string();
    let lines: Vec<&str> = page.lines().collect();
    let at = lines
        .iter()
        .position(|line| line.contains("no shape of this name"));
    let at = at.expect("it is shown");
    assert!(lines[at].starts_with("fifty.toml:"), "{}", lines[at]);
    assert!(lines[at + 1].contains("shape = \"sqare\""));
    let caret = lines[at + 2].find('^').expect("a caret");
    assert_eq!(&lines[at + 1][caret..=caret], "\"");
    assert_eq!(lines[at + 3].trim(), "fix: did you mean \"square\"?");
}

/// A unit of one station, in English.
pub(super) const SMALL: &str = r#"# Ours.
id = "small"
languages = ["en"]
title = "Small"

# The first station.
[[station]]
id = "beam" # by the door
number = 1
shape = "disc"
colour = "blue"
title = "Beam"
task = "Cross it."
watch_from = "the disc"
reset = "Mats back."

[[station.level]]
id = "walk"
title = "Walk"

[[station.other_way]]
id = "line"
way = "on-the-line"
title = "On the line"

# What to look for.
[[station.cue]]
id = "eyes"
text = "Look at the end" # of the beam
"#;

fn with(from: &str, to: &str) -> Result<String, String> {
    assert!(SMALL.contains(from), "{from}");
    let text = SMALL.replacen(from, to, 1);
    match parse("small.toml", text.as_bytes()) {
        Ok((_, warnings)) => Ok(warnings.to_string()),
        Err(report) => Err(report.to_string()),
    }
}

#[test]
fn mistakes_of_the_whole_file_are_found_too() {
    let cases = [
        (
            "languages = [\"en\"]",
            "languages = []",
            "at least one language",
        ),
        (
            "languages = [\"en\"]",
            "languages = [\"fr\"]",
            "no language of this name",
        ),
        ("languages = [\"en\"]\n", "", "has no `languages`"),
        ("id = \"small\"\n", "", "has no `id`"),
        (
            "title = \"Small\"",
            "title = { en = \"S\", es = \"P\" }",
            "this unit is not in `es`",
        ),
        ("title = \"Small\"", "title = \"Small", "quotation mark"),
        ("title = \"Beam\"", "title = 7", "not a whole number"),
        (
            "id = \"walk\"",
            "id = \"walk\"\ngrades = \"1-5\"",
            "no level for grade K",
        ),
        (
            "id = \"eyes\"",
            "id = \"eyes\"\ngrades = \"2\"",
            "no cue for grade K",
        ),
        (
            "id = \"beam\" # by the door",
            "id = \"beam\"\ngrades = \"2-4\"",
            "grade K has no station",
        ),
        (
            "[[station.level]]\nid = \"walk\"\ntitle = \"Walk\"\n",
            "",
            "has no `level`",
        ),
        (
            "title = \"Beam\"",
            "title = \"Beam\"\nband = { grades = \"K\" }",
            "may come several times",
        ),
        (
            "reset = \"Mats back.\"",
            "reset = \"Mats back.\"\nkit = []",
            "`kit` is empty",
        ),
        (
            "title = \"Beam\"",
            "title = \"Beam\"\nreminders = [\"a\", \"b\", \"c\", \"d\", \"e\", \"f\", \"g\"]",
            "holds at most 6",
        ),
        (
            "title = \"Walk\"",
            &format!("title = \"{}\"", "long ".repeat(13)),
            "60 characters at most",
        ),
    ];
    for (from, to, words) in cases {
        let page = with(from, to).expect_err(words);
        assert!(page.contains(words), "{words}:\n{page}");
    }
    assert!(
        parse("a.toml", b"")
            .expect_err("empty")
            .to_string()
            .contains("the file is empty")
    );
}

#[test]
fn a_cue_that_forbids_is_only_warned_of() {
    let page = with("\"Look at the end\"", "\"Don't look down\"").expect("it can be used");
    assert!(page.contains("say what to do instead"), "{page}");
    assert_eq!(with("Ours", "Ours"), Ok("small.toml: fine\n".to_owned()));
}

#[test]
fn a_part_of_a_mark_may_change_for_some_grades_and_must_not_meet_another() {
    let second = "[[station]]\nid = \"roll\"\nnumber = 2\nshape = \"star\"\ncolour = \"green\"\n\
        title = \"Roll\"\ntask = \"Roll.\"\nwatch_from = \"the star\"\nreset = \"Mat back.\"\n\
        level = [{ id = \"log\", title = \"Log\" }]\n\
        other_way = [{ id = \"curl\", way = \"seated\", title = \"Curl\" }]\n\
        cue = [{ id = \"chin\", text = \"Chin to chest\" }]\n[[station.band]]\ngrades = \"4-5\"\n";
    let both = |last: &str| {
        let text = format!("{SMALL}\n{second}{last}\n");
        parse("two.toml", text.as_bytes()).map_err(|report| report.to_string())
    };
    let (unit, _) = both("number = 3").expect("no other station has 3");
    let fourth = unit.stations[1].details_for("4".parse().expect("a grade"));
    assert_eq!(fourth.mark.number.get(), 3);
    assert_eq!(fourth.mark.shape.name(), "star");
    let page = both("number = 1").expect_err("the beam has 1");
    assert!(
        page.contains("grade 4 has two stations with this number"),
        "{page}"
    );
}

#[test]
fn a_unit_is_told_from_a_server_config() {
    assert!(recognises(SMALL.as_bytes()));
    assert!(recognises(FIFTY.as_bytes()));
    assert!(!recognises(include_bytes!(
        "../../../config/afterturn.toml"
    )));
    assert!(!crate::settings::Settings::recognises(b"title = 'x'"));
}
