//! The `OneRoster` CSV exchange format: classes, users and enrolments, each a
//! file, and a manifest that says which version it is.
//!
//! Names of files and columns are from 1EdTech `OneRoster` 1.1 CSV Tables and
//! 1.2 CSV Binding; `preferredGivenName` (1.2) is from memory. What is not
//! needed for a class list (addresses, telephone numbers, passwords, parents)
//! is passed over and kept nowhere.

use std::collections::{BTreeMap, BTreeSet};

use afterturn_core::kernel::{Day, Name};

use super::csv::{Row, Table};
use super::{Issue, List, ListedChild, ListedClass, What, is_asked_for, optional};

const FILES: [&str; 4] = [
    "manifest.csv",
    "classes.csv",
    "users.csv",
    "enrollments.csv",
];

/// Which file of an exchange this is.
pub(super) fn file(name: &str) -> Option<&'static str> {
    FILES
        .into_iter()
        .find(|file| name.eq_ignore_ascii_case(file))
}

const COLUMNS: [&str; 15] = [
    "propertyName",
    "value",
    "sourcedId",
    "status",
    "title",
    "grades",
    "role",
    "givenName",
    "familyName",
    "preferredGivenName",
    "identifier",
    "classSourcedId",
    "userSourcedId",
    "endDate",
    "beginDate",
];

/// Headings are written exactly so; a capital more or less is let pass.
fn known(heading: &str) -> Option<&'static str> {
    COLUMNS
        .into_iter()
        .find(|c| heading.eq_ignore_ascii_case(c))
}

struct Exchange {
    list: List,
    /// Classes by their id; none for those not asked for.
    classes: BTreeMap<Name, Option<usize>>,
    issues: Vec<Issue>,
}

pub(super) fn read(
    parts: &[(String, Vec<u8>)],
    only: &str,
    today: Day,
) -> Result<List, Vec<Issue>> {
    let find = |wanted: &str| parts.iter().find(|(name, _)| file(name) == Some(wanted));
    if let Some((_, bytes)) = find("manifest.csv") {
        manifest(bytes)?;
    }
    let table = |wanted: &'static str, needed: &[&'static str]| {
        let (_, bytes) = find(wanted).ok_or_else(|| {
            vec![Issue {
                file: wanted,
                line: 1,
                column: None,
                title: None,
                what: What::NoFile,
            }]
        })?;
        Table::read(wanted, bytes, known, needed)
    };
    let classes = table("classes.csv", &["sourcedId", "title"])?;
    let users = table("users.csv", &["sourcedId", "givenName", "familyName"])?;
    let needed = ["classSourcedId", "userSourcedId", "role"];
    let enrolments = table("enrollments.csv", &needed)?;
    let mut exchange = Exchange {
        list: List::default(),
        classes: BTreeMap::new(),
        issues: Vec::new(),
    };
    exchange.read_classes(&classes, only);
    let people = exchange.read_users(&users);
    exchange.read_enrolments(&enrolments, &users, &people, today);
    if exchange.issues.is_empty() {
        Ok(exchange.list)
    } else {
        Err(exchange.issues)
    }
}

fn manifest(bytes: &[u8]) -> Result<(), Vec<Issue>> {
    let table = Table::read("manifest.csv", bytes, known, &["propertyName", "value"])?;
    for row in &table.rows {
        let version = table.cell(row, "propertyName") == "oneroster.version";
        if version && !table.cell(row, "value").starts_with("1.") {
            return Err(vec![table.issue(row, "value", What::Version)]);
        }
    }
    Ok(())
}

/// Rows that are to go are not there.
fn is_there(table: &Table, row: &Row) -> bool {
    !table
        .cell(row, "status")
        .eq_ignore_ascii_case("tobedeleted")
}

impl Exchange {
    fn wrong(&mut self, table: &Table, row: &Row, title: &'static str, what: impl Into<What>) {
        self.issues.push(table.issue(row, title, what.into()));
    }

    fn id(&mut self, table: &Table, row: &Row, title: &'static str) -> Option<Name> {
        let id = Name::new(table.cell(row, title));
        id.map_err(|error| self.wrong(table, row, title, error))
            .ok()
    }

    fn read_classes(&mut self, table: &Table, only: &str) {
        for row in table.rows.iter().filter(|row| is_there(table, row)) {
            let Some(id) = self.id(table, row, "sourcedId") else {
                continue;
            };
            let Some(title) = self.id(table, row, "title") else {
                continue;
            };
            let grade = optional(table.cell(row, "grades"));
            let grade = grade.map_err(|what| self.wrong(table, row, "grades", what));
            if self.classes.contains_key(&id) {
                self.wrong(table, row, "sourcedId", What::SameNumber);
                continue;
            }
            let at = is_asked_for(&title, only).then_some(self.list.classes.len());
            self.classes.insert(id.clone(), at);
            if at.is_some() {
                self.list.classes.push(ListedClass {
                    title,
                    grade: grade.ok().flatten(),
                    number: Some(id),
                });
            }
        }
    }

    /// Where each person stands in the file; names are read when they are
    /// needed, since a teacher's or a parent's are not.
    fn read_users(&mut self, table: &Table) -> BTreeMap<Name, usize> {
        let mut people = BTreeMap::new();
        for (at, row) in table.rows.iter().enumerate() {
            if !is_there(table, row) {
                continue;
            }
            let Some(id) = self.id(table, row, "sourcedId") else {
                continue;
            };
            if people.insert(id, at).is_some() {
                self.wrong(table, row, "sourcedId", What::SameNumber);
            }
        }
        people
    }

    fn read_enrolments(
        &mut self,
        table: &Table,
        users: &Table,
        people: &BTreeMap<Name, usize>,
        today: Day,
    ) {
        let mut enrolled: BTreeMap<Name, usize> = BTreeMap::new();
        let mut pairs: BTreeSet<(Name, Name)> = BTreeSet::new();
        for row in table.rows.iter().filter(|row| is_there(table, row)) {
            let over = table.cell(row, "endDate").parse::<Day>();
            let student = table.cell(row, "role").eq_ignore_ascii_case("student");
            if !student || over.is_ok_and(|end| end < today) {
                continue;
            }
            let Some(class) = self.id(table, row, "classSourcedId") else {
                continue;
            };
            let Some(user) = self.id(table, row, "userSourcedId") else {
                continue;
            };
            let at = match self.classes.get(&class) {
                None => {
                    self.wrong(table, row, "classSourcedId", What::Unknown);
                    continue;
                }
                Some(None) => continue,
                Some(Some(at)) => *at,
            };
            let Some(person) = people.get(&user) else {
                self.wrong(table, row, "userSourcedId", What::Unknown);
                continue;
            };
            // The same enrolment twice says nothing new.
            if !pairs.insert((class, user.clone())) {
                continue;
            }
            if enrolled.insert(user.clone(), at).is_some() {
                self.wrong(table, row, "userSourcedId", What::TwoClasses);
                continue;
            }
            self.read_child(users, &users.rows[*person], user, at);
        }
    }

    fn read_child(&mut self, users: &Table, row: &Row, user: Name, class: usize) {
        let title = match users.cell(row, "preferredGivenName") {
            "" => "givenName",
            _ => "preferredGivenName",
        };
        let given = self.id(users, row, title);
        let family = optional(users.cell(row, "familyName"));
        let family = family.map_err(|what| self.wrong(users, row, "familyName", what));
        if let (Some(given), Ok(family)) = (given, family) {
            self.list.children.push(ListedChild {
                class,
                given,
                family,
                number: Some(user),
                group: None,
            });
        }
    }
}
