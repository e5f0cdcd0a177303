//! Who may be seen, and of whom something may be kept.
//!
//! - [`Record`]: one answer of a family, as somebody recorded it;
//!   [`Register`]: what they come to.
//! - [`Permit`]: what the functions that keep something ask for. Only
//!   [`Register::permit`] makes one, and only for what every named child's
//!   family has agreed to.
//! - [`ListedChild`], [`Veil`], [`Covered`]: which groups are covered, so that nobody not to be
//!   seen is seen; all, where that is not known.
//! - [`DateWatch`], [`DaySpan`], [`Terms`]: which days today may be when the date
//!   on the clock cannot be right; how long things are kept.
//!
//! Not here: names, the disk, and the keeping itself.

mod dates;
mod permit;
mod record;
mod register;
mod veil;

pub use dates::{DateWatch, DaySpan, Doubt, Terms, TermsError};
pub use permit::{Interval, Medium, Permit, Purpose, Refusal, Request};
pub use record::{Answer, Kind, Record, Standing, ViewRule};
pub use register::Register;
pub use veil::{
    Covered, Grouping, ListedChild, Member, Unknown, Veil, grouping, listed_children, veils,
};

#[cfg(test)]
mod tests;
