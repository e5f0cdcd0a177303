//! One screen: what it is sent, what it holds, and whether it should.
//!
//! Not here: what happens to the ring.

use afterturn_core::{
    delay::{AHEAD_US, LEAD_US, Step, Viewer},
    kernel::{CaptureUs, FragmentNumber},
    media::Fragment,
    wire::Applies,
};

use super::gym::Gym;

/// How a screen reads its socket.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Reads {
    /// All there is, and reports each picture at once.
    Everything,
    /// All there is, and says nothing.
    WithoutReporting,
    /// When the script says so, and says nothing.
    NowAndThen,
}

pub(crate) struct Screen {
    pub(crate) reads: Reads,
    viewer: Viewer,
    /// What it was sent and may still show, by our own reckoning.
    held: Vec<CaptureUs>,
    last: Option<FragmentNumber>,
    /// The chapter and start of the run announced last.
    run: Option<(u64, CaptureUs)>,
    /// The run's first picture has not come.
    keyframe_due: bool,
    reported: Option<CaptureUs>,
    said_lost: u64,
    /// Of what may be seen, as it last knew.
    changes: u64,
}

impl Screen {
    pub(crate) fn new(reads: Reads) -> Self {
        Self {
            reads,
            viewer: Viewer::default(),
            held: Vec::new(),
            last: None,
            run: None,
            keyframe_due: true,
            reported: None,
            said_lost: 0,
            changes: 0,
        }
    }

    pub(crate) fn want(&mut self, from: Option<CaptureUs>) {
        self.viewer.want(from);
        (self.last, self.run, self.reported) = (None, None, None);
    }

    pub(crate) fn report(&mut self, end: Option<CaptureUs>) {
        self.viewer.report(end);
        self.reported = end;
    }

    /// Reads what there is, or so many messages where it reads now and then.
    pub(crate) fn read(&mut self, gym: &Gym, messages: usize) {
        if self.reads == Reads::NowAndThen {
            for _ in 0..messages {
                self.one(gym);
            }
            return;
        }
        // A run, a loss and a cover between any two pictures would be many.
        let most = 4 * gym.pictures() + 16;
        let read = (0..most).take_while(|_| self.one(gym)).count();
        assert!(read < most, "a screen is never done reading");
        self.holds_nothing_hidden(gym);
    }

    /// One step; false when there is nothing to do.
    fn one(&mut self, gym: &Gym) -> bool {
        let lost_before = self.viewer.lost();
        let lost_by = self.viewer.lost_by(&gym.ring, gym.delay, gym.now);
        assert!(lost_by >= lost_before, "what is lost stays lost");
        let looks_back = self.changes != gym.ring.changes();
        self.changes = gym.ring.changes();
        let step = self.viewer.step(&gym.ring, gym.delay, gym.now);
        assert!(self.viewer.lost() >= lost_before);
        match step {
            Step::Wait => return false,
            Step::Until(when) => {
                assert!(when > gym.now, "waiting for the past");
                return false;
            }
            Step::Run { chapter, from } => {
                assert!(chapter.index <= gym.chapter);
                self.run = Some((chapter.index, from));
                self.keyframe_due = true;
            }
            Step::Send(fragment) => self.picture(&fragment, gym),
            Step::Lost(pictures) => {
                assert!(pictures > 0, "nothing was lost");
                self.said_lost += pictures;
                assert_eq!(self.said_lost, self.viewer.lost(), "said and counted");
                // A step may find more behind a veil; less only where it starts
                // elsewhere, since what may be seen has changed.
                let told = looks_back || self.said_lost >= lost_by;
                assert!(told, "a remote was told {lost_by}");
                self.run = None;
            }
            Step::Cover(applies, _) => {
                match applies {
                    Applies::Live => self.held.clear(),
                    Applies::AtCapture { capture_us } => self.held.retain(|at| *at < capture_us),
                }
                (self.last, self.run) = (None, None);
            }
        }
        true
    }

    fn picture(&mut self, fragment: &Fragment, gym: &Gym) {
        let (_, from) = self.run.expect("a run is announced before its pictures");
        assert!(!gym.hidden(fragment.capture), "hidden: {fragment:?}");
        let release = fragment.capture.offset(gym.delay.us() - LEAD_US);
        assert!(release <= gym.now, "before its lead: {fragment:?}");
        assert!(self.last.is_none_or(|last| fragment.number > last));
        if self.keyframe_due {
            assert!(fragment.keyframe, "a run starts with {fragment:?}");
            assert_eq!(fragment.capture, from);
        } else {
            let next = self.last.map(FragmentNumber::next);
            assert_eq!(next, Some(fragment.number), "a hole within a run");
        }
        let held = self.reported.max(Some(from)).expect("one of them is there");
        let ahead_us = fragment.capture.since(held);
        assert!(ahead_us <= AHEAD_US, "{ahead_us} µs beyond what it holds");
        (self.last, self.keyframe_due) = (Some(fragment.number), false);
        self.held.push(fragment.capture);
        if self.reads == Reads::Everything {
            let end = fragment.capture.offset(i64::from(fragment.duration_us));
            self.report(Some(end));
        }
    }

    /// Nothing it still holds and has yet to show is hidden by now.
    fn holds_nothing_hidden(&mut self, gym: &Gym) {
        let due = gym.now.offset(-gym.delay.us());
        self.held.retain(|at| *at >= due);
        for at in &self.held {
            assert!(!gym.hidden(*at), "it may still show {at:?}");
        }
    }
}
