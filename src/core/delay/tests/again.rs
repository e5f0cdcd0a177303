//! Once more: who is answered, with which pictures, and when it is over.

use super::*;
use crate::{
    kernel::AttemptS,
    wire::{self, AgainAnswer},
};

mod any_order;

const S: i64 = 1_000_000;
/// From a press to the first picture.
const START_US: i64 = 400_000;

fn bounds(delay_ms: u32, attempt_s: u32) -> Bounds {
    Bounds {
        attempt: AttemptS::new(attempt_s).expect("an attempt's length"),
        delay: delay(delay_ms),
        arrived: None,
    }
}

/// Plays twenty seconds into the ring and presses.
fn pressed(ring: &Ring, bounds: &Bounds) -> (Again, AgainAnswer) {
    let mut again = Again::default();
    let answer = again.press(ring, bounds, Who::Screen, at(600));
    (again, answer)
}

#[track_caller]
fn playing(again: Option<wire::Again>) -> (CaptureUs, CaptureUs, CaptureUs, CaptureUs) {
    match again {
        Some(wire::Again::Playing {
            from_us,
            to_us,
            starts_us,
            ends_us,
        }) => (from_us, to_us, starts_us, ends_us),
        other => panic!("nothing plays: {other:?}"),
    }
}

#[track_caller]
fn held(again: Option<wire::Again>) -> CaptureUs {
    match again {
        Some(wire::Again::Held { at_us }) => at_us,
        other => panic!("nothing is held: {other:?}"),
    }
}

#[test]
fn the_last_attempt_is_shown_at_half_speed_and_then_it_is_over() {
    let ring = filled(600);
    let (mut again, answer) = pressed(&ring, &bounds(5_000, 4));
    assert_eq!(answer, AgainAnswer::Done);
    let (from, to, starts, ends) = playing(again.look(&ring, None, at(600)));
    // On the glass: what was taken five seconds ago, picture 450 less a hair;
    // four seconds before that, picture 330.
    let due = at(600).offset(-5 * S);
    assert!(to.since(due).abs() <= PICTURE_US, "{}", to.since(due));
    assert!(from.since(due.offset(-4 * S)) >= 0);
    assert!(from.since(due.offset(-4 * S)) <= PICTURE_US);
    assert_eq!(starts, at(600).offset(START_US));
    assert_eq!(ends.since(starts), 2 * to.since(from));
    assert!(again.look(&ring, None, ends.offset(-1)).is_some());
    assert_eq!(again.look(&ring, None, ends), None);
}

#[test]
fn a_key_that_is_mashed_is_answered_once_in_ten_minutes() {
    let mut ring = filled(600);
    let bounds = bounds(5_000, 4);
    let mut again = Again::default();
    let mut answered = 0;
    let mut late = 0;
    for i in 600..600 + 10 * 60 * 30 {
        push(&mut ring, i, i % 30 == 0);
        ring.prune(at(i));
        // Ten times a second, then now and then two seconds of rest.
        if i % 3 == 0 && (i / 60) % 7 != 0 {
            let answer = again.press(&ring, &bounds, Who::Screen, at(i));
            answered += i32::from(answer == AgainAnswer::Done);
        }
        late += i32::from(again.look(&ring, None, at(i)).is_none());
    }
    assert_eq!(answered, 1);
    assert!(
        late > 10 * 60 * 30 - 9 * 30,
        "{late} pictures were late ones"
    );
}

#[test]
fn who_waits_until_it_is_over_and_a_while_longer_is_answered_again_with_other_pictures() {
    let mut ring = filled(600);
    let bounds = bounds(5_000, 4);
    let (mut again, _) = pressed(&ring, &bounds);
    let (_, to, _, ends) = playing(again.look(&ring, None, at(600)));
    for i in 600..1_200 {
        push(&mut ring, i, i % 30 == 0);
    }
    let early = ends.offset(4 * S);
    let mut hasty = Again::default();
    hasty.press(&ring, &bounds, Who::Screen, at(600));
    hasty.look(&ring, None, ends);
    assert_eq!(
        hasty.press(&ring, &bounds, Who::Screen, early),
        AgainAnswer::Busy
    );
    assert_eq!(again.look(&ring, None, ends), None);
    let patient = ends.offset(5 * S);
    assert_eq!(
        again.press(&ring, &bounds, Who::Screen, patient),
        AgainAnswer::Done
    );
    let (from, ..) = playing(again.look(&ring, None, patient));
    assert!(from >= to, "no picture a third time");
}

#[test]
fn a_remote_is_answered_while_somebody_mashes_and_not_twice_at_once() {
    let ring = filled(900);
    let bounds = bounds(5_000, 4);
    let (mut again, _) = pressed(&ring, &bounds);
    let (.., ends) = playing(again.look(&ring, None, at(600)));
    again.press(&ring, &bounds, Who::Screen, ends.offset(-1));
    assert_eq!(
        again.press(&ring, &bounds, Who::Remote, ends.offset(-1)),
        AgainAnswer::Busy
    );
    let after = ends.offset(10_000);
    assert_eq!(
        again.press(&ring, &bounds, Who::Screen, after),
        AgainAnswer::Busy
    );
    assert_eq!(
        again.press(&ring, &bounds, Who::Remote, after),
        AgainAnswer::Done
    );
}

#[test]
fn it_never_reaches_back_past_the_groups_arrival_a_wipe_or_what_is_hidden() {
    let ring = filled(600);
    let mut arrived = bounds(5_000, 8);
    arrived.arrived = Some(at(401));
    let (mut again, _) = pressed(&ring, &arrived);
    let (from, ..) = playing(again.look(&ring, arrived.arrived, at(600)));
    assert_eq!(from, at(401), "to the picture, whatever the keyframes");
    // Somebody else comes while it is shown.
    assert_eq!(again.look(&ring, Some(at(402)), at(601)), None);

    let mut wiped = filled(600);
    wiped.wipe(at(380));
    let (mut again, _) = pressed(&wiped, &bounds(5_000, 8));
    let (from, ..) = playing(again.look(&wiped, None, at(600)));
    assert_eq!(from, at(390), "the first keyframe that is left");

    for reason in [CoverReason::DontShow, CoverReason::Covered] {
        let mut veiled = filled(600);
        veiled.veil(at(300), Some(at(365)), reason);
        let (mut again, _) = pressed(&veiled, &bounds(5_000, 8));
        let (from, ..) = playing(again.look(&veiled, None, at(600)));
        assert_eq!(from, at(390), "the first that a screen can decode");
    }
}

#[test]
fn what_cannot_be_seen_is_not_shown_again_either() {
    let bounds = bounds(5_000, 8);
    let mut paused = filled(600);
    paused.pause(true);
    assert_eq!(pressed(&paused, &bounds).1, AgainAnswer::Nothing);
    let mut covered = filled(600);
    covered.veil(at(440), None, CoverReason::Covered);
    assert_eq!(pressed(&covered, &bounds).1, AgainAnswer::Nothing);
    let mut fresh = filled(600);
    fresh.wipe(at(600));
    assert_eq!(pressed(&fresh, &bounds).1, AgainAnswer::Nothing);
    assert_eq!(pressed(&ring(), &bounds).1, AgainAnswer::Nothing);
    assert_eq!(pressed(&filled(120), &bounds).1, AgainAnswer::Nothing);
    // A second of it is left and no more.
    let mut hardly = filled(600);
    hardly.wipe(at(425));
    assert_eq!(pressed(&hardly, &bounds).1, AgainAnswer::Nothing);
}

/// Something that hides pictures.
type Hide = fn(&mut Ring);

#[test]
fn it_ends_at_once_when_any_of_it_must_not_be_seen() {
    let bounds = bounds(5_000, 4);
    let hidings: [Hide; 4] = [
        |ring| ring.wipe(at(600)),
        |ring| ring.pause(true),
        |ring| ring.veil(at(440), Some(at(600)), CoverReason::DontShow),
        |ring| ring.veil(at(100), Some(at(340)), CoverReason::DontShow),
    ];
    for hide in hidings {
        let mut ring = filled(600);
        let (mut again, _) = pressed(&ring, &bounds);
        assert!(again.look(&ring, None, at(620)).is_some());
        hide(&mut ring);
        assert_eq!(again.look(&ring, None, at(620)), None);
    }
    // What is taken from now on does not concern it.
    let mut ring = filled(600);
    let (mut again, _) = pressed(&ring, &bounds);
    ring.veil(at(600), None, CoverReason::Covered);
    assert!(again.look(&ring, None, at(620)).is_some());
}

#[test]
fn a_hole_is_not_reached_across() {
    let mut ring = filled(300);
    ring.open_chapter(params());
    (360..600).for_each(|i| push(&mut ring, i, (i - 360) % 30 == 0));
    let (mut again, _) = pressed(&ring, &bounds(5_000, 8));
    let (from, ..) = playing(again.look(&ring, None, at(600)));
    assert_eq!(from, at(360));
}

#[test]
fn a_picture_is_held_stepped_and_let_go() {
    let ring = filled(900);
    let bounds = bounds(5_000, 4);
    let mut again = Again::default();
    let now = at(600);
    assert_eq!(again.hold(&ring, &bounds, now), AgainAnswer::Done);
    let first = held(again.look(&ring, None, now));
    assert!(now.offset(-5 * S).since(first) < PICTURE_US);
    assert_eq!(again.hold(&ring, &bounds, now), AgainAnswer::Busy);
    assert_eq!(
        again.step(&ring, None, Way::On, now),
        AgainAnswer::Nothing,
        "nothing is seen before its time"
    );
    assert_eq!(again.step(&ring, None, Way::Back, now), AgainAnswer::Done);
    assert_eq!(
        held(again.look(&ring, None, now)),
        first.offset(-PICTURE_US)
    );
    for _ in 0..200 {
        again.step(&ring, None, Way::Back, now);
    }
    let oldest = held(again.look(&ring, None, now));
    assert!(first.since(oldest) <= 4 * S, "no further than an attempt");
    assert_eq!(again.step(&ring, None, Way::On, now), AgainAnswer::Done);
    assert_eq!(
        again.press(&ring, &bounds, Who::Remote, now),
        AgainAnswer::Busy
    );
    assert_eq!(again.go_on(&ring, None, now), AgainAnswer::Done);
    let (.., ends) = playing(again.look(&ring, None, now));
    assert!(
        ends.since(now) < 100_000,
        "at once, as far as an eye can tell"
    );
    let now = ends;
    assert_eq!(again.look(&ring, None, now), None);
    assert_eq!(again.go_on(&ring, None, now), AgainAnswer::Nothing);
    assert_eq!(again.step(&ring, None, Way::On, now), AgainAnswer::Nothing);
}

#[test]
fn what_was_held_while_it_played_plays_on_and_a_hold_ends_by_itself() {
    let ring = filled(900);
    let bounds = bounds(5_000, 4);
    let (mut again, _) = pressed(&ring, &bounds);
    let (from, to, starts, _) = playing(again.look(&ring, None, at(600)));
    let half = starts.offset(4 * S);
    assert_eq!(
        again.step(&ring, None, Way::On, half),
        AgainAnswer::Busy,
        "only what is held is stepped"
    );
    assert_eq!(again.hold(&ring, &bounds, half), AgainAnswer::Done);
    let picture = held(again.look(&ring, None, half));
    assert!((picture.since(from) - 2 * S).abs() <= PICTURE_US);
    let later = half.offset(20 * S);
    assert_eq!(again.go_on(&ring, None, later), AgainAnswer::Done);
    let (on_from, on_to, on_starts, on_ends) = playing(again.look(&ring, None, later));
    assert_eq!((on_from, on_to), (picture, to));
    assert_eq!(on_ends.since(on_starts), 2 * to.since(picture));

    again.hold(&ring, &bounds, later);
    assert!(again.look(&ring, None, later.offset(30 * S - 1)).is_some());
    assert_eq!(again.look(&ring, None, later.offset(30 * S)), None);
}

#[test]
fn a_screen_that_lost_the_pictures_is_sent_them_and_told_when_they_are_hidden() {
    let mut ring = filled(600);
    let bounds = bounds(5_000, 4);
    let (mut again, _) = pressed(&ring, &bounds);
    let (from, to, ..) = playing(again.look(&ring, None, at(600)));
    let mut viewer = Viewer::default();
    viewer.again(again.from());
    viewer.want(Some(from));
    let steps = drain(&mut viewer, &ring, bounds.delay, at(600));
    let got = sent(&steps);
    assert!(got[0] <= from, "from the keyframe before it on");
    assert!(got.iter().any(|at| at.offset(2 * PICTURE_US) > to));
    assert!(!steps.iter().any(|step| matches!(step, Step::Lost(_))));
    // Hidden, and over for that very reason: still called back.
    ring.veil(at(340), Some(at(350)), CoverReason::DontShow);
    assert_eq!(again.look(&ring, None, at(601)), None);
    viewer.again(again.from());
    let step = viewer.step(&ring, bounds.delay, at(601));
    let Step::Cover(wire::Applies::AtCapture { capture_us }, CoverReason::DontShow) = step else {
        panic!("{step:?}");
    };
    assert_eq!(capture_us, at(340));
}
