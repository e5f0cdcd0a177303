//! Whole classes, from start to end.

use super::*;

#[test]
fn eight_stations_take_thirty_five_and_a_half_minutes() {
    // A cyclic Latin square: n·T + (n−1)·t, 8 × 240 + 7 × 30 = 2130 s. Arithmetic.
    let mut clock = class(8, 8, CIRCUIT);
    assert_eq!(CIRCUIT.circuit_s(8), 2_130);
    assert_eq!(run_out(&mut clock, START), s(2_130));
    let mut visits = vec![Vec::new(); 8];
    for stretch in clock.history().all() {
        if stretch.stage == Stage::Work {
            for (group, stand) in stretch.stands.iter().enumerate() {
                visits[group].push(stand.at.expect("a station").get());
            }
        }
    }
    for (group, mut stations) in visits.into_iter().enumerate() {
        assert_eq!(usize::from(stations[0]), group + 1, "(g + 0) mod n");
        assert_eq!(
            usize::from(stations[1]),
            (group + 1) % 8 + 1,
            "(g + 1) mod n"
        );
        stations.sort_unstable();
        assert_eq!(stations, (1..=8).collect::<Vec<u8>>());
    }
    assert_eq!(clock.unfinished(s(2_130)), None);
}

#[test]
fn thirty_minutes_less_eight_are_shared_out() {
    // 30 min less 8 fixed with changes of 40 s: 130 s a station for eight
    // stations, 300 s for four. Arithmetic.
    let times = Times {
        warm_up_s: 240,
        briefing_s: 120,
        closing_s: 120,
        gather_s: 15,
        walk_s: 25,
        ..CIRCUIT
    };
    let work_s = |turns| times.filling(1_800, turns).map(|times| times.work_s);
    assert_eq!((work_s(8), work_s(4)), (Some(130), Some(300)));
    assert_eq!(times.filling(1_800, 8).expect("it fits").lesson_s(8), 1_800);
    assert_eq!(work_s(30), None, "nothing would be left of the work");
    assert_eq!(work_s(0), None);
}

#[test]
fn a_class_goes_through_its_phases_by_itself() {
    let times = Times {
        warm_up_s: 60,
        briefing_s: 30,
        closing_s: 45,
        ..CIRCUIT
    };
    let mut clock = class(2, 2, times);
    for (at, wanted) in [
        (0, (Phase::WarmUp, 0, 60)),
        (59, (Phase::WarmUp, 0, 1)),
        (60, (Phase::Briefing, 0, 30)),
        (90, (Phase::Work, 0, 240)),
        (309, (Phase::Work, 0, 21)),
        (310, (Phase::LastTurn, 0, 20)),
        (330, (Phase::Gather, 0, 10)),
        (340, (Phase::Walk, 0, 20)),
        (360, (Phase::Work, 1, 240)),
        (600, (Phase::Closing, 1, 45)),
        (645, (Phase::Done, 1, 0)),
    ] {
        clock.advance(s(at));
        assert_eq!(seen(&clock, s(at)), wanted, "after {at} s");
    }
    assert!(!clock.captures() && clock.hides());
}

#[test]
fn how_often_it_is_looked_at_changes_nothing() {
    let mut often = class(5, 5, Times::USUAL);
    let mut once = often.clone();
    for at in 0..1_500 {
        often.advance(s(at));
    }
    once.advance(s(1_499));
    assert_eq!(often, once);
}

#[test]
fn a_circuit_spans_lessons_with_the_same_groups() {
    let mut first = class(8, 8, CIRCUIT);
    // Three turns and three quarters of the fourth.
    let stop = s(3 * 270 + 180);
    press(&mut first, Press::End, stop).expect("running");
    let left = first.unfinished(stop).expect("four turns are left");
    assert_eq!((left.next_turn, left.groups()), (4, 8));
    let plan = Plan::going_on(left, stations(8), 23, CIRCUIT).expect("a plan");
    let mut second = Clock::start(plan, BTreeSet::new(), BTreeSet::new(), START);
    assert_eq!(seen(&second, START), (Phase::Work, 4, 240));
    assert_eq!(second.stand(group(1)).at, Some(number(5)));
    assert_eq!(run_out(&mut second, START), s(4 * 240 + 3 * 30));
    let both = [first, second];
    for g in 0..8 {
        let stretches = both.iter().flat_map(|clock| clock.history().all());
        let work = stretches.filter(|stretch| stretch.stage == Stage::Work);
        let mut at: Vec<_> = work.map(|stretch| stretch.stands[g].at).collect();
        assert_eq!(at.len(), 8);
        at.sort_unstable();
        at.dedup();
        assert_eq!(at.len(), 8, "group {} was everywhere once", g + 1);
    }
}

#[test]
fn a_turn_counts_once_half_of_it_was_worked() {
    for (worked_s, next) in [(0, 2), (119, 2), (120, 3), (239, 3), (245, 3)] {
        let mut clock = class(8, 8, CIRCUIT);
        let stop = s(2 * 270 + worked_s);
        clock.advance(stop);
        assert_eq!(clock.unfinished(stop).expect("unfinished").next_turn, next);
        press(&mut clock, Press::End, stop).expect("running");
        assert_eq!(
            clock.unfinished(s(9_999)).expect("unfinished").next_turn,
            next
        );
    }
    let mut clock = class(8, 8, Times::USUAL);
    press(&mut clock, Press::End, s(5)).expect("running");
    assert_eq!(
        clock
            .unfinished(s(5))
            .expect("nothing was worked")
            .next_turn,
        0
    );
}

#[test]
fn a_class_that_waits_ten_minutes_is_over_and_one_that_runs_is_not() {
    let mut clock = class(8, 8, CIRCUIT);
    clock.advance(s(2_000));
    assert!(clock.captures(), "an hour runs by itself");
    press(&mut clock, Press::Hold { hold: Hold::Pause }, s(2_001)).expect("running");
    clock.advance(s(2_600));
    assert!(clock.captures());
    assert_eq!(clock.next_change(s(2_600)), Some(s(2_601)));
    clock.advance(s(2_601));
    assert!(clock.is_done() && clock.holds().is_empty());
    assert!(
        clock.unfinished(s(2_700)).is_some(),
        "it can go on another time"
    );
}

#[test]
fn a_restart_at_any_moment_finds_the_same_phase_to_the_second() {
    let mut random = 12_345_u64;
    let mut next = |below: u64| {
        random = random
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (random >> 33) % below
    };
    for _ in 0..500 {
        let mut clock = class(8, 8, Times::USUAL);
        let killed = next(2_600) as i64;
        clock.advance(s(killed));
        if next(4) == 0 {
            press(&mut clock, Press::Hold { hold: Hold::Freeze }, s(killed)).ok();
        }
        let kept = serde_json::to_string(&clock).expect("plain data");
        let away = next(300) as i64;
        // The new timeline is an hour later than the old one would have been.
        let back = s(killed + away + 3_600);
        let mut again: Clock = serde_json::from_str(&kept).expect("its own text");
        again.carry_over(3_600_000_000, back);
        clock.advance(s(killed + away));
        assert_eq!(
            seen(&again, back),
            seen(&clock, s(killed + away)),
            "{killed} {away}"
        );
    }
}
