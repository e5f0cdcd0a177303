//! What a remote is told of the program's own parts: which of them failed lately.
//!
//! Not here: starting them again.

use serde::Serialize;

use crate::kernel::StationNumber;

/// A part of the program that runs by itself; the page has the sentence.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case", tag = "name")]
pub enum Part {
    /// One station: its camera and its ring.
    Station {
        /// The number on its sign.
        #[cfg_attr(test, ts(type = "number"))]
        number: StationNumber,
    },
    /// The class clock, and who is covered.
    Class,
    /// What stands beside the pictures.
    Sheets,
    /// Looking whether cameras see well.
    Sight,
    /// Locking the list of children, and erasing what is out of time.
    List,
    /// Music and signals.
    Sound,
    /// Listening, certificates, the name that is called out.
    Network,
    /// Tablets and phones that are cameras.
    Publishing,
    /// Writing down what the box is to remember.
    Memory,
    /// Telling the service manager that the box is alive.
    Service,
    /// An answer to a page, or its line.
    Pages,
}

/// A part that failed lately.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct FailedPart {
    /// Which.
    pub part: Part,
    /// It was started again; if not, it is about to be.
    pub runs: bool,
}
