//! Long random histories of a school: answers, dates that are wrong, head counts,
//! helpers, restarts, vaults that are locked, broken and restored. At no capture
//! time is a group shown that holds, or may hold, a child who is refused.
//!
//! What is shown is read from the stations' own rings, by their one read. Where a
//! child is, and whether it is refused, is reckoned here and not by the program.
//!
//! Twelve hundred in a test run; `SHOWN_HISTORIES=100000` for more. Says how many
//! had a refused child in front of a camera.

use std::sync::atomic::AtomicUsize;

use afterturn_core::rotation::GroupNumber;
use proptest::prelude::*;

use super::*;

mod events;
mod school;
mod who;

use school::School;

#[derive(Clone, Debug)]
enum Event {
    Answer {
        who: usize,
        yes: bool,
        from: i32,
        until: Option<i32>,
    },
    Rule(bool),
    Regroup {
        who: usize,
        group: Option<u8>,
    },
    /// The clock shows another date than the true one.
    Date(i32),
    Midnight,
    Start {
        by: By,
        children: u16,
        groups: Option<u8>,
        said: Option<Vec<u8>>,
        other_title: bool,
        share: bool,
        anew: bool,
    },
    Press(Press),
    Order(u8, Order),
    TeacherSays(Vec<u8>),
    Wait(u64),
    Restart {
        kept: bool,
        away_s: u64,
    },
    Lock,
    Unlock,
    /// The vault's file is spoiled, or mended, while the program is away.
    Spoil(bool),
    Backup,
    Restore(usize),
    ConfirmDate,
}

fn groups() -> impl Strategy<Value = Vec<u8>> {
    prop::collection::vec(1..=5_u8, 0..3)
}

fn press() -> impl Strategy<Value = Press> {
    let station = (1..=5_i64).prop_map(|n| StationNumber::try_from(n).unwrap());
    let hold = prop::sample::select(Vec::from(Hold::ALL));
    prop_oneof![
        4 => Just(Press::Next),
        1 => Just(Press::Back),
        1 => Just(Press::More),
        2 => hold.clone().prop_map(|hold| Press::Hold { hold }),
        3 => hold.prop_map(|hold| Press::Resume { hold }),
        1 => station.clone().prop_map(|station| Press::Close { station }),
        1 => station.prop_map(|station| Press::Open { station }),
        1 => (0..5_usize).prop_map(|g| Press::CoverGroup { group: GroupNumber::at(g) }),
        1 => Just(Press::Finish),
        1 => Just(Press::End),
    ]
}

fn start() -> impl Strategy<Value = Event> {
    let by = prop_oneof![2 => Just(By::Helper), 1 => Just(By::Teacher)];
    let children = prop_oneof![Just(1), Just(2), Just(3), 4..30_u16];
    let groups_said = prop::option::weighted(0.3, 1..=6_u8);
    let said = prop::option::weighted(0.5, groups());
    (
        by,
        children,
        groups_said,
        said,
        prop::bool::weighted(0.15),
        any::<bool>(),
        any::<bool>(),
    )
        .prop_map(
            |(by, children, groups, said, other_title, share, anew)| Event::Start {
                by,
                children,
                groups,
                said,
                other_title,
                share,
                anew,
            },
        )
}

fn event() -> impl Strategy<Value = Event> {
    let answer = (
        0..6_usize,
        prop::bool::weighted(0.55),
        prop_oneof![6 => Just(0), 1 => 1..4_i32],
        prop::option::weighted(0.3, 0..6_i32),
    );
    let date = prop_oneof![
        2 => Just(0),
        3 => -3..=3_i32,
        1 => prop_oneof![Just(-400), Just(-30), Just(20), Just(400)]
    ];
    let orders = prop::sample::select(Vec::from(Order::ALL));
    prop_oneof![
        6 => answer.prop_map(|(who, yes, from, until)| Event::Answer { who, yes, from, until }),
        1 => any::<bool>().prop_map(Event::Rule),
        1 => (0..6_usize, prop::option::weighted(0.8, 1..=5_u8))
            .prop_map(|(who, group)| Event::Regroup { who, group }),
        2 => date.prop_map(Event::Date),
        1 => Just(Event::Midnight),
        6 => start(),
        5 => press().prop_map(Event::Press),
        1 => (0..5_u8, orders).prop_map(|(station, order)| Event::Order(station, order)),
        1 => groups().prop_map(Event::TeacherSays),
        8 => (1..30_u64).prop_map(Event::Wait),
        2 => (any::<bool>(), 0..40_u64).prop_map(|(kept, away_s)| Event::Restart { kept, away_s }),
        1 => Just(Event::Lock),
        1 => Just(Event::Unlock),
        1 => any::<bool>().prop_map(Event::Spoil),
        1 => Just(Event::Backup),
        1 => (0..4_usize).prop_map(Event::Restore),
        1 => Just(Event::ConfirmDate),
    ]
}

/// As many as a test run has time for.
fn how_many() -> u32 {
    let asked = std::env::var("SHOWN_HISTORIES").ok();
    asked.and_then(|count| count.parse().ok()).unwrap_or(1_200)
}

#[test]
fn at_no_moment_is_a_group_shown_that_may_hold_a_refused_child() {
    let (bitten, shown) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_time()
        .build()
        .unwrap();
    let history = (
        2..=4_u8,
        any::<bool>(),
        prop::bool::weighted(0.06),
        prop::bool::weighted(0.7),
        prop::collection::vec(event(), 1..60),
    );
    let config = ProptestConfig {
        cases: how_many(),
        failure_persistence: None,
        ..ProptestConfig::default()
    };
    let mut runner = proptest::test_runner::TestRunner::new(config);
    let run = runner.run(
        &history,
        |(stations, in_pairs, on_disk, opt_out, events)| {
            runtime.block_on(async {
                let mut school = School::begin(stations, in_pairs, on_disk, opt_out);
                for event in events {
                    school.apply(event).await;
                    school.look();
                    school.check();
                }
                bitten.fetch_add(usize::from(school.bitten), Ordering::Relaxed);
                shown.fetch_add(school.shown, Ordering::Relaxed);
            });
            Ok(())
        },
    );
    if let Err(error) = run {
        panic!("{error}");
    }
    let (bitten, shown) = (bitten.into_inner(), shown.into_inner());
    println!(
        "{} histories; in {bitten} a refused child was in front of a camera; \
         {shown} looks at pictures that were shown",
        how_many()
    );
    assert!(
        bitten * 4 > how_many() as usize,
        "it does not bite: {bitten}"
    );
    assert!(
        shown > how_many() as usize,
        "everything is covered: {shown}"
    );
}
