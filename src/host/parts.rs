//! The parts of the program, each a task of its own: one that panics is started
//! again, after ever longer waits, and the others go on. What failed lately is
//! known, for a remote to say.
//!
//! A part that must not leave anything uncovered sees to that itself, as it falls:
//! this only starts it again.
//!
//! Not here: what the parts do. Nor what a panic says, which nobody is to read in
//! a log: it may hold what somebody typed.

use std::{
    collections::BTreeMap,
    panic::{AssertUnwindSafe, set_hook},
    sync::{Arc, Mutex, MutexGuard, PoisonError},
    time::Duration,
};

use afterturn_core::wire::{FailedPart, Part};
use futures_util::FutureExt as _;
use tokio::{
    sync::watch,
    task::JoinSet,
    time::{Instant, sleep},
};

/// The first wait: whoever looks at a screen hardly sees that there was one.
const FIRST_WAIT: Duration = Duration::from_millis(250);
/// The longest: what fails at each start must not keep the machine busy.
const LONGEST_WAIT: Duration = Duration::from_secs(10);
/// A part that ran this long had recovered; its next failure is a first one.
const RECOVERED: Duration = Duration::from_mins(1);
/// So long it is said that a part failed. The teacher looks at the remote once in
/// a turn at least.
const SAID_FOR: Duration = Duration::from_mins(10);

/// The parts that run.
pub struct Parts {
    tasks: JoinSet<()>,
    failures: Arc<Failures>,
    stop: watch::Receiver<bool>,
}

impl Parts {
    /// None yet; all of them stop when `stop` turns true.
    #[must_use]
    pub fn new(stop: watch::Receiver<bool>) -> Self {
        Self {
            tasks: JoinSet::new(),
            failures: Arc::default(),
            stop,
        }
    }

    /// What failed lately.
    #[must_use]
    pub fn failures(&self) -> Arc<Failures> {
        Arc::clone(&self.failures)
    }

    /// Runs a part until it is told to stop; `start` makes it, the first time and
    /// after each failure. One that ends untold has failed too.
    pub fn run<F, R>(&mut self, part: Part, mut start: F)
    where
        F: FnMut(watch::Receiver<bool>) -> R + Send + 'static,
        R: Future<Output = ()> + Send + 'static,
    {
        let (failures, mut stop) = (Arc::clone(&self.failures), self.stop.clone());
        self.tasks.spawn(async move {
            let mut wait = FIRST_WAIT;
            loop {
                let began = Instant::now();
                let own = stop.clone();
                // What it held is dropped before it is made anew; what it shares
                // with others they find as it was left, as after any error.
                let run = AssertUnwindSafe(async { start(own).await });
                let _ = run.catch_unwind().await;
                if *stop.borrow() {
                    return;
                }
                if began.elapsed() >= RECOVERED {
                    wait = FIRST_WAIT;
                }
                failures.fell(part);
                tracing::error!(?part, wait_ms = wait.as_millis(), "failed; started again");
                tokio::select! {
                    _ = stop.wait_for(|stop| *stop) => return,
                    () = sleep(wait) => {}
                }
                wait = (wait * 2).min(LONGEST_WAIT);
                failures.runs_again(part);
            }
        });
    }

    /// Resolves when one of them is over, or at once if none is left to wait for.
    pub async fn one_is_over(&mut self) -> bool {
        self.tasks.join_next().await.is_some()
    }
}

/// What failed lately. The parts say it, the remote reads it.
#[derive(Debug, Default)]
pub struct Failures(Mutex<BTreeMap<Part, Failure>>);

#[derive(Debug)]
struct Failure {
    last: Instant,
    /// How many tasks of this part are about to be started again.
    down: u32,
}

impl Failures {
    /// Something of this part failed that somebody else, or nobody, starts again.
    pub fn happened(&self, part: Part) {
        self.failure(part, |_| {});
    }

    /// What some work comes to; none if it panics, which is noted then.
    pub async fn noted<T>(&self, part: Part, work: impl Future<Output = T>) -> Option<T> {
        let done = AssertUnwindSafe(work).catch_unwind().await;
        if done.is_err() {
            self.happened(part);
            tracing::error!(?part, "failed");
        }
        done.ok()
    }

    /// What is to be said now.
    #[must_use]
    pub fn said(&self) -> Vec<FailedPart> {
        let mut failures = self.lock();
        failures.retain(|_, failure| failure.down > 0 || failure.last.elapsed() < SAID_FOR);
        let said = failures.iter().map(|(part, failure)| FailedPart {
            part: *part,
            runs: failure.down == 0,
        });
        said.collect()
    }

    fn fell(&self, part: Part) {
        self.failure(part, |failure| failure.down += 1);
    }

    fn runs_again(&self, part: Part) {
        self.failure(part, |failure| failure.down -= 1);
    }

    fn failure(&self, part: Part, change: impl FnOnce(&mut Failure)) {
        let mut failures = self.lock();
        let last = Instant::now();
        let failure = failures.entry(part).or_insert(Failure { last, down: 0 });
        failure.last = last;
        change(failure);
    }

    fn lock(&self) -> MutexGuard<'_, BTreeMap<Part, Failure>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// From now on a panic says where it was and nothing else.
pub fn keep_panics_short() {
    set_hook(Box::new(|panic| {
        let place = panic.location().map(ToString::to_string);
        tracing::error!("a fault of the program at {}", place.unwrap_or_default());
    }));
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicU32, Ordering};

    use super::*;

    fn station(number: i64) -> Part {
        Part::Station {
            number: number.try_into().unwrap(),
        }
    }

    const fn failed(part: Part, runs: bool) -> FailedPart {
        FailedPart { part, runs }
    }

    /// Counts its starts, and panics while it is told to.
    fn fragile(parts: &mut Parts, part: Part, panics: u32) -> Arc<AtomicU32> {
        let starts = Arc::new(AtomicU32::new(0));
        let counted = Arc::clone(&starts);
        parts.run(part, move |mut stop| {
            let start = counted.fetch_add(1, Ordering::Relaxed);
            async move {
                assert!(start >= panics, "as it was told");
                let _ = stop.wait_for(|stop| *stop).await;
            }
        });
        starts
    }

    #[tokio::test(start_paused = true)]
    async fn a_part_that_panics_is_started_again_and_told_and_the_others_go_on() {
        let (stop, stopped) = watch::channel(false);
        let mut parts = Parts::new(stopped);
        let failures = parts.failures();
        let (one, two) = (station(1), station(2));
        let fragile_starts = fragile(&mut parts, one, 1);
        let sound_starts = fragile(&mut parts, two, 0);
        sleep(FIRST_WAIT / 2).await;
        assert_eq!(failures.said(), [failed(one, false)]);
        sleep(FIRST_WAIT).await;
        assert_eq!(fragile_starts.load(Ordering::Relaxed), 2);
        assert_eq!(sound_starts.load(Ordering::Relaxed), 1);
        assert_eq!(failures.said(), [failed(one, true)]);
        // It is said for as long as somebody may need to see it, and no longer.
        sleep(SAID_FOR).await;
        assert_eq!(failures.said(), []);
        stop.send_replace(true);
        assert!(parts.one_is_over().await && parts.one_is_over().await);
        assert!(!parts.one_is_over().await, "both, and none has failed");
        assert_eq!(failures.said(), []);
    }

    #[tokio::test(start_paused = true)]
    async fn what_fails_at_each_start_is_tried_ever_less_often_and_said_throughout() {
        let (_stop, stopped) = watch::channel(false);
        let mut parts = Parts::new(stopped);
        let failures = parts.failures();
        let starts = fragile(&mut parts, Part::Class, u32::MAX);
        sleep(Duration::from_mins(30)).await;
        // Doubling from a quarter of a second up to ten seconds.
        let tried = starts.load(Ordering::Relaxed);
        assert!((180..=190).contains(&tried), "{tried}");
        assert_eq!(failures.said(), [failed(Part::Class, false)]);
    }

    #[tokio::test(start_paused = true)]
    async fn one_that_ends_untold_is_started_again() {
        let (_stop, stopped) = watch::channel(false);
        let mut parts = Parts::new(stopped);
        let starts = Arc::new(AtomicU32::new(0));
        let counted = Arc::clone(&starts);
        parts.run(Part::Sound, move |_| {
            counted.fetch_add(1, Ordering::Relaxed);
            std::future::ready(())
        });
        sleep(FIRST_WAIT * 2).await;
        assert_eq!(starts.load(Ordering::Relaxed), 2);
    }

    #[tokio::test(start_paused = true)]
    async fn an_answer_that_panics_is_none_and_told() {
        let failures = Failures::default();
        assert_eq!(failures.noted(Part::Pages, async { 7 }).await, Some(7));
        assert_eq!(failures.said(), []);
        let none: Option<()> = failures.noted(Part::Pages, async { panic!("no") }).await;
        assert!(none.is_none());
        assert_eq!(failures.said(), [failed(Part::Pages, true)]);
    }
}
