//! How much of a list is read: more than any school's has, and so little that
//! reading it takes some tens of megabytes. The rows of a district's enrollments
//! are what is largest; how many a district has is from memory.
//!
//! Not here: what is said where something is more ([`super::What`]).

/// All tables of an import together, unpacked.
pub(super) const MOST_BYTES: usize = MOST_MIB * 1024 * 1024;
pub(super) const MOST_MIB: usize = 32;

/// The files of a ZIP file, whatever they are.
pub(super) const MOST_FILES: usize = 200;

/// The rows of one table: a district's enrollments.
pub(super) const MOST_ROWS: usize = 200_000;

/// The columns of a table; those of an exchange have some twenty, and a district
/// adds its own.
pub(super) const MOST_COLUMNS: usize = 200;

/// The signs of one field, read or not: a row is held as a whole.
pub(super) const MOST_FIELD_SIGNS: usize = 2000;

/// Who is taken at once; the largest schools have fewer (from memory).
pub(super) const MOST_CHILDREN: usize = 10_000;
pub(super) const MOST_CLASSES: usize = 1000;
