//! What somebody can press while a class runs, and what there is to see of it.
//!
//! Not here: what a press does (the clock), or who may (the door).

use serde::{Deserialize, Serialize};

use super::groups::GroupNumber;
use crate::kernel::StationNumber;

/// A phase of the class, as everybody sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum Phase {
    /// Everybody together.
    WarmUp,
    /// The stations are explained.
    Briefing,
    /// Each group at its station.
    Work,
    /// The end of that: finish, no new starts.
    LastTurn,
    /// Stand at your sign; what has to be put right at the station is shown.
    Gather,
    /// To the next station.
    Walk,
    /// Everybody together.
    Closing,
    /// The class is over.
    Done,
}

/// What makes the class wait; the later in this list, the more it says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum Hold {
    /// The time stands still; late pictures go on.
    Pause,
    /// Black and mute.
    Dark,
    /// Everybody stops where they are; no picture.
    Freeze,
    /// To the door, in line and silent; no camera.
    Leave,
    /// Somebody is hurt: everybody sits; no camera.
    Accident,
}

impl Hold {
    /// Every one, for tables and tests.
    pub const ALL: [Self; 5] = [
        Self::Pause,
        Self::Dark,
        Self::Freeze,
        Self::Leave,
        Self::Accident,
    ];

    /// No picture is on any screen meanwhile.
    #[must_use]
    pub const fn hides(self) -> bool {
        !matches!(self, Self::Pause)
    }

    /// No camera is on meanwhile, and what was taken is wiped.
    #[must_use]
    pub const fn stops_cameras(self) -> bool {
        matches!(self, Self::Leave | Self::Accident)
    }
}

/// One press.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case", tag = "press", deny_unknown_fields)]
pub enum Press {
    /// The next phase, now.
    Next,
    /// The phase before goes on with what it had left, half a minute at least.
    Back,
    /// Half a minute more.
    More,
    /// Wait, in one of the ways to wait.
    Hold {
        /// Which.
        hold: Hold,
    },
    /// Go on where it waited.
    Resume {
        /// Which wait is over.
        hold: Hold,
    },
    /// Where an accident was; before or after it was pressed.
    AccidentAt {
        /// The station.
        #[cfg_attr(test, ts(type = "number"))]
        station: StationNumber,
    },
    /// Nobody works at this station from now on.
    Close {
        /// The station.
        #[cfg_attr(test, ts(type = "number"))]
        station: StationNumber,
    },
    /// This station is worked at again.
    Open {
        /// The station.
        #[cfg_attr(test, ts(type = "number"))]
        station: StationNumber,
    },
    /// No picture of this group until it has left its station.
    CoverGroup {
        /// The group.
        group: GroupNumber,
    },
    /// Straight to the closing stretch.
    Finish,
    /// The class is over.
    End,
}

/// What came of a press.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// It was done.
    Done,
    /// It had been done: the same press again, or another remote was first.
    Already,
}

/// Why a press was not carried out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// The class is over.
    #[error("the class is over; start one first")]
    Over,
    /// There is nothing before.
    #[error("the class has just begun; there is nothing to go back to")]
    NothingBefore,
    /// There is no such station.
    #[error("there is no station {0} in this class")]
    NoStation(StationNumber),
    /// It was left out of this circuit.
    #[error("station {0} was closed when this circuit began; it can be opened for the next one")]
    NotInCircuit(StationNumber),
    /// Closing it would leave none.
    #[error("station {0} is the last one that is open; end the class instead")]
    LastOpen(StationNumber),
    /// There is no such group.
    #[error("there is no group {0} in this class")]
    NoGroup(u8),
}
