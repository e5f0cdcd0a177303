//! Screens that talk rubbish: each is refused and closed, and neither the
//! server nor another screen of the same station notices.

use std::time::Duration;

use afterturn_core::wire::FromServer;
use futures_util::SinkExt;
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::TcpStream,
    time::{Instant, timeout},
};
use tokio_tungstenite::tungstenite::Message;

use super::{
    harness::{Gym, Heard, PATIENCE, Screen},
    pictures_after, run_of,
};

fn texts() -> Vec<String> {
    let plain = [
        "",
        "rubbish",
        "null",
        "[]",
        "{}",
        "\u{0}",
        r#"{"type":"dance"}"#,
        r#"{"type":"hello","protocol":1,"build":"x","station":1,"now_us":0}"#,
        r#"{"type":"want","from_us":"now"}"#,
        r#"{"type":"want","from_us":-1}"#,
        r#"{"type":"want","from_us":1.5}"#,
        r#"{"type":"want","from_us":18446744073709551616}"#,
        r#"{"type":"want","from_us":null,"station":2}"#,
        r#"{"type":"clock"}"#,
        r#"{"type":"clock","t1_us":1e400}"#,
        r#"{"type":"report"}"#,
        r#"{"type":"want","from_us":null} {"type":"want","from_us":null}"#,
    ];
    let mut texts: Vec<_> = plain.into_iter().map(str::to_owned).collect();
    // As deep as fits: a parser that recurses must not run out of stack.
    texts.push("[".repeat(4_000));
    texts.push(r#"{"type":"#.repeat(400));
    texts
}

fn messages() -> Vec<Message> {
    let mut messages: Vec<_> = texts().into_iter().map(Message::text).collect();
    messages.push(Message::binary(vec![]));
    messages.push(Message::binary(vec![0; 100]));
    // Longer than any message may be, by a little and by much; the first would
    // be a good one if it were shorter.
    let padded = format!(r#"{{"type":"want","from_us":null{}}}"#, " ".repeat(5_000));
    messages.push(Message::text(padded));
    messages.push(Message::text("a".repeat(10_000_000)));
    messages.push(Message::binary(vec![0; 10_000_000]));
    messages
}

/// Says what was refused, if that was said, once the socket is closed.
async fn refusal(screen: &mut Screen) -> Option<String> {
    let until = Instant::now() + PATIENCE;
    let mut said = None;
    loop {
        match screen.next_before(until).await.expect("the socket closes") {
            Heard::Closed => return said,
            Heard::Said(FromServer::Refused { detail }) => said = Some(detail),
            _ => assert!(said.is_none(), "nothing follows a refusal"),
        }
    }
}

#[tokio::test]
async fn rubbish_is_refused_and_nobody_else_notices() {
    let gym = Gym::with_one().await;
    let mut good = gym.screen(1).await;
    good.next().await;
    good.want().await;
    let mut last = run_of(&mut good).await;
    for message in messages() {
        let mut shown = format!("{} bytes: {message:?}", message.len());
        shown.truncate(120);
        let large = message.len() > 4096;
        let mut bad = gym.screen(1).await;
        bad.want().await;
        // What is too large may be cut off while it is still being sent.
        let sent = bad.socket.send(message).await;
        assert!(sent.is_ok() || large, "{shown}: {sent:?}");
        let refused = refusal(&mut bad).await;
        assert!(large || refused.is_some_and(|d| !d.is_empty()), "{shown}");
        last = pictures_after(&mut good, last, 3).await;
    }
    pictures_after(&mut good, last, 60).await;
    let said = gym.json_until("/api/stations/1", |said| {
        said["viewers"].as_array().unwrap().len() == 1
    });
    assert_eq!(said.await["viewers"][0]["lost_pictures"], 0);
}

#[tokio::test]
async fn numbers_at_the_ends_of_their_range_do_no_harm() {
    let gym = Gym::with_one().await;
    let mut good = gym.screen(1).await;
    good.next().await;
    good.want().await;
    let mut last = run_of(&mut good).await;
    let most = u64::MAX;
    let (least_i, most_i) = (i64::MIN, i64::MAX);
    for text in [
        format!(r#"{{"type":"clock","t1_us":{least_i}}}"#),
        format!(r#"{{"type":"clock","t1_us":{most_i}}}"#),
        format!(r#"{{"type":"want","from_us":{most}}}"#),
        r#"{"type":"want","from_us":0}"#.to_owned(),
        format!(
            r#"{{"type":"report","buffer_end_us":{most},"glass_us":{most},"error_us":{least_i},"dropped_pictures":4294967295}}"#
        ),
        r#"{"type":"report","buffer_end_us":0,"glass_us":0,"error_us":9007199254740993,"dropped_pictures":0}"#
            .to_owned(),
    ] {
        let mut odd = gym.screen(1).await;
        odd.next().await;
        odd.want().await;
        run_of(&mut odd).await;
        odd.say(&text).await;
        // It is still there and is still told how its station is.
        let until = Instant::now() + Duration::from_secs(2);
        let mut states = 0;
        while states < 2 {
            match odd.next_before(until).await.expect("a state in time") {
                Heard::Closed | Heard::Said(FromServer::Refused { .. }) => panic!("{text}"),
                Heard::Said(FromServer::State(_)) => states += 1,
                _ => {}
            }
        }
        gym.json("/api/stations").await;
        last = pictures_after(&mut good, last, 3).await;
    }
}

/// Shakes hands and then sends bytes no client library would.
async fn raw(gym: &Gym, frame: &[u8]) -> TcpStream {
    let mut stream = TcpStream::connect(gym.address).await.unwrap();
    // The example of RFC 6455 §1.3.
    let head = format!(
        "GET /api/stations/1/view HTTP/1.1\r\nHost: {}\r\nUpgrade: websocket\r\n\
         Connection: Upgrade\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\
         Sec-WebSocket-Version: 13\r\n\r\n",
        gym.address
    );
    stream.write_all(head.as_bytes()).await.unwrap();
    let mut answer = [0; 12];
    stream.read_exact(&mut answer).await.unwrap();
    assert_eq!(&answer, b"HTTP/1.1 101");
    stream.write_all(frame).await.unwrap();
    stream
}

#[tokio::test]
async fn frames_that_break_the_protocol_close_their_socket_only() {
    let gym = Gym::with_one().await;
    let mut good = gym.screen(1).await;
    good.next().await;
    good.want().await;
    let mut last = run_of(&mut good).await;
    let long_ping = [&b"\x89\xfe\x01\0\0\0\0\0"[..], &[0; 256]].concat();
    let broken: &[(&str, &[u8])] = &[
        // RFC 6455 §5.1: a client masks every frame.
        ("not masked", b"\x81\x02{}"),
        // §5.2: reserved bits and opcodes.
        ("a reserved bit", b"\xf1\x80\0\0\0\0"),
        ("a reserved opcode", b"\x83\x80\0\0\0\0"),
        // §5.4: the middle of a message that never began.
        ("a loose continuation", b"\x80\x80\0\0\0\0"),
        // §5.5: a control frame of more than 125 bytes.
        ("a long ping", &long_ping),
        // §5.6: text that is not UTF-8.
        ("text of no characters", b"\x81\x82\0\0\0\0\xff\xfe"),
        // §5.2: a length of sixty-three bits.
        (
            "an endless text",
            b"\x81\xff\x7f\xff\xff\xff\xff\xff\xff\xff\0\0\0\0",
        ),
    ];
    for (name, frame) in broken {
        let mut stream = raw(&gym, frame).await;
        let mut rest = Vec::new();
        let closed = timeout(PATIENCE, stream.read_to_end(&mut rest)).await;
        assert!(closed.is_ok(), "{name}: the socket stays open");
        last = pictures_after(&mut good, last, 3).await;
    }
}
