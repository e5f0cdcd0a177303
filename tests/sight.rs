//! What is said of a camera's light and focus: a whole server in this process, a
//! real RTSP camera in its own that sees badly, a real decoder.
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

use afterturn::{av, station::watch_sight};
use serde_json::Value;
use tokio::sync::watch;

use cameras::{RtspCamera, network};
use server::Gym;

/// More often than a gym needs, so that a test is not long.
const LOOK_EVERY: Duration = Duration::from_millis(300);

/// So much longer than it takes until something is said.
const LONG_ENOUGH: Duration = Duration::from_secs(8);

/// A station whose camera sees like this, and is looked at.
struct Station {
    gym: Gym,
    _camera: RtspCamera,
    _looking: watch::Sender<bool>,
}

impl Station {
    async fn with(options: &[&str]) -> Self {
        av::init().unwrap();
        let usual = ["--size", "640x360", "--bitrate-kbps", "2000"];
        let camera = RtspCamera::start(&[&usual, options].concat());
        let gym = Gym::open(vec![Box::new(network(&camera.url, None, None))]).await;
        let (looking, stop) = watch::channel(false);
        tokio::spawn(watch_sight(gym.stations.clone(), LOOK_EVERY, stop));
        gym.json_until("/api/stations/1", |said| {
            said["camera"]["state"] == "showing"
        })
        .await;
        Self {
            gym,
            _camera: camera,
            _looking: looking,
        }
    }

    async fn says(&self, sight: Value) {
        let is_so = |said: &Value| said["camera"]["sight"] == sight;
        self.gym.json_until("/api/stations/1", is_so).await;
    }

    async fn order(&self, order: &str) {
        let url = self.gym.url("/api/stations/1/orders");
        let body = format!("{{\"order\": \"{order}\"}}");
        let answer = self.gym.client.post(url).body(body).send().await.unwrap();
        assert!(answer.status().is_success(), "{}", answer.status());
    }

    /// For a while nothing is said.
    async fn stays_silent(&self) {
        let end = tokio::time::Instant::now() + LONG_ENOUGH;
        while tokio::time::Instant::now() < end {
            let said = self.gym.json("/api/stations/1").await;
            assert_eq!(said["camera"]["sight"], Value::Null);
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn each_trouble_is_said() {
    for (poorly, word) in [
        ("dark", "too_dark"),
        ("backlit", "backlit"),
        ("soft", "out_of_focus"),
    ] {
        let station = Station::with(&["--poorly", poorly]).await;
        station.says(word.into()).await;
        station.gym.close().await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_is_said_of_a_camera_that_sees_well() {
    let station = Station::with(&["--grain", "3"]).await;
    station.stays_silent().await;
    station.gym.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_hidden_is_not_looked_at() {
    let station = Station::with(&["--poorly", "dark"]).await;
    for (hide, show) in [("pause", "resume"), ("cover_from_now", "uncover")] {
        station.says("too_dark".into()).await;
        station.order(hide).await;
        station.says(Value::Null).await;
        station.stays_silent().await;
        station.order(show).await;
    }
    station.says("too_dark".into()).await;
    station.gym.close().await;
}
