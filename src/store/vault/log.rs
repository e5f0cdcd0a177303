//! What was done with what is kept, one line each: it only grows, and names
//! nobody.
//!
//! Not here: what is kept.

use afterturn_core::consent::Medium;
use afterturn_core::kernel::{Day, ItemId};
use rusqlite::{Row, params};

use super::{Change, DatabaseError, Rows, words};

/// What was done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Deed {
    /// It was kept.
    Kept,
    /// It was looked at.
    Shown,
    /// It was handed out for the family.
    Exported,
    /// Somebody deleted it, or a child that is in it.
    Deleted,
    /// A family said no.
    Withdrawn,
    /// It was out of time.
    Expired,
}

impl Deed {
    /// Every deed.
    pub const ALL: [Self; 6] = [
        Self::Kept,
        Self::Shown,
        Self::Exported,
        Self::Deleted,
        Self::Withdrawn,
        Self::Expired,
    ];

    /// Its word in the database.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Kept => "kept",
            Self::Shown => "shown",
            Self::Exported => "exported",
            Self::Deleted => "deleted",
            Self::Withdrawn => "withdrawn",
            Self::Expired => "expired",
        }
    }
}

/// One line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LogRow {
    /// Its own number: the same line in two copies has the same.
    pub id: i64,
    /// On which day.
    pub on: Day,
    /// What was done.
    pub what: Deed,
    /// With what kind of thing.
    pub medium: Medium,
    /// With which.
    pub item: ItemId,
}

impl Rows<'_> {
    /// Everything that was done, oldest first.
    pub fn log(&self) -> Result<Vec<LogRow>, DatabaseError> {
        let mut statement = self.0.prepare_cached("SELECT * FROM log ORDER BY ord")?;
        let rows = statement.query_map([], |row: &Row<'_>| {
            Ok(LogRow {
                id: row.get("id")?,
                on: Day(row.get("on_day")?),
                what: words::read(row, "what", &Deed::ALL, Deed::word)?,
                medium: words::read(row, "medium", &[Medium::Still, Medium::Clip], words::medium)?,
                item: ItemId::from_kept(row.get("item")?),
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Whether something was looked at on a day, as far as the log has it.
    pub fn was_shown(&self, item: ItemId, on: Day) -> Result<bool, DatabaseError> {
        let sql = "SELECT 1 FROM log WHERE item = ?1 AND on_day = ?2 AND what = 'shown'";
        let mut statement = self.0.prepare_cached(sql)?;
        Ok(statement.exists(params![item.get(), on.0])?)
    }
}

impl Change<'_> {
    /// Writes a line, unless it is there already.
    pub fn log_row(&self, row: &LogRow) -> Result<(), DatabaseError> {
        let sql = "INSERT OR IGNORE INTO log (id, on_day, what, medium, item)
            VALUES (?1, ?2, ?3, ?4, ?5)";
        let (what, medium) = (row.what.word(), words::medium(row.medium));
        self.run(sql, params![row.id, row.on.0, what, medium, row.item.get()])
    }
}
