//! Afterturn: each child in a gymnastics circuit sees their own attempt, some
//! seconds later, on the gym TV.
//!
//! The rooms, top to bottom; each uses only rooms below it, and the rooms of
//! one line do not import each other:
//!
//! - `main` and [`run`]: the wiring; [`cli`]: the command line
//! - [`http`]: routes, sockets, pages; no rule of its own
//! - [`lesson`]: the running class
//! - [`station`], [`units`], [`sound`]: one camera, its ring, its screens; the
//!   circuit in words; what the gym hears
//! - [`door`], [`settings`], [`portfolio`]: who may do what; the server's config
//!   file; the vault that remembers
//! - [`store`], [`host`]: the only room that writes the disk; what the machine
//!   gives: clocks, limits, the service manager
//! - [`av`]: the only room that knows `GStreamer`
//! - [`afterturn_core`]: the pure rooms, a crate of their own

pub mod av;
pub mod cli;
pub mod door;
pub mod host;
pub mod http;
pub mod lesson;
pub mod portfolio;
pub mod run;
pub mod settings;
pub mod sound;
pub mod station;
pub mod store;
pub mod units;
