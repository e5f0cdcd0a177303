//! Which group stood where, by capture time: written as it happens, never
//! reckoned back from a plan that may have changed since.
//!
//! Not here: what follows from it.

use serde::{Deserialize, Serialize};

use super::groups::GroupNumber;
use crate::kernel::{CaptureUs, StationNumber};

/// A part of a class that has an end of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// Everybody together.
    WarmUp,
    /// The stations are explained.
    Briefing,
    /// Each group at its station; its end is the last turn.
    Work,
    /// Each group at the sign of its station.
    Gather,
    /// To the next one.
    Walk,
    /// Everybody together.
    Closing,
    /// The class is over.
    Done,
}

impl Stage {
    /// Each group is at its place.
    #[must_use]
    pub const fn is_at_stations(self) -> bool {
        matches!(self, Self::Work | Self::Gather)
    }
}

/// Where a group is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stand {
    /// The station whose place it has; none while it rests elsewhere.
    pub at: Option<StationNumber>,
    /// It works there; a group whose station is closed rests beside it.
    pub works: bool,
}

impl Stand {
    /// At no station.
    pub const NOWHERE: Self = Self {
        at: None,
        works: false,
    };
}

/// A stretch of capture time in which nobody's place changed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stretch {
    /// Its first moment; it ends where the next begins.
    pub from: CaptureUs,
    /// In which part of the class.
    pub stage: Stage,
    /// The turn, counted from nothing; in a walk, the one that is over.
    pub turn: u16,
    /// Until then children may still be on their way and anywhere in the gym.
    pub settled: CaptureUs,
    /// Where each group has its place, by number.
    pub stands: Vec<Stand>,
}

impl Stretch {
    /// Whether each group is where its place is, at a moment of it.
    #[must_use]
    pub fn is_settled(&self, at: CaptureUs) -> bool {
        self.stage.is_at_stations() && at >= self.settled
    }
}

/// See the module.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct History(Vec<Stretch>);

impl History {
    /// Adds a stretch. Capture time never goes back; a stretch that took no time
    /// was none.
    pub(super) fn push(&mut self, mut stretch: Stretch) {
        if let Some(last) = self.0.last() {
            stretch.from = stretch.from.max(last.from);
            if last.from == stretch.from {
                self.0.pop();
            }
        }
        self.0.push(stretch);
    }

    /// All of it, oldest first.
    #[must_use]
    pub fn all(&self) -> &[Stretch] {
        &self.0
    }

    /// The stretch a capture time is in.
    #[must_use]
    pub fn at(&self, at: CaptureUs) -> Option<&Stretch> {
        let after = self.0.partition_point(|stretch| stretch.from <= at);
        self.0[..after].last()
    }

    /// The groups that worked at a station at a capture time, as far as the
    /// class clock knows.
    #[must_use]
    pub fn who(&self, station: StationNumber, at: CaptureUs) -> Vec<GroupNumber> {
        let Some(stretch) = self.at(at).filter(|s| s.stage.is_at_stations()) else {
            return Vec::new();
        };
        let here = |stand: &Stand| stand.works && stand.at == Some(station);
        let stands = stretch.stands.iter().enumerate();
        stands
            .filter(|(_, stand)| here(stand))
            .map(|(index, _)| GroupNumber::at(index))
            .collect()
    }

    /// Where a group was at a capture time.
    #[must_use]
    pub fn where_was(&self, group: GroupNumber, at: CaptureUs) -> Stand {
        let stretch = self.at(at).filter(|s| s.stage.is_at_stations());
        let stand = stretch.and_then(|s| s.stands.get(group.index()));
        stand.copied().unwrap_or(Stand::NOWHERE)
    }
}
