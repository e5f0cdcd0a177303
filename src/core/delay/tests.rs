use bytes::Bytes;

use super::*;
use crate::{
    kernel::{CaptureUs, DelayMs, FragmentNumber},
    media::{Fragment, ParameterSets},
    wire::CoverReason,
};

mod again;
mod any_order;
mod cut;

const START: CaptureUs = CaptureUs(1_790_000_000_000_000);
/// Thirty a second, less a hair: thirty of them are not quite a second.
const PICTURE_US: i64 = 33_333;
const WINDOW_MS: u32 = 30_000;

fn params() -> ParameterSets {
    ParameterSets {
        mime: "video/mp4; codecs=\"avc1.4d401f\"".to_owned(),
        width_px: 1280,
        height_px: 720,
        interlaced: false,
        promises_order: true,
        init: Bytes::from_static(b"init"),
    }
}

fn ring() -> Ring {
    let mut ring = Ring::new(RingSettings {
        window_us: i64::from(WINDOW_MS) * 1000,
        most_bytes: 100_000_000,
    });
    ring.open_chapter(params());
    ring
}

fn delay(ms: u32) -> DelayMs {
    DelayMs::new(ms, WINDOW_MS).expect("a delay the window allows")
}

fn at(i: i64) -> CaptureUs {
    START.offset(i * PICTURE_US)
}

fn push(ring: &mut Ring, i: i64, keyframe: bool) {
    ring.push(Fragment {
        number: ring.end(),
        capture: at(i),
        duration_us: PICTURE_US as u32,
        keyframe,
        bytes: Bytes::from(vec![0; 1000]),
    });
}

fn filled(pictures: i64) -> Ring {
    let mut ring = ring();
    (0..pictures).for_each(|i| push(&mut ring, i, i % 30 == 0));
    ring
}

/// Everything a viewer that reports at once gets until it has to wait.
fn drain(viewer: &mut Viewer, ring: &Ring, delay: DelayMs, now: CaptureUs) -> Vec<Step> {
    let mut steps = Vec::new();
    loop {
        match viewer.step(ring, delay, now) {
            Step::Wait | Step::Until(_) => return steps,
            Step::Send(fragment) => {
                viewer.report(Some(fragment.capture.offset(PICTURE_US)));
                steps.push(Step::Send(fragment));
            }
            other => steps.push(other),
        }
    }
}

fn sent(steps: &[Step]) -> Vec<CaptureUs> {
    steps
        .iter()
        .filter_map(|step| {
            if let Step::Send(f) = step {
                Some(f.capture)
            } else {
                None
            }
        })
        .collect()
}

#[test]
fn nothing_is_sent_before_it_is_asked_for() {
    let ring = filled(300);
    let mut viewer = Viewer::default();
    assert!(matches!(
        viewer.step(&ring, delay(2000), at(300)),
        Step::Wait
    ));
}

#[test]
fn a_viewer_starts_at_the_keyframe_before_what_is_due_and_gets_a_second_in_hand() {
    let ring = filled(600);
    let mut viewer = Viewer::default();
    viewer.want(None);
    let steps = drain(&mut viewer, &ring, delay(10_000), at(600));
    assert!(matches!(&steps[0], Step::Run { from, .. } if *from == at(270)));
    let sent = sent(&steps);
    // Due now: what was captured ten seconds ago, picture 299; in hand: a
    // second more.
    assert_eq!(sent.first(), Some(&at(270)));
    assert_eq!(sent.last(), Some(&at(329)));
}

#[test]
fn the_next_picture_waits_for_its_lead() {
    let ring = filled(600);
    let mut viewer = Viewer::default();
    viewer.want(None);
    drain(&mut viewer, &ring, delay(10_000), at(600));
    let Step::Until(when) = viewer.step(&ring, delay(10_000), at(600)) else {
        panic!("a picture of the future must wait");
    };
    assert_eq!(when, at(330).offset(10_000_000 - LEAD_US));
    assert!(matches!(
        viewer.step(&ring, delay(10_000), when),
        Step::Send(_)
    ));
}

#[test]
fn no_more_than_a_second_goes_beyond_what_is_reported() {
    let ring = filled(600);
    let mut viewer = Viewer::default();
    viewer.want(Some(at(100)));
    let mut count = 0;
    loop {
        match viewer.step(&ring, delay(0), at(600)) {
            Step::Run { .. } | Step::Lost(_) => {}
            Step::Send(_) => count += 1,
            Step::Wait => break,
            other => panic!("{other:?}"),
        }
    }
    assert!(
        count <= 31,
        "{count} pictures went to a screen that reports nothing"
    );
}

#[test]
fn a_viewer_that_fell_behind_loses_a_counted_stretch_and_resumes_at_a_keyframe() {
    let mut ring = filled(300);
    let mut viewer = Viewer::default();
    viewer.want(None);
    drain(&mut viewer, &ring, delay(2_000), at(300));
    // It reads nothing for twenty seconds.
    (300..900).for_each(|i| push(&mut ring, i, i % 30 == 0));
    ring.prune(at(900));
    let steps = drain(&mut viewer, &ring, delay(2_000), at(900));
    let lost: Vec<u64> = steps
        .iter()
        .filter_map(|s| {
            if let Step::Lost(n) = s {
                Some(*n)
            } else {
                None
            }
        })
        .collect();
    // It had everything before picture 270; what is due is 839, in the group
    // that starts at 810.
    assert_eq!(lost, [810 - 270]);
    assert_eq!(viewer.lost(), 810 - 270);
    assert_eq!(sent(&steps).first(), Some(&at(810)));
}

#[test]
fn a_new_chapter_is_a_new_run_even_after_a_long_hole() {
    let mut ring = filled(60);
    ring.open_chapter(params());
    (300..360).for_each(|i| push(&mut ring, i, i % 30 == 0));
    let mut viewer = Viewer::default();
    viewer.want(None);
    let steps: Vec<Step> = (60..420)
        .flat_map(|i| drain(&mut viewer, &ring, delay(2_000), at(i)))
        .collect();
    let runs: Vec<CaptureUs> = steps
        .iter()
        .filter_map(|s| {
            if let Step::Run { from, .. } = s {
                Some(*from)
            } else {
                None
            }
        })
        .collect();
    assert_eq!(runs, [at(0), at(300)]);
    assert_eq!(sent(&steps).len(), 120);
}

#[test]
fn a_stamp_ahead_of_now_does_not_hold_back_a_picture_without_delay() {
    let ring = filled(60);
    let mut viewer = Viewer::default();
    viewer.want(None);
    // The newest stamp lies half a second ahead of now.
    let steps = drain(&mut viewer, &ring, delay(0), at(44));
    assert_eq!(sent(&steps).last(), Some(&at(59)));
}

#[test]
fn the_window_is_kept_in_whole_groups_and_the_last_goes_when_it_is_old() {
    let mut ring = filled(1200);
    ring.prune(at(1200));
    let oldest = ring.oldest_shown().expect("it holds something");
    assert_eq!(
        oldest,
        at(270),
        "the group that holds the horizon (picture 300 less a hair) stays"
    );
    ring.prune(at(1200).offset(31_000_000));
    assert_eq!(
        ring.newest(),
        None,
        "nothing outlives its time, camera or not"
    );
    assert_eq!(ring.bytes(), 0);
}

#[test]
fn memory_is_capped_but_the_last_group_stays() {
    let mut ring = Ring::new(RingSettings {
        window_us: 30_000_000,
        most_bytes: 45_000,
    });
    ring.open_chapter(params());
    for i in 0..300 {
        push(&mut ring, i, i % 30 == 0);
        assert_eq!(ring.prune(at(i)), i > 30 && i % 30 == 15, "{i}");
        assert!(ring.bytes() <= 75_000, "{}", ring.bytes());
        assert!(ring.newest().is_some());
    }
}

#[test]
fn a_group_given_away_leaves_what_can_be_shown_and_counts_as_short() {
    let mut ring = filled(75);
    assert_eq!(
        (ring.oldest(), ring.span_us()),
        (Some(at(0)), 74 * PICTURE_US)
    );
    assert!(ring.give_away());
    assert_eq!((ring.oldest(), ring.bytes()), (Some(at(30)), 45_000));
    assert!(ring.give_away());
    assert!(!ring.give_away(), "the group that is being captured stays");
    assert_eq!(ring.oldest(), Some(at(60)));
    assert!(matches!(
        ring.read(FragmentNumber(0)),
        Reading::Past(FragmentNumber(60))
    ));
}

#[test]
fn read_answers_shown_veiled_wiped_past_and_not_yet() {
    let mut ring = filled(1200);
    ring.prune(at(1200));
    ring.veil(at(600), Some(at(630)), CoverReason::DontShow);
    ring.wipe(at(450));
    assert!(matches!(ring.read(FragmentNumber(10)), Reading::Wiped));
    assert!(matches!(ring.read(FragmentNumber(449)), Reading::Wiped));
    assert!(matches!(ring.read(FragmentNumber(500)), Reading::Shown(..)));
    assert!(matches!(ring.read(FragmentNumber(600)), Reading::Veiled(_)));
    assert!(matches!(ring.read(FragmentNumber(629)), Reading::Veiled(_)));
    assert!(matches!(ring.read(FragmentNumber(630)), Reading::Shown(..)));
    assert!(matches!(ring.read(FragmentNumber(1200)), Reading::NotYet));
    let mut aged = filled(1200);
    aged.prune(at(1200));
    assert!(matches!(
        aged.read(FragmentNumber(0)),
        Reading::Past(FragmentNumber(270))
    ));
}
