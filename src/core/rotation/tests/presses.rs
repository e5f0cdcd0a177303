//! What each press does, and what it does when it comes twice.

use super::*;

#[test]
fn next_goes_on_and_back_takes_it_back() {
    let mut clock = class(4, 4, Times::USUAL);
    let stages = [
        Phase::Briefing,
        Phase::Work,
        Phase::Gather,
        Phase::Walk,
        Phase::Work,
    ];
    for (i, phase) in (1..).zip(stages) {
        press(&mut clock, Press::Next, s(i)).expect("running");
        assert_eq!(clock.face(s(i)).phase, phase);
    }
    assert_eq!(clock.face(s(5)).turn, 1);
    for (i, phase) in (6..).zip(stages.into_iter().rev().skip(1)) {
        press(&mut clock, Press::Back, s(i)).expect("running");
        assert_eq!((clock.face(s(i)).phase, clock.face(s(i)).turn), (phase, 0));
    }
    press(&mut clock, Press::Back, s(20)).expect("running");
    assert_eq!(clock.face(s(20)).phase, Phase::WarmUp);
    assert_eq!(
        press(&mut clock, Press::Back, s(21)),
        Err(Refused::NothingBefore)
    );
}

#[test]
fn back_gives_what_was_left_and_half_a_minute_at_least() {
    let mut clock = class(4, 4, CIRCUIT);
    press(&mut clock, Press::Next, s(100)).expect("running");
    press(&mut clock, Press::Back, s(105)).expect("running");
    assert_eq!(
        seen(&clock, s(105)),
        (Phase::Work, 0, 140),
        "pressed by mistake"
    );
    let mut clock = class(4, 4, CIRCUIT);
    clock.advance(s(243));
    press(&mut clock, Press::Back, s(243)).expect("running");
    assert_eq!(
        seen(&clock, s(243)),
        (Phase::Work, 0, 30),
        "they want another try"
    );
    assert_eq!(clock.history().who(number(1), s(243)), [group(1)]);
}

#[test]
fn more_gives_half_a_minute_and_takes_the_last_turn_back() {
    let mut clock = class(4, 4, CIRCUIT);
    clock.advance(s(230));
    assert_eq!(clock.face(s(230)).phase, Phase::LastTurn);
    press(&mut clock, Press::More, s(230)).expect("running");
    assert_eq!(seen(&clock, s(230)), (Phase::Work, 0, 40));
    clock.advance(s(269));
    assert_eq!(seen(&clock, s(269)), (Phase::LastTurn, 0, 1));
}

#[test]
fn every_wait_stops_the_time_and_gives_it_back() {
    for hold in Hold::ALL {
        let mut clock = class(4, 4, CIRCUIT);
        press(&mut clock, Press::Hold { hold }, s(100)).expect("running");
        clock.advance(s(400));
        assert_eq!(seen(&clock, s(400)), (Phase::Work, 0, 140), "{hold:?}");
        assert_eq!(clock.face(s(400)).hold, Some(hold));
        assert_eq!(clock.hides(), hold != Hold::Pause);
        assert_eq!(
            clock.captures(),
            !matches!(hold, Hold::Leave | Hold::Accident)
        );
        press(&mut clock, Press::Resume { hold }, s(400)).expect("running");
        assert_eq!(clock.face(s(400)).ends, Some(s(540)));
        assert!(clock.captures() && !clock.hides());
    }
}

#[test]
fn waits_lie_over_each_other_and_the_gravest_is_said() {
    let mut clock = class(4, 4, CIRCUIT);
    for (i, hold) in (10..).zip([Hold::Freeze, Hold::Accident, Hold::Pause]) {
        press(&mut clock, Press::Hold { hold }, s(i)).expect("running");
    }
    let said = |clock: &Clock| clock.face(s(30)).hold;
    assert_eq!(said(&clock), Some(Hold::Accident));
    for (over, then) in [
        (Hold::Accident, Some(Hold::Freeze)),
        (Hold::Freeze, Some(Hold::Pause)),
        (Hold::Pause, None),
    ] {
        press(&mut clock, Press::Resume { hold: over }, s(30)).expect("running");
        assert_eq!(said(&clock), then);
    }
    assert_eq!(clock.face(s(30)).ends, Some(s(260)));
}

#[test]
fn an_accident_is_noted_with_time_station_and_set_up() {
    let mut clock = class(4, 4, CIRCUIT);
    let hold = Hold::Accident;
    press(&mut clock, Press::Hold { hold }, s(10)).expect("running");
    assert_eq!(clock.accidents().len(), 1);
    press(&mut clock, Press::AccidentAt { station: number(3) }, s(15)).expect("running");
    let noted = &clock.accidents()[0];
    assert_eq!((noted.wall_ms, noted.station), (WALL_MS, Some(number(3))));
    assert_eq!(noted.setup, "set-up 3");
    press(&mut clock, Press::Hold { hold }, s(20)).expect("running");
    assert_eq!(clock.accidents().len(), 1, "still the same one");
    press(&mut clock, Press::Resume { hold }, s(30)).expect("running");
    press(&mut clock, Press::Hold { hold }, s(40)).expect("running");
    assert_eq!(clock.accidents().len(), 2);
}

#[test]
fn a_press_that_comes_twice_counts_once() {
    let mut clock = class(4, 4, CIRCUIT);
    let more = |clock: &mut Clock, id| clock.press(id, Press::More, None, s(10), WALL_MS);
    assert_eq!(more(&mut clock, "a"), Ok(Outcome::Done));
    assert_eq!(more(&mut clock, "a"), Ok(Outcome::Already));
    assert_eq!(clock.face(s(10)).ends, Some(s(270)));
    assert_eq!(more(&mut clock, "b"), Ok(Outcome::Done));
    assert_eq!(clock.face(s(10)).ends, Some(s(300)));
}

#[test]
fn two_remotes_that_press_next_at_once_move_the_class_once() {
    let mut clock = class(4, 4, CIRCUIT);
    let seen = Some(clock.step());
    let next = |clock: &mut Clock, id, at| clock.press(id, Press::Next, seen, at, WALL_MS);
    assert_eq!(next(&mut clock, "phone", s(100)), Ok(Outcome::Done));
    assert_eq!(next(&mut clock, "tablet", s(101)), Ok(Outcome::Already));
    assert_eq!(clock.face(s(101)).phase, Phase::Gather);
    // And one that was on its way while the class went on by itself.
    let mut clock = class(4, 4, CIRCUIT);
    let seen = Some(clock.step());
    let late = clock.press("phone", Press::Next, seen, s(240), WALL_MS);
    assert_eq!(
        (late, clock.face(s(240)).phase),
        (Ok(Outcome::Already), Phase::Gather)
    );
}

#[test]
fn whoever_comes_to_a_closed_station_rests_and_nobody_else_notices() {
    let mut clock = class(4, 4, CIRCUIT);
    press(&mut clock, Press::Close { station: number(3) }, s(300)).expect("running");
    let at = |clock: &Clock, g| {
        let stand = clock.stand(group(g));
        (stand.at.map(StationNumber::get), stand.works)
    };
    clock.advance(s(300));
    assert_eq!(at(&clock, 1), (Some(2), true));
    assert_eq!(at(&clock, 2), (Some(3), false), "rests where it stands");
    assert!(clock.history().who(number(3), s(301)).is_empty());
    press(&mut clock, Press::Open { station: number(3) }, s(320)).expect("running");
    assert_eq!(at(&clock, 2), (Some(3), true));
    assert_eq!(
        clock.history().who(number(3), s(299)),
        [group(2)],
        "as it was then"
    );
    assert!(clock.history().who(number(3), s(310)).is_empty());
    assert_eq!(clock.history().who(number(3), s(321)), [group(2)]);
    let unknown = press(&mut clock, Press::Close { station: number(9) }, s(322));
    assert_eq!(unknown, Err(Refused::NoStation(number(9))));
    for (i, n) in (330..).zip([1, 2, 3]) {
        press(&mut clock, Press::Close { station: number(n) }, s(i)).expect("running");
    }
    let last = press(&mut clock, Press::Close { station: number(4) }, s(340));
    assert_eq!(last, Err(Refused::LastOpen(number(4))));
}

#[test]
fn finish_goes_to_the_closing_stretch_and_end_is_the_end() {
    let mut clock = class(4, 4, Times::USUAL);
    press(&mut clock, Press::Finish, s(700)).expect("running");
    assert_eq!(seen(&clock, s(700)), (Phase::Closing, 1, 120));
    press(&mut clock, Press::Back, s(710)).expect("running");
    assert_eq!(
        (clock.face(s(710)).phase, clock.face(s(710)).turn),
        (Phase::Work, 1)
    );
    press(&mut clock, Press::End, s(720)).expect("running");
    assert_eq!(clock.face(s(720)).phase, Phase::Done);
    assert_eq!(press(&mut clock, Press::End, s(730)), Ok(Outcome::Already));
    assert_eq!(press(&mut clock, Press::Next, s(740)), Err(Refused::Over));
}
