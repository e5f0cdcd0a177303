//! Which stations a class begins without.
//!
//! Not here: what has to be done before they open (the start).

use std::collections::BTreeSet;

use afterturn_core::{
    kernel::StationNumber,
    rotation::{StationPlan, starts_closed},
    wire::ClassStart,
};

/// Those asked for, those not set up anew, and those that want hands that are not there.
pub(super) fn closed(
    asked: &ClassStart,
    unchanged: &BTreeSet<StationNumber>,
    all: &[StationPlan],
) -> BTreeSet<StationNumber> {
    let numbers = all.iter().map(|s| s.number);
    let wished = numbers.filter(|number| asked.closed.contains(&number.get()));
    let mut closed = starts_closed(&[], &BTreeSet::new(), all, asked.no_spotter);
    closed.extend(wished.chain(unchanged.iter().copied()));
    closed
}
