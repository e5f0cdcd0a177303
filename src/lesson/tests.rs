//! Whole classes over stations whose cameras follow, with a clock that is set by
//! hand and a folder to be killed over.

use std::{
    collections::BTreeSet,
    sync::atomic::{AtomicU64, Ordering},
};

use afterturn_core::{
    kernel::DelayMs,
    media::{Fragment, ParameterSets},
    rotation::{
        Click, ClickedAt, Crowd, Hands, Hold, Phase, Press, Refused, StationPlan, Times, Why,
    },
    wire::{CameraState, ClassStart, InBoth, NotKnown, Order},
};
use bytes::Bytes;
use tempfile::TempDir;

use super::*;
use crate::station::{Memory, Station, StationConfig};

mod falls;
mod histories;
mod listed;
mod restarts;
mod starting;
mod today;
mod tuning;

const S: u64 = 1_000_000;
const START_US: u64 = 1_790_000_000 * S;

/// A gym whose clocks are set by hand.
struct Gym {
    /// Microseconds since the start, as time really passed.
    passed: Arc<AtomicU64>,
    /// What the capture clock is off by: it begins anew with each start.
    capture_off: Arc<AtomicU64>,
    /// What the wall clock is off by.
    wall_off: Arc<AtomicU64>,
    /// The boot of the machine, and when that was.
    boot: Arc<Mutex<(String, u64)>>,
    folder: TempDir,
    lesson: Arc<Lesson>,
    stations: Vec<Arc<Station>>,
    hands: Hands,
    in_pairs: bool,
    list: Option<List>,
    presses: AtomicU64,
}

impl Gym {
    fn open(stations: u8) -> Self {
        Self::with(stations, Hands::None)
    }

    fn with(stations: u8, hands: Hands) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let passed = Arc::new(AtomicU64::new(0));
        let wall_off = Arc::new(AtomicU64::new(0));
        let capture_off = Arc::new(AtomicU64::new(0));
        let boot = Arc::new(Mutex::new(("first".to_owned(), 0)));
        let clocks = clocks(&passed, &capture_off, &wall_off, &boot);
        let (lesson, stations) = lesson(stations, (hands, false), clocks, &folder, (None, None));
        Self {
            passed,
            capture_off,
            wall_off,
            boot,
            folder,
            lesson,
            stations,
            hands,
            in_pairs: false,
            list: None,
            presses: AtomicU64::new(0),
        }
    }

    fn wait(&self, seconds: u64) {
        self.passed.fetch_add(seconds * S, Ordering::Relaxed);
        self.lesson.with(|_, _| ());
    }

    /// What the run task does at a change.
    async fn wait_and_keep(&self, seconds: u64) {
        self.wait(seconds);
        self.lesson.keep().await;
    }

    /// The plug is pulled, and put back after a while.
    fn restart(&mut self, away_s: u64, boot: &str) {
        self.passed.fetch_add(away_s * S, Ordering::Relaxed);
        let now = self.passed.load(Ordering::Relaxed);
        {
            let mut kept = self.boot.lock().unwrap();
            if kept.0 != boot {
                *kept = (boot.to_owned(), now.saturating_sub(20 * S));
            }
        }
        let clocks = clocks(&self.passed, &self.capture_off, &self.wall_off, &self.boot);
        let count = self.stations.len() as u8;
        let heard_of = Some(CaptureUs(START_US + now - away_s * S));
        let list = self.list.clone();
        let kind = (self.hands, self.in_pairs);
        (self.lesson, self.stations) = lesson(count, kind, clocks, &self.folder, (heard_of, list));
    }

    async fn start(&self, change: impl FnOnce(&mut ClassStart)) -> Result<Started, NotStarted> {
        self.start_by(By::Teacher, change).await
    }

    async fn start_by(
        &self,
        by: By,
        change: impl FnOnce(&mut ClassStart),
    ) -> Result<Started, NotStarted> {
        let mut asked = ClassStart {
            id: format!("s{}", self.presses.fetch_add(1, Ordering::Relaxed)),
            class: "3B".to_owned(),
            grade: None,
            children: 24,
            groups: None,
            not_shown: Some(Vec::new()),
            ticked: Vec::new(),
            as_it_stands: Vec::new(),
            camera_briefing: false,
            closed: Vec::new(),
            no_spotter: false,
            crowd: Crowd::Rest,
            anew: false,
            times: None,
            lesson_s: None,
            quiet: false,
            refine: None,
        };
        change(&mut asked);
        self.lesson.start(&asked, by).await
    }

    async fn press(&self, press: Press) {
        let id = format!("{press:?} {}", self.passed.load(Ordering::Relaxed));
        self.lesson.press(&id, press, None).await.unwrap();
    }

    fn seen(&self) -> Option<(Phase, u16, u32)> {
        let time = self.lesson.info().class?.time;
        Some((time.phase, time.turn, time.left_ms / 1000))
    }

    fn cameras(&self) -> Vec<bool> {
        let is_on = |s: &Arc<Station>| s.camera_state() != CameraState::Off;
        self.stations.iter().map(is_on).collect()
    }
}

fn clocks(
    passed: &Arc<AtomicU64>,
    capture_off: &Arc<AtomicU64>,
    wall_off: &Arc<AtomicU64>,
    boot: &Arc<Mutex<(String, u64)>>,
) -> ReadClocks {
    let (passed, wall_off) = (Arc::clone(passed), Arc::clone(wall_off));
    let (boot, capture_off) = (Arc::clone(boot), Arc::clone(capture_off));
    Arc::new(move || {
        let passed = passed.load(Ordering::Relaxed);
        let (word, since) = boot.lock().unwrap().clone();
        Readings {
            capture: CaptureUs(START_US + passed + capture_off.load(Ordering::Relaxed)),
            wall_us: START_US + passed + wall_off.load(Ordering::Relaxed),
            boot_us: passed - since + 5 * S,
            boot: word,
        }
    })
}

fn lesson(
    count: u8,
    (hands, in_pairs): (Hands, bool),
    clocks: ReadClocks,
    folder: &TempDir,
    (heard_of, list): (Option<CaptureUs>, Option<List>),
) -> (Arc<Lesson>, Vec<Arc<Station>>) {
    let memory = Arc::new(Memory::new(1_000_000_000));
    let station = |n: u8| {
        let config = StationConfig {
            number: i64::from(n).try_into().unwrap(),
            title: format!("Station {n}"),
            delay: DelayMs::new(5_000, 30_000).unwrap(),
            window_ms: 30_000,
            latency_ms: 0,
            demo: false,
        };
        let clocks = Arc::clone(&clocks);
        Station::new(config, Arc::new(move || clocks().capture), &memory)
    };
    let stations: Vec<_> = (1..=count).map(station).collect();
    let numbers: Vec<_> = stations.iter().map(|s| s.config().number).collect();
    // Every class has its own set-up at station 2; station 3 may need hands.
    let setups: Setups = Arc::new(move |class, _grade| {
        let plan = |number: &StationNumber| StationPlan {
            number: *number,
            setup: match number.get() {
                2 => format!("beam for {class}"),
                _ => "mats".to_owned(),
            },
            in_pairs,
            hands: match number.get() {
                3 => hands,
                _ => Hands::None,
            },
        };
        numbers.iter().map(plan).collect()
    });
    let lesson = Lesson::open(LessonSettings {
        stations: stations.clone(),
        setups,
        in_words: plain_words(),
        unit: UnitInUse::default(),
        clocks,
        state_dir: Some(folder.path().to_owned()),
        heard_of,
        demo: false,
        list,
    });
    (lesson, stations)
}

/// As a box without a unit has them.
fn plain_words() -> InWords {
    Arc::new(|line| InBoth {
        en: line.to_owned(),
        es: line.to_owned(),
    })
}

#[tokio::test]
async fn no_class_no_camera() {
    let gym = Gym::open(4);
    assert_eq!(gym.cameras(), [false; 4]);
    gym.start(|asked| asked.closed = vec![4]).await.unwrap();
    assert_eq!(
        gym.cameras(),
        [true, true, true, false],
        "one starts closed"
    );
    let station = 2_i64.try_into().unwrap();
    gym.press(Press::Close { station }).await;
    assert_eq!(gym.cameras(), [true, false, true, false]);
    gym.press(Press::Open { station }).await;
    assert_eq!(gym.cameras(), [true, true, true, false]);
    gym.press(Press::Hold {
        hold: Hold::Accident,
    })
    .await;
    assert_eq!(gym.cameras(), [false; 4]);
    gym.press(Press::Resume {
        hold: Hold::Accident,
    })
    .await;
    assert_eq!(gym.cameras(), [true, true, true, false]);
    gym.press(Press::End).await;
    assert_eq!(gym.cameras(), [false; 4]);
    assert_eq!(gym.seen(), None);
}

#[tokio::test]
async fn the_end_wipes_every_ring_and_so_do_ten_idle_minutes() {
    let gym = Gym::open(2);
    for idle in [false, true] {
        gym.start(|asked| asked.anew = true).await.unwrap();
        for station in &gym.stations {
            station.fill_for_a_test(fragments(&gym));
            assert!(station.info().newest_us.is_some());
        }
        if idle {
            gym.press(Press::Hold { hold: Hold::Pause }).await;
            gym.wait(599);
            assert_eq!(gym.cameras(), [true; 2]);
            gym.wait(1);
        } else {
            gym.press(Press::End).await;
        }
        assert_eq!(gym.cameras(), [false; 2]);
        for station in &gym.stations {
            let info = station.info();
            assert_eq!((info.newest_us, info.ring_bytes), (None, 0));
        }
        gym.wait(5);
    }
}

/// Ten pictures, the last of them now.
fn fragments(gym: &Gym) -> Vec<(ParameterSets, Fragment)> {
    let now = (gym.lesson.settings.clocks)().capture;
    let params = ParameterSets {
        mime: String::new(),
        width_px: 2,
        height_px: 2,
        interlaced: false,
        promises_order: true,
        init: Bytes::new(),
    };
    let fragment = |i: i64| Fragment {
        number: afterturn_core::kernel::FragmentNumber(0),
        capture: now.offset((i - 9) * 100_000),
        duration_us: 100_000,
        keyframe: true,
        bytes: Bytes::from_static(b"picture"),
    };
    (0..10).map(|i| (params.clone(), fragment(i))).collect()
}

#[tokio::test]
async fn every_wait_but_a_pause_leaves_no_picture_anywhere() {
    let gym = Gym::open(2);
    gym.start(|_| ()).await.unwrap();
    let hidden = || gym.stations.iter().all(|station| station.is_held());
    for hold in Hold::ALL {
        assert!(!hidden());
        gym.press(Press::Hold { hold }).await;
        assert_eq!(hidden(), hold != Hold::Pause, "{hold:?}");
        // What is ordered at one station does not undo it.
        gym.stations[0].order(Order::Pause);
        gym.stations[0].order(Order::Resume);
        assert_eq!(hidden(), hold != Hold::Pause, "{hold:?}");
        gym.press(Press::Resume { hold }).await;
    }
    assert!(!hidden());
}

#[tokio::test]
async fn the_disc_of_time_is_told_of_the_turn_and_of_nothing_else() {
    let gym = Gym::open(2);
    assert_eq!(gym.lesson.turn(), None, "no class");
    let times = Times {
        warm_up_s: 60,
        briefing_s: 0,
        ..Times::USUAL
    };
    gym.start(|asked| asked.times = Some(times)).await.unwrap();
    assert_eq!(gym.lesson.turn(), None, "warm-up");
    gym.wait(60);
    let turn = gym.lesson.turn().unwrap();
    let began = START_US + 60 * S;
    let lasts = u64::from(times.work_s) * S;
    let whole = (CaptureUs(began), CaptureUs(began + lasts));
    assert_eq!((turn.began_us, turn.ends_us), whole);
    // Its last part is no turn of its own.
    gym.wait(u64::from(times.work_s - times.last_turn_s));
    assert_eq!(gym.lesson.turn(), Some(turn));
    gym.press(Press::Hold { hold: Hold::Pause }).await;
    assert_eq!(gym.lesson.turn(), None, "it waits");
    gym.press(Press::Resume { hold: Hold::Pause }).await;
    assert_eq!(gym.lesson.turn(), Some(turn));
    gym.wait(u64::from(times.last_turn_s));
    assert_eq!(gym.lesson.turn(), None, "gather");
}

#[tokio::test]
async fn nothing_a_group_did_is_shown_once_more_to_the_next() {
    let gym = Gym::open(2);
    gym.start(|asked| asked.children = 4).await.unwrap();
    assert_eq!(gym.stations[0].arrived_at(), None, "nobody is there yet");
    let mut arrivals = Vec::new();
    for _ in 0..3_600 {
        gym.wait(1);
        let phase = gym.lesson.with(|inner, now| {
            let class = inner.class.as_ref()?;
            Some(class.clock.face(now.capture).phase)
        });
        let at = gym.stations[0].arrived_at();
        if phase == Some(Phase::Work) && arrivals.last() != Some(&at) {
            let passed = START_US + gym.passed.load(Ordering::Relaxed);
            let at = at.expect("somebody works there").0;
            assert!(passed - at <= S, "of this turn, not of the one before");
            arrivals.push(Some(CaptureUs(at)));
        }
    }
    assert_eq!(arrivals.len(), 2, "once a turn");
    assert_eq!(gym.stations[0].arrived_at(), None, "the class is over");
}
