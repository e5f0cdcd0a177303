//! What a list changes: who is new, renamed, moved, or not listed any more.

use std::collections::{BTreeMap, BTreeSet};

use afterturn_core::kernel::{ChildId, ClassId, Name};

use super::{List, ListedChild};
use crate::portfolio::roster::{Child, Class};

/// What becomes of a child or a class.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Planned {
    /// It is not here yet.
    New,
    /// Its name, or what else is known of it, changes.
    Renamed,
    /// It changes its class.
    Moved,
    /// It stays as it is.
    Same,
}

/// See the module.
pub struct Plan {
    /// The classes as they will be.
    pub classes: Vec<(Class, Planned)>,
    /// The listed children as they will be.
    pub children: Vec<(Child, Planned)>,
    /// Those in these classes whom the list does not name. They stay until
    /// somebody erases them: a list may be a part of one.
    pub missing: Vec<ChildId>,
}

type FullName = (Name, Option<Name>);

fn full_name(given: &Name, family: Option<&Name>) -> FullName {
    (given.folded(), family.map(Name::folded))
}

impl Plan {
    /// Compares a list with what is here. `fresh` gives random bits for ids.
    #[must_use]
    pub fn new(
        list: List,
        classes: &[Class],
        children: &[Child],
        mut fresh: impl FnMut() -> u64,
    ) -> Self {
        let classes: Vec<(Class, Planned)> = list
            .classes
            .into_iter()
            .map(|listed| plan_class(listed, classes, &mut fresh))
            .collect();
        let who = matched(&list.children, &classes, children);
        let children_by_id: BTreeMap<ChildId, &Child> =
            children.iter().map(|child| (child.id, child)).collect();
        let planned: Vec<(Child, Planned)> = list
            .children
            .into_iter()
            .zip(&who)
            .map(|(listed, known)| {
                let class = classes[listed.class].0.id;
                let known = known.map(|id| children_by_id[&id]);
                plan_child(listed, class, known, &mut fresh)
            })
            .collect();
        let listed: BTreeSet<ChildId> = planned.iter().map(|(child, _)| child.id).collect();
        let these: BTreeSet<ClassId> = classes.iter().map(|(class, _)| class.id).collect();
        let missing = children
            .iter()
            .filter(|child| these.contains(&child.class) && !listed.contains(&child.id))
            .map(|child| child.id)
            .collect();
        Self {
            classes,
            children: planned,
            missing,
        }
    }

    /// How many children there are of a kind.
    #[must_use]
    pub fn count(&self, of: Planned) -> usize {
        self.children.iter().filter(|(_, what)| *what == of).count()
    }
}

fn plan_class(
    listed: super::ListedClass,
    classes: &[Class],
    fresh: &mut impl FnMut() -> u64,
) -> (Class, Planned) {
    let by_number = |class: &&Class| listed.number.is_some() && class.number == listed.number;
    // A class that another system knows by its number is not another's of the
    // same title.
    let by_title = |class: &&Class| {
        (class.number.is_none() || listed.number.is_none())
            && class.title.folded() == listed.title.folded()
    };
    let known = classes.iter().find(by_number);
    let Some(known) = known.or_else(|| classes.iter().find(by_title)) else {
        let class = Class {
            id: ClassId::from_random(fresh()),
            title: listed.title,
            grade: listed.grade,
            number: listed.number,
        };
        return (class, Planned::New);
    };
    let class = Class {
        id: known.id,
        title: listed.title,
        grade: listed.grade.or_else(|| known.grade.clone()),
        number: listed.number.or_else(|| known.number.clone()),
    };
    let what = if class == *known {
        Planned::Same
    } else {
        Planned::Renamed
    };
    (class, what)
}

/// Who each listed child is: by number, by name within its class, and last by
/// a name that only one child elsewhere has whom the list does not name there.
fn matched(
    listed: &[ListedChild],
    classes: &[(Class, Planned)],
    children: &[Child],
) -> Vec<Option<ChildId>> {
    let mut taken: BTreeSet<ChildId> = BTreeSet::new();
    let mut who: Vec<Option<ChildId>> = vec![None; listed.len()];
    let by_number: BTreeMap<&Name, ChildId> = children
        .iter()
        .filter_map(|child| Some((child.number.as_ref()?, child.id)))
        .collect();
    for (at, child) in listed.iter().enumerate() {
        let known = child.number.as_ref().and_then(|n| by_number.get(n));
        who[at] = known.copied().filter(|id| taken.insert(*id));
    }
    let mut by_name: BTreeMap<FullName, Vec<&Child>> = BTreeMap::new();
    for child in children {
        let name = full_name(&child.given, child.family.as_ref());
        by_name.entry(name).or_default().push(child);
    }
    for elsewhere in [false, true] {
        for (at, child) in listed.iter().enumerate() {
            if who[at].is_some() {
                continue;
            }
            let name = full_name(&child.given, child.family.as_ref());
            let class = classes[child.class].0.id;
            let mut same: Vec<ChildId> = by_name
                .get(&name)
                .into_iter()
                .flatten()
                .filter(|known| elsewhere != (known.class == class))
                // Two numbers are two children.
                .filter(|known| known.number.is_none() || child.number.is_none())
                .map(|known| known.id)
                .filter(|id| !taken.contains(id))
                .collect();
            if same.len() == 1 {
                who[at] = same.pop().filter(|id| taken.insert(*id));
            }
        }
    }
    who
}

fn plan_child(
    listed: ListedChild,
    class: ClassId,
    known: Option<&Child>,
    fresh: &mut impl FnMut() -> u64,
) -> (Child, Planned) {
    let Some(known) = known else {
        let child = Child {
            id: ChildId::from_random(fresh()),
            class,
            group: listed.group,
            given: listed.given,
            family: listed.family,
            number: listed.number,
            note: None,
        };
        return (child, Planned::New);
    };
    let moved = known.class != class;
    let child = Child {
        id: known.id,
        class,
        // A group of another class says nothing here.
        group: listed.group.or(known.group.filter(|_| !moved)),
        given: listed.given,
        family: listed.family,
        number: listed.number.or_else(|| known.number.clone()),
        note: known.note.clone(),
    };
    let what = match (moved, child == *known) {
        (true, _) => Planned::Moved,
        (false, true) => Planned::Same,
        (false, false) => Planned::Renamed,
    };
    (child, what)
}
