//! Which groups are covered.
//!
//! Rows without a name: a class, a group, and from which day on it is covered.
//! They hold before anybody has signed in.
//!
//! Not here: that other groups are covered in turn, so that nobody is singled
//! out (the class clock).

use std::collections::{BTreeMap, BTreeSet};

use super::Register;
use crate::kernel::{ChildId, ClassId, Day};

/// A child's place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Member {
    /// The child.
    pub child: ChildId,
    /// Its class.
    pub class: ClassId,
    /// Its group, from 1; none if it has none yet.
    pub group: Option<u8>,
}

/// One group and its veil.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Veil {
    /// The class.
    pub class: ClassId,
    /// The group, from 1; 0 stands for children without a group, who may be in
    /// any.
    pub group: u8,
    /// The first day on which it is covered; none as far as is known.
    pub from: Option<Day>,
}

/// The veils of all classes as seen on a day: a group is covered when one of
/// its children may not be seen.
#[must_use]
pub fn veils(register: &Register, members: &[Member], today: Day) -> Vec<Veil> {
    let mut rows: BTreeMap<(ClassId, u8), Option<Day>> = BTreeMap::new();
    for member in members {
        let key = (member.class, member.group.unwrap_or(0));
        let from = register.unseen_from(member.child, today);
        let row = rows.entry(key).or_default();
        *row = match (*row, from) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
    }
    rows.into_iter()
        .map(|((class, group), from)| Veil { class, group, from })
        .collect()
}

/// The groups that a class in so many groups has to cover on a day, its
/// stations showing the figure instead; none where that is not known.
///
/// `known` are the veils of the class. It is not known where there are none,
/// and where the class is in other groups than the list while somebody in it
/// may not be seen: nobody can tell where that child stands.
#[must_use]
pub fn covered(known: Option<&[Veil]>, groups: u8, today: Day) -> Option<BTreeSet<u8>> {
    let known = known.filter(|veils| !veils.is_empty())?;
    let holds = |veil: &&Veil| veil.from.is_some_and(|from| from <= today);
    let covered: BTreeSet<u8> = known.iter().filter(holds).map(|veil| veil.group).collect();
    // Group 0: a child who may stand anywhere.
    if covered.contains(&0) {
        return Some((1..=groups).collect());
    }
    let listed = known.iter().map(|veil| veil.group).max();
    (covered.is_empty() || listed == Some(groups)).then_some(covered)
}
