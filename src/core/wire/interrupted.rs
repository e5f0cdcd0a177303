//! A class that was interrupted, and what a teacher answers for it.
//!
//! Not here: how far it really is.

use serde::{Deserialize, Serialize};

use super::ClassTime;
use crate::rotation::Why;

/// A class was interrupted: how far is it?
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct AfterRestart {
    /// What it is called.
    pub title: String,
    /// Why that is not known.
    pub why: Why,
    /// How it would stand if the boot clock is right.
    pub going_on: ClassTime,
    /// How it stood when the box was last heard of.
    pub as_it_was: ClassTime,
}

/// What to do with a class that was interrupted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum AnswerAfterRestart {
    /// Time went on meanwhile.
    GoOn,
    /// Go on where it stood.
    AsItWas,
    /// It is over.
    End,
}

/// `POST /api/class/answer`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
pub struct ClassAnswer {
    /// What.
    pub answer: AnswerAfterRestart,
}
