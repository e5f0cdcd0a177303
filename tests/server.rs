//! A whole server, asked over real sockets: what a screen is told and when,
//! what happens to one that talks rubbish, and that nobody else notices.

#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a test fails by panicking, and explains itself"
)]

#[path = "fragments/boxes.rs"]
mod boxes;
#[path = "server/clicker.rs"]
mod clicker;
#[path = "server/doors.rs"]
mod doors;
#[path = "server/harness.rs"]
mod harness;
#[path = "server/http.rs"]
mod http;
#[path = "server/lesson.rs"]
mod lesson;
#[path = "server/rubbish.rs"]
mod rubbish;
#[path = "server/sheets.rs"]
mod sheets;
#[path = "server/sockets.rs"]
mod sockets;
#[path = "server/strangers.rs"]
mod strangers;
#[path = "server/vouching.rs"]
mod vouching;

use std::time::Duration;

use afterturn::av::{
    self,
    source::network::{NetworkCamera, NetworkSettings},
};
use afterturn_core::{
    kernel::CaptureUs,
    wire::{Applies, CameraState, FromServer, PROTOCOL},
};
use bytes::Bytes;
use serde_json::json;
use tokio::time::Instant;

use harness::{Gym, Heard, PICTURE_US, Screen, Scripted};

/// One picture as a screen got it.
#[derive(Clone, Copy, Debug)]
struct Got {
    number: u32,
    capture: CaptureUs,
    end: CaptureUs,
    keyframe: bool,
}

fn got(bytes: &Bytes) -> Got {
    let read = boxes::one_picture(bytes).unwrap();
    let capture = CaptureUs(read.decode_time);
    Got {
        number: read.sequence_number,
        capture,
        end: capture.offset(read.duration.into()),
        keyframe: read.keyframe(),
    }
}

/// Reads a run's announcement, its initialisation segment and its first
/// picture.
async fn run_of(screen: &mut Screen) -> Got {
    let Heard::Said(FromServer::Run {
        mime,
        from_us,
        width_px,
        height_px,
    }) = screen.next_but_state().await
    else {
        panic!("a run first")
    };
    assert_eq!(mime, "video/mp4; codecs=\"avc1.4d401f\"");
    assert_eq!((width_px, height_px), (1280, 720));
    let Heard::Bytes(init) = screen.next_but_state().await else {
        panic!("its initialisation segment next")
    };
    let init = boxes::walk(&init).unwrap();
    assert_eq!(
        (init[0].kind, init[1].kind, init.len()),
        ("ftyp", "moov", 2)
    );
    let first = picture_of(screen).await;
    assert!(first.keyframe, "a run starts with a keyframe");
    assert_eq!(first.capture, from_us);
    first
}

async fn picture_of(screen: &mut Screen) -> Got {
    match screen.next_but_state().await {
        Heard::Bytes(bytes) => got(&bytes),
        other => panic!("a picture, not {other:?}"),
    }
}

/// Reads so many pictures, as a screen that reports what it holds; they follow
/// one another without a hole.
async fn pictures_after(screen: &mut Screen, mut last: Got, count: usize) -> Got {
    for _ in 0..count {
        let next = picture_of(screen).await;
        assert_eq!(next.number, last.number + 1);
        assert_eq!(next.capture, last.end, "no hole");
        last = next;
        screen.report(last.end).await;
    }
    last
}

#[tokio::test]
async fn hello_comes_first() {
    let gym = Gym::with_one().await;
    let before = (gym.now)();
    let mut screen = gym.screen(1).await;
    let Heard::Said(FromServer::Hello {
        protocol,
        build,
        station,
        now_us,
    }) = screen.next().await
    else {
        panic!("hello first")
    };
    assert_eq!((protocol, station), (PROTOCOL, 1));
    assert_eq!(build, gym.json("/health").await["build"]);
    assert!(before <= now_us && now_us <= (gym.now)());
}

#[tokio::test]
async fn the_clock_can_be_told_from_an_exchange() {
    let gym = Gym::with_one().await;
    let mut screen = gym.screen(1).await;
    screen.next().await;
    // The screen's clock has an epoch of its own.
    let offset_us = 1_234_567_890_123_i64;
    let mine = || (gym.now)().0 as i64 - offset_us;
    for _ in 0..20 {
        let t1 = mine();
        screen
            .say(&json!({ "type": "clock", "t1_us": t1 }).to_string())
            .await;
        let Heard::Said(FromServer::Clock {
            t1_us,
            t2_us,
            t3_us,
        }) = screen.next_but_state().await
        else {
            panic!("an answer next")
        };
        let t4 = mine();
        assert_eq!(t1_us, t1);
        assert!(t2_us <= t3_us);
        let (t2, t3) = (t2_us.0 as i64, t3_us.0 as i64);
        // RFC 5905 §8: the offset, and the delay of which half is the most by
        // which it can be wrong.
        let offset = i64::midpoint(t2 - t1, t3 - t4);
        let delay = (t4 - t1) - (t3 - t2);
        assert!(delay >= 0);
        assert!(
            (offset - offset_us).abs() <= delay / 2 + 1,
            "{offset} ± {delay}/2"
        );
    }
}

#[tokio::test]
async fn no_picture_comes_before_it_is_wanted() {
    let gym = Gym::with_one().await;
    let mut screen = gym.screen(1).await;
    let until = Instant::now() + Duration::from_secs(2);
    while let Some(heard) = screen.next_before(until).await {
        let state_or_hello = matches!(
            heard,
            Heard::Said(FromServer::Hello { .. } | FromServer::State(_))
        );
        assert!(state_or_hello, "{heard:?}");
    }
}

#[tokio::test]
async fn a_screen_hears_how_its_station_is_all_the_time() {
    let gym = Gym::with_one().await;
    gym.json_until("/api/stations/1", |said| {
        said["camera"]["state"] == "showing"
    })
    .await;
    let mut screen = gym.screen(1).await;
    screen.next().await;
    let mut last = Instant::now();
    let mut longest = Duration::ZERO;
    for _ in 0..8 {
        let Heard::Said(FromServer::State(state)) = screen.next().await else {
            panic!("a state next")
        };
        longest = longest.max(last.elapsed());
        last = Instant::now();
        assert_eq!(state.applies, Applies::Live);
        assert_eq!((state.number, state.title.as_str()), (1, "Low beam 1"));
        assert_eq!((state.delay_ms, state.window_ms), (1_000, 30_000));
        assert_eq!(state.camera, CameraState::Showing);
        assert!(state.oldest_us < state.newest_us);
    }
    // Half a second, and a tenth for a busy machine.
    assert!(longest <= Duration::from_millis(600), "{longest:?}");
}

#[tokio::test]
async fn a_run_is_announced_and_its_pictures_are_consecutive() {
    let gym = Gym::with_one().await;
    let mut screen = gym.screen(1).await;
    screen.next().await;
    screen.want().await;
    let first = run_of(&mut screen).await;
    let last = pictures_after(&mut screen, first, 75).await;
    // Another wish starts another run, where it was wished for.
    let back = first.capture.offset(40 * PICTURE_US);
    screen
        .say(&json!({ "type": "want", "from_us": back }).to_string())
        .await;
    let again = loop {
        match screen.next_but_state().await {
            Heard::Bytes(bytes) => assert!(got(&bytes).number > last.number),
            Heard::Said(FromServer::Run { from_us, .. }) => break from_us,
            other => panic!("{other:?}"),
        }
    };
    assert!(
        again <= back && back.since(again) <= 1_000_000,
        "from a keyframe before"
    );
}

#[tokio::test]
async fn a_new_delay_is_said_at_once() {
    let gym = Gym::open(vec![Box::new(Scripted), Box::new(Scripted)]).await;
    let (mut screen, mut other) = (gym.screen(1).await, gym.screen(2).await);
    for delay_ms in [4_000, 500, 28_000] {
        let asked = Instant::now();
        let patch = gym.client.patch(gym.url("/api/stations/1"));
        let response = patch
            .body(json!({ "delay_ms": delay_ms }).to_string())
            .send()
            .await;
        assert_eq!(response.unwrap().status(), 200);
        loop {
            if let Heard::Said(FromServer::State(state)) = screen.next().await
                && state.delay_ms == delay_ms
            {
                break;
            }
        }
        assert!(asked.elapsed() < Duration::from_secs(1));
    }
    let until = Instant::now() + Duration::from_millis(600);
    while let Some(heard) = other.next_before(until).await {
        if let Heard::Said(FromServer::State(state)) = heard {
            assert_eq!(state.delay_ms, 1_000, "another station's delay is its own");
        }
    }
}

/// A second of pictures, and the one that reaches past it.
const MOST_AHEAD_US: i64 = 1_000_000 + PICTURE_US;

#[tokio::test]
async fn a_screen_that_never_reports_is_sent_a_second_and_no_more() {
    let gym = Gym::with_one().await;
    let mut screen = gym.screen(1).await;
    screen.next().await;
    screen.want().await;
    let first = run_of(&mut screen).await;
    let mut last = first;
    let left_out = loop {
        match screen.next_but_state().await {
            Heard::Bytes(bytes) => last = got(&bytes),
            Heard::Said(FromServer::Lost { pictures }) => break pictures,
            other => panic!("{other:?}"),
        }
        assert!(
            last.end.since(first.capture) <= MOST_AHEAD_US,
            "{first:?} {last:?}"
        );
    };
    assert!(
        last.end.since(first.capture) >= 900_000,
        "{first:?} {last:?}"
    );
    // It said nothing while pictures fell due: those are counted, and it gets a
    // new start at a keyframe, no more than that.
    let again = run_of(&mut screen).await;
    assert_eq!(u64::from(again.number - last.number - 1), left_out);
    // Once it speaks, pictures flow.
    screen.report(again.end).await;
    pictures_after(&mut screen, again, 60).await;
}

#[tokio::test]
async fn a_dead_camera_is_its_own_stations_trouble() {
    av::init().unwrap();
    let closed = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let url = format!("rtsp://{}/cam", closed.local_addr().unwrap());
    drop(closed);
    let dead = NetworkCamera::new(NetworkSettings {
        url,
        user: None,
        password: None,
    });
    let gym = Gym::open(vec![Box::new(dead), Box::new(Scripted)]).await;
    let opened = Instant::now();
    let mut bad = gym.screen(1).await;
    bad.want().await;
    loop {
        if let Heard::Said(FromServer::State(state)) = bad.next().await
            && state.camera != CameraState::Starting
        {
            assert_eq!(state.camera, CameraState::Unreachable);
            break;
        }
    }
    assert!(
        opened.elapsed() < Duration::from_secs(2),
        "the card is late"
    );
    let mut good = gym.screen(2).await;
    good.next().await;
    good.want().await;
    let first = run_of(&mut good).await;
    // Across several tries to open the dead one.
    pictures_after(&mut good, first, 120).await;
    let health = gym.json("/health").await;
    assert_eq!(health["status"], "degraded");
    assert_eq!(
        (&health["stations"], &health["stations_showing"]),
        (&json!(2), &json!(1))
    );
    let detail = gym.json("/api/stations/1").await["camera"]["detail"].to_string();
    assert!(!detail.contains("/cam"), "{detail}");
}

#[tokio::test]
async fn a_screen_that_leaves_is_gone_from_the_list() {
    let gym = Gym::with_one().await;
    let viewers =
        |said: &serde_json::Value| said["stations"][0]["viewers"].as_array().unwrap().len();
    let (mut polite, mut abrupt) = (gym.screen(1).await, gym.screen(1).await);
    for screen in [&mut polite, &mut abrupt] {
        screen.next().await;
        screen.want().await;
    }
    let run = run_of(&mut polite).await;
    let report = json!({
        "type": "report", "buffer_end_us": run.end, "glass_us": run.capture,
        "error_us": -1_500, "dropped_pictures": 3,
    });
    polite.say(&report.to_string()).await;
    let said = gym
        .json_until("/api/stations", |said| {
            said["stations"][0]["viewers"][0]["dropped_pictures"] == 3
        })
        .await;
    assert_eq!(viewers(&said), 2);
    let first = &said["stations"][0]["viewers"][0];
    assert_eq!(
        (&first["glass_us"], &first["error_ms"]),
        (&json!(run.capture), &json!(-1.5))
    );
    // One hangs up with nothing said, the other closes as it should.
    drop(abrupt);
    gym.json_until("/api/stations", |said| viewers(said) == 1)
        .await;
    polite.socket.close(None).await.unwrap();
    gym.json_until("/api/stations", |said| viewers(said) == 0)
        .await;
}

#[tokio::test]
async fn when_the_server_stops_its_sockets_close() {
    let gym = Gym::with_one().await;
    let mut screens = [gym.screen(1).await, gym.screen(1).await];
    screens[0].want().await;
    gym.close().await;
    for screen in &mut screens {
        while !matches!(screen.next().await, Heard::Closed) {}
    }
}
