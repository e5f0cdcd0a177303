//! What a screen hears of the class, and that nothing comes while it waits.

use std::time::Duration;

use afterturn_core::{
    rotation::{Hold, Phase},
    wire::{Applies, CameraState, CoverReason, FromServer},
};
use serde_json::{Value, json};
use tokio::time::Instant;

use super::harness::{Gym, Heard, Screen};

pub(super) async fn press(gym: &Gym, id: &str, press: Value) -> Value {
    post(gym, "presses", &json!({ "id": id, "press": press })).await
}

async fn post(gym: &Gym, what: &str, body: &Value) -> Value {
    let asked = gym.client.post(gym.url(&format!("/api/class/{what}")));
    let asked = asked.header("origin", format!("http://{}", gym.address));
    let body = body.to_string();
    let reply = asked.body(body).send().await.unwrap();
    assert_eq!(reply.status(), 200);
    serde_json::from_str(&reply.text().await.unwrap()).unwrap()
}

async fn watching(gym: &Gym) -> Screen {
    gym.json_until("/api/stations/1", |said| {
        said["camera"]["state"] == "showing"
    })
    .await;
    let mut screen = gym.screen(1).await;
    screen.want().await;
    while !matches!(screen.next().await, Heard::Bytes(_)) {}
    screen
}

/// Reads until the server covers the glass; then for a while nothing to be seen
/// may come.
async fn covered(screen: &mut Screen, wanted: CoverReason) {
    loop {
        match screen.next().await {
            Heard::Said(FromServer::Cover { applies, reason }) => {
                assert_eq!((applies, reason), (Applies::Live, wanted));
                break;
            }
            Heard::Closed => panic!("the socket stays open"),
            Heard::Bytes(_) | Heard::Said(_) => {}
        }
    }
    let until = Instant::now() + Duration::from_millis(1_200);
    while let Some(heard) = screen.next_before(until).await {
        assert!(!matches!(heard, Heard::Bytes(_)), "a picture came");
    }
}

#[tokio::test]
async fn a_screen_hears_of_the_class_at_once_and_all_the_time() {
    let gym = Gym::with_one().await;
    let mut screen = watching(&gym).await;
    let first = screen.classes.first().expect("it was told").clone();
    let time = first.time.expect("a class runs");
    assert_eq!((time.phase, time.turn, time.hold), (Phase::WarmUp, 1, None));
    assert_eq!((first.groups.len(), first.groups[0].group.get()), (1, 1));
    let heard = screen.classes.len();
    press(&gym, "a", json!({ "press": "next" })).await;
    let until = Instant::now() + Duration::from_secs(3);
    while screen.next_before(until).await.is_some() {}
    let phases: Vec<_> = screen.classes[heard..]
        .iter()
        .map(|class| class.time.as_ref().map(|time| time.phase))
        .collect();
    assert_eq!(phases.last(), Some(&Some(Phase::Work)));
    assert!(phases.len() >= 4, "{} in three seconds", phases.len());
}

#[tokio::test]
async fn while_the_class_waits_no_picture_comes() {
    for (hold, reason, camera) in [
        (Hold::Freeze, CoverReason::Paused, CameraState::Showing),
        (Hold::Dark, CoverReason::Paused, CameraState::Showing),
        (Hold::Accident, CoverReason::Wiped, CameraState::Off),
        (Hold::Leave, CoverReason::Wiped, CameraState::Off),
    ] {
        let gym = Gym::with_one().await;
        let mut screen = watching(&gym).await;
        press(&gym, "a", json!({ "press": "hold", "hold": hold })).await;
        covered(&mut screen, reason).await;
        let told = screen.classes.last().and_then(|class| class.time.as_ref());
        assert_eq!(told.and_then(|time| time.hold), Some(hold));
        let said = gym.json("/api/stations/1").await;
        assert_eq!(said["camera"]["state"], json!(camera), "{hold:?}");
        let again = press(&gym, "a", json!({ "press": "hold", "hold": hold })).await;
        assert_eq!(again["already"], true);
        press(&gym, "b", json!({ "press": "resume", "hold": hold })).await;
        while !matches!(screen.next().await, Heard::Bytes(_)) {}
        gym.close().await;
    }
}

#[tokio::test]
async fn the_end_of_a_class_wipes_every_screen_and_ring() {
    let gym = Gym::with_one().await;
    let mut screen = watching(&gym).await;
    press(&gym, "a", json!({ "press": "end" })).await;
    covered(&mut screen, CoverReason::Wiped).await;
    assert!(screen.classes.last().expect("told").time.is_none());
    let said = gym.json("/api/stations/1").await;
    assert_eq!(
        (&said["newest_us"], &said["ring_bytes"]),
        (&Value::Null, &json!(0))
    );
    assert_eq!(
        gym.json("/health").await["status"],
        "ok",
        "off as it should be"
    );
}

#[tokio::test]
async fn a_quiet_class_sends_no_picture_until_it_is_no_more() {
    let gym = Gym::with_one().await;
    let mut screen = watching(&gym).await;
    let quiet = |on: bool| json!({ "change": "quiet", "on": on });
    let said = post(&gym, "changes", &quiet(true)).await;
    assert_eq!(said["class"]["quiet"], true);
    covered(&mut screen, CoverReason::Wiped).await;
    gym.json_until("/api/stations/1", |said| said["camera"]["state"] == "off")
        .await;
    post(&gym, "changes", &quiet(false)).await;
    while !matches!(screen.next().await, Heard::Bytes(_)) {}
}
