//! What a teacher sets for one class and it ends with: who works without a
//! picture of themselves and without sound, and the one refinement to look for
//! today.
//!
//! Not here: what plays, and the cues of a unit.

use serde::{Deserialize, Serialize};

use crate::kernel::StationNumber;

/// The refinement of the day: one small thing that suits every station. Pages have
/// its figure and its few words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum Refinement {
    /// Land, and hold still.
    HoldStill,
    /// Land softly.
    LandSoftly,
    /// Long to the fingertips.
    Stretch,
    /// Round and small.
    Small,
    /// Eyes on one spot.
    OneSpot,
    /// Finish tall.
    Tall,
}

/// `POST /api/class/changes`: how something is to be from now on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case", tag = "change", deny_unknown_fields)]
pub enum ClassChange {
    /// No station has a picture of itself, and there is no sound.
    Quiet {
        /// Whether that is so.
        on: bool,
    },
    /// The same at one station.
    StationQuiet {
        /// Which.
        #[cfg_attr(test, ts(type = "number"))]
        station: StationNumber,
        /// Whether that is so.
        on: bool,
    },
    /// The refinement of the day.
    Refine {
        /// Which; none where nothing is to be said.
        cue: Option<Refinement>,
    },
}
