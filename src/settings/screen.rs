//! The rules of a station's screen in the server's config file: how large it
//! is, how high it hangs, how far away the children stand, what its keys may do.
//!
//! Not here: what follows from it for the letters (`core/plan/lettering`).

use std::ops::RangeInclusive;

use afterturn_core::plan::lettering::Screen;

use super::clicker::{self, Clicker};
use super::reader::Table;

/// From a small monitor to the largest that is sold for a wall.
const DIAGONAL_IN: RangeInclusive<u32> = 10..=150;
/// A screen whose lower edge is higher hangs in no gym.
const LOWER_EDGE_CM: RangeInclusive<u32> = 0..=600;
/// Across a room, or across a sports hall.
const DISTANCE_CM: RangeInclusive<u32> = 50..=4_000;

/// A station's screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ScreenSettings {
    /// From corner to corner, as it is sold.
    pub diagonal_in: u32,
    /// From the floor to the picture's lower edge.
    pub lower_edge_cm: u32,
    /// From the screen to the child who looks up.
    pub distance_cm: u32,
    /// From the screen to what keeps children from coming nearer.
    pub approach_cm: u32,
    /// What its keys may do, where that is not as for all.
    pub clicker: Option<Clicker>,
}

impl Default for ScreenSettings {
    /// A usual screen on a stand, looked at from six metres, and nobody who
    /// comes nearer: the largest letters.
    fn default() -> Self {
        Self {
            diagonal_in: 65,
            lower_edge_cm: 102,
            distance_cm: 600,
            approach_cm: 600,
            clicker: None,
        }
    }
}

impl ScreenSettings {
    /// The same in the terms of lettering.
    #[must_use]
    pub fn screen(&self) -> Screen {
        let mm = |cm: u32| f64::from(cm) * 10.0;
        Screen {
            approach_mm: mm(self.approach_cm),
            ..Screen::read_from(
                f64::from(self.diagonal_in),
                mm(self.lower_edge_cm),
                mm(self.distance_cm),
            )
        }
    }
}

/// Reads a screen; what is left out is as usual.
pub(super) fn read(mut table: Table<'_>) -> Option<ScreenSettings> {
    let usual = ScreenSettings::default();
    let diagonal = table.optional("diagonal_in");
    let lower_edge = table.optional("lower_edge_cm");
    let distance = table.optional("distance_cm");
    let approach = table.optional("approach_cm");
    let clicker = table.optional("clicker");
    table.finish();
    let diagonal_in = match diagonal {
        Some(entry) => entry.whole_within(DIAGONAL_IN),
        None => Some(usual.diagonal_in),
    };
    let lower_edge_cm = match lower_edge {
        Some(entry) => entry.whole_within(LOWER_EDGE_CM),
        None => Some(usual.lower_edge_cm),
    };
    let distance_cm = match distance {
        Some(entry) => entry.whole_within(DISTANCE_CM),
        None => Some(usual.distance_cm),
    };
    let approach_cm = match approach {
        Some(entry) => {
            let furthest = distance_cm.unwrap_or(*DISTANCE_CM.end());
            entry.whole_within(*DISTANCE_CM.start()..=furthest)
        }
        None => distance_cm,
    };
    let clicker = match clicker {
        Some(entry) => Some(clicker::read(&entry)?),
        None => None,
    };
    Some(ScreenSettings {
        diagonal_in: diagonal_in?,
        lower_edge_cm: lower_edge_cm?,
        distance_cm: distance_cm?,
        approach_cm: approach_cm?,
        clicker,
    })
}
