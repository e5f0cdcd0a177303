//! A vault's file as text, and back.

use std::{fmt::Write as _, path::Path};

use afterturn::store::ledger::Ledger;
use rusqlite::Connection;

/// The version of today.
#[allow(dead_code)]
pub(crate) const NEWEST: usize = 3;

/// The box the fixtures are of.
const OF_BOX: &str = "-- box ";

fn fixture(version: usize) -> std::path::PathBuf {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/fixtures");
    Path::new(folder).join(format!("vault-{version}.sql"))
}

/// Makes the file of a version, and the list of erased things beside it.
pub(crate) fn load(version: usize, folder: &Path) {
    let text = std::fs::read_to_string(fixture(version)).expect("the fixture");
    let of_box = text.lines().find_map(|line| line.strip_prefix(OF_BOX));
    Ledger::open(folder, of_box.expect("its box")).expect("a ledger");
    let connection = Connection::open(folder.join("vault.db")).expect("a file");
    // As one: who is in something kept is written before it.
    let whole = format!("BEGIN;\n{text}\nCOMMIT;");
    connection
        .execute_batch(&whole)
        .expect("the fixture's rows");
}

/// The schema, as it is written down in a file.
#[allow(dead_code)]
pub(crate) fn schema(folder: &Path) -> Vec<String> {
    let connection = Connection::open(folder.join("vault.db")).expect("a file");
    schema_of(&connection)
}

fn schema_of(connection: &Connection) -> Vec<String> {
    let sql = "SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY rowid";
    let mut statement = connection.prepare(sql).expect("a schema");
    let rows = statement.query_map([], |row| row.get(0)).expect("rows");
    rows.collect::<Result<_, _>>().expect("text")
}

/// Every row of every table, as statements.
fn rows(connection: &Connection) -> Vec<String> {
    let sql = "SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY rowid";
    let mut statement = connection.prepare(sql).expect("tables");
    let tables = statement.query_map([], |row| row.get(0)).expect("tables");
    let tables: Vec<String> = tables.collect::<Result<_, _>>().expect("names");
    let mut out = Vec::new();
    for table in tables {
        let all = format!("SELECT * FROM {table}");
        let columns: Vec<String> = {
            let statement = connection.prepare(&all).expect("a table");
            statement.column_names().map(ToOwned::to_owned).collect()
        };
        let quoted: Vec<String> = columns.iter().map(|c| format!("quote({c})")).collect();
        let sql = format!(
            "SELECT {} FROM {table} ORDER BY 1",
            quoted.join(" || ', ' || ")
        );
        let mut statement = connection.prepare(&sql).expect("its rows");
        let values = statement.query_map([], |row| row.get::<_, String>(0));
        for values in values.expect("its rows") {
            let (columns, values) = (columns.join(", "), values.expect("a row"));
            out.push(format!(
                "INSERT INTO {table} ({columns}) VALUES ({values});"
            ));
        }
    }
    out
}

/// Whether a file that came from the fixture of a version still has its rows.
pub(crate) fn check_rows(folder: &Path, version: usize) {
    let fixture = tempfile::tempdir().expect("a folder");
    load(version, fixture.path());
    let [here, expected] = [folder, fixture.path()].map(|folder| {
        let connection = Connection::open(folder.join("vault.db")).expect("a file");
        let mut rows = rows(&connection);
        // What a killed process went on to do after the upgrade is not its matter.
        rows.retain(|row| !row.starts_with("INSERT INTO setting") && !row.contains("veil"));
        rows
    });
    for row in expected {
        assert!(here.contains(&row), "a row is missing or changed");
    }
}

/// Writes the fixture of a file.
#[allow(dead_code)]
pub(crate) fn write(folder: &Path) {
    let ledger = Ledger::open(folder, "none").expect("a ledger");
    let connection = Connection::open(folder.join("vault.db")).expect("a file");
    let mut text = String::from(
        "-- A vault of this version, with invented children. Its passphrase stands in\n\
         -- tests/vault_versions.rs.\n",
    );
    writeln!(text, "{OF_BOX}{}", ledger.box_id()).expect("memory");
    for sql in schema_of(&connection) {
        writeln!(text, "{sql};").expect("memory");
    }
    let mut rows = rows(&connection);
    // Whose it is stands before it: the rules are in force while it is read back.
    rows.sort_by_key(|row| row.starts_with("INSERT INTO item ("));
    for row in rows {
        writeln!(text, "{row}").expect("memory");
    }
    writeln!(text, "PRAGMA user_version = {NEWEST};").expect("memory");
    std::fs::write(fixture(NEWEST), text).expect("written");
}
