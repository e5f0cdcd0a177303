//! Texts, ids and names out of a unit file.
//!
//! Not here: which key holds what.

use std::str::FromStr;

use afterturn_core::kernel::{figures, is_figure};
use afterturn_core::plan::{Grades, Id, Language, Text, words_in};

use super::picture::is_picture;
use crate::settings::diagnostic::Diagnostic;
use crate::settings::reader::{Findings, nearest};
use crate::settings::sentence::{Sentence, say};
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
                    say!(
                        "one-language",
                        "`{key}` is in one language only, and this unit is in {languages}",
                        key = entry.key,
                        languages = tags.join(" and "),
                    ),
                    say!(
                        "write",
                        "write {example}",
                        example = format!("{{ {} }}", example.join(", "))
                    ),
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
                say!("not-in-language", "this unit is not in `{tag}`", tag = tag),
                say!(
                    "language-or-out",
                    "take it out, or add \"{tag}\" to `languages`",
                    tag = tag
                ),
            ));
        }
    }
    table.finish();
    untranslated(entry, &text);
    whole.then_some(text)
}

/// Warns of a text that says the same in each language.
fn untranslated(entry: &Entry<'_>, text: &Text) {
    let mut all = text.iter().map(|(_, words)| words);
    let first = all.next().unwrap_or_default();
    let mut others = all.peekable();
    if others.peek().is_some() && others.all(|other| other == first) {
        entry.warn(
            say!("same-words", "this says the same in each language"),
            say!("translate", "translate it"),
        );
    }
}

/// One language of a text; `whose` is the key it is spoken of by.
fn sentence(entry: &Entry<'_>, whose: &Entry<'_>, limits: Limits) -> Option<String> {
    let text = entry.text()?;
    let key = whose.key;
    let count = text.trim().chars().count();
    if count == 0 {
        entry.refuse(
            say!("empty", "`{key}` is empty", key = key),
            say!("write-it", "write what belongs there"),
        );
        return None;
    }
    if text.chars().any(char::is_control) {
        entry.refuse(
            say!(
                "one-line",
                "`{key}` is one line of text, without tabs or line breaks",
                key = key
            ),
            say!("on-one-line", "write it on one line"),
        );
        return None;
    }
    if count > limits.characters {
        let most = limits.characters;
        entry.refuse(
            say!(
                "many-characters",
                "`{key}` may have {most} characters at most; this has {count}",
                key = key,
                most = most,
                count = count
            ),
            say!("say-shorter", "say it shorter"),
        );
        return None;
    }
    let words = words_in(text);
    if let Some(most) = limits.words.filter(|most| words > *most) {
        entry.refuse(
            say!(
                "many-words",
                "`{key}` may have {most} words at most, to be read at a glance; this has {words}",
                key = key,
                most = most,
                words = words
            ),
            say!(
                "leave-words-out",
                "leave out {count}, or say it in two",
                count = (words - most)
            ),
        );
        return None;
    }
    if limits.words.is_some() && says_what_not(text) {
        entry.warn(
            say!(
                "says-not",
                "this says what not to do, and a child sees that first"
            ),
            say!("say-what-to-do", "say what to do instead"),
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
        entry.refuse(
            Sentence::known_as(error.to_string(), "no-id", []),
            say!(
                "write",
                "write {example}",
                example = format!("\"{}\"", likely_id(given))
            ),
        );
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
        Some(name) => did_you_mean(name),
        None => say!("see-figures", "the page /figures shows all there are"),
    };
    entry.refuse(say!("no-figure", "there is no figure of this name"), fix);
    None
}

/// The name of a picture, as it was given when the picture was taken in.
pub(super) fn picture(entry: &Entry<'_>) -> Option<String> {
    let given = entry.text()?;
    if is_picture(given) {
        return Some(given.to_owned());
    }
    entry.refuse(
        say!("picture-name", "this is not the name of a picture"),
        say!(
            "take-picture-in",
            "choose the picture in the editor: it takes it in and writes its name here"
        ),
    );
    None
}

/// The nearest right name.
pub(super) fn did_you_mean(name: &str) -> Sentence {
    say!("did-you-mean", "did you mean \"{name}\"?", name = name)
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
            entry.refuse(
                Sentence::known_as(error.to_string(), "no-grades", []),
                say!(
                    "write-for-all",
                    "write \"{within}\" for all",
                    within = within
                ),
            );
            None
        }
        Ok(given) if !within.covers(given) => {
            entry.refuse(
                Sentence::known_as(
                    format!("`{given}` goes beyond the grades of {whose}, which are {within}"),
                    "grades-beyond",
                    [("within", within.to_string()), ("given", given.to_string())],
                ),
                say!("stay-within", "stay within \"{within}\"", within = within),
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
            did_you_mean(meant)
        } else {
            let names: Vec<String> = names().map(|one| format!("\"{one}\"")).collect();
            say!(
                "write-one-of",
                "write one of {names}",
                names = names.join(", ")
            )
        };
        let english = format!("there is no {what} of this name");
        entry.refuse(Sentence::known_as(english, "no-such-name", []), fix);
    }
    parsed
}
