//! From arriving access units to fragments: capture times by the stamper,
//! parameter sets into initialisation segments, each picture wrapped once the
//! next is there and its duration known.
//!
//! Not here: keeping fragments (that is the ring's), or opening cameras.

use std::borrow::Cow;

use bytes::Bytes;

use super::{
    Fragment, ParameterSets, ParameterSetsError,
    slice::sample_of,
    stamp::{Arriving, Break, SourceStamp, Stamped, Stamper},
};
use crate::kernel::{CaptureUs, FragmentNumber};

/// A picture is never said to last longer than this: where the next one is
/// missing there is a hole, not a long picture. Beyond the slowest camera
/// worth having, two pictures a second.
const LONGEST_US: i64 = 500_000;

/// What an [`Intake`] is told once.
#[derive(Clone, Copy, Debug)]
pub struct IntakeSettings {
    /// The camera's own latency, taken off every capture time.
    pub latency_us: i64,
    /// Nothing is stamped at or before this.
    pub after: CaptureUs,
}

/// One access unit with four-byte NAL lengths, as it came from a camera.
#[derive(Clone)]
pub struct Picture {
    /// The source's time for it.
    pub source: SourceStamp,
    /// When it reached us.
    pub arrival: CaptureUs,
    /// It can be decoded without any other.
    pub keyframe: bool,
    /// The access unit.
    pub data: Bytes,
}

impl std::fmt::Debug for Picture {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Picture")
            .field("source", &self.source)
            .field("arrival", &self.arrival)
            .field("keyframe", &self.keyframe)
            .field("bytes", &self.data.len())
            .finish()
    }
}

/// What comes out, in order.
#[derive(Clone, Debug)]
pub enum Made {
    /// Pictures are missing here, or the timeline was taken up anew.
    Break(Break),
    /// The fragments that follow need these parameter sets and start with a
    /// keyframe.
    Chapter(ParameterSets),
    /// The next picture.
    Fragment(Fragment),
}

/// See the module. Lives through every reopening of the camera, so that numbers
/// and times only ever grow.
pub struct Intake {
    stamper: Stamper<Picture>,
    params: Option<ParameterSets>,
    next: FragmentNumber,
    pending: Option<(CaptureUs, Picture)>,
}

impl Intake {
    /// An intake whose fragments count from zero.
    #[must_use]
    pub fn new(settings: IntakeSettings) -> Self {
        Self {
            stamper: Stamper::new(settings.latency_us, settings.after),
            params: None,
            next: FragmentNumber::default(),
            pending: None,
        }
    }

    /// One that goes on where another broke off: `next` is the number of its first
    /// fragment.
    #[must_use]
    pub fn from_number(settings: IntakeSettings, next: FragmentNumber) -> Self {
        Self {
            next,
            ..Self::new(settings)
        }
    }

    /// The parameter sets in force.
    #[must_use]
    pub const fn params(&self) -> Option<&ParameterSets> {
        self.params.as_ref()
    }

    /// New parameter sets, as an `avcC` record. The same ones again are no news
    /// while pictures run.
    pub fn format(&mut self, avcc: &[u8]) -> Result<Vec<Made>, ParameterSetsError> {
        let params = ParameterSets::from_avcc(avcc)?;
        if self.params.as_ref() == Some(&params) {
            return Ok(Vec::new());
        }
        let made = self.end_chapter(Break::Format);
        self.params = Some(params);
        Ok(made)
    }

    /// The camera stopped or is being opened anew: what is held comes out, and
    /// the next picture starts a chapter.
    pub fn end_chapter(&mut self, why: Break) -> Vec<Made> {
        let stamped = self.stamper.end_chapter(why);
        let mut made = self.make(stamped);
        made.extend(self.flush());
        made
    }

    /// The camera is known to take another time: the chapter ends, and the next
    /// begins where capture times can go on.
    pub fn set_latency(&mut self, latency_us: i64) -> Vec<Made> {
        let stamped = self.stamper.set_latency(latency_us);
        let mut made = self.make(stamped);
        made.extend(self.flush());
        made
    }

    /// An access unit. Pictures before the first parameter sets are left out,
    /// and so is a unit that holds none: a sample of nothing is no picture.
    pub fn picture(&mut self, mut picture: Picture) -> Vec<Made> {
        if let Cow::Owned(sample) = sample_of(&picture.data) {
            picture.data = sample.into();
        }
        if self.params.is_none() || picture.data.is_empty() {
            return Vec::new();
        }
        let stamped = self.stamper.push(Arriving {
            source: picture.source,
            arrival: picture.arrival,
            keyframe: picture.keyframe,
            item: picture,
        });
        self.make(stamped)
    }

    /// Nothing came for a moment: let go of everything held back for what
    /// would come next.
    pub fn idle(&mut self) -> Vec<Made> {
        let stamped = self.stamper.idle();
        let mut made = self.make(stamped);
        made.extend(self.flush());
        made
    }

    fn make(&mut self, stamped: Vec<Stamped<Picture>>) -> Vec<Made> {
        let mut made = Vec::with_capacity(stamped.len());
        for stamped in stamped {
            match stamped {
                Stamped::Break(why) => {
                    made.extend(self.flush());
                    made.push(Made::Break(why));
                }
                Stamped::Picture {
                    capture,
                    opens,
                    item,
                } => {
                    if opens {
                        made.extend(self.flush());
                        made.extend(self.params.clone().map(Made::Chapter));
                    } else if let Some((from, picture)) = self.pending.take() {
                        made.push(self.wrap(from, capture.since(from), &picture));
                    }
                    self.pending = Some((capture, item));
                }
            }
        }
        made
    }

    /// The picture that waits for the next one, with the usual duration.
    fn flush(&mut self) -> Option<Made> {
        let (capture, picture) = self.pending.take()?;
        Some(self.wrap(capture, self.stamper.nominal_us(), &picture))
    }

    fn wrap(&mut self, capture: CaptureUs, duration_us: i64, picture: &Picture) -> Made {
        let number = self.next;
        self.next = number.next();
        let duration_us = duration_us.clamp(1, LONGEST_US) as u32;
        Made::Fragment(Fragment::wrap(
            number,
            capture,
            duration_us,
            picture.keyframe,
            &picture.data,
        ))
    }
}

#[cfg(test)]
pub(crate) mod tests;
