//! The plan of a unit: which stations stand in the gym, what is at each, and
//! what each grade sees of it.
//!
//! - [`Unit`], [`Station`] and what they hold: the circuit as it is written
//!   down, with what differs from one run of grades to another.
//! - [`resolve`]: what one grade sees at each station, in order.
//! - [`setups`]: the distinct ways the whole room is set up, and what has to be
//!   changed from one to the next.
//! - [`rigging`]: what stands at a station, for whoever has to put it there.
//! - [`lettering`]: how large letters have to be on a screen, and whether a cue
//!   fits.
//!
//! Not here: files and their mistakes, which class comes when, how anything is
//! drawn. Nothing of a child is in a plan.

mod grade;
pub mod lettering;
mod mark;
mod resolve;
mod rigging;
mod setups;
mod text;
mod unit;

#[cfg(test)]
mod tests;

pub use grade::{Grade, GradeError, Grades, GradesError};
pub use mark::{Colour, Mark, Shape};
pub use resolve::{Allowed, LeftOut, Room, StationView, Why, resolve};
pub use rigging::{RigLine, rigging};
pub use setups::{Change, Difference, Field, Setup, StationSetup, difference, setups};
pub use text::{Language, Text, words_in};
pub use unit::{
    Amount, AskFirst, Band, Changes, Cue, Details, Id, IdError, KitLine, Level, MOST_CUE_WORDS,
    MOST_REMINDER_WORDS, OtherWay, Permission, Station, Unit, Way,
};
