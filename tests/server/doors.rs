//! Coming in, over real sockets: who is let in, who is not, and that somebody
//! sent away sees nothing more.

use std::time::Duration;

use afterturn::{door::Kept, http::ThisMachine, settings::Clickers};
use reqwest::{RequestBuilder, Response, header};
use tokio::time::Instant;

use super::harness::{Gym, Heard, Scripted};
use afterturn_core::wire::FromServer;

pub(super) const WORDS: &str = "low beam, wide mat";

pub(super) async fn gym() -> Gym {
    with(Kept::default()).await
}

pub(super) async fn with(kept: Kept) -> Gym {
    let cameras: Vec<Box<dyn afterturn::av::camera::Camera>> =
        vec![Box::new(Scripted), Box::new(Scripted)];
    Gym::with_door(cameras, kept, ThisMachine::SignsIn, Clickers::default()).await
}

/// What a browser sends along with a form of our own page.
pub(super) fn own(gym: &Gym, asked: RequestBuilder) -> RequestBuilder {
    asked.header(header::ORIGIN, format!("http://{}", gym.address))
}

pub(super) async fn post(gym: &Gym, path: &str, cookie: &str, form: &[(&str, &str)]) -> Response {
    let body = form
        .iter()
        .map(|(name, value)| format!("{name}={}", value.replace(' ', "+").replace(',', "%2C")))
        .collect::<Vec<_>>()
        .join("&");
    let asked = own(gym, gym.client.post(gym.url(path)));
    let asked = asked.header(header::COOKIE, cookie);
    let form = "application/x-www-form-urlencoded";
    asked
        .header(header::CONTENT_TYPE, form)
        .body(body)
        .send()
        .await
        .unwrap()
}

pub(super) async fn status(gym: &Gym, path: &str, cookie: &str) -> u16 {
    let asked = gym.client.get(gym.url(path)).header(header::COOKIE, cookie);
    asked.send().await.unwrap().status().as_u16()
}

/// The cookie a response gives, as a browser would send it back.
pub(super) fn cookie(response: &Response, name: &str) -> Option<String> {
    let all = response.headers().get_all(header::SET_COOKIE);
    let values = all.iter().map(|value| value.to_str().unwrap());
    values
        .filter_map(|value| value.split(';').next())
        .find(|pair| pair.starts_with(&format!("{name}=")) && !pair.ends_with('='))
        .map(ToOwned::to_owned)
}

/// Sets the passphrase with the console's code; the teacher's cookie.
pub(super) async fn first_run(gym: &Gym) -> String {
    let code = gym.entrance.first_code().unwrap();
    let form = [
        ("code", code.as_str()),
        ("passphrase", WORDS),
        ("again", WORDS),
    ];
    let response = post(gym, "/sign-in", "", &form).await;
    assert_eq!(response.status(), 303);
    cookie(&response, "afterturn").unwrap()
}

/// Pairs a screen with a station; its cookie.
async fn paired(gym: &Gym, teacher: &str, station: &str) -> String {
    let asked = own(gym, gym.client.post(gym.url("/api/pairing")));
    let response = asked.send().await.unwrap();
    let waiting = cookie(&response, "afterturn-waiting").unwrap();
    let said: serde_json::Value = serde_json::from_str(&response.text().await.unwrap()).unwrap();
    let code = said["code"].as_str().unwrap();
    let form = [("do", "let-in"), ("code", code), ("station", station)];
    assert_eq!(post(gym, "/screens", teacher, &form).await.status(), 200);
    let asked = gym.client.get(gym.url("/api/pairing"));
    let response = asked.header(header::COOKIE, waiting).send().await.unwrap();
    let session = cookie(&response, "afterturn");
    assert!(
        response
            .text()
            .await
            .unwrap()
            .contains(&format!("/tv/{station}"))
    );
    session.unwrap()
}

#[tokio::test]
async fn nobody_sees_anything_before_the_first_passphrase() {
    let gym = gym().await;
    for path in [
        "/remote",
        "/tv/1",
        "/screens",
        "/api/stations",
        "/api/stations/1",
    ] {
        assert_eq!(status(&gym, path, "").await, 401, "{path}");
    }
    assert_eq!(gym.knock(1, &[]).await.err(), Some(401));
}

#[tokio::test]
async fn the_first_run_takes_the_consoles_code_once() {
    let gym = gym().await;
    let code = gym.entrance.first_code().unwrap();
    let form = |code, words, again| [("code", code), ("passphrase", words), ("again", again)];
    for (form, expected) in [
        (form("AAAAAAAA", WORDS, WORDS), 401),
        (form(&code, "too short", "too short"), 422),
        (form(&code, WORDS, "something else"), 422),
        (form(&code, WORDS, WORDS), 303),
    ] {
        assert_eq!(post(&gym, "/sign-in", "", &form).await.status(), expected);
    }
    // Now it is an ordinary sign-in, and the code is worth nothing.
    let again = form(&code, "another four words", "another four words");
    assert_eq!(post(&gym, "/sign-in", "", &again).await.status(), 401);
    let response = post(&gym, "/sign-in", "", &[("passphrase", WORDS)]).await;
    assert_eq!(response.status(), 303);
    let teacher = cookie(&response, "afterturn").unwrap();
    assert_eq!(status(&gym, "/remote", &teacher).await, 200);
    // Signing out ends it on this side too, not only in the browser.
    assert_eq!(post(&gym, "/sign-out", &teacher, &[]).await.status(), 303);
    assert_eq!(status(&gym, "/remote", &teacher).await, 401);
}

#[tokio::test]
async fn a_screen_sees_its_station_until_it_is_removed() {
    let gym = gym().await;
    let teacher = first_run(&gym).await;
    let screen = paired(&gym, &teacher, "2").await;
    assert_eq!(status(&gym, "/tv/2", &screen).await, 200);
    for path in ["/tv/1", "/remote", "/api/stations", "/screens"] {
        assert_eq!(status(&gym, path, &screen).await, 403, "{path}");
    }
    assert_eq!(gym.knock(1, &[("cookie", &screen)]).await.err(), Some(403));
    let mut socket = gym.knock(2, &[("cookie", &screen)]).await.unwrap();
    socket.next().await;
    socket.want().await;
    super::run_of(&mut socket).await;

    let list = gym
        .client
        .get(gym.url("/screens"))
        .header(header::COOKIE, &teacher);
    let page = list.send().await.unwrap().text().await.unwrap();
    let id = page
        .rsplit("name=\"id\" value=\"")
        .next()
        .unwrap()
        .split('"')
        .next()
        .unwrap();
    let removed = Instant::now();
    let form = [("do", "remove"), ("id", id)];
    assert_eq!(post(&gym, "/screens", &teacher, &form).await.status(), 200);
    let done = Instant::now();
    loop {
        match socket.next_but_state().await {
            Heard::Said(FromServer::Removed) => break,
            Heard::Bytes(_) => assert!(
                done.elapsed() < Duration::from_millis(500),
                "pictures go on"
            ),
            other => panic!("{other:?}"),
        }
    }
    assert!(removed.elapsed() < Duration::from_secs(2));
    let until = Instant::now() + Duration::from_secs(5);
    while let Some(heard) = socket.next_before(until).await {
        if matches!(heard, Heard::Closed) {
            break;
        }
        assert!(
            !matches!(heard, Heard::Bytes(_)),
            "no picture after the last word"
        );
    }
    assert_eq!(status(&gym, "/tv/2", &screen).await, 401);
    assert_eq!(gym.knock(2, &[("cookie", &screen)]).await.err(), Some(401));
}

#[tokio::test]
async fn a_helper_runs_the_class_and_keeps_no_door() {
    let gym = gym().await;
    let teacher = first_run(&gym).await;
    assert_eq!(
        post(&gym, "/sign-in", "", &[("pin", "493817")])
            .await
            .status(),
        401,
        "none is set"
    );
    let form = [("do", "set-pin"), ("pin", "493817")];
    assert_eq!(post(&gym, "/screens", &teacher, &form).await.status(), 200);
    let response = post(&gym, "/sign-in", "", &[("pin", "493817")]).await;
    let helper = cookie(&response, "afterturn").unwrap();
    assert_eq!(status(&gym, "/remote", &helper).await, 200);
    assert_eq!(status(&gym, "/screens", &helper).await, 403);
    let again = [("do", "set-pin"), ("pin", "817493")];
    assert_eq!(post(&gym, "/screens", &helper, &again).await.status(), 403);
    // A new PIN signs the helpers out and nobody else.
    assert_eq!(post(&gym, "/screens", &teacher, &again).await.status(), 200);
    assert_eq!(status(&gym, "/remote", &helper).await, 401);
    assert_eq!(status(&gym, "/remote", &teacher).await, 200);
}

#[tokio::test]
async fn guessing_has_to_wait_and_a_restart_is_no_way_around_it() {
    let first = gym().await;
    first_run(&first).await;
    let mut wrong = 0;
    let waits = loop {
        let response = post(
            &first,
            "/sign-in",
            "",
            &[("passphrase", "not the passphrase")],
        )
        .await;
        if response.status() == 429 {
            break response.headers()[header::RETRY_AFTER]
                .to_str()
                .unwrap()
                .to_owned();
        }
        assert_eq!(response.status(), 401);
        wrong += 1;
        assert!(wrong < 20, "guessing goes on and on");
    };
    assert!(waits.parse::<u32>().unwrap() > 5);
    // The right one has to wait too: else a guess could be told from the wait.
    let right = post(&first, "/sign-in", "", &[("passphrase", WORDS)]).await;
    assert_eq!(right.status(), 429);
    let kept = first.entrance.take_unkept().unwrap();
    let second = with(kept).await;
    let right = post(&second, "/sign-in", "", &[("passphrase", WORDS)]).await;
    assert_eq!(right.status(), 429);
}

#[tokio::test]
async fn forged_and_old_cookies_open_nothing() {
    let gym = gym().await;
    let teacher = first_run(&gym).await;
    let token = teacher.split_once('=').unwrap().1;
    let forged = [
        String::new(),
        "afterturn=".to_owned(),
        format!("afterturn={}", &token[1..]),
        format!("afterturn={token}0"),
        format!("afterturn={}", token.to_uppercase()),
        format!("afterturn-waiting={token}"),
        format!("Afterturn={token}"),
        format!("afterturn={}", "0".repeat(64)),
        format!("afterturn=\"{token}\""),
    ];
    for cookie in forged {
        assert_eq!(status(&gym, "/remote", &cookie).await, 401, "{cookie}");
    }
    assert_eq!(
        status(&gym, "/remote", &format!("a=b; {teacher}; c=d")).await,
        200
    );
}

#[tokio::test]
async fn what_changes_anything_says_which_page_asked() {
    let gym = gym().await;
    let teacher = first_run(&gym).await;
    let order = |origin: Option<&str>| {
        let asked = gym.client.post(gym.url("/api/stations/1/orders"));
        let asked = asked
            .header(header::COOKIE, &teacher)
            .body(r#"{"order":"wipe"}"#);
        match origin {
            Some(origin) => asked.header(header::ORIGIN, origin),
            None => asked,
        }
    };
    let home = format!("http://{}", gym.address);
    for (origin, expected) in [
        (Some(home.as_str()), 200),
        (None, 403),
        (Some("null"), 403),
        (Some("http://elsewhere.example"), 403),
        (Some("http://127.0.0.1:1"), 403),
    ] {
        let status = order(origin).send().await.unwrap().status();
        assert_eq!(status, expected, "{origin:?}");
    }
}

#[tokio::test]
async fn a_flood_of_waiting_screens_keeps_nobody_out() {
    let gym = gym().await;
    let teacher = first_run(&gym).await;
    for _ in 0..300 {
        let asked = own(&gym, gym.client.post(gym.url("/api/pairing")));
        let status = asked.send().await.unwrap().status().as_u16();
        assert!(matches!(status, 200 | 429), "{status}");
    }
    let screen = paired(&gym, &teacher, "1").await;
    assert_eq!(status(&gym, "/tv/1", &screen).await, 200);
}
