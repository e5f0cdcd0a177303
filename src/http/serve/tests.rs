//! Connections over a pipe in memory, on a clock that moves by nothing but what is
//! waited for.

use tokio::{
    io::{AsyncReadExt, AsyncWriteExt, DuplexStream, duplex},
    task::JoinHandle,
    time::Instant,
};

use super::*;
use crate::http::tests::app;

/// What a pipe holds: much less than the script that is asked for.
const PIPE_BYTES: usize = 512;

/// A connection, and our end of it.
fn connected() -> (DuplexStream, JoinHandle<()>, watch::Sender<bool>) {
    let app = app();
    let (stop, stopped) = watch::channel(false);
    let connection = Connection {
        http: http(),
        door: Door {
            routes: warp::service(routes(&app)),
            entrance: Arc::clone(&app.entrance),
            refused: Refused::default(),
        },
        arrival: Arrival {
            listener: Listener::Here,
            peer: [127, 0, 0, 1].into(),
            reached: ([127, 0, 0, 1], 8460).into(),
            name: None,
        },
        stop: stopped,
    };
    let (there, here) = duplex(PIPE_BYTES);
    (there, tokio::spawn(connection.plain(here)), stop)
}

/// The connection ends by itself, about when it should.
async fn ended_within(within: Duration, served: JoinHandle<()>) {
    let ended = timeout(within + Duration::from_secs(1), served).await;
    ended.expect("it is dropped").unwrap();
}

async fn ask(there: &mut DuplexStream) {
    let head = b"GET /assets/live/clock.js HTTP/1.1\r\nHost: 127.0.0.1:8460\r\n\
        Connection: close\r\n\r\n";
    there.write_all(head).await.unwrap();
}

#[tokio::test(start_paused = true)]
async fn a_socket_that_never_reads_is_dropped() {
    let (mut there, served, _stop) = connected();
    ask(&mut there).await;
    let began = Instant::now();
    ended_within(TAKES_WITHIN, served).await;
    assert!(began.elapsed() >= TAKES_WITHIN);
    let mut taken = Vec::new();
    there.read_to_end(&mut taken).await.unwrap();
    assert!(taken.len() <= PIPE_BYTES, "nothing was sent after that");
}

#[tokio::test(start_paused = true)]
async fn a_socket_that_reads_slowly_gets_all_of_it() {
    let (mut there, served, _stop) = connected();
    ask(&mut there).await;
    let mut taken = Vec::new();
    let mut some = [0; PIPE_BYTES];
    loop {
        sleep(TAKES_WITHIN / 2).await;
        match there.read(&mut some).await.unwrap() {
            0 => break,
            bytes => taken.extend_from_slice(&some[..bytes]),
        }
    }
    served.await.unwrap();
    let said = String::from_utf8(taken).unwrap();
    let (head, body) = said.split_once("\r\n\r\n").unwrap();
    let length = head
        .lines()
        .find_map(|line| line.strip_prefix("content-length: "));
    assert_eq!(length, Some(body.len().to_string().as_str()), "{head}");
    assert!(body.len() > 2 * PIPE_BYTES);
}

#[tokio::test(start_paused = true)]
async fn a_socket_that_never_asks_is_dropped() {
    let (there, served, _stop) = connected();
    ended_within(HEAD_WITHIN, served).await;
    drop(there);
}
