//! Places, carets, and how much is said at once.

use super::*;

fn source(text: &str) -> Source {
    Source::new(
        "a.toml",
        text.to_owned(),
        mask::KnownKeys::open_only(&["a", "title"]),
    )
}

#[test]
fn a_place_counts_characters_from_one() {
    let source = source("a = 1\r\ntitle = \"Bärensprung\" x\n");
    assert_eq!(source.place(0), Place { line: 1, column: 1 });
    let x = source.text().find(" x").expect("it is there") + 1;
    assert_eq!(
        source.place(x),
        Place {
            line: 2,
            column: 23
        }
    );
    assert_eq!(source.place(9_999), Place { line: 3, column: 1 });
}

#[test]
fn the_caret_stands_under_the_place() {
    let text = "\ta = 1\ntitle = \"Bär\", 9\n";
    let at = text.find('9').expect("it is there");
    let report = Report::new(
        source(text),
        vec![Diagnostic::mistake(at..at + 1, "a nine", "no nine")],
    );
    let page = report.to_string();
    let lines: Vec<&str> = page.lines().collect();
    assert_eq!(lines[0], "a.toml:2:16: a nine");
    assert_eq!(
        lines[1].chars().position(|c| c == '9'),
        lines[2].chars().position(|c| c == '^')
    );
    assert_eq!(lines[3], "         fix: no nine");
    assert_eq!(*lines.last().expect("a last line"), "a.toml: 1 mistake");
}

#[test]
fn a_long_line_is_cut_around_its_caret() {
    let text = format!("title = \"{}!{}\"", "m".repeat(300), "n".repeat(300));
    let at = text.find('!').expect("it is there");
    let report = Report::new(
        source(&text),
        vec![Diagnostic::mistake(at..at + 1, "loud", "be quiet")],
    );
    let page = report.to_string();
    let lines: Vec<&str> = page.lines().collect();
    assert!(lines[1].chars().count() < 120);
    assert_eq!(
        lines[1].chars().position(|c| c == '!'),
        lines[2].chars().position(|c| c == '^')
    );
}

#[test]
fn a_flood_is_cut_and_counted() {
    let many = (0..80)
        .map(|_| Diagnostic::mistake(0..1, "m", "f"))
        .collect();
    let page = Report::new(source("a = 1"), many).to_string();
    assert!(page.contains("and 30 more"));
    assert!(page.contains("80 mistakes"));
}
