//! The running class: the class clock with everything it moves.
//!
//! - [`Lesson`]: commands in ([`Lesson::start`], [`Lesson::press`], and what is
//!   pressed at screens, [`Lesson::click`]), news out ([`Lesson::changes`]). It
//!   switches the stations' cameras on and off, covers whom it has to, and is
//!   written down at each change; a press is answered when it is.
//! - [`Lesson::info`], [`Lesson::screen`]: how it stands.
//! - [`Lesson::run`]: lets the time pass.
//! - `book`: what is remembered of classes from one lesson to the next; `today`:
//!   what is set for one class and ends with it.
//! - `tuning`: what a class has otherwise than the unit, a delay or a cue; `kept`:
//!   what becomes of it when the class is over.
//! - `list`: which groups families do not want seen, from the vault, nameless;
//!   `cover`: what that and what somebody says come to.
//!
//! **No class, no camera**: a camera is on while a class runs and its station is
//! open in it. The drawn demo scene is exempt, and its pages say so.
//!
//! Not here: what a press does to the clock (the core), who may press (the
//! door), HTTP.

mod book;
mod closed;
mod cover;
mod falls;
mod interrupted;
mod kept;
mod list;
mod press;
mod settings;
mod start;
mod today;
mod tuning;
mod views;
mod who;

use std::{
    sync::{Arc, Mutex, MutexGuard, PoisonError, atomic::AtomicBool},
    time::Duration,
};

use afterturn_core::{
    kernel::{CaptureUs, StationNumber},
    rotation::{GroupNumber, Phase, Readings, Tuning},
    wire::AnswerAfterRestart,
};
use tokio::{
    sync::watch,
    task::spawn_blocking,
    time::{sleep, timeout},
};

use crate::store::json;

use book::{Book, Journal, Running};
pub use cover::By;
use interrupted::{ASKED_US, Asking};
pub use kept::NotKept;
pub use list::{List, Today};
pub use settings::{InWords, LessonSettings, ReadClocks, Setups};
pub(crate) use start::BETWEEN_LINES;
pub use start::{NotStarted, Started};
pub use tuning::{NotPinned, NotUsed, UnitInUse};
pub use who::{Nobody, Whose};

/// The files in the state directory.
const JOURNAL: &str = "class";
const BOOK: &str = "classes";
/// A timer may be late by a little; a long sleep is looked after meanwhile.
const LONGEST_SLEEP: Duration = Duration::from_secs(5);

/// See the module.
pub struct Lesson {
    settings: LessonSettings,
    inner: Mutex<Inner>,
    /// Told at every change.
    changed: watch::Sender<()>,
    /// Something fell while it was at work, and the class has not been gone
    /// through since.
    fell: AtomicBool,
    /// One writer at a time, so that the newest is what stays.
    writing: tokio::sync::Mutex<()>,
}

#[derive(Clone, Default)]
struct Inner {
    class: Option<Running>,
    asking: Option<Asking>,
    book: Book,
    /// What was set while no class ran: it ends with the program.
    free: Tuning,
    unkept_class: bool,
    unkept_book: bool,
    /// What was there to see last: the last turn begins without any other
    /// change.
    seen: Option<Phase>,
}

impl Lesson {
    /// The lesson as it was left, its cameras on or off accordingly.
    #[must_use]
    pub fn open(settings: LessonSettings) -> Arc<Self> {
        let mut inner = Inner::default();
        if let Some(folder) = &settings.state_dir {
            let (journal, warning): (Journal, _) = json::load(folder, JOURNAL);
            let (book, book_warning) = json::load(folder, BOOK);
            for warning in [warning, book_warning].into_iter().flatten() {
                tracing::warn!("{warning}");
            }
            inner.book = book;
            inner.found(journal.class, &(settings.clocks)());
        }
        let lesson = Arc::new(Self {
            settings,
            inner: Mutex::new(inner),
            changed: watch::Sender::new(()),
            fell: AtomicBool::new(false),
            writing: tokio::sync::Mutex::new(()),
        });
        lesson.with(|_, _| ());
        lesson
    }

    /// Told whenever there is something new to see.
    #[must_use]
    pub fn changes(&self) -> watch::Receiver<()> {
        self.changed.subscribe()
    }

    /// The capture clock.
    #[must_use]
    pub fn now(&self) -> CaptureUs {
        (self.settings.clocks)().capture
    }

    /// Lets the time pass until told to stop.
    pub async fn run(self: Arc<Self>, mut stop: watch::Receiver<bool>) {
        let mut changes = self.changes();
        let list = self.settings.list.as_ref();
        let mut answers = list.map(List::changes);
        let _falls = self.covers_if_it_falls();
        loop {
            changes.mark_unchanged();
            if self.settings.demo && self.lock().class.is_none() {
                self.start_demo();
            }
            self.go_through();
            self.keep().await;
            let wait = self.until_next_change();
            let answered = tokio::select! {
                biased;
                _ = stop.wait_for(|stop| *stop) => return,
                () = changed(&mut answers) => true,
                _ = changes.changed() => false,
                () = sleep(wait.min(LONGEST_SLEEP)) => false,
            };
            // A no is off every screen as soon as it is written down.
            if answered {
                self.list_changed().await;
            }
        }
    }

    /// Answers for a class that was interrupted; says whether one was.
    pub async fn answer(&self, answer: AnswerAfterRestart) -> bool {
        let heard_of = self.settings.heard_of;
        let answered = self.with(|inner, now| {
            let Some(asking) = inner.asking.take() else {
                return false;
            };
            tracing::info!(?answer, "interrupted class");
            inner.unkept_class = true;
            inner.class = Some(asking.answered(answer, heard_of, now));
            true
        });
        self.keep().await;
        answered
    }

    /// The groups that worked at a station at a capture time, as far as the class
    /// that runs can tell.
    #[must_use]
    pub fn who(&self, station: StationNumber, at: CaptureUs) -> Vec<GroupNumber> {
        let inner = self.lock();
        let class = inner.class.as_ref();
        class.map_or_else(Vec::new, |class| class.clock.history().who(station, at))
    }

    /// Works on the class as it stands now, moves the stations accordingly, and
    /// tells everybody if anything is new.
    ///
    /// All of it or nothing: what panics leaves the class as it was, and covered.
    fn with<T>(&self, work: impl FnOnce(&mut Inner, &Readings) -> T) -> T {
        let mut inner = self.lock();
        let falls = self.covers_if_it_falls();
        let mut next = inner.clone();
        let now = (self.settings.clocks)();
        next.pass(&now);
        let list = self.settings.list.as_ref();
        next.unkept_class |= list::cover(list, next.class.as_mut());
        let done = work(&mut next, &now);
        let ended = next.settle(&now);
        *inner = next;
        self.move_stations(&inner);
        self.move_delays(&inner);
        let class = inner.class.as_ref();
        let phase = class.map(|class| class.clock.face(now.capture).phase);
        let turned = std::mem::replace(&mut inner.seen, phase) != phase;
        let news = inner.unkept_class || ended || turned;
        drop(falls);
        drop(inner);
        if news {
            self.changed.send_replace(());
        }
        done
    }

    /// Writes down what has changed.
    async fn keep(&self) {
        let Some(folder) = self.settings.state_dir.clone() else {
            let mut inner = self.lock();
            (inner.unkept_class, inner.unkept_book) = (false, false);
            return;
        };
        let _one = self.writing.lock().await;
        let (journal, book) = self.take_unkept();
        if journal.is_none() && book.is_none() {
            return;
        }
        // The book first: a class that has left the journal is in it.
        let saving = spawn_blocking(move || {
            if let Some(book) = &book {
                json::save(&folder, BOOK, book)?;
            }
            if let Some(journal) = &journal {
                json::save(&folder, JOURNAL, journal)?;
            }
            Ok::<_, std::io::Error>(())
        });
        // A disk that hangs must not stop the class.
        match timeout(Duration::from_secs(2), saving).await {
            Ok(Ok(Ok(()))) => {}
            Ok(Ok(Err(error))) => tracing::error!("the class cannot be written down: {error}"),
            Ok(Err(_)) | Err(_) => tracing::error!("the class could not be written down in time"),
        }
    }

    fn take_unkept(&self) -> (Option<Journal>, Option<Book>) {
        let mut inner = self.lock();
        let now = (self.settings.clocks)();
        let journal = std::mem::take(&mut inner.unkept_class).then(|| Journal {
            class: inner.class.as_ref().map(|class| class.read_at(now)),
        });
        let book = std::mem::take(&mut inner.unkept_book).then(|| inner.book.clone());
        (journal, book)
    }

    fn until_next_change(&self) -> Duration {
        let now = (self.settings.clocks)().capture;
        let inner = self.lock();
        let class = inner.class.as_ref();
        let next = class.and_then(|class| class.clock.next_change(now));
        let asked = inner.asking.as_ref();
        let next = next.or(asked.map(|asking| asking.since.offset(ASKED_US)));
        let us = next.map_or(i64::MAX, |next| next.since(now).max(0));
        Duration::from_micros(us as u64)
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Waits for news of the list, if there is one.
async fn changed(answers: &mut Option<watch::Receiver<()>>) {
    if let Some(answers) = answers
        && answers.changed().await.is_ok()
    {
        return;
    }
    // Nothing will ever change.
    std::future::pending::<()>().await;
}

impl Inner {
    /// The time that has passed since anybody looked.
    fn pass(&mut self, now: &Readings) {
        if let Some(class) = &mut self.class {
            self.unkept_class |= class.clock.advance(now.capture);
        }
        let waited = |asking: &mut Asking| now.capture.since(asking.since) >= ASKED_US;
        if let Some(asking) = self.asking.take_if(waited) {
            let over = asking.answered(AnswerAfterRestart::End, None, now);
            self.class = Some(over);
            self.unkept_class = true;
        }
    }

    /// A class that is over leaves what is to be remembered of it.
    fn settle(&mut self, now: &Readings) -> bool {
        let Some(class) = self.class.take_if(|class| class.clock.is_done()) else {
            return false;
        };
        tracing::info!("the class is over; the cameras are off");
        if !class.demo {
            self.book.ended(&class, now.capture);
            self.unkept_book = true;
        }
        self.unkept_class = true;
        true
    }
}

#[cfg(test)]
mod tests;
