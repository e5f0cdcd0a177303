//! The versions of the schema, and the checks that a file still has ours.

use std::sync::LazyLock;

use rusqlite::{Connection, TransactionBehavior};

use super::DatabaseError;

/// What leads from each version to the next. A version that was released is
/// never edited; `tests/fixtures/vault-N.sql` holds a file of each.
pub(super) const STEPS: [&str; 3] = [
    include_str!("schema-1.sql"),
    include_str!("schema-2.sql"),
    include_str!("schema-3.sql"),
];

/// The version of a file of today.
pub(super) const VERSION: usize = STEPS.len();

pub(super) fn bring_up_to_date(connection: &mut Connection) -> Result<(), DatabaseError> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let version: i64 = transaction.pragma_query_value(None, "user_version", |row| row.get(0))?;
    let version =
        usize::try_from(version).map_err(|_| DatabaseError::Damaged("it has no version"))?;
    if version > VERSION {
        return Err(DatabaseError::Newer);
    }
    for step in &STEPS[version..] {
        transaction.execute_batch(step)?;
    }
    transaction.pragma_update(None, "user_version", VERSION as i64)?;
    // The version and what it stands for, together or not at all.
    Ok(transaction.commit()?)
}

/// Every table, index and trigger, as they are written down.
pub(super) fn written(connection: &Connection) -> Result<Vec<String>, DatabaseError> {
    let sql = "SELECT type || name || tbl_name || COALESCE(sql, '') FROM sqlite_schema
        WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\' ORDER BY 1";
    let mut statement = connection.prepare(sql)?;
    let rows = statement.query_map([], |row| row.get(0))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

static OURS: LazyLock<Vec<String>> = LazyLock::new(|| {
    let mut fresh = Connection::open_in_memory().expect("a database in memory");
    bring_up_to_date(&mut fresh).expect("the schema is well formed");
    written(&fresh).expect("the schema can be read")
});

/// Whether the rules in the file are the ones we wrote.
pub(super) fn check(connection: &Connection) -> Result<(), DatabaseError> {
    if written(connection)? == *OURS {
        Ok(())
    } else {
        Err(DatabaseError::Damaged("its rules are not ours"))
    }
}

pub(super) fn verify(connection: &Connection) -> Result<(), DatabaseError> {
    let sql = "PRAGMA integrity_check(1)";
    let said: String = connection.query_row(sql, [], |row| row.get(0))?;
    let broken = connection.prepare("PRAGMA foreign_key_check")?.exists([])?;
    if said == "ok" && !broken {
        check(connection)
    } else {
        Err(DatabaseError::Damaged("its pages do not fit together"))
    }
}
