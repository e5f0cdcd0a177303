//! A unit gets one more language, or one less: each of its texts at once, in the
//! file's own text.
//!
//! A new language begins as a copy of the first, so that the unit can be used
//! all the while; what is not translated yet is warned of when it is read.
//!
//! Not here: translating.

use afterturn_core::plan::Language;
use toml_edit::{Array, DocumentMut, InlineTable, Item, TableLike, Value};

/// The keys that hold a text, wherever they stand.
const TEXTS: [&str; 7] = [
    "title",
    "task",
    "watch_from",
    "reset",
    "no_spotter",
    "item",
    "text",
];
/// Those that hold a list of them.
const LISTS: [&str; 2] = ["reminders", "cautions"];

/// Adds a language; nothing where the unit has it already or says none
/// properly.
pub(super) fn add(document: &mut DocumentMut, language: Language) -> Option<()> {
    let spoken = document.get_mut("languages")?.as_array_mut()?;
    let first = spoken.iter().find_map(Value::as_str)?.to_owned();
    let tag = language.tag();
    if spoken.iter().any(|one| one.as_str() == Some(tag)) {
        return None;
    }
    spoken.push(tag);
    each_text(document.as_table_mut(), &|text| more(text, &first, tag));
    Some(())
}

/// Takes a language out; nothing where the unit does not have it, or no other.
pub(super) fn remove(document: &mut DocumentMut, language: Language) -> Option<()> {
    let spoken = document.get_mut("languages")?.as_array_mut()?;
    let tag = language.tag();
    let at = spoken.iter().position(|one| one.as_str() == Some(tag))?;
    if spoken.len() < 2 {
        return None;
    }
    spoken.remove(at);
    if let Some(first) = spoken.get_mut(0).filter(|_| at == 0) {
        first.decor_mut().set_prefix("");
    }
    each_text(document.as_table_mut(), &|text| less(text, tag));
    Some(())
}

/// Works on every text of a table and of all below it.
fn each_text(table: &mut dyn TableLike, work: &dyn Fn(&mut Value)) {
    for (key, item) in table.iter_mut() {
        let key = key.get().to_owned();
        if let (true, Some(text)) = (TEXTS.contains(&key.as_str()), item.as_value_mut()) {
            work(text);
        } else if let (true, Some(list)) = (LISTS.contains(&key.as_str()), item.as_array_mut()) {
            list.iter_mut().for_each(work);
        } else {
            below(item, work);
        }
    }
}

fn below(item: &mut Item, work: &dyn Fn(&mut Value)) {
    match item {
        Item::Table(table) => each_text(table, work),
        Item::ArrayOfTables(row) => row.iter_mut().for_each(|one| each_text(one, work)),
        Item::Value(Value::InlineTable(table)) => each_text(table, work),
        Item::Value(Value::Array(row)) => in_array(row, work),
        _ => {}
    }
}

fn in_array(row: &mut Array, work: &dyn Fn(&mut Value)) {
    for one in row.iter_mut() {
        if let Some(table) = one.as_inline_table_mut() {
            each_text(table, work);
        }
    }
}

fn more(text: &mut Value, first: &str, tag: &str) {
    if let Some(plain) = text.as_str().map(str::to_owned) {
        let mut table = InlineTable::new();
        table.insert(first, Value::from(plain.as_str()));
        table.insert(tag, Value::from(plain));
        super::edit::replace(text, Value::InlineTable(table));
    } else if let Some(table) = text.as_inline_table_mut() {
        let from = table
            .get(first)
            .or_else(|| table.iter().next().map(|(_, one)| one));
        let from = from.and_then(Value::as_str).map(str::to_owned);
        if let (Some(from), None) = (from, table.get(tag)) {
            table.insert(tag, Value::from(from));
        }
    }
}

fn less(text: &mut Value, tag: &str) {
    if let Some(table) = text.as_inline_table_mut() {
        table.remove(tag);
    }
}
