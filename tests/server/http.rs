//! What every response carries, and who is turned away at the door.

use serde_json::Value;
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::TcpStream,
};

use super::harness::Gym;

#[tokio::test]
async fn every_response_keeps_others_out_and_is_not_kept() {
    let gym = Gym::with_one().await;
    // While there is a class only its stations take pictures.
    super::lesson::press(&gym, "e1", serde_json::json!({ "press": "end" })).await;
    for (method, path, status) in [
        ("GET", "/", 200),
        ("GET", "/remote", 200),
        ("GET", "/tv/1", 200),
        ("GET", "/tv/7", 404),
        ("GET", "/health", 200),
        ("GET", "/api/stations", 200),
        ("HEAD", "/api/stations/1", 200),
        ("PATCH", "/api/stations/1", 400),
        ("DELETE", "/api/stations/1", 405),
        ("GET", "/api/stations/1/view", 400),
        ("GET", "/nowhere", 404),
        // What cameras see now, that there is none, and why.
        ("GET", "/cameras", 200),
        ("GET", "/api/devices", 200),
        ("GET", "/api/devices/video0/picture", 405),
        ("POST", "/api/devices/video0/picture", 200),
        ("POST", "/api/devices/video2/picture", 422),
        ("POST", "/api/devices/video9/picture", 404),
        ("GET", "/assets/live/clock.js", 200),
        ("GET", "/assets/live/nothing.js", 404),
    ] {
        let method = method.parse().unwrap();
        let asked = gym.client.request(method, gym.url(path));
        let response = asked.send().await.unwrap();
        assert_eq!(response.status(), status, "{path}");
        let said = |name| {
            let value = response.headers().get(name);
            value.map_or("", |value| value.to_str().unwrap())
        };
        // An asset is asked about each time; the rest is never kept at all.
        let kept = path.starts_with("/assets/") && status == 200;
        let cache = if kept { "no-cache" } else { "no-store" };
        assert_eq!(said("cache-control"), cache, "{path}");
        let policy = said("content-security-policy");
        for part in [
            "default-src 'none'",
            "script-src 'self'",
            "connect-src 'self'",
            "media-src 'self' blob:",
            "base-uri 'none'",
            "frame-ancestors 'none'",
        ] {
            assert!(policy.split("; ").any(|p| p == part), "{path}: {policy}");
        }
        assert!(
            !policy.contains("unsafe") && !policy.contains('*'),
            "{policy}"
        );
        assert_eq!(said("x-content-type-options"), "nosniff", "{path}");
        assert_eq!(said("referrer-policy"), "same-origin", "{path}");
        assert_eq!(said("x-frame-options"), "DENY", "{path}");
    }
}

#[tokio::test]
async fn pages_bring_nothing_that_their_own_policy_forbids() {
    let gym = Gym::with_one().await;
    for path in ["/", "/remote", "/tv/1", "/tv/7"] {
        let asked = gym.client.get(gym.url(path)).header("accept", "text/html");
        let page = asked.send().await.unwrap().text().await.unwrap();
        for inline in [
            " style=",
            " onclick=",
            " onload=",
            "<style",
            "http://",
            "https://",
        ] {
            assert!(!page.contains(inline), "{path} holds {inline}");
        }
        for script in page.split("<script").skip(1) {
            let tag = script.split('>').next().unwrap();
            let data = tag.contains("application/json");
            assert!(
                tag.contains("src=\"/assets/") || data,
                "{path}: <script{tag}>"
            );
        }
    }
}

/// Headers of a page elsewhere, and of a name that somebody pointed here.
fn foreign(port: u16) -> Vec<Vec<(&'static str, String)>> {
    let own = format!("http://127.0.0.1:{port}");
    let one = |name, value: &str| vec![(name, value.to_owned())];
    vec![
        one("origin", "http://gym.example"),
        one("origin", "null"),
        one("origin", &format!("https://127.0.0.1:{port}")),
        one("origin", &format!("http://localhost:{port}")),
        one("origin", "http://127.0.0.1:1"),
        one("host", "gym.example"),
        one("host", &format!("gym.example:{port}")),
        one("host", "127.0.0.1:1"),
        one("sec-fetch-site", "cross-site"),
        vec![("host", format!("gym.example:{port}")), ("origin", own)],
    ]
}

#[tokio::test]
async fn foreign_pages_and_names_are_turned_away() {
    let gym = Gym::with_one().await;
    for headers in foreign(gym.address.port()) {
        let given: Vec<_> = headers.iter().map(|(n, v)| (*n, v.as_str())).collect();
        let refused = gym.knock(1, &given).await.err();
        assert_eq!(refused, Some(403), "{given:?}");
        for (method, path) in [
            ("GET", "/"),
            ("GET", "/health"),
            ("PATCH", "/api/stations/1"),
        ] {
            let mut asked = gym.client.request(method.parse().unwrap(), gym.url(path));
            for (name, value) in &given {
                asked = asked.header(*name, *value);
            }
            let response = asked.body(r#"{"delay_ms":2000}"#).send().await.unwrap();
            assert_eq!(response.status(), 403, "{method} {path} {given:?}");
            let kind = response.headers()["content-type"].clone();
            assert_eq!(kind, "application/problem+json");
            let problem: Value = serde_json::from_str(&response.text().await.unwrap()).unwrap();
            assert_eq!(problem["status"], 403);
        }
    }
    assert_eq!(gym.json("/api/stations/1").await["delay_ms"], 1_000);
    // Our own pages may.
    let origin = format!("http://{}", gym.address);
    for headers in [
        vec![
            ("origin", origin.as_str()),
            ("sec-fetch-site", "same-origin"),
        ],
        vec![("sec-fetch-site", "none")],
    ] {
        assert!(gym.knock(1, &headers).await.is_ok(), "{headers:?}");
    }
}

/// The status of a request written out by hand.
async fn status_of(gym: &Gym, request: &[u8]) -> String {
    let mut stream = TcpStream::connect(gym.address).await.unwrap();
    stream.write_all(request).await.unwrap();
    stream.shutdown().await.unwrap();
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).await.unwrap();
    let answer = String::from_utf8_lossy(&answer);
    answer.split(' ').nth(1).unwrap_or_default().to_owned()
}

#[tokio::test]
async fn requests_no_browser_would_send_are_refused() {
    let gym = Gym::with_one().await;
    let host = gym.address;
    // A body without a length could go on for ever.
    let endless = format!(
        "PATCH /api/stations/1 HTTP/1.1\r\nHost: {host}\r\nTransfer-Encoding: chunked\r\n\
         Connection: close\r\n\r\n11\r\n{{\"delay_ms\":2000}}\r\n0\r\n\r\n"
    );
    assert_eq!(status_of(&gym, endless.as_bytes()).await, "413");
    let large = format!(
        "PATCH /api/stations/1 HTTP/1.1\r\nHost: {host}\r\nContent-Length: 99999999999\r\n\
         Connection: close\r\n\r\n"
    );
    assert_eq!(status_of(&gym, large.as_bytes()).await, "413");
    // RFC 9112 §3.2: a request names its host.
    let nameless = b"GET / HTTP/1.1\r\nConnection: close\r\n\r\n";
    assert_eq!(status_of(&gym, nameless).await, "403");
    assert_eq!(status_of(&gym, b"GET / HTTP/1.0\r\n\r\n").await, "403");
    // An origin that is no text is not our own.
    let mut odd = format!("GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n").into_bytes();
    odd.extend_from_slice(b"Origin: http://gym\xff\r\n\r\n");
    assert_eq!(status_of(&gym, &odd).await, "403");
    assert_eq!(gym.json("/api/stations/1").await["delay_ms"], 1_000);
}
