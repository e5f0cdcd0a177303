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
