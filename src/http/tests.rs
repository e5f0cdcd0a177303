//! The table of routes, held against the router itself: who gets which status,
//! and what a refusal looks like. No socket is opened.

use std::sync::atomic::{AtomicBool, Ordering};

use afterturn_core::kernel::{CaptureUs, DelayMs};
use serde_json::{Value, json};
use warp::{
    hyper::body::Bytes,
    test::{RequestBuilder, request},
};

use super::*;
use crate::{
    door::{Arrival, Grant, Kept, Listener, Pass, SessionId},
    station::{Memory, StationConfig},
};

mod again;
mod bodies;
mod cameras;
pub(in crate::http) mod class;
mod delays;
mod hall;
mod pairing;
mod pictures;
mod publishing;
mod refusals;
mod roster;
mod sound;
mod table;
mod trust;
mod units;
mod ways;

const WINDOW_MS: u32 = 30_000;
const METHODS: [&str; 7] = ["GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"];
/// The columns of the tables below.
const ASKERS: [Asker; 5] = [
    Some("teacher"),
    Some("helper"),
    Some("screen"),
    Some("camera"),
    None,
];

/// Who asks: a role, the last two those of station 1, or nobody.
type Asker = Option<&'static str>;

fn pass(asker: &str) -> Pass {
    let station = 1_i64.try_into().expect("a good number");
    let grant = match asker {
        "teacher" => Grant::Teacher,
        "helper" => Grant::Helper,
        "screen" => Grant::Screen { station },
        "hall" => Grant::HallBoard,
        "camera" => Grant::Camera { station },
        other => panic!("nobody is a {other}"),
    };
    Pass {
        session: Some(SessionId(7)),
        grant,
    }
}

/// Two stations whose cameras never start.
pub(in crate::http) fn app() -> App {
    let station = |number: i64, title: &str| {
        let config = StationConfig {
            number: number.try_into().expect("a good number"),
            title: title.to_owned(),
            delay: DelayMs::new(5_000, WINDOW_MS).expect("a good delay"),
            window_ms: WINDOW_MS,
            latency_ms: 0,
            demo: false,
        };
        let memory = Arc::new(Memory::new(1_000_000_000));
        Station::new(
            config,
            Arc::new(|| CaptureUs(1_790_000_000_000_000)),
            &memory,
        )
    };
    let stations = vec![station(1, "Low beam"), station(2, "Wall <bars> & \"rope\"")];
    let (_, stop) = watch::channel(false);
    let now = Arc::new(|| CaptureUs(1_790_000_000_000_000));
    let entrance = Entrance::new(Kept::default(), ThisMachine::SignsIn, now);
    let lesson = class::lesson(&stations);
    // As it is while a class runs.
    stations[1].capture(true);
    App::new(stations, lesson, entrance, false, stop)
        .with_plugged(Arc::new(cameras::OnTheTable::default()))
        .with_usb(cameras::used())
}

fn arrival(listener: Listener) -> Arrival {
    Arrival {
        listener,
        peer: [127, 0, 0, 1].into(),
        reached: ([127, 0, 0, 1], 8460).into(),
        name: None,
    }
}

fn ask(method: &str, path: &str, by: Asker) -> RequestBuilder {
    let asked = request().method(method).path(path);
    let asked = asked.extension(arrival(Listener::Here));
    match by {
        Some(who) => asked.extension(pass(who)),
        None => asked,
    }
}

fn handshake(path: &str, asker: Asker) -> RequestBuilder {
    // The example of RFC 6455 §1.3.
    ask("GET", path, asker)
        .header("upgrade", "websocket")
        .header("connection", "Upgrade")
        .header("sec-websocket-key", "dGhlIHNhbXBsZSBub25jZQ==")
        .header("sec-websocket-version", "13")
}

/// A fault of the program where a station is asked how it is.
#[tokio::test]
async fn a_fault_in_one_answer_is_answered_is_told_and_harms_no_other() {
    let fault = Arc::new(AtomicBool::new(false));
    let mut app = app();
    let config = app.stations[0].config().clone();
    let now = {
        let fault = Arc::clone(&fault);
        move || {
            assert!(!fault.load(Ordering::Relaxed), "as it was told");
            CaptureUs(1_790_000_000_000_000)
        }
    };
    let memory = Arc::new(Memory::new(1_000_000_000));
    app.stations = vec![Station::new(config, Arc::new(now), &memory)].into();
    let routes = routes(&app);
    let stations = async || {
        let asked = ask("GET", "/api/stations", Some("teacher"));
        let answer = asked.reply(&routes).await;
        let said: Value = serde_json::from_slice(answer.body()).unwrap();
        (answer.status().as_u16(), said["failed"].clone())
    };
    assert_eq!(stations().await, (200, json!([])));
    fault.store(true, Ordering::Relaxed);
    assert_eq!(stations().await, (500, Value::Null));
    fault.store(false, Ordering::Relaxed);
    let told = json!([{ "part": { "name": "pages" }, "runs": true }]);
    assert_eq!(stations().await, (200, told));
}

#[tokio::test]
async fn orders_are_for_those_who_run_the_class() {
    let routes = routes(&app());
    for order in [
        "dont_show",
        "cover_from_now",
        "uncover",
        "pause",
        "resume",
        "wipe",
    ] {
        let statuses = [200, 200, 403, 403, 401];
        for (role, status) in ASKERS.into_iter().zip(statuses) {
            let asked = ask("POST", "/api/stations/1/orders", role);
            let asked = asked.json(&json!({ "order": order }));
            let got = asked.reply(&routes).await.status();
            assert_eq!(got, status, "{order} as {role:?}");
        }
    }
    let asked = ask("POST", "/api/stations/9/orders", Some("teacher"));
    let asked = asked.json(&json!({ "order": "pause" }));
    assert_eq!(asked.reply(&routes).await.status(), 404);
}

#[tokio::test]
async fn those_who_run_the_class_choose_for_whom_the_screens_are() {
    let routes = routes(&app());
    for (body, statuses) in [
        (
            json!({ "grade": 3, "look": "bright" }),
            [200, 200, 403, 403, 401],
        ),
        (json!({ "grade": null }), [200, 200, 403, 403, 401]),
        (json!({}), [200, 200, 403, 403, 401]),
        (json!({ "grade": 6 }), [422, 422, 403, 403, 401]),
        (json!({ "view": "picture" }), [400, 400, 403, 403, 401]),
    ] {
        for (role, status) in ASKERS.into_iter().zip(statuses) {
            let asked = ask("PATCH", "/api/showing", role).json(&body);
            let got = asked.reply(&routes).await.status();
            assert_eq!(got, status, "{body} as {role:?}");
        }
    }
    let asked = ask("PATCH", "/api/showing", Some("teacher"));
    let answer = asked.json(&json!({ "grade": 1 })).reply(&routes).await;
    let said: Value = serde_json::from_slice(answer.body()).unwrap();
    assert_eq!(said["view"], "picture");
    assert_eq!(said["look"], "bright", "what is not named stays");
}

#[tokio::test]
async fn the_socket_opens_for_those_who_may_watch() {
    let routes = routes(&app());
    for (path, statuses) in [
        ("/api/stations/1/view", [101, 101, 101, 101, 401]),
        ("/api/stations/2/view", [101, 101, 403, 403, 401]),
        ("/api/stations/9/view", [404, 404, 403, 403, 401]),
        ("/api/hall/view", [101, 101, 403, 403, 401]),
        ("/api/stations/beam/view", [404, 404, 403, 403, 401]),
        // Anywhere else a handshake is a plain request.
        ("/health", [200; 5]),
        ("/nowhere", [404; 5]),
    ] {
        for (role, status) in ASKERS.into_iter().zip(statuses) {
            let response = handshake(path, role).reply(&routes).await;
            assert_eq!(response.status(), status, "{path} as {role:?}");
            if status == 101 {
                // RFC 6455 §1.3 gives the answer to its example key.
                let accept = response.headers().get("sec-websocket-accept");
                assert_eq!(accept.unwrap(), "s3pPLMBiTxaQ9kYGzzhZRbK+xOo=");
            }
        }
    }
}

/// What a refusal has to look like, whatever it refuses.
fn problem(response: &warp::http::Response<Bytes>) -> Value {
    // RFC 9457 §3: the media type, and the members title, status and detail.
    assert_eq!(
        response.headers()["content-type"],
        "application/problem+json"
    );
    let body: Value = serde_json::from_slice(response.body()).unwrap();
    // §3.1.2: the member repeats the status of the response itself.
    assert_eq!(body["status"], response.status().as_u16());
    for member in ["title", "detail"] {
        assert!(
            body[member].as_str().is_some_and(|text| !text.is_empty()),
            "{body}"
        );
    }
    assert_eq!(body.as_object().unwrap().len(), 3, "{body}");
    body
}
