//! Who is shown in a class, where the list of children cannot tell.

use serde::{Deserialize, Serialize};

use crate::rotation::GroupNumber;

/// Why the list cannot tell who may be shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum NotKnown {
    /// It cannot be read.
    Unreadable,
    /// The class is not in it, or its titles are sealed.
    Class,
    /// The class is in other groups than there.
    Groups,
    /// There is no child in it.
    Empty,
}

/// `POST /api/class/shown`: all groups are shown from now on but these, and those
/// that the list knows of.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
pub struct ShownAsk {
    /// By number.
    pub not_shown: Vec<GroupNumber>,
}
