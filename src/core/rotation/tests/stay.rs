//! Whose pictures may be seen: those of the stay that is, or has just been.

use super::*;

const SHORT: Times = Times {
    warm_up_s: 30,
    briefing_s: 10,
    work_s: 60,
    last_turn_s: 10,
    gather_s: 5,
    walk_s: 15,
    closing_s: 20,
};

/// Seconds into the class: from when, and to when.
fn stay(clock: &Clock) -> Option<(i64, Option<i64>)> {
    let seconds = |at: CaptureUs| at.since(START) / 1_000_000;
    let span = clock.stay()?;
    Some((seconds(span.from), span.to.map(seconds)))
}

#[test]
fn pictures_are_of_the_turn_that_is_until_the_next_one_begins() {
    let mut clock = class(3, 3, SHORT);
    // Work from 40 to 100, gather to 105, walk to 120.
    for (at, expected) in [
        (0, None),
        (35, None),
        (40, Some((40, None))),
        (95, Some((40, None))),
        (100, Some((40, Some(100)))),
        (106, Some((40, Some(100)))),
        (119, Some((40, Some(100)))),
        (120, Some((120, None))),
        (181, Some((120, Some(180)))),
        // The third turn is the last: the stretch has its pictures.
        (261, Some((200, Some(260)))),
    ] {
        clock.advance(s(at));
        assert_eq!(stay(&clock), expected, "at {at} s");
    }
}

#[test]
fn a_wait_does_not_end_a_stay_and_going_back_begins_one() {
    let mut clock = class(3, 3, SHORT);
    clock.advance(s(50));
    press(&mut clock, Press::Hold { hold: Hold::Leave }, s(50)).unwrap();
    press(&mut clock, Press::Resume { hold: Hold::Leave }, s(60)).unwrap();
    clock.advance(s(70));
    assert_eq!(stay(&clock), Some((40, None)));
    // In the walk, back to gathering: still the same groups.
    clock.advance(s(118));
    press(&mut clock, Press::Back, s(118)).unwrap();
    assert_eq!(stay(&clock), Some((40, Some(110))));
    // Into the next turn and back out of it: its pictures are the others'.
    clock.advance(s(175));
    assert_eq!(stay(&clock).map(|(from, _)| from > 110), Some(true));
    while clock.face(s(175)).turn == 1 {
        press(&mut clock, Press::Back, s(175)).unwrap();
    }
    let (_, to) = stay(&clock).expect("the first turn's");
    assert_eq!(to, Some(110), "none of the second turn's");
}
