//! The stamper under a camera that does anything.
//!
//! Not here: fragments; what a picture is does not matter to its stamp.

use std::collections::VecDeque;

use afterturn_core::{
    kernel::CaptureUs,
    media::stamp::{Arriving, Break, Stamped, Stamper},
};

use crate::{
    camera::{self, Event, Line, START},
    script::Script,
};

/// A stamp further from its arrival than a second is not believed; then there
/// is what the offset moves within one picture, and a microsecond a picture
/// where times may not stand still.
const MOST_AWAY_US: i64 = 1_050_000;
/// What is held while a chapter begins may be a greeting from the past: as many
/// pictures as are ever held, at the widest interval taken for a camera's own.
const MOST_GREETING_US: i64 = 240 * 300_000 + MOST_AWAY_US;
/// After its troubles a camera that behaves is followed again within this.
const HEALS_WITHIN_US: i64 = 20_000_000;

/// Whatever a camera does:
///
/// - capture times strictly increase, across chapters and reopenings;
/// - pictures come out in the order they went in, each at most once;
/// - a chapter opens with a keyframe, and after every break one opens;
/// - no picture is stamped more than a second ahead of its arrival, nor, once
///   its chapter runs, more than a second behind;
/// - nothing is held back for ever: what is held comes out when it is quiet;
/// - once the camera behaves, every picture comes out and no chapter ends.
pub fn stamp(data: &[u8]) {
    let mut script = Script::new(data);
    let latency_us = i64::from(script.u8()) * 7_843;
    let after = script.one_of(&[CaptureUs::ZERO, START.offset(-1)]);
    let mut line = Line::new(&mut script);
    let mut check = Check {
        stamper: Stamper::new(latency_us, after),
        waiting: VecDeque::new(),
        last: after,
        open: false,
        went_in: 0,
        came_out: 0,
        breaks: 0,
    };
    while let Some(event) = line.next(&mut script) {
        check.take(event, latency_us);
    }
    check.idle();
    heals(&mut check, &mut line, latency_us);
}

/// A picture by where it would have been captured at the latest.
#[derive(Clone, Copy, Debug)]
struct Sent {
    reached: CaptureUs,
    keyframe: bool,
    number: u64,
}

struct Check {
    stamper: Stamper<Sent>,
    /// Went in and has not come out; those before the next that does were left out.
    waiting: VecDeque<u64>,
    last: CaptureUs,
    open: bool,
    went_in: u64,
    came_out: u64,
    breaks: u64,
}

impl Check {
    fn take(&mut self, event: Event, latency_us: i64) {
        match event {
            Event::Picture {
                source,
                arrival,
                keyframe,
            } => {
                let number = self.went_in;
                self.went_in += 1;
                self.waiting.push_back(number);
                let item = Sent {
                    reached: arrival,
                    keyframe,
                    number,
                };
                let out = self.stamper.push(Arriving {
                    source,
                    arrival: arrival.offset(latency_us),
                    keyframe,
                    item,
                });
                self.came(out);
            }
            Event::Format(_) | Event::Reopened => {
                let out = self.stamper.end_chapter(Break::Format);
                self.came(out);
                self.open = false;
            }
            Event::Quiet => self.idle(),
        }
    }

    fn idle(&mut self) {
        let out = self.stamper.idle();
        self.came(out);
        let again = self.stamper.idle();
        assert!(again.is_empty(), "something was still held: {again:?}");
    }

    fn came(&mut self, out: Vec<Stamped<Sent>>) {
        let learned = out.len() > 1;
        for stamped in out {
            match stamped {
                Stamped::Break(_) => {
                    assert!(self.open, "a break where no chapter was");
                    self.open = false;
                    self.breaks += 1;
                }
                Stamped::Picture {
                    capture,
                    opens,
                    item,
                } => {
                    assert_eq!(opens, !self.open, "{item:?}");
                    assert!(!opens || item.keyframe, "opened by {item:?}");
                    assert!(capture > self.last, "{capture:?} after {:?}", self.last);
                    let behind_us = item.reached.since(capture);
                    let most_us = if learned {
                        MOST_GREETING_US
                    } else {
                        MOST_AWAY_US
                    };
                    assert!(behind_us <= most_us, "{behind_us} µs behind: {item:?}");
                    assert!(
                        behind_us >= -MOST_AWAY_US,
                        "{} µs ahead: {item:?}",
                        -behind_us
                    );
                    self.in_order(item.number);
                    (self.last, self.open) = (capture, true);
                }
            }
        }
    }

    fn in_order(&mut self, number: u64) {
        while let Some(oldest) = self.waiting.pop_front() {
            if oldest == number {
                self.came_out += 1;
                return;
            }
        }
        panic!("picture {number} came out of order, or twice");
    }
}

/// From here on the camera is a good one.
fn heals(check: &mut Check, line: &mut Line, latency_us: i64) {
    const SEEN_US: i64 = 2_000_000;
    let good = |check: &mut Check, line: &mut Line, for_us: i64| {
        let until = line.now().offset(for_us);
        let mut pictures = 0;
        while line.now() < until {
            check.take(line.good_picture(), latency_us);
            pictures += 1;
        }
        pictures
    };
    line.behave();
    good(check, line, HEALS_WITHIN_US);
    let (before, held, breaks) = (check.came_out, check.waiting.len(), check.breaks);
    let pictures = good(check, line, SEEN_US);
    assert_eq!(check.breaks, breaks, "a good camera's chapter ended");
    assert_eq!(held, 0, "pictures of a good camera are still held");
    assert_eq!(check.came_out - before, pictures, "pictures are missing");
}

/// Cameras in use.
#[must_use]
pub fn seeds() -> Vec<Vec<u8>> {
    camera::seeds(&[0, 0])
}
