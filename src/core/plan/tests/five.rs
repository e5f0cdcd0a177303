//! A unit from facts of the trade (common practice, no source; the last mat
//! count and where the eighth station begins are inferred): together they make
//! exactly five set-ups of the room.

use super::*;

/// Facts of the trade, in words of our own.
fn practice() -> Unit {
    let mut beam = station(1, "beam");
    beam.levels.push(level("backwards", "3-5"));
    beam.levels.push(Level {
        after: Some(id("floor-cartwheel")),
        ..level("cartwheel-off", "3-5")
    });

    // A stack of two mats, then three, then four.
    let mut vault = station(2, "vault");
    vault.details.kit = vec![kit("stack", Amount::Count(2))];
    let stack = |mats| Changes {
        kit: vec![kit("stack", Amount::Count(mats))],
        ..Changes::default()
    };
    vault.bands = vec![band("1-3", stack(3)), band("4-5", stack(4))];

    // The gap grows between second and third; the platform is a mat lower for
    // kindergarten alone.
    let mut swing = station(3, "swing");
    swing.ask_first = Some(AskFirst::SwingRope);
    swing.details.one_way = true;
    swing.details.kit = vec![
        kit("gap", Amount::LengthCm(60)),
        kit("platform", Amount::Count(2)),
    ];
    let line = |name: &str, amount| Changes {
        kit: vec![kit(name, amount)],
        ..Changes::default()
    };
    swing.bands = vec![
        band("K", line("platform", Amount::Count(1))),
        band("3-5", line("gap", Amount::LengthCm(90))),
    ];

    let mut jump = station(4, "jump");
    jump.levels.push(level("tuck-jump", "2-5"));
    jump.levels.push(level("half-turn", "2-5"));

    // A fourth choice from third grade.
    let mut roll = station(5, "roll");
    roll.levels.push(level("from-a-squat", "K-5"));
    roll.levels.push(level("down-the-wedge", "K-5"));
    roll.levels.push(level("two-in-a-row", "3-5"));

    let mut hold = station(6, "hold");
    hold.details.hold_s = 3;

    let mut floor = station(7, "floor");
    floor.levels.push(level("floor-cartwheel", "K-5"));

    let mut eighth = station(8, "eighth");
    eighth.grades = grades("3-5");

    unit(vec![beam, vault, swing, jump, roll, hold, floor, eighth])
}

fn names(setups: &[Setup]) -> Vec<String> {
    let name = |setup: &Setup| {
        let grades: Vec<String> = setup.grades.iter().map(Grade::to_string).collect();
        grades.join(" ")
    };
    setups.iter().map(name).collect()
}

#[test]
fn the_facts_make_exactly_five_set_ups() {
    let found = setups(&practice(), &Allowed::everything());
    assert_eq!(names(&found), ["K", "1", "2", "3", "4 5"]);
    let stations: Vec<usize> = found.iter().map(|setup| setup.stations.len()).collect();
    assert_eq!(stations, [7, 7, 7, 8, 8]);
}

#[test]
fn words_alone_make_no_set_up() {
    let mut unit = practice();
    unit.stations[5].bands.push(band(
        "5",
        Changes {
            task: Some(en("Do it with your eyes closed.")),
            ..Changes::default()
        },
    ));
    assert_eq!(setups(&unit, &Allowed::everything()).len(), 5);
}

#[test]
fn what_has_to_be_changed_is_named_station_by_station() {
    let found = setups(&practice(), &Allowed::everything());
    let between = |a: usize, b: usize| difference(&found[a].stations, &found[b].stations);
    let amount = |line: &str, from, to| Change::Kit {
        line: id(line),
        item: en(line),
        from: Some(from),
        to: Some(to),
    };
    let only = |station: &str, changes| Difference {
        station: id(station),
        changes,
    };
    assert_eq!(
        between(0, 1),
        [
            only(
                "vault",
                vec![amount("stack", Amount::Count(2), Amount::Count(3))]
            ),
            only(
                "swing",
                vec![amount("platform", Amount::Count(1), Amount::Count(2))]
            ),
        ]
    );
    // From first to second nobody has to lay hands on anything.
    let second = between(1, 2);
    assert_eq!(
        second,
        [only(
            "jump",
            vec![
                Change::Offered(id("tuck-jump")),
                Change::Offered(id("half-turn"))
            ]
        )]
    );
    assert!(!second[0].is_rig());
    let third = between(2, 3);
    let rigged: Vec<&str> = third
        .iter()
        .filter(|one| one.is_rig())
        .map(|one| one.station.as_str())
        .collect();
    assert_eq!(rigged, ["swing", "eighth"]);
    assert_eq!(third.len(), 4);
    // And back again for a younger class.
    assert!(between(3, 2).contains(&only("eighth", vec![Change::Goes])));
}

#[test]
fn without_leave_to_swing_the_gap_makes_no_difference() {
    let found = setups(&practice(), &Allowed::nothing());
    let all = found.iter().flat_map(|setup| &setup.stations);
    assert!(all.clone().all(|station| station.id != id("swing")));
    assert!(all.count() > 0);
}

#[test]
fn a_skill_that_needs_another_goes_where_that_one_goes() {
    let mut unit = practice();
    let third = "3".parse().expect("a grade");
    let beam = |unit: &Unit| {
        let room = resolve(unit, third, &Allowed::nothing());
        let levels = room.stations[0].levels.iter();
        levels.map(|one| one.id.to_string()).collect::<Vec<_>>()
    };
    assert_eq!(beam(&unit), ["beam-plain", "backwards", "cartwheel-off"]);
    unit.stations[6]
        .levels
        .retain(|one| one.id != id("floor-cartwheel"));
    assert_eq!(beam(&unit), ["beam-plain", "backwards"]);
}
