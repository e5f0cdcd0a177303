//! What every other room stands on: time, ids and units of measure.
//!
//! Not here: anything that knows what a picture, a station or a child is.

mod figures;
mod id;
mod time;

pub use figures::{figures, is_figure};
pub use id::{FragmentNumber, StationNumber, StationNumberError};
pub use time::{AttemptError, AttemptS, CaptureUs, DELAY_STEP_MS, DelayError, DelayMs};
