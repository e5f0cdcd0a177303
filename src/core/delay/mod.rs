//! What is kept, for how long, what of it may be seen, and when it goes out.
//!
//! - [`Ring`]: the fragments of one station, in memory only, with its veils and
//!   its wiped-before mark. Its one [`read`](Ring::read) is the only way to a
//!   picture ([`read_in_doubt`](Ring::read_in_doubt) is that of whoever ends a
//!   pause).
//! - [`Reach`]: how far back it can be counted on while memory is short.
//! - [`Again`]: pictures that were seen, once more: when somebody who asks is
//!   answered, with which stretch, and when that is over.
//! - [`Cut`]: a stretch of what was seen, to be kept.
//! - [`Viewer`]: what one screen is sent next, and when.
//!
//! Not here: sockets, clocks, and how a page steers by what it gets.

mod again;
mod cut;
mod reach;
mod ring;
mod veil;
mod viewer;

pub use again::{Again, Bounds, SLOWER, Way, Who};
pub use cut::{Cut, NoCut};
pub use reach::Reach;
pub use ring::{Chapter, Reading, Ring, RingSettings};
pub use veil::{Veil, Veils};
pub use viewer::{AHEAD_US, LEAD_US, Step, Viewer};

#[cfg(test)]
mod tests;
