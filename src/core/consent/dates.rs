//! How long things are kept, and what to do when today's date cannot be right.
//!
//! Not here: what is kept, or covered, on which day.

use serde::{Deserialize, Serialize};

use crate::kernel::Day;

/// For how many days what is kept, each for itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Terms {
    /// Stills and clips, from the day they were taken.
    pub media_days: u16,
    /// Notes and levels, from the day they were written.
    pub records_days: u16,
    /// A child in the list, from the day a list last named it.
    pub roster_days: u16,
}

/// A term that is none.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a term is {} to {} days", Terms::LEAST_DAYS, Terms::MOST_DAYS)]
pub struct TermsError;

/// Common practice, no source: no statute seen fixes days. Pictures for a unit
/// of some weeks, the rest for a school year.
impl Default for Terms {
    fn default() -> Self {
        Self {
            media_days: 60,
            records_days: 365,
            roster_days: 365,
        }
    }
}

impl Terms {
    /// The shortest.
    pub const LEAST_DAYS: u16 = 1;
    /// The longest: the years of an elementary school.
    pub const MOST_DAYS: u16 = 6 * 366;

    /// Terms, if each is one.
    pub fn new(media_days: u16, records_days: u16, roster_days: u16) -> Result<Self, TermsError> {
        let good = |days: &u16| (Self::LEAST_DAYS..=Self::MOST_DAYS).contains(days);
        let all = [media_days, records_days, roster_days];
        all.iter().all(good).then_some(()).ok_or(TermsError)?;
        Ok(Self {
            media_days,
            records_days,
            roster_days,
        })
    }
}

/// The longest a box is away over a weekend and a holiday. A date further on
/// than this beyond the last is somebody's mistake, or a long holiday; either
/// way somebody looks before things are destroyed.
const MOST_AHEAD_DAYS: i32 = 8;

/// The days that today may be: one, or two and all between them while the date is
/// in doubt. A yes counts where it holds on all of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DaySpan {
    /// The first.
    pub first: Day,
    /// The last: what was over on it stays over.
    pub last: Day,
}

impl From<Day> for DaySpan {
    fn from(day: Day) -> Self {
        Self {
            first: day,
            last: day,
        }
    }
}

/// Remembers the latest day there was.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct DateWatch {
    highest: Option<Day>,
}

/// What is odd about today's date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// It lies before a day that was already here.
    Behind {
        /// That day.
        highest: Day,
    },
    /// It lies far beyond the last day there was.
    Ahead {
        /// That day.
        highest: Day,
    },
}

impl DateWatch {
    /// With the latest day there was.
    #[must_use]
    pub const fn new(highest: Option<Day>) -> Self {
        Self { highest }
    }

    /// The latest day there was.
    #[must_use]
    pub const fn highest(&self) -> Option<Day> {
        self.highest
    }

    /// Whether today's date can be right.
    #[must_use]
    pub fn doubt(&self, today: Day) -> Option<Doubt> {
        let highest = self.highest?;
        if today < highest {
            Some(Doubt::Behind { highest })
        } else if today > highest.plus(MOST_AHEAD_DAYS) {
            Some(Doubt::Ahead { highest })
        } else {
            None
        }
    }

    /// Today was here, unless that is in doubt.
    pub fn pass(&mut self, today: Day) {
        if self.doubt(today).is_none() {
            self.highest = Some(today);
        }
    }

    /// The teacher says that today's date is right.
    pub const fn confirm(&mut self, today: Day) {
        self.highest = Some(today);
    }

    /// The days that today may be, by the date on the clock. A date further back
    /// than any that would have been believed ahead is a clock that lost its time,
    /// and says nothing.
    #[must_use]
    pub fn days(&self, today: Day) -> DaySpan {
        let (first, last) = match self.doubt(today) {
            None => (today, today),
            Some(Doubt::Behind { highest }) if highest.plus(-MOST_AHEAD_DAYS) <= today => {
                (today, highest)
            }
            Some(Doubt::Behind { highest }) => (highest, highest),
            Some(Doubt::Ahead { highest }) => (highest, today),
        };
        DaySpan { first, last }
    }

    /// The last day whose things may be destroyed: yesterday's, or none while
    /// the date is in doubt. Until then they are hidden.
    #[must_use]
    pub fn destroy_through(&self, today: Day) -> Option<Day> {
        self.doubt(today).is_none().then(|| today.plus(-1))
    }
}
