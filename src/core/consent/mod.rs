//! Who may be seen, and of whom something may be kept.
//!
//! - [`Record`]: one answer of a family, as somebody recorded it;
//!   [`Register`]: what they come to.
//! - [`Permit`]: what the functions that keep something ask for. Only
//!   [`Register::permit`] makes one, and only for what every named child's
//!   family has agreed to.
//! - [`Veil`], [`covered`]: which groups are covered, so that nobody not to be
//!   seen is seen.
//! - [`DateWatch`], [`Terms`]: how long things are kept, and what to do when
//!   today's date cannot be right.
//!
//! Not here: names, the disk, and the keeping itself.

mod dates;
mod permit;
mod record;
mod register;
mod veil;

pub use dates::{DateWatch, Doubt, Terms, TermsError};
pub use permit::{Interval, Medium, Permit, Purpose, Refusal, Request};
pub use record::{Answer, Kind, Record, Standing, ViewRule};
pub use register::Register;
pub use veil::{Member, Veil, covered, veils};

#[cfg(test)]
mod tests;
