//! The vault's database: opened, brought up to date, read and changed as rows.
//!
//! One connection, one change at a time, each a transaction of its own. What
//! tells a child comes in sealed and goes out sealed; the rest is numbers, and
//! can be read before anybody has signed in.
//!
//! Not here: keys, names, and the rules (`core/consent` and `portfolio`; the
//! schema repeats them, so that a slip there keeps nothing).

mod change;
mod image;
mod log;
mod rows;
mod schema;
pub(super) mod words;

use std::fs::OpenOptions;
use std::os::unix::fs::OpenOptionsExt as _;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, TransactionBehavior};

pub use change::Change;
pub use image::Image;
pub use log::{Deed, LogRow};
pub use rows::{ChildRow, ClassRow, ConsentRow, ItemRow, Rows, SlotKind, SlotRow};

/// What went wrong with the database. Its words hold no value of a row.
#[derive(Debug, thiserror::Error)]
pub enum DatabaseError {
    /// A newer program has been here.
    #[error("the vault was written by a newer version of this program")]
    Newer,
    /// It is not as it was written.
    #[error("the vault is damaged: {0}")]
    Damaged(&'static str),
    /// One of the schema's rules was broken: a slip of ours.
    #[error("the vault refused a change: {0}")]
    Refused(String),
    /// The disk, or the database itself.
    #[error("the vault cannot be read or written: {0}")]
    Disk(String),
}

impl From<rusqlite::Error> for DatabaseError {
    fn from(error: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode;
        match &error {
            rusqlite::Error::SqliteFailure(failure, said) => match failure.code {
                ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase => {
                    Self::Damaged("its pages do not fit together")
                }
                ErrorCode::ConstraintViolation => {
                    Self::Refused(said.clone().unwrap_or_else(|| failure.to_string()))
                }
                // The message names tables and files, never values.
                _ => Self::Disk(failure.to_string()),
            },
            // Another type than was written: a flipped byte.
            rusqlite::Error::FromSqlConversionFailure(..)
            | rusqlite::Error::IntegralValueOutOfRange(..)
            | rusqlite::Error::InvalidColumnType(..)
            | rusqlite::Error::Utf8Error(..) => Self::Damaged("a row is not as it was written"),
            _ => Self::Disk("the database does not answer as it should".to_owned()),
        }
    }
}

/// See the module.
pub struct Database {
    connection: Connection,
}

/// Only the program itself reads what it keeps.
const OWNER_ONLY: u32 = 0o600;

impl Database {
    /// Opens the file, making it if need be, and brings it up to date.
    pub fn open(path: &Path) -> Result<Self, DatabaseError> {
        // Made by us first, for its mode; the files beside it follow it.
        OpenOptions::new()
            .write(true)
            .create(true)
            .truncate(false)
            .mode(OWNER_ONLY)
            .open(path)
            .map_err(|error| DatabaseError::Disk(error.to_string()))?;
        Self::set_up(Connection::open(path)?)
    }

    /// One that is gone with the program.
    pub fn in_memory() -> Result<Self, DatabaseError> {
        Self::set_up(Connection::open_in_memory()?)
    }

    fn set_up(mut connection: Connection) -> Result<Self, DatabaseError> {
        connection.busy_timeout(Duration::from_secs(5))?;
        // What is deleted is overwritten; nothing spills into temporary files;
        // a commit is on the disk when it returns.
        for (name, value) in [
            ("secure_delete", "ON"),
            ("temp_store", "MEMORY"),
            ("foreign_keys", "ON"),
            ("trusted_schema", "OFF"),
            ("cell_size_check", "ON"),
            ("journal_mode", "WAL"),
            ("synchronous", "FULL"),
        ] {
            connection.pragma_update(None, name, value)?;
        }
        schema::bring_up_to_date(&mut connection)?;
        schema::check(&connection)?;
        Ok(Self { connection })
    }

    /// Reads.
    pub fn read(&self) -> Rows<'_> {
        Rows(&self.connection)
    }

    /// Changes, all of it or nothing.
    pub fn change<T, E: From<DatabaseError>>(
        &mut self,
        work: impl FnOnce(&Change<'_>) -> Result<T, E>,
    ) -> Result<T, E> {
        let begun = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate);
        let transaction = begun.map_err(DatabaseError::from)?;
        let done = work(&Change::new(&transaction))?;
        transaction.commit().map_err(DatabaseError::from)?;
        Ok(done)
    }

    /// Empties the journal, so that nothing erased is left in it.
    pub fn leave_no_trace(&self) -> Result<(), DatabaseError> {
        let sql = "PRAGMA wal_checkpoint(TRUNCATE)";
        let busy: i64 = self.connection.query_row(sql, [], |row| row.get(0))?;
        if busy == 0 {
            Ok(())
        } else {
            Err(DatabaseError::Disk("its journal is in use".to_owned()))
        }
    }

    /// Goes through every page and every index.
    pub fn verify(&self) -> Result<(), DatabaseError> {
        schema::verify(&self.connection)
    }
}

/// What `SQLite` keeps beside a database, and the database.
const ENDS: [&str; 3] = ["-wal", "-shm", ""];

fn beside(path: &Path, end: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(end);
    name.into()
}

fn unless_not_there(done: std::io::Result<()>) -> std::io::Result<()> {
    done.or_else(|error| match error.kind() {
        std::io::ErrorKind::NotFound => Ok(()),
        _ => Err(error),
    })
}

/// Puts a file aside that cannot be read, with what belongs to it.
pub fn put_aside(path: &Path) -> std::io::Result<()> {
    for end in ENDS {
        let to = beside(path, &format!(".damaged{end}"));
        unless_not_there(std::fs::rename(beside(path, end), to))?;
    }
    Ok(())
}

/// Erases what was put aside, with what belongs to it.
pub fn erase_put_aside(path: &Path) -> std::io::Result<()> {
    for end in ENDS {
        unless_not_there(std::fs::remove_file(beside(
            path,
            &format!(".damaged{end}"),
        )))?;
    }
    match path.parent() {
        Some(folder) => std::fs::File::open(folder)?.sync_all(),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests;
