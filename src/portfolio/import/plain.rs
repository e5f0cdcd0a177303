//! The plain table: a row a child.

use std::collections::{BTreeMap, BTreeSet};

use afterturn_core::kernel::Name;

use super::csv::{Row, Table};
use super::text::Text;
use super::{
    Issue, List, ListedChild, ListedClass, MOST_ISSUES, What, is_asked_for, optional, whole,
};

/// What a heading means, in the languages our pages speak. Spaces, signs and
/// capitals do not matter.
fn known(heading: &str) -> Option<&'static str> {
    let plain: String = heading
        .chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect();
    Some(match plain.as_str() {
        "class" | "classname" | "homeroom" | "clase" => "class",
        "grade" | "gradelevel" | "grado" => "grade",
        "firstname" | "givenname" | "first" | "nombre" | "nombres" => "first name",
        "lastname" | "familyname" | "last" | "surname" | "apellido" | "apellidos" => "last name",
        "number" | "id" | "studentid" | "studentnumber" | "número" | "numero" => "number",
        "group" | "grupo" => "group",
        _ => return None,
    })
}

pub(super) fn read(bytes: &[u8], only: &str) -> Result<List, Vec<Issue>> {
    let text = Text::read(bytes).map_err(|what| vec![whole("", what)])?;
    let mut table = Table::read("", &text, known, &["class", "first name"])?;
    let mut list = List::default();
    let mut classes: BTreeMap<Name, usize> = BTreeMap::new();
    let mut issues = Vec::new();
    let mut numbers: BTreeSet<Name> = BTreeSet::new();
    let mut names: BTreeMap<(usize, Name, Option<Name>), Option<Name>> = BTreeMap::new();
    while issues.len() < MOST_ISSUES
        && let Some(row) = table.next_row()
    {
        let row = match row {
            Ok(row) => row,
            Err(issue) => {
                issues.push(issue);
                break;
            }
        };
        let mut wrong = |title, what| issues.push(table.issue(&row, title, what));
        let Some(class) = class(&table, &row, &mut wrong) else {
            continue;
        };
        if !is_asked_for(&class.title, only) {
            continue;
        }
        let folded = class.title.folded();
        let at = *classes.entry(folded).or_insert(list.classes.len());
        if at == list.classes.len() {
            list.classes.push(class);
        }
        let Some(child) = child(&table, &row, at, &mut wrong) else {
            continue;
        };
        if let Some(number) = &child.number
            && !numbers.insert(number.folded())
        {
            wrong("number", What::SameNumber);
        }
        let family = child.family.as_ref().map(Name::folded);
        let key = (at, child.given.folded(), family);
        // Two of one name in one class have to be told apart by their numbers.
        if let Some(other) = names.insert(key, child.number.clone())
            && (other.is_none() || child.number.is_none())
        {
            wrong("first name", What::SameChild);
        }
        list.children.push(child);
        if let Some(what) = list.is_too_long() {
            wrong("class", what);
            break;
        }
    }
    if issues.is_empty() {
        Ok(list)
    } else {
        Err(issues)
    }
}

fn class(
    table: &Table<'_>,
    row: &Row,
    wrong: &mut impl FnMut(&'static str, What),
) -> Option<ListedClass> {
    let title = Name::new(table.cell(row, "class"));
    let title = title.map_err(|error| wrong("class", error.into())).ok();
    let grade = optional(table.cell(row, "grade"));
    let grade = grade.map_err(|what| wrong("grade", what)).ok();
    Some(ListedClass {
        title: title?,
        grade: grade?,
        number: None,
    })
}

fn child(
    table: &Table<'_>,
    row: &Row,
    class: usize,
    wrong: &mut impl FnMut(&'static str, What),
) -> Option<ListedChild> {
    let given = Name::new(table.cell(row, "first name"));
    let given = given
        .map_err(|error| wrong("first name", error.into()))
        .ok();
    let family = optional(table.cell(row, "last name"));
    let family = family.map_err(|what| wrong("last name", what)).ok();
    let number = optional(table.cell(row, "number"));
    let number = number.map_err(|what| wrong("number", what)).ok();
    let group = match table.cell(row, "group") {
        "" => Some(None),
        text => {
            let group = text.parse().ok().filter(|group| (1..=99).contains(group));
            if group.is_none() {
                wrong("group", What::Group);
            }
            group.map(Some)
        }
    };
    Some(ListedChild {
        class,
        given: given?,
        family: family?,
        number: number?,
        group: group?,
    })
}
