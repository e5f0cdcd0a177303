//! What a lesson is given once: its stations, its clocks, its folder.
//!
//! Not here: what it does with them.

use std::{path::PathBuf, sync::Arc};

use afterturn_core::{
    kernel::CaptureUs,
    rotation::{Readings, StationPlan},
    wire::InBoth,
};

use super::{List, UnitInUse};
use crate::station::Station;

/// How the stations are set up for a class of a grade, in walking order.
pub type Setups = Arc<dyn Fn(&str, Option<u8>) -> Vec<StationPlan> + Send + Sync>;
/// A line of a set-up in both languages.
pub type InWords = Arc<dyn Fn(&str) -> InBoth + Send + Sync>;
/// Reads all clocks.
pub type ReadClocks = Arc<dyn Fn() -> Readings + Send + Sync>;

/// What a lesson is given once.
pub struct LessonSettings {
    /// Every station there is.
    pub stations: Vec<Arc<Station>>,
    /// How they are set up for which class.
    pub setups: Setups,
    /// What stands in a set-up, for whoever reads another language.
    pub in_words: InWords,
    /// The unit that is in use.
    pub unit: UnitInUse,
    /// The clocks.
    pub clocks: ReadClocks,
    /// Where it is written down, if anywhere.
    pub state_dir: Option<PathBuf>,
    /// When the box was last heard of before this start.
    pub heard_of: Option<CaptureUs>,
    /// It is the demo: a class starts by itself, over and over.
    pub demo: bool,
    /// The list of children, if there is one.
    pub list: Option<List>,
}
