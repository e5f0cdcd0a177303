//! Which groups are covered: known, or said not to be.

use super::*;

fn class() -> ClassId {
    ClassId::from_kept(5)
}

fn member(n: i64, group: u8) -> Member {
    Member {
        child: child(n),
        class: class(),
        group: (group > 0).then_some(group),
    }
}

#[test]
fn a_group_is_covered_by_its_child_and_in_time_when_a_yes_ends() {
    let until = Some(TODAY.plus(2));
    let records = [
        given(1, 1, Kind::Seen),
        Record {
            until,
            ..given(2, 2, Kind::Seen)
        },
        no(3, 3, Kind::Seen, Answer::Withdrawn),
    ];
    let register = Register::new(records, Some(ViewRule::OptIn));
    let members = [member(1, 1), member(2, 2), member(1, 3), member(3, 3)];
    let rows = listed_children(&register, &members, TODAY);
    let veils = veils(&rows);
    let from: Vec<_> = veils.iter().map(|veil| (veil.group, veil.from)).collect();
    assert_eq!(
        from,
        [
            (1, None),
            (2, Some(TODAY.plus(3))),
            (3, Some(Day(i32::MIN)))
        ]
    );
    let on = |day| Covered::by(&rows[..2], Some(class()), 2, None, day);
    assert_eq!(on(TODAY.plus(2)), Covered::Known([].into()));
    assert_eq!(on(TODAY.plus(3)), Covered::Known([2].into()));
}

#[test]
fn no_date_uncovers_who_is_covered_already() {
    let register = Register::new(
        [no(1, 1, Kind::Seen, Answer::Withheld)],
        Some(ViewRule::OptOut),
    );
    let rows = listed_children(&register, &[member(1, 1)], TODAY);
    for days in [-10_000, -365, -2, 0, 2, 365] {
        let day = TODAY.plus(days);
        assert_eq!(
            Covered::by(&rows, Some(class()), 1, None, day),
            Covered::Known([1].into()),
            "{days} days from the day it was reckoned"
        );
    }
}

/// Children 1, 2, 3 … of one class, each in such a group, some unseen.
fn children(rows: &[(u8, bool)]) -> Vec<ListedChild> {
    let child = |(index, (group, unseen)): (usize, &(u8, bool))| ListedChild {
        member: member(index as i64 + 1, *group),
        unseen_from: unseen.then_some(TODAY),
    };
    rows.iter().enumerate().map(child).collect()
}

#[test]
fn what_a_class_covers_is_known_or_it_is_said_not_to_be() {
    let of = |rows: &[ListedChild], groups| Covered::by(rows, Some(class()), groups, None, TODAY);
    let known = |groups: &[u8]| Covered::Known(groups.iter().copied().collect());
    assert_eq!(of(&[], 4), Covered::Unknown(Unknown::Empty));
    let rows = children(&[(1, false), (2, true), (3, false), (4, false), (5, false)]);
    assert_eq!(of(&rows, 5), known(&[2]));
    // In other groups than the list the child may stand anywhere.
    assert_eq!(of(&rows, 6), Covered::Unknown(Unknown::Groups));
    assert_eq!(of(&rows, 4), Covered::Unknown(Unknown::Groups));
    // Nobody can tell which class it is, or it is none of the list's.
    for class in [None, Some(ClassId::from_kept(6))] {
        let covered = Covered::by(&rows, class, 5, None, TODAY);
        assert_eq!(covered, Covered::Unknown(Unknown::Class));
        assert_eq!(covered.of(3), [1, 2, 3].into(), "every group");
    }
    // Nobody in the class is hidden: whatever the groups, none is covered.
    let rows = children(&[(1, false), (2, false), (3, false)]);
    assert_eq!(of(&rows, 6), known(&[]));
    // A hidden child without a group may stand anywhere.
    let rows = children(&[(0, true), (1, false), (2, false)]);
    assert_eq!(of(&rows, 3), known(&[1, 2, 3]));
}

#[test]
fn who_is_moved_in_the_list_in_mid_class_is_covered_where_it_stood_too() {
    let began = grouping(
        &children(&[(1, false), (2, false), (3, false), (0, false)]),
        class(),
    );
    let of = |rows: &[(u8, bool)], groups| {
        Covered::by(&children(rows), Some(class()), groups, Some(&began), TODAY)
    };
    let known = |groups: &[u8]| Covered::Known(groups.iter().copied().collect());
    assert_eq!(
        of(&[(1, false), (3, true), (3, false), (1, false)], 3),
        known(&[2, 3])
    );
    assert_eq!(
        of(&[(1, false), (0, true), (3, false), (1, false)], 3),
        known(&[2]),
        "out of its group in the list, and still in it"
    );
    assert_eq!(
        of(&[(1, false), (2, false), (3, false), (2, true)], 3),
        known(&[1, 2, 3]),
        "put into a group since, and may have been anywhere before"
    );
    let mut moved_and_back = began.clone();
    let rows = |group| children(&[(1, false), (group, true), (3, false), (1, false)]);
    for group in [3, 2] {
        moved_and_back.add(grouping(&rows(group), class()));
    }
    assert_eq!(
        Covered::by(&rows(2), Some(class()), 3, Some(&moved_and_back), TODAY),
        known(&[2, 3]),
        "it may have walked there"
    );
    // The class is in other groups than the list, whatever the list has since.
    assert_eq!(
        of(&[(1, false), (4, true), (3, false), (1, false)], 4),
        Covered::Unknown(Unknown::Groups)
    );
}
