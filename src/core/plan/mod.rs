//! What is planned before a class.
//!
//! - [`lettering`]: how large letters have to be, and whether a cue fits.
//!
//! Not here: anything that is only known while a class runs.

pub mod lettering;
