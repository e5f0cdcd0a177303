//! Changes to a unit file's text that leave the rest of it as it was written,
//! comments included.
//!
//! A place in the file is a path: keys, and in a row the `id` of what is meant,
//! or `#0` where it has none (a band, a reminder).
//!
//! Not here: whether the outcome makes sense; it is read like any other file.

use afterturn_core::plan::Language;
use serde::Deserialize;
use toml_edit::{DocumentMut, InlineTable, Item, Value};

use super::rows::{self, Row};
use super::{languages, order};

/// A place in a unit file.
pub type Path = Vec<String>;

/// One change.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Edit {
    /// A key gets this value; nothing (`null`) takes the key out.
    Set {
        /// Where.
        at: Path,
        /// What.
        to: serde_json::Value,
    },
    /// A row gets one more; a row that is not there yet begins. What needs an
    /// id is given a new one.
    Add {
        /// Which row.
        to: Path,
        /// What.
        value: serde_json::Value,
        /// Before which it stands; at the end without.
        #[serde(default)]
        before: Option<String>,
    },
    /// One of a row is taken out.
    Remove {
        /// Which.
        at: Path,
    },
    /// One of a row is put elsewhere in it.
    Move {
        /// Which.
        at: Path,
        /// Before which it stands; at the end without.
        #[serde(default)]
        before: Option<String>,
    },
    /// Every text is there in one more language, as a copy to be translated.
    AddLanguage {
        /// Which.
        language: Language,
    },
    /// No text is there in this language any more.
    RemoveLanguage {
        /// Which.
        language: Language,
    },
}

/// Why a change cannot be made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// The text is not TOML, so nothing in it can be found.
    #[error("the file has to be mended in a text editor first: {0}")]
    Unreadable(String),
    /// There is nothing at this place.
    #[error("there is nothing at {0}")]
    Nowhere(String),
    /// What is there cannot be changed like this.
    #[error("{0} cannot be changed like this")]
    Unfit(String),
    /// The value is none that such a file can hold.
    #[error("a value for {0} that the file cannot hold")]
    Value(String),
}

/// Makes changes, one after the other: all of them or none. With the new text
/// come the ids that were given.
pub fn apply(text: &str, edits: &[Edit]) -> Result<(String, Vec<String>), EditError> {
    let mut document: DocumentMut = text
        .parse()
        .map_err(|error: toml_edit::TomlError| EditError::Unreadable(error.message().to_owned()))?;
    let mut given = Vec::new();
    for edit in edits {
        match edit {
            Edit::Set { at, to } => set(&mut document, at, to)?,
            Edit::Add { to, value, before } => {
                given.extend(add(&mut document, to, value, before.as_deref())?);
            }
            Edit::Remove { at } => {
                let (place, mut row) = row_of(&mut document, at)?;
                row.remove(place);
                if row.is_empty() {
                    // An empty row is a mistake; none at all is none.
                    set(&mut document, &at[..at.len() - 1], &serde_json::Value::Null)?;
                }
            }
            Edit::AddLanguage { language } => {
                let added = languages::add(&mut document, *language);
                added.ok_or_else(|| EditError::Unfit("languages".to_owned()))?;
            }
            Edit::RemoveLanguage { language } => {
                let removed = languages::remove(&mut document, *language);
                removed.ok_or_else(|| EditError::Unfit("languages".to_owned()))?;
            }
            Edit::Move { at, before } => {
                let (place, mut row) = row_of(&mut document, at)?;
                let target = match before {
                    Some(other) => Some(row.find(other).ok_or_else(|| nowhere(at))?),
                    None => None,
                };
                row.relocate(place, target);
                order::renumber(&mut document, &at[..at.len() - 1]);
            }
        }
    }
    Ok((document.to_string(), given))
}

/// The greatest number that the editor has given out in this text.
pub(super) fn last_id(document: &DocumentMut) -> u32 {
    let kept = document.get("last_id").and_then(Item::as_integer);
    let kept = kept.and_then(|n| u32::try_from(n).ok()).unwrap_or(0);
    rows::ids(document)
        .filter_map(|id| id.rsplit_once('-')?.1.parse::<u32>().ok())
        .filter(|n| *n <= super::file::MOST_LAST_ID)
        .fold(kept, u32::max)
}

/// Sets the counter, so that what was given out is never given again.
pub(super) fn keep_last_id(document: &mut DocumentMut, last: u32) {
    let value = Value::from(i64::from(last));
    if let Some(Item::Value(kept)) = document.get_mut("last_id") {
        replace(kept, value);
    } else {
        document.insert("last_id", Item::Value(value));
    }
}

fn set(document: &mut DocumentMut, at: &[String], to: &serde_json::Value) -> Result<(), EditError> {
    let (key, above) = at.split_last().ok_or_else(|| nowhere(at))?;
    let place = rows::find(document.as_item_mut(), above).ok_or_else(|| nowhere(at))?;
    if place.is_text() {
        // A text in one language may be written without saying which.
        let only = to.as_str().filter(|_| key.len() == 2);
        let value = only.ok_or_else(|| EditError::Unfit(shown(at)))?;
        place.put(Value::from(value));
        return Ok(());
    }
    if to.is_null() {
        return place.take(key).ok_or_else(|| nowhere(at));
    }
    let value = value(to).ok_or_else(|| EditError::Value(shown(at)))?;
    place
        .set(key, value)
        .ok_or_else(|| EditError::Unfit(shown(at)))
}

fn add(
    document: &mut DocumentMut,
    to: &[String],
    given: &serde_json::Value,
    before: Option<&str>,
) -> Result<Option<String>, EditError> {
    let (name, above) = to.split_last().ok_or_else(|| nowhere(to))?;
    let bad = || EditError::Value(shown(to));
    let mut value = value(given).ok_or_else(bad)?;
    let mut id = None;
    if rows::word_of(name).is_some() {
        let table = value.as_inline_table_mut().ok_or_else(bad)?;
        table.remove("id");
        let mut last = last_id(document);
        give_ids(table, name, &mut last);
        id = table.get("id").and_then(Value::as_str).map(str::to_owned);
        keep_last_id(document, last);
    }
    let place = rows::find(document.as_item_mut(), above).ok_or_else(|| nowhere(to))?;
    let mut row = place.row(name).ok_or_else(|| EditError::Unfit(shown(to)))?;
    let at = match before {
        Some(other) => Some(row.find(other).ok_or_else(|| nowhere(to))?),
        None => None,
    };
    row.insert(at, value).ok_or_else(bad)?;
    order::renumber(document, to);
    Ok(id)
}

/// Gives an id to one of a row that has none, and to those of the rows in it.
fn give_ids(table: &mut InlineTable, row: &str, last: &mut u32) {
    if let (Some(word), None) = (rows::word_of(row), table.get("id")) {
        *last += 1;
        // First, where people look for it.
        let mut whole = InlineTable::new();
        whole.insert("id", Value::from(format!("{word}-{last}")));
        whole.extend(table.iter().map(owned));
        *table = whole;
    }
    for (key, value) in table.iter_mut() {
        let inner = value
            .as_array_mut()
            .into_iter()
            .flat_map(|row| row.iter_mut());
        for one in inner.filter_map(Value::as_inline_table_mut) {
            give_ids(one, key.get(), last);
        }
    }
}

fn owned((key, value): (&str, &Value)) -> (String, Value) {
    (key.to_owned(), value.clone())
}

/// The row that a place is in, and which of it is meant.
fn row_of<'d>(document: &'d mut DocumentMut, at: &[String]) -> Result<(usize, Row<'d>), EditError> {
    let [above @ .., name, which] = at else {
        return Err(nowhere(at));
    };
    let place = rows::find(document.as_item_mut(), above).ok_or_else(|| nowhere(at))?;
    let row = place.existing_row(name).ok_or_else(|| nowhere(at))?;
    let place = row.find(which).ok_or_else(|| nowhere(at))?;
    Ok((place, row))
}

/// Puts a value where another was; what stood around that stays.
pub(super) fn replace(old: &mut Value, mut new: Value) {
    *new.decor_mut() = old.decor().clone();
    *old = new;
}

/// A value as the file holds it. Nothing that is no text, whole number, truth,
/// list or table.
fn value(given: &serde_json::Value) -> Option<Value> {
    Some(match given {
        serde_json::Value::String(text) => Value::from(text.as_str()),
        serde_json::Value::Bool(flag) => Value::from(*flag),
        serde_json::Value::Number(number) => Value::from(number.as_i64()?),
        serde_json::Value::Array(items) => {
            let items: Option<Vec<Value>> = items.iter().map(value).collect();
            items?.into_iter().collect()
        }
        serde_json::Value::Object(keys) => {
            let mut table = InlineTable::new();
            for (key, one) in keys.iter().filter(|(_, one)| !one.is_null()) {
                table.insert(key, value(one)?);
            }
            Value::InlineTable(table)
        }
        serde_json::Value::Null => return None,
    })
}

fn nowhere(at: &[String]) -> EditError {
    EditError::Nowhere(shown(at))
}

/// A place for a sentence; what is written in it came from outside.
fn shown(at: &[String]) -> String {
    let whole = at.join(" › ");
    let mut short: String = whole.chars().filter(|c| !c.is_control()).take(80).collect();
    if short.is_empty() {
        short.push_str("the file itself");
    }
    short
}
