//! Changes inside a transaction.

use std::ops::Deref;

use afterturn_core::consent::{Kind, Veil};
use afterturn_core::kernel::{ChildId, ClassId, Day, ItemId, RecordId};
use rusqlite::{Connection, Params, params};

use super::rows::{LAST_ORDER, child_sum, item_sum, record_sum, sum, veil_sum};
use super::{
    ChildRow, ClassRow, ConsentRow, DatabaseError, ItemRow, Rows, SlotKind, SlotRow, words,
};

/// A change that is being made; reads see it already.
pub struct Change<'c>(Rows<'c>);

impl<'c> Deref for Change<'c> {
    type Target = Rows<'c>;

    fn deref(&self) -> &Rows<'c> {
        &self.0
    }
}

impl<'c> Change<'c> {
    pub(super) const fn new(connection: &'c Connection) -> Self {
        Self(Rows(connection))
    }

    pub(super) fn run(&self, sql: &str, values: impl Params) -> Result<(), DatabaseError> {
        self.0.0.prepare_cached(sql)?.execute(values)?;
        Ok(())
    }

    /// Writes a setting.
    pub fn set(&self, name: &str, value: &str) -> Result<(), DatabaseError> {
        let sum = sum(&[name.as_bytes(), value.as_bytes()]);
        let sql = "INSERT OR REPLACE INTO setting (name, value, sum) VALUES (?1, ?2, ?3)";
        self.run(sql, params![name, value, sum])
    }

    /// Writes a wrapped key.
    pub fn put_slot(&self, slot: &SlotRow) -> Result<(), DatabaseError> {
        self.run(
            "INSERT OR REPLACE INTO key_slot (kind, memory_kib, passes, salt, sealed)
                VALUES (?1, ?2, ?3, ?4, ?5)",
            params![
                slot.kind.word(),
                slot.memory_kib,
                slot.passes,
                slot.salt,
                slot.sealed
            ],
        )
    }

    /// Removes one.
    pub fn remove_slot(&self, kind: SlotKind) -> Result<(), DatabaseError> {
        self.run("DELETE FROM key_slot WHERE kind = ?1", [kind.word()])
    }

    /// Writes a class.
    pub fn put_class(&self, class: &ClassRow) -> Result<(), DatabaseError> {
        self.run(
            "INSERT INTO class (id, sealed) VALUES (?1, ?2)
                ON CONFLICT (id) DO UPDATE SET sealed = excluded.sealed",
            params![class.id.get(), class.sealed],
        )
    }

    /// Removes a class, unless there are children in it.
    pub fn remove_class(&self, id: ClassId) -> Result<(), DatabaseError> {
        self.run(
            "DELETE FROM class WHERE id = ?1
                AND NOT EXISTS (SELECT 1 FROM child WHERE class = ?1)",
            [id.get()],
        )
    }

    /// Writes a child.
    pub fn put_child(&self, child: &ChildRow) -> Result<(), DatabaseError> {
        self.run(
            "INSERT INTO child (id, class, grp, listed_on, sum, sealed)
                VALUES (?1, ?2, ?3, ?4, ?5, ?6)
                ON CONFLICT (id) DO UPDATE SET class = excluded.class, grp = excluded.grp,
                    listed_on = excluded.listed_on, sum = excluded.sum,
                    sealed = excluded.sealed",
            params![
                child.id.get(),
                child.class.get(),
                child.group,
                child.listed_on.0,
                child_sum(child),
                child.sealed
            ],
        )
    }

    /// Erases a child, its answers, and what is kept of it.
    pub fn erase_child(&self, id: ChildId) -> Result<(), DatabaseError> {
        self.run("DELETE FROM child WHERE id = ?1", [id.get()])
    }

    /// Records an answer.
    pub fn add_consent(&self, row: &ConsentRow) -> Result<(), DatabaseError> {
        let record = &row.record;
        self.run(
            "INSERT INTO consent (id, ord, child, kind, answer, from_day, until_day, recorded_on,
                over, confirmed, sum, sealed)
                VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
            params![
                record.id.get(),
                record.order,
                record.child.get(),
                words::kind(record.kind),
                words::answer(record.answer),
                record.from.0,
                record.until.map(|day| day.0),
                row.recorded_on.0,
                record.over,
                record.confirmed,
                record_sum(record, row.recorded_on),
                row.sealed
            ],
        )
    }

    /// No answer gets a place up to this one any more.
    pub fn note_order(&self, order: i64) -> Result<(), DatabaseError> {
        let last = self.last_order()?.max(order);
        self.set(LAST_ORDER, &last.to_string())
    }

    /// An answer was followed by another.
    pub fn consent_is_over(&self, id: RecordId) -> Result<(), DatabaseError> {
        let Some(mut row) = self.consent(id)? else {
            return Ok(());
        };
        row.record.over = true;
        let sum = record_sum(&row.record, row.recorded_on);
        let sql = "UPDATE consent SET over = 1, sum = ?2 WHERE id = ?1";
        self.run(sql, params![id.get(), sum])
    }

    /// Whether somebody on this box stands for an answer, sealed anew.
    pub fn confirm(&self, row: &ConsentRow) -> Result<(), DatabaseError> {
        let sum = record_sum(&row.record, row.recorded_on);
        let sql = "UPDATE consent SET confirmed = ?2, sum = ?3, sealed = ?4 WHERE id = ?1";
        self.run(
            sql,
            params![row.record.id.get(), row.record.confirmed, sum, row.sealed],
        )
    }

    /// Keeps what rests on such an answer no longer than it holds.
    pub fn shorten(&self, child: ChildId, kind: Kind, until: Day) -> Result<(), DatabaseError> {
        for mut item in self.items()? {
            let rests = item.rests_on(kind) && item.children.contains(&child);
            if rests && item.expires_on > until {
                item.expires_on = until.max(item.taken_on);
                let sql = "UPDATE item SET expires_on = ?2, sum = ?3 WHERE id = ?1";
                let sum = item_sum(&item);
                self.run(sql, params![item.id.get(), item.expires_on.0, sum])?;
            }
        }
        Ok(())
    }

    /// Keeps something.
    pub fn add_item(&self, item: &ItemRow) -> Result<(), DatabaseError> {
        for child in &item.children {
            let sql = "INSERT INTO item_child (item, child) VALUES (?1, ?2)";
            self.run(sql, params![item.id.get(), child.get()])?;
        }
        self.run(
            "INSERT INTO item (id, medium, purpose, taken_on, expires_on, sum, sealed)
                VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
            params![
                item.id.get(),
                words::medium(item.medium),
                words::purpose(item.purpose),
                item.taken_on.0,
                item.expires_on.0,
                item_sum(item),
                item.sealed
            ],
        )
    }

    /// Keeps something if the rules allow it; says whether.
    pub fn add_item_if_it_may(&self, item: &ItemRow) -> Result<bool, DatabaseError> {
        self.run("SAVEPOINT item", [])?;
        let added = match self.add_item(item) {
            Ok(()) => Ok(true),
            Err(DatabaseError::Refused(_)) => {
                self.run("ROLLBACK TO item", [])?;
                Ok(false)
            }
            Err(other) => Err(other),
        };
        self.run("RELEASE item", [])?;
        added
    }

    /// Erases something kept.
    pub fn erase_item(&self, id: ItemId) -> Result<(), DatabaseError> {
        self.run("DELETE FROM item WHERE id = ?1", [id.get()])
    }

    /// Writes all veils anew.
    pub fn put_veils(&self, veils: &[Veil]) -> Result<(), DatabaseError> {
        self.run("DELETE FROM veil", [])?;
        let sql = "INSERT INTO veil (class, grp, from_day, sum) VALUES (?1, ?2, ?3, ?4)";
        for veil in veils {
            self.run(
                sql,
                params![
                    veil.class.get(),
                    veil.group,
                    veil.from.map(|day| day.0),
                    veil_sum(veil)
                ],
            )?;
        }
        Ok(())
    }
}
