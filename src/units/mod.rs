//! Unit files: the circuit in words, as a person or the editor wrote it down.
//!
//! - [`parse`]: a file's bytes as a [`Unit`], with every mistake at its place.
//! - [`Edit`], [`apply`]: a change to the text that keeps the rest of it,
//!   comments included.
//! - [`Shelf`]: the folder with the files; who saves says which version was
//!   changed, and nothing is ever overwritten unseen.
//! - [`look_for_pictures`], [`Shelf::take_picture`]: the teacher's own pictures, in
//!   the folder `pictures` beside the files.
//! - [`Sheets`]: which screen shows what of a unit, for whom, how large.
//! - [`Sheets::planned`], [`keep_edits`]: what a class may have otherwise, and how
//!   that becomes what is planned.
//!
//! Not here: what a grade sees of a unit ([`afterturn_core::plan`]), HTTP, and
//! anything of a running class. The file holds defaults.
//!
//! [`Unit`]: afterturn_core::plan::Unit

mod edit;
mod file;
mod index;
mod languages;
mod order;
mod parts;
mod picture;
mod place;
mod planned;
mod rows;
mod sheets;
mod shelf;
mod station;
mod words;

#[cfg(test)]
mod tests;

pub use edit::{Edit, EditError, Path, apply};
pub use file::{parse, recognises};
pub use picture::{MOST_BYTES as MOST_PICTURE_BYTES, PictureError};
pub use planned::{Planned, cue_of, grade_of, keep_edits, station_of, view_of};
pub use sheets::{Pins, Sheets, ShowingError, in_both, task_id};
pub(crate) use sheets::{group_mark, on_wire};
pub use shelf::{BeginError, Change, Copy, Note, SaveError, Saved, Shelf, look_for_pictures};
