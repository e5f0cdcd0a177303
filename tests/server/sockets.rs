//! What may be said over a station's socket, and by whom: the table of every
//! message and every role, and of what is no message there.

use std::time::Duration;

use afterturn::{
    door::{Door, Grant, Kept},
    host::clock::BootClock,
};
use afterturn_core::wire::{FromScreen, FromServer};
use futures_util::SinkExt;
use tokio::time::Instant;
use tokio_tungstenite::tungstenite::Message;

use super::{
    doors::with,
    harness::{Gym, Heard, PATIENCE, Screen},
    pictures_after, run_of,
};

/// What comes of a message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Comes {
    /// Pictures.
    Pictures,
    /// The time.
    Time,
    /// It is taken, and nothing is answered.
    Nothing,
    /// It is refused, and the socket closed.
    Refused,
    /// There is no socket, for want of a session or of the right.
    Shut(u16),
}
use Comes::{Nothing, Pictures, Refused, Shut, Time};

/// The columns: a role, where it has one that of station 1, or nobody.
const ASKERS: [&str; 5] = ["teacher", "helper", "screen", "camera", "nobody"];
const OPEN: [Option<u16>; 5] = [None, None, None, None, Some(401)];
const ELSEWHERE: [Option<u16>; 5] = [None, None, Some(403), Some(403), Some(401)];

/// Every message, and what comes of it for whoever has a socket. What is not
/// listed is refused: no order goes this way, whoever gives it.
const TABLE: &[(&str, Comes)] = &[
    (r#"{"type":"want","from_us":null}"#, Pictures),
    (r#"{"type":"clock","t1_us":1}"#, Time),
    (
        r#"{"type":"report","buffer_end_us":null,"glass_us":null,"error_us":null,"dropped_pictures":0}"#,
        Nothing,
    ),
    // Answered by what the state says, if there is anything to show again.
    (r#"{"type":"again"}"#, Nothing),
    // Nothing here: only where the config file lets a screen move the class.
    (r#"{"type":"click","id":"a","click":"long"}"#, Nothing),
    (r#"{"type":"click","id":"","click":"short"}"#, Refused),
    (r#"{"type":"click","id":"a","click":"end"}"#, Refused),
    (r#"{"type":"click","id":"a"}"#, Refused),
    // Any page may be the speaker, and says whether it can.
    (r#"{"type":"speak"}"#, Nothing),
    (
        r#"{"type":"sound","ready":true,"plays":false,"failed":[3]}"#,
        Nothing,
    ),
    (r#"{"type":"tone"}"#, Refused),
    (r#"{"type":"hold"}"#, Refused),
    (r#"{"ask":"hold"}"#, Refused),
    (r#"{"type":"dont_show"}"#, Refused),
    (r#"{"type":"wipe"}"#, Refused),
    (r#"{"type":"pause"}"#, Refused),
    (r#"{"type":"resume"}"#, Refused),
    (r#"{"type":"uncover"}"#, Refused),
    (r#"{"order":"wipe"}"#, Refused),
    (r#"{"delay_ms":1000}"#, Refused),
    (r#"{"type":"removed"}"#, Refused),
];

/// A message that is new in the protocol does not compile here until it has its
/// line in the table.
fn listed(message: &FromScreen) -> Comes {
    match message {
        FromScreen::Want { .. } => Pictures,
        FromScreen::Clock { .. } => Time,
        FromScreen::Click { id, .. } if id.is_empty() => Refused,
        FromScreen::Report { .. }
        | FromScreen::Again {}
        | FromScreen::Click { .. }
        | FromScreen::Speak {}
        | FromScreen::Sound { .. } => Nothing,
    }
}

/// A gym with somebody of each role; their cookies.
async fn gym() -> (Gym, Vec<String>) {
    let mut door = Door::new(Kept::default());
    let station = 1_i64.try_into().unwrap();
    let now = BootClock::start(None).now();
    let grants = [
        Grant::Teacher,
        Grant::Helper,
        Grant::Screen { station },
        Grant::Camera { station },
    ];
    let mut cookies: Vec<String> = grants
        .map(|grant| format!("afterturn={}", door.open(grant, now).expose()))
        .into();
    cookies.push(String::new());
    let kept = door.take_unkept().unwrap();
    let gym = with(kept).await;
    (gym, cookies)
}

/// What comes of a message on a fresh socket.
async fn comes(gym: &Gym, station: u8, cookie: &str, text: &str) -> Comes {
    let mut screen = match gym.knock(station, &[("cookie", cookie)]).await {
        Ok(screen) => screen,
        Err(status) => return Shut(status),
    };
    screen.next().await;
    screen.say(text).await;
    let until = Instant::now() + Duration::from_millis(700);
    while let Some(heard) = screen.next_before(until).await {
        match heard {
            Heard::Said(FromServer::Run { .. }) | Heard::Bytes(_) => return Pictures,
            Heard::Said(FromServer::Clock { .. }) => return Time,
            Heard::Said(FromServer::Refused { .. }) => return Refused,
            Heard::Closed => panic!("closed without a word: {text}"),
            Heard::Said(_) => {}
        }
    }
    Nothing
}

#[tokio::test]
async fn every_message_does_for_everybody_what_the_table_says() {
    let (gym, cookies) = gym().await;
    for (text, listed_as) in TABLE {
        if let Ok(message) = serde_json::from_str::<FromScreen>(text) {
            assert_eq!(listed(&message), *listed_as, "{text}");
        } else {
            assert_eq!(*listed_as, Refused, "{text}");
        }
        for (station, shut) in [(1, OPEN), (2, ELSEWHERE)] {
            for ((who, cookie), shut) in ASKERS.iter().zip(&cookies).zip(shut) {
                let expected = shut.map_or(*listed_as, Shut);
                let came = comes(&gym, station, cookie, text).await;
                assert_eq!(came, expected, "{text} at station {station} by {who}");
            }
        }
    }
}

/// Says so much in one breath, and whether the socket was closed for it.
async fn says(screen: &mut Screen, messages: usize) -> bool {
    for t1_us in 0..messages {
        let text = format!(r#"{{"type":"clock","t1_us":{t1_us}}}"#);
        if screen.socket.send(Message::text(text)).await.is_err() {
            return true;
        }
    }
    let until = Instant::now() + Duration::from_millis(500);
    while let Some(heard) = screen.next_before(until).await {
        if matches!(
            heard,
            Heard::Closed | Heard::Said(FromServer::Refused { .. })
        ) {
            return true;
        }
    }
    false
}

#[tokio::test]
async fn a_screen_that_never_stops_talking_is_closed_and_nobody_else_notices() {
    let gym = Gym::with_one().await;
    let mut good = gym.screen(1).await;
    good.next().await;
    good.want().await;
    let first = run_of(&mut good).await;
    // A line that was stuck gives up what has gathered: that is no flood.
    assert!(!says(&mut gym.screen(1).await, 150).await);
    assert!(says(&mut gym.screen(1).await, 20_000).await);
    let last = pictures_after(&mut good, first, 30).await;
    pictures_after(&mut good, last, 30).await;
}

#[tokio::test]
async fn many_sockets_of_one_screen_take_nothing_from_another() {
    let gym = Gym::with_one().await;
    let mut good = gym.screen(1).await;
    good.next().await;
    good.want().await;
    let mut last = run_of(&mut good).await;
    let mut idle = Vec::new();
    for _ in 0..200 {
        idle.push(gym.screen(1).await);
        if idle.len() % 20 == 0 {
            last = pictures_after(&mut good, last, 3).await;
        }
    }
    pictures_after(&mut good, last, 30).await;
    drop(idle);
    gym.json_until("/api/stations/1", |said| {
        said["viewers"].as_array().unwrap().len() == 1
    })
    .await;
}

#[tokio::test]
async fn nobody_watches_on_by_a_socket_that_talks_all_the_time() {
    let (gym, cookies) = gym().await;
    let mut screen = gym.knock(1, &[("cookie", &cookies[2])]).await.unwrap();
    screen.next().await;
    screen.want().await;
    run_of(&mut screen).await;
    let response = super::doors::post(&gym, "/sign-out", &cookies[2], &[]).await;
    assert_eq!(response.status(), 303);
    let until = Instant::now() + PATIENCE;
    // A message every few milliseconds, fewer than would be refused.
    loop {
        let text = r#"{"type":"want","from_us":null}"#;
        let _ = screen.socket.send(Message::text(text)).await;
        let soon = (Instant::now() + Duration::from_millis(10)).min(until);
        match screen.next_before(soon).await {
            Some(Heard::Said(FromServer::Removed) | Heard::Closed) => break,
            _ => assert!(Instant::now() < until, "it watches on"),
        }
    }
}
