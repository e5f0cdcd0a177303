//! What a board of the hall is told: the whole class at once.
//!
//! Not here: drawing it; the class as a station's own screen and the remote need
//! it (`class`).

use serde::{Deserialize, Serialize};

use super::{Applies, ClassTime, Look, Refinement, SheetMark, View};

/// A station, on the board of the hall.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct HallStation {
    /// Its mark.
    pub mark: SheetMark,
    /// Nobody works there.
    pub closed: bool,
}

/// A group, on the board of the hall.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct HallGroup {
    /// Its mark.
    pub mark: SheetMark,
    /// The station whose place it has at this turn, or will at the first.
    pub station: Option<u8>,
    /// It works there; if not it rests beside.
    pub works: bool,
    /// Where it goes next; nothing where it goes to rest, or nowhere.
    pub next: Option<u8>,
}

/// The whole class, for a screen that is no station's own; at every change and
/// at least every half second. All of it is live.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Hall {
    /// Always [`Applies::Live`].
    pub applies: Applies,
    /// Nothing while no class runs.
    pub time: Option<ClassTime>,
    /// In walking order.
    pub stations: Vec<HallStation>,
    /// By number; one without children is left out.
    pub groups: Vec<HallGroup>,
    /// How it is told.
    pub view: View,
    /// How it looks.
    pub look: Look,
    /// What to look for today, at every station.
    pub refine: Option<Refinement>,
}
