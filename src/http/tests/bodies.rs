//! Bodies: who asks is looked at before anything is read.

use std::{
    convert::Infallible,
    pin::Pin,
    sync::atomic::{AtomicBool, Ordering},
    task::{Context, Poll},
};

use warp::{
    http::Request,
    hyper::body::{Body, Frame, SizeHint},
};

use super::*;
use crate::http::bodies::Room;

/// A body of one piece that tells whether anybody began to read it.
struct Watched {
    read: Arc<AtomicBool>,
    bytes: Option<Bytes>,
}

impl Body for Watched {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(
        self: Pin<&mut Self>,
        _: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Infallible>>> {
        let this = self.get_mut();
        this.read.store(true, Ordering::Relaxed);
        Poll::Ready(this.bytes.take().map(|bytes| Ok(Frame::data(bytes))))
    }

    fn size_hint(&self) -> SizeHint {
        SizeHint::with_exact(self.bytes.as_ref().map_or(0, |bytes| bytes.len() as u64))
    }
}

/// The status of a request with a body of so many bytes, and whether any of them
/// was read.
async fn sent(app: &App, method: &str, path: &str, by: Asker, bytes: usize) -> (u16, bool) {
    let read = Arc::new(AtomicBool::new(false));
    let body = Watched {
        read: Arc::clone(&read),
        bytes: Some(vec![b' '; bytes].into()),
    };
    let mut asked = Request::builder()
        .method(method)
        .uri(path)
        .header("content-length", bytes)
        .header("content-type", "application/x-www-form-urlencoded")
        .body(body)
        .unwrap();
    asked.extensions_mut().insert(arrival(Listener::Here));
    if let Some(who) = by {
        asked.extensions_mut().insert(pass(who));
    }
    let response = tower_service::Service::call(&mut warp::service(routes(app)), asked).await;
    let status = response.unwrap().status().as_u16();
    (status, read.load(Ordering::Relaxed))
}

#[tokio::test]
async fn of_a_body_that_is_refused_for_whose_it_is_nothing_is_read() {
    let app = app();
    let tables = [table::TABLE, publishing::TABLE, roster::TABLE];
    let mut refused = 0;
    for (path, methods, _) in tables.into_iter().flatten() {
        for method in methods.unwrap_or(&METHODS) {
            for by in ASKERS {
                let (status, read) = sent(&app, method, path, by, 4_000).await;
                if matches!(status, 401 | 403) && (*method, *path) != ("POST", "/sign-in") {
                    assert!(!read, "{method} {path} as {by:?}: {status}");
                    refused += 1;
                }
            }
        }
    }
    assert!(refused > 200, "{refused}: the tables are there");
}

#[tokio::test]
async fn a_strangers_eight_mebibytes_are_refused_unread() {
    let app = app();
    for path in [
        "/api/pictures",
        "/api/units",
        "/api/class/start",
        "/api/stations/1/whip",
        "/roster/import",
        "/sign-in",
        "/nowhere",
    ] {
        let (status, read) = sent(&app, "POST", path, None, 8 * 1024 * 1024).await;
        assert!(matches!(status, 401 | 404 | 413), "{path}: {status}");
        assert!(!read, "{path}: {status}");
    }
}

/// Sends pieces whenever it is told to.
type Line = tokio::sync::mpsc::Sender<Bytes>;

/// A body whose pieces come over time.
struct Slow(tokio::sync::mpsc::Receiver<Bytes>);

impl Body for Slow {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Infallible>>> {
        let piece = self.0.poll_recv(cx);
        piece.map(|piece| piece.map(|bytes| Ok(Frame::data(bytes))))
    }
}

/// A teacher's request that is on its way: what becomes of it, and its line.
fn on_its_way(
    app: &App,
    path: &str,
    bytes: usize,
) -> (tokio::task::JoinHandle<warp::http::StatusCode>, Line) {
    let (line, body) = tokio::sync::mpsc::channel(1);
    let mut asked = Request::builder()
        .method("POST")
        .uri(path)
        .header("content-length", bytes)
        .body(Slow(body))
        .unwrap();
    asked.extensions_mut().insert(arrival(Listener::Here));
    asked.extensions_mut().insert(pass("teacher"));
    let mut routes = warp::service(routes(app));
    let answer = tower_service::Service::call(&mut routes, asked);
    let status = async move { answer.await.unwrap().status() };
    (tokio::spawn(status), line)
}

#[tokio::test(start_paused = true)]
async fn large_bodies_have_room_together_and_what_runs_a_class_never_waits_for_it() {
    const FILE: usize = 300 * 1024;
    let app = App {
        room: Room::of(2 * FILE as u64),
        ..app()
    };
    let send = |bytes: usize| sent(&app, "POST", "/api/pictures", Some("teacher"), bytes);
    let (first, line) = on_its_way(&app, "/api/pictures", FILE);
    let (second, other) = on_its_way(&app, "/api/pictures", FILE);
    // Once a piece was taken, its request has its room.
    for line in [&line, &other] {
        line.send(vec![b' '; FILE].into()).await.unwrap();
        line.reserve().await.unwrap();
    }
    let mut routes = warp::service(routes(&app));
    let mut third = Request::builder()
        .method("POST")
        .uri("/api/pictures")
        .header("content-length", FILE)
        .body(Watched {
            read: Arc::default(),
            bytes: None,
        })
        .unwrap();
    third.extensions_mut().insert(arrival(Listener::Here));
    third.extensions_mut().insert(pass("teacher"));
    let refused = tower_service::Service::call(&mut routes, third)
        .await
        .unwrap();
    assert_eq!(refused.status(), 503);
    // RFC 9110 §10.2.3.
    assert_eq!(refused.headers()["retry-after"], "10");
    let press = json!({ "order": "pause" }).to_string();
    let press = ask("POST", "/api/stations/1/orders", Some("helper")).body(press);
    assert_eq!(press.reply(&super::routes(&app)).await.status(), 200);
    // No picture; but taken, and its room is free again.
    drop((line, other));
    assert_eq!(first.await.unwrap(), 422);
    assert_eq!(second.await.unwrap(), 422);
    assert_eq!(send(FILE).await, (422, true));
}

#[tokio::test(start_paused = true)]
async fn room_is_given_back_by_a_body_that_never_comes() {
    const FILE: usize = 300 * 1024;
    let app = App {
        room: Room::of(FILE as u64),
        ..app()
    };
    let (late, line) = on_its_way(&app, "/api/pictures", FILE);
    assert_eq!(late.await.unwrap(), 408, "RFC 9110 §15.5.9");
    drop(line);
    let again = sent(&app, "POST", "/api/pictures", Some("teacher"), FILE);
    assert_eq!(again.await, (422, true));
}
