//! From a place in a unit file's text to the path of what stands there, so that
//! a mistake can be shown at its field; and the file as a tree of plain values.
//!
//! Not here: changing anything.

use serde_json::{Map, Value};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::edit::Path;

/// Each stretch of the text that holds a value or a key, with its path.
pub(super) struct Places(Vec<(std::ops::Range<usize>, Path)>);

impl Places {
    /// All there are in a text; of one that is not TOML, what can be read.
    pub(super) fn of(text: &str) -> Self {
        let (root, _) = DeTable::parse_recoverable(text);
        let mut places = Vec::new();
        walk(root.get_ref(), &Path::new(), &mut places);
        Self(places)
    }

    /// The path of the least stretch around a byte; empty for none.
    pub(super) fn at(&self, offset: usize) -> Path {
        let around = self.0.iter().filter(|(span, _)| span.contains(&offset));
        let least = around.min_by_key(|(span, path)| (span.len(), usize::MAX - path.len()));
        least.map(|(_, path)| path.clone()).unwrap_or_default()
    }
}

impl Places {
    /// The first byte of what stands at a path, or at the longest part of it
    /// that there is: a text in one language may be written without saying
    /// which.
    pub(super) fn find(&self, path: &[String]) -> Option<usize> {
        (1..=path.len()).rev().find_map(|length| {
            let at = self
                .0
                .iter()
                .filter(|(_, found)| found[..] == path[..length]);
            // The key stands before the value; a caret belongs under the value.
            at.map(|(span, _)| span.start).max()
        })
    }
}

fn walk(table: &DeTable<'_>, path: &Path, places: &mut Vec<(std::ops::Range<usize>, Path)>) {
    for (key, value) in table {
        let below = longer(path, key.get_ref());
        places.push((key.span(), below.clone()));
        walk_value(value, below, places);
    }
}

fn walk_value(
    value: &Spanned<DeValue<'_>>,
    path: Path,
    places: &mut Vec<(std::ops::Range<usize>, Path)>,
) {
    match value.get_ref() {
        DeValue::Table(table) => walk(table, &path, places),
        DeValue::Array(items) => {
            for (at, item) in items.iter().enumerate() {
                let below = longer(&path, &name_in_row(item.get_ref(), at));
                walk_value(item, below, places);
            }
        }
        _ => {}
    }
    places.push((value.span(), path));
}

fn longer(path: &Path, next: &str) -> Path {
    let mut path = path.clone();
    path.push(next.to_owned());
    path
}

/// How an item of a row is called in a path.
fn name_in_row(item: &DeValue<'_>, at: usize) -> String {
    let id = match item {
        DeValue::Table(table) => table.get("id").and_then(|id| id.get_ref().as_str()),
        _ => None,
    };
    id.map_or_else(|| format!("#{at}"), str::to_owned)
}

/// A text's values as they are written.
pub(super) fn tree(text: &str) -> Value {
    let (root, _) = DeTable::parse_recoverable(text);
    plain_table(root.get_ref())
}

fn plain_table(table: &DeTable<'_>) -> Value {
    let keys = table.iter();
    let keys = keys.map(|(key, value)| (key.get_ref().to_string(), plain(value.get_ref())));
    Value::Object(keys.collect::<Map<_, _>>())
}

fn plain(value: &DeValue<'_>) -> Value {
    match value {
        DeValue::String(text) => Value::from(text.as_ref()),
        DeValue::Boolean(flag) => Value::from(*flag),
        DeValue::Integer(number) => {
            let parsed = i64::from_str_radix(number.as_str(), number.radix());
            parsed.map_or_else(|_| Value::from(number.as_str()), Value::from)
        }
        DeValue::Float(number) => Value::from(number.as_str()),
        DeValue::Datetime(when) => Value::from(when.to_string()),
        DeValue::Array(items) => items.iter().map(|item| plain(item.get_ref())).collect(),
        DeValue::Table(table) => plain_table(table),
    }
}
