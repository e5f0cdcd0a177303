//! The one place that remembers: classes, children, what their families agreed
//! to, and the stills and clips that are kept of them.
//!
//! - [`Portfolio`]: the vault, locked until the teacher's passphrase opens it,
//!   and what can be done with it open.
//! - [`Class`], [`Child`], [`Roster`]: who is in it. [`Item`]: what is kept of
//!   them, each in a file of its own, sealed with a key of its own.
//! - [`LogRow`]: what was done with it.
//! - [`import`], [`groups`]: lists from files; groups as large as each other.
//! - [`Cost`], [`Key`]: how it is sealed.
//!
//! Which groups are covered is known without opening it, and asking never
//! waits for it ([`Portfolio::covered`]); [`Listed`]: which class that is.
//!
//! Not here: the rules of consent (`core/consent`), the disk (`store`), pages.

mod answers;
mod archive;
mod backup;
mod covers;
mod fields;
pub mod groups;
pub mod import;
mod items;
mod keeping;
mod listed;
mod locks;
mod roster;
mod seal;
mod sealed;
mod secrets;

use afterturn_core::{
    consent::Refusal,
    kernel::{CaptureUs, Day},
};

pub use answers::{Recorded, Said};
pub use archive::{Archive, LEAST_PASSPHRASE};
pub use items::{About, Item};
pub use keeping::Purged;
pub use listed::Listed;
pub use locks::{Portfolio, State};
pub use roster::{Child, Class, NewChild, Roster};
pub use seal::{Cost, DoesNotOpen, Key, random_number};
pub use sealed::Content;

use crate::store::vault::DatabaseError;
pub use crate::store::vault::{Deed, LogRow};

/// When something is done: the day by the wall, and the moment by which it is
/// reckoned how long nobody has been here.
#[derive(Clone, Copy, Debug)]
pub struct Moment {
    /// The day at the school.
    pub today: Day,
    /// The moment.
    pub now: CaptureUs,
}

/// Why something cannot be done with the vault. Holds no name.
#[derive(Debug, thiserror::Error)]
pub enum VaultError {
    /// Nobody has opened it, or not for a while.
    #[error("the vault is locked")]
    Locked,
    /// Not the secret that opens it.
    #[error("this does not open the vault")]
    Wrong,
    /// Something in it is not as it was written.
    #[error("the vault is damaged: {0}")]
    Damaged(&'static str),
    /// The file of one thing kept is not as it was written; the others are.
    #[error("this one is damaged and cannot be shown")]
    Spoilt,
    /// There is no such class, child or list.
    #[error("this is not in the vault, or not any more")]
    NotFound,
    /// The list was read before something else changed.
    #[error("the roster has changed since this list was read")]
    Stale,
    /// The rules of consent say no.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// An answer's days do not fit together.
    #[error("the last day lies before the first")]
    Days,
    /// What was handed in is no backup of ours, or damaged.
    #[error("this is no whole backup of a vault")]
    NoBackup,
    /// The list of what was erased is damaged: a backup could bring it back.
    #[error("the list of what was erased is damaged, so nothing can be restored here")]
    Ledger,
    /// A file that is handed out was to be locked by next to nothing.
    #[error(
        "the passphrase of a file has at least {LEAST_PASSPHRASE} letters; leave it empty for a file that anybody can open"
    )]
    ShortPassphrase,
    /// A file to hand out could not be written.
    #[error("a ZIP file could not be written: {0}")]
    Archive(#[from] zip::result::ZipError),
    /// A damaged file that was put aside is still there, after a backup.
    #[error(
        "the backup is here, but the damaged vault that was put aside could not be erased: {0}; delete vault.db.damaged from the state directory"
    )]
    Leftover(std::io::Error),
    /// The database.
    #[error(transparent)]
    Database(DatabaseError),
    /// The disk.
    #[error("the disk cannot be read or written: {0}")]
    Disk(#[from] std::io::Error),
}

impl From<DoesNotOpen> for VaultError {
    fn from(_: DoesNotOpen) -> Self {
        Self::Damaged("something sealed does not open")
    }
}

impl From<DatabaseError> for VaultError {
    fn from(error: DatabaseError) -> Self {
        match error {
            DatabaseError::Damaged(what) => Self::Damaged(what),
            other => Self::Database(other),
        }
    }
}

#[cfg(test)]
mod tests;
