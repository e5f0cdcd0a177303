//! A clicker at a screen: where the config file lets it move the class, and where
//! nothing comes of it.

use std::time::Duration;

use afterturn::{
    av::camera::Camera,
    door::{Door, Grant, Kept},
    host::clock::BootClock,
    http::ThisMachine,
    settings::{Clicker, Clickers},
};
use afterturn_core::wire::FromServer;
use serde_json::{Value, json};
use tokio::time::{Instant, sleep};

use super::harness::{Gym, Heard, PATIENCE, Screen, Scripted};

const SHORT: &str = "short";
const LONG: &str = "long";

/// Two stations whose screens' keys may do this, and the cookies of a screen of
/// each, of a board of the hall, a helper, a teacher. This machine is the teacher.
async fn gym(all: Clicker, at_1: Option<Clicker>) -> (Gym, [String; 5]) {
    let number = |n: i64| n.try_into().unwrap();
    let mut door = Door::new(Kept::default());
    let now = BootClock::start(None).now();
    let grants = [
        Grant::Screen { station: number(1) },
        Grant::Screen { station: number(2) },
        Grant::HallBoard,
        Grant::Helper,
        Grant::Teacher,
    ];
    let cookies = grants.map(|grant| format!("afterturn={}", door.open(grant, now).expose()));
    let own = at_1.map(|clicker| (number(1), clicker));
    let clickers = Clickers {
        all,
        own: own.into_iter().collect(),
    };
    let cameras: Vec<Box<dyn Camera>> = vec![Box::new(Scripted), Box::new(Scripted)];
    let kept = door.take_unkept().unwrap();
    let teacher = ThisMachine::IsTheTeacher;
    let gym = Gym::with_door(cameras, kept, teacher, clickers).await;
    (gym, cookies)
}

async fn open(gym: &Gym, path: &str, cookie: &str) -> Screen {
    let mut screen = gym.knock_at(path, &[("cookie", cookie)]).await.unwrap();
    screen.next().await;
    screen
}

async fn click(screen: &mut Screen, id: &str, click: &str) {
    let message = json!({ "type": "click", "id": id, "click": click });
    screen.say(&message.to_string()).await;
}

/// The phase, and why it waits.
async fn stands(gym: &Gym) -> (Value, Value) {
    let said = gym.json("/api/class").await;
    let time = &said["class"]["time"];
    (time["phase"].clone(), time["hold"].clone())
}

/// Waits until the class waits for this, or for nothing.
async fn holds(gym: &Gym, hold: &Value) {
    gym.json_until("/api/class", |said| said["class"]["time"]["hold"] == *hold)
        .await;
}

const TV_1: &str = "/api/stations/1/view";
const TV_2: &str = "/api/stations/2/view";
const HALL: &str = "/api/hall/view";

#[tokio::test]
async fn only_the_screens_that_the_config_file_names_move_the_class() {
    let mut presses = 0;
    for (all, at_1, rows) in [
        // Nothing is said: no screen does.
        (Clicker::default(), None, [false, false, false]),
        (Clicker::Off, Some(Clicker::Class), [true, false, false]),
        (Clicker::Class, Some(Clicker::Again), [false, true, true]),
        (Clicker::Class, None, [true, true, true]),
    ] {
        let (gym, [screen_1, screen_2, hall, helper, teacher]) = gym(all, at_1).await;
        let places = [
            (TV_1, [&screen_1, &helper, &teacher]),
            (TV_2, [&screen_2, &helper, &teacher]),
            (HALL, [&hall, &helper, &teacher]),
        ];
        for ((path, cookies), moves) in places.into_iter().zip(rows) {
            for cookie in cookies {
                let mut screen = open(&gym, path, cookie).await;
                presses += 1;
                click(&mut screen, &format!("c{presses}"), LONG).await;
                if moves {
                    holds(&gym, &json!("freeze")).await;
                } else {
                    sleep(Duration::from_millis(200)).await;
                }
                assert_eq!(stands(&gym).await.1.is_null(), !moves, "{all:?} {path}");
                let on = json!({ "press": "resume", "hold": "freeze" });
                super::lesson::press(&gym, &format!("r{presses}"), on).await;
            }
        }
        gym.close().await;
    }
}

#[tokio::test]
async fn a_clicker_goes_on_freezes_and_goes_on_again_and_mashing_does_no_more() {
    let (gym, [tv, other, ..]) = gym(Clicker::Class, None).await;
    let mut screen = open(&gym, TV_1, &tv).await;
    let mut neighbour = open(&gym, TV_2, &other).await;
    // The class has just begun: a press now would mean something else.
    click(&mut screen, "a", SHORT).await;
    sleep(Duration::from_millis(3_300)).await;
    assert_eq!(stands(&gym).await.0, "warm_up");
    for n in 0..20 {
        click(&mut screen, &format!("m{n}"), SHORT).await;
        sleep(Duration::from_millis(100)).await;
    }
    assert_eq!(stands(&gym).await.0, "work", "one answer: not its end");
    click(&mut screen, "b", LONG).await;
    holds(&gym, &json!("freeze")).await;
    // The same press again, and another screen's, change nothing.
    click(&mut screen, "b", LONG).await;
    click(&mut neighbour, "c", LONG).await;
    sleep(Duration::from_millis(700)).await;
    assert_eq!(stands(&gym).await, (json!("work"), json!("freeze")));
    click(&mut screen, "d", LONG).await;
    holds(&gym, &Value::Null).await;
    let told = screen_hears(&mut screen).await;
    assert!(told, "and its screen is told");
}

/// Whether a screen is told that the class goes on.
async fn screen_hears(screen: &mut Screen) -> bool {
    let until = Instant::now() + PATIENCE;
    while screen.next_before(until).await.is_some() {
        let time = screen.classes.last().and_then(|class| class.time.as_ref());
        if time.is_some_and(|time| time.hold.is_none()) {
            return true;
        }
    }
    false
}

#[tokio::test]
async fn where_keys_are_off_nothing_is_shown_once_more_either() {
    let (gym, [tv, other, ..]) = gym(Clicker::Again, Some(Clicker::Off)).await;
    for station in &gym.stations {
        station.set_attempt(2).unwrap();
    }
    let mut off = open(&gym, TV_1, &tv).await;
    let mut on = open(&gym, TV_2, &other).await;
    // An attempt's length has been on the glass of both.
    for path in ["/api/stations/1", "/api/stations/2"] {
        let us = |said: &Value, which: &str| said[which].as_u64().unwrap_or(0);
        let held = |said: &Value| us(said, "newest_us") - us(said, "oldest_us") > 6_000_000;
        gym.json_until(path, held).await;
    }
    assert!(shows_again(&mut on, PATIENCE).await);
    assert!(!shows_again(&mut off, Duration::from_secs(2)).await);
}

/// Whether a screen that asks for it once is shown the last attempt within this.
async fn shows_again(screen: &mut Screen, within: Duration) -> bool {
    screen.say(r#"{"type":"again"}"#).await;
    let until = Instant::now() + within;
    while let Some(heard) = screen.next_before(until).await {
        if let Heard::Said(FromServer::State(state)) = heard
            && state.again.is_some()
        {
            return true;
        }
    }
    false
}
