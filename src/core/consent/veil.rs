//! Which groups are covered.
//!
//! Rows without a name: a class, a group, and from which day on it is covered.
//! They hold before anybody has signed in.

use std::collections::BTreeMap;

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

/// What the screen of a group's station does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cover {
    /// It shows the late picture.
    Shown,
    /// It shows the figure instead. Whether that is because of a child, or
    /// because it is this group's turn, is nobody's business at a screen.
    Covered,
}

/// Whether a group is covered in a round of a class.
///
/// `known` are the veils of the class, none where they are not known: then all
/// are covered. Where any group is covered, one of the others is too, another
/// each round, so that a covered screen says nothing of a child.
#[must_use]
pub fn cover(known: Option<&[Veil]>, group: u8, groups: u8, round: u32, today: Day) -> Cover {
    let Some(known) = known.filter(|veils| !veils.is_empty()) else {
        return Cover::Covered;
    };
    let holds = |veil: &&Veil| veil.from.is_some_and(|from| from <= today);
    let covered: Vec<u8> = known.iter().filter(holds).map(|veil| veil.group).collect();
    if covered.is_empty() {
        return Cover::Shown;
    }
    // Group 0: a child who may stand anywhere.
    if covered.contains(&0) || covered.contains(&group) || group == 0 {
        return Cover::Covered;
    }
    let others: Vec<u8> = (1..=groups)
        .filter(|other| !covered.contains(other))
        .collect();
    let turn = match others.len() {
        0 => return Cover::Covered,
        // The only other one is covered every second round.
        1 => (round % 2 == 1).then(|| others[0]),
        many => Some(others[round as usize % many]),
    };
    if turn == Some(group) {
        Cover::Covered
    } else {
        Cover::Shown
    }
}
