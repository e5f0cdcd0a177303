//! Setting a delay, and how long an attempt lasts: what is taken and what is
//! refused.

use super::*;

async fn patch(app: &App, body: &[u8]) -> warp::http::Response<Bytes> {
    let asked = ask("PATCH", "/api/stations/1", Some("teacher")).body(body);
    asked.reply(&routes(app)).await
}

#[tokio::test]
async fn a_delay_is_set_and_said() {
    let app = app();
    for delay_ms in [0, 500, 28_000] {
        let body = json!({ "delay_ms": delay_ms }).to_string();
        let response = patch(&app, body.as_bytes()).await;
        assert_eq!(response.status(), 200);
        let said: Value = serde_json::from_slice(response.body()).unwrap();
        assert_eq!(
            (&said["number"], &said["delay_ms"]),
            (&json!(1), &json!(delay_ms))
        );
        let delays: Vec<_> = app.stations.iter().map(|s| s.state().delay_ms).collect();
        assert_eq!(delays, [delay_ms, 5_000], "one station's delay is its own");
    }
}

#[tokio::test]
async fn a_delay_that_cannot_be_is_refused_and_changes_nothing() {
    let app = app();
    let bad: &[&[u8]] = &[
        b"",
        b"rubbish",
        b"{",
        b"null",
        b"[]",
        b"{}",
        b"5000",
        b"\xff\xfe",
        b"{\"delay_ms\": \"5000\"}",
        b"{\"delay_ms\": 5000.5}",
        b"{\"delay_ms\": -500}",
        b"{\"delay_ms\": null}",
        b"{\"delay_ms\": 4294967296}",
        b"{\"delay_ms\": 1e3}",
        b"{\"delay\": 5000}",
        b"{\"attempt_s\": null}",
        b"{\"attempt_s\": 8.5}",
        b"{\"attempt_s\": \"8\"}",
        b"{\"delay_ms\": 4000, \"title\": \"Beam\"}",
        b"{\"delay_ms\": 4000, \"delay_ms\": 4500}",
        b"{\"delay_ms\": 4000} {}",
    ];
    for body in bad {
        let response = patch(&app, body).await;
        let shown = String::from_utf8_lossy(body);
        assert_eq!(response.status(), 400, "{shown}");
        problem(&response);
    }
    let impossible: &[(&[u8], &str)] = &[
        (b"{\"delay_ms\": 5250}", "steps of 500 ms"),
        (b"{\"delay_ms\": 1}", "steps of 500 ms"),
        (b"{\"delay_ms\": 28500}", "28000 ms"),
        (b"{\"delay_ms\": 4294967000}", "28000 ms"),
        (b"{\"attempt_s\": 1}", "from 2 to 20 seconds"),
        (b"{\"attempt_s\": 264}", "from 2 to 20 seconds"),
        (b"{\"delay_ms\": 4000, \"attempt_s\": 21}", "not 21"),
        (b"{\"delay_ms\": 4100, \"attempt_s\": 9}", "steps of 500 ms"),
    ];
    for (body, hint) in impossible {
        let response = patch(&app, body).await;
        assert_eq!(response.status(), 422, "{}", String::from_utf8_lossy(body));
        let problem = problem(&response);
        assert!(
            problem["detail"].as_str().unwrap().contains(hint),
            "{problem}"
        );
    }
    let large = [b"{\"delay_ms\": 4000}".as_slice(), &[b' '; 16 * 1024]].concat();
    let response = patch(&app, &large).await;
    assert_eq!(response.status(), 413);
    problem(&response);
    let state = app.stations[0].state();
    assert_eq!((state.delay_ms, state.attempt_s), (5_000, 8));
}

#[tokio::test]
async fn an_attempt_is_set_and_said_with_a_delay_or_alone() {
    let app = app();
    for (body, is) in [
        (json!({ "attempt_s": 20 }), (5_000, 20)),
        (json!({ "attempt_s": 2, "delay_ms": 4_000 }), (4_000, 2)),
        (json!({ "delay_ms": 6_000 }), (6_000, 2)),
    ] {
        let response = patch(&app, body.to_string().as_bytes()).await;
        assert_eq!(response.status(), 200, "{body}");
        let said: Value = serde_json::from_slice(response.body()).unwrap();
        assert_eq!(said["attempt_s"], is.1);
        let state = app.stations[0].state();
        assert_eq!((state.delay_ms, state.attempt_s), is);
        assert_eq!(app.stations[1].state().attempt_s, 8);
    }
}
