//! One answer of a family, and what it is worth on a day.

use serde::{Deserialize, Serialize};

use super::DaySpan;
use crate::kernel::{ChildId, Day, RecordId};

/// What a family is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// May be seen on the gym TV; nothing is kept.
    Seen,
    /// Stills may be kept.
    Stills,
    /// Clips may be kept.
    Clips,
    /// What is kept may be shared with the family.
    Shared,
}

impl Kind {
    /// Every kind, in the order of the letter.
    pub const ALL: [Self; 4] = [Self::Seen, Self::Stills, Self::Clips, Self::Shared];
}

/// What the family said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Answer {
    /// Yes.
    Given,
    /// No.
    Withheld,
    /// Yes once, and no from now on.
    Withdrawn,
}

/// An answer as it was recorded. Never changed afterwards: a new answer is a
/// new record, and the latest of a kind counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Record {
    /// Its id.
    pub id: RecordId,
    /// Its place in the order of recording.
    pub order: i64,
    /// Of which child.
    pub child: ChildId,
    /// To what.
    pub kind: Kind,
    /// What was said.
    pub answer: Answer,
    /// The day from which it holds.
    pub from: Day,
    /// The last day on which it holds; a no has none.
    pub until: Option<Day>,
    /// It was followed by another answer, as the ledger of this box knows,
    /// whatever else a restored copy says.
    pub over: bool,
    /// Somebody on this box stands for it. Answers that came from elsewhere
    /// are to be confirmed before a yes counts.
    pub confirmed: bool,
}

/// What a child's answers come to, for one kind on one day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Nobody has recorded anything that still holds.
    NotAsked,
    /// Yes, up to and including that day.
    Given {
        /// The last day, if there is one.
        until: Option<Day>,
    },
    /// A yes that came from another box; it counts when it is confirmed.
    ToConfirm,
    /// A yes whose day has not come.
    NotYet {
        /// The first day.
        from: Day,
    },
    /// A yes whose last day is past.
    Ended {
        /// The last day.
        until: Day,
    },
    /// No.
    Withheld,
    /// Not any more.
    Withdrawn,
}

impl Record {
    /// What it is worth on a day.
    #[must_use]
    pub fn standing(&self, today: Day) -> Standing {
        match self.answer {
            Answer::Withheld => Standing::Withheld,
            Answer::Withdrawn => Standing::Withdrawn,
            Answer::Given if self.over => Standing::NotAsked,
            Answer::Given if !self.confirmed => Standing::ToConfirm,
            Answer::Given if today < self.from => Standing::NotYet { from: self.from },
            Answer::Given => match self.until {
                Some(until) if until < today => Standing::Ended { until },
                until => Standing::Given { until },
            },
        }
    }

    /// What it is worth on every one of some days.
    #[must_use]
    pub fn standing_over(&self, days: DaySpan) -> Standing {
        match self.standing(days.first) {
            not_yet @ Standing::NotYet { .. } => not_yet,
            _ => self.standing(days.last),
        }
    }
}

/// What holds for the late picture, of which nothing is kept, while a family
/// has not answered. The school chooses at the first run; there is no silent
/// default.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ViewRule {
    /// Not seen until the family says yes.
    OptIn,
    /// Seen until the family says no.
    OptOut,
}
