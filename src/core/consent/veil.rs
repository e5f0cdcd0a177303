//! Which groups are covered.
//!
//! Rows without a name: a class, a group, and from which day on it is covered.
//! They hold before anybody has signed in.
//!
//! [`Covered`] is the one answer: known, and then which; or not, and then all.
//!
//! Not here: that other groups are covered in turn, so that nobody is singled
//! out (the class clock).

use std::collections::{BTreeMap, BTreeSet};

use super::{DaySpan, Register};
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
    /// The first day on which it is covered, long past where it is already; none
    /// as far as is known.
    pub from: Option<Day>,
}

/// The veils of all classes as seen today: a group is covered when one of its
/// children may not be seen.
#[must_use]
pub fn veils(register: &Register, members: &[Member], today: impl Into<DaySpan>) -> Vec<Veil> {
    let today = today.into();
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

/// Which groups of a class are covered: the one answer to what may be shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Covered {
    /// The list knows: these, by number from 1, and no other.
    Known(BTreeSet<u8>),
    /// It cannot tell: every group.
    Unknown(Unknown),
}

/// Why the list cannot tell which groups of a class are covered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unknown {
    /// There is a list, and it cannot be read or is not this box's yet.
    Unreadable,
    /// Which class of the list this is cannot be told: it is not in it, or the
    /// titles are sealed.
    Class,
    /// The class is in other groups than the list, while somebody in it may not
    /// be seen: nobody can tell where that child stands.
    Groups,
    /// The list has no child in it.
    Empty,
}

impl Covered {
    /// The groups that are covered, of so many.
    #[must_use]
    pub fn of(&self, groups: u8) -> BTreeSet<u8> {
        match self {
            Self::Known(covered) => covered.clone(),
            Self::Unknown(_) => (1..=groups).collect(),
        }
    }

    /// What the veils say of a class in so many groups, on the last day that
    /// today may be. No class: nobody can tell which it is.
    #[must_use]
    pub fn by(veils: &[Veil], class: Option<ClassId>, groups: u8, last: Day) -> Self {
        if veils.is_empty() {
            return Self::Unknown(Unknown::Empty);
        }
        let of_class = veils.iter().filter(|veil| Some(veil.class) == class);
        let Some(listed) = of_class.clone().map(|veil| veil.group).max() else {
            return Self::Unknown(Unknown::Class);
        };
        let holds = |veil: &&Veil| veil.from.is_some_and(|from| from <= last);
        let covered: BTreeSet<u8> = of_class.filter(holds).map(|veil| veil.group).collect();
        // Group 0: a child who may stand anywhere.
        if covered.contains(&0) {
            Self::Known((1..=groups).collect())
        } else if covered.is_empty() || listed == groups {
            Self::Known(covered)
        } else {
            Self::Unknown(Unknown::Groups)
        }
    }
}
