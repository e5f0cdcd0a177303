//! The capture time of a picture, from the source's own time for it and from
//! when it reached us.
//!
//! A source's time is even but has an unknown origin; arrival is on our clock
//! but late by a varying transit. The stamper therefore keeps one number, the
//! *offset* from source time to capture time, and holds it to the least transit
//! seen lately: capture = source + offset. The offset moves by at most 0.5 % of
//! the time that passes, so nobody sees it move; whatever cannot be followed
//! that way opens a new chapter at a keyframe.
//!
//! Not here: reading a clock, decoding, or keeping pictures.

mod chapter;
mod learning;
mod offset;
mod unwrap;

use std::collections::VecDeque;

use crate::kernel::CaptureUs;
use chapter::{BELIEVE_US, Chapter, least};
use learning::Learning;
use offset::Offset;
use unwrap::Unwrap;

/// The time a source gave a picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SourceStamp {
    /// None at all.
    Missing,
    /// Nanoseconds of the pipeline's running time.
    PipelineNs(u64),
    /// A 32-bit RTP timestamp and its clock rate (90,000 for video, RFC 6184).
    Rtp {
        /// As it stood in the packet; wraps.
        ticks: u32,
        /// Ticks a second.
        clock_hz: u32,
    },
}

/// Why a chapter ended. The next one starts at a keyframe.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Break {
    /// Two or more pictures are missing.
    Gap,
    /// The source's time stepped and stayed there, or transit grew beyond a
    /// second.
    Step,
    /// Nothing arrived for so long that the machine slept or the line was cut.
    Silence,
    /// The parameter sets changed, or the camera was opened anew.
    Format,
    /// What the camera takes is known better now.
    Latency,
}

/// What comes out, in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stamped<T> {
    /// The chapter ended before the next picture.
    Break(Break),
    /// A picture and its capture time, later than every one before.
    Picture {
        /// Its capture time.
        capture: CaptureUs,
        /// It starts a chapter, and is a keyframe.
        opens: bool,
        /// What was handed in.
        item: T,
    },
}

/// One picture on its way in.
#[derive(Clone, Copy, Debug)]
pub struct Arriving<T> {
    /// The source's time for it.
    pub source: SourceStamp,
    /// When it reached us, on the capture clock.
    pub arrival: CaptureUs,
    /// It can be decoded without any other.
    pub keyframe: bool,
    /// Handed back with the capture time.
    pub item: T,
}

/// Two missing pictures make a gap of three; the half guards against jitter.
const GAP_PICTURES: f64 = 2.5;
/// A camera's own jitter stays below this, however fast it runs.
const GAP_LEAST_US: i64 = 80_000;
/// No arrival for this long means suspend or a cut line.
const SILENCE_US: i64 = 2_000_000;
/// Until a source shows its rate.
const NOMINAL_US: i64 = 33_333;
/// The most a chapter keeps away from the last picture of the one before it.
const SEAM_US: i64 = 100_000;
/// Intervals remembered for the nominal one.
const INTERVALS: usize = 15;

/// See the module.
pub struct Stamper<T> {
    latency_us: i64,
    unwrap: Unwrap,
    phase: Phase<T>,
    /// Capture time of the last picture that came out, across chapters.
    last_capture: CaptureUs,
    /// Pictures that would have been captured before this are left out.
    resume_at: CaptureUs,
    intervals_us: VecDeque<i64>,
    nominal_us: i64,
}

enum Phase<T> {
    /// Waiting for a keyframe to start a chapter with.
    Closed,
    Learning(Learning<T>),
    Open(Chapter),
}

impl<T> Stamper<T> {
    /// A stamper for a camera whose pictures reach us `latency_us` after light
    /// fell on the sensor at the least; that is taken off. Nothing it stamps is
    /// at or before `after`.
    #[must_use]
    pub fn new(latency_us: i64, after: CaptureUs) -> Self {
        Self {
            latency_us,
            unwrap: Unwrap::default(),
            phase: Phase::Closed,
            last_capture: after,
            resume_at: CaptureUs::ZERO,
            intervals_us: VecDeque::with_capacity(INTERVALS),
            nominal_us: NOMINAL_US,
        }
    }

    /// The interval between pictures as the source has shown it lately.
    #[must_use]
    pub const fn nominal_us(&self) -> i64 {
        self.nominal_us
    }

    /// Ends the chapter from outside: new parameter sets, a camera reopened.
    /// Pictures still held for learning come out first.
    pub fn end_chapter(&mut self, why: Break) -> Vec<Stamped<T>> {
        let mut out = self.finish_learning();
        if matches!(self.phase, Phase::Open(_)) {
            out.push(Stamped::Break(why));
        }
        self.phase = Phase::Closed;
        self.unwrap = Unwrap::default();
        out
    }

    /// The camera is known to take another time from now on. Capture times only
    /// increase: if it takes longer than was thought, the pictures of the
    /// difference are left out, since moving them later would put every picture
    /// after them at a wrong time until the offset has crept back.
    pub fn set_latency(&mut self, latency_us: i64) -> Vec<Stamped<T>> {
        if latency_us == self.latency_us {
            return Vec::new();
        }
        let out = self.end_chapter(Break::Latency);
        self.latency_us = latency_us;
        self.resume_at = self.last_capture.offset(SEAM_US);
        out
    }

    /// Takes a picture; gives back those whose capture time is now known.
    /// Pictures that come before a chapter's keyframe are left out.
    pub fn push(&mut self, picture: Arriving<T>) -> Vec<Stamped<T>> {
        let given_us = self.unwrap.read(picture.source);
        match &mut self.phase {
            Phase::Closed => self.begin(given_us, picture),
            Phase::Learning(_) => self.learn(given_us, picture),
            Phase::Open(_) => self.follow(given_us, picture),
        }
    }

    /// Call when nothing has come for a while: pictures held for learning come
    /// out, so that a camera which dies after its first pictures loses none.
    pub fn idle(&mut self) -> Vec<Stamped<T>> {
        self.finish_learning()
    }

    fn begin(&mut self, given_us: Option<i64>, picture: Arriving<T>) -> Vec<Stamped<T>> {
        let natural = picture.arrival.offset(-self.latency_us);
        if picture.keyframe && natural >= self.resume_at {
            let source_us = given_us.unwrap_or_else(|| self.reached_us(&picture));
            self.phase = Phase::Learning(Learning::with(source_us, picture, given_us.is_some()));
        }
        Vec::new()
    }

    /// When the picture would have been captured, had it come the short way.
    fn reached_us(&self, picture: &Arriving<T>) -> i64 {
        picture.arrival.offset(-self.latency_us).0 as i64
    }

    fn learn(&mut self, given_us: Option<i64>, picture: Arriving<T>) -> Vec<Stamped<T>> {
        let Phase::Learning(learning) = &mut self.phase else {
            unreachable!("learn is only called while learning");
        };
        let (last_us, last) = learning
            .last()
            .expect("learning starts with a picture and only grows");
        let guess_us = last_us + picture.arrival.since(last).max(1_000);
        if let (Some(us), false) = (given_us, learning.given) {
            // The first stamps were missing: move the made-up times to these.
            learning
                .held
                .iter_mut()
                .for_each(|(held_us, _)| *held_us += us - guess_us);
            learning.given = true;
            return self.push_learning(us, us - (guess_us - last_us), picture);
        }
        // Whatever is odd so early is left to `follow`, which knows all cases.
        let widest_us = learning.widest_us(gap_us);
        let odd = given_us.is_some_and(|us| us <= last_us || us - last_us > widest_us);
        if odd || learning.is_over(given_us.unwrap_or(guess_us), picture.arrival) {
            let mut out = self.finish_learning();
            out.extend(self.follow(given_us, picture));
            return out;
        }
        self.push_learning(given_us.unwrap_or(guess_us), last_us, picture)
    }

    fn push_learning(
        &mut self,
        source_us: i64,
        last_us: i64,
        picture: Arriving<T>,
    ) -> Vec<Stamped<T>> {
        if let Phase::Learning(learning) = &mut self.phase {
            learning.held.push((source_us, picture));
        }
        self.note_interval(source_us - last_us);
        Vec::new()
    }

    fn finish_learning(&mut self) -> Vec<Stamped<T>> {
        let learning = match std::mem::replace(&mut self.phase, Phase::Closed) {
            Phase::Learning(learning) => learning,
            other => {
                self.phase = other;
                return Vec::new();
            }
        };
        let pace_us = learning.pace_us().unwrap_or(self.nominal_us as f64);
        let Learning { held, given } = learning;
        let transits_us = held.iter().map(|(us, p)| self.reached_us(p) - us).collect();
        let (Some(least_us), Some((last_source_us, last))) = (least(transits_us), held.last())
        else {
            return Vec::new();
        };
        let (last_source_us, last_arrival) = (*last_source_us, last.arrival);
        let offset = Offset::starting(least_us);
        let mut out = Vec::with_capacity(held.len());
        for (index, (source_us, picture)) in held.into_iter().enumerate() {
            let mut capture_us = source_us + offset.now_us();
            if index == 0 {
                capture_us = capture_us.max(self.seam_us(&picture));
            }
            // A greeting that goes back to what an earlier chapter has shown is
            // squeezed in behind it: moving it all would make what follows late.
            let capture = self.after_last(capture_us);
            out.push(Stamped::Picture {
                capture,
                opens: index == 0,
                item: picture.item,
            });
        }
        self.phase = Phase::Open(Chapter {
            offset,
            given,
            missing: 0,
            pace_us,
            last_source_us,
            last_arrival,
            strikes: 0,
        });
        out
    }

    /// The earliest for a chapter's first picture: a picture after the last one
    /// of the chapter before, but not in the future for that.
    fn seam_us(&self, first: &Arriving<T>) -> i64 {
        let last_us = self.last_capture.0 as i64;
        (last_us + self.nominal_us.min(SEAM_US)).min(self.reached_us(first))
    }

    /// The capture time, strictly after the last.
    fn after_last(&mut self, capture_us: i64) -> CaptureUs {
        let at = CaptureUs(capture_us.max(0) as u64).max(self.last_capture.offset(1));
        self.last_capture = at;
        at
    }

    fn follow(&mut self, given_us: Option<i64>, picture: Arriving<T>) -> Vec<Stamped<T>> {
        let reached_us = self.reached_us(&picture);
        let nominal_us = self.nominal_us;
        let Phase::Open(chapter) = &mut self.phase else {
            unreachable!("follow is only called in an open chapter");
        };
        if picture.arrival.since(chapter.last_arrival) > SILENCE_US {
            return self.break_at(Break::Silence, given_us, picture);
        }
        let Some(source_us) = chapter.believe(given_us, reached_us, nominal_us) else {
            return self.break_at(Break::Step, given_us, picture);
        };
        let mut interval_us = source_us - chapter.last_source_us;
        if interval_us > gap_us(nominal_us) {
            // Perhaps a camera that slowed down in the dark: learn its rate anew.
            self.intervals_us.clear();
            return self.break_at(Break::Gap, given_us, picture);
        }
        if interval_us <= 0 {
            // The source's clock was set back while pictures kept coming: none
            // is missing, so go on from here and learn the transit afresh; but
            // not ahead of arrival, should the last stamp have been a wild one.
            let last_us = self.last_capture.0 as i64;
            let next_us = (last_us + nominal_us).min(reached_us.max(last_us));
            chapter
                .offset
                .rebase(next_us - source_us - chapter.offset.now_us());
            interval_us = nominal_us;
        }
        chapter.keep_pace(picture.arrival);
        chapter.last_source_us = source_us;
        chapter
            .offset
            .follow(source_us, reached_us - source_us, interval_us);
        let capture_us = source_us + chapter.offset.now_us();
        self.note_interval(interval_us);
        let capture = self.after_last(capture_us);
        vec![Stamped::Picture {
            capture,
            opens: false,
            item: picture.item,
        }]
    }

    fn break_at(
        &mut self,
        why: Break,
        given_us: Option<i64>,
        picture: Arriving<T>,
    ) -> Vec<Stamped<T>> {
        self.phase = Phase::Closed;
        let mut out = vec![Stamped::Break(why)];
        out.extend(self.begin(given_us, picture));
        out
    }

    /// The median of the last intervals: one late picture does not move it, a
    /// camera that halves its rate in the dark does within half a second.
    fn note_interval(&mut self, interval_us: i64) {
        if self.intervals_us.len() == INTERVALS {
            self.intervals_us.pop_front();
        }
        self.intervals_us.push_back(interval_us);
        let mut sorted: Vec<i64> = self.intervals_us.iter().copied().collect();
        sorted.sort_unstable();
        self.nominal_us = sorted[sorted.len() / 2].clamp(1_000, BELIEVE_US);
    }
}

/// What is further apart than this, at a known interval, has a hole between.
fn gap_us(nominal_us: i64) -> i64 {
    ((nominal_us as f64 * GAP_PICTURES) as i64).max(GAP_LEAST_US)
}

#[cfg(test)]
mod tests;
