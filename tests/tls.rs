//! The network's ways in, over real sockets: who can read and who is believed,
//! what happens to those that talk rubbish or nothing at all, and that nobody
//! else notices.

#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a test fails by panicking, and explains itself"
)]

#[path = "tls/harness.rs"]
mod harness;
#[path = "tls/strangers.rs"]
mod strangers;

use std::{net::IpAddr, time::Duration};

use futures_util::StreamExt as _;
use rustls::{CertificateError, Error};
use tokio_tungstenite::{client_async, tungstenite::client::IntoClientRequest as _};

use harness::{Asked, Box_, LAN, NAME, get};

#[tokio::test]
async fn a_device_that_trusts_the_authority_reaches_it_by_name_and_by_number() {
    let gym = Box_::open().await;
    for (reached, called) in [("127.0.0.1", "127.0.0.1"), ("127.0.0.1", NAME), (LAN, LAN)] {
        let mut line = gym.shake(reached, called).await.unwrap();
        let host = format!("{called}:{}", gym.secure.port());
        let said = get(&mut line, &host, "/health", "").await;
        assert_eq!(said.status, 200, "{called}");
        assert!(said.body.contains("stations"), "{}", said.body);
        let line = line.get_ref().1;
        assert_eq!(line.alpn_protocol(), Some(&b"http/1.1"[..]));
    }
}

#[tokio::test]
async fn a_device_that_does_not_is_not_fooled() {
    let gym = Box_::open().await;
    let stranger = Box_::open().await;
    let unknown = stranger
        .shake_with_trust_of(&gym, "127.0.0.1", "127.0.0.1")
        .await;
    let unknown = unknown.unwrap_err();
    assert_eq!(
        unknown,
        Error::InvalidCertificate(CertificateError::UnknownIssuer)
    );
    // The right authority, another name.
    let other = gym.shake("127.0.0.1", "gym.local").await.unwrap_err();
    assert!(
        matches!(
            other,
            Error::InvalidCertificate(CertificateError::NotValidForNameContext { .. })
        ),
        "{other:?}"
    );
}

#[tokio::test]
async fn older_screens_shake_hands_too() {
    let gym = Box_::open().await;
    for version in [&rustls::version::TLS12, &rustls::version::TLS13] {
        let line = gym.shake_by(version, "127.0.0.1", NAME).await.unwrap();
        let spoken = line.get_ref().1.protocol_version().unwrap();
        assert_eq!(spoken, version.version);
    }
}

#[tokio::test]
async fn other_names_and_other_pages_are_turned_away() {
    let gym = Box_::open().await;
    let port = gym.secure.port();
    for (host, more, status) in [
        (format!("{NAME}:{port}"), "", 200),
        (format!("127.0.0.1:{port}"), "", 200),
        (
            format!("127.0.0.1:{port}"),
            "Sec-Fetch-Site: same-origin\r\n",
            200,
        ),
        // DNS rebinding: a name that points here, and is not ours.
        (format!("gym.example:{port}"), "", 403),
        (format!("localhost:{port}"), "", 403),
        // Another address of the box than the one that was reached.
        (format!("{LAN}:{port}"), "", 403),
        (NAME.to_owned(), "", 403),
        (format!("{NAME}:1"), "", 403),
        (
            format!("{NAME}:{port}"),
            "Origin: https://gym.example\r\n",
            403,
        ),
        (format!("{NAME}:{port}"), "Origin: null\r\n", 403),
        (
            format!("{NAME}:{port}"),
            "Sec-Fetch-Site: cross-site\r\n",
            403,
        ),
    ] {
        let mut line = gym.shake("127.0.0.1", NAME).await.unwrap();
        let said = get(&mut line, &host, "/health", more).await;
        assert_eq!(said.status, status, "{host} {more}");
    }
    // Its own origin is the encrypted one, and that alone.
    for (scheme, status) in [("https", 200), ("http", 403)] {
        let mut line = gym.shake("127.0.0.1", NAME).await.unwrap();
        let host = format!("{NAME}:{port}");
        let origin = format!("Origin: {scheme}://{host}\r\n");
        assert_eq!(
            get(&mut line, &host, "/health", &origin).await.status,
            status
        );
    }
}

#[tokio::test]
async fn nobody_is_somebody_on_the_network_because_the_box_itself_is() {
    // Whoever is at this box's own browser is the teacher here.
    let gym = Box_::open().await;
    let here = gym.plain_get(gym.here, "/remote", "").await;
    assert_eq!(here.status, 200);
    let mut line = gym.shake("127.0.0.1", NAME).await.unwrap();
    let host = format!("{NAME}:{}", gym.secure.port());
    for (path, status) in [
        ("/remote", 401),
        ("/api/stations", 401),
        ("/tv/1", 401),
        ("/trust", 200),
        ("/health", 200),
        ("/pair", 200),
    ] {
        let said = get(&mut line, &host, path, "").await;
        assert_eq!(said.status, status, "{path} by HTTPS");
    }
    for (path, status) in [
        ("/remote", 401),
        ("/tv/1", 401),
        ("/health", 200),
        ("/sign-in", 403),
    ] {
        let said = gym.plain_get(gym.plain, path, "").await;
        assert_eq!(said.status, status, "{path} without encryption");
    }
}

#[tokio::test]
async fn what_a_session_opens_depends_on_the_way() {
    let gym = Box_::open().await;
    let (teacher, screen) = (&gym.teacher, &gym.screen);
    let cookie = |name: &str, token: &str| format!("Cookie: {name}={token}\r\n");
    let secure = |path: &'static str, cookie: String| {
        let gym = &gym;
        async move {
            let mut line = gym.shake("127.0.0.1", NAME).await.unwrap();
            let host = format!("{NAME}:{}", gym.secure.port());
            get(&mut line, &host, path, &cookie).await.status
        }
    };
    assert_eq!(
        secure("/remote", cookie("__Host-afterturn", teacher)).await,
        200
    );
    // A cookie that plain pages could have set, or seen, is none by HTTPS.
    for name in ["afterturn", "afterturn-screen"] {
        assert_eq!(
            secure("/remote", cookie(name, teacher)).await,
            401,
            "{name}"
        );
    }
    let plain = |path: &'static str, cookie: String| {
        let gym = &gym;
        async move { gym.plain_get(gym.plain, path, &cookie).await.status }
    };
    assert_eq!(
        plain("/tv/1", cookie("afterturn-screen", screen)).await,
        200
    );
    // Even under the right name a teacher is nobody there.
    for name in ["afterturn", "afterturn-screen", "__Host-afterturn"] {
        assert_eq!(plain("/remote", cookie(name, teacher)).await, 401, "{name}");
        assert_eq!(plain("/tv/1", cookie(name, teacher)).await, 401, "{name}");
    }
}

#[tokio::test]
async fn a_screen_is_let_in_by_either_way_with_that_ways_cookie() {
    let gym = Box_::open().await;
    let host = format!("{NAME}:{}", gym.secure.port());
    let post = |host: &str| Asked {
        method: "POST",
        path: "/api/pairing",
        host: host.to_owned(),
        more: String::new(),
    };
    let mut line = gym.shake("127.0.0.1", NAME).await.unwrap();
    let said = post(&host).over(&mut line).await;
    let given = said.header("set-cookie");
    assert!(given.starts_with("__Host-afterturn-waiting="), "{given}");
    assert!(given.ends_with("; Secure"), "{given}");
    let plain = gym.plain.to_string();
    let said = post(&plain).to(gym.plain).await;
    let given = said.header("set-cookie");
    assert!(given.starts_with("afterturn-screen-waiting="), "{given}");
    assert!(!given.contains("Secure"), "{given}");
}

#[tokio::test]
async fn pictures_come_over_the_encrypted_socket() {
    let gym = Box_::open().await;
    let token = &gym.teacher;
    let line = gym.shake("127.0.0.1", NAME).await.unwrap();
    let host = format!("{NAME}:{}", gym.secure.port());
    let url = format!("wss://{host}/api/stations/1/view");
    let mut request = url.into_client_request().unwrap();
    let headers = request.headers_mut();
    headers.insert(
        "cookie",
        format!("__Host-afterturn={token}").parse().unwrap(),
    );
    headers.insert("origin", format!("https://{host}").parse().unwrap());
    let (mut socket, answer) = client_async(request, line).await.unwrap();
    assert_eq!(answer.status(), 101);
    let first = tokio::time::timeout(harness::PATIENCE, socket.next()).await;
    let first = first.unwrap().unwrap().unwrap();
    assert!(first.to_text().unwrap().contains("\"hello\""), "{first:?}");
}

#[tokio::test]
async fn a_new_address_is_good_without_a_restart() {
    let gym = Box_::open().await;
    let before = gym.certificate().await;
    let moved: IpAddr = "127.0.0.99".parse().unwrap();
    assert!(gym.shake("127.0.0.99", "127.0.0.99").await.is_err());
    gym.machine.set(&["127.0.0.1", "127.0.0.99"]);
    let line = harness::until("a leaf for the new address", || async {
        gym.shake("127.0.0.99", "127.0.0.99").await.ok()
    });
    drop(line.await);
    assert_ne!(gym.certificate().await, before);
    let shown = gym.shown.borrow().names.addresses.clone();
    assert!(shown.contains(&moved));
}

#[tokio::test]
async fn it_stops_in_time_whatever_is_open() {
    let gym = Box_::open().await;
    let _idle = gym.shake("127.0.0.1", NAME).await.unwrap();
    let _silent = tokio::net::TcpStream::connect(gym.secure).await.unwrap();
    tokio::time::sleep(Duration::from_millis(100)).await;
    gym.close().await;
}
