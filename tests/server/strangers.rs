//! Whoever guesses, replays, dawdles or talks rubbish in HTTP itself: refused
//! or closed in time, and the service goes on.

use std::time::Duration;

use reqwest::header;
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::TcpStream,
    time::{Instant, timeout},
};

use super::{
    doors::{WORDS, cookie, first_run, gym, own, post, status},
    harness::{Gym, PATIENCE},
};

async fn is_well(gym: &Gym) {
    assert_eq!(status(gym, "/health", "").await, 200);
}

#[tokio::test]
async fn who_was_on_the_way_to_the_screens_gets_there_and_nowhere_else() {
    let gym = gym().await;
    let asked = gym.client.get(gym.url("/screens"));
    let response = asked.header(header::ACCEPT, "text/html").send().await;
    let response = response.unwrap();
    // Without a fragment of its own, so that a browser keeps the one it has
    // (RFC 9110 §10.2.2).
    assert_eq!(response.headers()[header::LOCATION], "/sign-in?to=screens");
    let page = gym.client.get(gym.url("/sign-in?to=screens")).send().await;
    let page = page.unwrap().text().await.unwrap();
    assert!(page.contains(r#"name="to" value="screens""#));
    first_run(&gym).await;
    for (to, expected) in [
        ("screens", "/screens"),
        ("remote", "/remote"),
        ("", "/remote"),
        ("//elsewhere.example", "/remote"),
        ("https://elsewhere.example/", "/remote"),
        ("/screens", "/remote"),
    ] {
        let form = [("passphrase", WORDS), ("to", to)];
        let response = post(&gym, "/sign-in", "", &form).await;
        assert_eq!(response.headers()[header::LOCATION], expected, "{to}");
    }
}

/// Tries until it has to wait; how often it could.
async fn tries(gym: &Gym, path: &str, cookie: &str, form: &[(&str, &str)]) -> u32 {
    for tried in 0..20 {
        if post(gym, path, cookie, form).await.status() == 429 {
            return tried;
        }
    }
    panic!("guessing goes on and on at {path}: {form:?}");
}

#[tokio::test]
async fn pins_and_codes_are_guessed_five_times_and_nobody_else_waits() {
    let gym = gym().await;
    // The first run's code, before there is anything else.
    let form = [
        ("code", "AAAAAAAA"),
        ("passphrase", WORDS),
        ("again", WORDS),
    ];
    assert_eq!(tries(&gym, "/sign-in", "", &form).await, 5);
    let gym = super::doors::gym().await;
    let teacher = first_run(&gym).await;
    let set = [("do", "set-pin"), ("pin", "493817")];
    assert_eq!(post(&gym, "/screens", &teacher, &set).await.status(), 200);
    assert_eq!(tries(&gym, "/sign-in", "", &[("pin", "111222")]).await, 5);
    let code = [("do", "let-in"), ("code", "AAAAAA"), ("station", "1")];
    assert_eq!(tries(&gym, "/screens", &teacher, &code).await, 5);
    // The right ones wait too; other secrets and whoever is in do not.
    let right = post(&gym, "/sign-in", "", &[("pin", "493817")]).await;
    assert_eq!(right.status(), 429);
    assert_eq!(status(&gym, "/remote", &teacher).await, 200);
    let right = post(&gym, "/sign-in", "", &[("passphrase", WORDS)]).await;
    assert_eq!(right.status(), 303);
}

#[tokio::test]
async fn a_place_in_the_waiting_row_is_told_its_session_once() {
    let gym = gym().await;
    let teacher = first_run(&gym).await;
    let pairing = |cookie: String| {
        let asked = gym.client.get(gym.url("/api/pairing"));
        async move {
            let response = asked.header(header::COOKIE, cookie).send().await.unwrap();
            let session = cookie_of(&response);
            (response.text().await.unwrap(), session)
        }
    };
    let asked = own(&gym, gym.client.post(gym.url("/api/pairing")));
    let response = asked.send().await.unwrap();
    let waiting = cookie(&response, "afterturn-waiting").unwrap();
    let said: serde_json::Value = serde_json::from_str(&response.text().await.unwrap()).unwrap();
    let form = [
        ("do", "let-in"),
        ("code", said["code"].as_str().unwrap()),
        ("station", "1"),
    ];
    // Codes are no tokens, and neither is what somebody makes up.
    for forged in [
        String::new(),
        format!("afterturn-waiting={}", "0".repeat(64)),
        format!("afterturn-waiting={}", said["code"].as_str().unwrap()),
        waiting.replace("afterturn-waiting", "afterturn"),
    ] {
        let (said, session) = pairing(forged.clone()).await;
        assert_eq!(
            (said.as_str(), session),
            (r#"{"state":"unknown"}"#, None),
            "{forged}"
        );
    }
    assert_eq!(post(&gym, "/screens", &teacher, &form).await.status(), 200);
    let (_, session) = pairing(waiting.clone()).await;
    assert_eq!(status(&gym, "/tv/1", &session.unwrap()).await, 200);
    let (said, again) = pairing(waiting.clone()).await;
    assert_eq!(
        (said.as_str(), again),
        (r#"{"state":"unknown"}"#, None),
        "a replay"
    );
    // The code is used up too, and what it waited with opens nothing.
    let page = post(&gym, "/screens", &teacher, &form).await;
    assert!(page.text().await.unwrap().contains("role=\"alert\""));
    assert_eq!(status(&gym, "/tv/1", &waiting).await, 401);
}

fn cookie_of(response: &reqwest::Response) -> Option<String> {
    cookie(response, "afterturn")
}

/// What comes back for these bytes until the connection is closed.
async fn raw(gym: &Gym, bytes: &[u8]) -> String {
    let mut stream = TcpStream::connect(gym.address).await.unwrap();
    // It may be closed before all of it is taken.
    let _ = stream.write_all(bytes).await;
    let mut said = Vec::new();
    let ended = timeout(PATIENCE, stream.read_to_end(&mut said)).await;
    let _ = ended.expect("it is closed in time");
    String::from_utf8_lossy(&said).into_owned()
}

/// What is wrong with a request, the request, and how it may be refused. HOST
/// stands for the box's own, BIG, MANY and LONG for too much of something.
const BROKEN: &[(&str, &str, &[u16])] = &[
    ("nothing of HTTP", "\0\u{1}\u{2}\r\n\r\n", &[400]),
    (
        "no host (RFC 9112 §3.2)",
        "GET /health HTTP/1.1\r\nConnection: close\r\n\r\n",
        &[400, 403],
    ),
    (
        "another host",
        "GET /health HTTP/1.1\r\nHost: gym.example\r\nConnection: close\r\n\r\n",
        &[403],
    ),
    // Whoever reads the first and whoever reads the last would not agree.
    (
        "two hosts (RFC 9112 §3.2)",
        "GET /health HTTP/1.1\r\nHost: HOST\r\nHost: gym.example\r\nConnection: close\r\n\r\n",
        &[400],
    ),
    (
        "another host, then ours",
        "GET /health HTTP/1.1\r\nHost: gym.example\r\nHost: HOST\r\nConnection: close\r\n\r\n",
        &[400],
    ),
    (
        "a target with another host (RFC 9112 §3.2.2)",
        "GET http://gym.example/health HTTP/1.1\r\nHost: HOST\r\nConnection: close\r\n\r\n",
        &[403],
    ),
    (
        "two lengths (RFC 9112 §6.3)",
        "POST /sign-in HTTP/1.1\r\nHost: HOST\r\nContent-Length: 4\r\nContent-Length: 5\r\n\r\nabcde",
        &[400],
    ),
    (
        "a length below nothing",
        "POST /sign-in HTTP/1.1\r\nHost: HOST\r\nContent-Length: -1\r\n\r\n",
        &[400],
    ),
    (
        "a length beyond all",
        "POST /sign-in HTTP/1.1\r\nHost: HOST\r\nContent-Length: 99999999999999999999999\r\n\r\n",
        &[400],
    ),
    (
        "a large body",
        "POST /sign-in HTTP/1.1\r\nHost: HOST\r\nConnection: close\r\nContent-Length: 20000\r\n\r\nBIG",
        &[413],
    ),
    (
        "a body of unknown length",
        "POST /sign-in HTTP/1.1\r\nHost: HOST\r\nConnection: close\r\nTransfer-Encoding: chunked\r\n\r\n4\r\na=bc\r\n0\r\n\r\n",
        &[413],
    ),
    (
        "too many headers",
        "GET /health HTTP/1.1\r\nHost: HOST\r\nMANY\r\n",
        &[431],
    ),
    (
        "a header without end",
        "GET /health HTTP/1.1\r\nHost: HOST\r\nX-Long: LONG\r\n\r\n",
        &[431],
    ),
    (
        "a path without end",
        "GET /LONG HTTP/1.1\r\nHost: HOST\r\n\r\n",
        &[414, 431],
    ),
    (
        "a header over two lines (RFC 9112 §5.2)",
        "GET /health HTTP/1.1\r\nHost: HOST\r\nX-More: a\r\n b\r\n\r\n",
        &[400],
    ),
];

#[tokio::test]
async fn requests_that_break_http_are_refused_and_closed() {
    let gym = gym().await;
    for (what, request, statuses) in BROKEN {
        let request = request
            .replace("HOST", &gym.address.to_string())
            .replace("BIG", &"x".repeat(20_000))
            .replace("MANY", &"X-More: yes\r\n".repeat(2_000))
            .replace("LONG", &"x".repeat(1_000_000));
        let said = raw(&gym, request.as_bytes()).await;
        // Closed without a word is a refusal too.
        let status = said.split(' ').nth(1);
        let status = status.map(|status| status.parse::<u16>().unwrap());
        assert!(
            status.is_none_or(|status| statuses.contains(&status)),
            "{what}: {said}"
        );
        assert!(!said.contains("\"stations\""), "{what}: {said}");
        is_well(&gym).await;
    }
}

#[tokio::test]
async fn a_body_that_never_ends_is_not_waited_for() {
    let gym = gym().await;
    let mut stream = TcpStream::connect(gym.address).await.unwrap();
    let head = format!(
        "POST /sign-in HTTP/1.1\r\nHost: {}\r\nOrigin: http://{}\r\nContent-Length: 9000\r\n\r\n",
        gym.address, gym.address
    );
    stream.write_all(head.as_bytes()).await.unwrap();
    let began = Instant::now();
    // A byte every so often keeps it alive for as long as it is waited for.
    let mut said = Vec::new();
    loop {
        let _ = stream.write_all(b"a").await;
        let mut some = [0; 512];
        match timeout(Duration::from_millis(400), stream.read(&mut some)).await {
            Ok(Ok(0) | Err(_)) => break,
            Ok(Ok(read)) => said.extend_from_slice(&some[..read]),
            Err(_) => {}
        }
        assert!(began.elapsed() < PATIENCE, "still waited for");
    }
    assert!(
        began.elapsed() > Duration::from_secs(5),
        "a slow phone has time"
    );
    // RFC 9110 §15.5.9.
    let said = String::from_utf8_lossy(&said).into_owned();
    assert!(said.starts_with("HTTP/1.1 408 "), "{said}");
    is_well(&gym).await;
}
