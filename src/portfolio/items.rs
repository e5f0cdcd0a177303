//! Stills and clips: kept with a permit, shown with a basis, deleted for good.
//!
//! A file is on the disk before its row is, and its row is gone before its file:
//! whatever a power cut leaves without a row is noise, and swept away at the next
//! start.
//!
//! Not here: making them (`av`), the rules (`core/consent`), and when they are
//! out of time (`keeping`).

use afterturn_core::{
    consent::{Interval, Medium, Permit, Purpose, Request},
    kernel::{CaptureUs, ChildId, Day, ItemId, StationNumber},
    media::Mat,
};

use super::{
    Key, Moment, Portfolio, VaultError, covers::register, locks::Open, random_number, seal::place,
    sealed, sealed::Content, sealed::Inside,
};
use crate::store::{
    ledger::Entry,
    vault::{Change, Deed, ItemRow, LogRow},
};

const DAY_US: u64 = 86_400_000_000;

/// What is known of something that is to be kept, beside its permit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct About {
    /// Where it was taken.
    pub station: Option<StationNumber>,
    /// Everything but the mat is covered.
    pub covered: bool,
}

/// Something kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// Its id.
    pub id: ItemId,
    /// What it is.
    pub medium: Medium,
    /// Every child in it.
    pub children: Vec<ChildId>,
    /// Of when it is.
    pub interval: Interval,
    /// The last day it is kept.
    pub until: Day,
    /// What else is known of it.
    pub about: About,
    /// How large it is.
    pub bytes: u64,
    /// Its file is there, and as long as it was.
    pub whole: bool,
}

fn item_place(row: &ItemRow) -> Vec<u8> {
    let children: Vec<u8> = row
        .children
        .iter()
        .flat_map(|child| child.get().to_be_bytes())
        .collect();
    place(
        "item",
        &[
            &row.id.get().to_be_bytes(),
            &[row.medium as u8, row.purpose as u8],
            &row.taken_on.0.to_be_bytes(),
            &children,
        ],
    )
}

pub(super) fn open_item(row: &ItemRow, key: &Key) -> Result<Inside, VaultError> {
    Ok(Inside::read(&key.open(&item_place(row), &row.sealed)?)?)
}

/// Writes down what was done with something.
pub(super) fn log(
    change: &Change<'_>,
    what: Deed,
    medium: Medium,
    item: ItemId,
    on: Day,
) -> Result<(), VaultError> {
    Ok(change.log_row(&LogRow {
        id: (random_number() >> 1) as i64,
        on,
        what,
        medium,
        item,
    })?)
}

impl Portfolio {
    /// Keeps something. What it takes is a permit, whole; whether it still has a
    /// basis is asked once more, and by the database too.
    #[allow(clippy::needless_pass_by_value)]
    pub fn keep(
        &self,
        permit: Permit,
        about: About,
        content: &[u8],
        moment: Moment,
    ) -> Result<ItemId, VaultError> {
        // One made yesterday may rest on what was withdrawn since.
        if permit.made_on() != self.days(moment.today).last {
            return Err(VaultError::Stale);
        }
        let id = ItemId::from_random(random_number());
        let kept = self.edit(moment, |edit| {
            let asked = Request {
                children: permit.children().to_vec(),
                medium: permit.medium(),
                purpose: permit.purpose(),
                interval: permit.interval(),
                term_days: 0,
            };
            register(edit.change)?.permit(asked, permit.made_on())?;
            let inside = Inside {
                key: Key::random(),
                bytes: content.len() as u64,
                interval: permit.interval(),
                station: about.station,
                covered: about.covered,
            };
            let mut row = ItemRow {
                id,
                medium: permit.medium(),
                purpose: permit.purpose(),
                taken_on: permit.interval().days().0,
                expires_on: permit.keep_until(),
                sealed: Vec::new(),
                children: permit.children().to_vec(),
            };
            row.sealed = edit.key.seal(&item_place(&row), &inside.write());
            edit.change.add_item(&row)?;
            log(edit.change, Deed::Kept, row.medium, id, moment.today)?;
            // Last, and before the row is there for good.
            let file = sealed::seal(&inside.key, id, content);
            Ok(self.media.keep(id, &file)?)
        });
        if kept.is_err() {
            // Noise, without its row; the next start would find it.
            let _ = self.media.erase(id);
        }
        kept.map(|()| id)
    }

    /// Everything kept that is not out of time, the latest first.
    pub fn items(&self, moment: Moment) -> Result<Vec<Item>, VaultError> {
        let mut items = self.read(moment, |open| {
            let rows = open.rows.items()?.into_iter();
            rows.filter(|row| row.expires_on >= open.days.last)
                .map(|row| self.item(&row, open.key))
                .collect::<Result<Vec<_>, _>>()
        })?;
        items.sort_by_key(|item| std::cmp::Reverse((item.interval.from, item.id)));
        Ok(items)
    }

    fn item(&self, row: &ItemRow, key: &Key) -> Result<Item, VaultError> {
        let inside = open_item(row, key)?;
        let there = self.media.bytes(row.id);
        Ok(Item {
            id: row.id,
            medium: row.medium,
            children: row.children.clone(),
            interval: inside.interval,
            until: row.expires_on,
            about: About {
                station: inside.station,
                covered: inside.covered,
            },
            bytes: inside.bytes,
            whole: there == Some(sealed::sealed_bytes(inside.bytes)),
        })
    }

    /// One thing as it was kept, to be looked at or handed out: only with a basis
    /// for that at this moment, which is noted.
    pub fn show(
        &self,
        id: ItemId,
        purpose: Purpose,
        moment: Moment,
    ) -> Result<(Item, Content), VaultError> {
        let (item, key, noted) = self.read(moment, |open| {
            let row = row_of(open, id)?;
            let item = self.item(&row, open.key)?;
            let request = request(&item, purpose, moment.today);
            open.register()?.permit(request, open.days)?;
            // A film is asked for in pieces, and looked at more than once.
            let noted = purpose == Purpose::Portfolio && open.rows.was_shown(id, moment.today)?;
            Ok((item, open_item(&row, open.key)?.key, noted))
        })?;
        // The file without the lock: it may be large.
        let content = match self.media.read(id)? {
            Some(file) => sealed::open(&key, id, &file).map_err(|_| VaultError::Spoilt),
            None => Err(VaultError::Spoilt),
        };
        let what = match purpose {
            Purpose::Portfolio => Deed::Shown,
            Purpose::Family => Deed::Exported,
        };
        // Deleted in between?
        if noted || content.is_err() {
            self.read(moment, |open| row_of(open, id))?;
        } else {
            self.edit(moment, |edit| {
                let there = edit.change.items()?.iter().any(|row| row.id == id);
                there.then_some(()).ok_or(VaultError::NotFound)?;
                log(edit.change, what, item.medium, id, moment.today)
            })?;
        }
        Ok((item, content?))
    }

    /// Whether something may be handed to the family today.
    pub fn may_be_shared(&self, item: &Item, moment: Moment) -> Result<bool, VaultError> {
        self.read(moment, |open| {
            let request = request(item, Purpose::Family, moment.today);
            Ok(open.register()?.permit(request, open.days).is_ok())
        })
    }

    /// Deletes things for good; says how many there were.
    pub fn delete(&self, ids: &[ItemId], moment: Moment) -> Result<usize, VaultError> {
        self.edit(moment, |edit| {
            let rows = edit.change.items()?.into_iter();
            let meant: Vec<_> = rows.filter(|row| ids.contains(&row.id)).collect();
            for row in &meant {
                edit.erased.borrow_mut().push(Entry::Item(row.id));
                log(edit.change, Deed::Deleted, row.medium, row.id, moment.today)?;
                edit.change.erase_item(row.id)?;
            }
            Ok(meant.len())
        })
    }

    /// What was done with what is kept, the latest first.
    pub fn log(&self, moment: Moment) -> Result<Vec<LogRow>, VaultError> {
        self.read(moment, |open| {
            let mut rows = open.rows.log()?;
            rows.reverse();
            Ok(rows)
        })
    }
}

/// What is asked again whenever something is shown: whether it may be today.
/// Whether it might be kept was asked when it was; a yes that was renewed since
/// holds for what was kept before.
fn request(item: &Item, purpose: Purpose, today: Day) -> Request {
    let noon = CaptureUs(u64::from(today.0.unsigned_abs()) * DAY_US + DAY_US / 2);
    Request {
        children: item.children.clone(),
        medium: item.medium,
        purpose,
        interval: Interval {
            from: noon,
            to: noon,
            offset_s: 0,
        },
        term_days: 0,
    }
}

fn row_of(open: &Open<'_>, id: ItemId) -> Result<ItemRow, VaultError> {
    let mut rows = open.rows.items()?.into_iter();
    rows.find(|row| row.id == id && row.expires_on >= open.days.last)
        .ok_or(VaultError::NotFound)
}

/// The setting with the mat of a station.
fn mat_setting(station: StationNumber) -> String {
    format!("mat.{station}")
}

impl Portfolio {
    /// The mat of a station, if somebody has drawn it.
    pub fn mat(&self, station: StationNumber) -> Result<Option<Mat>, VaultError> {
        let inner = self.lock_inner();
        let text = inner.database()?.read().setting(&mat_setting(station))?;
        let read = |text: String| serde_json::from_str(&text);
        let mat = text.map(read).transpose();
        mat.map_err(|_| VaultError::Damaged("a setting is not as it was written"))
    }

    /// The mat of a station is this from now on.
    pub fn set_mat(
        &self,
        station: StationNumber,
        mat: &Mat,
        moment: Moment,
    ) -> Result<(), VaultError> {
        let text = serde_json::to_string(mat).unwrap_or_default();
        self.edit(moment, |edit| {
            Ok(edit.change.set(&mat_setting(station), &text)?)
        })
    }
}
