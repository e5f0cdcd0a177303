//! A stretch of what was seen, taken out whole: to be kept, if it may be.
//!
//! Not here: whether it may (`core/consent`), and what is made of it.

use std::sync::Arc;

use super::ring::{Chapter, Reading, Ring};
use crate::{
    kernel::{CaptureUs, FragmentNumber},
    media::Fragment,
};

/// Pictures further apart than this belong to two stretches.
const HOLE_US: i64 = 500_000;

/// Pictures of a stretch, and those before it that they lean on. The ring's own
/// bytes: nothing is copied.
#[derive(Clone, Debug)]
pub struct Cut {
    /// What they need to be decoded.
    pub chapter: Arc<Chapter>,
    /// In order, from one that stands by itself.
    pub pictures: Vec<Fragment>,
    /// The first picture that is meant; those before it are only leant on.
    pub from: CaptureUs,
    /// The last one's.
    pub last: CaptureUs,
    /// When the last one ends.
    pub to: CaptureUs,
    /// [`Ring::wipes`] as it was taken.
    wipes: u64,
}

/// Why a stretch cannot be had.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoCut {
    /// The ring has forgotten it, or never had it.
    #[error("these pictures are gone")]
    Gone,
    /// It must not be seen.
    #[error("these pictures are not shown")]
    Hidden,
    /// The camera was away in the middle of it.
    #[error("pictures are missing in the middle")]
    Hole,
}

impl Ring {
    /// The pictures from one capture time up to another, that one not included.
    /// It begins later where the beginning must not be seen or cannot be decoded
    /// without what must not.
    pub fn cut(&self, from: CaptureUs, to: CaptureUs) -> Result<Cut, NoCut> {
        let mut run: Vec<Fragment> = Vec::new();
        let mut of: Option<Arc<Chapter>> = None;
        let mut hidden = false;
        let begun = |run: &[Fragment]| run.last().is_some_and(|last| last.capture >= from);
        let first = self.locate(from).ok_or(NoCut::Gone)?;
        for number in (first.0..self.end().0).map(FragmentNumber) {
            let (fragment, chapter) = match self.read(number) {
                Reading::Shown(fragment, chapter) => (fragment, chapter),
                Reading::Veiled(_) | Reading::Paused if begun(&run) => {
                    // What is hidden behind the end does not matter.
                    if number < self.number_after(to.offset(-1)) {
                        return Err(NoCut::Hidden);
                    }
                    break;
                }
                Reading::Veiled(_) | Reading::Paused => {
                    (hidden, of) = (true, None);
                    run.clear();
                    continue;
                }
                Reading::Wiped | Reading::Past(_) | Reading::NotYet => break,
            };
            if fragment.capture >= to {
                break;
            }
            let apart = run.last().map(|last| fragment.capture.since(last.capture));
            let follows = of.as_ref().is_some_and(|of| of.index == chapter.index)
                && apart.is_some_and(|us| us <= HOLE_US);
            if !follows {
                if begun(&run) {
                    return Err(NoCut::Hole);
                }
                run.clear();
                of = fragment.keyframe.then_some(chapter);
            }
            // What leans on a picture that is not there is passed over.
            if of.is_some() {
                run.push(fragment);
            }
        }
        let nothing = if hidden { NoCut::Hidden } else { NoCut::Gone };
        let chapter = of.filter(|_| begun(&run)).ok_or(nothing)?;
        let meant = run.iter().find(|one| one.capture >= from).ok_or(nothing)?;
        let last = run.last().ok_or(nothing)?;
        Ok(Cut {
            from: meant.capture,
            last: last.capture,
            to: last.capture.offset(i64::from(last.duration_us)),
            wipes: self.wipes(),
            chapter,
            pictures: run,
        })
    }

    /// When a picture was captured, if it may be shown.
    #[must_use]
    pub fn capture_of(&self, number: FragmentNumber) -> Option<CaptureUs> {
        match self.read(number) {
            Reading::Shown(fragment, _) => Some(fragment.capture),
            _ => None,
        }
    }

    /// Whether what was taken may still be seen: nothing was wiped since, and
    /// nothing of it veiled.
    #[must_use]
    pub fn may_still(&self, cut: &Cut) -> bool {
        self.wipes() == cut.wipes && self.veil_within(cut.from, cut.to).is_none()
    }
}
