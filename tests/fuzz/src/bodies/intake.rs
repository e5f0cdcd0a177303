//! From a camera that does anything to the ring.
//!
//! Not here: how near a capture time is to its arrival; the stamper's body
//! holds it to that.

use std::collections::VecDeque;

use afterturn_core::{
    delay::{Reading, Ring, RingSettings},
    kernel::{CaptureUs, FragmentNumber},
    media::{
        Fragment, Intake, IntakeSettings, Made, ParameterSets, Picture, slice::sample_of,
        stamp::Break,
    },
};
use bytes::Bytes;

use super::{access_unit, fragment, parameter_sets};
use crate::{
    camera::{self, Event, Line},
    script::Script,
};

/// How far back the ring reaches.
const WINDOW_US: i64 = 8_000_000;

/// Whatever a camera does:
///
/// - the ring takes all that is made, which panics where numbers or times do not
///   follow;
/// - numbers count from zero without a gap, across chapters and reopenings;
/// - after a chapter's parameter sets comes a keyframe, and after a break comes a
///   chapter;
/// - within a chapter a fragment lasts until the next one, where it was not let
///   go of before that was there, and it never lasts for nothing;
/// - its payload is the sample of an access unit that went in, in their order,
///   and never empty;
/// - the parameter sets announced are the last that were taken.
pub fn intake(data: &[u8]) {
    let mut script = Script::new(data);
    let settings = IntakeSettings {
        latency_us: i64::from(script.u8()) * 7_843,
        after: CaptureUs::ZERO,
    };
    let mut line = Line::new(&mut script);
    let mut check = Check::new(settings);
    // Most cameras say their parameter sets first; some of ours do not.
    if !script.u8().is_multiple_of(8) {
        check.format(0);
    }
    while let Some(event) = line.next(&mut script) {
        match event {
            Event::Format(which) => check.format(which),
            Event::Reopened => {
                let made = check.intake.end_chapter(Break::Format);
                check.keep(made, line.now());
                check.next = Next::Chapter;
            }
            Event::Quiet => check.quiet(line.now()),
            Event::Picture {
                source,
                arrival,
                keyframe,
            } => {
                let data = check.access_unit(&mut script);
                let made = check.intake.picture(Picture {
                    source,
                    arrival: arrival.offset(settings.latency_us),
                    keyframe,
                    data,
                });
                check.keep(made, arrival);
            }
        }
    }
    check.quiet(line.now());
    check.the_ring_has_the_last();
}

/// What the next thing made has to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Next {
    /// A fragment of the running chapter, or anything else.
    Any,
    /// A chapter's parameter sets.
    Chapter,
    /// A chapter's first fragment.
    Keyframe,
}

struct Check {
    intake: Intake,
    ring: Ring,
    /// Samples that went in and have not come out.
    waiting: VecDeque<Vec<u8>>,
    went_in: u32,
    params: Option<ParameterSets>,
    next: Next,
    /// The last fragment was made before the next picture was there.
    let_go: bool,
    last: Option<Fragment>,
}

impl Check {
    fn new(settings: IntakeSettings) -> Self {
        Self {
            intake: Intake::new(settings),
            ring: Ring::new(RingSettings {
                window_us: WINDOW_US,
                most_bytes: 100_000,
            }),
            waiting: VecDeque::new(),
            went_in: 0,
            params: None,
            next: Next::Chapter,
            let_go: false,
            last: None,
        }
    }

    fn format(&mut self, which: u8) {
        let seeds = parameter_sets::seeds();
        let record = match seeds.get(usize::from(which)) {
            Some(record) => record.clone(),
            None => vec![which; 20],
        };
        match self.intake.format(&record) {
            Ok(made) => {
                let now = self
                    .last
                    .as_ref()
                    .map_or(CaptureUs::ZERO, |last| last.capture);
                self.keep(made, now);
                let before = self.params.take();
                self.params = ParameterSets::from_avcc(&record).ok();
                if self.params != before {
                    self.next = Next::Chapter;
                }
                assert_eq!(self.intake.params(), self.params.as_ref());
            }
            Err(_) => assert_eq!(self.intake.params(), self.params.as_ref()),
        }
    }

    /// What the camera sends: mostly a picture that can be told from the others.
    fn access_unit(&mut self, script: &mut Script<'_>) -> Bytes {
        let units = access_unit::seeds();
        let which = usize::from(script.u8());
        let mut data = match units.get(which) {
            Some(unit) => unit.clone(),
            None if which < 16 => script.bytes(which * 4).to_vec(),
            None => units[which % 3].clone(),
        };
        if access_unit::units(&data).is_some_and(|units| !units.is_empty()) && which >= 16 {
            // H.264 table 7-1: 6 is supplemental information, which is kept.
            data.extend([0, 0, 0, 5, 6]);
            data.extend(self.went_in.to_be_bytes());
        }
        self.went_in += 1;
        let sample = sample_of(&data).into_owned();
        self.waiting.push_back(sample);
        data.into()
    }

    fn quiet(&mut self, now: CaptureUs) {
        let made = self.intake.idle();
        let let_go = !made.is_empty();
        self.keep(made, now);
        self.let_go |= let_go;
        assert!(self.intake.idle().is_empty(), "something was still held");
    }

    fn keep(&mut self, made: Vec<Made>, now: CaptureUs) {
        for made in made {
            match made {
                Made::Break(_) => {
                    assert_eq!(self.next, Next::Any, "a break where no chapter was");
                    self.next = Next::Chapter;
                }
                Made::Chapter(params) => {
                    // A camera opened anew says no break when nothing was held.
                    assert_ne!(self.next, Next::Keyframe, "a chapter without a picture");
                    assert_eq!(Some(&params), self.params.as_ref());
                    self.ring.open_chapter(params);
                    self.next = Next::Keyframe;
                }
                Made::Fragment(fragment) => self.fragment(fragment),
            }
        }
        self.ring.prune(now);
    }

    fn fragment(&mut self, made: Fragment) {
        assert_ne!(self.next, Next::Chapter, "a picture outside a chapter");
        assert!(self.next == Next::Any || made.keyframe);
        let number = self
            .last
            .as_ref()
            .map_or(FragmentNumber(0), |last| last.number.next());
        assert_eq!(made.number, number);
        assert!((1..=500_000).contains(&made.duration_us), "{made:?}");
        let let_go = std::mem::take(&mut self.let_go);
        if let Some(last) = self
            .last
            .as_ref()
            .filter(|_| self.next == Next::Any && !let_go)
        {
            let apart_us = made.capture.since(last.capture);
            // Half a second is the longest a picture is ever said to last.
            let lasts_us = apart_us.min(500_000);
            assert_eq!(i64::from(last.duration_us), lasts_us, "{last:?} {made:?}");
        }
        let read = crate::boxes::one_picture(&made.bytes).expect("one picture");
        assert!(!read.picture.is_empty(), "a picture of nothing: {made:?}");
        let place = self
            .waiting
            .iter()
            .position(|sample| sample == read.picture);
        let place = place.expect("a picture that went in, in its order, once");
        fragment::reads_back(&made, &self.waiting[place]);
        self.waiting.drain(..=place);
        self.next = Next::Any;
        self.ring.push(made.clone());
        self.last = Some(made);
    }

    fn the_ring_has_the_last(&self) {
        let (Some(last), Some(newest)) = (&self.last, self.ring.newest()) else {
            return;
        };
        assert_eq!(last.capture, newest);
        assert!(matches!(self.ring.read(last.number), Reading::Shown(..)));
        assert!(matches!(
            self.ring.read(last.number.next()),
            Reading::NotYet
        ));
    }
}

/// Cameras in use.
#[must_use]
pub fn seeds() -> Vec<Vec<u8>> {
    camera::seeds(&[0])
}
