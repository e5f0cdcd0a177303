//! The bodies, one a file.
//!
//! Not here: how inputs are made.

pub mod access_unit;
pub mod backup;
pub mod config_file;
pub mod delay;
pub mod fragment;
pub mod intake;
pub mod list;
pub mod messages;
pub mod parameter_sets;
pub mod stamp;
