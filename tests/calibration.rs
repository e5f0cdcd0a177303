//! A camera's latency, found by letting it film its station's screen: a whole
//! server in this process, a real RTSP camera in its own that films drawn bars
//! and is late by a known time.
//!
//! Needs `cargo build -p rtsp-camera` first.

#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a test fails by panicking, and explains itself"
)]

#[path = "cameras/harness.rs"]
mod cameras;
#[path = "server/harness.rs"]
mod server;

use std::time::Duration;

use afterturn::av;
use afterturn_core::kernel::CaptureUs;
use serde_json::Value;

use cameras::{RtspCamera, network};
use server::{Gym, Screen};

/// What the figure is held to.
const EXACT_MS: i64 = 20;

/// A station with this camera, showing, with one screen before it.
struct Station {
    gym: Gym,
    _camera: RtspCamera,
    _screen: Screen,
}

impl Station {
    async fn with(options: &[&str]) -> Self {
        av::init().unwrap();
        let usual = ["--size", "640x360", "--bitrate-kbps", "2000"];
        let camera = RtspCamera::start(&[&usual, options].concat());
        let gym = Gym::open(vec![Box::new(network(&camera.url, None, None))]).await;
        let screen = gym.screen(1).await;
        gym.json_until("/api/stations/1", |said| {
            said["camera"]["state"] == "showing"
        })
        .await;
        Self {
            gym,
            _camera: camera,
            _screen: screen,
        }
    }

    async fn info(&self) -> Value {
        self.gym.json("/api/stations/1").await
    }

    async fn ask(&self, order: &str) -> Value {
        self.post("calibration", order).await
    }

    async fn post(&self, path: &str, order: &str) -> Value {
        let url = self.gym.url(&format!("/api/stations/1/{path}"));
        let body = format!("{{\"order\": \"{order}\"}}");
        let answer = self.gym.client.post(url).body(body).send().await.unwrap();
        assert!(answer.status().is_success(), "{}", answer.status());
        serde_json::from_str(&answer.text().await.unwrap()).unwrap()
    }

    /// Waits until it is over, one way or the other.
    async fn outcome(&self) -> Value {
        for _ in 0..300 {
            let calibration = self.info().await["calibration"].clone();
            if calibration["state"] != "running" {
                return calibration;
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        panic!("a calibration ends within twenty seconds")
    }

    async fn calibrate(&self) -> Value {
        let begun = self.ask("start").await;
        assert_eq!(begun["calibration"]["state"], "running", "{begun}");
        self.outcome().await
    }
}

/// The figure, held to what the camera really takes; again from there; and the
/// capture times that come of it.
async fn finds(latency_ms: i64) {
    let option = latency_ms.to_string();
    let station = Station::with(&["--films-bars", "--latency-ms", &option]).await;
    for _ in 0..2 {
        let outcome = station.calibrate().await;
        assert_eq!(outcome["state"], "found", "{outcome}");
        let found = outcome["latency_ms"].as_i64().unwrap();
        println!("{latency_ms} ms: {outcome}");
        assert!(
            (found - latency_ms).abs() <= EXACT_MS,
            "{found} ms, not {latency_ms}"
        );
        let info = station.info().await;
        assert_eq!(info["latency"]["now_ms"], found);
        assert_eq!(info["latency"]["file_ms"], 0);
        // Pictures go on, and are as old as they are.
        let before = info["newest_us"].as_u64().unwrap();
        let after = station
            .gym
            .json_until("/api/stations/1", |said| {
                said["newest_us"].as_u64().unwrap() > before + 500_000
            })
            .await;
        let newest = CaptureUs(after["newest_us"].as_u64().unwrap());
        let age_ms = (station.gym.now)().since(newest) / 1000;
        assert!(age_ms >= latency_ms - EXACT_MS, "{age_ms} ms old");
    }
    station.gym.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_latency_of_100_ms_is_found() {
    finds(100).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_latency_of_250_ms_is_found() {
    finds(250).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_latency_of_400_ms_is_found() {
    finds(400).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_camera_that_looks_elsewhere_changes_nothing() {
    let station = Station::with(&[]).await;
    let outcome = station.calibrate().await;
    assert_eq!(outcome["state"], "refused", "{outcome}");
    assert_eq!(outcome["why"], "not_found", "{outcome}");
    assert_eq!(station.info().await["latency"]["now_ms"], 0);
    station.gym.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_camera_that_sees_hardly_any_light_is_told_so() {
    let station = Station::with(&["--poorly", "dark"]).await;
    let outcome = station.calibrate().await;
    assert_eq!(outcome["why"], "too_dark", "{outcome}");
    station.gym.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_hidden_is_hidden_from_a_calibration_too() {
    let station = Station::with(&["--films-bars"]).await;
    station.ask("start").await;
    station.post("orders", "pause").await;
    let outcome = station.outcome().await;
    assert_eq!(outcome["why"], "hidden", "{outcome}");
    let refused = station.ask("start").await;
    assert_eq!(refused["calibration"]["why"], "hidden", "{refused}");
    station.post("orders", "resume").await;
    station.post("orders", "cover_from_now").await;
    let refused = station.ask("start").await;
    assert_eq!(refused["calibration"]["why"], "hidden", "{refused}");
    station.gym.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_calibration_can_be_stopped_and_its_figure_forgotten() {
    let station = Station::with(&["--films-bars", "--latency-ms", "300"]).await;
    station.ask("start").await;
    let stopped = station.ask("stop").await;
    assert_eq!(stopped["calibration"]["why"], "stopped", "{stopped}");
    assert_eq!(stopped["latency"]["now_ms"], 0);
    assert_eq!(station.calibrate().await["state"], "found");
    assert_ne!(station.info().await["latency"]["now_ms"], 0);
    let forgotten = station.ask("forget").await;
    assert_eq!(forgotten["latency"]["now_ms"], 0);
    assert_eq!(forgotten["calibration"], Value::Null);
    station.gym.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_screen_or_a_camera_there_is_nothing_to_film() {
    let Station {
        gym,
        _camera: camera,
        _screen: screen,
    } = Station::with(&["--films-bars"]).await;
    drop(screen);
    gym.json_until("/api/stations/1", |said| {
        said["viewers"] == Value::Array(vec![])
    })
    .await;
    let ask = || async {
        let url = gym.url("/api/stations/1/calibration");
        let answer = gym.client.post(url).body(r#"{"order":"start"}"#).send();
        let text = answer.await.unwrap().text().await.unwrap();
        serde_json::from_str::<Value>(&text).unwrap()["calibration"]["why"].clone()
    };
    assert_eq!(ask().await, "no_screen");
    drop(camera);
    gym.json_until("/api/stations/1", |said| {
        said["camera"]["state"] != "showing"
    })
    .await;
    assert_eq!(ask().await, "no_camera");
    gym.close().await;
}
