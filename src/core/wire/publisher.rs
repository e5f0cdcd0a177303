//! What a publisher's page and the server tell each other once a second, beside
//! the pictures: `POST /api/stations/{n}/publisher`.
//!
//! Not here: the offer and its answer, which are SDP (RFC 9725).

use serde::{Deserialize, Serialize};

use super::{CameraState, SightTrouble};
use crate::kernel::CaptureUs;

/// From a publisher.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
pub struct PublisherNews {
    /// Who it is, if it publishes: the last part of the address it was given.
    #[serde(default)]
    #[cfg_attr(test, ts(type = "number | null"))]
    pub publisher: Option<u64>,
    /// How far the server's clock is ahead of its own wall clock, which its
    /// sender reports go by, once it has compared them.
    #[serde(default)]
    #[cfg_attr(test, ts(type = "number | null"))]
    pub ahead_us: Option<i64>,
}

/// To a publisher.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct PublisherStanding {
    /// The server's capture clock as this was written.
    #[cfg_attr(test, ts(type = "number"))]
    pub now_us: CaptureUs,
    /// Who publishes to this station now, if anybody does.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub publisher: Option<u64>,
    /// How the station's camera is: off while there is no class, showing while
    /// pictures arrive.
    pub camera: CameraState,
    /// What the camera does not see well, if anything.
    pub sight: Option<SightTrouble>,
    /// It was moved: no picture of it is shown until somebody has looked.
    pub moved: bool,
}
