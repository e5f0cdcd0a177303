//! What a class has otherwise than the unit: a cue that stays, a delay; and what
//! is asked about it once the class is over.
//!
//! Not here: applying it, or keeping it.

use serde::{Deserialize, Serialize};

use super::InBoth;
use crate::rotation::TunedKind;

/// A cue of a station, in the words of both languages.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct CueChoice {
    /// Its id.
    pub id: String,
    /// Its words.
    pub text: InBoth,
}

/// The cues that a station has for the grade that is shown, in the unit's order.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct StationCues {
    /// The number on its sign.
    pub station: u8,
    /// All of them.
    pub cues: Vec<CueChoice>,
    /// The id of the one that is shown where nobody chose.
    pub planned: Option<String>,
    /// The id of the one that somebody chose; it stays.
    pub pinned: Option<String>,
}

/// `POST /api/class/cue`.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
pub struct CuePick {
    /// The number on its sign.
    pub station: u8,
    /// Which cue stays; `null`: as planned.
    pub cue: Option<String>,
}

/// Something a class had otherwise, and what is planned.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case", tag = "what")]
pub enum Otherwise {
    /// The delay.
    Delay {
        /// What the class had.
        delay_ms: u32,
        /// What is planned.
        planned_ms: u32,
    },
    /// The cue.
    Cue {
        /// The one that was chosen.
        cue: InBoth,
        /// The one that is planned.
        planned: Option<InBoth>,
    },
}

/// Something a class had otherwise, and nobody has said yet for whom it is to
/// hold.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct KeepOffer {
    /// Which class.
    pub class: String,
    /// The number of the station.
    pub station: u8,
    /// What the station is called.
    pub title: InBoth,
    /// What.
    pub otherwise: Otherwise,
    /// The version of the unit file it would be kept in; nothing where the box
    /// itself keeps it.
    pub version: Option<String>,
    /// It can be kept for everybody. A cue of one level cannot while another is
    /// for all.
    pub for_everybody: bool,
}

/// `GET /api/class/kept`, and the answer to every [`KeepAsk`].
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct KeepOffers {
    /// What there is to say, the class that was here last first; nothing while a
    /// class runs.
    pub offers: Vec<KeepOffer>,
}

/// For whom something is to hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum KeepFor {
    /// Every class: it becomes what is planned.
    Everybody,
    /// That class alone, whenever it comes.
    Class,
    /// Nobody: it is as planned again.
    Nobody,
}

/// `POST /api/class/kept`: what is said to one offer.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
pub struct KeepAsk {
    /// Which class.
    pub class: String,
    /// The number of the station.
    pub station: u8,
    /// What.
    pub what: TunedKind,
    /// For whom.
    pub keep: KeepFor,
    /// The version of the unit file that the offer named.
    #[serde(default)]
    #[cfg_attr(test, ts(optional))]
    pub version: Option<String>,
}
