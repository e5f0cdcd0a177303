//! The table of routes, held against the router itself: who gets which status,
//! and what a refusal looks like. No socket is opened.

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

pub(in crate::http) mod class;
mod delays;
mod pairing;
mod refusals;
mod roster;
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
        "camera" => Grant::Camera { station },
        other => panic!("nobody is a {other}"),
    };
    Pass {
        session: Some(SessionId(7)),
        grant,
    }
}

/// Two stations whose cameras never start.
fn app() -> App {
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
    App::new(stations, lesson, entrance, false, stop)
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

/// A row: the path, the methods it is about, and the status for each of
/// [`ASKERS`]. `None` for the methods: all that no row above names.
type Row = (&'static str, Option<&'static [&'static str]>, [u16; 5]);

const READ: Option<&[&str]> = Some(&["GET", "HEAD"]);

const TABLE: &[Row] = &[
    ("/", READ, [200, 200, 403, 403, 401]),
    ("/", None, [405; 5]),
    ("/remote", READ, [200, 200, 403, 403, 401]),
    ("/remote", None, [405; 5]),
    ("/tv/1", READ, [200, 200, 200, 403, 401]),
    ("/tv/1", None, [405; 5]),
    // Whoever may not watch does not learn which stations there are.
    ("/tv/9", READ, [404, 404, 403, 403, 401]),
    ("/tv/low-beam", READ, [404, 404, 403, 403, 401]),
    ("/health", READ, [200; 5]),
    ("/health", None, [405; 5]),
    // HTTPS is off here.
    ("/trust", READ, [404; 5]),
    ("/trust", None, [405; 5]),
    ("/trust/afterturn.crt", READ, [404; 5]),
    ("/assets/style/base.css", READ, [200; 5]),
    ("/assets/live/clock.js", READ, [200; 5]),
    ("/assets/style/base.css", None, [405; 5]),
    ("/assets/", READ, [404; 5]),
    ("/assets/style", READ, [404; 5]),
    ("/assets/style/nothing.css", READ, [404; 5]),
    // Compiled in as sources of pages, not to be fetched.
    ("/assets/pages/tv.html", READ, [404; 5]),
    ("/assets/words/en.ftl", READ, [404; 5]),
    ("/assets/../Cargo.toml", READ, [404; 5]),
    ("/assets/live/../../Cargo.toml", READ, [404; 5]),
    ("/assets/live/..%2f..%2fCargo.toml", READ, [404; 5]),
    ("/api/stations", READ, [200, 200, 403, 403, 401]),
    ("/api/stations", None, [405; 5]),
    ("/api/stations/1", READ, [200, 200, 403, 403, 401]),
    (
        "/api/stations/1",
        Some(&["PATCH"]),
        [200, 403, 403, 403, 401],
    ),
    ("/api/stations/1", None, [405; 5]),
    ("/api/stations/9", READ, [404, 404, 403, 403, 401]),
    (
        "/api/stations/9",
        Some(&["PATCH"]),
        [404, 403, 403, 403, 401],
    ),
    ("/api/stations/100", READ, [404, 404, 403, 403, 401]),
    ("/api/stations/-1", READ, [404, 404, 403, 403, 401]),
    // Nothing that could be an order in the body: see the next test for orders.
    (
        "/api/stations/1/orders",
        Some(&["POST"]),
        [400, 400, 403, 403, 401],
    ),
    ("/api/stations/1/orders", None, [405; 5]),
    (
        "/api/stations/1/calibration",
        Some(&["POST"]),
        [400, 403, 403, 403, 401],
    ),
    ("/api/stations/1/calibration", None, [405; 5]),
    // A socket, asked for as a page.
    ("/api/stations/1/view", Some(&METHODS), [400; 5]),
    ("/api/showing", READ, [200, 200, 403, 403, 401]),
    // A delay is nothing that can be chosen here: see the next tests for what is.
    ("/api/showing", Some(&["PATCH"]), [400, 400, 403, 403, 401]),
    ("/api/showing", None, [405; 5]),
    ("/api/stations/1/settings", Some(&METHODS), [404; 5]),
    ("/sign-in", READ, [200; 5]),
    // An empty form: no passphrase to be set.
    ("/sign-in", Some(&["POST"]), [422; 5]),
    ("/sign-in", None, [405; 5]),
    ("/sign-out", Some(&["POST"]), [303; 5]),
    ("/sign-out", None, [405; 5]),
    ("/pair", READ, [200; 5]),
    ("/pair", None, [405; 5]),
    ("/api/pairing", READ, [200; 5]),
    ("/api/pairing", Some(&["POST"]), [200; 5]),
    ("/api/pairing", None, [405; 5]),
    ("/figures", READ, [200, 200, 403, 403, 401]),
    ("/figures", None, [405; 5]),
    ("/assets/figures/all.js", READ, [200; 5]),
    ("/assets/figures/names.txt", READ, [404; 5]),
    // Nobody waits here: see the tests of pairing.
    ("/api/pairing/qr", READ, [404; 5]),
    ("/api/pairing/qr", None, [405; 5]),
    ("/screens", READ, [200, 403, 403, 403, 401]),
    ("/screens", Some(&["POST"]), [400, 403, 403, 403, 401]),
    ("/screens", None, [405; 5]),
    ("/api/class", READ, [200, 200, 403, 403, 401]),
    ("/api/class", None, [405; 5]),
    ("/api/class/start", READ, [200, 200, 403, 403, 401]),
    // Nothing that could be a start or a press in the body: see the class's tests.
    (
        "/api/class/start",
        Some(&["POST"]),
        [400, 400, 403, 403, 401],
    ),
    ("/api/class/start", None, [405; 5]),
    (
        "/api/class/presses",
        Some(&["POST"]),
        [400, 400, 403, 403, 401],
    ),
    ("/api/class/presses", None, [405; 5]),
    (
        "/api/class/answer",
        Some(&["POST"]),
        [400, 403, 403, 403, 401],
    ),
    ("/api/class/answer", None, [405; 5]),
    ("/api/class/end", Some(&METHODS), [404; 5]),
    ("/unit", READ, [200, 403, 403, 403, 401]),
    ("/unit", None, [405; 5]),
    // Who may not edit does not learn which units there are.
    ("/unit/circuit", READ, [404, 403, 403, 403, 401]),
    ("/unit/circuit", None, [405; 5]),
    ("/api/units", READ, [200, 403, 403, 403, 401]),
    ("/api/units", None, [405; 5]),
    ("/api/units/circuit", READ, [404, 403, 403, 403, 401]),
    (
        "/api/units/circuit",
        Some(&["PUT"]),
        [400, 403, 403, 403, 401],
    ),
    ("/api/units/circuit", None, [405; 5]),
    (
        "/api/units/circuit/trial",
        Some(&["POST"]),
        [400, 403, 403, 403, 401],
    ),
    ("/api/units/circuit/trial", None, [405; 5]),
    ("/api/units/circuit/setups", READ, [404, 403, 403, 403, 401]),
    (
        "/api/units/circuit/grades/K",
        READ,
        [404, 403, 403, 403, 401],
    ),
    ("/api", Some(&METHODS), [404; 5]),
    ("/api/classes", Some(&METHODS), [404; 5]),
    ("/nowhere", Some(&METHODS), [404; 5]),
    ("/remote/1", Some(&METHODS), [404; 5]),
    ("/tv", Some(&METHODS), [404; 5]),
    ("/tv/1/2", Some(&METHODS), [404; 5]),
];

#[tokio::test]
async fn every_route_answers_everybody_as_the_table_says() {
    let routes = routes(&app());
    let mut named: Vec<(&str, &str)> = Vec::new();
    for (path, methods, statuses) in TABLE.iter().chain(roster::TABLE) {
        let rest: Vec<&str> = METHODS
            .into_iter()
            .filter(|method| !named.contains(&(*path, *method)))
            .collect();
        for method in methods.unwrap_or(&rest) {
            named.push((path, method));
            for (role, status) in ASKERS.into_iter().zip(statuses) {
                let asked = ask(method, path, role).json(&json!({ "delay_ms": 4_000 }));
                let got = asked.reply(&routes).await.status();
                assert_eq!(got, *status, "{method} {path} as {role:?}");
            }
        }
    }
}

#[tokio::test]
async fn orders_are_for_those_who_run_the_class_and_wiping_for_the_teacher() {
    let routes = routes(&app());
    for order in [
        "dont_show",
        "cover_from_now",
        "uncover",
        "pause",
        "resume",
        "wipe",
    ] {
        let statuses = if order == "wipe" {
            [200, 403, 403, 403, 401]
        } else {
            [200, 200, 403, 403, 401]
        };
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
        ("/api/stations/1/view", [101, 101, 101, 403, 401]),
        ("/api/stations/2/view", [101, 101, 403, 403, 401]),
        ("/api/stations/9/view", [404, 404, 403, 403, 401]),
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
