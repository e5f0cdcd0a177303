//! Which groups are covered.
//!
//! Rows without a name: a class, a group, and from which day on it is covered, by
//! children who are bare ids. They hold before anybody has signed in.
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

/// A child of the list, and from when on it may not be seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ListedChild {
    /// Who, and where.
    pub member: Member,
    /// The first day, long past where it holds already; none as far as is known.
    pub unseen_from: Option<Day>,
}

impl ListedChild {
    /// Whether it may not be seen on a day.
    #[must_use]
    pub fn is_unseen(&self, day: Day) -> bool {
        self.unseen_from.is_some_and(|from| from <= day)
    }
}

/// What the answers come to for each child, as seen today.
#[must_use]
pub fn listed_children(
    register: &Register,
    members: &[Member],
    today: impl Into<DaySpan>,
) -> Vec<ListedChild> {
    let today = today.into();
    let of = |member: &Member| ListedChild {
        member: *member,
        unseen_from: register.unseen_from(member.child, today),
    };
    members.iter().map(of).collect()
}

/// The veils of all classes: a group is covered when one of its children may not
/// be seen.
#[must_use]
pub fn veils(children: &[ListedChild]) -> Vec<Veil> {
    let mut rows: BTreeMap<(ClassId, u8), Option<Day>> = BTreeMap::new();
    for child in children {
        let key = (child.member.class, child.member.group.unwrap_or(0));
        let row = rows.entry(key).or_default();
        *row = match (*row, child.unseen_from) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
    }
    rows.into_iter()
        .map(|((class, group), from)| Veil { class, group, from })
        .collect()
}

/// The groups of a class that runs, as the list had them while it ran: who is moved
/// in the list meanwhile may stand in the new group, and may still stand in the old
/// one.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Grouping {
    /// In how many it was as it began; none if nobody was in one.
    pub groups: Option<u8>,
    /// In which each child has been; 0 while it had none and might be anywhere.
    pub children: BTreeMap<ChildId, BTreeSet<u8>>,
}

/// The groups of a class as the list has them now.
#[must_use]
pub fn grouping(children: &[ListedChild], class: ClassId) -> Grouping {
    let of_class = children.iter().filter(|child| child.member.class == class);
    let members = of_class.map(|child| child.member);
    let group = |member: Member| (member.child, [member.group.unwrap_or(0)].into());
    Grouping {
        groups: members.clone().filter_map(|member| member.group).max(),
        children: members.map(group).collect(),
    }
}

impl Grouping {
    /// The list has these groups by now; says whether that is new.
    pub fn add(&mut self, now: Self) -> bool {
        let mut new = false;
        for (child, mut groups) in now.children {
            let before = self.children.entry(child).or_default();
            // Out of its group in the list, it is where it was.
            if !before.is_empty() {
                groups.remove(&0);
            }
            new |= !groups.is_subset(before);
            before.extend(groups);
        }
        new
    }
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

    /// What the list says of a class in so many groups, on the last day that today
    /// may be. No class: nobody can tell which it is. `so_far` is its grouping, once it
    /// has begun.
    #[must_use]
    pub fn by(
        children: &[ListedChild],
        class: Option<ClassId>,
        groups: u8,
        so_far: Option<&Grouping>,
        last: Day,
    ) -> Self {
        if children.is_empty() {
            return Self::Unknown(Unknown::Empty);
        }
        let of_class = || {
            let of_class = children.iter();
            of_class.filter(|child| Some(child.member.class) == class)
        };
        let groups_now = of_class().filter_map(|child| child.member.group).max();
        let listed = so_far.map_or(groups_now, |so_far| so_far.groups);
        if of_class().next().is_none() {
            return Self::Unknown(Unknown::Class);
        }
        let stands = |child: &ListedChild| {
            let stood = so_far.and_then(|so_far| so_far.children.get(&child.member.child));
            let mut stands = stood.cloned().unwrap_or_default();
            if stands.is_empty() || child.member.group.is_some() {
                stands.insert(child.member.group.unwrap_or(0));
            }
            stands
        };
        let unseen = of_class().filter(|child| child.is_unseen(last));
        let covered: BTreeSet<u8> = unseen.flat_map(stands).collect();
        if covered.contains(&0) {
            Self::Known((1..=groups).collect())
        } else if covered.is_empty() || listed == Some(groups) {
            Self::Known(covered)
        } else {
            Self::Unknown(Unknown::Groups)
        }
    }
}
