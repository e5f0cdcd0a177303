//! A sentence about a file: in English for a terminal, and by its id with what
//! is filled in, so that a page can say it in its own language.
//!
//! Not here: the other languages (`web/words/`).

use std::fmt;

use serde::{Serialize, Serializer, ser::SerializeStruct as _};

/// See the module.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sentence {
    english: String,
    /// Empty where there is none in other languages.
    id: &'static str,
    values: Vec<(&'static str, String)>,
}

impl Sentence {
    /// A sentence that pages know as `live-check-` and this id; in braces stand
    /// the names of what is filled in.
    #[must_use]
    pub fn new(
        id: &'static str,
        english: &str,
        values: impl IntoIterator<Item = (&'static str, String)>,
    ) -> Self {
        let values: Vec<_> = values.into_iter().collect();
        let mut whole = english.to_owned();
        for (name, value) in &values {
            whole = whole.replace(&format!("{{{name}}}"), value);
        }
        Self {
            english: whole,
            id,
            values,
        }
    }

    /// What says more in English than a page needs, where it stands at the field.
    #[must_use]
    pub fn known_as(
        english: impl Into<String>,
        id: &'static str,
        values: impl IntoIterator<Item = (&'static str, String)>,
    ) -> Self {
        Self {
            english: english.into(),
            id,
            values: values.into_iter().collect(),
        }
    }

    /// In English.
    #[must_use]
    pub fn english(&self) -> &str {
        &self.english
    }

    /// Whether it says this somewhere, in English.
    #[must_use]
    pub fn contains(&self, words: &str) -> bool {
        self.english.contains(words)
    }
}

/// A sentence by its id, in English, with what is filled in: `say!("empty",
/// "`{key}` is empty", key = entry.key)`.
macro_rules! say {
    ($id:literal, $english:literal $(, $name:ident = $value:expr)* $(,)?) => {
        $crate::settings::sentence::Sentence::new(
            $id,
            $english,
            [$((stringify!($name), $value.to_string())),*],
        )
    };
}
pub(crate) use say;

impl From<String> for Sentence {
    fn from(english: String) -> Self {
        Self {
            english,
            ..Self::default()
        }
    }
}

impl From<&str> for Sentence {
    fn from(english: &str) -> Self {
        english.to_owned().into()
    }
}

impl fmt::Display for Sentence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.english)
    }
}

impl Serialize for Sentence {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let values: std::collections::BTreeMap<_, _> = self.values.iter().cloned().collect();
        let mut whole = to.serialize_struct("Sentence", 3)?;
        whole.serialize_field("english", &self.english)?;
        whole.serialize_field("id", self.id)?;
        whole.serialize_field("values", &values)?;
        whole.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_whole_in_english_and_comes_apart_for_a_page() {
        let sentence = Sentence::new(
            "words",
            "`{key}` has {count} words",
            [("key", "text".to_owned()), ("count", "9".to_owned())],
        );
        assert_eq!(sentence.to_string(), "`text` has 9 words");
        let page = serde_json::to_value(&sentence).expect("plain data");
        assert_eq!(page["id"], "words");
        assert_eq!(page["values"]["count"], "9");
        assert_eq!(
            serde_json::to_value(Sentence::from("x")).expect("plain")["id"],
            ""
        );
    }
}
