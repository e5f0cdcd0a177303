//! The rules of consent, one by one and over long random histories.

use proptest::prelude::*;

use super::*;
use crate::kernel::{CaptureUs, ChildId, ClassId, Day, RecordId};

mod covers;

const TODAY: Day = Day(20_782);

fn child(n: i64) -> ChildId {
    ChildId::from_kept(n)
}

fn given(n: i64, order: i64, kind: Kind) -> Record {
    Record {
        id: RecordId::from_kept(order),
        order,
        child: child(n),
        kind,
        answer: Answer::Given,
        from: TODAY.plus(-10),
        until: None,
        over: false,
        confirmed: true,
    }
}

fn no(n: i64, order: i64, kind: Kind, answer: Answer) -> Record {
    Record {
        answer,
        ..given(n, order, kind)
    }
}

fn on(day: Day) -> Interval {
    let from = CaptureUs(day.0 as u64 * 86_400_000_000 + 36_000_000_000);
    Interval {
        from,
        to: from.offset(5_000_000),
        offset_s: 0,
    }
}

fn still(children: &[i64], day: Day) -> Request {
    Request {
        children: children.iter().copied().map(child).collect(),
        medium: Medium::Still,
        purpose: Purpose::Portfolio,
        interval: on(day),
        term_days: 60,
    }
}

#[test]
fn nothing_is_kept_until_somebody_records_a_yes() {
    let register = Register::new([], Some(ViewRule::OptOut));
    let refused = Refusal::NotGiven {
        child: child(1),
        kind: Kind::Stills,
    };
    assert_eq!(register.permit(still(&[1], TODAY), TODAY), Err(refused));
    // Being seen is not being kept.
    let register = Register::new([given(1, 1, Kind::Seen)], None);
    assert_eq!(register.permit(still(&[1], TODAY), TODAY), Err(refused));
    let register = Register::new([given(1, 1, Kind::Stills)], None);
    let permit = register.permit(still(&[1], TODAY), TODAY).expect("a yes");
    assert_eq!(permit.bases(), [RecordId::from_kept(1)]);
    assert_eq!(permit.keep_until(), TODAY.plus(60));
}

#[test]
fn every_child_in_it_has_to_have_agreed() {
    let register = Register::new([given(1, 1, Kind::Stills)], None);
    let refused = Refusal::NotGiven {
        child: child(2),
        kind: Kind::Stills,
    };
    assert_eq!(register.permit(still(&[1, 2], TODAY), TODAY), Err(refused));
    assert_eq!(
        register.permit(still(&[], TODAY), TODAY),
        Err(Refusal::Nobody)
    );
}

#[test]
fn sharing_needs_its_own_yes() {
    let records = [given(1, 1, Kind::Clips)];
    let ask = || Request {
        medium: Medium::Clip,
        purpose: Purpose::Family,
        ..still(&[1], TODAY)
    };
    let refused = Refusal::NotGiven {
        child: child(1),
        kind: Kind::Shared,
    };
    assert_eq!(
        Register::new(records, None).permit(ask(), TODAY),
        Err(refused)
    );
    let both = [records[0], given(1, 2, Kind::Shared)];
    assert!(Register::new(both, None).permit(ask(), TODAY).is_ok());
}

#[test]
fn a_yes_covers_its_days_and_no_others() {
    let until = Some(TODAY.plus(3));
    let register = Register::new(
        [Record {
            until,
            ..given(1, 1, Kind::Stills)
        }],
        None,
    );
    let permit = register.permit(still(&[1], TODAY), TODAY).expect("a yes");
    assert_eq!(
        permit.keep_until(),
        TODAY.plus(3),
        "not longer than the yes"
    );
    let refused = Err(Refusal::NotGiven {
        child: child(1),
        kind: Kind::Stills,
    });
    assert_eq!(
        register.permit(still(&[1], TODAY.plus(-11)), TODAY),
        refused,
        "before it"
    );
    assert_eq!(
        register.permit(still(&[1], TODAY), TODAY.plus(4)),
        refused,
        "after it"
    );
    assert_eq!(
        register.permit(still(&[1], TODAY.plus(1)), TODAY),
        Err(Refusal::Future)
    );
    let mut long = still(&[1], TODAY);
    long.interval.to = long.interval.from.offset(3_600_000_000);
    assert_eq!(register.permit(long, TODAY), Err(Refusal::NoInterval));
}

#[test]
fn a_yes_from_another_box_waits_and_a_no_does_not() {
    let elsewhere = Record {
        confirmed: false,
        ..given(1, 1, Kind::Stills)
    };
    let register = Register::new([elsewhere], None);
    assert_eq!(
        register.standing(child(1), Kind::Stills, TODAY),
        Standing::ToConfirm
    );
    assert!(register.permit(still(&[1], TODAY), TODAY).is_err());
    let unseen = Record {
        confirmed: false,
        ..no(1, 1, Kind::Seen, Answer::Withheld)
    };
    let register = Register::new([unseen], Some(ViewRule::OptOut));
    assert!(!register.may_be_seen(child(1), TODAY));
}

#[test]
fn without_a_choice_of_the_school_nobody_is_seen_unasked() {
    for (rule, seen) in [
        (None, false),
        (Some(ViewRule::OptIn), false),
        (Some(ViewRule::OptOut), true),
    ] {
        assert_eq!(Register::new([], rule).may_be_seen(child(1), TODAY), seen);
        let yes = Register::new([given(1, 1, Kind::Seen)], rule);
        assert!(yes.may_be_seen(child(1), TODAY));
        for answer in [Answer::Withheld, Answer::Withdrawn] {
            let records = [given(1, 1, Kind::Seen), no(1, 2, Kind::Seen, answer)];
            assert!(!Register::new(records, rule).may_be_seen(child(1), TODAY));
        }
    }
}

#[test]
fn while_the_date_is_in_doubt_a_yes_counts_only_where_it_holds_on_every_day_it_may_be() {
    let mut watch = DateWatch::default();
    watch.pass(TODAY);
    let seen = |yes: Record, clock: Day| {
        Register::new([yes], Some(ViewRule::OptIn)).may_be_seen(child(1), watch.days(clock))
    };
    let begins = |days| Record {
        from: TODAY.plus(days),
        ..given(1, 1, Kind::Seen)
    };
    let ends = |days| Record {
        until: Some(TODAY.plus(days)),
        ..given(1, 1, Kind::Seen)
    };
    // Two days back may be the truth, and then this yes has not begun.
    assert!(!seen(begins(-1), TODAY.plus(-2)));
    assert!(seen(begins(-3), TODAY.plus(-2)));
    // A month back is a clock that lost its time.
    assert!(seen(begins(-1), TODAY.plus(-30)));
    // A month ahead may be the truth, and so may today.
    assert!(!seen(begins(20), TODAY.plus(30)));
    assert!(!seen(ends(20), TODAY.plus(30)));
    assert!(seen(ends(30), TODAY.plus(30)));
    // What has been over stays over.
    assert!(!seen(ends(-1), TODAY.plus(-2)));
    assert!(!seen(ends(-1), TODAY.plus(-30)));
}

#[test]
fn a_date_in_doubt_destroys_nothing_and_brings_nothing_back() {
    let mut watch = DateWatch::default();
    assert_eq!(watch.destroy_through(TODAY), Some(TODAY.plus(-1)));
    watch.pass(TODAY);
    assert_eq!(watch.doubt(TODAY.plus(8)), None);
    let ahead = TODAY.plus(9);
    assert_eq!(watch.doubt(ahead), Some(Doubt::Ahead { highest: TODAY }));
    assert_eq!(watch.destroy_through(ahead), None);
    assert_eq!(watch.days(ahead).last, ahead, "hidden all the same");
    watch.pass(ahead);
    assert_eq!(
        watch.highest(),
        Some(TODAY),
        "doubt does not pass by itself"
    );
    let behind = TODAY.plus(-1);
    assert_eq!(watch.doubt(behind), Some(Doubt::Behind { highest: TODAY }));
    assert_eq!(watch.days(behind).last, TODAY, "what was over stays over");
    watch.confirm(ahead);
    assert_eq!(watch.destroy_through(ahead), Some(ahead.plus(-1)));
}

#[test]
fn a_term_has_bounds() {
    assert!(Terms::new(0, 1, 1).is_err() && Terms::new(1, 1, 3000).is_err());
    assert_eq!(Terms::new(60, 365, 365), Ok(Terms::default()));
}

const ANSWERS: [Answer; 4] = [
    Answer::Given,
    Answer::Given,
    Answer::Withheld,
    Answer::Withdrawn,
];

/// One thing that happens to three children's answers.
#[derive(Clone, Copy, Debug)]
enum Event {
    Record {
        child: i64,
        kind: Kind,
        answer: Answer,
        from: i32,
        until: Option<i32>,
    },
    /// What the ledger says of the latest answer.
    Over {
        child: i64,
        kind: Kind,
    },
    Elsewhere {
        child: i64,
        kind: Kind,
    },
    Days(i32),
}

fn event() -> impl Strategy<Value = Event> {
    let who = || (1_i64..=3, prop::sample::select(&Kind::ALL[..]));
    prop_oneof![
        6 => (who(), prop::sample::select(&ANSWERS[..]), -5..5_i32, prop::option::of(-2..12_i32))
            .prop_map(|((child, kind), answer, from, until)| Event::Record {
                child, kind, answer, from, until
            }),
        1 => who().prop_map(|(child, kind)| Event::Over { child, kind }),
        1 => who().prop_map(|(child, kind)| Event::Elsewhere { child, kind }),
        2 => (1..4_i32).prop_map(Event::Days),
    ]
}

proptest! {
    /// A second reckoning, from the whole history, agrees with every permit
    /// made and every one refused.
    #[test]
    fn a_permit_exists_only_with_a_basis(
        events in prop::collection::vec(event(), 1..60),
        back in 0..6_i32,
        sharing in any::<bool>(),
    ) {
        let mut records: Vec<Record> = Vec::new();
        let mut today = TODAY;
        for (order, event) in events.into_iter().enumerate() {
            let last = |records: &mut Vec<Record>, n, kind| {
                records.iter().rposition(|r| r.child == child(n) && r.kind == kind)
            };
            match event {
                Event::Record { child: n, kind, answer, from, until } => records.push(Record {
                    answer,
                    from: today.plus(from),
                    until: until.filter(|_| answer == Answer::Given).map(|d| today.plus(d)),
                    ..given(n, order as i64, kind)
                }),
                Event::Over { child: n, kind } => {
                    if let Some(at) = last(&mut records, n, kind) { records[at].over = true; }
                }
                Event::Elsewhere { child: n, kind } => {
                    if let Some(at) = last(&mut records, n, kind) { records[at].confirmed = false; }
                }
                Event::Days(days) => today = today.plus(days),
            }
            let register = Register::new(records.iter().rev().copied(), None);
            let day = today.plus(-back);
            let mut request = still(&[1, 2], day);
            let mut kinds = vec![Kind::Stills];
            if sharing {
                request.purpose = Purpose::Family;
                kinds.push(Kind::Shared);
            }
            let holds = |n, kind| {
                let mut basis = false;
                for r in records.iter().filter(|r| r.child == child(n) && r.kind == kind) {
                    basis = r.answer == Answer::Given && r.confirmed && !r.over
                        && (r.from..=r.until.unwrap_or(Day(i32::MAX))).contains(&day)
                        && (r.from..=r.until.unwrap_or(Day(i32::MAX))).contains(&today);
                }
                basis
            };
            let expected = [1, 2].iter().all(|n| kinds.iter().all(|kind| holds(*n, *kind)));
            let made = register.permit(request, today);
            prop_assert_eq!(made.is_ok(), expected);
            if let Ok(permit) = made {
                prop_assert_eq!(permit.bases().len(), 2 * kinds.len());
                prop_assert!(permit.keep_until() >= today.plus(-back));
            }
        }
    }
}
