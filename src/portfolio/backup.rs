//! The whole vault as one sealed file, and back.
//!
//! The file opens with the passphrase of its day, or with the recovery sheet.
//! A copy that comes back brings nothing back: what this box erased, and what
//! was withdrawn here, is erased and withdrawn again before anybody sees it. On
//! another box every yes waits to be confirmed. Stills and clips are not in it:
//! what was kept here since stays, and on another box there are none.

use afterturn_core::consent::Answer;

use super::{
    Key, Moment, Portfolio, State, VaultError,
    keeping::{apply_ledger, highest},
    locks::{Edit, Inner},
    seal::place,
    secrets::{BOX, as_meant, verify},
};
use crate::store::{
    ledger::Entry,
    media::Media,
    vault::{Change, Database, Image, ItemRow, SlotKind, SlotRow},
};

/// What a file of ours begins with; the digit is its version.
const MAGIC: &[u8] = b"AFTERTURN VAULT 1\n";

/// The longest header: three wrappings.
const MOST_HEADER_BYTES: usize = 4096;

impl Portfolio {
    /// A backup as it is now, while everything goes on.
    pub fn backup(&self, moment: Moment) -> Result<Vec<u8>, VaultError> {
        let mut inner = self.lock_inner();
        inner.use_now(moment.now)?;
        let (Some(database), Some(open)) = (&inner.database, &inner.open) else {
            return Err(VaultError::Locked);
        };
        let mut header = Vec::new();
        for slot in database.read().slots()? {
            // A change of passphrase that is not settled is not copied.
            if slot.kind != SlotKind::Next {
                write_slot(&mut header, &slot);
            }
        }
        let image = database.image()?;
        let sealed = open.key.seal(&place("backup", &[MAGIC, &header]), &image.0);
        let mut out = MAGIC.to_vec();
        out.extend((header.len() as u32).to_be_bytes());
        out.extend(header);
        out.extend(sealed);
        Ok(out)
    }

    /// Puts a backup in the place of what is here. `secret` is the backup's
    /// passphrase, or the code of its recovery sheet; `passphrase` the one of
    /// today, which opens it from now on. Slow on purpose.
    pub fn restore(
        &self,
        bytes: &[u8],
        secret: &str,
        passphrase: &str,
        moment: Moment,
    ) -> Result<(), VaultError> {
        let (key, image) = open_file(bytes, secret)?;
        let mut copy = Database::from_image(&image).map_err(|_| VaultError::NoBackup)?;
        let slot = key.wrap(SlotKind::Passphrase, passphrase, self.cost);
        // What was recorded here since has to be read to be carried over.
        if self.state(moment.now) == State::Locked {
            let _ = self.unlock(passphrase, moment);
        }
        let mut inner = self.lock_inner();
        if inner.ledger.is_damaged() {
            return Err(VaultError::Ledger);
        }
        if inner.database.is_none() {
            inner.begin_anew()?;
        }
        inner.fit_in(&mut copy, &key, &slot, (&self.media, moment))?;
        verify(&copy, &key)?;
        inner.database_mut()?.become_copy_of(&copy)?;
        let theirs = highest(&copy)?;
        let ours = inner.watch.highest();
        inner.watch = afterturn_core::consent::DateWatch::new(theirs.max(ours));
        if !inner.ledger.entries().contains(&Entry::Made) {
            inner.ledger.add(&[Entry::Made])?;
        }
        inner.open_with(key, moment.now);
        self.sweep_files(&inner)?;
        let path = inner.path.clone();
        drop(inner);
        self.purge(moment.today)?;
        // Last: until all of the backup is here, it is the only other copy.
        match path.map(|path| crate::store::vault::erase_put_aside(&path)) {
            Some(Err(error)) => Err(VaultError::Leftover(error)),
            _ => Ok(()),
        }
    }
}

impl Inner {
    /// A file that cannot be read is put aside until the backup is here.
    fn begin_anew(&mut self) -> Result<(), VaultError> {
        if let Some(path) = &self.path {
            crate::store::vault::put_aside(path)?;
            self.database = Some(Database::open(path)?);
            // What was here is not known, so nothing of it can vouch for a yes.
            self.open = None;
        }
        Ok(())
    }

    /// Makes a copy one of this box's, as of now.
    fn fit_in(
        &self,
        copy: &mut Database,
        key: &Key,
        slot: &SlotRow,
        (media, moment): (&Media, Moment),
    ) -> Result<(), VaultError> {
        let own_box = self.ledger.box_id();
        let came_from_here = copy.read().setting(BOX)?.as_deref() == Some(own_box);
        let same_key = self.open.as_ref().is_some_and(|open| open.key.is(key));
        let ours = self.database()?.read();
        // Answers newer than the copy are still there, sealed with the same key.
        let continues = came_from_here && same_key;
        let (newest, kept) = if continues {
            (ours.consents()?, ours.items()?)
        } else {
            Default::default()
        };
        let done = ours.log()?;
        let chosen = ours.setting(super::answers::RULE)?;
        copy.change(|change| {
            // What it notes is in the ledger already, or was never anywhere else.
            let edit = Edit {
                change,
                key,
                erased: std::cell::RefCell::default(),
            };
            change.put_slot(slot)?;
            if !continues {
                edit.doubt_all()?;
            }
            if !came_from_here {
                change.remove_slot(SlotKind::Recovery)?;
            }
            change.set(BOX, own_box)?;
            if let Some(chosen) = &chosen {
                change.set(super::answers::RULE, chosen)?;
            }
            carry_over(change, newest)?;
            change.note_order(ours.last_order()?)?;
            apply_ledger(change, self.ledger.entries())?;
            carry_over_items(change, kept, self.ledger.entries())?;
            // A backup holds no pictures: what is not here is gone.
            for item in change.items()? {
                if media.bytes(item.id).is_none() {
                    change.erase_item(item.id)?;
                }
            }
            for row in &done {
                change.log_row(row)?;
            }
            edit.keep_unseen(self.ledger.entries(), moment.today)?;
            let answers = super::covers::reckon(change, self.watch, moment.today)?;
            Ok::<_, VaultError>(change.put_veils(&answers.veils)?)
        })
    }
}

/// Records again what was recorded after the copy was made, of children that
/// are in it.
fn carry_over(
    change: &Change<'_>,
    newest: Vec<crate::store::vault::ConsentRow>,
) -> Result<(), VaultError> {
    let last = change.last_order()?;
    for row in newest {
        let there = change.child(row.record.child)?.is_some();
        if there && row.record.order > last {
            let record = &row.record;
            if let (Answer::Given, Some(until)) = (record.answer, record.until) {
                change.shorten(record.child, record.kind, until)?;
            }
            change.add_consent(&row)?;
        }
    }
    Ok(())
}

/// Keeps what was kept after the copy was made, where its basis still holds.
fn carry_over_items(
    change: &Change<'_>,
    kept: Vec<ItemRow>,
    erased: &[Entry],
) -> Result<(), VaultError> {
    let there: Vec<_> = change.items()?.iter().map(|row| row.id).collect();
    for row in kept {
        if !there.contains(&row.id) && !erased.contains(&Entry::Item(row.id)) {
            change.add_item_if_it_may(&row)?;
        }
    }
    Ok(())
}

fn open_file(bytes: &[u8], secret: &str) -> Result<(Key, Image), VaultError> {
    let rest = bytes.strip_prefix(MAGIC).ok_or(VaultError::NoBackup)?;
    let (length, rest) = rest.split_first_chunk::<4>().ok_or(VaultError::NoBackup)?;
    let length = u32::from_be_bytes(*length) as usize;
    if length > MOST_HEADER_BYTES {
        return Err(VaultError::NoBackup);
    }
    let split = rest.split_at_checked(length).ok_or(VaultError::NoBackup)?;
    let (header, sealed) = split;
    let slots = read_slots(header).ok_or(VaultError::NoBackup)?;
    let key = slots
        .iter()
        .find_map(|slot| {
            let secret = match slot.kind {
                SlotKind::Recovery => &as_meant(secret),
                _ => secret,
            };
            Key::unwrap(slot, secret).ok()
        })
        .ok_or(VaultError::Wrong)?;
    let image = key.open(&place("backup", &[MAGIC, header]), sealed);
    Ok((key, Image(image.map_err(|_| VaultError::NoBackup)?)))
}

fn write_slot(out: &mut Vec<u8>, slot: &SlotRow) {
    for part in [
        slot.kind.word().as_bytes(),
        &slot.memory_kib.to_be_bytes(),
        &slot.passes.to_be_bytes(),
        &slot.salt,
        &slot.sealed,
    ] {
        out.extend((part.len() as u16).to_be_bytes());
        out.extend_from_slice(part);
    }
}

fn read_slots(mut bytes: &[u8]) -> Option<Vec<SlotRow>> {
    let mut slots = Vec::new();
    while !bytes.is_empty() {
        let mut part = || {
            let (length, rest) = bytes.split_first_chunk::<2>()?;
            let (part, rest) = rest.split_at_checked(usize::from(u16::from_be_bytes(*length)))?;
            bytes = rest;
            Some(part)
        };
        let word = part()?;
        slots.push(SlotRow {
            kind: SlotKind::ALL
                .into_iter()
                .find(|kind| kind.word().as_bytes() == word)?,
            memory_kib: u32::from_be_bytes(part()?.try_into().ok()?),
            passes: u32::from_be_bytes(part()?.try_into().ok()?),
            salt: part()?.to_vec(),
            sealed: part()?.to_vec(),
        });
    }
    Some(slots)
}
