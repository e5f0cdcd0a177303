//! What a refusal looks like, and what pages give away. No socket is opened.

use super::*;

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
        ("/api/showing", "GET, HEAD, PATCH"),
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
    let app = app();
    let routes = routes(&app);
    for (camera, status) in [(false, "ok"), (true, "degraded")] {
        // A camera that is off is as it should be; one that does not come is not.
        for station in app.stations.iter() {
            station.capture(camera);
        }
        let response = ask("GET", "/health", None).reply(&routes).await;
        let said: Value = serde_json::from_slice(response.body()).unwrap();
        assert_eq!(
            said,
            json!({
                "status": status,
                "build": BUILD.as_str(),
                "stations": 2,
                "stations_showing": 0,
            })
        );
    }
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

#[tokio::test]
async fn guesses_from_six_addresses_keep_no_signed_in_teacher_waiting_and_write_nothing_once_they_wait()
 {
    let app = app();
    let routes = routes(&app);
    app.entrance
        .with(|door, _| door.set_passphrase(crate::door::hash("low beam, wide mat")));
    let guess = |peer: [u8; 4], by: Asker, path: &'static str, form: &'static str| {
        let from = Arrival {
            peer: peer.into(),
            ..arrival(Listener::Secure)
        };
        let asked = ask("POST", path, by).extension(from);
        let asked = asked.header("content-type", "application/x-www-form-urlencoded");
        let asked = asked.body(form);
        let routes = routes.clone();
        async move { asked.reply(&routes).await.status().as_u16() }
    };
    let wrong = |last| guess([10, 0, 0, last], None, "/sign-in", "passphrase=wrong");
    for last in 1..=6 {
        for _ in 0..5 {
            assert_eq!(wrong(last).await, 401);
        }
    }
    assert_eq!(wrong(7).await, 429, "all of the network waits");
    assert!(app.entrance.take_unkept().is_some());
    for last in 1..=6 {
        assert_eq!(wrong(last).await, 429);
    }
    assert_eq!(app.entrance.take_unkept(), None, "nothing to write");
    let right = "passphrase=low+beam%2C+wide+mat";
    let teacher = guess([10, 0, 0, 9], Some("teacher"), "/sign-in", right);
    assert_eq!(teacher.await, 303);
    let here = guess([127, 0, 0, 1], None, "/sign-in", right);
    assert_eq!(here.await, 303, "nor at the box");
    let code = "do=let-in&code=AAAAAA&station=1";
    let teacher = guess([10, 0, 0, 9], Some("teacher"), "/screens", code);
    assert_eq!(teacher.await, 200, "a wrong code, and no wait");
}
