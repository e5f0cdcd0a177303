//! What the JSON interface answers: the shapes behind `GET /api/stations`.
//!
//! Not here: problems, which are RFC 9457 bodies made at the edge.

use serde::{Deserialize, Serialize};

use super::{Again, CalibrationInfo, CameraState, FailedPart, LatencyInfo, SightTrouble};
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
    /// The parts of the program that failed lately, a fault each.
    pub failed: Vec<FailedPart>,
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
    /// The delay that is kept: less than what was set while memory is short.
    pub delay_now_ms: u32,
    /// How far back the ring reaches when full.
    pub window_ms: u32,
    /// How far back it can be counted on: less than the window while memory is
    /// short.
    pub reach_ms: u32,
    /// Encoded bytes in the ring.
    #[cfg_attr(test, ts(type = "number"))]
    pub ring_bytes: u64,
    /// It is the built-in demo scene.
    pub demo: bool,
    /// No picture of it is on any screen, until it is resumed.
    pub paused: bool,
    /// Pictures taken from then on are not shown, until it is uncovered.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub covered_from_us: Option<CaptureUs>,
    /// How its camera is.
    pub camera: CameraInfo,
    /// How long an attempt lasts: what is shown again.
    pub attempt_s: u8,
    /// The shortest it can be set to.
    pub attempt_least_s: u8,
    /// The longest.
    pub attempt_most_s: u8,
    /// What its screens show instead of the late picture, if anything.
    pub again: Option<Again>,
    /// What is taken off its capture times.
    pub latency: LatencyInfo,
    /// The calibration that runs, or the last one since the start.
    pub calibration: Option<CalibrationInfo>,
    /// Capture time of the oldest picture that may be shown.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub oldest_us: Option<CaptureUs>,
    /// Capture time of the newest picture.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub newest_us: Option<CaptureUs>,
    /// The screens that watch it.
    pub viewers: Vec<ViewerInfo>,
}

/// Something about a camera that shows pictures all the same; the page has the
/// sentence.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case", tag = "note")]
pub enum CameraNote {
    /// It sends H.265, which is decoded and encoded anew.
    ConvertsH265,
    /// It sends Motion JPEG where it could send H.264; likewise.
    ConvertsJpeg,
    /// It sends pictures out of order; likewise.
    ConvertsBFrames,
    /// It sends fields; likewise.
    ConvertsInterlaced,
    /// It sends a profile that browsers do not play; likewise.
    ConvertsProfile,
    /// It is on USB and offers uncompressed pictures only.
    Uncompressed,
    /// The machine is too slow for all that was wanted; this is the most it
    /// encodes.
    Reduced {
        /// Columns.
        width_px: u32,
        /// Rows.
        height_px: u32,
        /// Pictures a second.
        fps: u32,
    },
    /// The machine is too slow even for the least there is.
    TooSlow,
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
    /// What could be better; empty while all is well.
    pub notes: Vec<CameraNote>,
    /// What keeps it from seeing well, as far as can be told from its pictures;
    /// nothing while all is well, or nobody may look.
    pub sight: Option<SightTrouble>,
    /// It does not look any more where it looked: no picture of it is shown until
    /// somebody has looked and says that it is right.
    pub moved: bool,
}

/// One screen: what it reported last, and what is known without its word.
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
    /// Pictures the server left out for it, by now.
    #[cfg_attr(test, ts(type = "number"))]
    pub lost_pictures: u64,
    /// For how long it has taken nothing of what it is sent; up to half a second
    /// while all is well.
    pub stuck_ms: u32,
}

/// `PATCH /api/stations/{n}`: what to change; what is left out stays.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
pub struct StationPatch {
    /// The new delay.
    #[cfg_attr(test, ts(optional))]
    pub delay_ms: Option<u32>,
    /// How long an attempt lasts.
    #[cfg_attr(test, ts(optional))]
    pub attempt_s: Option<u32>,
}

/// What can be asked of a station for the sake of who is in the picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum Order {
    /// What was taken and has not been shown yet is never shown.
    DontShow,
    /// Everything taken so far is forgotten, here and on every screen.
    Wipe,
    /// What is taken from now on is not shown; what was taken before still is.
    CoverFromNow,
    /// What is taken from now on is shown again.
    Uncover,
    /// No picture on any screen, at once; the camera goes on.
    Pause,
    /// Late pictures again.
    Resume,
    /// Somebody has looked: the camera that seemed to have moved is right as it
    /// is.
    CameraRight,
}

impl Order {
    /// Every order, for tables and tests.
    pub const ALL: [Self; 7] = [
        Self::DontShow,
        Self::Wipe,
        Self::CoverFromNow,
        Self::Uncover,
        Self::Pause,
        Self::Resume,
        Self::CameraRight,
    ];
}

/// `POST /api/stations/{n}/orders`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
pub struct StationOrder {
    /// What is asked.
    pub order: Order,
}
