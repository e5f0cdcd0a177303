//! What a class starts with: groups, rig, spotters.

use super::*;
use proptest::prelude::*;

proptest! {
    #[test]
    fn children_are_spread_evenly_and_nobody_is_left_alone_in_pairs(
        children in 1_u16..=MOST_CHILDREN, groups in 1..=MOST_GROUPS, in_pairs in any::<bool>(),
    ) {
        let sizes = spread(children, groups, in_pairs);
        prop_assert_eq!(sizes.len(), usize::from(groups));
        prop_assert_eq!(sizes.iter().sum::<u16>(), children);
        let some: Vec<u16> = sizes.iter().copied().filter(|size| *size > 0).collect();
        let (least, most) = (some.iter().min().unwrap(), some.iter().max().unwrap());
        prop_assert!(most - least <= 1);
        if in_pairs && children > 1 {
            prop_assert!(*least >= 2, "{:?}", sizes);
        } else {
            prop_assert_eq!(some.len(), usize::from(groups).min(children.into()));
        }
    }
}

#[test]
fn threes_are_said() {
    let three: Vec<u16> = (0..8).filter(|size| needs_three(*size)).collect();
    assert_eq!(three, [3, 5, 7]);
}

#[test]
fn a_lone_child_does_not_work_at_a_station_in_pairs() {
    let mut all = stations(3);
    all[1].in_pairs = true;
    let none = BTreeSet::new();
    for (crowd, children, groups, works) in [
        // One child in all: nothing else can be done.
        (Crowd::Rest, 1, 3, false),
        (Crowd::Rest, 6, 3, true),
        // Group 1 has two children, group 4 shares its places.
        (Crowd::Share, 8, 4, true),
    ] {
        let plan = Plan::new(all.clone(), &none, children, groups, crowd, CIRCUIT);
        let stand = plan.expect("a plan").stand(group(1), 1, &none);
        assert_eq!((stand.at, stand.works), (Some(number(2)), works));
    }
}

#[test]
fn what_nobody_ticked_and_what_nobody_spots_starts_closed() {
    let mut last = stations(4);
    last[1].setup = "beam, 30 cm".to_owned();
    last[3].setup = "wall, low".to_owned();
    let mut rig = Rig::default();
    let mut next = stations(4);
    assert_eq!(changes(&rig, &next), [], "the first class of all");
    rig.set_up(&last, &BTreeSet::new());
    next[0].hands = Hands::Floor;
    next[2].hands = Hands::Close;
    let wanted = changes(&rig, &next);
    let numbers: Vec<u8> = wanted.iter().map(|c| c.station.get()).collect();
    assert_eq!(numbers, [2, 4], "in walking order");
    assert_eq!(wanted[0].from.as_deref(), Some("beam, 30 cm"));
    let ticked = BTreeSet::from([number(2)]);
    let closed = |no_spotter| starts_closed(&wanted, &ticked, &next, no_spotter);
    assert_eq!(closed(false), BTreeSet::from([number(4)]));
    assert_eq!(closed(true), BTreeSet::from([number(3), number(4)]));
    assert_eq!(on_the_floor(&next, true), BTreeSet::from([number(1)]));
    assert!(on_the_floor(&next, false).is_empty());
    // What was not changed stands as it did, and is asked for again.
    rig.set_up(&next, &closed(false));
    assert_eq!(changes(&rig, &next).len(), 1);
    let kept = serde_json::to_string(&rig).expect("plain data");
    assert_eq!(
        serde_json::from_str::<Rig>(&kept).expect("its own text"),
        rig
    );
}

#[test]
fn a_class_that_cannot_be_is_refused() {
    let none = BTreeSet::new();
    let all: BTreeSet<_> = (1..=3).map(number).collect();
    let new = |closed: &BTreeSet<_>, children, groups, times| {
        Plan::new(stations(3), closed, children, groups, Crowd::Rest, times).err()
    };
    assert_eq!(new(&all, 9, 3, CIRCUIT), Some(PlanError::NoStation));
    assert_eq!(new(&none, 0, 3, CIRCUIT), Some(PlanError::Children));
    assert_eq!(new(&none, 9, 0, CIRCUIT), Some(PlanError::Groups));
    let idle = Times {
        work_s: 0,
        last_turn_s: 0,
        ..CIRCUIT
    };
    assert_eq!(new(&none, 9, 3, idle), Some(PlanError::Times));
    assert_eq!(new(&none, 9, 3, CIRCUIT), None);
}
