//! Pictures that were seen, once more: what screens are told, and what can be
//! asked for.
//!
//! Not here: when it is answered, and with which pictures (`core/delay`).

use serde::{Deserialize, Serialize};

use super::StationInfo;
use crate::kernel::CaptureUs;

/// What a station's screens show instead of the late picture. It is live: it
/// takes effect at the moments of the server's clock that it names.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum Again {
    /// The pictures from one capture time up to another, as evenly as the two
    /// moments say; then the late picture again, without another word.
    Playing {
        /// Capture time of its first picture.
        #[cfg_attr(test, ts(type = "number"))]
        from_us: CaptureUs,
        /// The capture time at which it is over.
        #[cfg_attr(test, ts(type = "number"))]
        to_us: CaptureUs,
        /// When the first picture is on the glass.
        #[cfg_attr(test, ts(type = "number"))]
        starts_us: CaptureUs,
        /// When it is over.
        #[cfg_attr(test, ts(type = "number"))]
        ends_us: CaptureUs,
    },
    /// One picture, until something else is said.
    Held {
        /// Its capture time.
        #[cfg_attr(test, ts(type = "number"))]
        at_us: CaptureUs,
    },
}

/// What can be asked for from a remote.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum AgainAsk {
    /// The last attempt, at half speed.
    Again,
    /// The picture that is on the glass stays.
    Hold,
    /// While one is held: the one before.
    StepBack,
    /// While one is held: the one after.
    StepOn,
    /// What was going on before goes on.
    GoOn,
}

/// `POST /api/stations/{n}/again`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
pub struct StationAgain {
    /// What is asked.
    pub ask: AgainAsk,
}

/// What came of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum AgainAnswer {
    /// It is done.
    Done,
    /// Not now: it runs already, or has only just ended.
    Busy,
    /// There is no picture that may be shown for it.
    Nothing,
}

/// The answer to [`StationAgain`].
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct AgainSaid {
    /// What came of it.
    pub answer: AgainAnswer,
    /// How the station is now.
    pub station: StationInfo,
}
