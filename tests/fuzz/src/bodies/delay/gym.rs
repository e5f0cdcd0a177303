//! A ring, and beside it our own reckoning of what has to be in it.
//!
//! Not here: who reads it.

use std::collections::VecDeque;

use afterturn_core::{
    delay::{Reading, Ring, RingSettings},
    kernel::{CaptureUs, DelayMs, FragmentNumber},
    media::{Fragment, ParameterSets},
    wire::CoverReason,
};
use bytes::Bytes;

use crate::{bodies::parameter_sets, camera::START};

/// Thirty a second, less a hair.
pub(crate) const PICTURE_US: i64 = 33_333;
pub(crate) const WINDOW_MS: u32 = 30_000;
const WINDOW_US: i64 = WINDOW_MS as i64 * 1000;
/// Little enough to be met: a thousand pictures' worth.
const MOST_BYTES: usize = 100_000;
const KEYFRAME_EVERY: u64 = 30;
/// What the pictures are made of.
static NOTHING: [u8; 400] = [0; 400];

/// A picture by our own reckoning.
#[derive(Clone, Copy, Debug)]
struct Kept {
    number: FragmentNumber,
    capture: CaptureUs,
    keyframe: bool,
    bytes: usize,
}

pub(crate) struct Gym {
    pub(crate) ring: Ring,
    pub(crate) now: CaptureUs,
    pub(crate) delay: DelayMs,
    pub(crate) paused: bool,
    pub(crate) chapter: u64,
    kept: VecDeque<Kept>,
    end: FragmentNumber,
    since_keyframe: u64,
    veils: Vec<(CaptureUs, Option<CaptureUs>)>,
    wiped: CaptureUs,
    /// What a wipe took, by number.
    wiped_before: FragmentNumber,
}

impl Gym {
    pub(crate) fn new() -> Self {
        let mut ring = Ring::new(RingSettings {
            window_us: WINDOW_US,
            most_bytes: MOST_BYTES,
        });
        ring.open_chapter(params());
        Self {
            ring,
            now: START,
            delay: DelayMs::new(2_000, WINDOW_MS).expect("within the window"),
            paused: false,
            chapter: 0,
            kept: VecDeque::new(),
            end: FragmentNumber(0),
            since_keyframe: 0,
            veils: Vec::new(),
            wiped: CaptureUs::ZERO,
            wiped_before: FragmentNumber(0),
        }
    }

    /// The moment so many pictures ago.
    pub(crate) fn back(&self, pictures: i64) -> CaptureUs {
        self.now.offset(-pictures * PICTURE_US)
    }

    /// Whether a picture of that moment must not be seen.
    pub(crate) fn hidden(&self, at: CaptureUs) -> bool {
        let veiled = |(from, to): &(CaptureUs, Option<CaptureUs>)| {
            *from <= at && to.is_none_or(|to| at < to)
        };
        self.paused || at < self.wiped || self.veils.iter().any(veiled)
    }

    /// A picture is taken now; the next comes when it is over.
    pub(crate) fn push(&mut self) {
        let keyframe = self.since_keyframe == 0;
        self.since_keyframe = (self.since_keyframe + 1) % KEYFRAME_EVERY;
        let kept = Kept {
            number: self.end,
            capture: self.now,
            keyframe,
            bytes: if keyframe { 400 } else { 90 },
        };
        self.ring.push(Fragment {
            number: kept.number,
            capture: kept.capture,
            duration_us: PICTURE_US as u32,
            keyframe,
            bytes: Bytes::from_static(&NOTHING[..kept.bytes]),
        });
        self.end = self.end.next();
        self.now = self.now.offset(PICTURE_US);
        if kept.capture < self.wiped {
            self.kept.clear();
            self.wiped_before = self.end;
        } else {
            self.kept.push_back(kept);
        }
    }

    pub(crate) fn hole(&mut self, us: i64) {
        self.pass(us);
        self.ring.open_chapter(params());
        self.chapter += 1;
        self.since_keyframe = 0;
    }

    pub(crate) fn pass(&mut self, us: i64) {
        self.now = self.now.offset(us);
    }

    pub(crate) fn veil(&mut self, from: CaptureUs, to: Option<CaptureUs>, reason: CoverReason) {
        self.ring.veil(from, to, reason);
        self.veils.push((from, to));
    }

    pub(crate) fn unveil(&mut self) {
        self.ring.unveil(self.now);
        for (from, to) in &mut self.veils {
            // One that lies ahead never begins.
            *to = to.or(Some(self.now.max(*from)));
        }
    }

    pub(crate) fn wipe(&mut self, back: i64) {
        let before = self.back(back);
        self.ring.wipe(before);
        self.wiped = self.wiped.max(before);
        while self.kept.front().is_some_and(|kept| kept.capture < before) {
            self.drop_group();
        }
        self.wiped_before = self.first();
    }

    pub(crate) fn pause(&mut self, paused: bool) {
        self.ring.pause(paused);
        self.paused = paused;
    }

    pub(crate) fn prune(&mut self) {
        self.ring.prune(self.now);
        let horizon = self.now.offset(-WINDOW_US);
        loop {
            let rest = self.kept.iter().skip(1);
            let next = rest.clone().find(|kept| kept.keyframe);
            let old = match (next, self.kept.back()) {
                (Some(next), _) => next.capture <= horizon,
                (None, Some(last)) => last.capture < horizon,
                (None, None) => return,
            };
            if !old && (self.bytes() <= MOST_BYTES || next.is_none()) {
                return;
            }
            self.drop_group();
        }
    }

    fn drop_group(&mut self) {
        self.kept.pop_front();
        while self.kept.front().is_some_and(|kept| !kept.keyframe) {
            self.kept.pop_front();
        }
    }

    /// The oldest there is, or the next there will be.
    fn first(&self) -> FragmentNumber {
        self.kept.front().map_or(self.end, |kept| kept.number)
    }

    fn bytes(&self) -> usize {
        self.kept.iter().map(|kept| kept.bytes).sum()
    }

    /// The ring against our reckoning, and what it says about one number.
    pub(crate) fn check(&self, about: u8) {
        assert_eq!(self.ring.end(), self.end);
        assert_eq!(self.ring.bytes(), self.bytes());
        let newest = self.kept.back().map(|kept| kept.capture);
        assert_eq!(self.ring.newest(), newest);
        let veiled = |kept: &&Kept| {
            self.veils
                .iter()
                .any(|(from, to)| *from <= kept.capture && to.is_none_or(|to| kept.capture < to))
        };
        let oldest = self.kept.iter().find(|kept| !veiled(kept));
        assert_eq!(self.ring.oldest_shown(), oldest.map(|kept| kept.capture));
        let number = FragmentNumber(self.end.0.saturating_sub(u64::from(about) * 5));
        self.check_number(number);
        self.check_number(self.end);
        if let Some(first) = self.kept.front() {
            self.check_number(first.number);
            self.check_number(FragmentNumber(first.number.0.saturating_sub(1)));
        }
    }

    fn check_number(&self, number: FragmentNumber) {
        let first = self.first();
        let reading = self.ring.read(number);
        if number >= self.end {
            assert!(
                matches!(reading, Reading::NotYet),
                "{number:?}: {reading:?}"
            );
            return;
        }
        if number < first {
            match reading {
                Reading::Past(oldest) => {
                    assert!(number >= self.wiped_before, "{number:?} was wiped");
                    assert_eq!(oldest, first);
                }
                Reading::Wiped => assert!(number < self.wiped_before, "{number:?} is past"),
                other => panic!("{number:?} is gone: {other:?}"),
            }
            return;
        }
        let kept = self.kept[(number.0 - first.0) as usize];
        match reading {
            Reading::Shown(fragment, _) => {
                assert!(!self.hidden(kept.capture), "{kept:?} is shown");
                assert_eq!((fragment.number, fragment.capture), (number, kept.capture));
            }
            Reading::Veiled(_) | Reading::Paused => {
                assert!(self.hidden(kept.capture), "{kept:?} is hidden");
            }
            other => panic!("{kept:?} is there: {other:?}"),
        }
    }

    pub(crate) fn pictures(&self) -> usize {
        self.kept.len()
    }
}

fn params() -> ParameterSets {
    ParameterSets::from_avcc(parameter_sets::MAIN).expect("a record as x264 writes it")
}
