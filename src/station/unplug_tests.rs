//! Two USB cameras on stand-ins for the kernel's devices, everything behind these
//! as it is: one is unplugged while it sends and comes back, the other's station
//! never notices.

use std::{
    fs,
    path::{Path, PathBuf},
    time::{Duration, Instant},
};

use afterturn_core::wire::CameraState;
use tokio::time::sleep;

use super::*;
use crate::av::{
    encode::Encoding,
    source::usb::{UsbCamera, scripted},
};

/// Longer than anything here takes; only a failure waits it out.
const PATIENCE: Duration = Duration::from_secs(30);

fn station(
    number: i64,
    device: PathBuf,
    now: &NowFn,
    stop: &channel::Receiver<bool>,
) -> Arc<Station> {
    let config = StationConfig {
        number: number.try_into().expect("a good number"),
        title: "Low beam".to_owned(),
        delay: DelayMs::new(2_000, 30_000).expect("a good delay"),
        window_ms: 30_000,
        latency_ms: 65,
        demo: false,
    };
    let station = Station::new(
        config,
        Arc::clone(now),
        &Arc::new(Memory::new(1_000_000_000)),
    );
    let camera = Box::new(UsbCamera::scripted(device, Encoding::default()));
    station.capture(true);
    tokio::spawn(supervise(Arc::clone(&station), camera, stop.clone()));
    station
}

async fn until(what: &str, holds: impl Fn() -> bool) {
    let end = Instant::now() + PATIENCE;
    while !holds() {
        assert!(Instant::now() < end, "not in time: {what}");
        sleep(Duration::from_millis(20)).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_camera_unplugged_while_sending_comes_back_and_no_other_station_notices() {
    crate::av::init().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let plug = |name: &str| {
        let device = folder.path().join(name);
        fs::write(&device, scripted::JPEG).unwrap();
        device
    };
    let (one, other) = (plug("one"), plug("other"));
    let began = Instant::now();
    let now: NowFn =
        Arc::new(move || CaptureUs(1_790_000_000_000_000 + began.elapsed().as_micros() as u64));
    let (_stop, stopped) = channel::channel(false);
    let unplugged = station(1, one.clone(), &now, &stopped);
    let beside = station(2, other, &now, &stopped);
    let shows = |station: &Station| station.camera_state() == CameraState::Showing;
    until("both show", || shows(&unplugged) && shows(&beside)).await;
    let since = beside.info().camera.since_us;

    for _ in 0..2 {
        let before = unplugged.info().newest_us.expect("a picture");
        pull_the_plug(&one, &unplugged).await;
        fs::write(&one, scripted::JPEG).unwrap();
        until("it is back", || shows(&unplugged)).await;
        let newest = || unplugged.info().newest_us;
        until("pictures of now", || {
            newest() > Some(before.offset(1_000_000))
        })
        .await;
    }

    let beside_now = beside.info();
    assert_eq!(beside_now.camera.since_us, since, "it was disturbed");
    let held = beside_now.newest_us.zip(beside_now.oldest_us);
    let (newest, oldest) = held.expect("it has pictures all the while");
    assert!(newest.since(oldest) > 2_000_000, "{newest:?} {oldest:?}");
}

async fn pull_the_plug(device: &Path, station: &Station) {
    fs::remove_file(device).unwrap();
    until("it is missed", || {
        station.camera_state() == CameraState::Unreachable
    })
    .await;
    let said = station.info().camera.detail;
    assert!(said.contains("not plugged in"), "{said}");
    // What was seen is still there; nothing new is.
    assert!(station.info().newest_us.is_some());
    assert!(
        station.newest_seen().is_none(),
        "an old picture is none of now"
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_picture_of_a_camera_in_use_is_the_rings_and_hides_what_the_ring_hides() {
    crate::av::init().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let device = folder.path().join("one");
    fs::write(&device, scripted::RAW).unwrap();
    let began = Instant::now();
    let now: NowFn =
        Arc::new(move || CaptureUs(1_790_000_000_000_000 + began.elapsed().as_micros() as u64));
    let (_stop, stopped) = channel::channel(false);
    let station = station(1, device, &now, &stopped);
    assert!(station.newest_seen().is_none(), "nothing was seen yet");
    until("a picture", || station.newest_seen().is_some()).await;
    let (_, keyframe, chapter) = station.newest_seen().unwrap();
    let jpeg = crate::av::still::of_keyframe(&chapter.params, keyframe.access_unit()).unwrap();
    // ITU-T T.81 Table B.1: SOI begins a picture, EOI ends it.
    assert!(jpeg.starts_with(&[0xff, 0xd8]) && jpeg.ends_with(&[0xff, 0xd9]));
    for hide in [Order::Pause, Order::CoverFromNow] {
        let (number, ..) = station.newest_seen().unwrap();
        assert!(station.is_seen_still(number));
        station.order(hide);
        // What was taken before a cover is still to be seen, late.
        assert_eq!(station.is_seen_still(number), hide == Order::CoverFromNow);
        sleep(Duration::from_millis(1500)).await;
        assert!(station.newest_seen().is_none(), "{hide:?}");
        station.order(if hide == Order::Pause {
            Order::Resume
        } else {
            Order::Uncover
        });
        until("it may be seen again", || station.newest_seen().is_some()).await;
    }
}
