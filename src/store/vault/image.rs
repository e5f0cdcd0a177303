//! The whole database as bytes, for a backup, and back.

use std::time::Duration;

use rusqlite::{Connection, MAIN_DB, backup::Backup};
use zeroize::Zeroizing;

use super::{Database, DatabaseError};

/// A database as one run of bytes.
pub struct Image(pub Zeroizing<Vec<u8>>);

/// Where the header says how it is journalled: 1 is the classic way, 2 a
/// journal beside it, which bytes in memory cannot have (file format, §1.3.3).
const FORMAT_BYTES: std::ops::Range<usize> = 18..20;

impl Database {
    /// A copy as it is now; changes wait for a moment, readers do not.
    pub fn image(&self) -> Result<Image, DatabaseError> {
        let mut copy = Connection::open_in_memory()?;
        copy_all(&self.connection, &mut copy)?;
        let bytes = copy.serialize(MAIN_DB)?;
        let mut bytes = Zeroizing::new(bytes.to_vec());
        if let Some(format) = bytes.get_mut(FORMAT_BYTES) {
            format.fill(1);
        }
        Ok(Image(bytes))
    }

    /// Opens a copy in memory and brings it up to date.
    pub fn from_image(image: &Image) -> Result<Self, DatabaseError> {
        let mut connection = Connection::open_in_memory()?;
        connection.deserialize_read_exact(MAIN_DB, &image.0[..], image.0.len(), false)?;
        let database = Self::set_up(connection)?;
        database.verify()?;
        Ok(database)
    }

    /// Puts another's rows in the place of these, all of them or none.
    pub fn become_copy_of(&mut self, other: &Self) -> Result<(), DatabaseError> {
        copy_all(&other.connection, &mut self.connection)?;
        self.leave_no_trace()
    }
}

fn copy_all(from: &Connection, to: &mut Connection) -> Result<(), DatabaseError> {
    let backup = Backup::new(from, to)?;
    // Every page in one step is one transaction.
    Ok(backup.run_to_completion(i32::MAX, Duration::ZERO, None)?)
}
