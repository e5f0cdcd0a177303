//! What is asked and said while a station is set up: how long its camera takes,
//! and whether it sees well enough.
//!
//! Not here: finding out (`vision`), and the sentences.

use serde::{Deserialize, Serialize};

/// What is taken off a station's capture times.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct LatencyInfo {
    /// What the config file says.
    pub file_ms: u32,
    /// What is in force: measured, or the file's.
    pub now_ms: u32,
}

/// What keeps a camera from seeing well.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum SightTrouble {
    /// Hardly any light.
    TooDark,
    /// A bright window behind, shadows before it.
    Backlit,
    /// Nothing is sharp.
    OutOfFocus,
}

/// How a calibration goes or went.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case", tag = "state")]
pub enum CalibrationInfo {
    /// The screen shows the bars and the camera is being watched.
    Running {
        /// Changes seen so far…
        changes: u32,
        /// …of so many.
        wanted: u32,
    },
    /// The figure was found and is in force.
    Found {
        /// What the camera takes.
        latency_ms: u32,
        /// It may be off by this.
        unsure_ms: u32,
    },
    /// Nothing was changed.
    Refused {
        /// Why, in a word; the page has the sentence.
        why: CalibrationRefusal,
        /// For a technician; often empty.
        detail: String,
    },
}

/// Why a calibration has no result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum CalibrationRefusal {
    /// The bars could not be read in the camera's picture.
    NotFound,
    /// The same, and the picture is as good as black.
    TooDark,
    /// They could, but too rarely.
    TooFew,
    /// What was seen does not agree on one figure.
    Uneven,
    /// It agrees on one that no camera has.
    Impossible,
    /// Pictures are hidden, from this too.
    Hidden,
    /// No class runs at this station, so its camera is off.
    CameraOff,
    /// The camera sends no pictures.
    NoCamera,
    /// No screen shows this station.
    NoScreen,
    /// The box cannot decode the pictures.
    NoDecoder,
    /// Somebody stopped it.
    Stopped,
}

/// What can be asked about a camera's latency.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum CalibrationOrder {
    /// Show the bars and find out.
    Start,
    /// Show late pictures again at once.
    Stop,
    /// Go by the config file again.
    Forget,
}

/// `POST /api/stations/{n}/calibration`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
pub struct CalibrationAsk {
    /// What is asked.
    pub order: CalibrationOrder,
}
