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

mod delays;
mod roster;
mod trust;
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
    App::new(stations, entrance, false, stop)
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
    // A socket, asked for as a page.
    ("/api/stations/1/view", Some(&METHODS), [400; 5]),
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
    ("/screens", READ, [200, 403, 403, 403, 401]),
    ("/screens", Some(&["POST"]), [400, 403, 403, 403, 401]),
    ("/screens", None, [405; 5]),
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

#[tokio::test]
async fn a_refusal_is_a_problem_a_program_can_read() {
    let routes = routes(&app());
    for (method, path, role, status) in [
        ("GET", "/", None, 401),
        ("GET", "/tv/9", Some("screen"), 403),
        ("GET", "/nowhere", Some("teacher"), 404),
        ("DELETE", "/remote", Some("teacher"), 405),
        ("GET", "/assets/nothing.js", None, 404),
        ("GET", "/api/stations/1", Some("camera"), 403),
        ("GET", "/api/stations/9", Some("teacher"), 404),
        ("PUT", "/api/stations/1", Some("teacher"), 405),
        ("GET", "/api/stations/1/view", Some("screen"), 400),
    ] {
        let response = ask(method, path, role).reply(&routes).await;
        assert_eq!(response.status(), status, "{method} {path}");
        problem(&response);
    }
    let response = handshake("/api/stations/1/view", None).reply(&routes).await;
    problem(&response);
}

#[tokio::test]
async fn a_method_that_is_not_taken_is_answered_with_those_that_are() {
    let routes = routes(&app());
    // RFC 9110 §15.5.6: a 405 must carry `Allow`.
    for (path, allowed) in [
        ("/", "GET, HEAD"),
        ("/tv/1", "GET, HEAD"),
        ("/assets/style/base.css", "GET, HEAD"),
        ("/api/stations", "GET, HEAD"),
        ("/api/stations/1", "GET, HEAD, PATCH"),
    ] {
        let response = ask("DELETE", path, Some("teacher")).reply(&routes).await;
        assert_eq!(response.status(), 405, "{path}");
        let allow = response.headers().get("allow");
        assert_eq!(allow.map(|a| a.to_str().unwrap()), Some(allowed), "{path}");
    }
}

#[tokio::test]
async fn a_person_gets_a_page_with_the_same_status() {
    let routes = routes(&app());
    for (path, role, status, page) in [
        ("/nowhere", Some("teacher"), 404, true),
        ("/tv/9", Some("teacher"), 404, true),
        ("/", None, 200, true),
        ("/remote", Some("screen"), 403, true),
        ("/api/stations/9", Some("teacher"), 404, false),
        ("/assets/nothing.js", Some("teacher"), 404, false),
    ] {
        let asked = ask("GET", path, role).header("accept", "text/html,*/*;q=0.8");
        let response = asked.reply(&routes).await;
        assert_eq!(response.status(), status, "{path}");
        let kind = response.headers()["content-type"].to_str().unwrap();
        assert_eq!(kind.starts_with("text/html"), page, "{path}: {kind}");
    }
}

#[tokio::test]
async fn pages_carry_titles_as_text() {
    let routes = routes(&app());
    for path in ["/", "/remote", "/tv/2"] {
        let response = ask("GET", path, Some("teacher")).reply(&routes).await;
        let page = String::from_utf8(response.body().to_vec()).unwrap();
        assert!(!page.contains("<bars>"), "{path}: a title became markup");
        assert!(page.contains("bars"), "{path} has no title");
    }
}

#[tokio::test]
async fn the_health_page_tells_no_names() {
    let response = ask("GET", "/health", None).reply(&routes(&app())).await;
    let said: Value = serde_json::from_slice(response.body()).unwrap();
    assert_eq!(
        said,
        json!({
            "status": "degraded",
            "build": BUILD.as_str(),
            "stations": 2,
            "stations_showing": 0,
        })
    );
}

#[tokio::test]
async fn an_asset_the_browser_has_is_not_sent_again() {
    let routes = routes(&app());
    let path = "/assets/live/clock.js";
    let first = ask("GET", path, None).reply(&routes).await;
    assert_eq!(
        first.headers()["content-type"],
        "text/javascript; charset=utf-8"
    );
    let tag = first.headers()["etag"].to_str().unwrap();
    let again = ask("GET", path, None).header("if-none-match", tag);
    let again = again.reply(&routes).await;
    assert_eq!((again.status().as_u16(), again.body().len()), (304, 0));
    let other = ask("GET", path, None).header("if-none-match", "\"0\"");
    assert_eq!(other.reply(&routes).await.body(), first.body());
}
