//! What families said, recorded and read.

use std::collections::BTreeMap;

use afterturn_core::{
    consent::{Answer, Kind, Record, Standing, ViewRule},
    kernel::{ChildId, Day, Name, RecordId},
};

use super::{
    DoesNotOpen, Key, Moment, Portfolio, VaultError, fields, items,
    locks::{Edit, rule},
    random_number,
    seal::place,
};
use crate::store::{
    ledger::Entry,
    vault::{ConsentRow, Deed},
};

/// The setting with the school's choice.
pub(super) const RULE: &str = "view_rule";

/// What a family said, as somebody writes it down.
pub struct Said {
    /// To what.
    pub kind: Kind,
    /// Yes, or no.
    pub yes: bool,
    /// From which day on.
    pub from: Day,
    /// Until which day; for a yes.
    pub until: Option<Day>,
    /// Who writes it down.
    pub recorder: Name,
}

/// An answer as it was recorded.
pub struct Recorded {
    /// The answer.
    pub record: Record,
    /// The day it was recorded.
    pub on: Day,
    /// By whom.
    pub recorder: Name,
}

/// Where an answer's recorder is sealed: everything in the row that is not.
fn place_of(record: &Record, on: Day) -> Vec<u8> {
    let until = record.until.map_or(i32::MAX, |day| day.0);
    place(
        "consent",
        &[
            &record.id.get().to_be_bytes(),
            &record.order.to_be_bytes(),
            &record.child.get().to_be_bytes(),
            &[
                record.kind as u8,
                record.answer as u8,
                u8::from(record.confirmed),
            ],
            &record.from.0.to_be_bytes(),
            &until.to_be_bytes(),
            &on.0.to_be_bytes(),
        ],
    )
}

impl Recorded {
    pub(super) fn open(row: &ConsentRow, key: &Key) -> Result<Self, VaultError> {
        let plain = key.open(&place_of(&row.record, row.recorded_on), &row.sealed)?;
        let [recorder] = fields::read(&plain)?;
        Ok(Self {
            record: row.record,
            on: row.recorded_on,
            recorder: recorder.ok_or(DoesNotOpen)?,
        })
    }

    fn seal(&self, key: &Key) -> ConsentRow {
        let plain = fields::write(&[Some(&self.recorder)]);
        ConsentRow {
            record: self.record,
            recorded_on: self.on,
            sealed: key.seal(&place_of(&self.record, self.on), &plain),
        }
    }
}

impl Portfolio {
    /// What the school chose for families that have not answered; readable
    /// while the vault is locked.
    pub fn rule(&self) -> Result<Option<ViewRule>, VaultError> {
        let inner = self.lock_inner();
        let database = inner.database.as_ref();
        let unreadable = VaultError::Damaged("its file cannot be read");
        rule(&database.ok_or(unreadable)?.read())
    }

    /// The school chooses.
    pub fn choose_rule(&self, rule: ViewRule, moment: Moment) -> Result<(), VaultError> {
        let word = match rule {
            ViewRule::OptIn => "opt_in",
            ViewRule::OptOut => "opt_out",
        };
        self.edit(moment, |edit| Ok(edit.change.set(RULE, word)?))
    }

    /// Everything a child's family said, in the order of recording.
    pub fn answers_of(&self, child: ChildId, moment: Moment) -> Result<Vec<Recorded>, VaultError> {
        self.read(moment, |open| {
            let rows = open.rows.consents_of(child)?;
            rows.iter()
                .map(|row| Recorded::open(row, open.key))
                .collect()
        })
    }

    /// Records what the families of some children said; how much went with it
    /// that was kept.
    pub fn record(
        &self,
        children: &[ChildId],
        said: &Said,
        moment: Moment,
    ) -> Result<usize, VaultError> {
        let until = said.until.filter(|_| said.yes);
        if until.is_some_and(|until| until < said.from) {
            return Err(VaultError::Days);
        }
        self.edit(moment, |edit| {
            for &child in children {
                edit.change.child(child)?.ok_or(VaultError::NotFound)?;
                edit.record(child, said, until, moment.today)?;
            }
            let erased = edit.erased.borrow();
            let items = erased.iter().filter(|e| matches!(e, Entry::Item(_)));
            Ok(items.count())
        })
    }

    /// Somebody here stands for the answers of a child that came from another
    /// box.
    pub fn confirm(&self, child: ChildId, moment: Moment) -> Result<(), VaultError> {
        self.edit(moment, |edit| {
            for row in edit.change.consents_of(child)? {
                if !row.record.confirmed {
                    edit.set_confirmed(&row, true)?;
                }
            }
            Ok(())
        })
    }
}

impl Edit<'_> {
    pub(super) fn record(
        &self,
        child: ChildId,
        said: &Said,
        until: Option<Day>,
        today: Day,
    ) -> Result<(), VaultError> {
        if said.kind == Kind::Seen {
            let entry = if said.yes { Entry::Seen } else { Entry::Unseen };
            self.erased.borrow_mut().push(entry(child));
        }
        let rows = self.change.consents_of(child)?;
        let mut known = rows.iter().filter(|row| row.record.kind == said.kind);
        let latest = known.next_back();
        // A yes that is followed by anything must not come back with a backup.
        if let Some(latest) = latest
            && latest.record.answer == Answer::Given
        {
            let id = latest.record.id;
            self.change.consent_is_over(id)?;
            self.erased.borrow_mut().push(Entry::Over(id));
        }
        let was_yes = latest.is_some_and(|row| {
            matches!(
                row.record.standing(today),
                Standing::Given { .. } | Standing::NotYet { .. } | Standing::ToConfirm
            )
        });
        let answer = match (said.yes, was_yes) {
            (true, _) => Answer::Given,
            (false, true) => Answer::Withdrawn,
            (false, false) => Answer::Withheld,
        };
        let recorded = Recorded {
            record: Record {
                id: RecordId::from_random(random_number()),
                order: self.change.last_order()? + 1,
                child,
                kind: said.kind,
                answer,
                from: said.from,
                until,
                over: false,
                confirmed: true,
            },
            on: today,
            recorder: said.recorder.clone(),
        };
        self.change.note_order(recorded.record.order)?;
        if answer != Answer::Given {
            self.erased.borrow_mut().push(Entry::No {
                child,
                kind: said.kind,
                order: recorded.record.order,
            });
            self.let_go_of(child, said.kind, today)?;
        } else if let Some(until) = until {
            self.change.shorten(child, said.kind, until)?;
        }
        Ok(self.change.add_consent(&recorded.seal(self.key))?)
    }

    /// Who was not to be seen, as this box knows, is not in a copy either.
    pub(super) fn keep_unseen(&self, known: &[Entry], today: Day) -> Result<(), VaultError> {
        let mut unseen: BTreeMap<ChildId, bool> = BTreeMap::new();
        for entry in known {
            match entry {
                Entry::Unseen(child) => _ = unseen.insert(*child, true),
                Entry::Seen(child) => _ = unseen.insert(*child, false),
                _ => {}
            }
        }
        for (child, _) in unseen.into_iter().filter(|(_, unseen)| *unseen) {
            let rows = self.change.consents_of(child)?;
            let mut about = rows.iter().filter(|row| row.record.kind == Kind::Seen);
            let said_no = about
                .next_back()
                .is_some_and(|row| row.record.answer != Answer::Given);
            if !said_no && self.change.child(child)?.is_some() {
                let said = Said {
                    kind: Kind::Seen,
                    yes: false,
                    from: today,
                    until: None,
                    recorder: Name::new("Afterturn").map_err(|_| DoesNotOpen)?,
                };
                self.record(child, &said, None, today)?;
            }
        }
        Ok(())
    }

    /// What rests on an answer that is now a no goes with it, and for good.
    fn let_go_of(&self, child: ChildId, kind: Kind, today: Day) -> Result<(), VaultError> {
        let of_child = self.change.items_of(child)?;
        for item in self.change.items()? {
            if of_child.contains(&item.id) && item.rests_on(kind) {
                self.erased.borrow_mut().push(Entry::Item(item.id));
                items::log(self.change, Deed::Withdrawn, item.medium, item.id, today)?;
                // Now, so that with two children in it, it is not noted twice.
                self.change.erase_item(item.id)?;
            }
        }
        Ok(())
    }

    /// Erases a child, and notes that it is not to come back.
    pub(super) fn erase_child(&self, id: ChildId, today: Day) -> Result<(), VaultError> {
        let of_child = self.change.items_of(id)?;
        for item in self.change.items()? {
            if of_child.contains(&item.id) {
                self.erased.borrow_mut().push(Entry::Item(item.id));
                items::log(self.change, Deed::Deleted, item.medium, item.id, today)?;
                self.change.erase_item(item.id)?;
            }
        }
        self.erased.borrow_mut().push(Entry::Child(id));
        Ok(self.change.erase_child(id)?)
    }

    /// Seals an answer anew with or without somebody who stands for it.
    pub(super) fn set_confirmed(&self, row: &ConsentRow, yes: bool) -> Result<(), VaultError> {
        let mut recorded = Recorded::open(row, self.key)?;
        recorded.record.confirmed = yes;
        Ok(self.change.confirm(&recorded.seal(self.key))?)
    }

    /// Every answer came from elsewhere: a yes waits to be confirmed.
    pub(super) fn doubt_all(&self) -> Result<(), VaultError> {
        let mut latest: BTreeMap<(ChildId, Kind), RecordId> = BTreeMap::new();
        let rows = self.change.consents()?;
        for row in &rows {
            latest.insert((row.record.child, row.record.kind), row.record.id);
        }
        for row in rows {
            let record = &row.record;
            let counts = latest.get(&(record.child, record.kind)) == Some(&record.id);
            if counts && record.answer == Answer::Given && record.confirmed {
                self.set_confirmed(&row, false)?;
            }
        }
        Ok(())
    }
}
