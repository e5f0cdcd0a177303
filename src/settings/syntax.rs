//! What the TOML parser says, in the words of someone who has never read the
//! TOML specification.
//!
//! Not here: what the keys of a file mean.

use std::collections::HashSet;
use std::ops::Range;

use toml::de::DeTable;

use super::diagnostic::{Diagnostic, Source};

/// Beginnings of the parser's messages with our words and the fix.
const WORDS: &[(&str, &str, &str)] = &[
    (
        "duplicate key",
        "this is here already, further up",
        "keep one of the two (a table that may come several times has double brackets: [[…]])",
    ),
    (
        "string values must be quoted",
        "a value is missing, or a text without quotation marks",
        "put text in quotation marks: \"…\"",
    ),
    (
        "key with no value",
        "there is no `=` after this key",
        "write  key = value, one on each line",
    ),
    (
        "invalid basic string",
        "the quotation mark at the end is missing, or there is a sign that may not be inside",
        "end the text with \"",
    ),
    (
        "invalid literal string",
        "a value is missing, or the quotation mark at its end",
        "write a value, and begin and end text with the same quotation mark",
    ),
    (
        "invalid multi-line",
        "a text begun with three quotation marks does not end",
        "use one quotation mark at each end, on one line",
    ),
    (
        "missing escaped value",
        "a `\\` inside \"…\" begins a special sign, and this one does not exist",
        "write \\\\, or use '…' instead of \"…\"",
    ),
    (
        "invalid unquoted key",
        "this sign cannot be in a key",
        "use letters, digits, - and _ only",
    ),
    (
        "unclosed array",
        "a list begun with [ does not end",
        "end it with ]",
    ),
    (
        "unclosed inline table",
        "a table begun with { does not end",
        "end it with }",
    ),
    (
        "unclosed table",
        "a heading begun with [ does not end",
        "end it with ] (or ]] if it began with [[)",
    ),
];

/// One of the parser's errors as a diagnostic. `text_bytes` bounds the place.
fn diagnostic(error: &toml::de::Error, text_bytes: usize) -> Diagnostic {
    let span = error.span().map_or(text_bytes..text_bytes, |span| {
        span.start.min(text_bytes)..span.end.min(text_bytes)
    });
    let message = error.message();
    match WORDS
        .iter()
        .find(|(begins, ..)| message.starts_with(begins))
    {
        Some((_, what, fix)) => Diagnostic::mistake(span, *what, *fix),
        None => Diagnostic::mistake(
            span,
            format!("this is not TOML: {message}"),
            "compare the line with the sample file",
        ),
    }
}

/// Every place where bytes are not UTF-8, at most one a line, as places in the
/// text that `String::from_utf8_lossy` makes of them.
fn not_utf8(bytes: &[u8]) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    let mut at = 0;
    let mut line_has_one = false;
    for chunk in bytes.utf8_chunks() {
        if chunk.valid().contains('\n') {
            line_has_one = false;
        }
        at += chunk.valid().len();
        if !chunk.invalid().is_empty() {
            let mark_bytes = char::REPLACEMENT_CHARACTER.len_utf8();
            if !line_has_one {
                found.push(at..at + mark_bytes);
            }
            line_has_one = true;
            at += mark_bytes;
        }
    }
    found
}

/// The error after which the parser leaves out the rest of the file.
const ENDS_THE_READING: &str = "key with no value";

/// How often the reading is taken up again; a file with more such lines is not
/// a config file.
const MOST_RESUMED: usize = 64;

/// The most findings that are placed line by line. Far more than are shown.
const MOST_PLACED: usize = 200;

/// Everything wrong with a text as TOML, at most once a line, and the text as
/// it can be read on: lines that would end the reading are blank in it, so that
/// all places stay the same.
pub(super) fn legible(source: &Source, bytes: &[u8]) -> (String, Vec<Diagnostic>) {
    let mut legible = source.text().to_owned();
    let mut found: Vec<Diagnostic> = Vec::new();
    let what = "here is a byte that is not UTF-8";
    let fix = "save the file as UTF-8 in your editor";
    let bad_bytes = not_utf8(bytes).into_iter();
    let bad_bytes = bad_bytes.map(|span| Diagnostic::mistake(span, what, fix));
    add_once_a_line(&mut found, bad_bytes, source);
    for _ in 0..MOST_RESUMED {
        let errors = DeTable::parse_recoverable(&legible).1;
        let all = errors.iter().map(|error| diagnostic(error, legible.len()));
        add_once_a_line(&mut found, all, source);
        let ending = errors
            .iter()
            .filter(|e| e.message().starts_with(ENDS_THE_READING));
        let lines: Vec<_> = ending
            .filter_map(toml::de::Error::span)
            .map(|span| source.line_of(span.start))
            .collect();
        if lines.is_empty() {
            break;
        }
        for line in lines {
            legible.replace_range(line.clone(), &" ".repeat(line.len()));
        }
    }
    (legible, found)
}

/// Adds findings whose lines have none yet: what follows from a broken line is
/// noise.
pub(super) fn add_once_a_line(
    so_far: &mut Vec<Diagnostic>,
    more: impl Iterator<Item = Diagnostic>,
    source: &Source,
) {
    let mut taken: HashSet<usize> = so_far
        .iter()
        .map(|found| source.line_of(found.span.start).start)
        .collect();
    for found in more {
        if so_far.len() >= MOST_PLACED {
            return;
        }
        if taken.insert(source.line_of(found.span.start).start) {
            so_far.push(found);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_bytes_are_placed_in_the_lossy_text() {
        let bytes = b"a = 1\nb\xff\xfe = 2 \xff\nc = \xc3";
        let text = String::from_utf8_lossy(bytes);
        let found = not_utf8(bytes);
        assert_eq!(found.len(), 2);
        for span in found {
            assert_eq!(&text[span], "\u{fffd}");
        }
    }
}
