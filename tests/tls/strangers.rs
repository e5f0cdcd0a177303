//! Connections that speak no TLS, half of it, or nothing: each is closed in
//! time, none takes the places of others, and the service goes on.

use std::time::Duration;

use tokio::{
    io::{AsyncReadExt as _, AsyncWriteExt as _},
    net::{TcpSocket, TcpStream},
    time::{Instant, timeout},
};

use super::harness::{Box_, NAME, PATIENCE, get, until};

/// The places one device has at most (`src/http/serve.rs`).
const MOST_FROM_ONE_DEVICE: usize = 32;

/// What a TLS client says first, as far as it goes: a record of a handshake
/// (RFC 8446 §5.1) that promises 512 bytes.
const RECORD: &[u8] = &[
    0x16, 0x03, 0x01, 0x02, 0x00, 0x01, 0x00, 0x01, 0xfc, 0x03, 0x03,
];

async fn closed(mut stream: TcpStream) -> Vec<u8> {
    let mut said = Vec::new();
    let ended = timeout(PATIENCE, stream.read_to_end(&mut said)).await;
    // Closed or reset, either is an end.
    let _ = ended.expect("it is closed in time");
    said
}

async fn is_well(gym: &Box_, from: &str) {
    let stream = connect_from(gym, from).await;
    let mut line = gym.shake_over(stream, NAME).await.unwrap();
    let host = format!("{NAME}:{}", gym.secure.port());
    assert_eq!(get(&mut line, &host, "/health", "").await.status, 200);
}

/// A connection from another device, which loopback has plenty of.
async fn connect_from(gym: &Box_, from: &str) -> TcpStream {
    let socket = TcpSocket::new_v4().unwrap();
    socket.bind(format!("{from}:0").parse().unwrap()).unwrap();
    socket.connect(gym.secure).await.unwrap()
}

#[tokio::test]
async fn garbage_ends_its_own_connection_and_nothing_else() {
    let gym = Box_::open().await;
    let long = vec![0x17; 100_000];
    for garbage in [
        &b"\0"[..],
        b"\xff\xff\xff\xff",
        b"SSH-2.0-OpenSSH_9.2\r\n",
        // A record of TLS with nothing of TLS in it.
        b"\x16\x03\x01\x00\x05hello",
        // One that is longer than any may be.
        b"\x16\x03\x01\xff\xff",
        &long,
    ] {
        let mut stream = TcpStream::connect(gym.secure).await.unwrap();
        // It may be closed before all of it is taken.
        let _ = stream.write_all(garbage).await;
        let _ = stream.shutdown().await;
        closed(stream).await;
    }
    is_well(&gym, "127.0.0.1").await;
}

#[tokio::test]
async fn http_without_encryption_is_told_what_to_write() {
    let gym = Box_::open().await;
    let mut stream = TcpStream::connect(gym.secure).await.unwrap();
    let request = format!(
        "GET / HTTP/1.1\r\nHost: {NAME}:{}\r\n\r\n",
        gym.secure.port()
    );
    stream.write_all(request.as_bytes()).await.unwrap();
    let said = String::from_utf8(closed(stream).await).unwrap();
    assert!(said.starts_with("HTTP/1.1 400 "), "{said}");
    assert!(said.contains("Write https:// in front"), "{said}");
}

#[tokio::test]
async fn silence_and_half_a_greeting_are_not_waited_for() {
    let gym = Box_::open().await;
    let began = Instant::now();
    let mut waiting = Vec::new();
    for said in [&[][..], &RECORD[..1], RECORD] {
        let mut stream = TcpStream::connect(gym.secure).await.unwrap();
        stream.write_all(said).await.unwrap();
        waiting.push(tokio::spawn(closed(stream)));
    }
    // Shaken hands, and then nothing.
    let line = gym.shake("127.0.0.1", NAME).await.unwrap();
    waiting.push(tokio::spawn(async move {
        let mut line = line;
        let mut said = Vec::new();
        let _ = timeout(PATIENCE, line.read_to_end(&mut said))
            .await
            .expect("closed in time");
        said
    }));
    // Plain, and then nothing.
    waiting.push(tokio::spawn(closed(
        TcpStream::connect(gym.plain).await.unwrap(),
    )));
    // Meanwhile others are served.
    is_well(&gym, "127.0.0.1").await;
    assert!(began.elapsed() < Duration::from_secs(5));
    for one in waiting {
        one.await.unwrap();
    }
    assert!(
        began.elapsed() > Duration::from_secs(5),
        "a slow phone has time"
    );
}

#[tokio::test]
async fn a_request_that_never_ends_is_not_waited_for() {
    let gym = Box_::open().await;
    let mut line = gym.shake("127.0.0.1", NAME).await.unwrap();
    let began = Instant::now();
    // One more header every so often keeps a connection busy for ever.
    let ended = async {
        line.write_all(b"GET /health HTTP/1.1\r\n").await?;
        loop {
            line.write_all(b"X-More: yes\r\n").await?;
            line.flush().await?;
            let mut said = [0; 1];
            match timeout(Duration::from_millis(500), line.read(&mut said)).await {
                Ok(Ok(0)) | Err(_) => {}
                Ok(Ok(_)) => return Ok(()),
                Ok(Err(error)) => return Err(error),
            }
            assert!(began.elapsed() < PATIENCE, "still waited for");
        }
    };
    let _: std::io::Result<()> = ended.await;
    is_well(&gym, "127.0.0.1").await;
}

#[tokio::test]
async fn one_device_cannot_take_all_places() {
    let gym = Box_::open().await;
    let mut idle = Vec::new();
    for _ in 0..200 {
        idle.push(connect_from(&gym, "127.0.0.66").await);
    }
    // The first keep their places, the rest are closed at once.
    let mut refused = 0;
    for stream in &mut idle {
        let mut said = [0; 1];
        if let Ok(Ok(0) | Err(_)) = timeout(Duration::from_millis(20), stream.read(&mut said)).await
        {
            refused += 1;
        }
    }
    assert!(
        refused >= 200 - MOST_FROM_ONE_DEVICE,
        "only {refused} of 200 were refused"
    );
    // Another device comes in, as many times as it may.
    for _ in 0..3 {
        is_well(&gym, "127.0.0.67").await;
    }
    // And this one again, once it has let go.
    drop(idle);
    until("place for it again", || async {
        let stream = connect_from(&gym, "127.0.0.66").await;
        gym.shake_over(stream, NAME).await.ok()
    })
    .await;
}
