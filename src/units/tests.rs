//! What a unit file promises: it is read whole, and each mistake is shown at
//! its place with what to write instead.

use super::*;

mod edits;
mod sample;
mod seeded;
mod shelf;
