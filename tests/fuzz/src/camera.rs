//! A camera that does what a script says: even for a while, then late, silent,
//! greeting with its past, with stamps that are missing, wild or set back.
//!
//! Arrivals are on one line, so they never go back; everything else may happen.
//! Not here: what becomes of its pictures.

use afterturn_core::{kernel::CaptureUs, media::stamp::SourceStamp};

use crate::script::Script;

/// When its first picture is taken.
pub(crate) const START: CaptureUs = CaptureUs(1_790_000_000_000_000);

/// What happens next.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Event {
    /// A picture arrives.
    Picture {
        source: SourceStamp,
        arrival: CaptureUs,
        keyframe: bool,
    },
    /// Parameter sets arrive; which, the number says.
    Format(u8),
    /// The camera is opened anew: its time starts at nothing.
    Reopened,
    /// Nothing has come for a moment.
    Quiet,
}

/// How a camera counts its time.
#[derive(Clone, Copy, Debug)]
enum Counts {
    Ns,
    Ticks(u32),
    Nothing,
}

/// See the module.
pub(crate) struct Line {
    counts: Counts,
    interval_us: i64,
    keyframe_every: u32,
    since_keyframe: u32,
    source_us: i64,
    now_us: i64,
}

impl Line {
    pub(crate) fn new(script: &mut Script<'_>) -> Self {
        Self {
            counts: script.one_of(&[
                Counts::Ns,
                Counts::Ticks(90_000),
                Counts::Ns,
                Counts::Nothing,
                Counts::Ticks(1_000),
                Counts::Ticks(u32::MAX),
                Counts::Ticks(1),
                Counts::Ticks(0),
            ]),
            interval_us: script.one_of(&[
                33_333, 40_000, 100_000, 16_667, 200_000, 500_000, 8_333, 66_667,
            ]),
            keyframe_every: script.one_of(&[30, 10, 1, 100, 4, 300]),
            since_keyframe: 0,
            source_us: 500_000,
            now_us: 0,
        }
    }

    /// The moment on our clock.
    pub(crate) const fn now(&self) -> CaptureUs {
        START.offset(self.now_us)
    }

    /// What happens next; `None` when the script is over.
    pub(crate) fn next(&mut self, script: &mut Script<'_>) -> Option<Event> {
        let act = script.act()?;
        // The upper half repeats what cameras do nearly all the time.
        match act {
            0..=7 => {
                // Late by up to 1.6 s; what follows waits for it.
                let late_us = i64::from(script.u8()) << act;
                self.now_us += late_us * 50;
                Some(self.picture(None, false))
            }
            8 => Some(Event::Format(script.u8())),
            9 => {
                self.source_us = 0;
                self.since_keyframe = 0;
                Some(Event::Reopened)
            }
            10 => Some(Event::Quiet),
            11 => {
                // Its clock is set: by up to half a minute, either way.
                let by_us = i64::from(script.i16()) * 1000;
                self.source_us = (self.source_us + by_us).max(0);
                Some(self.picture(None, false))
            }
            12 => {
                let wild = script.u64();
                Some(self.picture(Some(SourceStamp::PipelineNs(wild)), false))
            }
            13 => {
                let ticks = script.u32();
                let clock_hz = script.one_of(&[90_000, 1, 8_000, 0, u32::MAX]);
                let wild = SourceStamp::Rtp { ticks, clock_hz };
                Some(self.picture(Some(wild), false))
            }
            14 => Some(self.picture(Some(SourceStamp::Missing), false)),
            15 => {
                // We slept, the camera did not count it.
                self.now_us += i64::from(script.u16()) * 100_000;
                Some(self.picture(None, false))
            }
            16 => {
                // It was away: both went on.
                let away_us = i64::from(script.u16()) * 1000;
                self.now_us += away_us;
                self.source_us += away_us;
                Some(self.picture(None, false))
            }
            17 => {
                self.since_keyframe = 0;
                Some(self.picture(None, false))
            }
            18 => {
                let every_us = i64::from(script.u16()).max(1) * 20;
                self.interval_us = every_us;
                Some(self.picture(None, false))
            }
            19..=31 => Some(self.picture(None, true)),
            _ => Some(self.picture(None, false)),
        }
    }

    /// From here on it is a good camera: thirty pictures a second, a keyframe a
    /// second, and a clock that tells them apart.
    pub(crate) fn behave(&mut self) {
        self.interval_us = 33_333;
        self.keyframe_every = 30;
        self.since_keyframe = 0;
        if matches!(self.counts, Counts::Ticks(0..1_000)) {
            self.counts = Counts::Ns;
        }
    }

    /// The next picture, on time.
    pub(crate) fn good_picture(&mut self) -> Event {
        self.picture(None, false)
    }

    /// `burst`: it comes at once, from a past that is being caught up with.
    fn picture(&mut self, stamp: Option<SourceStamp>, burst: bool) -> Event {
        self.source_us += self.interval_us;
        self.now_us += if burst { 500 } else { self.interval_us };
        let keyframe = self.since_keyframe == 0;
        self.since_keyframe = (self.since_keyframe + 1) % self.keyframe_every;
        Event::Picture {
            source: stamp.unwrap_or_else(|| self.stamp()),
            arrival: self.now(),
            keyframe,
        }
    }

    fn stamp(&self) -> SourceStamp {
        let us = self.source_us;
        match self.counts {
            Counts::Nothing => SourceStamp::Missing,
            Counts::Ns => SourceStamp::PipelineNs(us as u64 * 1000),
            Counts::Ticks(clock_hz) => SourceStamp::Rtp {
                // RFC 3550 §5.1: 32 bits that go round.
                ticks: (us as u128 * u128::from(clock_hz) / 1_000_000) as u32,
                clock_hz,
            },
        }
    }
}

/// Scripts of cameras in use, for the bodies that read one behind `head`.
pub(crate) fn seeds(head: &[u8]) -> Vec<Vec<u8>> {
    const EVEN: u8 = 0xff;
    const BURST: u8 = 20;
    let even = |count: usize| vec![EVEN; count];
    let with = |line: [u8; 3], parts: &[&[u8]]| {
        let mut script = head.to_vec();
        script.extend(line);
        script.extend(parts.concat());
        script
    };
    let greeting = [BURST; 60];
    vec![
        with([0, 0, 0], &[&even(200)]),
        with([1, 1, 1], &[&greeting, &even(150)]),
        with([0, 0, 3], &[&even(100), &[11, 0xff, 0xce], &even(100)]),
        with([1, 0, 0], &[&even(90), &[9], &greeting, &even(90)]),
        with([3, 1, 0], &[&[14, 14, 14], &even(120)]),
        with([0, 4, 4], &[&even(60), &[16, 3, 0], &even(60), &[10]]),
        with([0, 0, 0], &[&even(60), &[15, 0, 100], &even(60)]),
        with(
            [0, 0, 1],
            &[&even(60), &[12, 0, 0, 0, 0, 0, 0, 0, 7], &even(60)],
        ),
        with(
            [0, 0, 0],
            &[
                &[8, 0],
                &even(50),
                &[8, 1],
                &even(50),
                &[9, 8, 0],
                &even(50),
            ],
        ),
        with(
            [1, 0, 0],
            &[
                &even(40),
                &[3, 200, 3, 0, 2, 50],
                &even(40),
                &[18, 13, 0],
                &even(40),
            ],
        ),
    ]
}
