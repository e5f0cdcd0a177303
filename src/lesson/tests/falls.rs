//! Something falls while it sees to who is covered.

use std::{
    panic::{AssertUnwindSafe, catch_unwind},
    sync::atomic::AtomicBool,
};

use afterturn_core::{
    kernel::Day,
    wire::{FailedPart, Part},
};

use super::*;
use crate::host::parts::Parts;
use crate::portfolio::{Cost, Portfolio};

const TODAY: Day = Day(20_782);

/// A gym whose list panics when it is asked who is covered, while it is told to.
fn gym(falls: &Arc<AtomicBool>) -> Gym {
    let mut gym = Gym::open(2);
    let falls = Arc::clone(falls);
    gym.list = Some(List {
        portfolio: Arc::new(Portfolio::open(gym.folder.path(), Cost::LEAST, TODAY)),
        today: Arc::new(move || {
            assert!(!falls.load(Ordering::Relaxed), "as it was told");
            TODAY
        }),
    });
    gym.restart(0, "first");
    gym
}

/// How many of its stations may show something.
fn shown(gym: &Gym) -> usize {
    gym.stations.iter().filter(|s| !s.is_held()).count()
}

#[tokio::test(start_paused = true)]
async fn when_the_class_falls_no_picture_is_shown_until_it_runs_again() {
    let falls = Arc::default();
    let gym = gym(&falls);
    gym.start(|_| ()).await.unwrap();
    let (_stop, stopped) = watch::channel(false);
    let mut parts = Parts::new(stopped);
    let failures = parts.failures();
    let lesson = Arc::clone(&gym.lesson);
    parts.run(Part::Class, move |stop| Arc::clone(&lesson).run(stop));
    let failed = |runs| {
        let part = Part::Class;
        [FailedPart { part, runs }]
    };
    sleep(Duration::from_secs(1)).await;
    assert_eq!((shown(&gym), failures.said().len()), (2, 0));
    falls.store(true, Ordering::Relaxed);
    gym.lesson.changed.send_replace(());
    sleep(Duration::from_millis(1)).await;
    assert_eq!(shown(&gym), 0);
    assert_eq!(failures.said(), failed(false));
    // Nothing that is pressed uncovers, and it stays so however long that is.
    gym.stations[0].order(Order::Pause);
    gym.stations[0].order(Order::Resume);
    sleep(Duration::from_mins(5)).await;
    assert_eq!(shown(&gym), 0);
    assert_eq!(failures.said(), failed(false));
    falls.store(false, Ordering::Relaxed);
    sleep(Duration::from_secs(11)).await;
    assert_eq!(shown(&gym), 2);
    assert_eq!(failures.said(), failed(true));
    assert!(gym.seen().is_some(), "the class goes on");
}

#[tokio::test]
async fn a_press_that_falls_half_way_changes_nothing_and_covers_until_the_class_is_gone_through() {
    let gym = gym(&Arc::default());
    gym.start(|_| ()).await.unwrap();
    let before = gym.seen();
    let fell = catch_unwind(AssertUnwindSafe(|| {
        gym.lesson.with(|inner, _| -> () {
            inner.class = None;
            panic!("half way");
        });
    }));
    assert!(fell.is_err());
    assert_eq!((gym.seen(), shown(&gym)), (before, 0));
    // Nor does the next press uncover, whoever makes it.
    gym.press(Press::Hold { hold: Hold::Pause }).await;
    gym.press(Press::Resume { hold: Hold::Pause }).await;
    assert_eq!(shown(&gym), 0);
    gym.lesson.go_through();
    assert_eq!(shown(&gym), 2);
}
