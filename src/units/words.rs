//! Texts, ids and names out of a unit file.
//!
//! Not here: which key holds what.

use std::str::FromStr;

use afterturn_core::kernel::{figures, is_figure};
use afterturn_core::plan::{Grades, Id, Language, Text, words_in};

use crate::settings::diagnostic::Diagnostic;
use crate::settings::reader::{Findings, nearest};
use crate::settings::value::Entry;

/// How long a text may be.
#[derive(Clone, Copy)]
pub(super) struct Limits {
    characters: usize,
    words: Option<usize>,
}

impl Limits {
    /// A name on a sign.
    pub(super) const TITLE: Self = Self::characters(60);
    /// A sentence or two.
    pub(super) const SENTENCES: Self = Self::characters(300);

    const fn characters(characters: usize) -> Self {
        let words = None;
        Self { characters, words }
    }

    /// At most so many words.
    pub(super) const fn words(words: usize) -> Self {
        Self {
            characters: 100,
            words: Some(words),
        }
    }
}

/// A text in all of the unit's languages. `languages` is empty where the file
/// does not say them properly; then any will do.
pub(super) fn text(
    findings: &Findings,
    languages: &[Language],
    entry: &Entry<'_>,
    limits: Limits,
) -> Option<Text> {
    if entry.is_text() {
        return match languages {
            [only] => Some(Text::new(*only, sentence(entry, entry, limits)?)),
            [] => Some(Text::new(Language::En, sentence(entry, entry, limits)?)),
            several => {
                let tags: Vec<&str> = several.iter().map(|language| language.tag()).collect();
                let example: Vec<String> =
                    tags.iter().map(|tag| format!("{tag} = \"…\"")).collect();
                entry.refuse(
                    format!(
                        "`{}` is in one language, and this unit is in {}",
                        entry.key,
                        tags.join(" and ")
                    ),
                    format!("write {{ {} }}", example.join(", ")),
                );
                None
            }
        };
    }
    let mut table = entry.table("this text", &format!("[…{}]", entry.key))?;
    let mut text = Text::default();
    let mut whole = true;
    for language in Language::ALL {
        let tag = language.tag();
        if languages.is_empty() || languages.contains(&language) {
            let given = if languages.is_empty() {
                table.optional(tag)
            } else {
                table.required(tag, format!("{tag} = \"…\" to `{}`", entry.key))
            };
            match given
                .as_ref()
                .and_then(|given| sentence(given, entry, limits))
            {
                Some(given) => text = text.with(language, given),
                None => whole = languages.is_empty() && whole && given.is_none(),
            }
        } else if let Some(given) = table.optional(tag) {
            findings.add(Diagnostic::mistake(
                given.key_span,
                format!("this unit is not in `{tag}`"),
                format!("take it out, or add \"{tag}\" to `languages`"),
            ));
        }
    }
    table.finish();
    whole.then_some(text)
}

/// One language of a text; `whose` is the key it is spoken of by.
fn sentence(entry: &Entry<'_>, whose: &Entry<'_>, limits: Limits) -> Option<String> {
    let text = entry.text()?;
    let key = whose.key;
    let count = text.trim().chars().count();
    if count == 0 {
        entry.refuse(format!("`{key}` is empty"), "write what belongs there");
        return None;
    }
    if text.chars().any(char::is_control) {
        entry.refuse(
            format!("`{key}` is one line of text, without tabs or line breaks"),
            "write it on one line",
        );
        return None;
    }
    if count > limits.characters {
        let most = limits.characters;
        entry.refuse(
            format!("`{key}` has at most {most} characters, not {count}"),
            "say it shorter",
        );
        return None;
    }
    let words = words_in(text);
    if let Some(most) = limits.words.filter(|most| words > *most) {
        entry.refuse(
            format!("`{key}` has at most {most} words, not {words}: it is read at a glance"),
            format!("leave out {}, or say it in two", words - most),
        );
        return None;
    }
    if limits.words.is_some() && says_what_not(text) {
        entry.warn(
            "this says what not to do, and a child sees that first",
            "say what to do instead",
        );
    }
    Some(text.trim().to_owned())
}

/// Whether a sentence begins by forbidding.
fn says_what_not(text: &str) -> bool {
    const BEGINNINGS: [&str; 7] = [
        "don't ", "don’t ", "do not ", "never ", "no ", "not ", "nunca ",
    ];
    let text = text.trim().to_lowercase();
    let begins = text.trim_start_matches('¡');
    BEGINNINGS.iter().any(|no| begins.starts_with(no))
}

/// An id.
pub(super) fn id(entry: &Entry<'_>) -> Option<Id> {
    let given = entry.text()?;
    let id = given.parse::<Id>();
    if let Err(error) = &id {
        entry.refuse(error.to_string(), format!("write \"{}\"", likely_id(given)));
    }
    id.ok()
}

/// The name of a figure there is.
pub(super) fn figure(entry: &Entry<'_>) -> Option<String> {
    let given = entry.text()?;
    if is_figure(given) {
        return Some(given.to_owned());
    }
    let meant = likely_id(given);
    let meant = figures().find(|name| *name == meant);
    let fix = match meant.or_else(|| nearest(given, figures())) {
        Some(name) => format!("did you mean \"{name}\"?"),
        None => "the page /figures shows all there are".to_owned(),
    };
    entry.refuse("there is no figure of this name", fix);
    None
}

/// What somebody may have meant.
fn likely_id(given: &str) -> String {
    let mut id = String::new();
    for c in given.to_lowercase().chars() {
        if c.is_ascii_lowercase() || (c.is_ascii_digit() && !id.is_empty()) {
            id.push(c);
        } else if !id.is_empty() && !id.ends_with('-') {
            id.push('-');
        }
    }
    id.truncate(40);
    let id = id.trim_matches('-');
    if id.is_empty() { "beam-walk" } else { id }.to_owned()
}

/// A run of grades within another.
pub(super) fn grades(entry: &Entry<'_>, within: Grades, whose: &str) -> Option<Grades> {
    let given = entry.text()?.parse::<Grades>();
    match given {
        Err(error) => {
            entry.refuse(error.to_string(), format!("write \"{within}\" for all"));
            None
        }
        Ok(given) if !within.covers(given) => {
            entry.refuse(
                format!("{whose} has grades {within}, and `{given}` goes beyond"),
                format!("stay within \"{within}\""),
            );
            None
        }
        Ok(given) => Some(given),
    }
}

/// One of a set of names.
pub(super) fn one_of<T: Copy + FromStr>(
    entry: &Entry<'_>,
    all: &[T],
    name: fn(T) -> &'static str,
    what: &str,
) -> Option<T> {
    let given = entry.text()?;
    let parsed = given.parse::<T>().ok();
    if parsed.is_none() {
        let names = || all.iter().map(|one| name(*one));
        let fix = if let Some(meant) = nearest(given, names()) {
            format!("did you mean \"{meant}\"?")
        } else {
            let names: Vec<String> = names().map(|one| format!("\"{one}\"")).collect();
            format!("write one of {}", names.join(", "))
        };
        entry.refuse(format!("there is no {what} of this name"), fix);
    }
    parsed
}
