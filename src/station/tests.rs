use std::{
    collections::VecDeque,
    sync::{
        Mutex,
        atomic::{AtomicUsize, Ordering},
    },
    time::Duration,
};

use afterturn_core::{
    delay::Step,
    kernel::CaptureUs,
    media::{Fragment, ParameterSets, stamp::SourceStamp},
    wire::{CameraState, ViewerInfo},
};
use bytes::Bytes;
use tokio::{
    sync::watch,
    task::JoinHandle,
    time::{Instant, sleep},
};

use super::*;
use crate::av::camera::{
    AvcConfig, Camera, CameraError, CameraEvent, EventSink, NowFn, Picture, Running,
};

mod again;
mod aim;
mod fault;

/// 1280×720, Main profile, as x264 writes it.
const AVCC: &[u8] = &[
    0x01, 0x4d, 0x40, 0x1f, 0xff, 0xe1, 0x00, 0x19, 0x67, 0x4d, 0x40, 0x1f, 0xd9, 0x00, 0x50, 0x05,
    0xbb, 0x01, 0x10, 0x00, 0x00, 0x03, 0x00, 0x10, 0x00, 0x00, 0x03, 0x03, 0xc0, 0xf1, 0x83, 0x24,
    0x80, 0x01, 0x00, 0x05, 0x68, 0xeb, 0xc3, 0xcb, 0x20,
];

/// For the tests of the rooms above.
impl Station {
    /// Pictures without a camera.
    pub(crate) fn fill_for_a_test(&self, pictures: Vec<(ParameterSets, Fragment)>) {
        self.keep(|ring| {
            for (params, mut fragment) in pictures {
                ring.open_chapter(params);
                fragment.number = ring.end();
                ring.push(fragment);
            }
        });
    }

    /// Pictures that follow each other, without a camera.
    pub(crate) fn fill_one_chapter_for_a_test(
        &self,
        params: ParameterSets,
        pictures: Vec<Fragment>,
    ) {
        self.keep(|ring| {
            ring.open_chapter(params);
            for mut fragment in pictures {
                fragment.number = ring.end();
                ring.push(fragment);
            }
        });
    }

    /// No picture of it is shown anywhere.
    pub(crate) fn is_held(&self) -> bool {
        self.lock().ring.paused()
    }
}

/// What a scripted camera does each time it is started.
#[derive(Clone)]
enum Act {
    Refuse(CameraState),
    /// Sends pictures for so long, then says it ended.
    PlayThenEnd(Duration),
    /// Sends pictures for so long, then says nothing more.
    PlayThenStall(Duration),
    Format(&'static [u8]),
    /// Is a fault of the program.
    Fault,
}

/// A camera that follows a script; its last line repeats.
struct Scripted {
    script: Arc<Mutex<VecDeque<Act>>>,
    starts: Arc<AtomicUsize>,
}

struct Playing(JoinHandle<()>);

impl Running for Playing {}

impl Drop for Playing {
    fn drop(&mut self) {
        self.0.abort();
    }
}

impl Camera for Scripted {
    fn kind(&self) -> &'static str {
        "scripted"
    }

    fn start(&mut self, now: NowFn, events: EventSink) -> Result<Box<dyn Running>, CameraError> {
        self.starts.fetch_add(1, Ordering::Relaxed);
        let act = {
            let mut script = self
                .script
                .lock()
                .expect("no test panics while it holds this");
            if script.len() > 1 {
                script.pop_front()
            } else {
                script.front().cloned()
            }
        }
        .expect("a script has a line");
        let (play, end) = match act {
            Act::Refuse(state) => return Err(CameraError::new(state, "as scripted")),
            Act::Fault => panic!("as scripted"),
            Act::PlayThenEnd(time) => (time, true),
            Act::PlayThenStall(time) => (time, false),
            Act::Format(bytes) => {
                events(CameraEvent::Format(AvcConfig(Bytes::from_static(bytes))));
                (Duration::from_secs(1), true)
            }
        };
        Ok(Box::new(Playing(tokio::spawn(async move {
            events(CameraEvent::Format(AvcConfig(Bytes::from_static(AVCC))));
            let began = Instant::now();
            let mut i = 0_u64;
            while began.elapsed() < play {
                events(CameraEvent::Picture(Picture {
                    source: SourceStamp::PipelineNs(i * 33_333_333),
                    arrival: now(),
                    keyframe: i.is_multiple_of(30),
                    data: Bytes::from(vec![0; 100]),
                }));
                i += 1;
                sleep(Duration::from_nanos(33_333_333)).await;
            }
            if end {
                let error = CameraError::new(CameraState::Ended, "as scripted");
                events(CameraEvent::Ended(error));
            }
            std::future::pending::<()>().await;
        }))))
    }
}

/// A capture clock that runs with the test's paused time.
fn test_clock() -> NowFn {
    let anchor = Instant::now();
    Arc::new(move || CaptureUs(1_790_000_000_000_000).offset(anchor.elapsed().as_micros() as i64))
}

struct Stage {
    station: Arc<Station>,
    starts: Arc<AtomicUsize>,
    _stop: watch::Sender<bool>,
}

fn empty(number: i64) -> Arc<Station> {
    Station::new(
        StationConfig {
            number: number.try_into().expect("a good number"),
            title: "Low beam".to_owned(),
            delay: DelayMs::new(2_000, 30_000).expect("a good delay"),
            window_ms: 30_000,
            latency_ms: 0,
            demo: false,
        },
        test_clock(),
        &Arc::new(Memory::new(1_000_000_000)),
    )
}

fn stage(number: i64, script: &[Act]) -> Stage {
    let station = empty(number);
    let starts = Arc::new(AtomicUsize::new(0));
    let script = Arc::new(Mutex::new(script.iter().cloned().collect()));
    let camera = Box::new(Scripted {
        script,
        starts: Arc::clone(&starts),
    });
    let (stop, stopped) = watch::channel(false);
    station.capture(true);
    tokio::spawn(supervise(Arc::clone(&station), camera, stopped));
    Stage {
        station,
        starts,
        _stop: stop,
    }
}

async fn seconds(s: f64) {
    sleep(Duration::from_secs_f64(s)).await;
}

#[tokio::test(start_paused = true)]
async fn a_camera_that_plays_fills_the_ring() {
    let stage = stage(1, &[Act::PlayThenEnd(Duration::from_mins(10))]);
    assert_eq!(stage.station.state().camera, CameraState::Starting);
    seconds(10.0).await;
    let now = stage.station.state();
    assert_eq!(now.camera, CameraState::Showing);
    let held_us = now
        .newest_us
        .expect("pictures")
        .since(now.oldest_us.expect("pictures"));
    assert!((9_400_000..10_000_000).contains(&held_us), "{held_us}");
}

#[tokio::test(start_paused = true)]
async fn a_stalled_camera_is_said_within_two_and_a_half_seconds_and_opened_again() {
    let stage = stage(
        1,
        &[
            Act::PlayThenStall(Duration::from_secs(10)),
            Act::PlayThenEnd(Duration::from_mins(10)),
        ],
    );
    seconds(11.9).await;
    assert_eq!(stage.station.state().camera, CameraState::Showing);
    seconds(0.2).await;
    assert_eq!(stage.station.state().camera, CameraState::Stalled);
    seconds(2.0).await;
    assert_eq!(
        stage.station.state().camera,
        CameraState::Showing,
        "back by itself"
    );
    assert_eq!(stage.starts.load(Ordering::Relaxed), 2);
}

#[tokio::test(start_paused = true)]
async fn a_camera_that_never_answers_is_tried_more_and_more_rarely() {
    let stage = stage(1, &[Act::Refuse(CameraState::Unreachable)]);
    seconds(60.0).await;
    assert_eq!(stage.station.state().camera, CameraState::Unreachable);
    let starts = stage.starts.load(Ordering::Relaxed);
    // 0, ¼, ¾, 1¾, 3¾, 7¾, 15¾, then every ten seconds.
    assert!((9..=12).contains(&starts), "{starts} tries in a minute");
}

#[tokio::test(start_paused = true)]
async fn what_it_held_is_forgotten_although_its_camera_is_away() {
    let stage = stage(
        1,
        &[
            Act::PlayThenEnd(Duration::from_secs(5)),
            Act::Refuse(CameraState::Unreachable),
        ],
    );
    seconds(10.0).await;
    assert!(stage.station.state().newest_us.is_some());
    seconds(30.0).await;
    let info = stage.station.info();
    assert_eq!((info.newest_us, info.ring_bytes), (None, 0));
}

#[tokio::test(start_paused = true)]
async fn one_stations_failure_is_its_own() {
    let bad = stage(1, &[Act::Refuse(CameraState::NotACamera)]);
    let good = stage(2, &[Act::PlayThenEnd(Duration::from_mins(10))]);
    seconds(20.0).await;
    assert_eq!(bad.station.state().camera, CameraState::NotACamera);
    assert_eq!(good.station.state().camera, CameraState::Showing);
}

#[tokio::test(start_paused = true)]
async fn unreadable_parameter_sets_are_said_and_harm_nothing() {
    let stage = stage(
        1,
        &[
            Act::Format(b"rubbish"),
            Act::PlayThenEnd(Duration::from_mins(10)),
        ],
    );
    seconds(1.0).await;
    assert_eq!(stage.station.state().camera, CameraState::Unsuitable);
    seconds(20.0).await;
    assert_eq!(stage.station.state().camera, CameraState::Showing);
}

#[tokio::test(start_paused = true)]
async fn a_screen_gets_each_picture_a_lead_before_it_is_due() {
    let stage = stage(1, &[Act::PlayThenEnd(Duration::from_mins(10))]);
    let mut watch = Watch::new(&stage.station);
    watch.want(None);
    let mut sent: Vec<(CaptureUs, CaptureUs)> = Vec::new();
    while sent.len() < 200 {
        match watch.step() {
            Step::Send(fragment) => {
                sent.push((fragment.capture, stage.station.now()));
                let end = fragment.capture.offset(i64::from(fragment.duration_us));
                watch.report(Some(end), ViewerInfo::default());
            }
            Step::Until(until) => watch.wait_until(until).await,
            Step::Wait => watch.wait_for_more().await,
            Step::Run { .. } => {}
            other => panic!("{other:?}"),
        }
    }
    for (capture, at) in sent {
        let early_us = capture.offset(2_000_000).since(at);
        assert!((990_000..=1_000_000).contains(&early_us), "{early_us}");
    }
    assert_eq!(stage.station.info().viewers.len(), 1);
    drop(watch);
    assert!(
        stage.station.info().viewers.is_empty(),
        "a seat given up is gone"
    );
}

/// Takes what there is until it has to wait.
fn take_all(watch: &mut Watch) -> Vec<Step> {
    let mut steps = Vec::new();
    loop {
        match watch.step() {
            Step::Wait | Step::Until(_) => return steps,
            step => steps.push(step),
        }
    }
}

#[tokio::test(start_paused = true)]
async fn a_screen_that_takes_nothing_is_seen_as_such_and_what_it_misses_is_counted() {
    let stage = stage(1, &[Act::PlayThenEnd(Duration::from_mins(10))]);
    seconds(5.0).await;
    let mut watch = Watch::new(&stage.station);
    watch.want(None);
    let sent = take_all(&mut watch);
    assert!(matches!(sent.last(), Some(Step::Send(_))));
    let viewer = || stage.station.info().viewers[0];
    assert_eq!((viewer().lost_pictures, viewer().stuck_ms), (0, 0));
    // Its socket takes nothing for ten seconds; nobody speaks for it.
    seconds(10.0).await;
    assert_eq!(viewer().stuck_ms, 10_000);
    let lost = viewer().lost_pictures;
    assert!((200..300).contains(&lost), "{lost}");
    let said = take_all(&mut watch).into_iter().find_map(|step| {
        if let Step::Lost(pictures) = step {
            Some(pictures)
        } else {
            None
        }
    });
    assert_eq!(said, Some(lost), "it is told what the remote was");
    assert_eq!((viewer().lost_pictures, viewer().stuck_ms), (lost, 0));
}

#[tokio::test(start_paused = true)]
async fn a_delay_outside_its_window_is_refused_and_changes_nothing() {
    let stage = stage(1, &[Act::PlayThenEnd(Duration::from_mins(10))]);
    assert!(stage.station.set_delay(28_500).is_err());
    assert!(stage.station.set_delay(2_250).is_err());
    assert_eq!(stage.station.state().delay_ms, 2_000);
    assert!(stage.station.set_delay(28_000).is_ok());
    assert_eq!(stage.station.state().delay_ms, 28_000);
}
