//! Takes typed values out of a TOML tree one key at a time, and notes every
//! mistake on the way instead of stopping at the first.
//!
//! A file's rules read like the file: open a table, take each key by name, and
//! `finish` it, which reports what was left over with the nearest right name.
//!
//! Not here: any particular file's keys, reading the disk, the environment.

use std::cell::RefCell;
use std::ops::Range;

use toml::de::DeTable;

use super::diagnostic::Diagnostic;
use super::sentence::{Sentence, say};
use super::value::Entry;

/// How alike two keys must be before one is offered for the other
/// (Jaro-Winkler, 0 to 1). `tilte`/`title` is 0.95, `number`/`user` 0.58.
const ALIKE: f64 = 0.80;

/// What a walk over a file has found so far.
#[derive(Default)]
pub struct Findings {
    diagnostics: RefCell<Vec<Diagnostic>>,
    secrets: RefCell<Vec<Range<usize>>>,
}

impl Findings {
    /// Notes one.
    pub fn add(&self, found: Diagnostic) {
        self.diagnostics.borrow_mut().push(found);
    }

    /// Notes that a stretch of the file is never to be shown.
    pub fn hide(&self, span: Range<usize>) {
        self.secrets.borrow_mut().push(span);
    }

    /// Everything found, and what is to be hidden.
    #[must_use]
    pub fn into_parts(self) -> (Vec<Diagnostic>, Vec<Range<usize>>) {
        (self.diagnostics.into_inner(), self.secrets.into_inner())
    }
}

/// The nearest of `names` to a misspelt one, if any is near.
pub fn nearest<'n>(given: &str, names: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
    let given = given.to_lowercase();
    names
        .into_iter()
        .map(|name| (strsim::jaro_winkler(&given, name), name))
        .filter(|(alike, _)| *alike >= ALIKE)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, name)| name)
}

/// A key that has to be there and is not; held back until the table's left-over
/// keys are known, because it is often one of them, misspelt.
struct Missing {
    key: &'static str,
    example: String,
}

/// One table being read.
pub struct Table<'t> {
    findings: &'t Findings,
    keys: &'t DeTable<'t>,
    span: Range<usize>,
    what: &'static str,
    known: Vec<&'static str>,
    missing: Vec<Missing>,
}

impl<'t> Table<'t> {
    /// Opens a table; `span` is where a missing key is reported (its header),
    /// `what` names it in messages: `this station`.
    #[must_use]
    pub fn new(
        findings: &'t Findings,
        keys: &'t DeTable<'t>,
        span: Range<usize>,
        what: &'static str,
    ) -> Self {
        Self {
            findings,
            keys,
            span,
            what,
            known: Vec::new(),
            missing: Vec::new(),
        }
    }

    /// Where the table starts.
    #[must_use]
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// A key that may be there.
    pub fn optional(&mut self, key: &'static str) -> Option<Entry<'t>> {
        self.known.push(key);
        let (name, value) = self.keys.get_key_value(key)?;
        Some(Entry::new(self.findings, key, name.span(), value))
    }

    /// A key that must be there; `example` is a line that would do.
    pub fn required(&mut self, key: &'static str, example: impl Into<String>) -> Option<Entry<'t>> {
        let entry = self.optional(key);
        if entry.is_none() {
            self.missing.push(Missing {
                key,
                example: example.into(),
            });
        }
        entry
    }

    /// Keys that are right elsewhere but not here, with the reason.
    pub fn not_here(&mut self, keys: &[&'static str], message: &str, fix: &str) {
        for key in keys {
            if let Some(entry) = self.optional(key) {
                self.findings.add(Diagnostic::mistake(
                    entry.key_span.clone(),
                    format!("`{key}` {message}"),
                    fix,
                ));
            }
        }
    }

    /// Reports what is left over and what is missing.
    pub fn finish(mut self) {
        let left_over = self
            .keys
            .keys()
            .filter(|key| !self.known.contains(&key.get_ref().as_ref()));
        for key in left_over {
            let free = self
                .known
                .iter()
                .copied()
                .filter(|k| !self.keys.contains_key(*k));
            let meant = nearest(key.get_ref(), free);
            let shown = printable(key.get_ref());
            let message = Sentence::known_as(
                format!("`{shown}` is not a key of {}", self.what),
                "unknown-key",
                [("key", shown)],
            );
            let (message, fix) = match meant {
                Some(meant) => (
                    message,
                    say!("did-you-mean-key", "did you mean `{name}`?", name = meant),
                ),
                None => (
                    message,
                    say!(
                        "take-out",
                        "take it out; the keys here are {keys}",
                        keys = list(&self.known)
                    ),
                ),
            };
            if let Some(meant) = meant {
                self.missing.retain(|missing| missing.key != meant);
            }
            self.findings
                .add(Diagnostic::mistake(key.span(), message, fix));
        }
        for Missing { key, example } in self.missing {
            self.findings.add(
                Diagnostic::mistake(
                    self.span.clone(),
                    Sentence::known_as(
                        format!("{} has no `{key}`", self.what),
                        "missing",
                        [("key", key.to_owned())],
                    ),
                    say!("add", "add  {example}", example = example),
                )
                .about_absence(),
            );
        }
    }
}

/// A name from the file, fit for one line of a terminal.
fn printable(name: &str) -> String {
    let mut short: String = name
        .chars()
        .take(40)
        .map(|c| if c.is_control() { '·' } else { c })
        .collect();
    if name.chars().nth(40).is_some() {
        short.push('…');
    }
    short
}

/// `a`, `b` and `c`.
fn list(names: &[&str]) -> String {
    let quoted: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    match quoted.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
        None => "none".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn messages(text: &str, walk: impl FnOnce(&mut Table<'_>)) -> Vec<String> {
        let root = DeTable::parse(text).expect("the test's TOML is right");
        let findings = Findings::default();
        let mut table = Table::new(&findings, root.get_ref(), 0..0, "this file");
        walk(&mut table);
        table.finish();
        findings
            .into_parts()
            .0
            .into_iter()
            .map(|d| format!("{} / {}", d.message, d.fix))
            .collect()
    }

    #[test]
    fn a_misspelt_key_is_reported_once_with_the_right_one() {
        let found = messages("tilte = 'Rings'", |table| {
            assert!(table.required("title", "title = \"…\"").is_none());
            table.optional("number");
        });
        assert_eq!(
            found,
            ["`tilte` is not a key of this file / did you mean `title`?"]
        );
    }

    #[test]
    fn a_key_that_is_there_already_is_not_offered() {
        let found = messages("title = 'a'\ntitel = 'b'", |table| {
            table.optional("title");
        });
        assert_eq!(
            found,
            ["`titel` is not a key of this file / take it out; the keys here are `title`"]
        );
    }

    #[test]
    fn numbers_keep_their_kind_and_bounds() {
        let take = |text: &str| {
            messages(text, |table| {
                table.optional("n").and_then(|n| n.whole_within(4..=9));
            })
        };
        assert!(take("n = 0x7").is_empty());
        assert_eq!(
            take("n = 40"),
            ["`n` goes from 4 to 9, not 40 / the nearest possible is 9"]
        );
        assert_eq!(
            take("n = -1"),
            ["`n` goes from 4 to 9, not -1 / the nearest possible is 4"]
        );
        assert!(take("n = '7'")[0].contains("take the quotation marks away"));
        assert!(take("n = 7.0")[0].contains("without a point"));
        assert!(take("n = 99999999999999999999")[0].contains("far too large"));
    }

    #[test]
    fn nothing_far_away_is_offered() {
        assert_eq!(nearest("camera", ["title", "number"]), None);
        assert_eq!(
            nearest("Delay", ["delay_ms", "window_ms"]),
            Some("delay_ms")
        );
    }
}
