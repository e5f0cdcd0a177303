//! A sentence in the languages of the school.
//!
//! Not here: the sentences of the program itself.

use std::collections::BTreeMap;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// A language a unit can be written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Language {
    /// English.
    En,
    /// Spanish.
    Es,
}

impl Language {
    /// Every language.
    pub const ALL: [Self; 2] = [Self::En, Self::Es];

    /// Its tag.
    #[must_use]
    pub const fn tag(self) -> &'static str {
        match self {
            Self::En => "en",
            Self::Es => "es",
        }
    }
}

impl FromStr for Language {
    type Err = ();

    fn from_str(tag: &str) -> Result<Self, ()> {
        let mut all = Self::ALL.into_iter();
        all.find(|language| language.tag() == tag).ok_or(())
    }
}

/// A sentence in one language or more.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct Text(BTreeMap<Language, String>);

impl Text {
    /// A sentence in one language.
    #[must_use]
    pub fn new(language: Language, sentence: impl Into<String>) -> Self {
        Self::default().with(language, sentence)
    }

    /// This, in one more language.
    #[must_use]
    pub fn with(mut self, language: Language, sentence: impl Into<String>) -> Self {
        self.0.insert(language, sentence.into());
        self
    }

    /// In this language; in another rather than not at all.
    #[must_use]
    pub fn get(&self, language: Language) -> &str {
        let any = || self.0.values().next();
        self.0
            .get(&language)
            .or_else(any)
            .map_or("", String::as_str)
    }

    /// Whether it is there in this language.
    #[must_use]
    pub fn has(&self, language: Language) -> bool {
        self.0.contains_key(&language)
    }

    /// Each language with its sentence.
    pub fn iter(&self) -> impl Iterator<Item = (Language, &str)> {
        self.0.iter().map(|(language, s)| (*language, s.as_str()))
    }
}

/// How many words a child has to read.
#[must_use]
pub fn words_in(sentence: &str) -> usize {
    // A dash or an ampersand by itself is read over.
    let word = |part: &&str| part.chars().any(char::is_alphanumeric);
    sentence.split_whitespace().filter(word).count()
}
