//! The vault: locked, open, and one change at a time.

use std::{
    cell::RefCell,
    collections::BTreeSet,
    path::{Path, PathBuf},
    sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock},
};

use afterturn_core::{
    consent::{DateWatch, DaySpan, Doubt, Register, Terms, ViewRule},
    kernel::{CaptureUs, ChildId, Day},
};
use tokio::sync::watch;

use super::{
    Child, Class, Cost, Key, Moment, VaultError, answers,
    covers::{Answers, reckon},
    import::Plan,
    keeping, random_number,
};
use crate::store::{
    ledger::{Entry, Ledger},
    media::Media,
    vault::{Change, Database, Rows},
};

/// How it stands with the vault.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// The file cannot be read.
    Damaged,
    /// Nobody has opened it, or not for a while.
    Locked,
    /// It is open.
    Open,
}

/// A phone left on a bench is not a way to every name: the vault locks itself
/// when nobody has looked into it for so long. Common practice, no source.
const IDLE_US: i64 = 15 * 60 * 1_000_000;

/// The file's name in the state directory.
const FILE_NAME: &str = "vault.db";

/// See the room.
pub struct Portfolio {
    pub(super) inner: Mutex<Inner>,
    /// Who is covered, to be read without waiting for anything; none while that
    /// is not known.
    pub(super) answers: RwLock<Option<Arc<Answers>>>,
    /// Told when that may have changed, and when the vault was opened.
    changed: watch::Sender<()>,
    pub(super) media: Media,
    pub(super) cost: Cost,
}

pub(super) struct Inner {
    pub(super) path: Option<PathBuf>,
    /// None: it cannot be read.
    pub(super) database: Option<Database>,
    pub(super) ledger: Ledger,
    pub(super) open: Option<Opened>,
    pub(super) watch: DateWatch,
    /// Counts changes, so that a list is not taken into another roster than it
    /// was compared with.
    revision: u64,
}

pub(super) struct Opened {
    pub(super) key: Key,
    used: CaptureUs,
    plan: Option<(u64, u64, Arc<Plan>)>,
}

/// Reads with the vault open.
pub(super) struct Open<'o> {
    pub(super) rows: Rows<'o>,
    pub(super) key: &'o Key,
    /// The days that today may be.
    pub(super) days: DaySpan,
}

/// A change with the vault open.
pub(super) struct Edit<'e> {
    pub(super) change: &'e Change<'e>,
    pub(super) key: &'e Key,
    /// What must not come back, once this change is made.
    pub(super) erased: RefCell<Vec<Entry>>,
}

impl Portfolio {
    /// Opens the file in a folder, locked. What cannot be read is left as it is,
    /// and nothing is known of who may be seen until it can: a class then covers
    /// every group.
    #[must_use]
    pub fn open(state_dir: &Path, cost: Cost, today: Day) -> Self {
        let path = state_dir.join(FILE_NAME);
        let box_id = format!("{:016x}", random_number());
        let (ledger, database) = match Ledger::open(state_dir, &box_id) {
            Ok(ledger) => (ledger, Database::open(&path).map_err(VaultError::from)),
            // What was erased could come back.
            Err(error) => (Ledger::unreadable(&box_id), Err(error.into())),
        };
        let media = Media::in_dir(state_dir);
        Self::begin(Some(path), database, (ledger, media), cost, today)
    }

    /// One that is gone with the program.
    #[must_use]
    pub fn in_memory(cost: Cost, today: Day) -> Self {
        let ledger = Ledger::in_memory(&format!("{:016x}", random_number()));
        let database = Database::in_memory().map_err(VaultError::from);
        Self::begin(None, database, (ledger, Media::in_memory()), cost, today)
    }

    fn begin(
        path: Option<PathBuf>,
        database: Result<Database, VaultError>,
        (ledger, media): (Ledger, Media),
        cost: Cost,
        today: Day,
    ) -> Self {
        let (database, fault) = match database {
            Ok(database) => (Some(database), None),
            Err(fault) => (None, Some(fault)),
        };
        let portfolio = Self {
            inner: Mutex::new(Inner {
                path,
                database,
                ledger,
                open: None,
                watch: DateWatch::default(),
                revision: 0,
            }),
            answers: RwLock::new(None),
            changed: watch::Sender::new(()),
            media,
            cost,
        };
        let fault = fault.or_else(|| keeping::settle(&portfolio, today).err());
        if let Some(fault) = fault {
            tracing::error!(
                "the list of children cannot be read, so every class is covered: {fault}"
            );
            portfolio.lock_inner().database = None;
            portfolio.publish(None);
        }
        portfolio
    }

    pub(super) fn lock_inner(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// How it stands.
    #[must_use]
    pub fn state(&self, now: CaptureUs) -> State {
        let mut inner = self.lock_inner();
        inner.lock_if_idle(now);
        match (&inner.database, &inner.open) {
            (None, _) => State::Damaged,
            (_, None) => State::Locked,
            (_, Some(_)) => State::Open,
        }
    }

    /// Locks it.
    pub fn lock(&self) {
        self.lock_inner().open = None;
    }

    /// Locks it if nobody has looked into it for a while.
    pub fn lock_if_idle(&self, now: CaptureUs) {
        self.lock_inner().lock_if_idle(now);
    }

    /// Told when what families said may have changed, or may have become
    /// readable.
    #[must_use]
    pub fn changes(&self) -> watch::Receiver<()> {
        self.changed.subscribe()
    }

    /// The days that today may be, by the date on the clock.
    #[must_use]
    pub fn days(&self, today: Day) -> DaySpan {
        self.lock_inner().watch.days(today)
    }

    /// What is odd about today's date.
    #[must_use]
    pub fn date_doubt(&self, today: Day) -> Option<Doubt> {
        self.lock_inner().watch.doubt(today)
    }

    pub(super) fn publish(&self, known: Option<Answers>) {
        let mut answers = self.answers.write().unwrap_or_else(PoisonError::into_inner);
        *answers = known.map(Arc::new);
        drop(answers);
        self.changed.send_replace(());
    }

    /// Something that was sealed can be read now.
    pub(super) fn tell(&self) {
        self.changed.send_replace(());
    }

    /// Reads with the vault open.
    pub(super) fn read<T>(
        &self,
        moment: Moment,
        work: impl FnOnce(&Open<'_>) -> Result<T, VaultError>,
    ) -> Result<T, VaultError> {
        let mut inner = self.lock_inner();
        inner.use_now(moment.now)?;
        let watch = inner.watch;
        let (Some(database), Some(open)) = (&inner.database, &inner.open) else {
            return Err(VaultError::Locked);
        };
        work(&Open {
            rows: database.read(),
            key: &open.key,
            days: watch.days(moment.today),
        })
    }

    /// Changes something with the vault open: all of it, veils included, or
    /// nothing.
    pub(super) fn edit<T>(
        &self,
        moment: Moment,
        work: impl FnOnce(&Edit<'_>) -> Result<T, VaultError>,
    ) -> Result<T, VaultError> {
        let mut inner = self.lock_inner();
        inner.use_now(moment.now)?;
        let watch = inner.watch;
        let Inner {
            database,
            open,
            ledger,
            revision,
            ..
        } = &mut *inner;
        let (Some(database), Some(open)) = (database, open) else {
            return Err(VaultError::Locked);
        };
        let (done, answers, erased) = database.change(|change| {
            let edit = Edit {
                change,
                key: &open.key,
                erased: RefCell::new(Vec::new()),
            };
            let done = work(&edit)?;
            let answers = reckon(change, watch, moment.today)?;
            change.put_veils(&answers.veils)?;
            let erased = edit.erased.into_inner();
            // Last, so that nothing is noted that is not done; and before the
            // commit, so that a crash in between cannot forget it.
            ledger.add(&erased)?;
            Ok::<_, VaultError>((done, answers, erased))
        })?;
        *revision += 1;
        // Before anything else can fail, and before the next change can begin.
        self.publish(Some(answers));
        if !erased.is_empty() {
            database.leave_no_trace()?;
            self.erase_files(&erased);
        }
        Ok(done)
    }

    /// Remembers a list that was read, until it is taken.
    pub(super) fn remember(&self, plan: Plan, moment: Moment) -> Result<u64, VaultError> {
        let mut inner = self.lock_inner();
        inner.use_now(moment.now)?;
        let (revision, token) = (inner.revision, random_number() >> 1);
        let open = inner.open.as_mut().ok_or(VaultError::Locked)?;
        open.plan = Some((token, revision, Arc::new(plan)));
        Ok(token)
    }

    /// The list that was read.
    pub fn planned(&self, token: u64, moment: Moment) -> Result<Arc<Plan>, VaultError> {
        let mut inner = self.lock_inner();
        inner.use_now(moment.now)?;
        let open = inner.open.as_ref().ok_or(VaultError::Locked)?;
        match &open.plan {
            Some((known, revision, plan)) if *known == token => {
                if *revision == inner.revision {
                    Ok(Arc::clone(plan))
                } else {
                    Err(VaultError::Stale)
                }
            }
            _ => Err(VaultError::NotFound),
        }
    }

    pub(super) fn forget_plan(&self) {
        if let Some(open) = &mut self.lock_inner().open {
            open.plan = None;
        }
    }
}

impl Inner {
    pub(super) fn lock_if_idle(&mut self, now: CaptureUs) {
        let idle = |open: &Opened| now.since(open.used) > IDLE_US;
        if self.open.as_ref().is_some_and(idle) {
            self.open = None;
        }
    }

    pub(super) fn use_now(&mut self, now: CaptureUs) -> Result<(), VaultError> {
        self.lock_if_idle(now);
        if self.database.is_none() {
            return Err(VaultError::Damaged("its file cannot be read"));
        }
        let open = self.open.as_mut().ok_or(VaultError::Locked)?;
        open.used = open.used.max(now);
        Ok(())
    }

    pub(super) fn open_with(&mut self, key: Key, now: CaptureUs) {
        self.open = Some(Opened {
            key,
            used: now,
            plan: None,
        });
    }
}

impl Open<'_> {
    /// Every class.
    pub(super) fn classes(&self) -> Result<Vec<Class>, VaultError> {
        let rows = self.rows.classes()?;
        rows.iter().map(|row| Class::open(row, self.key)).collect()
    }

    /// Every child that is not out of time.
    pub(super) fn children(&self) -> Result<Vec<Child>, VaultError> {
        let terms = terms(&self.rows)?;
        let rows = self.rows.children()?;
        rows.iter()
            .filter(|row| keeping::child_until(row, terms) >= self.days.last)
            .map(|row| Child::open(row, self.key))
            .collect()
    }

    /// The answers of those children.
    pub(super) fn register(&self) -> Result<Register, VaultError> {
        let terms = terms(&self.rows)?;
        let there: BTreeSet<ChildId> = self
            .rows
            .children()?
            .iter()
            .filter(|row| keeping::child_until(row, terms) >= self.days.last)
            .map(|row| row.id)
            .collect();
        let rows = self.rows.consents()?;
        let records = rows.into_iter().map(|row| row.record);
        let records = records.filter(|record| there.contains(&record.child));
        Ok(Register::new(records, rule(&self.rows)?))
    }
}

/// The school's choice for families that have not answered.
pub(super) fn rule(rows: &Rows<'_>) -> Result<Option<ViewRule>, VaultError> {
    Ok(match rows.setting(answers::RULE)?.as_deref() {
        Some("opt_in") => Some(ViewRule::OptIn),
        Some("opt_out") => Some(ViewRule::OptOut),
        Some(_) => return Err(VaultError::Damaged("a setting is not as it was written")),
        None => None,
    })
}

/// For how long things are kept.
pub(super) fn terms(rows: &Rows<'_>) -> Result<Terms, VaultError> {
    let Some(text) = rows.setting(keeping::TERMS)? else {
        return Ok(Terms::default());
    };
    let days: Vec<u16> = text.split(' ').filter_map(|d| d.parse().ok()).collect();
    let [media, records, roster] = days[..] else {
        return Err(VaultError::Damaged("a setting is not as it was written"));
    };
    Terms::new(media, records, roster)
        .map_err(|_| VaultError::Damaged("a setting is not as it was written"))
}
