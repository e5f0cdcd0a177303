//! What pages say, in the reader's language: one Fluent file each.
//!
//! Not here: the sentences themselves (`web/words/`).

use std::{collections::BTreeMap, sync::LazyLock};

use afterturn_core::{plan, wire};
use fluent_bundle::{FluentArgs, FluentBundle, FluentResource};
use unic_langid::LanguageIdentifier;

/// All sentences of a language; those of the vault stand in a file of their own.
const ENGLISH: &str = concat!(
    include_str!("../../web/words/en.ftl"),
    include_str!("../../web/words/vault/en.ftl")
);
const SPANISH: &str = concat!(
    include_str!("../../web/words/es.ftl"),
    include_str!("../../web/words/vault/es.ftl")
);

/// A language the pages speak.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Language {
    English,
    Spanish,
}

impl Language {
    /// Every language.
    pub(super) const ALL: [Self; 2] = [Self::English, Self::Spanish];

    /// By its tag, as in `?lang=es`.
    pub(super) fn from_tag(tag: &str) -> Option<Self> {
        match tag.split(['-', '_']).next() {
            Some("en") => Some(Self::English),
            Some("es") => Some(Self::Spanish),
            _ => None,
        }
    }

    /// The asked-for language, else the first that an `Accept-Language` header
    /// names and we speak, else English.
    pub(super) fn choose(asked: Option<&str>, accepted: Option<&str>) -> Self {
        let from_header = || {
            let tags = accepted?
                .split(',')
                .map(|part| part.split(';').next().unwrap_or(part));
            tags.map(str::trim).find_map(Self::from_tag)
        };
        asked
            .and_then(Self::from_tag)
            .or_else(from_header)
            .unwrap_or(Self::English)
    }

    /// Its tag.
    pub(super) const fn tag(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::Spanish => "es",
        }
    }

    /// The same in messages.
    pub(super) const fn on_wire(self) -> wire::Language {
        match self {
            Self::English => wire::Language::En,
            Self::Spanish => wire::Language::Es,
        }
    }

    /// The same in a unit file.
    pub(super) const fn of_units(self) -> plan::Language {
        match self {
            Self::English => plan::Language::En,
            Self::Spanish => plan::Language::Es,
        }
    }

    /// Its words.
    pub(super) fn words(self) -> &'static Words {
        static IN_ENGLISH: LazyLock<Words> = LazyLock::new(|| Words::read("en", ENGLISH));
        static IN_SPANISH: LazyLock<Words> = LazyLock::new(|| Words::read("es", SPANISH));
        match self {
            Self::English => &IN_ENGLISH,
            Self::Spanish => &IN_SPANISH,
        }
    }
}

/// One language's sentences. A variable in one stands for itself in braces;
/// whoever shows the sentence fills it in.
pub(super) struct Words {
    sentences: BTreeMap<String, String>,
    /// The sentences scripts use, as a JSON object.
    live_json: String,
}

/// Ids of the sentences that scripts use start like this.
const LIVE: &str = "live-";

impl Words {
    fn read(tag: &str, source: &str) -> Self {
        let resource = FluentResource::try_new(source.to_owned())
            .unwrap_or_else(|(_, errors)| panic!("web/words/{tag}.ftl is well formed: {errors:?}"));
        let language: LanguageIdentifier = tag.parse().expect("our tags are language tags");
        let mut bundle = FluentBundle::new(vec![language]);
        // The marks that isolate text directions would end up in script text.
        bundle.set_use_isolating(false);
        bundle
            .add_resource(resource)
            .expect("ids are unique within a file");
        let mut fill_ins = FluentArgs::new();
        for name in variables(source) {
            fill_ins.set(name, format!("{{{name}}}"));
        }
        let sentences: BTreeMap<String, String> = ids(source)
            .filter_map(|id| Some((id.to_owned(), format(&bundle, &fill_ins, id)?)))
            .collect();
        let live: BTreeMap<_, _> = sentences
            .iter()
            .filter(|(id, _)| id.starts_with(LIVE))
            .collect();
        // Inside a script element only `<` could end it early.
        let live_json = serde_json::to_string(&live)
            .expect("text to text is plain data")
            .replace('<', "\\u003c");
        Self {
            sentences,
            live_json,
        }
    }

    /// A sentence; its id where there is none, so that nothing is ever blank.
    pub(super) fn get<'a>(&'a self, id: &'a str) -> &'a str {
        self.sentences.get(id).map_or(id, String::as_str)
    }

    /// The sentences for scripts, as a JSON object.
    pub(super) fn live_json(&self) -> &str {
        &self.live_json
    }
}

fn format(
    bundle: &FluentBundle<FluentResource>,
    fill_ins: &FluentArgs<'_>,
    id: &str,
) -> Option<String> {
    let pattern = bundle.get_message(id)?.value()?;
    let mut errors = Vec::new();
    let text = bundle.format_pattern(pattern, Some(fill_ins), &mut errors);
    debug_assert!(errors.is_empty(), "{id}: {errors:?}");
    Some(text.into_owned())
}

/// The ids of a file's messages, in order.
fn ids(source: &str) -> impl Iterator<Item = &str> {
    source.lines().filter_map(|line| {
        let (id, _) = line.split_once('=')?;
        let id = id.trim_end();
        let starts = id.chars().next().is_some_and(|c| c.is_ascii_alphabetic());
        starts.then_some(id)
    })
}

/// The variables that a file's messages use.
fn variables(source: &str) -> impl Iterator<Item = &str> {
    source.split('$').skip(1).map(|rest| {
        let end = rest.find(|c: char| !c.is_ascii_alphanumeric() && c != '-' && c != '_');
        &rest[..end.unwrap_or(rest.len())]
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_language_is_asked_for_accepted_or_english() {
        assert_eq!(Language::choose(Some("es"), Some("en")), Language::Spanish);
        assert_eq!(
            Language::choose(None, Some("fr, es-MX;q=0.8, en")),
            Language::Spanish
        );
        assert_eq!(Language::choose(Some("xx"), None), Language::English);
    }

    #[test]
    fn both_files_hold_the_same_ids_and_every_sentence_formats() {
        let [english, spanish] =
            [ENGLISH, SPANISH].map(|source| ids(source).map(str::to_owned).collect::<Vec<_>>());
        assert_eq!(english, spanish);
        for language in Language::ALL {
            for id in &english {
                let text = language.words().get(id);
                assert!(!text.is_empty() && text != *id, "{id} in {language:?}");
                assert!(
                    !text.contains("{$") && !text.contains("{ $"),
                    "{id}: {text}"
                );
            }
        }
    }
}
