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
pub struct Veils(Vec<Veil>);

impl Veils {
    /// Adds one.
    pub fn add(&mut self, veil: Veil) {
        self.0.push(veil);
    }

    /// The veil over a capture time, if there is one; of several, the one that
    /// lasts longest.
    #[must_use]
    pub fn over(&self, at: CaptureUs) -> Option<Veil> {
        let end = |veil: &Veil| veil.to.unwrap_or(CaptureUs(u64::MAX));
        self.0
            .iter()
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
        self.0
            .iter()
            .filter(meets)
            .min_by_key(|veil| veil.from)
            .copied()
    }

    /// Since when pictures are covered until further notice.
    #[must_use]
    pub fn open_since(&self) -> Option<CaptureUs> {
        let open = self.0.iter().filter(|veil| veil.to.is_none());
        open.map(|veil| veil.from).min()
    }

    /// Ends the veils that have no end yet.
    pub fn close(&mut self, to: CaptureUs) {
        for veil in self.0.iter_mut().filter(|veil| veil.to.is_none()) {
            veil.to = Some(to.max(veil.from));
        }
    }

    /// Forgets veils that ended before anything the ring still holds.
    pub fn forget_before(&mut self, oldest: CaptureUs) {
        self.0.retain(|veil| veil.to.is_none_or(|to| to > oldest));
    }
}
