//! Classes and children: sealed, opened, changed by hand or from a list.

use std::collections::BTreeMap;

use afterturn_core::{
    consent::Register,
    kernel::{ChildId, ClassId, Day, Name},
};

use super::{
    DoesNotOpen, Key, Moment, Portfolio, VaultError, fields, groups,
    import::{List, Plan},
    locks::Edit,
    random_number,
    seal::place,
};
use crate::store::{
    ledger::Entry,
    vault::{ChildRow, ClassRow},
};

/// A class.
#[derive(Clone, PartialEq, Eq)]
pub struct Class {
    /// Its id.
    pub id: ClassId,
    /// Its title.
    pub title: Name,
    /// Its grade.
    pub grade: Option<Name>,
    /// What the school's own system calls it.
    pub number: Option<Name>,
}

/// A child.
#[derive(Clone, PartialEq, Eq)]
pub struct Child {
    /// Its id.
    pub id: ChildId,
    /// Its class.
    pub class: ClassId,
    /// Its group, from 1.
    pub group: Option<u8>,
    /// What it is called.
    pub given: Name,
    /// Its family name.
    pub family: Option<Name>,
    /// What the school's own system calls it.
    pub number: Option<Name>,
    /// Something to keep in mind.
    pub note: Option<Name>,
}

/// A child as it is written down by hand.
pub struct NewChild {
    /// What it is called.
    pub given: Name,
    /// Its family name.
    pub family: Option<Name>,
    /// Something to keep in mind.
    pub note: Option<Name>,
    /// Its group, from 1.
    pub group: Option<u8>,
}

/// Everybody, opened.
pub struct Roster {
    /// The classes by title.
    pub classes: Vec<Class>,
    /// The children by class, group and name.
    pub children: Vec<Child>,
    /// What their families agreed to.
    pub register: Register,
}

impl Roster {
    /// A class.
    pub fn class(&self, id: ClassId) -> Result<&Class, VaultError> {
        let found = self.classes.iter().find(|class| class.id == id);
        found.ok_or(VaultError::NotFound)
    }

    /// A child.
    pub fn child(&self, id: ChildId) -> Result<&Child, VaultError> {
        let found = self.children.iter().find(|child| child.id == id);
        found.ok_or(VaultError::NotFound)
    }

    /// The children of a class.
    pub fn of(&self, class: ClassId) -> impl Iterator<Item = &Child> {
        self.children
            .iter()
            .filter(move |child| child.class == class)
    }
}

impl Class {
    fn place(id: ClassId) -> Vec<u8> {
        place("class", &[&id.get().to_be_bytes()])
    }

    pub(super) fn seal(&self, key: &Key) -> ClassRow {
        let plain = fields::write(&[Some(&self.title), self.grade.as_ref(), self.number.as_ref()]);
        ClassRow {
            id: self.id,
            sealed: key.seal(&Self::place(self.id), &plain),
        }
    }

    pub(super) fn open(row: &ClassRow, key: &Key) -> Result<Self, VaultError> {
        let plain = key.open(&Self::place(row.id), &row.sealed)?;
        let [title, grade, number] = fields::read(&plain)?;
        Ok(Self {
            id: row.id,
            title: title.ok_or(DoesNotOpen)?,
            grade,
            number,
        })
    }
}

impl Child {
    /// Bound to its row: a name moved to another class does not open.
    fn place(id: ChildId, class: ClassId, group: Option<u8>, listed_on: Day) -> Vec<u8> {
        place(
            "child",
            &[
                &id.get().to_be_bytes(),
                &class.get().to_be_bytes(),
                &[group.unwrap_or(0)],
                &listed_on.0.to_be_bytes(),
            ],
        )
    }

    pub(super) fn seal(&self, listed_on: Day, key: &Key) -> ChildRow {
        let plain = fields::write(&[
            Some(&self.given),
            self.family.as_ref(),
            self.number.as_ref(),
            self.note.as_ref(),
        ]);
        let place = Self::place(self.id, self.class, self.group, listed_on);
        ChildRow {
            id: self.id,
            class: self.class,
            group: self.group,
            listed_on,
            sealed: key.seal(&place, &plain),
        }
    }

    pub(super) fn open(row: &ChildRow, key: &Key) -> Result<Self, VaultError> {
        let place = Self::place(row.id, row.class, row.group, row.listed_on);
        let plain = key.open(&place, &row.sealed)?;
        let [given, family, number, note] = fields::read(&plain)?;
        Ok(Self {
            id: row.id,
            class: row.class,
            group: row.group,
            given: given.ok_or(DoesNotOpen)?,
            family,
            number,
            note,
        })
    }

    fn order(&self) -> (u8, Name, Option<Name>) {
        let group = self.group.unwrap_or(u8::MAX);
        (group, self.given.folded(), self.family.clone())
    }
}

impl Portfolio {
    /// Everybody.
    pub fn roster(&self, moment: Moment) -> Result<Roster, VaultError> {
        self.read(moment, |open| {
            let mut classes = open.classes()?;
            classes.sort_by(|a, b| a.title.cmp(&b.title));
            let mut children = open.children()?;
            children.sort_by_cached_key(Child::order);
            Ok(Roster {
                register: open.register()?,
                classes,
                children,
            })
        })
    }

    /// Adds a class.
    pub fn add_class(
        &self,
        title: Name,
        grade: Option<Name>,
        moment: Moment,
    ) -> Result<ClassId, VaultError> {
        self.edit(moment, |edit| {
            let class = Class {
                id: ClassId::from_random(random_number()),
                title,
                grade,
                number: None,
            };
            edit.change.put_class(&class.seal(edit.key))?;
            Ok(class.id)
        })
    }

    /// Gives a class another title.
    pub fn rename_class(
        &self,
        id: ClassId,
        title: Name,
        grade: Option<Name>,
        moment: Moment,
    ) -> Result<(), VaultError> {
        self.edit(moment, |edit| {
            let mut class = edit.class(id)?;
            (class.title, class.grade) = (title, grade);
            Ok(edit.change.put_class(&class.seal(edit.key))?)
        })
    }

    /// Erases a class and everybody in it.
    pub fn erase_class(&self, id: ClassId, moment: Moment) -> Result<(), VaultError> {
        self.edit(moment, |edit| {
            edit.class(id)?;
            for row in edit.change.children()? {
                if row.class == id {
                    edit.erase_child(row.id, moment.today)?;
                }
            }
            edit.erased.borrow_mut().push(Entry::Class(id));
            Ok(edit.change.remove_class(id)?)
        })
    }

    /// Adds a child.
    pub fn add_child(
        &self,
        class: ClassId,
        new: NewChild,
        moment: Moment,
    ) -> Result<ChildId, VaultError> {
        self.edit(moment, |edit| {
            edit.class(class)?;
            let child = Child {
                id: ChildId::from_random(random_number()),
                class,
                group: new.group,
                given: new.given,
                family: new.family,
                number: None,
                note: new.note,
            };
            edit.put_child(&child, moment.today)?;
            Ok(child.id)
        })
    }

    /// Changes what is known of a child, and where it belongs.
    pub fn change_child(
        &self,
        id: ChildId,
        class: ClassId,
        new: NewChild,
        moment: Moment,
    ) -> Result<(), VaultError> {
        self.edit(moment, |edit| {
            edit.class(class)?;
            let (known, listed_on) = edit.child(id)?;
            let group = new.group.filter(|_| class == known.class);
            let child = Child {
                id,
                class,
                group,
                given: new.given,
                family: new.family,
                number: known.number,
                note: new.note,
            };
            edit.put_child(&child, listed_on)
        })
    }

    /// Erases a child, its answers, and what is kept of it.
    pub fn erase_child(&self, id: ChildId, moment: Moment) -> Result<(), VaultError> {
        self.edit(moment, |edit| {
            edit.child(id)?;
            edit.erase_child(id, moment.today)
        })
    }

    /// Puts children into groups by hand.
    pub fn set_groups(
        &self,
        class: ClassId,
        wanted: &BTreeMap<ChildId, Option<u8>>,
        moment: Moment,
    ) -> Result<(), VaultError> {
        self.edit(moment, |edit| {
            for row in edit.change.children()? {
                let Some(group) = wanted.get(&row.id).filter(|_| row.class == class) else {
                    continue;
                };
                if row.group != *group {
                    let mut child = Child::open(&row, edit.key)?;
                    child.group = *group;
                    edit.put_child(&child, row.listed_on)?;
                }
            }
            Ok(())
        })
    }

    /// Makes groups as large as each other.
    pub fn balance_groups(
        &self,
        class: ClassId,
        count: u8,
        moment: Moment,
    ) -> Result<(), VaultError> {
        let roster = self.roster(moment)?;
        let now: Vec<_> = roster.of(class).map(|c| (c.id, c.group)).collect();
        let dealt = groups::balance(&now, count, random_number);
        let wanted = dealt.into_iter().map(|(c, g)| (c, Some(g))).collect();
        self.set_groups(class, &wanted, moment)
    }

    /// Compares a list with what is here and remembers the outcome, in memory,
    /// until it is taken or the vault is locked.
    pub fn plan(&self, list: List, moment: Moment) -> Result<u64, VaultError> {
        let roster = self.roster(moment)?;
        let plan = Plan::new(list, &roster.classes, &roster.children, random_number);
        self.remember(plan, moment)
    }

    /// Takes a list, all of it or nothing.
    pub fn take(&self, token: u64, moment: Moment) -> Result<(), VaultError> {
        let plan = self.planned(token, moment)?;
        self.edit(moment, |edit| {
            for (class, _) in &plan.classes {
                edit.change.put_class(&class.seal(edit.key))?;
            }
            for (child, _) in &plan.children {
                edit.put_child(child, moment.today)?;
            }
            Ok(())
        })?;
        self.forget_plan();
        Ok(())
    }
}

impl Edit<'_> {
    fn class(&self, id: ClassId) -> Result<Class, VaultError> {
        let rows = self.change.classes()?;
        let row = rows.iter().find(|row| row.id == id);
        Class::open(row.ok_or(VaultError::NotFound)?, self.key)
    }

    fn child(&self, id: ChildId) -> Result<(Child, Day), VaultError> {
        let row = self.change.child(id)?.ok_or(VaultError::NotFound)?;
        Ok((Child::open(&row, self.key)?, row.listed_on))
    }

    fn put_child(&self, child: &Child, listed_on: Day) -> Result<(), VaultError> {
        Ok(self.change.put_child(&child.seal(listed_on, self.key))?)
    }
}
