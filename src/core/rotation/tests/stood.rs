//! Whose pictures a stretch of capture time is made of.

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

fn through(clock: &Clock, from: i64, to: i64) -> Result<Vec<GroupNumber>, Option<(i64, i64)>> {
    let seconds = |at: CaptureUs| at.since(START) / 1_000_000;
    let newest = s(10_000);
    let found = clock
        .history()
        .stood_through(number(2), s(from), s(to), newest);
    found.map_err(|crossing| crossing.nearest.map(|(a, b)| (seconds(a), seconds(b))))
}

#[test]
fn a_stretch_is_of_the_group_that_worked_there_all_through() {
    let mut clock = class(3, 3, SHORT);
    // Work from 40 to 100, all settled at 60; a walk to 120, work to 180, all
    // settled at 125.
    clock.advance(s(210));
    let first = through(&clock, 65, 73).expect("the first group");
    let second = through(&clock, 130, 138).expect("the second");
    assert_eq!((first.len(), second.len()), (1, 1));
    assert_ne!(first, second);
    assert_eq!(first, clock.history().who(number(2), s(70)));
    assert_eq!(second, clock.history().who(number(2), s(135)));
}

#[test]
fn a_stretch_that_crosses_a_change_is_nobodys_and_the_nearest_is_offered() {
    let mut clock = class(3, 3, SHORT);
    clock.advance(s(210));
    // Into the walk: back to where the first group still worked.
    assert_eq!(through(&clock, 95, 103), Err(Some((92, 100))));
    // Out of the walk: on to where the second had come.
    assert_eq!(through(&clock, 116, 124), Err(Some((125, 133))));
    // From one group's work into the next one's.
    assert_eq!(through(&clock, 99, 121), Err(Some((78, 100))));
    // Before anybody worked.
    assert_eq!(through(&clock, 3, 11), Err(Some((60, 68))));
    // Longer than anybody worked: what there is.
    assert_eq!(through(&clock, 30, 110), Err(Some((60, 100))));
}

#[test]
fn a_walk_that_was_cut_short_does_not_count_until_everybody_has_settled() {
    let mut clock = class(3, 3, SHORT);
    clock.advance(s(106));
    press(&mut clock, Press::Next, s(106)).unwrap();
    clock.advance(s(150));
    let settled = clock.history().all().last().expect("a stretch").settled;
    assert!(settled > s(106), "they are on their way");
    let second = clock.history().stood(number(2)).pop().expect("a stay");
    assert_eq!((second.from, second.to), (settled, None));
}

#[test]
fn what_is_offered_has_been_captured() {
    let mut clock = class(3, 3, SHORT);
    clock.advance(s(128));
    let history = clock.history();
    let asked = |newest| history.stood_through(number(2), s(120), s(128), newest);
    let crossing = asked(s(129)).expect_err("not everybody had settled");
    assert_eq!(crossing.nearest, Some((s(125), s(129))));
    // Half a second of the new stay is nothing to offer; the last one is.
    let crossing = asked(s(125).offset(500_000)).expect_err("the same");
    assert_eq!(crossing.nearest, Some((s(92), s(100))));
}

#[test]
fn a_wait_does_not_part_a_stay_and_a_closed_station_has_none() {
    let mut clock = class(3, 3, SHORT);
    clock.advance(s(65));
    let close = Press::Close { station: number(2) };
    press(&mut clock, Press::Hold { hold: Hold::Pause }, s(65)).unwrap();
    press(&mut clock, Press::Resume { hold: Hold::Pause }, s(68)).unwrap();
    clock.advance(s(80));
    assert!(through(&clock, 61, 78).is_ok());
    press(&mut clock, close, s(80)).unwrap();
    clock.advance(s(90));
    assert_eq!(through(&clock, 85, 93), Err(Some((72, 80))));
}
