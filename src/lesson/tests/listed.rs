//! A class whose children are in the list: who is not to be seen is covered, the
//! vault open or locked, before and after a crash.

use afterturn_core::{
    consent::{Kind, ViewRule},
    kernel::{ChildId, Day, Name},
};

use std::sync::atomic::AtomicI32;

use super::*;
use crate::portfolio::{Cost, Moment, NewChild, Portfolio, Said};

mod unlisted;

const TODAY: Day = Day(20_782);
const WORDS: &str = "wide mat, low beam";

fn moment() -> Moment {
    Moment {
        today: TODAY,
        now: CaptureUs(START_US),
    }
}

fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

fn list(folder: &TempDir) -> List {
    list_on(folder, &Arc::new(AtomicI32::new(TODAY.0)))
}

/// The same with a date that is set by hand.
fn list_on(folder: &TempDir, date: &Arc<AtomicI32>) -> List {
    let date = Arc::clone(date);
    let today = move || Day(date.load(Ordering::Relaxed));
    List {
        portfolio: Arc::new(Portfolio::open(folder.path(), Cost::LEAST, today())),
        today: Arc::new(today),
    }
}

/// A list with the class 3B in three groups; its children by group.
fn with_3b(list: &List) -> Vec<ChildId> {
    let portfolio = &list.portfolio;
    portfolio.unlock(WORDS, moment()).unwrap();
    portfolio.choose_rule(ViewRule::OptOut, moment()).unwrap();
    let class = portfolio.add_class(name("3b"), None, moment()).unwrap();
    let child = |group| NewChild {
        given: name("Nora"),
        family: None,
        note: None,
        group: Some(group),
    };
    let add = |group| portfolio.add_child(class, child(group), moment()).unwrap();
    (1..=3).map(add).collect()
}

fn says(list: &List, child: ChildId, yes: bool) {
    let today = (list.today)();
    let said = Said {
        kind: Kind::Seen,
        yes,
        from: today,
        until: None,
        recorder: name("Ms Hall"),
    };
    let moment = Moment { today, ..moment() };
    list.portfolio.record(&[child], &said, moment).unwrap();
}

impl Gym {
    fn not_shown(&self) -> Vec<u8> {
        let inner = self.lesson.lock();
        let clock = &inner.class.as_ref().unwrap().clock;
        clock.not_shown().iter().map(|group| group.get()).collect()
    }

    /// The stations whose next picture would be hidden.
    fn hidden_now(&self) -> Vec<bool> {
        let now = self.lesson.info().now_us;
        let inner = self.lesson.lock();
        let clock = &inner.class.as_ref().unwrap().clock;
        let holds = |span: &afterturn_core::rotation::Span| {
            span.from <= now && span.to.is_none_or(|to| now < to)
        };
        let stations = self.stations.iter().map(|s| s.config().number);
        stations
            .map(|number| clock.hidden(number).iter().any(holds))
            .collect()
    }
}

#[tokio::test]
async fn who_is_not_to_be_seen_is_covered_locked_or_not_and_after_a_crash() {
    let mut gym = Gym::open(3);
    let folder = tempfile::tempdir().unwrap();
    let own = list(&folder);
    let children = with_3b(&own);
    says(&own, children[1], false);
    gym.list = Some(own.clone());
    gym.restart(1, "first");
    // The list knows the groups: nobody is asked.
    let started = gym.start(|asked| asked.not_shown = None).await.unwrap();
    assert_eq!((started.asks, started.groups), (vec![], 3));
    assert_eq!(gym.not_shown(), [2]);
    // Settled in the work of the first turn: group 2's station, and one other.
    gym.wait(400);
    assert_eq!(gym.hidden_now(), [true, true, false]);
    // A helper or a slip takes nothing away, and more can be said.
    gym.press(Press::End).await;
    gym.start(|asked| asked.not_shown = Some(vec![GroupNumber::at(2)]))
        .await
        .unwrap();
    assert_eq!(gym.not_shown(), [2, 3]);
    gym.press(Press::End).await;

    // The plug is pulled; nobody has signed in since.
    drop(own);
    gym.list = None;
    gym.list = Some(list(&folder));
    gym.restart(60, "second");
    let offered = gym.lesson.start_info().classes[0].not_shown.clone();
    let only_2 = Some(vec![GroupNumber::at(1)]);
    assert_eq!(
        offered, only_2,
        "as the list says, not as was said the last time"
    );
    let started = gym.start(|asked| asked.not_shown = None).await.unwrap();
    assert_eq!(started.asks, [], "which class it is was known before");
    assert_eq!(gym.not_shown(), [2], "and what was said once is not kept");
}

#[tokio::test]
async fn a_no_in_the_middle_of_a_class_holds_at_once_and_over_a_restart() {
    let mut gym = Gym::open(3);
    let folder = tempfile::tempdir().unwrap();
    let own = list(&folder);
    let children = with_3b(&own);
    gym.list = Some(own.clone());
    gym.restart(1, "first");
    gym.start(|asked| asked.not_shown = None).await.unwrap();
    gym.wait_and_keep(400).await;
    assert_eq!(gym.hidden_now(), [false, false, false]);
    says(&own, children[2], false);
    gym.wait_and_keep(1).await;
    assert_eq!(gym.not_shown(), [3]);
    assert!(gym.hidden_now()[2]);
    // A yes is for the next class: nobody is uncovered in the middle of one.
    says(&own, children[2], true);
    gym.wait(1);
    assert_eq!(gym.not_shown(), [3]);
    gym.list = None;
    gym.restart(10, "first");
    assert_eq!(
        gym.not_shown(),
        [3],
        "without any list, by what was written down"
    );
}

#[tokio::test]
async fn what_the_list_cannot_tell_is_asked_and_what_was_said_before_is_not_believed() {
    let mut gym = Gym::open(4);
    let folder = tempfile::tempdir().unwrap();
    let own = list(&folder);
    let children = with_3b(&own);
    // Said of 3B before there was a list.
    gym.start(|_| ()).await.unwrap();
    gym.press(Press::End).await;
    gym.list = Some(own.clone());
    own.portfolio.lock();
    gym.restart(1, "first");
    let ask = |asked: &mut ClassStart| {
        asked.not_shown = None;
        asked.anew = true;
    };
    let started = gym.start(ask).await.unwrap();
    assert_ne!(
        started.asks,
        [],
        "locked: which class that is nobody can tell"
    );
    own.portfolio.unlock(WORDS, moment()).unwrap();
    // Other groups than in the list.
    says(&own, children[0], false);
    let four = |asked: &mut ClassStart| {
        asked.not_shown = None;
        asked.groups = Some(4);
    };
    assert_ne!(gym.start(four).await.unwrap().asks, []);
    // Who stands with no group may stand with any.
    let roster = own.portfolio.roster(moment()).unwrap();
    let class = roster.classes[0].id;
    let none = [(children[0], None)].into();
    own.portfolio.set_groups(class, &none, moment()).unwrap();
    assert_eq!(gym.start(ask).await.unwrap().asks, []);
    assert_eq!(gym.not_shown(), [1, 2, 3]);
    gym.press(Press::End).await;
    // A class that is not in the list starts as it does without one.
    let other = |asked: &mut ClassStart| "1A".clone_into(&mut asked.class);
    gym.start(other).await.unwrap();
    assert_eq!(gym.not_shown(), [0_u8; 0]);
}

/// A gym of so many stations whose list is 3B's, as it stands.
fn gym_with(stations: u8, list: &List) -> Gym {
    let mut gym = Gym::open(stations);
    gym.list = Some(list.clone());
    gym.restart(1, "first");
    gym
}

const ALL_THREE: [u8; 3] = [1, 2, 3];

fn says_nothing(asked: &mut ClassStart) {
    asked.not_shown = None;
    asked.anew = true;
}

#[tokio::test]
async fn a_refusal_holds_whatever_date_the_clock_shows() {
    let folder = tempfile::tempdir().unwrap();
    let date = Arc::new(AtomicI32::new(TODAY.0));
    let own = list_on(&folder, &date);
    let children = with_3b(&own);
    says(&own, children[1], false);
    let gym = gym_with(3, &own);
    // A day or two ahead for a while, as the box looks once a day.
    date.store(TODAY.0 + 2, Ordering::Relaxed);
    own.portfolio.purge(TODAY.plus(2)).unwrap();
    for behind in [0, 1, 30, 365, 20_000] {
        date.store(TODAY.0 - behind, Ordering::Relaxed);
        let started = gym.start(says_nothing).await.unwrap();
        assert_eq!(started.asks, [], "{behind} days behind: the list knows");
        assert_eq!(gym.not_shown(), [2], "{behind} days behind");
        gym.wait(400);
        assert!(gym.hidden_now()[1], "{behind} days behind");
        gym.press(Press::End).await;
        gym.wait(1);
    }
    // What is written down while the date is behind holds like any other.
    own.portfolio.unlock(WORDS, moment()).unwrap();
    says(&own, children[2], false);
    gym.start(says_nothing).await.unwrap();
    assert_eq!(gym.not_shown(), [2, 3]);
    gym.press(Press::End).await;
    // And it does over a restart with the list locked.
    drop(gym);
    drop(own);
    let own = list_on(&folder, &date);
    let gym = gym_with(3, &own);
    let known = own.portfolio.covered(None, 3, None, TODAY).of(3);
    assert_eq!(known, ALL_THREE.into(), "nobody can tell which class it is");
    gym.start_by(By::Helper, says_nothing).await.unwrap();
    assert_eq!(gym.not_shown(), ALL_THREE);
}

#[tokio::test]
async fn a_wrong_head_count_uncovers_nobody() {
    let folder = tempfile::tempdir().unwrap();
    let own = list(&folder);
    let children = with_3b(&own);
    says(&own, children[2], false);
    for pairs in [false, true] {
        own.portfolio.unlock(WORDS, moment()).unwrap();
        let mut gym = gym_with(3, &own);
        gym.in_pairs = pairs;
        gym.restart(1, "first");
        for (by, count) in [(By::Teacher, 1), (By::Helper, 2), (By::Helper, 5)] {
            let asked = |asked: &mut ClassStart| {
                says_nothing(asked);
                asked.children = count;
            };
            gym.start_by(by, asked).await.unwrap();
            for turn in 0..3 {
                // In the middle of the work of a turn, long settled.
                gym.wait(if turn == 0 { 500 } else { 270 });
                let hidden = gym.hidden_now();
                let at = (2 + turn) % 3;
                assert!(hidden[at], "{count} children, turn {turn}: {hidden:?}");
            }
            gym.press(Press::End).await;
            gym.wait(1);
        }
    }
}
