//! What holds for every class, whatever is pressed when.

use std::collections::BTreeMap;

use super::*;
use proptest::prelude::*;

#[derive(Clone, Debug)]
struct Made {
    stations: u8,
    closed: BTreeSet<StationNumber>,
    children: u16,
    groups: u8,
    crowd: Crowd,
}

fn made() -> impl Strategy<Value = Made> {
    let crowd = prop_oneof![Just(Crowd::Rest), Just(Crowd::Share)];
    let closed = proptest::collection::btree_set(2_u8..13, 0..3);
    (1_u8..13, closed, 1_u16..60, 1_u8..15, crowd).prop_map(
        |(stations, closed, children, groups, crowd)| Made {
            closed: closed
                .into_iter()
                .filter(|n| *n <= stations)
                .map(number)
                .collect(),
            stations,
            children,
            groups,
            crowd,
        },
    )
}

impl Made {
    fn clock(&self) -> Clock {
        let all = stations(self.stations);
        let Self {
            closed,
            children,
            groups,
            crowd,
            ..
        } = self;
        let plan = Plan::new(all, closed, *children, *groups, *crowd, CIRCUIT);
        Clock::start(
            plan.expect("a plan"),
            closed.clone(),
            BTreeSet::new(),
            START,
        )
    }
}

fn any_press(stations: u8) -> impl Strategy<Value = Press> {
    let hold = (0..Hold::ALL.len()).prop_map(|i| Hold::ALL[i]);
    let station = (1..=stations).prop_map(number);
    prop_oneof![
        3 => Just(Press::Next),
        1 => Just(Press::Back),
        1 => Just(Press::More),
        1 => hold.clone().prop_map(|hold| Press::Hold { hold }),
        4 => hold.prop_map(|hold| Press::Resume { hold }),
        1 => station.clone().prop_map(|station| Press::Close { station }),
        1 => station.prop_map(|station| Press::Open { station }),
        1 => (1_u8..5).prop_map(|g| Press::CoverGroup { group: group(g) }),
    ]
}

/// The stations each group worked at, turn by turn.
fn worked(clock: &Clock) -> BTreeMap<usize, BTreeMap<u16, StationNumber>> {
    let mut all: BTreeMap<usize, BTreeMap<u16, StationNumber>> = BTreeMap::new();
    for stretch in clock.history().all() {
        for (group, stand) in stretch.stands.iter().enumerate() {
            if let (Stage::Work, true, Some(at)) = (stretch.stage, stand.works, stand.at) {
                let before = all.entry(group).or_default().insert(stretch.turn, at);
                assert!(before.is_none_or(|before| before == at), "one place a turn");
            }
        }
    }
    all
}

proptest! {
    #[test]
    fn nobody_repeats_and_everybody_is_everywhere(made in made()) {
        let mut clock = made.clock();
        let end = run_out(&mut clock, START);
        let turns = u32::from(clock.plan().turns());
        let open = made.stations as usize - made.closed.len();
        let whole = match made.crowd {
            Crowd::Rest => open.max(made.groups.into()),
            Crowd::Share => open,
        };
        prop_assert_eq!(turns as usize, whole, "no more turns than needed");
        prop_assert_eq!(end, s(i64::from(CIRCUIT.circuit_s(turns))));
        for group in worked(&clock).values() {
            let at: BTreeSet<_> = group.values().collect();
            prop_assert_eq!(at.len(), group.len(), "twice at one station");
            prop_assert_eq!(at.len(), open, "not everywhere");
        }
    }

    #[test]
    fn whatever_is_pressed_two_groups_never_share_unless_told(
        made in made(),
        presses in proptest::collection::vec((any_press(12), 0_i64..200), 0..40),
    ) {
        let mut clock = made.clock();
        let mut now = START;
        for (i, (asked, later_s)) in presses.into_iter().enumerate() {
            now = now.offset(later_s * 1_000_000);
            let _ = clock.press(&i.to_string(), asked, None, now, WALL_MS);
        }
        for hold in Hold::ALL {
            let _ = press(&mut clock, Press::Resume { hold }, now);
        }
        run_out(&mut clock, now);
        prop_assert!(clock.is_done());
        let most = match made.crowd {
            Crowd::Rest => 1,
            Crowd::Share => usize::from(made.groups).div_ceil(clock.plan().turns().into()),
        };
        let all = clock.history().all();
        prop_assert!(all.windows(2).all(|pair| pair[0].from < pair[1].from));
        for stretch in all {
            let mut at: BTreeMap<StationNumber, usize> = BTreeMap::new();
            for stand in stretch.stands.iter().filter(|stand| stand.works) {
                *at.entry(stand.at.expect("who works is somewhere")).or_default() += 1;
            }
            prop_assert!(at.values().all(|groups| *groups <= most), "{:?}", at);
        }
        for group in worked(&clock).values() {
            let at: BTreeSet<_> = group.values().collect();
            prop_assert_eq!(at.len(), group.len(), "twice at one station");
        }
        let kept = serde_json::to_string(&clock).expect("plain data");
        prop_assert_eq!(serde_json::from_str::<Clock>(&kept).expect("its own text"), clock);
    }

    #[test]
    fn over_two_lessons_nobody_repeats_either(made in made(), stop_s in 0_i64..3_000) {
        let mut first = made.clock();
        let _ = press(&mut first, Press::End, s(stop_s));
        first.advance(s(stop_s));
        let Some(left) = first.unfinished(s(stop_s)) else { return Ok(()) };
        let next_turn = left.next_turn;
        let all = stations(made.stations);
        let plan = Plan::going_on(left, all, made.children, CIRCUIT).expect("a plan");
        let mut second = Clock::start(plan, made.closed.clone(), BTreeSet::new(), START);
        run_out(&mut second, START);
        let (before, after) = (worked(&first), worked(&second));
        for (group, later) in after {
            let earlier = before.get(&group).cloned().unwrap_or_default();
            let kept = earlier.into_iter().filter(|(turn, _)| *turn < next_turn);
            let all: Vec<_> = kept.map(|(_, at)| at).chain(later.into_values()).collect();
            let once: BTreeSet<_> = all.iter().collect();
            prop_assert_eq!(once.len(), all.len());
        }
    }
}
