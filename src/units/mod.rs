//! Units: what there is to do and to look for at the stations.
//!
//! - [`Sheets`]: which screen shows what of it.
//!
//! Not here: the circuit's cameras, the class that runs.

mod sheets;

pub use sheets::{Sheets, ShowingError};
