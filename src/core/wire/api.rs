//! What the JSON interface answers: the shapes behind `GET /api/stations`.
//!
//! Not here: problems, which are RFC 9457 bodies made at the edge.

use serde::{Deserialize, Serialize};

use super::CameraState;
use crate::kernel::CaptureUs;

/// `GET /api/stations`.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct StationList {
    /// The capture clock as this was written.
    #[cfg_attr(test, ts(type = "number"))]
    pub now_us: CaptureUs,
    /// In the order of the circuit.
    pub stations: Vec<StationInfo>,
}

/// One station, as a remote needs it. `GET /api/stations/{n}`.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct StationInfo {
    /// The number on its sign.
    pub number: u8,
    /// Its title.
    pub title: String,
    /// Capture to glass.
    pub delay_ms: u32,
    /// The step in which it is set.
    pub delay_step_ms: u32,
    /// The most the window allows.
    pub delay_most_ms: u32,
    /// How far back the ring reaches when full.
    pub window_ms: u32,
    /// Encoded bytes in the ring.
    #[cfg_attr(test, ts(type = "number"))]
    pub ring_bytes: u64,
    /// It is the built-in demo scene.
    pub demo: bool,
    /// How its camera is.
    pub camera: CameraInfo,
    /// Capture time of the oldest picture that may be shown.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub oldest_us: Option<CaptureUs>,
    /// Capture time of the newest picture.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub newest_us: Option<CaptureUs>,
    /// The screens that watch it.
    pub viewers: Vec<ViewerInfo>,
}

/// How a camera is.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct CameraInfo {
    /// In a word.
    pub state: CameraState,
    /// Since when.
    #[cfg_attr(test, ts(type = "number"))]
    pub since_us: CaptureUs,
    /// For a technician; empty while all is well.
    pub detail: String,
}

/// One screen, by what it reported last.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct ViewerInfo {
    /// Capture time of the picture on its glass.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub glass_us: Option<CaptureUs>,
    /// How far that is from where it should be; positive is late.
    pub error_ms: Option<f64>,
    /// Pictures the screen left out by itself.
    pub dropped_pictures: u32,
    /// Pictures the server left out for it.
    #[cfg_attr(test, ts(type = "number"))]
    pub lost_pictures: u64,
}

/// `PATCH /api/stations/{n}`: what to change.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
pub struct StationPatch {
    /// The new delay.
    pub delay_ms: u32,
}
