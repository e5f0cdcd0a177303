//! Rows as they are read.

use afterturn_core::consent::{Answer, Kind, Medium, Purpose, Record, Veil};
use afterturn_core::kernel::{ChildId, ClassId, Day, ItemId, RecordId};
use rusqlite::{Connection, OptionalExtension as _, Row, params};
use sha2::{Digest as _, Sha256};

use super::{DatabaseError, words};

/// Reads of the database as it is now.
pub struct Rows<'c>(pub(super) &'c Connection);

/// Which secret opens a slot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SlotKind {
    /// The teacher's passphrase.
    Passphrase,
    /// The one that is about to follow it.
    Next,
    /// The code of the recovery sheet.
    Recovery,
}

impl SlotKind {
    /// Every kind.
    pub const ALL: [Self; 3] = [Self::Passphrase, Self::Next, Self::Recovery];

    /// Its word in the database.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Passphrase => "passphrase",
            Self::Next => "next",
            Self::Recovery => "recovery",
        }
    }
}

/// The master key, wrapped.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SlotRow {
    /// By which secret.
    pub kind: SlotKind,
    /// What deriving the wrapping key costs.
    pub memory_kib: u32,
    /// And how often it passes over that memory.
    pub passes: u32,
    /// Its salt.
    pub salt: Vec<u8>,
    /// The key in its wrapping.
    pub sealed: Vec<u8>,
}

/// A class.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClassRow {
    /// Its id.
    pub id: ClassId,
    /// Its title and the like.
    pub sealed: Vec<u8>,
}

/// A child.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChildRow {
    /// Its id.
    pub id: ChildId,
    /// Its class.
    pub class: ClassId,
    /// Its group, from 1.
    pub group: Option<u8>,
    /// The day a list last named it.
    pub listed_on: Day,
    /// Its name and the like.
    pub sealed: Vec<u8>,
}

/// An answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ConsentRow {
    /// All of it that tells nobody.
    pub record: Record,
    /// The day it was recorded.
    pub recorded_on: Day,
    /// Who recorded it.
    pub sealed: Vec<u8>,
}

/// Something kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ItemRow {
    /// Its id.
    pub id: ItemId,
    /// What it is.
    pub medium: Medium,
    /// What for.
    pub purpose: Purpose,
    /// When it was taken.
    pub taken_on: Day,
    /// The last day it may be kept.
    pub expires_on: Day,
    /// What is in it.
    pub sealed: Vec<u8>,
    /// Every child in it.
    pub children: Vec<ChildId>,
}

impl ItemRow {
    /// Whether it needs a yes of this kind.
    #[must_use]
    pub fn rests_on(&self, kind: Kind) -> bool {
        self.medium.kind() == kind || (kind == Kind::Shared && self.purpose == Purpose::Family)
    }
}

/// The setting with the place of the last answer.
pub(super) const LAST_ORDER: &str = "last_order";

/// A sum over what no seal vouches for. It finds accidents; whoever can write
/// the disk on purpose can write the sum too.
pub(super) fn sum(parts: &[&[u8]]) -> Vec<u8> {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update((part.len() as u64).to_be_bytes());
        hash.update(part);
    }
    hash.finalize()[..8].to_vec()
}

pub(super) fn veil_sum(veil: &Veil) -> Vec<u8> {
    let from = veil.from.map_or(i64::MAX, |day| i64::from(day.0));
    sum(&[
        &veil.class.get().to_be_bytes(),
        &[veil.group],
        &from.to_be_bytes(),
    ])
}

pub(super) fn child_sum(row: &ChildRow) -> Vec<u8> {
    sum(&[
        &row.id.get().to_be_bytes(),
        &row.class.get().to_be_bytes(),
        &[row.group.unwrap_or(0)],
        &row.listed_on.0.to_be_bytes(),
    ])
}

pub(super) fn record_sum(record: &Record, recorded_on: Day) -> Vec<u8> {
    sum(&[
        &record.id.get().to_be_bytes(),
        &record.order.to_be_bytes(),
        &record.child.get().to_be_bytes(),
        words::kind(record.kind).as_bytes(),
        words::answer(record.answer).as_bytes(),
        &record.from.0.to_be_bytes(),
        &record.until.map_or(i32::MAX, |day| day.0).to_be_bytes(),
        &recorded_on.0.to_be_bytes(),
        &[u8::from(record.over), u8::from(record.confirmed)],
    ])
}

pub(super) fn item_sum(row: &ItemRow) -> Vec<u8> {
    sum(&[
        &row.id.get().to_be_bytes(),
        words::medium(row.medium).as_bytes(),
        words::purpose(row.purpose).as_bytes(),
        &row.taken_on.0.to_be_bytes(),
        &row.expires_on.0.to_be_bytes(),
    ])
}

/// Lets a row pass that is as its sum says.
fn vouched<T>(row: &Row<'_>, value: T, sum: &[u8]) -> rusqlite::Result<T> {
    let kept: Vec<u8> = row.get("sum")?;
    if kept == sum {
        return Ok(value);
    }
    let why = Box::new(rusqlite::types::FromSqlError::InvalidType);
    let kind = rusqlite::types::Type::Blob;
    Err(rusqlite::Error::FromSqlConversionFailure(0, kind, why))
}

fn day(row: &Row<'_>, column: &str) -> rusqlite::Result<Day> {
    row.get(column).map(Day)
}

impl Rows<'_> {
    fn all<T>(
        &self,
        sql: &str,
        read: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
    ) -> Result<Vec<T>, DatabaseError> {
        let mut statement = self.0.prepare_cached(sql)?;
        let rows = statement.query_map([], read)?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// A setting.
    pub fn setting(&self, name: &str) -> Result<Option<String>, DatabaseError> {
        let sql = "SELECT value, sum FROM setting WHERE name = ?1";
        let read = |row: &Row<'_>| Ok((row.get(0)?, row.get(1)?));
        let found: Option<(String, Vec<u8>)> = self.0.query_row(sql, [name], read).optional()?;
        match found {
            Some((value, kept)) if sum(&[name.as_bytes(), value.as_bytes()]) == kept => {
                Ok(Some(value))
            }
            Some(_) => Err(DatabaseError::Damaged("a setting is not as it was written")),
            None => Ok(None),
        }
    }

    /// Whether every setting is as it was written, its name too.
    pub fn check_settings(&self) -> Result<(), DatabaseError> {
        for name in self.all("SELECT name FROM setting", |row| row.get::<_, String>(0))? {
            self.setting(&name)?;
        }
        Ok(())
    }

    /// The wrapped keys.
    pub fn slots(&self) -> Result<Vec<SlotRow>, DatabaseError> {
        self.all("SELECT * FROM key_slot ORDER BY kind", |row| {
            Ok(SlotRow {
                kind: words::read(row, "kind", &SlotKind::ALL, SlotKind::word)?,
                memory_kib: row.get("memory_kib")?,
                passes: row.get("passes")?,
                salt: row.get("salt")?,
                sealed: row.get("sealed")?,
            })
        })
    }

    /// Every class.
    pub fn classes(&self) -> Result<Vec<ClassRow>, DatabaseError> {
        self.all("SELECT id, sealed FROM class ORDER BY id", |row| {
            Ok(ClassRow {
                id: ClassId::from_kept(row.get("id")?),
                sealed: row.get("sealed")?,
            })
        })
    }

    /// Every child.
    pub fn children(&self) -> Result<Vec<ChildRow>, DatabaseError> {
        self.all("SELECT * FROM child ORDER BY id", child)
    }

    /// One child.
    pub fn child(&self, id: ChildId) -> Result<Option<ChildRow>, DatabaseError> {
        let sql = "SELECT * FROM child WHERE id = ?1";
        Ok(self.0.query_row(sql, [id.get()], child).optional()?)
    }

    /// Every answer, in the order of recording.
    pub fn consents(&self) -> Result<Vec<ConsentRow>, DatabaseError> {
        self.all("SELECT * FROM consent ORDER BY ord", consent)
    }

    /// The answers of one child.
    pub fn consents_of(&self, child: ChildId) -> Result<Vec<ConsentRow>, DatabaseError> {
        let sql = "SELECT * FROM consent WHERE child = ?1 ORDER BY ord";
        let mut statement = self.0.prepare_cached(sql)?;
        let rows = statement.query_map([child.get()], consent)?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// One answer.
    pub fn consent(&self, id: RecordId) -> Result<Option<ConsentRow>, DatabaseError> {
        let sql = "SELECT * FROM consent WHERE id = ?1";
        Ok(self.0.query_row(sql, [id.get()], consent).optional()?)
    }

    /// The place of the last answer there ever was on this box, in the vault or
    /// in one that a backup replaced: places are never used twice.
    pub fn last_order(&self) -> Result<i64, DatabaseError> {
        let sql = "SELECT COALESCE(MAX(ord), 0) FROM consent";
        let here: i64 = self.0.query_row(sql, [], |row| row.get(0))?;
        let noted = self.setting(LAST_ORDER)?.and_then(|text| text.parse().ok());
        Ok(noted.unwrap_or(0).max(here))
    }

    /// Every veil; an error if one is not as it was written.
    pub fn veils(&self) -> Result<Vec<Veil>, DatabaseError> {
        let rows = self.all("SELECT * FROM veil ORDER BY class, grp", |row| {
            let veil = Veil {
                class: ClassId::from_kept(row.get("class")?),
                group: row.get("grp")?,
                from: row.get::<_, Option<i32>>("from_day")?.map(Day),
            };
            Ok((veil, row.get::<_, Vec<u8>>("sum")?))
        })?;
        if rows.iter().any(|(veil, kept)| veil_sum(veil) != *kept) {
            return Err(DatabaseError::Damaged("a veil is not as it was written"));
        }
        Ok(rows.into_iter().map(|(veil, _)| veil).collect())
    }

    /// Everything kept.
    pub fn items(&self) -> Result<Vec<ItemRow>, DatabaseError> {
        let mut items = self.all("SELECT * FROM item ORDER BY id", |row| {
            let item = ItemRow {
                id: ItemId::from_kept(row.get("id")?),
                medium: words::read(row, "medium", &[Medium::Still, Medium::Clip], words::medium)?,
                purpose: words::read(
                    row,
                    "purpose",
                    &[Purpose::Portfolio, Purpose::Family],
                    words::purpose,
                )?,
                taken_on: day(row, "taken_on")?,
                expires_on: day(row, "expires_on")?,
                sealed: row.get("sealed")?,
                children: Vec::new(),
            };
            let sum = item_sum(&item);
            vouched(row, item, &sum)
        })?;
        let sql = "SELECT item, child FROM item_child ORDER BY item, child";
        for (item, child) in self.all(sql, |row| Ok((row.get(0)?, row.get(1)?)))? {
            let item = items.binary_search_by_key(&item, |row| row.id.get());
            let item = item.map_err(|_| DatabaseError::Damaged("an item is missing"))?;
            items[item].children.push(ChildId::from_kept(child));
        }
        Ok(items)
    }

    /// Ids and last days of what is kept: all that purging needs.
    pub fn expiries(&self) -> Result<Vec<(ItemId, Day)>, DatabaseError> {
        let items = self.items()?;
        Ok(items
            .iter()
            .map(|item| (item.id, item.expires_on))
            .collect())
    }

    /// The items a child is in.
    pub fn items_of(&self, child: ChildId) -> Result<Vec<ItemId>, DatabaseError> {
        let sql = "SELECT item FROM item_child WHERE child = ?1 ORDER BY item";
        let mut statement = self.0.prepare_cached(sql)?;
        let rows = statement.query_map(params![child.get()], |row| row.get(0))?;
        Ok(rows
            .map(|id| id.map(ItemId::from_kept))
            .collect::<Result<_, _>>()?)
    }
}

fn child(row: &Row<'_>) -> rusqlite::Result<ChildRow> {
    let child = ChildRow {
        id: ChildId::from_kept(row.get("id")?),
        class: ClassId::from_kept(row.get("class")?),
        group: row.get("grp")?,
        listed_on: day(row, "listed_on")?,
        sealed: row.get("sealed")?,
    };
    let sum = child_sum(&child);
    vouched(row, child, &sum)
}

fn consent(row: &Row<'_>) -> rusqlite::Result<ConsentRow> {
    let answers = [Answer::Given, Answer::Withheld, Answer::Withdrawn];
    let consent = ConsentRow {
        record: Record {
            id: RecordId::from_kept(row.get("id")?),
            order: row.get("ord")?,
            child: ChildId::from_kept(row.get("child")?),
            kind: words::read(row, "kind", &Kind::ALL, words::kind)?,
            answer: words::read(row, "answer", &answers, words::answer)?,
            from: day(row, "from_day")?,
            until: row.get::<_, Option<i32>>("until_day")?.map(Day),
            over: row.get("over")?,
            confirmed: row.get("confirmed")?,
        },
        recorded_on: day(row, "recorded_on")?,
        sealed: row.get("sealed")?,
    };
    let sum = record_sum(&consent.record, consent.recorded_on);
    vouched(row, consent, &sum)
}
