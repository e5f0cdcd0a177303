//! Pictures of this station that somebody wants to keep: what was on the glass,
//! by capture time, through the ring's one read.
//!
//! Not here: whether they may be kept, and by whom.

use afterturn_core::{
    delay::{Cut, NoCut, Reading},
    kernel::{CaptureUs, FragmentNumber},
    media::ParameterSets,
    wire,
};
use bytes::Bytes;

use super::Station;

/// No screen shows a picture sooner (`LEAST_DELAY_MS` in `web/live/tv.js`).
const LEAST_DELAY_US: i64 = 400_000;

impl Station {
    /// Capture time of what is on the glass: the picture that is held, or the
    /// late one.
    #[must_use]
    pub fn on_glass(&self) -> CaptureUs {
        let now = self.now();
        let mut inner = self.lock();
        let delay_us = inner.delay_now().us().max(LEAST_DELAY_US);
        let late = match inner.shown_again(now) {
            Some(wire::Again::Held { at_us }) => return at_us,
            _ => now.offset(-delay_us),
        };
        let number = inner.ring.number_after(late).0.checked_sub(1);
        let picture = number.and_then(|number| inner.ring.capture_of(FragmentNumber(number)));
        picture.unwrap_or(late)
    }

    /// Capture time up to which pictures have been seen.
    #[must_use]
    pub fn seen_to(&self) -> CaptureUs {
        let delay_us = self.lock().delay_now().us().max(LEAST_DELAY_US);
        self.now().offset(-delay_us)
    }

    /// How long an attempt lasts here, in seconds.
    #[must_use]
    pub fn attempt_s(&self) -> u8 {
        self.lock().attempt.get()
    }

    /// The pictures of a stretch.
    pub fn cut(&self, from: CaptureUs, to: CaptureUs) -> Result<Cut, NoCut> {
        self.lock().ring.cut(from, to)
    }

    /// The one picture that was on the glass at a capture time.
    pub fn cut_one(&self, at: CaptureUs) -> Result<Cut, NoCut> {
        let inner = self.lock();
        let after = inner.ring.number_after(at).0;
        let number = after.checked_sub(1).ok_or(NoCut::Gone)?;
        let there = inner.ring.capture_of(FragmentNumber(number));
        let capture = there.ok_or(NoCut::Gone)?;
        inner.ring.cut(capture, capture.offset(1))
    }

    /// Whether what was taken may still be seen.
    #[must_use]
    pub fn may_still(&self, cut: &Cut) -> bool {
        self.lock().ring.may_still(cut)
    }

    /// The newest keyframe that may be seen, to draw a mat on.
    #[must_use]
    pub fn newest_keyframe(&self) -> Option<(ParameterSets, Bytes)> {
        let inner = self.lock();
        let number = inner.ring.locate(inner.ring.newest()?)?;
        match inner.ring.read(number) {
            Reading::Shown(fragment, chapter) if fragment.keyframe => {
                Some((chapter.params.clone(), fragment.access_unit()))
            }
            _ => None,
        }
    }
}
