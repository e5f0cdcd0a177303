//! The fragments of one station: pushed at one end, forgotten at the other.
//!
//! Costs: `push`, `read` and `prune` are O(1) a fragment, `locate` is O(log n).
//! A fragment's bytes are shared, never copied.
//!
//! Not here: the disk. What the ring forgets is gone.

use std::{collections::VecDeque, sync::Arc};

use super::veil::{Veil, Veils};
use crate::{
    kernel::{CaptureUs, FragmentNumber},
    media::{Fragment, ParameterSets},
    wire::CoverReason,
};

/// Pictures that follow each other without a hole and need the same parameter
/// sets.
#[derive(Debug)]
pub struct Chapter {
    /// Counts the chapters of this ring.
    pub index: u64,
    /// What its pictures need.
    pub params: ParameterSets,
}

/// What a ring is told once.
#[derive(Clone, Copy, Debug)]
pub struct RingSettings {
    /// How far back it reaches.
    pub window_us: i64,
    /// It never holds more than this, whatever the window says.
    pub most_bytes: usize,
}

/// The ring's one answer about a picture.
#[derive(Clone, Debug)]
pub enum Reading {
    /// It may be seen.
    Shown(Fragment, Arc<Chapter>),
    /// It is there and must not be seen.
    Veiled(Veil),
    /// It is there and must not be seen until the station is resumed.
    Paused,
    /// It was forgotten on purpose.
    Wiped,
    /// The window has passed it; the oldest one left is this.
    Past(FragmentNumber),
    /// It has not been captured yet.
    NotYet,
}

struct Entry {
    fragment: Fragment,
    chapter: Arc<Chapter>,
}

/// See the module.
pub struct Ring {
    settings: RingSettings,
    entries: VecDeque<Entry>,
    /// Number of `entries[0]`, or of the next fragment while there is none.
    first: FragmentNumber,
    bytes: usize,
    chapter: Option<Arc<Chapter>>,
    chapters: u64,
    veils: Veils,
    wiped: Wiped,
    paused: bool,
    /// Counts changes of what may be seen, so that a reader knows to look back.
    changes: u64,
}

/// What a wipe has taken: by number, so that a reader who asks for it learns
/// why it is gone, and by time, so that a picture still on its way in is too.
#[derive(Default)]
struct Wiped {
    numbers_before: FragmentNumber,
    captured_before: CaptureUs,
    /// How many wipes there were.
    count: u64,
}

impl std::fmt::Debug for Ring {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Ring")
            .field("first", &self.first.0)
            .field("fragments", &self.entries.len())
            .field("bytes", &self.bytes)
            .finish_non_exhaustive()
    }
}

impl Ring {
    /// An empty ring.
    #[must_use]
    pub fn new(settings: RingSettings) -> Self {
        Self {
            settings,
            entries: VecDeque::new(),
            first: FragmentNumber::default(),
            bytes: 0,
            chapter: None,
            chapters: 0,
            veils: Veils::default(),
            wiped: Wiped::default(),
            paused: false,
            changes: 0,
        }
    }

    /// The fragments that follow belong to a new chapter.
    pub fn open_chapter(&mut self, params: ParameterSets) {
        self.chapter = Some(Arc::new(Chapter {
            index: self.chapters,
            params,
        }));
        self.chapters += 1;
    }

    /// Takes the next fragment. One captured before the last wipe is not kept.
    ///
    /// # Panics
    /// If no chapter is open, or the fragment's number or time does not follow
    /// the last one's: the intake promises both.
    pub fn push(&mut self, fragment: Fragment) {
        let chapter = self
            .chapter
            .clone()
            .expect("a chapter opens before its first fragment");
        assert_eq!(
            fragment.number,
            self.end(),
            "fragments are numbered without gaps"
        );
        if let Some(last) = self.entries.back() {
            assert!(
                fragment.capture > last.fragment.capture,
                "capture time only increases"
            );
        }
        if fragment.capture < self.wiped.captured_before {
            self.drop_all();
            self.first = fragment.number.next();
            self.wiped.numbers_before = self.first;
            return;
        }
        self.bytes += fragment.bytes.len();
        self.entries.push_back(Entry { fragment, chapter });
    }

    /// The number the next fragment will have.
    #[must_use]
    pub fn end(&self) -> FragmentNumber {
        FragmentNumber(self.first.0 + self.entries.len() as u64)
    }

    /// Forgets what the window has passed, in whole keyframe groups, so that
    /// what is left can always be shown; and more where its bytes demand it, and
    /// then says so. The last group goes when its last picture is out of the
    /// window.
    pub fn prune(&mut self, now: CaptureUs) -> bool {
        let mut shortened = false;
        let horizon = now.offset(-self.settings.window_us);
        while let Some(group) = self.first_group() {
            let passed = match self.entries.get(group) {
                Some(next) => next.fragment.capture <= horizon,
                None => self
                    .entries
                    .back()
                    .is_some_and(|e| e.fragment.capture < horizon),
            };
            let crowded = self.bytes > self.settings.most_bytes && group < self.entries.len();
            if !passed && !crowded {
                break;
            }
            shortened |= !passed;
            self.forget(group);
        }
        if let Some(oldest) = self.entries.front() {
            self.veils.forget_before(oldest.fragment.capture);
        }
        shortened
    }

    /// Gives the oldest keyframe group away because memory is short elsewhere;
    /// says whether it had more than the one that is being captured.
    pub fn give_away(&mut self) -> bool {
        match self.first_group() {
            Some(group) if group < self.entries.len() => {
                self.forget(group);
                true
            }
            _ => false,
        }
    }

    /// The first so many entries.
    fn forget(&mut self, count: usize) {
        for entry in self.entries.drain(..count) {
            self.bytes -= entry.fragment.bytes.len();
            self.first = entry.fragment.number.next();
        }
    }

    /// How many fragments the first keyframe group has.
    fn first_group(&self) -> Option<usize> {
        let rest = self.entries.iter().skip(1);
        let more = rest.take_while(|entry| !entry.fragment.keyframe).count();
        (!self.entries.is_empty()).then_some(1 + more)
    }

    /// The one way to a picture.
    #[must_use]
    pub fn read(&self, number: FragmentNumber) -> Reading {
        if number < self.first {
            return if number < self.wiped.numbers_before {
                Reading::Wiped
            } else {
                Reading::Past(self.first)
            };
        }
        let Some(entry) = self.entries.get((number.0 - self.first.0) as usize) else {
            return Reading::NotYet;
        };
        match self.veils.over(entry.fragment.capture) {
            Some(veil) => Reading::Veiled(veil),
            None if self.paused => Reading::Paused,
            None => Reading::Shown(entry.fragment.clone(), Arc::clone(&entry.chapter)),
        }
    }

    /// The last keyframe at or before a capture time, or the first there is
    /// after it. It may be veiled: reading says so.
    #[must_use]
    pub fn locate(&self, at: CaptureUs) -> Option<FragmentNumber> {
        let after = self
            .entries
            .partition_point(|entry| entry.fragment.capture <= at);
        let keyframe = |entry: &&Entry| entry.fragment.keyframe;
        let before = self.entries.range(..after).rev().find(keyframe);
        before
            .or_else(|| self.entries.range(after..).find(keyframe))
            .map(|entry| entry.fragment.number)
    }

    /// The first fragment after a capture time.
    #[must_use]
    pub fn number_after(&self, at: CaptureUs) -> FragmentNumber {
        let after = self
            .entries
            .partition_point(|entry| entry.fragment.capture <= at);
        FragmentNumber(self.first.0 + after as u64)
    }

    /// Capture time of the oldest picture that may be shown.
    #[must_use]
    pub fn oldest_shown(&self) -> Option<CaptureUs> {
        let captures = self.entries.iter().map(|entry| entry.fragment.capture);
        captures
            .into_iter()
            .find(|at| self.veils.over(*at).is_none())
    }

    /// Capture time of the newest picture.
    #[must_use]
    pub fn newest(&self) -> Option<CaptureUs> {
        self.entries.back().map(|entry| entry.fragment.capture)
    }

    /// Capture time of the oldest picture, whether or not it may be shown: a
    /// time, not a picture.
    #[must_use]
    pub fn oldest(&self) -> Option<CaptureUs> {
        self.entries.front().map(|entry| entry.fragment.capture)
    }

    /// How much capture time it holds.
    #[must_use]
    pub fn span_us(&self) -> i64 {
        let ends = self.newest().zip(self.oldest());
        ends.map_or(0, |(newest, oldest)| newest.since(oldest))
    }

    /// Encoded bytes held.
    #[must_use]
    pub const fn bytes(&self) -> usize {
        self.bytes
    }

    /// Hides a stretch of capture time from every reader.
    pub fn veil(&mut self, from: CaptureUs, to: Option<CaptureUs>, reason: CoverReason) {
        self.veils.add(Veil { from, to, reason });
        self.changes += 1;
    }

    /// Hides exactly these stretches besides, and none that were told before;
    /// says whether that is news.
    pub fn veil_as_told(&mut self, told: Vec<Veil>) -> bool {
        let news = self.veils.tell(told);
        self.changes += u64::from(news);
        news
    }

    /// Ends the veils that have no end yet.
    pub fn unveil(&mut self, at: CaptureUs) {
        self.veils.close(at);
        self.changes += 1;
    }

    /// Hides everything from every reader at once, or no longer.
    pub fn pause(&mut self, paused: bool) {
        self.paused = paused;
        self.changes += 1;
    }

    /// Whether it is paused.
    #[must_use]
    pub const fn paused(&self) -> bool {
        self.paused
    }

    /// Since when pictures are covered until further notice.
    #[must_use]
    pub fn covered_from(&self) -> Option<CaptureUs> {
        self.veils.open_since()
    }

    /// Goes up with every change of what may be seen.
    #[must_use]
    pub const fn changes(&self) -> u64 {
        self.changes
    }

    /// How often it was wiped.
    #[must_use]
    pub const fn wipes(&self) -> u64 {
        self.wiped.count
    }

    /// The first veil over any of a stretch, its end not included.
    #[must_use]
    pub fn veil_within(&self, from: CaptureUs, to: CaptureUs) -> Option<Veil> {
        self.veils.within(from, to)
    }

    /// Forgets everything captured before a moment, now and on its way in.
    /// Whole keyframe groups go, so a little after it may go too.
    pub fn wipe(&mut self, before: CaptureUs) {
        self.wiped.captured_before = self.wiped.captured_before.max(before);
        self.wiped.count += 1;
        self.changes += 1;
        while self
            .entries
            .front()
            .is_some_and(|e| e.fragment.capture < before)
        {
            let Some(group) = self.first_group() else {
                break;
            };
            self.forget(group);
        }
        self.wiped.numbers_before = self.first;
    }

    fn drop_all(&mut self) {
        self.entries.clear();
        self.bytes = 0;
    }
}
