//! What all answers come to.

use std::collections::BTreeMap;

use super::{DaySpan, Kind, Permit, Record, Refusal, Request, Standing, ViewRule, permit};
use crate::kernel::{ChildId, Day};

/// Before every day there is.
const BEGINNING: Day = Day(i32::MIN);

/// The answers of all families, and the school's rule for those that have not
/// answered.
#[derive(Clone, Debug, Default)]
pub struct Register {
    latest: BTreeMap<(ChildId, Kind), Record>,
    rule: Option<ViewRule>,
}

impl Register {
    /// Of what was recorded, in any order; without a rule nobody is seen
    /// unasked.
    #[must_use]
    pub fn new(records: impl IntoIterator<Item = Record>, rule: Option<ViewRule>) -> Self {
        let mut latest: BTreeMap<(ChildId, Kind), Record> = BTreeMap::new();
        for record in records {
            let key = (record.child, record.kind);
            if latest
                .get(&key)
                .is_none_or(|so_far| so_far.order < record.order)
            {
                latest.insert(key, record);
            }
        }
        Self { latest, rule }
    }

    /// The latest answer.
    #[must_use]
    pub fn latest(&self, child: ChildId, kind: Kind) -> Option<&Record> {
        self.latest.get(&(child, kind))
    }

    /// What a child's answers come to. While the date is in doubt, a yes that
    /// has not begun on the first day it may be has not begun.
    #[must_use]
    pub fn standing(&self, child: ChildId, kind: Kind, today: impl Into<DaySpan>) -> Standing {
        let today = today.into();
        let Some(record) = self.latest(child, kind) else {
            return Standing::NotAsked;
        };
        record.standing_over(today)
    }

    /// Whether a child may be seen on the gym TV.
    #[must_use]
    pub fn may_be_seen(&self, child: ChildId, today: impl Into<DaySpan>) -> bool {
        match self.standing(child, Kind::Seen, today) {
            Standing::Given { .. } => true,
            Standing::Withheld | Standing::Withdrawn => false,
            Standing::NotAsked
            | Standing::ToConfirm
            | Standing::NotYet { .. }
            | Standing::Ended { .. } => self.rule == Some(ViewRule::OptOut),
        }
    }

    /// The first day on which a child may not be seen: the day after its last, or
    /// none that is known. What holds already holds from the beginning of days,
    /// whatever date the clock shows next.
    #[must_use]
    pub fn unseen_from(&self, child: ChildId, today: impl Into<DaySpan>) -> Option<Day> {
        let today = today.into();
        if !self.may_be_seen(child, today) {
            return Some(BEGINNING);
        }
        match self.standing(child, Kind::Seen, today) {
            Standing::Given { until: Some(until) } if self.rule != Some(ViewRule::OptOut) => {
                Some(until.plus(1))
            }
            _ => None,
        }
    }

    /// Leave to keep something, or why not. This is the only way to one.
    pub fn permit(&self, request: Request, today: impl Into<DaySpan>) -> Result<Permit, Refusal> {
        permit::make(self, request, today.into())
    }
}
