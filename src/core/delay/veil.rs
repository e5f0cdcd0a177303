//! Stretches of capture time that must not be seen.
//!
//! Not here: who decides on one.

use crate::{kernel::CaptureUs, wire::CoverReason};

/// One stretch, both ends included in what is veiled except `to` itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Veil {
    /// The first capture time that must not be seen.
    pub from: CaptureUs,
    /// The first after it that may be; open while nobody has ended it.
    pub to: Option<CaptureUs>,
    /// Why.
    pub reason: CoverReason,
}

impl Veil {
    fn covers(&self, at: CaptureUs) -> bool {
        self.from <= at && self.to.is_none_or(|to| at < to)
    }
}

/// A station's veils.
#[derive(Clone, Debug, Default)]
pub struct Veils {
    /// Added one by one.
    added: Vec<Veil>,
    /// Told as a whole, by whoever knows who stands where.
    told: Vec<Veil>,
}

impl Veils {
    /// Adds one.
    pub fn add(&mut self, veil: Veil) {
        self.added.push(veil);
    }

    /// Replaces all that were told before; says whether they differ.
    pub fn tell(&mut self, told: Vec<Veil>) -> bool {
        let differ = self.told != told;
        self.told = told;
        differ
    }

    fn all(&self) -> impl Iterator<Item = &Veil> {
        self.added.iter().chain(&self.told)
    }

    /// The veil over a capture time, if there is one; of several, the one that
    /// lasts longest.
    #[must_use]
    pub fn over(&self, at: CaptureUs) -> Option<Veil> {
        let end = |veil: &Veil| veil.to.unwrap_or(CaptureUs(u64::MAX));
        self.all()
            .filter(|veil| veil.covers(at))
            .max_by_key(|veil| end(veil))
            .copied()
    }

    /// The first veil over any of a stretch, its end not included.
    #[must_use]
    pub fn within(&self, from: CaptureUs, to: CaptureUs) -> Option<Veil> {
        // One that was ended as it began covers nothing.
        let meets =
            |veil: &&Veil| veil.from < to && veil.to.is_none_or(|end| end > from.max(veil.from));
        let meeting = self.all().filter(meets);
        meeting.min_by_key(|veil| veil.from).copied()
    }

    /// Since when pictures are covered until further notice, by one that was
    /// added.
    #[must_use]
    pub fn open_since(&self) -> Option<CaptureUs> {
        let open = self.added.iter().filter(|veil| veil.to.is_none());
        open.map(|veil| veil.from).min()
    }

    /// Ends the veils that were added and have no end yet.
    pub fn close(&mut self, to: CaptureUs) {
        for veil in self.added.iter_mut().filter(|veil| veil.to.is_none()) {
            veil.to = Some(to.max(veil.from));
        }
    }

    /// Forgets added veils that ended before anything the ring still holds.
    pub fn forget_before(&mut self, oldest: CaptureUs) {
        self.added
            .retain(|veil| veil.to.is_none_or(|to| to > oldest));
    }
}
