//! Finding one's way in an editable TOML document: tables and rows of both
//! spellings, `[[heads]]` and `[{ … }]`, looked at alike.
//!
//! Not here: which keys a unit has.

use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, Value};

use super::edit::replace;

/// Rows that are written with a head, and what a new one of them is called.
const HEADED: [(&str, Option<&str>); 6] = [
    ("station", Some("station")),
    ("level", Some("level")),
    ("other_way", Some("way")),
    ("cue", Some("cue")),
    ("band", None),
    ("permission", None),
];

/// The word in the ids of a row; none for a row whose items have none.
pub(super) fn word_of(row: &str) -> Option<&'static str> {
    if row == "kit" {
        return Some("kit");
    }
    HEADED.iter().find(|(name, _)| *name == row)?.1
}

/// A place in a document.
pub(super) enum Place<'d> {
    Item(&'d mut Item),
    Table(&'d mut Table),
    Value(&'d mut Value),
}

/// What a path leads to.
pub(super) fn find<'d>(root: &'d mut Item, path: &[String]) -> Option<Place<'d>> {
    let mut at = Place::Item(root);
    let mut rest = path;
    while let [key, more @ ..] = rest {
        rest = more;
        let next = at.get(key)?;
        at = match next {
            Place::Item(Item::ArrayOfTables(_) | Item::Value(Value::Array(_)))
            | Place::Value(Value::Array(_)) => {
                // A path that ends at a row means the row's owner.
                let [which, more @ ..] = rest else {
                    return None;
                };
                rest = more;
                next.row_item(which)?
            }
            other => other,
        };
    }
    Some(at)
}

impl<'d> Place<'d> {
    fn get(self, key: &str) -> Option<Self> {
        match self {
            // Asking an item for a key that is not there would make one.
            Place::Item(item) if item.get(key).is_some() => item.get_mut(key).map(Place::Item),
            Place::Table(table) if table.contains_key(key) => table.get_mut(key).map(Place::Item),
            Place::Value(value) => value.as_inline_table_mut()?.get_mut(key).map(Place::Value),
            _ => None,
        }
    }

    fn row_item(self, which: &str) -> Option<Self> {
        match self {
            Place::Item(Item::ArrayOfTables(row)) => {
                let at = place_in_tables(row, which)?;
                row.get_mut(at).map(Place::Table)
            }
            Place::Item(Item::Value(Value::Array(row))) | Place::Value(Value::Array(row)) => {
                let at = place_in_array(row, which)?;
                row.get_mut(at).map(Place::Value)
            }
            _ => None,
        }
    }

    /// It is a text.
    pub(super) fn is_text(&self) -> bool {
        match self {
            Place::Item(item) => item.is_str(),
            Place::Table(_) => false,
            Place::Value(value) => value.is_str(),
        }
    }

    /// The value itself becomes another.
    pub(super) fn put(self, new: Value) {
        match self {
            Place::Item(Item::Value(old)) | Place::Value(old) => replace(old, new),
            Place::Item(_) | Place::Table(_) => {}
        }
    }

    /// A key gets a value. `None` where there can be no keys, or where a row of
    /// heads would be lost.
    pub(super) fn set(self, key: &str, new: Value) -> Option<()> {
        match self {
            Place::Item(item) => match item {
                Item::Table(table) => set_in_table(table, key, new),
                Item::Value(value) => set_in_value(value, key, new),
                _ => None,
            },
            Place::Table(table) => set_in_table(table, key, new),
            Place::Value(value) => set_in_value(value, key, new),
        }
    }

    /// A key is taken out.
    pub(super) fn take(self, key: &str) -> Option<()> {
        let gone = match self {
            Place::Item(item) => item.as_table_like_mut()?.remove(key).is_some(),
            Place::Table(table) => table.remove(key).is_some(),
            Place::Value(value) => value.as_inline_table_mut()?.remove(key).is_some(),
        };
        gone.then_some(())
    }

    /// A row of this place, if it is there.
    pub(super) fn existing_row(self, name: &str) -> Option<Row<'d>> {
        match self.get(name)? {
            Place::Item(Item::ArrayOfTables(row)) => Some(Row::Tables(row)),
            Place::Item(Item::Value(Value::Array(row))) | Place::Value(Value::Array(row)) => {
                Some(Row::Array(row))
            }
            _ => None,
        }
    }

    /// A row of this place, begun if need be in the spelling it usually has.
    pub(super) fn row(self, name: &str) -> Option<Row<'d>> {
        let headed = HEADED.iter().any(|(row, _)| *row == name);
        let table = match self {
            Place::Item(Item::Table(table)) | Place::Table(table) => table,
            Place::Item(Item::Value(value)) | Place::Value(value) => {
                let table = value.as_inline_table_mut()?;
                if !table.contains_key(name) {
                    table.insert(name, Value::Array(Array::new()));
                }
                return table.get_mut(name)?.as_array_mut().map(Row::Array);
            }
            Place::Item(_) => return None,
        };
        if !table.contains_key(name) {
            let empty = if headed {
                Item::ArrayOfTables(ArrayOfTables::new())
            } else {
                Item::Value(Value::Array(Array::new()))
            };
            table.insert(name, empty);
        }
        Place::Table(table).existing_row(name)
    }
}

fn set_in_table(table: &mut Table, key: &str, new: Value) -> Option<()> {
    match table.get_mut(key) {
        Some(Item::Value(old)) => replace(old, new),
        Some(Item::ArrayOfTables(_)) => return None,
        Some(other) => *other = Item::Value(new),
        None => {
            table.insert(key, Item::Value(new));
        }
    }
    Some(())
}

fn set_in_value(value: &mut Value, key: &str, new: Value) -> Option<()> {
    let table = value.as_inline_table_mut()?;
    match table.get_mut(key) {
        Some(old) => replace(old, new),
        None => {
            table.insert(key, new);
        }
    }
    Some(())
}

/// A row in either spelling.
pub(super) enum Row<'d> {
    Tables(&'d mut ArrayOfTables),
    Array(&'d mut Array),
}

impl Row<'_> {
    pub(super) fn find(&self, which: &str) -> Option<usize> {
        match self {
            Row::Tables(row) => place_in_tables(row, which),
            Row::Array(row) => place_in_array(row, which),
        }
    }

    pub(super) fn is_empty(&self) -> bool {
        match self {
            Row::Tables(row) => row.is_empty(),
            Row::Array(row) => row.is_empty(),
        }
    }

    pub(super) fn remove(&mut self, at: usize) {
        match self {
            Row::Tables(row) => {
                row.remove(at);
            }
            Row::Array(row) => {
                row.remove(at);
            }
        }
    }

    /// One more, before another or at the end.
    pub(super) fn insert(&mut self, at: Option<usize>, new: Value) -> Option<()> {
        match self {
            Row::Tables(row) => {
                let Value::InlineTable(table) = new else {
                    return None;
                };
                let mut table = with_heads(table.into_table());
                // An empty line before the head, as between the others.
                table.decor_mut().set_prefix("\n");
                row.insert(at.unwrap_or(row.len()), table);
            }
            Row::Array(row) => {
                let mut new = new;
                let like = row.get(at.unwrap_or(row.len().saturating_sub(1)));
                let prefix = like.and_then(|like| like.decor().prefix()?.as_str());
                // The same indent, and none of the other's comments.
                let indent = prefix.and_then(|text| text.rfind('\n').map(|at| &text[at..]));
                new.decor_mut().set_prefix(indent.unwrap_or(" ").to_owned());
                let indented = indent.is_some();
                if row.is_empty() {
                    new.decor_mut().set_prefix("");
                }
                row.insert_formatted(at.unwrap_or(row.len()), new);
                if indented {
                    row.set_trailing_comma(true);
                }
            }
        }
        Some(())
    }

    /// One of the row, before another or at the end.
    pub(super) fn relocate(&mut self, from: usize, before: Option<usize>) {
        let count = match self {
            Row::Tables(row) => row.len(),
            Row::Array(row) => row.len(),
        };
        let target = before.unwrap_or(count);
        let target = if target > from { target - 1 } else { target };
        match self {
            Row::Tables(row) => {
                let table = row.remove(from);
                row.insert(target, table);
            }
            Row::Array(row) => {
                let value = row.remove(from);
                row.insert_formatted(target, value);
            }
        }
    }
}

/// The rows inside a new table in the spelling they usually have.
fn with_heads(mut table: Table) -> Table {
    for (name, _) in HEADED {
        let Some(Item::Value(Value::Array(row))) = table.get(name) else {
            continue;
        };
        let inner = row.iter().filter_map(Value::as_inline_table);
        let inner: Vec<Table> = inner
            .map(|one| with_heads(one.clone().into_table()))
            .collect();
        let mut heads = ArrayOfTables::new();
        for mut one in inner {
            one.decor_mut().set_prefix("\n");
            heads.push(one);
        }
        table.remove(name);
        table.insert(name, Item::ArrayOfTables(heads));
    }
    table
}

pub(super) fn place_in_tables(row: &ArrayOfTables, which: &str) -> Option<usize> {
    let id = |table: &Table| table.get("id").and_then(Item::as_str) == Some(which);
    numbered(which, row.len()).or_else(|| row.iter().position(id))
}

fn place_in_array(row: &Array, which: &str) -> Option<usize> {
    let id = |value: &Value| {
        let table = value.as_inline_table();
        table.and_then(|table| table.get("id")?.as_str()) == Some(which)
    };
    numbered(which, row.len()).or_else(|| row.iter().position(id))
}

/// `#3`, within a row of so many. No id begins like this.
fn numbered(which: &str, count: usize) -> Option<usize> {
    let at = which.strip_prefix('#')?.parse::<usize>().ok()?;
    (at < count).then_some(at)
}

/// Every id in a document.
pub(super) fn ids(document: &DocumentMut) -> impl Iterator<Item = String> {
    let mut found = Vec::new();
    in_item(document.as_item(), &mut found);
    found.into_iter()
}

fn in_item(item: &Item, found: &mut Vec<String>) {
    match item {
        Item::Table(table) => in_table(table, found),
        Item::ArrayOfTables(row) => row.iter().for_each(|table| in_table(table, found)),
        Item::Value(value) => in_value(value, found),
        Item::None => {}
    }
}

fn in_table(table: &Table, found: &mut Vec<String>) {
    found.extend(table.get("id").and_then(Item::as_str).map(str::to_owned));
    table.iter().for_each(|(_, item)| in_item(item, found));
}

fn in_value(value: &Value, found: &mut Vec<String>) {
    match value {
        Value::InlineTable(table) => {
            found.extend(table.get("id").and_then(Value::as_str).map(str::to_owned));
            table.iter().for_each(|(_, value)| in_value(value, found));
        }
        Value::Array(row) => row.iter().for_each(|value| in_value(value, found)),
        _ => {}
    }
}
