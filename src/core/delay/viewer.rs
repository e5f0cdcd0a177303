//! What one screen is sent next, and when: the pace of one viewer.
//!
//! Pulled, never pushed: whoever writes the socket asks for the next step when
//! the socket can take one, so a slow screen has no queue to fill. It is judged
//! by what it reports, not by what the socket swallowed.
//!
//! Not here: sockets and timers; `now` comes in, what to do comes out.

use std::sync::Arc;

use super::ring::{Chapter, Reading, Ring};
use crate::{
    kernel::{CaptureUs, DelayMs, FragmentNumber},
    media::Fragment,
    wire::{Applies, CoverReason},
};

/// A picture goes out this long before it is due: what a screen holds in hand
/// against a hiccup of the network. More than the sixteen pictures a decoder
/// may hold back where the stream promises no order.
pub const LEAD_US: i64 = 1_000_000;
/// The most that is sent beyond what the screen has reported to hold.
pub const AHEAD_US: i64 = 1_000_000;
/// A picture this long overdue may still be on a glass that lags.
const HELD_US: i64 = 500_000;
/// Overdue by more than this, a picture is of no use to a screen that could
/// have a newer keyframe instead.
const LATE_US: i64 = 1_000_000;

/// What to do next for a screen.
#[derive(Debug)]
pub enum Step {
    /// Nothing until the ring grows, the delay changes or the screen speaks.
    Wait,
    /// Nothing before this moment, unless one of those happens first.
    Until(CaptureUs),
    /// Announce a run and send its initialisation segment; the keyframe is the
    /// next step.
    Run {
        /// The chapter it is in.
        chapter: Arc<Chapter>,
        /// Its first picture's capture time.
        from: CaptureUs,
    },
    /// Send this picture.
    Send(Fragment),
    /// Say that so many pictures were left out.
    Lost(u64),
    /// Say that pictures are covered from then on, until the next run.
    Cover(Applies, CoverReason),
}

/// Where a screen wants to start.
#[derive(Clone, Copy, Debug)]
enum Start {
    /// With what is due once there is something.
    Due,
    /// With what was captured then.
    At(CaptureUs),
}

/// See the module.
#[derive(Debug, Default)]
pub struct Viewer {
    /// `None` until the screen has said where it wants pictures from.
    next: Option<FragmentNumber>,
    /// Set by `want`, used once the ring has something.
    wanted: Option<Start>,
    /// The chapter announced last; `None` asks for a run at the next keyframe.
    run: Option<u64>,
    covered: bool,
    /// Where what the screen may hold ends; a new wish does not empty it.
    sent_to: Option<CaptureUs>,
    /// [`Ring::changes`], [`Ring::wipes`] and [`Ring::paused`] as last seen.
    seen: (u64, u64, bool),
    run_from: Option<CaptureUs>,
    reported_end: Option<CaptureUs>,
    /// The screen may show pictures from then on once more.
    again_from: Option<CaptureUs>,
    /// The same as it was told when it was last asked for a step: what ended
    /// meanwhile may still be on the glass.
    showed_from: Option<CaptureUs>,
    /// Left out since last told.
    unsaid_lost: u64,
    lost: u64,
}

impl Viewer {
    /// The screen wants pictures from here on; `None`: from the one due now.
    pub fn want(&mut self, from: Option<CaptureUs>) {
        self.wanted = Some(from.map_or(Start::Due, Start::At));
        self.next = None;
        self.run = None;
        self.run_from = None;
        self.reported_end = None;
    }

    /// The screen's buffer ends there.
    pub fn report(&mut self, buffer_end: Option<CaptureUs>) {
        self.reported_end = buffer_end;
    }

    /// The station's screens show pictures from then on once more, or none.
    pub fn again(&mut self, from: Option<CaptureUs>) {
        self.again_from = from;
    }

    /// Pictures left out for this screen so far.
    #[must_use]
    pub const fn lost(&self) -> u64 {
        self.lost
    }

    /// The same, with those that would be left out if it were asked now: a screen
    /// that takes nothing is not asked.
    #[must_use]
    pub fn lost_by(&self, ring: &Ring, delay: DelayMs, now: CaptureUs) -> u64 {
        let (Some(next), Some(_)) = (self.next, self.run_from) else {
            return self.lost;
        };
        let due = self.still_of_use(now.offset(-delay.us()));
        let mut number = next;
        loop {
            number = match ring.read(number) {
                Reading::Past(oldest) => oldest,
                Reading::Shown(fragment, _) => match overtaken(ring, &fragment, due) {
                    Some(newer) => newer,
                    None => break,
                },
                _ => break,
            };
        }
        self.lost + (number.0 - next.0)
    }

    /// The next step. Call again after carrying it out.
    pub fn step(&mut self, ring: &Ring, delay: DelayMs, now: CaptureUs) -> Step {
        let late = now.offset(-delay.us());
        if let Some(step) = self.look_back(ring, late) {
            return step;
        }
        let Some(mut number) = self.place(ring, late) else {
            return Step::Wait;
        };
        let due = self.still_of_use(late);
        loop {
            let reading = ring.read(number);
            let (fragment, chapter) = match reading {
                Reading::NotYet => {
                    self.next = Some(number);
                    return self.said().unwrap_or(Step::Wait);
                }
                Reading::Past(oldest) => {
                    self.lose(number, oldest);
                    number = oldest;
                    continue;
                }
                Reading::Paused => {
                    self.next = Some(number);
                    let cover = self.cover(Applies::Live, CoverReason::Paused);
                    return cover.unwrap_or(Step::Wait);
                }
                Reading::Wiped => {
                    number = ring.locate(CaptureUs::ZERO).unwrap_or_else(|| ring.end());
                    self.next = Some(number);
                    return self
                        .cover(Applies::Live, CoverReason::Wiped)
                        .unwrap_or(Step::Wait);
                }
                Reading::Veiled(veil) => {
                    self.next = Some(number.next());
                    let applies = Applies::AtCapture {
                        capture_us: veil.from,
                    };
                    if let Some(step) = self.cover(applies, veil.reason) {
                        return step;
                    }
                    number = number.next();
                    continue;
                }
                Reading::Shown(fragment, chapter) => (fragment, chapter),
            };
            if let Some(newer) = overtaken(ring, &fragment, due) {
                self.lose(number, newer);
                number = newer;
                continue;
            }
            if self.run != Some(chapter.index) && !fragment.keyframe {
                // Cannot be decoded from here: its keyframe was not sent.
                number = number.next();
                continue;
            }
            self.next = Some(number);
            return self.pace(fragment, chapter, delay, now);
        }
    }

    /// What may be seen has changed: take back what the screen holds of it and
    /// must not show any more.
    fn look_back(&mut self, ring: &Ring, due: CaptureUs) -> Option<Step> {
        let seen = (ring.changes(), ring.wipes(), ring.paused());
        let before = std::mem::replace(&mut self.seen, seen);
        let showed_from = std::mem::replace(&mut self.showed_from, self.again_from);
        if before == seen {
            return None;
        }
        if before.2 && !ring.paused() && self.next.is_some() {
            self.wanted = Some(Start::Due);
            self.run = None;
        }
        let sent_to = self.sent_to?;
        if before.1 != ring.wipes() {
            self.next = Some(ring.locate(CaptureUs::ZERO).unwrap_or_else(|| ring.end()));
            self.sent_to = None;
            return Some(self.cover_again(Applies::Live, CoverReason::Wiped));
        }
        if ring.paused() {
            self.sent_to = None;
            return Some(self.cover_again(Applies::Live, CoverReason::Paused));
        }
        let since = [showed_from, self.again_from].into_iter().flatten();
        let since = since.fold(due.offset(-HELD_US), Ord::min);
        let veil = ring.veil_within(since, sent_to)?;
        if let (Some(next), Some(to)) = (self.next, veil.to) {
            self.next = Some(next.min(ring.number_after(to)));
        }
        self.sent_to = Some(veil.from.min(sent_to));
        let applies = Applies::AtCapture {
            capture_us: veil.from,
        };
        Some(self.cover_again(applies, veil.reason))
    }

    /// Capture time from which on pictures are of use to the screen.
    fn still_of_use(&self, due: CaptureUs) -> CaptureUs {
        self.again_from.map_or(due, |from| due.min(from))
    }

    /// Where to read, once the screen has asked and the ring has something.
    fn place(&mut self, ring: &Ring, due: CaptureUs) -> Option<FragmentNumber> {
        if let Some(wanted) = self.wanted {
            let at = match wanted {
                Start::Due => due,
                Start::At(capture) => capture,
            };
            self.next = Some(ring.locate(at)?);
            self.wanted = None;
        }
        self.next
    }

    /// The picture is at hand and decodable: now, later, or something first?
    fn pace(
        &mut self,
        fragment: Fragment,
        chapter: Arc<Chapter>,
        delay: DelayMs,
        now: CaptureUs,
    ) -> Step {
        if let Some(step) = self.said() {
            return step;
        }
        let release = fragment.capture.offset(delay.us() - LEAD_US);
        if release > now {
            return Step::Until(release);
        }
        if self.run != Some(chapter.index) {
            self.run = Some(chapter.index);
            self.run_from = Some(fragment.capture);
            self.covered = false;
            return Step::Run {
                chapter,
                from: fragment.capture,
            };
        }
        // A hole between two runs is no stretch the screen could hold, so what
        // is ahead counts from the run's own start.
        let held = self.reported_end.max(self.run_from);
        if held.is_some_and(|end| fragment.capture.since(end) > AHEAD_US) {
            return Step::Wait;
        }
        self.next = Some(fragment.number.next());
        let ends = fragment.capture.offset(i64::from(fragment.duration_us));
        self.sent_to = self.sent_to.max(Some(ends));
        Step::Send(fragment)
    }

    fn lose(&mut self, from: FragmentNumber, to: FragmentNumber) {
        // Before its first picture a screen has missed nothing.
        if self.run_from.is_some() {
            let pictures = to.0 - from.0;
            self.unsaid_lost += pictures;
            self.lost += pictures;
        }
        self.run = None;
    }

    fn said(&mut self) -> Option<Step> {
        let pictures = std::mem::take(&mut self.unsaid_lost);
        (pictures > 0).then_some(Step::Lost(pictures))
    }

    fn cover_again(&mut self, applies: Applies, reason: CoverReason) -> Step {
        self.run = None;
        self.covered = true;
        Step::Cover(applies, reason)
    }

    fn cover(&mut self, applies: Applies, reason: CoverReason) -> Option<Step> {
        self.run = None;
        if std::mem::replace(&mut self.covered, true) {
            return None;
        }
        Some(Step::Cover(applies, reason))
    }
}

/// The keyframe to go on with when this picture is long overdue and a newer
/// one that is due as well can stand on its own.
fn overtaken(ring: &Ring, at: &Fragment, due: CaptureUs) -> Option<FragmentNumber> {
    if due.since(at.capture) <= LATE_US {
        return None;
    }
    ring.locate(due).filter(|newer| *newer > at.number)
}
