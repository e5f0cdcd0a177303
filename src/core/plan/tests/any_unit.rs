//! Whatever the unit, each grade finds each station or a reason.

use proptest::prelude::*;
use proptest::sample::select;

use super::*;

fn any_grades() -> impl Strategy<Value = Grades> {
    (0..6_usize, 0..6_usize).prop_map(|(a, b)| {
        Grades::new(Grade::ALL[a.min(b)], Grade::ALL[a.max(b)]).expect("in order")
    })
}

fn any_gate() -> impl Strategy<Value = Option<AskFirst>> {
    proptest::option::weighted(0.2, select(AskFirst::ALL))
}

fn any_kit() -> impl Strategy<Value = Vec<KitLine>> {
    let line = (0..4_u8, 0..4_u16, any_gate()).prop_map(|(name, count, ask_first)| KitLine {
        ask_first,
        ..kit(&format!("k{name}"), Amount::Count(count))
    });
    proptest::collection::vec(line, 0..4).prop_map(|mut lines| {
        lines.sort_by(|a, b| a.id.cmp(&b.id));
        lines.dedup_by(|a, b| a.id == b.id);
        lines
    })
}

fn any_band() -> impl Strategy<Value = Band> {
    let of = proptest::option::of;
    (any_grades(), of(1..4_u8), of(0..9_u8), any_kit()).prop_map(|(grades, lanes, hold_s, kit)| {
        Band {
            grades,
            changes: Changes {
                lanes,
                hold_s,
                kit,
                ..Changes::default()
            },
        }
    })
}

/// Levels of station `n`; one may wait for any level there could be, itself
/// included.
fn any_levels(n: u8) -> impl Strategy<Value = Vec<Level>> {
    let after = proptest::option::weighted(0.3, (1..4_u8, 0..3_usize));
    let one = (any_grades(), any_gate(), after);
    proptest::collection::vec(one, 0..4).prop_map(move |all| {
        let named = all.into_iter().enumerate();
        named
            .map(|(i, (grades, ask_first, after))| Level {
                grades,
                ask_first,
                after: after.map(|(s, l)| id(&format!("l{s}-{l}"))),
                ..level(&format!("l{n}-{i}"), "K")
            })
            .collect()
    })
}

fn any_station(n: u8) -> impl Strategy<Value = Station> {
    let bands = proptest::collection::vec(any_band(), 0..4);
    (any_grades(), any_gate(), any_kit(), bands, any_levels(n)).prop_map(
        move |(grades, ask_first, kit, bands, levels)| {
            let mut one = station(n, &format!("s{n}"));
            one.grades = grades;
            one.ask_first = ask_first;
            one.details.kit = kit;
            one.bands = bands;
            one.levels = levels;
            one
        },
    )
}

prop_compose! {
    fn any_unit()(a in any_station(1), b in any_station(2), c in any_station(3)) -> Unit {
        unit(vec![a, b, c])
    }
}

fn any_allowed() -> impl Strategy<Value = Allowed> {
    proptest::collection::vec(select(AskFirst::ALL), 0..4)
        .prop_map(|some| some.into_iter().collect())
}

proptest! {
    #[test]
    fn every_station_is_there_or_left_out(unit in any_unit(), allowed in any_allowed()) {
        for grade in Grade::ALL {
            let room = resolve(&unit, grade, &allowed);
            let mut order = unit.stations.iter().map(|station| &station.id);
            for station in &unit.stations {
                let there = room.stations.iter().filter(|view| view.id == station.id).count();
                let out = room.left_out.iter();
                let out = out.filter(|one| one.station == station.id && one.part.is_none()).count();
                prop_assert_eq!(there + out, 1);
            }
            // In the order of the unit, with something to do at each.
            for view in &room.stations {
                prop_assert!(order.any(|id| *id == view.id));
                prop_assert!(!view.levels.is_empty() || !view.other_ways.is_empty());
                let station = unit.stations.iter().find(|one| one.id == view.id).expect("known");
                prop_assert!(station.grades.contains(grade));
                // Each level is there or left out as well.
                let out = room.left_out.iter();
                let out = out.filter(|one| {
                    station.levels.iter().any(|level| one.part.as_ref() == Some(&level.id))
                });
                prop_assert_eq!(view.levels.len() + out.count(), station.levels.len());
            }
        }
    }

    #[test]
    fn a_level_is_never_there_before_what_it_needs(unit in any_unit(), allowed in any_allowed()) {
        for grade in Grade::ALL {
            let room = resolve(&unit, grade, &allowed);
            let all: Vec<&Level> = room.stations.iter().flat_map(|view| &view.levels).collect();
            for level in &all {
                prop_assert!(level.grades.contains(grade));
                if let Some(first) = &level.after {
                    prop_assert!(first != &level.id);
                    prop_assert!(all.iter().any(|other| other.id == *first));
                }
            }
        }
    }

    #[test]
    fn nothing_barred_gets_in(unit in any_unit()) {
        for grade in Grade::ALL {
            for view in resolve(&unit, grade, &Allowed::nothing()).stations {
                prop_assert!(view.levels.iter().all(|level| level.ask_first.is_none()));
                prop_assert!(view.details.kit.iter().all(|line| line.ask_first.is_none()));
            }
        }
    }

    #[test]
    fn each_grade_has_one_set_up_and_set_ups_differ(unit in any_unit(), allowed in any_allowed()) {
        let found = setups(&unit, &allowed);
        let mut all: Vec<Grade> = found.iter().flat_map(|setup| setup.grades.clone()).collect();
        all.sort();
        prop_assert_eq!(all, Grade::ALL.to_vec());
        for (i, a) in found.iter().enumerate() {
            prop_assert!(difference(&a.stations, &a.stations).is_empty());
            for b in &found[i + 1..] {
                prop_assert!(!difference(&a.stations, &b.stations).is_empty());
            }
        }
    }
}
