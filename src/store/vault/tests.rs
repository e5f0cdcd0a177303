//! The database by itself: the rules it repeats, its versions, and damage.

use afterturn_core::consent::{Answer, Kind, Medium, Purpose, Record, Veil};
use afterturn_core::kernel::{ChildId, ClassId, Day, ItemId, RecordId};

use super::*;

const CLASS: ClassId = ClassId::from_kept(1);
const CHILD: ChildId = ChildId::from_kept(2);

fn with_a_child() -> Database {
    let mut database = Database::in_memory().unwrap();
    let done: Result<(), DatabaseError> = database.change(|change| {
        change.put_class(&ClassRow {
            id: CLASS,
            sealed: vec![1],
        })?;
        change.put_child(&ChildRow {
            id: CHILD,
            class: CLASS,
            group: None,
            listed_on: Day(10),
            sealed: vec![2],
        })
    });
    done.unwrap();
    database
}

fn answer(order: i64, kind: Kind, answer: Answer) -> ConsentRow {
    ConsentRow {
        record: Record {
            id: RecordId::from_kept(order),
            order,
            child: CHILD,
            kind,
            answer,
            from: Day(10),
            until: None,
            over: false,
            confirmed: true,
        },
        recorded_on: Day(10),
        sealed: vec![3],
    }
}

fn item(id: i64, medium: Medium, purpose: Purpose) -> ItemRow {
    ItemRow {
        id: ItemId::from_kept(id),
        medium,
        purpose,
        taken_on: Day(12),
        expires_on: Day(20),
        sealed: vec![4],
        children: vec![CHILD],
    }
}

fn record(database: &mut Database, row: &ConsentRow) -> Result<(), DatabaseError> {
    database.change(|change| change.add_consent(row))
}

fn keep(database: &mut Database, row: &ItemRow) -> Result<(), DatabaseError> {
    database.change(|change| change.add_item(row))
}

#[test]
fn the_database_too_keeps_nothing_without_a_basis() {
    let mut database = with_a_child();
    let still = item(1, Medium::Still, Purpose::Portfolio);
    assert!(keep(&mut database, &still).is_err(), "nobody was asked");
    record(&mut database, &answer(1, Kind::Seen, Answer::Given)).unwrap();
    record(&mut database, &answer(2, Kind::Clips, Answer::Given)).unwrap();
    assert!(keep(&mut database, &still).is_err(), "another kind");
    let refused = [
        answer(3, Kind::Stills, Answer::Withheld),
        ConsentRow {
            record: Record {
                confirmed: false,
                ..answer(4, Kind::Stills, Answer::Given).record
            },
            ..answer(4, Kind::Stills, Answer::Given)
        },
        ConsentRow {
            record: Record {
                from: Day(13),
                ..answer(5, Kind::Stills, Answer::Given).record
            },
            ..answer(5, Kind::Stills, Answer::Given)
        },
        ConsentRow {
            record: Record {
                until: Some(Day(19)),
                ..answer(6, Kind::Stills, Answer::Given).record
            },
            ..answer(6, Kind::Stills, Answer::Given)
        },
    ];
    for row in refused {
        record(&mut database, &row).unwrap();
        assert!(keep(&mut database, &still).is_err(), "{:?}", row.record);
    }
    record(&mut database, &answer(7, Kind::Stills, Answer::Given)).unwrap();
    keep(&mut database, &still).unwrap();
    let shared = item(2, Medium::Still, Purpose::Family);
    assert!(
        keep(&mut database, &shared).is_err(),
        "sharing is asked for itself"
    );
    let nobody = ItemRow {
        children: Vec::new(),
        ..item(3, Medium::Still, Purpose::Portfolio)
    };
    assert!(keep(&mut database, &nobody).is_err(), "it names nobody");
    database
        .change(|c| c.consent_is_over(RecordId::from_kept(7)))
        .unwrap();
    assert!(
        keep(&mut database, &item(4, Medium::Still, Purpose::Portfolio)).is_err(),
        "over"
    );
}

#[test]
fn a_no_and_an_erased_child_take_along_what_was_kept() {
    for erase in [false, true] {
        let mut database = with_a_child();
        record(&mut database, &answer(1, Kind::Clips, Answer::Given)).unwrap();
        keep(&mut database, &item(1, Medium::Clip, Purpose::Portfolio)).unwrap();
        if erase {
            database.change(|change| change.erase_child(CHILD)).unwrap();
            assert!(database.read().consents().unwrap().is_empty());
        } else {
            record(&mut database, &answer(2, Kind::Clips, Answer::Withdrawn)).unwrap();
        }
        assert!(database.read().items().unwrap().is_empty());
        database.verify().unwrap();
    }
}

#[test]
fn a_yes_that_now_ends_earlier_shortens_what_rests_on_it() {
    let mut database = with_a_child();
    record(&mut database, &answer(1, Kind::Clips, Answer::Given)).unwrap();
    keep(&mut database, &item(1, Medium::Clip, Purpose::Portfolio)).unwrap();
    let mut shorter = answer(2, Kind::Clips, Answer::Given);
    shorter.record.until = Some(Day(15));
    assert!(
        record(&mut database, &shorter).is_err(),
        "not while it is kept longer"
    );
    database
        .change(|c| c.shorten(CHILD, Kind::Clips, Day(15)))
        .unwrap();
    record(&mut database, &shorter).unwrap();
    let expiries = database.read().expiries().unwrap();
    assert_eq!(expiries, [(ItemId::from_kept(1), Day(15))]);
}

#[test]
fn an_answer_is_never_changed() {
    let mut database = with_a_child();
    record(&mut database, &answer(1, Kind::Seen, Answer::Withheld)).unwrap();
    let changed = database
        .connection
        .execute("UPDATE consent SET answer = 'given'", []);
    assert!(changed.is_err());
    let mut ends = answer(2, Kind::Seen, Answer::Withheld);
    ends.record.until = Some(Day(30));
    assert!(
        record(&mut database, &ends).is_err(),
        "a no has no last day"
    );
    assert_eq!(database.read().consents().unwrap().len(), 1);
}

#[test]
fn what_no_seal_vouches_for_has_a_sum() {
    let mut database = with_a_child();
    let veil = Veil {
        class: CLASS,
        group: 1,
        from: Some(Day(3)),
    };
    let done: Result<(), DatabaseError> = database.change(|change| {
        change.put_veils(&[veil])?;
        change.set("view_rule", "opt_in")
    });
    done.unwrap();
    assert_eq!(database.read().veils().unwrap(), [veil]);
    database
        .connection
        .execute("UPDATE veil SET from_day = NULL", [])
        .unwrap();
    assert!(database.read().veils().is_err());
    database
        .connection
        .execute("UPDATE setting SET value = 'opt_out'", [])
        .unwrap();
    assert!(database.read().setting("view_rule").is_err());
}

#[test]
fn a_changed_rule_and_a_newer_version_are_not_opened() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("vault.db");
    for (sql, newer) in [
        ("DROP TRIGGER item_has_a_basis", false),
        ("PRAGMA user_version = 99", true),
    ] {
        let _ = std::fs::remove_file(&path);
        let database = Database::open(&path).unwrap();
        database.connection.execute_batch(sql).unwrap();
        drop(database);
        match Database::open(&path).map(|_| ()) {
            Err(DatabaseError::Newer) => assert!(newer),
            Err(DatabaseError::Damaged(_)) => assert!(!newer),
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn only_the_program_reads_the_file() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let database = Database::open(&folder.path().join("vault.db")).unwrap();
    database.leave_no_trace().unwrap();
    for entry in std::fs::read_dir(folder.path()).unwrap() {
        let mode = entry.unwrap().metadata().unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
    }
}

#[test]
fn a_copy_has_the_same_rows() {
    let mut database = with_a_child();
    record(&mut database, &answer(1, Kind::Clips, Answer::Given)).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let mut on_disk = Database::open(&folder.path().join("vault.db")).unwrap();
    on_disk.become_copy_of(&database).unwrap();
    let copy = Database::from_image(&on_disk.image().unwrap()).unwrap();
    assert_eq!(
        copy.read().children().unwrap(),
        database.read().children().unwrap()
    );
    assert_eq!(
        copy.read().consents().unwrap(),
        database.read().consents().unwrap()
    );
    // The one on the disk is still journalled as it was.
    let mode: String = on_disk
        .connection
        .query_row("PRAGMA journal_mode", [], |row| row.get(0))
        .unwrap();
    assert_eq!(mode, "wal");
}
