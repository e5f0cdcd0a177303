//! What opens the vault: the teacher's passphrase, or the recovery sheet.
//!
//! There is one passphrase to remember. The door checks it first, and counts
//! wrong guesses; here it opens the master key. A change writes the new
//! wrapping beside the old one; the next sign-in, which the door decides, tells
//! which of the two holds, and the other goes.

use super::{
    Key, Moment, Portfolio, VaultError, answers::Recorded, items, locks::Inner, roster::Child,
    roster::Class,
};
use crate::store::{
    ledger::Entry,
    vault::{Database, SlotKind, SlotRow},
};

/// The setting that says whose answers these are.
pub(super) const BOX: &str = "box";

impl Portfolio {
    /// Opens the vault with the passphrase that the door has just taken. The
    /// first one makes it. Slow on purpose; view, cues and clock do not wait
    /// for it.
    pub fn unlock(&self, passphrase: &str, moment: Moment) -> Result<(), VaultError> {
        let slots = self.slots()?;
        if slots.is_empty() {
            return self.make(passphrase, moment);
        }
        let mut passphrases = slots.iter().filter(|slot| slot.kind != SlotKind::Recovery);
        let opened =
            passphrases.find_map(|slot| Some((slot.kind, Key::unwrap(slot, passphrase).ok()?)));
        let (kind, key) = opened.ok_or(VaultError::Wrong)?;
        let renewed =
            (kind == SlotKind::Next).then(|| key.wrap(SlotKind::Passphrase, passphrase, self.cost));
        self.open_verified(key, moment, renewed.as_ref())
    }

    /// Opens the vault with the code of the recovery sheet, and has the
    /// passphrase open it from now on.
    pub fn unlock_by_sheet(
        &self,
        code: &str,
        passphrase: &str,
        moment: Moment,
    ) -> Result<(), VaultError> {
        let slots = self.slots()?;
        let sheet = slots.iter().find(|slot| slot.kind == SlotKind::Recovery);
        let key = Key::unwrap(sheet.ok_or(VaultError::Wrong)?, &as_meant(code));
        let key = key.map_err(|_| VaultError::Wrong)?;
        let slot = key.wrap(SlotKind::Passphrase, passphrase, self.cost);
        self.open_verified(key, moment, Some(&slot))
    }

    /// Has a new passphrase open the vault too, before the door takes it.
    pub fn prepare_passphrase(&self, new: &str, moment: Moment) -> Result<(), VaultError> {
        // Wrapped aside: it takes a while.
        let slot = self.wrap(SlotKind::Next, new, moment)?;
        self.edit(moment, |edit| Ok(edit.change.put_slot(&slot)?))
    }

    /// Has a code open the vault, to be printed and locked away. A sheet from
    /// before opens nothing any more.
    pub fn set_recovery(&self, code: &str, moment: Moment) -> Result<(), VaultError> {
        let slot = self.wrap(SlotKind::Recovery, &as_meant(code), moment)?;
        self.edit(moment, |edit| Ok(edit.change.put_slot(&slot)?))?;
        self.leave_no_trace()
    }

    /// Whether there is a recovery sheet.
    pub fn has_recovery(&self) -> Result<bool, VaultError> {
        let slots = self.slots()?;
        Ok(slots.iter().any(|slot| slot.kind == SlotKind::Recovery))
    }

    fn wrap(&self, kind: SlotKind, secret: &str, moment: Moment) -> Result<SlotRow, VaultError> {
        let key = self.read(moment, |open| Ok(open.key.copied()))?;
        Ok(key.wrap(kind, secret, self.cost))
    }

    fn slots(&self) -> Result<Vec<SlotRow>, VaultError> {
        let inner = self.lock_inner();
        Ok(inner.database()?.read().slots()?)
    }

    fn make(&self, passphrase: &str, moment: Moment) -> Result<(), VaultError> {
        let key = Key::random();
        let slot = key.wrap(SlotKind::Passphrase, passphrase, self.cost);
        let mut inner = self.lock_inner();
        let box_id = inner.ledger.box_id().to_owned();
        let made = inner.database_mut()?.change(|change| {
            // Two sign-ins at once make one vault.
            if !change.slots()?.is_empty() {
                return Ok(false);
            }
            change.put_slot(&slot)?;
            change.set(BOX, &box_id)?;
            Ok::<_, VaultError>(true)
        })?;
        if made {
            // Afterwards: a crash in between leaves an empty vault that may be.
            inner.ledger.add(&[Entry::Made])?;
            inner.open_with(key, moment.now);
            drop(inner);
            self.tell();
            return Ok(());
        }
        drop(inner);
        self.unlock(passphrase, moment)
    }

    /// Everything is opened once, so that damage is found now and not when a
    /// consent is asked after.
    fn open_verified(
        &self,
        key: Key,
        moment: Moment,
        passphrase: Option<&SlotRow>,
    ) -> Result<(), VaultError> {
        let mut inner = self.lock_inner();
        verify(inner.database()?, &key)?;
        let box_id = inner.ledger.box_id().to_owned();
        let foreign = inner.database()?.read().setting(BOX)?.as_ref() != Some(&box_id);
        inner.database_mut()?.change(|change| {
            if let Some(slot) = passphrase {
                change.put_slot(slot)?;
            }
            change.remove_slot(SlotKind::Next)?;
            change.set(BOX, &box_id)
        })?;
        inner.database()?.leave_no_trace()?;
        inner.open_with(key, moment.now);
        drop(inner);
        if foreign {
            // A path to the method would be for one lifetime only.
            #[allow(clippy::redundant_closure_for_method_calls)]
            self.edit(moment, |edit| edit.doubt_all())?;
        }
        self.tell();
        Ok(())
    }

    pub(super) fn leave_no_trace(&self) -> Result<(), VaultError> {
        Ok(self.lock_inner().database()?.leave_no_trace()?)
    }
}

/// Whether every page and everything sealed is as it was written.
pub(super) fn verify(database: &Database, key: &Key) -> Result<(), VaultError> {
    database.verify()?;
    let rows = database.read();
    rows.check_settings()?;
    for row in rows.classes()? {
        Class::open(&row, key)?;
    }
    for row in rows.children()? {
        Child::open(&row, key)?;
    }
    for row in rows.consents()? {
        Recorded::open(&row, key)?;
    }
    for row in rows.items()? {
        items::open_item(&row, key)?;
    }
    rows.veils()?;
    Ok(())
}

impl Inner {
    pub(super) fn database(&self) -> Result<&Database, VaultError> {
        let unreadable = VaultError::Damaged("its file cannot be read");
        self.database.as_ref().ok_or(unreadable)
    }

    pub(super) fn database_mut(&mut self) -> Result<&mut Database, VaultError> {
        let unreadable = VaultError::Damaged("its file cannot be read");
        self.database.as_mut().ok_or(unreadable)
    }
}

/// A typed code as it was meant: capitals, without what people put between.
pub(super) fn as_meant(typed: &str) -> String {
    let signs = typed.chars().filter(char::is_ascii_alphanumeric);
    signs.map(|c| c.to_ascii_uppercase()).collect()
}
