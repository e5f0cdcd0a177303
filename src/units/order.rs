//! The order in which the heads of an editable TOML document are written.
//!
//! Not here: what stands under them.

use toml_edit::{DocumentMut, Item, Table};

use super::rows::place_in_tables;

/// Puts the heads of a row in the order of the row: the document is written in
/// the order of its heads' numbers, and one that came or went elsewhere has the
/// number of before, or none. What a head has below it goes with it.
pub(super) fn renumber(document: &mut DocumentMut, path: &[String]) {
    let root = document.as_table();
    let mut order = Vec::new();
    let mut last = 0;
    let row = Some(path).filter(|path| !path.is_empty());
    number_in(root, row, None, &mut last, &mut order);
    // The whole row stands together, where its first stood.
    let first = order.iter().filter(|(_, of_row)| of_row.is_some());
    let first = first.map(|(position, _)| *position).min().unwrap_or(0);
    let mut sorted: Vec<usize> = (0..order.len()).collect();
    sorted.sort_by_key(|at| match order[*at] {
        (position, None) => (position, 0, 0),
        (position, Some(of_row)) => (first, of_row + 1, position),
    });
    let mut numbers = vec![0; order.len()];
    for (number, at) in sorted.into_iter().enumerate() {
        numbers[at] = number as isize;
    }
    let mut numbers = numbers.into_iter();
    give_numbers(document.as_table_mut(), true, &mut numbers);
}

/// Notes each table's number in the order they are visited: its own or the last
/// one's, and which of the row it belongs to.
fn number_in(
    table: &Table,
    row: Option<&[String]>,
    of_row: Option<usize>,
    last: &mut isize,
    order: &mut Vec<(isize, Option<usize>)>,
) {
    for (key, item) in table {
        let below = row.and_then(|path| path.split_first());
        let below = below
            .filter(|(first, _)| *first == key)
            .map(|(_, rest)| rest);
        match item {
            Item::Table(inner) => {
                note(inner, of_row, last, order);
                number_in(inner, below, of_row, last, order);
            }
            Item::ArrayOfTables(tables) => {
                let meant = below.and_then(|rest| rest.split_first());
                let meant =
                    meant.and_then(|(which, rest)| Some((place_in_tables(tables, which)?, rest)));
                let is_row = below.is_some_and(<[String]>::is_empty);
                for (at, inner) in tables.iter().enumerate() {
                    let of_row = if is_row { Some(at) } else { of_row };
                    let row = meant
                        .filter(|(which, _)| *which == at)
                        .map(|(_, rest)| rest);
                    note(inner, of_row, last, order);
                    number_in(inner, row, of_row, last, order);
                }
            }
            _ => {}
        }
    }
}

fn note(
    table: &Table,
    of_row: Option<usize>,
    last: &mut isize,
    order: &mut Vec<(isize, Option<usize>)>,
) {
    *last = table.position().unwrap_or(*last);
    order.push((*last, of_row));
}

fn give_numbers(table: &mut Table, root: bool, numbers: &mut impl Iterator<Item = isize>) {
    if !root {
        let number = numbers.next();
        table.set_position(number);
    }
    for (_, item) in table.iter_mut() {
        match item {
            Item::Table(inner) => give_numbers(inner, false, numbers),
            Item::ArrayOfTables(tables) => {
                for inner in tables.iter_mut() {
                    give_numbers(inner, false, numbers);
                }
            }
            _ => {}
        }
    }
}
