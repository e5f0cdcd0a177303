//! Leave to keep something.

use super::{DaySpan, Kind, Register, Standing};
use crate::kernel::{CaptureUs, ChildId, Day, RecordId};

/// What is to be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Medium {
    /// One picture, or several in one.
    Still,
    /// A moving one.
    Clip,
}

impl Medium {
    /// What the family was asked.
    #[must_use]
    pub const fn kind(self) -> Kind {
        match self {
            Self::Still => Kind::Stills,
            Self::Clip => Kind::Clips,
        }
    }
}

/// What it is kept for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// For the child and the teacher to look at.
    Portfolio,
    /// To be handed to the family as well.
    Family,
}

/// A stretch of capture time, and where midnight is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Interval {
    /// Its first picture.
    pub from: CaptureUs,
    /// Its last picture.
    pub to: CaptureUs,
    /// Seconds east of Greenwich.
    pub offset_s: i32,
}

/// The longest stretch one permit covers: a turn at a station. Whoever wants a
/// whole lesson is keeping a lesson, not a child's attempt.
const LONGEST_US: i64 = 10 * 60 * 1_000_000;

impl Interval {
    /// The days of its ends.
    #[must_use]
    pub fn days(&self) -> (Day, Day) {
        let day = |at: CaptureUs| Day::of((at.0 / 1_000_000) as i64, self.offset_s);
        (day(self.from), day(self.to))
    }
}

/// What somebody wants to keep.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Request {
    /// Every child in it.
    pub children: Vec<ChildId>,
    /// As what.
    pub medium: Medium,
    /// For what.
    pub purpose: Purpose,
    /// Of when.
    pub interval: Interval,
    /// How many days such things are kept at most.
    pub term_days: u16,
}

/// Leave to keep one thing, for the children it names and nobody else. Made by
/// [`Register::permit`] alone; it cannot be copied, and what keeps something
/// takes it whole.
///
/// ```compile_fail
/// // Its fields are its own: nobody writes one down.
/// let permit = afterturn_core::consent::Permit { children: vec![] };
/// ```
/// ```compile_fail
/// fn copied(permit: afterturn_core::consent::Permit) -> impl Clone { permit }
/// ```
#[derive(Debug, PartialEq, Eq)]
pub struct Permit {
    children: Vec<ChildId>,
    medium: Medium,
    purpose: Purpose,
    interval: Interval,
    bases: Vec<RecordId>,
    made_on: Day,
    keep_until: Day,
}

impl Permit {
    /// Every child in it.
    #[must_use]
    pub fn children(&self) -> &[ChildId] {
        &self.children
    }

    /// As what it may be kept.
    #[must_use]
    pub const fn medium(&self) -> Medium {
        self.medium
    }

    /// For what.
    #[must_use]
    pub const fn purpose(&self) -> Purpose {
        self.purpose
    }

    /// Of which capture time.
    #[must_use]
    pub const fn interval(&self) -> Interval {
        self.interval
    }

    /// The answers it rests on.
    #[must_use]
    pub fn bases(&self) -> &[RecordId] {
        &self.bases
    }

    /// The day on which it was made; it is good for no other.
    #[must_use]
    pub const fn made_on(&self) -> Day {
        self.made_on
    }

    /// The last day on which what it allows may be kept.
    #[must_use]
    pub const fn keep_until(&self) -> Day {
        self.keep_until
    }
}

/// Why something may not be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// It names nobody: then nobody's family has agreed.
    #[error("nothing is kept without saying of whom")]
    Nobody,
    /// It ends before it begins, or is longer than a turn.
    #[error("this is no stretch of a turn")]
    NoInterval,
    /// The pictures are from a day that has not come.
    #[error("the pictures bear a date that has not come")]
    Future,
    /// A family has not agreed, or not for that day.
    #[error("a family has not agreed to this")]
    NotGiven {
        /// Which child.
        child: ChildId,
        /// To what.
        kind: Kind,
    },
}

pub(super) fn make(
    register: &Register,
    mut request: Request,
    today: DaySpan,
) -> Result<Permit, Refusal> {
    request.children.sort_unstable();
    request.children.dedup();
    if request.children.is_empty() {
        return Err(Refusal::Nobody);
    }
    let length_us = request.interval.to.since(request.interval.from);
    if !(0..=LONGEST_US).contains(&length_us) {
        return Err(Refusal::NoInterval);
    }
    let (first, last) = request.interval.days();
    if last > today.last {
        return Err(Refusal::Future);
    }
    let kinds: &[Kind] = match request.purpose {
        Purpose::Portfolio => &[request.medium.kind()],
        Purpose::Family => &[request.medium.kind(), Kind::Shared],
    };
    let mut bases = Vec::new();
    let mut keep_until = last.plus(i32::from(request.term_days));
    for &child in &request.children {
        for &kind in kinds {
            let refused = Refusal::NotGiven { child, kind };
            let record = register.latest(child, kind).ok_or(refused)?;
            // From the first picture to this very day.
            let then = record.standing(first);
            let Standing::Given { .. } = then else {
                return Err(refused);
            };
            let Standing::Given { until } = record.standing_over(today) else {
                return Err(refused);
            };
            keep_until = until.map_or(keep_until, |until| keep_until.min(until));
            bases.push(record.id);
        }
    }
    Ok(Permit {
        children: request.children,
        medium: request.medium,
        purpose: request.purpose,
        interval: request.interval,
        bases,
        made_on: today.last,
        keep_until,
    })
}
