//! What every other room stands on: time, ids, units of measure, and a name
//! that cannot be printed.
//!
//! Not here: anything that knows what a picture, a station or a child is.

mod cost;
mod day;
mod figures;
mod id;
mod name;
mod row;
mod time;

pub use cost::{HASH_MEMORY_KIB, HASH_PASSES};
pub use day::{Day, DayError};
pub use figures::{figures, is_figure};
pub use id::{FragmentNumber, StationNumber, StationNumberError};
pub use name::{Name, NameError};
pub use row::{ChildId, ClassId, IdError, ItemId, RecordId};
pub use time::{AttemptError, AttemptS, CaptureUs, DELAY_STEP_MS, DelayError, DelayMs};
