//! What the machine gives us, read at the edge: its clocks, its calendar, its limits,
//! its addresses, its service manager, its log; its name on the network, called out;
//! and the program's tasks, started again when one fails.
//!
//! Not here: deciding anything by it; the present goes into the other rooms as
//! an argument. Nor the disk, which is [`crate::store`]'s.

pub mod addresses;
pub mod announce;
pub mod calendar;
pub mod clock;
pub mod hygiene;
pub mod log;
pub mod parts;
pub mod service;
