//! The only room that writes the disk.
//!
//! Not here: what is worth keeping. No camera's picture and no name of a child
//! passes through but sealed; the callers see to that.

pub mod atomic;
pub mod folder;
pub mod high_water;
pub mod json;
pub mod ledger;
pub mod lines;
pub mod media;
pub mod secrets;
pub mod vault;
