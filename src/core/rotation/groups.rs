//! Groups: their numbers, and how children are spread over them.
//!
//! Not here: who is in one. A group is a number, a colour and a shape.

use serde::{Deserialize, Serialize};

/// More than this is no class: two hundred stand in no gym.
pub const MOST_CHILDREN: u16 = 200;
/// As many as there can be places to stand.
pub const MOST_GROUPS: u8 = 32;

/// The number of a group, from 1. Its mark has the colour and shape of that
/// number, as a station's has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(try_from = "u8", into = "u8")]
#[cfg_attr(test, ts(type = "number"))]
pub struct GroupNumber(u8);

impl GroupNumber {
    /// The group at a place of a list.
    #[must_use]
    pub const fn at(index: usize) -> Self {
        Self(index as u8 + 1)
    }

    /// Its place in a list.
    #[must_use]
    pub const fn index(self) -> usize {
        self.0 as usize - 1
    }

    /// The number.
    #[must_use]
    pub const fn get(self) -> u8 {
        self.0
    }
}

impl TryFrom<u8> for GroupNumber {
    type Error = &'static str;

    fn try_from(given: u8) -> Result<Self, Self::Error> {
        if (1..=MOST_GROUPS).contains(&given) {
            Ok(Self(given))
        } else {
            Err("a group has a number from 1 to 32")
        }
    }
}

impl From<GroupNumber> for u8 {
    fn from(group: GroupNumber) -> Self {
        group.0
    }
}

/// How many children each group has: as even as can be. With a station in pairs
/// nobody is left alone in a group, so some groups stay empty instead.
#[must_use]
pub fn spread(children: u16, groups: u8, in_pairs: bool) -> Vec<u16> {
    let all = u16::from(groups);
    // Fewer than two for each, and somebody would stand alone.
    let filled = if in_pairs {
        all.min((children / 2).max(1))
    } else {
        all.min(children)
    };
    let filled = filled.min(children);
    let (each, more) = match filled {
        0 => (0, 0),
        filled => (children / filled, children % filled),
    };
    (0..all)
        .map(|group| match group {
            group if group < more => each + 1,
            group if group < filled => each,
            _ => 0,
        })
        .collect()
}

/// A group that cannot be split into pairs has three work together, and a card
/// says how.
#[must_use]
pub const fn needs_three(children: u16) -> bool {
    children >= 3 && !children.is_multiple_of(2)
}
