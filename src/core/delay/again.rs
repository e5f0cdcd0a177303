//! Pictures that were seen, once more: the last attempt at half speed, or one
//! picture that is held.
//!
//! Everything goes by capture time. A stretch ends with what was on the glass
//! when somebody asked, so nothing is seen here that was not due before; it is
//! read picture by picture through the ring's one read, and begins where that
//! answers anything but *shown*. It ends at once when any of it must not be seen
//! any more.
//!
//! Who presses at a screen is answered once: until it is over, for a while
//! after, and for as long as somebody keeps pressing, no press does anything. So
//! no key can keep the late picture off a screen, and no picture is shown a
//! third time.
//!
//! Learners who choose when to look again learn more: Frontiers in Psychology
//! 2013, 10.3389/fpsyg.2012.00556 (children on a trampoline).
//!
//! Not here: screens, sockets, and who is at the station.

use super::ring::{Reading, Ring};
use crate::{
    kernel::{AttemptS, CaptureUs, DelayMs, FragmentNumber},
    wire::{self, AgainAnswer},
};

/// Half speed: slow enough to see a knee bend, and the child need not wait long
/// (common practice, no source).
pub const SLOWER: i64 = 2;
/// From a press to the first picture: every screen of the station is told and
/// has sought by then, so that all begin together.
const START_US: i64 = 400_000;
/// When it is over the late picture stays at least this long…
const REST_US: i64 = 5_000_000;
/// …and until nobody has pressed for this long.
const QUIET_US: i64 = 3_000_000;
/// Shorter than this is nothing to look at.
const LEAST_US: i64 = 1_000_000;
/// A held picture goes by itself: the late one must not stay away because
/// somebody was called off, and meanwhile a page keeps all that comes.
const HELD_US: i64 = 30_000_000;
/// Pictures further apart than this belong to two stretches.
const HOLE_US: i64 = 500_000;
/// No page shows a picture sooner; `LEAST_DELAY_MS` in `web/live/tv.js`.
const LEAST_DELAY_US: i64 = 400_000;

/// Within what it is answered.
#[derive(Clone, Copy, Debug)]
pub struct Bounds {
    /// How long an attempt lasts.
    pub attempt: AttemptS,
    /// Capture to glass.
    pub delay: DelayMs,
    /// When the group came that is at the station now: nothing that was taken
    /// before is shown again. `None`: nobody says.
    pub arrived: Option<CaptureUs>,
}

/// Who asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Who {
    /// Anybody at a screen.
    Screen,
    /// A grown-up with a remote, who does not press without end.
    Remote,
}

/// One picture on or back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// The one before.
    Back,
    /// The one after.
    On,
}

/// See the module.
#[derive(Debug, Default)]
pub struct Again {
    shown: Option<Shown>,
    /// Up to there everything that was asked for has been shown.
    answered_to: CaptureUs,
    /// When somebody last pressed at a screen.
    pressed: Option<CaptureUs>,
    /// When it was last over.
    ended: Option<CaptureUs>,
}

#[derive(Debug)]
struct Shown {
    /// Capture times of its pictures, oldest first, never empty: times, not
    /// pictures.
    pictures: Vec<CaptureUs>,
    /// When its last picture ends.
    to: CaptureUs,
    /// [`Ring::wipes`] as it began.
    wipes: u64,
    how: How,
}

#[derive(Clone, Copy, Debug)]
enum How {
    /// From this picture on, starting then.
    Playing { first: usize, starts: CaptureUs },
    /// This picture, until then; and whether the rest goes on afterwards.
    Held {
        picture: usize,
        until: CaptureUs,
        goes_on: bool,
    },
}

impl Again {
    /// What screens show now instead of the late picture. Has to be asked
    /// whenever what may be seen has changed.
    pub fn look(
        &mut self,
        ring: &Ring,
        arrived: Option<CaptureUs>,
        now: CaptureUs,
    ) -> Option<wire::Again> {
        let shown = self.shown.as_ref()?;
        let over = shown.over();
        if now >= over || !shown.may_be_seen(ring, arrived) {
            self.end(now.min(over));
            return None;
        }
        Some(shown.said())
    }

    /// Capture time from which on screens may be showing pictures once more.
    #[must_use]
    pub fn from(&self) -> Option<CaptureUs> {
        self.shown.as_ref().map(Shown::from)
    }

    /// Somebody asks for the last attempt.
    pub fn press(&mut self, ring: &Ring, bounds: &Bounds, who: Who, now: CaptureUs) -> AgainAnswer {
        self.look(ring, bounds.arrived, now);
        let passed = |since: Option<CaptureUs>, us| since.is_none_or(|at| now.since(at) >= us);
        let rested = passed(self.ended, REST_US) && passed(self.pressed, QUIET_US);
        if who == Who::Screen {
            self.pressed = Some(now);
        }
        if self.shown.is_some() || (who == Who::Screen && !rested) {
            return AgainAnswer::Busy;
        }
        let from = bounds.from(now).max(self.answered_to);
        let Some(shown) = Shown::read(ring, from, bounds.due(now), now) else {
            return AgainAnswer::Nothing;
        };
        if shown.to.since(shown.from()) < LEAST_US {
            return AgainAnswer::Nothing;
        }
        self.answered_to = shown.to;
        self.shown = Some(shown);
        AgainAnswer::Done
    }

    /// What is on the glass stays there.
    pub fn hold(&mut self, ring: &Ring, bounds: &Bounds, now: CaptureUs) -> AgainAnswer {
        self.look(ring, bounds.arrived, now);
        if self.shown.is_none() {
            self.shown = Shown::read(ring, bounds.from(now), bounds.due(now), now).map(|shown| {
                let last = shown.pictures.len() - 1;
                shown.held(last, false, now)
            });
            return match self.shown {
                Some(_) => AgainAnswer::Done,
                None => AgainAnswer::Nothing,
            };
        }
        match self.shown.take() {
            Some(shown) if matches!(shown.how, How::Playing { .. }) => {
                let picture = shown.picture_at(now);
                self.shown = Some(shown.held(picture, true, now));
                AgainAnswer::Done
            }
            other => {
                self.shown = other;
                AgainAnswer::Busy
            }
        }
    }

    /// Another picture is held; at either end it stays as it is.
    pub fn step(
        &mut self,
        ring: &Ring,
        arrived: Option<CaptureUs>,
        way: Way,
        now: CaptureUs,
    ) -> AgainAnswer {
        self.look(ring, arrived, now);
        let Some(shown) = &mut self.shown else {
            return AgainAnswer::Nothing;
        };
        let How::Held {
            picture,
            until,
            goes_on,
        } = shown.how
        else {
            return AgainAnswer::Busy;
        };
        let next = match way {
            Way::Back => picture.checked_sub(1),
            Way::On => Some(picture + 1).filter(|next| *next < shown.pictures.len()),
        };
        shown.how = How::Held {
            picture: next.unwrap_or(picture),
            until,
            goes_on,
        };
        match next {
            Some(_) => AgainAnswer::Done,
            None => AgainAnswer::Nothing,
        }
    }

    /// What was going on before the hold goes on; without one, the late picture.
    pub fn go_on(
        &mut self,
        ring: &Ring,
        arrived: Option<CaptureUs>,
        now: CaptureUs,
    ) -> AgainAnswer {
        self.look(ring, arrived, now);
        let Some(shown) = &mut self.shown else {
            return AgainAnswer::Nothing;
        };
        if let How::Held {
            picture: first,
            goes_on: true,
            ..
        } = shown.how
        {
            let starts = now.offset(START_US);
            shown.how = How::Playing { first, starts };
        } else {
            // Its end is one that screens know beforehand: they turn to the late
            // picture at once.
            shown.last_moment(now);
        }
        AgainAnswer::Done
    }

    fn end(&mut self, at: CaptureUs) {
        self.shown = None;
        self.ended = Some(at);
    }
}

impl Bounds {
    /// Capture time that is on the glass.
    fn due(&self, now: CaptureUs) -> CaptureUs {
        now.offset(-self.delay.us().max(LEAST_DELAY_US))
    }

    /// How far back it may reach.
    fn from(&self, now: CaptureUs) -> CaptureUs {
        let from = self.due(now).offset(-self.attempt.us());
        self.arrived.map_or(from, |arrived| from.max(arrived))
    }
}

impl Shown {
    /// The pictures that end with the one due then, as far back as each of them
    /// may be seen, can be decoded on a screen, and follows the one before.
    fn read(ring: &Ring, from: CaptureUs, due: CaptureUs, now: CaptureUs) -> Option<Self> {
        let mut newest_first = Vec::new();
        let mut after = (ring.number_after(due), due);
        let mut to = due;
        while let Some(number) = after.0.0.checked_sub(1) {
            let number = FragmentNumber(number);
            let Reading::Shown(fragment, _) = ring.read(number) else {
                break;
            };
            if after.1.since(fragment.capture) > HOLE_US {
                break;
            }
            if newest_first.is_empty() {
                to = fragment.capture.offset(i64::from(fragment.duration_us));
            }
            newest_first.push((fragment.capture, fragment.keyframe));
            if fragment.keyframe && fragment.capture <= from {
                break;
            }
            after = (number, fragment.capture);
        }
        let oldest_first = newest_first.into_iter().rev();
        let pictures: Vec<_> = oldest_first
            .skip_while(|(_, keyframe)| !keyframe)
            .map(|(at, _)| at)
            .skip_while(|at| *at < from)
            .collect();
        (!pictures.is_empty()).then_some(Self {
            pictures,
            to,
            wipes: ring.wipes(),
            how: How::Playing {
                first: 0,
                starts: now.offset(START_US),
            },
        })
    }

    fn held(mut self, picture: usize, goes_on: bool, now: CaptureUs) -> Self {
        self.how = How::Held {
            picture,
            until: now.offset(HELD_US),
            goes_on,
        };
        self
    }

    /// The picture that is on the glass for as long as one lasts, and over.
    fn last_moment(&mut self, now: CaptureUs) {
        let picture = match self.how {
            How::Playing { .. } => self.picture_at(now),
            How::Held { picture, .. } => picture,
        };
        self.to = self.pictures.get(picture + 1).copied().unwrap_or(self.to);
        self.pictures = vec![self.pictures[picture]];
        self.how = How::Playing {
            first: 0,
            starts: now,
        };
    }

    fn from(&self) -> CaptureUs {
        self.pictures[0]
    }

    fn over(&self) -> CaptureUs {
        match self.how {
            How::Playing { first, starts } => {
                starts.offset(SLOWER * self.to.since(self.pictures[first]))
            }
            How::Held { until, .. } => until,
        }
    }

    fn may_be_seen(&self, ring: &Ring, arrived: Option<CaptureUs>) -> bool {
        !ring.paused()
            && ring.wipes() == self.wipes
            && ring.veil_within(self.from(), self.to).is_none()
            && arrived.is_none_or(|arrived| arrived <= self.from())
    }

    /// Which picture is on the glass while it plays.
    fn picture_at(&self, now: CaptureUs) -> usize {
        let How::Playing { first, starts } = self.how else {
            return 0;
        };
        let at = self.pictures[first].offset(now.since(starts).max(0) / SLOWER);
        let after = self.pictures.partition_point(|picture| *picture <= at);
        after.saturating_sub(1)
    }

    fn said(&self) -> wire::Again {
        match self.how {
            How::Playing { first, starts } => wire::Again::Playing {
                from_us: self.pictures[first],
                to_us: self.to,
                starts_us: starts,
                ends_us: self.over(),
            },
            How::Held { picture, .. } => wire::Again::Held {
                at_us: self.pictures[picture],
            },
        }
    }
}
