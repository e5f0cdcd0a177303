//! Over any order of everything that can happen to a ring and its viewer.

use proptest::prelude::*;

use super::*;
use crate::wire::Applies;

#[derive(Clone, Debug)]
enum Act {
    Push(u8),
    Hole(u8),
    Prune,
    GiveAway,
    Delay(u8),
    Want(Option<u16>),
    Read,
    Veil(u16, u8),
    Wipe(u16),
    Pause(bool),
}

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        20 => any::<u8>().prop_map(Act::Push),
        2 => any::<u8>().prop_map(Act::Hole),
        3 => Just(Act::Prune),
        2 => Just(Act::GiveAway),
        2 => (0_u8..56).prop_map(Act::Delay),
        2 => proptest::option::of(0_u16..400).prop_map(Act::Want),
        10 => Just(Act::Read),
        1 => (any::<u16>(), any::<u8>()).prop_map(|(from, len)| Act::Veil(from % 400, len)),
        1 => (0_u16..400).prop_map(Act::Wipe),
        1 => any::<bool>().prop_map(Act::Pause),
    ]
}

proptest! {
    /// Over any order of pushing, pruning, veiling, wiping, delay changes,
    /// wants and reads: a viewer is never sent what is veiled or wiped, never a
    /// picture before its lead, never one it cannot decode, and always in order.
    #[test]
    fn a_viewer_only_ever_gets_what_it_may_see(acts in proptest::collection::vec(act(), 1..200)) {
        let mut ring = ring();
        let mut viewer = Viewer::default();
        let mut delay = super::delay(2_000);
        let (mut i, mut key_in) = (0_i64, 0_u8);
        let mut veils: Vec<(CaptureUs, CaptureUs)> = Vec::new();
        let mut wiped = CaptureUs::ZERO;
        let mut paused = false;
        // What the screen holds, by our own reckoning.
        let mut held: Vec<CaptureUs> = Vec::new();
        let mut last: Option<FragmentNumber> = None;
        let mut keyframe_due = true;
        for act in acts {
            let now = at(i);
            let back = |pictures: u16| at(i - i64::from(pictures));
            match act {
                Act::Push(n) => for _ in 0..n % 40 {
                    push(&mut ring, i, key_in == 0);
                    key_in = (key_in + 1) % 30;
                    i += 1;
                },
                Act::Hole(n) => {
                    i += i64::from(n) * 3;
                    ring.open_chapter(params());
                    key_in = 0;
                }
                Act::Prune => {
                    ring.prune(now);
                }
                Act::GiveAway => {
                    ring.give_away();
                }
                Act::Delay(steps) => delay = super::delay(u32::from(steps) * 500),
                Act::Want(from) => {
                    viewer.want(from.map(back));
                    (last, keyframe_due) = (None, true);
                }
                Act::Veil(from, len) => {
                    let (from, to) = (back(from), at(i - i64::from(from) + i64::from(len)));
                    ring.veil(from, Some(to), CoverReason::DontShow);
                    veils.push((from, to));
                }
                Act::Wipe(before) => {
                    ring.wipe(back(before));
                    wiped = wiped.max(back(before));
                }
                Act::Pause(on) => {
                    ring.pause(on);
                    paused = on;
                }
                Act::Read => {}
            }
            for step in drain(&mut viewer, &ring, delay, now) {
                match step {
                    Step::Send(fragment) => {
                        held.push(fragment.capture);
                        prop_assert!(!paused);
                        prop_assert!(!veils.iter().any(|(from, to)| (*from..*to).contains(&fragment.capture)));
                        prop_assert!(fragment.capture >= wiped);
                        prop_assert!(fragment.capture.offset(delay.us() - LEAD_US) <= now);
                        prop_assert!(last.is_none_or(|last| fragment.number > last));
                        prop_assert!(!keyframe_due || fragment.keyframe);
                        if !keyframe_due {
                            prop_assert_eq!(last.map(FragmentNumber::next), Some(fragment.number));
                        }
                        (last, keyframe_due) = (Some(fragment.number), false);
                    }
                    Step::Cover(Applies::Live, _) => {
                        held.clear();
                        (last, keyframe_due) = (None, true);
                    }
                    Step::Cover(Applies::AtCapture { capture_us }, _) => {
                        held.retain(|at| *at < capture_us);
                        (last, keyframe_due) = (None, true);
                    }
                    Step::Run { .. } | Step::Lost(_) => keyframe_due = true,
                    Step::Wait | Step::Until(_) => {}
                }
            }
            // Nothing a screen still holds and has yet to show is hidden by now.
            let due = now.offset(-delay.us());
            held.retain(|at| *at >= due);
            for at in &held {
                prop_assert!(!paused && *at >= wiped);
                prop_assert!(!veils.iter().any(|(from, to)| (*from..*to).contains(at)));
            }
        }
    }
}
