//! For how long things are kept, and letting go of them in time.
//!
//! Not here: keeping them (`items`).

use std::collections::BTreeSet;

use afterturn_core::{
    consent::{Answer, DateWatch, Record, Terms},
    kernel::{Day, ItemId},
};

use super::{
    Moment, Portfolio, VaultError,
    covers::{Answers, reckon},
    items,
    locks::{Inner, terms},
    secrets::BOX,
};
use crate::store::{
    ledger::Entry,
    vault::{Change, ChildRow, Deed},
};

/// The setting with the terms.
pub(super) const TERMS: &str = "terms";
/// The setting with the latest day there was.
const HIGHEST: &str = "highest_day";

/// What was let go.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Purged {
    /// Stills and clips.
    pub items: usize,
    /// Children that no list has named for too long.
    pub children: usize,
}

/// The last day a child stays in the list.
pub(super) fn child_until(row: &ChildRow, terms: Terms) -> Day {
    row.listed_on.plus(i32::from(terms.roster_days))
}

impl Portfolio {
    /// What is kept and not out of time.
    pub fn kept(&self, moment: Moment) -> Result<Vec<ItemId>, VaultError> {
        self.read(moment, |open| {
            let all = open.rows.expiries()?;
            let there = all
                .into_iter()
                .filter(|(_, until)| *until >= open.days.last);
            Ok(there.map(|(id, _)| id).collect())
        })
    }

    /// For how long things are kept.
    pub fn terms(&self) -> Result<Terms, VaultError> {
        terms(&self.lock_inner().database()?.read())
    }

    /// Keeps things for another while from now on. What was kept before stays
    /// with its own last day.
    pub fn set_terms(&self, terms: Terms, moment: Moment) -> Result<(), VaultError> {
        let Terms {
            media_days,
            records_days,
            roster_days,
        } = terms;
        let text = format!("{media_days} {records_days} {roster_days}");
        self.edit(moment, |edit| Ok(edit.change.set(TERMS, &text)?))
    }

    /// At the start, and once a day: lets go of what is out of time, whether
    /// the vault is open or not. While today's date is in doubt nothing goes.
    pub fn purge(&self, today: Day) -> Result<Purged, VaultError> {
        let mut inner = self.lock_inner();
        let through = inner.watch.destroy_through(today);
        inner.watch.pass(today);
        let (purged, gone) = inner.let_go(through, today)?;
        self.erase_files(&gone);
        let answers = inner.known_answers(today)?;
        self.publish(answers);
        Ok(purged)
    }

    /// The teacher says that today's date is right.
    pub fn confirm_date(&self, moment: Moment) -> Result<Purged, VaultError> {
        let mut inner = self.lock_inner();
        inner.use_now(moment.now)?;
        inner.watch.confirm(moment.today);
        drop(inner);
        self.purge(moment.today)
    }
}

impl Inner {
    fn let_go(
        &mut self,
        through: Option<Day>,
        today: Day,
    ) -> Result<(Purged, Vec<Entry>), VaultError> {
        let highest = self.watch.highest();
        let watch = self.watch;
        let Self {
            database, ledger, ..
        } = self;
        let Some(database) = database else {
            return Err(VaultError::Damaged("its file cannot be read"));
        };
        let done = database.change(|change| {
            if let Some(highest) = highest {
                change.set(HIGHEST, &highest.0.to_string())?;
            }
            let mut erased = Vec::new();
            let mut purged = Purged::default();
            if let Some(through) = through {
                let terms = terms(change)?;
                let over = |row: &ChildRow| child_until(row, terms) <= through;
                let children = change.children()?.into_iter().filter(over);
                let gone: Vec<_> = children.map(|row| row.id).collect();
                for item in change.items()? {
                    let expired = item.expires_on <= through;
                    if expired || item.children.iter().any(|child| gone.contains(child)) {
                        erased.push(Entry::Item(item.id));
                        items::log(change, Deed::Expired, item.medium, item.id, today)?;
                        change.erase_item(item.id)?;
                        purged.items += usize::from(expired);
                    }
                }
                for child in gone {
                    erased.push(Entry::Child(child));
                    change.erase_child(child)?;
                    purged.children += 1;
                }
            }
            change.put_veils(&reckon(change, watch, today)?.veils)?;
            ledger.add(&erased)?;
            Ok::<_, VaultError>((purged, erased))
        })?;
        database.leave_no_trace()?;
        Ok(done)
    }

    /// What the answers come to, unless those in the vault came from another box
    /// and nobody has opened it here yet.
    fn known_answers(&self, today: Day) -> Result<Option<Answers>, VaultError> {
        let rows = self.database()?.read();
        rows.check_settings()?;
        let own = rows
            .setting(BOX)?
            .is_none_or(|of| of == self.ledger.box_id());
        if !own {
            return Ok(None);
        }
        // As kept, sums and all: what does not fit together is not known.
        let kept = rows.veils()?;
        let answers = reckon(&rows, self.watch, today)?;
        Ok((kept == answers.veils).then_some(answers))
    }
}

/// What must not come back goes, before anything else is done.
pub(super) fn apply_ledger(change: &Change<'_>, entries: &[Entry]) -> Result<(), VaultError> {
    for entry in entries {
        match entry {
            Entry::Child(id) => change.erase_child(*id)?,
            Entry::Item(id) => change.erase_item(*id)?,
            Entry::Over(id) => change.consent_is_over(*id)?,
            Entry::No { child, kind, order } => {
                let before = change.consents_of(*child)?.into_iter();
                let given = |record: &Record| {
                    record.kind == *kind && record.order < *order && record.answer == Answer::Given
                };
                for row in before.filter(|row| given(&row.record)) {
                    change.consent_is_over(row.record.id)?;
                }
            }
            Entry::Class(_) | Entry::Unseen(_) | Entry::Seen(_) | Entry::Made => {}
        }
    }
    for entry in entries {
        if let Entry::Class(id) = entry {
            change.remove_class(*id)?;
        }
    }
    Ok(())
}

/// What a vault needs when it is opened, before anybody has signed in.
pub(super) fn settle(portfolio: &Portfolio, today: Day) -> Result<(), VaultError> {
    let mut inner = portfolio.lock_inner();
    let Inner {
        database,
        ledger,
        watch,
        ..
    } = &mut *inner;
    if let Some(database) = database {
        let made = ledger.entries().contains(&Entry::Made);
        if made && database.read().slots()?.is_empty() {
            return Err(VaultError::Damaged("what it held is gone"));
        }
        database.change(|change| apply_ledger(change, ledger.entries()))?;
        *watch = DateWatch::new(highest(database)?);
    }
    portfolio.sweep_files(&inner)?;
    drop(inner);
    portfolio.purge(today).map(|_| ())
}

impl Portfolio {
    /// Files of what has just been erased. One that stays behind is noise without
    /// its row, and is found at the next start.
    pub(super) fn erase_files(&self, erased: &[Entry]) {
        for entry in erased {
            if let Entry::Item(id) = entry
                && let Err(error) = self.media.erase(*id)
            {
                tracing::error!("the file of something erased stays for now: {error}");
            }
        }
    }

    /// Files that belong to nothing go.
    pub(super) fn sweep_files(&self, inner: &Inner) -> Result<(), VaultError> {
        // Of a vault that cannot be read nobody knows what belongs to it.
        let Some(database) = &inner.database else {
            return Ok(());
        };
        let items = database.read().expiries()?;
        let stay: BTreeSet<ItemId> = items.into_iter().map(|(id, _)| id).collect();
        match self.media.sweep(&stay) {
            Ok(0) => {}
            Ok(swept) => tracing::info!(swept, "files of nothing that is kept are gone"),
            // Who may be seen does not depend on it.
            Err(error) => tracing::error!("files of nothing that is kept stay for now: {error}"),
        }
        Ok(())
    }
}

/// The latest day there was.
pub(super) fn highest(database: &crate::store::vault::Database) -> Result<Option<Day>, VaultError> {
    let text = database.read().setting(HIGHEST)?;
    Ok(text.and_then(|text| text.parse().ok()).map(Day))
}
