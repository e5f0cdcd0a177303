//! Whole classes over stations whose cameras follow, with a clock that is set by
//! hand and a folder to be killed over.

use std::sync::atomic::{AtomicU64, Ordering};

use afterturn_core::{
    kernel::DelayMs,
    media::{Fragment, ParameterSets},
    rotation::{Crowd, Hands, Hold, Phase, Times, Why},
    wire::{CameraState, ClassStart, Order},
};
use bytes::Bytes;
use tempfile::TempDir;

use super::*;
use crate::station::{Memory, StationConfig};

const S: u64 = 1_000_000;
const START_US: u64 = 1_790_000_000 * S;

/// A gym whose clocks are set by hand.
struct Gym {
    /// Microseconds since the start, as time really passed.
    passed: Arc<AtomicU64>,
    /// What the wall clock is off by.
    wall_off: Arc<AtomicU64>,
    /// The boot of the machine, and when that was.
    boot: Arc<Mutex<(String, u64)>>,
    folder: TempDir,
    lesson: Arc<Lesson>,
    stations: Vec<Arc<Station>>,
    hands: Hands,
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
        let boot = Arc::new(Mutex::new(("first".to_owned(), 0)));
        let clocks = clocks(&passed, &wall_off, &boot);
        let (lesson, stations) = lesson(stations, hands, clocks, &folder, None);
        Self {
            passed,
            wall_off,
            boot,
            folder,
            lesson,
            stations,
            hands,
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
        let clocks = clocks(&self.passed, &self.wall_off, &self.boot);
        let count = self.stations.len() as u8;
        let heard_of = Some(CaptureUs(START_US + now - away_s * S));
        (self.lesson, self.stations) = lesson(count, self.hands, clocks, &self.folder, heard_of);
    }

    async fn start(&self, change: impl FnOnce(&mut ClassStart)) -> Result<Started, NotStarted> {
        let mut asked = ClassStart {
            id: format!("s{}", self.presses.fetch_add(1, Ordering::Relaxed)),
            class: "3B".to_owned(),
            children: 24,
            groups: None,
            not_shown: Some(Vec::new()),
            ticked: Vec::new(),
            closed: Vec::new(),
            no_spotter: false,
            crowd: Crowd::Rest,
            anew: false,
            times: None,
            lesson_s: None,
        };
        change(&mut asked);
        self.lesson.start(&asked).await
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
    wall_off: &Arc<AtomicU64>,
    boot: &Arc<Mutex<(String, u64)>>,
) -> ReadClocks {
    let (passed, wall_off) = (Arc::clone(passed), Arc::clone(wall_off));
    let boot = Arc::clone(boot);
    Arc::new(move || {
        let passed = passed.load(Ordering::Relaxed);
        let (word, since) = boot.lock().unwrap().clone();
        Readings {
            capture: CaptureUs(START_US + passed),
            wall_us: START_US + passed + wall_off.load(Ordering::Relaxed),
            boot_us: passed - since + 5 * S,
            boot: word,
        }
    })
}

fn lesson(
    count: u8,
    hands: Hands,
    clocks: ReadClocks,
    folder: &TempDir,
    heard_of: Option<CaptureUs>,
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
    let setups: Setups = Arc::new(move |class| {
        let plan = |number: &StationNumber| StationPlan {
            number: *number,
            setup: match number.get() {
                2 => format!("beam for {class}"),
                _ => "mats".to_owned(),
            },
            in_pairs: false,
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
        clocks,
        state_dir: Some(folder.path().to_owned()),
        heard_of,
        demo: false,
    });
    (lesson, stations)
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
async fn killed_at_random_moments_it_is_in_the_right_phase_to_the_second() {
    let mut random = 777_u64;
    let mut next = |below: u64| {
        random = random
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (random >> 33) % below
    };
    for round in 0..20 {
        let mut gym = Gym::open(8);
        gym.start(|_| ()).await.unwrap();
        // Written down at each change, as the running program does.
        let mut left_s = next(2_400);
        while left_s > 0 {
            let step_s = left_s.min(1 + next(20));
            gym.wait_and_keep(step_s).await;
            left_s -= step_s;
        }
        let away_s = next(120);
        let boot = if round % 2 == 0 { "first" } else { "second" };
        let mut straight = gym.lesson.lock().class.clone().unwrap().clock;
        gym.restart(away_s, boot);
        let now = (gym.lesson.settings.clocks)().capture;
        straight.advance(now);
        let face = straight.face(now);
        let wanted = (face.phase, face.turn + 1, (face.left_us / 1_000_000) as u32);
        assert_eq!(gym.seen(), (!straight.is_done()).then_some(wanted));
    }
}

#[tokio::test]
async fn a_wall_clock_wrong_by_a_year_is_asked_about_and_no_camera_is_on() {
    for boot in ["first", "second"] {
        for (answer, wanted) in [
            (AnswerAfterRestart::GoOn, Some((Phase::WarmUp, 1, 100))),
            (AnswerAfterRestart::AsItWas, Some((Phase::WarmUp, 1, 140))),
            (AnswerAfterRestart::End, None),
        ] {
            let mut gym = Gym::open(4);
            gym.start(|_| ()).await.unwrap();
            gym.wait_and_keep(100).await;
            gym.wall_off.store(365 * 86_400 * S, Ordering::Relaxed);
            gym.restart(40, boot);
            assert_eq!((gym.seen(), gym.cameras()), (None, vec![false; 4]));
            let asks = gym.lesson.info().asks.expect("it asks");
            assert_eq!(asks.title, "3B");
            if boot == "first" {
                assert_eq!(asks.why, Why::WallClock);
                assert_eq!(asks.going_on.left_ms / 1000, 100);
                assert!(gym.lesson.answer(answer).await);
                assert!(
                    !gym.lesson.answer(answer).await,
                    "the other remote was first"
                );
                assert_eq!(gym.seen(), wanted);
                assert_eq!(gym.cameras(), vec![wanted.is_some(); 4]);
            }
            assert_eq!(asks.as_it_was.left_ms / 1000, 140);
            // Nobody says anything: over.
            gym.wait(601);
            if boot == "second" {
                assert!(gym.lesson.info().asks.is_none() && gym.seen().is_none());
            }
        }
    }
}

#[tokio::test]
async fn start_remembers_the_class_and_asks_for_what_nobody_said() {
    let mut gym = Gym::open(4);
    let asked = gym.start(|asked| asked.not_shown = None).await.unwrap();
    assert_eq!(asked.asks, [afterturn_core::wire::StartAsk::NotShown]);
    assert_eq!((gym.seen(), gym.cameras()), (None, vec![false; 4]));
    let group = afterturn_core::rotation::GroupNumber::at(1);
    let started = gym.start(|asked| asked.not_shown = Some(vec![group])).await;
    assert_eq!(started.unwrap().asks, []);
    gym.press(Press::End).await;
    gym.restart(3_600, "second");
    let again = gym.start(|asked| asked.not_shown = None).await.unwrap();
    assert_eq!(again.asks, [], "it was said before");
    assert!(gym.lesson.info().class.unwrap().groups[1].covered);
    // A press that came twice, another remote, another class.
    assert!(gym.start(|asked| asked.id = "t".to_owned()).await.is_ok());
    let twice = |asked: &mut ClassStart| asked.id = "s1".to_owned();
    assert!(gym.start(twice).await.is_ok());
    let other = gym.start(|asked| "1A".clone_into(&mut asked.class)).await;
    assert_eq!(other, Err(NotStarted::Running("3B".to_owned())));
    gym.press(Press::End).await;
    assert_eq!(gym.start(twice).await, Err(NotStarted::Over));
    assert_eq!(gym.cameras(), [false; 4]);
    let other = gym.start(|asked| {
        "1A".clone_into(&mut asked.class);
        asked.not_shown = None;
    });
    assert_ne!(other.await.unwrap().asks, [], "nobody said so of 1A");
}

#[tokio::test]
async fn what_was_not_set_up_anew_and_what_nobody_spots_starts_closed() {
    let gym = Gym::with(4, Hands::Close);
    gym.start(|_| ()).await.unwrap();
    assert_eq!(
        gym.cameras(),
        [true; 4],
        "the first class finds its own rig"
    );
    gym.press(Press::End).await;
    gym.start(|asked| "1A".clone_into(&mut asked.class))
        .await
        .unwrap();
    assert_eq!(
        gym.cameras(),
        [true, false, true, true],
        "nobody ticked station 2"
    );
    gym.press(Press::End).await;
    let known = gym.lesson.start_info().classes;
    let changes = |title: &str| {
        let class = known.iter().find(|known| known.title == title).unwrap();
        class
            .changes
            .iter()
            .map(|c| c.station.get())
            .collect::<Vec<_>>()
    };
    assert_eq!((changes("3B"), changes("1A")), (vec![], vec![2]));
    let start = gym.start(|asked| {
        "1A".clone_into(&mut asked.class);
        asked.ticked = vec![2];
        asked.no_spotter = true;
        asked.anew = true;
    });
    start.await.unwrap();
    assert_eq!(gym.cameras(), [true, true, false, true]);
}

#[tokio::test]
async fn a_circuit_goes_on_in_the_next_lesson() {
    let mut gym = Gym::open(4);
    let times = Times {
        warm_up_s: 0,
        briefing_s: 0,
        ..Times::USUAL
    };
    gym.start(|asked| asked.times = Some(times)).await.unwrap();
    gym.wait(270 + 200);
    gym.press(Press::End).await;
    let known = gym.lesson.start_info().classes;
    assert_eq!((known[0].goes_on_with, known[0].turns), (Some(3), Some(4)));
    gym.restart(7 * 86_400, "second");
    gym.start(|_| ()).await.unwrap();
    assert_eq!(gym.seen(), Some((Phase::Work, 3, 240)));
    gym.press(Press::End).await;
    gym.start(|asked| asked.anew = true).await.unwrap();
    assert_eq!(gym.seen(), Some((Phase::Work, 1, 240)));
}

#[tokio::test]
async fn an_accident_is_noted_and_outlives_the_class() {
    let mut gym = Gym::open(3);
    gym.start(|_| ()).await.unwrap();
    gym.press(Press::Hold {
        hold: Hold::Accident,
    })
    .await;
    let station = 2_i64.try_into().unwrap();
    gym.press(Press::AccidentAt { station }).await;
    gym.press(Press::End).await;
    gym.restart(60, "second");
    let noted = gym.lesson.start_info().accidents;
    assert_eq!(noted.len(), 1);
    assert_eq!(
        (noted[0].station, noted[0].setup.as_str()),
        (Some(station), "beam for 3B")
    );
    assert_eq!(noted[0].wall_ms, START_US / 1000);
}

#[tokio::test]
async fn a_damaged_journal_is_put_aside_and_no_camera_is_on() {
    let mut gym = Gym::open(2);
    gym.start(|_| ()).await.unwrap();
    std::fs::write(gym.folder.path().join("class.json"), b"{\"class\": {").unwrap();
    gym.restart(5, "first");
    assert_eq!((gym.seen(), gym.cameras()), (None, vec![false; 2]));
    assert!(gym.folder.path().join("class.damaged.json").exists());
}
