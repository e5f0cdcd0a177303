//! What all answers come to.

use std::collections::BTreeMap;

use super::{Kind, Permit, Record, Refusal, Request, Standing, ViewRule, permit};
use crate::kernel::{ChildId, Day};

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

    /// What a child's answers come to.
    #[must_use]
    pub fn standing(&self, child: ChildId, kind: Kind, today: Day) -> Standing {
        self.latest(child, kind)
            .map_or(Standing::NotAsked, |record| record.standing(today))
    }

    /// Whether a child may be seen on the gym TV.
    #[must_use]
    pub fn may_be_seen(&self, child: ChildId, today: Day) -> bool {
        match self.standing(child, Kind::Seen, today) {
            Standing::Given { .. } => true,
            Standing::Withheld | Standing::Withdrawn => false,
            Standing::NotAsked
            | Standing::ToConfirm
            | Standing::NotYet { .. }
            | Standing::Ended { .. } => self.rule == Some(ViewRule::OptOut),
        }
    }

    /// The first day from `today` on which a child may not be seen: today
    /// itself, the day after its last, or none that is known.
    #[must_use]
    pub fn unseen_from(&self, child: ChildId, today: Day) -> Option<Day> {
        if !self.may_be_seen(child, today) {
            return Some(today);
        }
        match self.standing(child, Kind::Seen, today) {
            Standing::Given { until: Some(until) } if self.rule != Some(ViewRule::OptOut) => {
                Some(until.plus(1))
            }
            _ => None,
        }
    }

    /// Leave to keep something, or why not. This is the only way to one.
    pub fn permit(&self, request: Request, today: Day) -> Result<Permit, Refusal> {
        permit::make(self, request, today)
    }
}
