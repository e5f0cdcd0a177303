//! placeholder

pub mod stamp;
pub mod strip;
