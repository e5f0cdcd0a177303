//! Whose pictures a stretch of capture time at a station is made of: the groups
//! that worked there, from its first moment to its last. A stretch in which they
//! changed is nobody's, and is answered with the nearest that is somebody's.
//!
//! Only the time of work counts, and not before everybody has settled: on a walk
//! and shortly after, anybody may be in the picture.
//!
//! Not here: who is in a group, and whether anything may be kept of it.

use super::groups::GroupNumber;
use super::history::{History, Stage, Stretch};
use crate::kernel::{CaptureUs, StationNumber};

/// The capture times in which the same groups worked at one station.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stood {
    /// The groups, by number.
    pub groups: Vec<GroupNumber>,
    /// The first moment.
    pub from: CaptureUs,
    /// The first one after; none while they are there.
    pub to: Option<CaptureUs>,
}

/// The stretch is not one group's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("another group came, or nobody worked there")]
pub struct Crossing {
    /// The nearest stretch that is: as long if there is room, or shorter.
    pub nearest: Option<(CaptureUs, CaptureUs)>,
}

/// Shorter than this is nothing to offer.
const LEAST_US: i64 = 1_000_000;

impl History {
    /// Who worked at a station, oldest first.
    #[must_use]
    pub fn stood(&self, station: StationNumber) -> Vec<Stood> {
        let all = self.all();
        let mut stays: Vec<(Stood, u16)> = Vec::new();
        for (i, stretch) in all.iter().enumerate() {
            let groups = worked(stretch, station);
            let to = all.get(i + 1).map(|next| next.from);
            let from = stretch.from.max(stretch.settled);
            if groups.is_empty() || to.is_some_and(|to| to <= from) {
                continue;
            }
            match stays.last_mut() {
                Some((last, turn))
                    if last.to == Some(from) && *turn == stretch.turn && last.groups == groups =>
                {
                    last.to = to;
                }
                _ => stays.push((Stood { groups, from, to }, stretch.turn)),
            }
        }
        stays.into_iter().map(|(stay, _)| stay).collect()
    }

    /// The groups that worked at a station all through a stretch. `newest` is
    /// the newest capture time there may be pictures of.
    pub fn stood_through(
        &self,
        station: StationNumber,
        from: CaptureUs,
        to: CaptureUs,
        newest: CaptureUs,
    ) -> Result<Vec<GroupNumber>, Crossing> {
        let stays = self.stood(station);
        let through = |stay: &&Stood| stay.from <= from && stay.to.is_none_or(|end| to <= end);
        if let Some(stay) = stays.iter().find(through) {
            return Ok(stay.groups.clone());
        }
        let offers = stays
            .iter()
            .filter_map(|stay| moved_into(stay, from, to, newest));
        let far = |(start, end): &(CaptureUs, CaptureUs)| {
            (
                start.since(from).abs(),
                std::cmp::Reverse(end.since(*start)),
            )
        };
        Err(Crossing {
            nearest: offers.min_by_key(far),
        })
    }
}

/// The groups that work at a station in a stretch of history.
fn worked(stretch: &Stretch, station: StationNumber) -> Vec<GroupNumber> {
    if stretch.stage != Stage::Work {
        return Vec::new();
    }
    let stands = stretch.stands.iter().enumerate();
    stands
        .filter(|(_, stand)| stand.works && stand.at == Some(station))
        .map(|(index, _)| GroupNumber::at(index))
        .collect()
}

/// A stretch moved as little as need be to lie within a stay, shortened where
/// the stay is shorter.
fn moved_into(
    stay: &Stood,
    from: CaptureUs,
    to: CaptureUs,
    newest: CaptureUs,
) -> Option<(CaptureUs, CaptureUs)> {
    let last = stay.to.map_or(newest, |end| end.min(newest));
    let length_us = to.since(from);
    let end = to.max(stay.from.offset(length_us)).min(last);
    let start = end.offset(-length_us).max(stay.from);
    (end.since(start) >= LEAST_US.min(length_us)).then_some((start, end))
}
