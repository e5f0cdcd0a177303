//! The `OneRoster` CSV exchange format: classes, users and enrolments, each a
//! file, and a manifest that says which version it is.
//!
//! Names of files and columns are from 1EdTech `OneRoster` 1.1 CSV Tables and
//! 1.2 CSV Binding; `preferredGivenName` (1.2) is from memory. What is not
//! needed for a class list (addresses, telephone numbers, passwords, parents)
//! is passed over and kept nowhere.

use std::collections::{BTreeMap, BTreeSet};

use afterturn_core::kernel::{Day, Name};
use bytes::Bytes;

use super::budget::MOST_CHILDREN;
use super::csv::{Row, Table};
use super::text::Text;
use super::{
    Issue, List, ListedChild, ListedClass, MOST_ISSUES, What, is_asked_for, optional, whole,
};

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

#[derive(Default)]
struct Exchange {
    list: List,
    /// Classes by their id; none for those not asked for.
    classes: BTreeMap<Name, Option<usize>>,
    /// Everybody's id; names are read of those who are in a class alone, since a
    /// teacher's or a parent's are not needed.
    people: BTreeSet<Name>,
    /// Who is in which class, and as the how manieth.
    enrolled: BTreeMap<Name, (usize, usize)>,
    issues: Vec<Issue>,
}

/// The files by what they are called.
struct Files<'p>(BTreeMap<&'static str, Text<'p>>);

impl<'p> Files<'p> {
    fn new(parts: &'p [(String, Bytes)]) -> Result<Self, Vec<Issue>> {
        let mut files = BTreeMap::new();
        for (name, bytes) in parts {
            let Some(file) = file(name) else {
                continue;
            };
            let text = Text::read(bytes).map_err(|what| vec![whole(file, what)])?;
            if files.insert(file, text).is_some() {
                return Err(vec![whole(file, What::FileTwice)]);
            }
        }
        Ok(Self(files))
    }

    fn table(
        &'p self,
        file: &'static str,
        needed: &[&'static str],
    ) -> Result<Table<'p>, Vec<Issue>> {
        let text = self.0.get(file);
        let text = text.ok_or_else(|| vec![whole(file, What::NoFile)])?;
        Table::read(file, text, known, needed)
    }
}

pub(super) fn read(parts: &[(String, Bytes)], only: &str, today: Day) -> Result<List, Vec<Issue>> {
    let files = Files::new(parts)?;
    if files.0.contains_key("manifest.csv") {
        manifest(files.table("manifest.csv", &["propertyName", "value"])?)?;
    }
    let classes = files.table("classes.csv", &["sourcedId", "title"])?;
    let needed = ["sourcedId", "givenName", "familyName"];
    let users = || files.table("users.csv", &needed);
    let everybody = users()?;
    let needed = ["classSourcedId", "userSourcedId", "role"];
    let enrolments = files.table("enrollments.csv", &needed)?;
    let mut exchange = Exchange::default();
    exchange.each(classes, |exchange, table, row| {
        exchange.read_class(table, row, only);
    });
    exchange.each(everybody, Exchange::read_id);
    exchange.each(enrolments, |exchange, table, row| {
        exchange.read_enrolment(table, row, today);
    });
    let mut children = BTreeMap::new();
    exchange.each(users()?, |exchange, table, row| {
        children.extend(exchange.read_child(table, row));
    });
    exchange.list.children = children.into_values().collect();
    if exchange.issues.is_empty() {
        Ok(exchange.list)
    } else {
        Err(exchange.issues)
    }
}

fn manifest(mut table: Table<'_>) -> Result<(), Vec<Issue>> {
    while let Some(row) = table.next_row() {
        let row = row.map_err(|issue| vec![issue])?;
        let version = table.cell(&row, "propertyName") == "oneroster.version";
        if version && !table.cell(&row, "value").starts_with("1.") {
            return Err(vec![table.issue(&row, "value", What::Version)]);
        }
    }
    Ok(())
}

/// Rows that are to go are not there.
fn is_there(table: &Table<'_>, row: &Row) -> bool {
    !table
        .cell(row, "status")
        .eq_ignore_ascii_case("tobedeleted")
}

impl Exchange {
    /// Goes through the rows of a file that are there, and stops at so many
    /// issues as are told at once, or at a place where nothing can be read on.
    fn each(&mut self, mut table: Table<'_>, mut read: impl FnMut(&mut Self, &Table<'_>, &Row)) {
        while self.issues.len() < MOST_ISSUES
            && let Some(row) = table.next_row()
        {
            match row {
                Ok(row) if is_there(&table, &row) => read(self, &table, &row),
                Ok(_) => {}
                Err(issue) => self.issues.push(issue),
            }
        }
    }

    fn wrong(&mut self, table: &Table<'_>, row: &Row, title: &'static str, what: impl Into<What>) {
        self.issues.push(table.issue(row, title, what.into()));
    }

    fn id(&mut self, table: &Table<'_>, row: &Row, title: &'static str) -> Option<Name> {
        let id = Name::new(table.cell(row, title));
        id.map_err(|error| self.wrong(table, row, title, error))
            .ok()
    }

    fn read_class(&mut self, table: &Table<'_>, row: &Row, only: &str) {
        let Some(id) = self.id(table, row, "sourcedId") else {
            return;
        };
        let Some(title) = self.id(table, row, "title") else {
            return;
        };
        let grade = optional(table.cell(row, "grades"));
        let grade = grade.map_err(|what| self.wrong(table, row, "grades", what));
        if self.classes.contains_key(&id) {
            self.wrong(table, row, "sourcedId", What::SameNumber);
            return;
        }
        let at = is_asked_for(&title, only).then_some(self.list.classes.len());
        self.classes.insert(id.clone(), at);
        if at.is_none() || self.list.is_too_long().is_some() {
            return;
        }
        self.list.classes.push(ListedClass {
            title,
            grade: grade.ok().flatten(),
            number: Some(id),
        });
        if let Some(what) = self.list.is_too_long() {
            self.wrong(table, row, "sourcedId", what);
        }
    }

    fn read_id(&mut self, table: &Table<'_>, row: &Row) {
        if let Some(id) = self.id(table, row, "sourcedId")
            && !self.people.insert(id)
        {
            self.wrong(table, row, "sourcedId", What::SameNumber);
        }
    }

    fn read_enrolment(&mut self, table: &Table<'_>, row: &Row, today: Day) {
        let over = table.cell(row, "endDate").parse::<Day>();
        let student = table.cell(row, "role").eq_ignore_ascii_case("student");
        if !student || over.is_ok_and(|end| end < today) {
            return;
        }
        let Some(class) = self.id(table, row, "classSourcedId") else {
            return;
        };
        let Some(user) = self.id(table, row, "userSourcedId") else {
            return;
        };
        let at = match self.classes.get(&class) {
            None => return self.wrong(table, row, "classSourcedId", What::Unknown),
            Some(None) => return,
            Some(Some(at)) => *at,
        };
        if !self.people.contains(&user) {
            return self.wrong(table, row, "userSourcedId", What::Unknown);
        }
        let count = self.enrolled.len();
        match self.enrolled.get(&user) {
            // The same enrollment twice says nothing new.
            Some((class, _)) if *class == at => {}
            Some(_) => self.wrong(table, row, "userSourcedId", What::TwoClasses),
            None if count == MOST_CHILDREN => {
                // Once: those that follow are no news.
                if !self.issues.iter().any(|i| i.what == What::ManyChildren) {
                    self.wrong(table, row, "userSourcedId", What::ManyChildren);
                }
            }
            None => {
                self.enrolled.insert(user, (at, count));
            }
        }
    }

    /// Somebody who is in a class, by their place among those.
    fn read_child(&mut self, table: &Table<'_>, row: &Row) -> Option<(usize, ListedChild)> {
        let user = Name::new(table.cell(row, "sourcedId")).ok()?;
        // Taken out: the same id again was an issue already.
        let (class, place) = self.enrolled.remove(&user)?;
        let title = match table.cell(row, "preferredGivenName") {
            "" => "givenName",
            _ => "preferredGivenName",
        };
        let given = self.id(table, row, title);
        let family = optional(table.cell(row, "familyName"));
        let family = family.map_err(|what| self.wrong(table, row, "familyName", what));
        let child = ListedChild {
            class,
            given: given?,
            family: family.ok()?,
            number: Some(user),
            group: None,
        };
        Some((place, child))
    }
}
