//! What may come over a socket or as the body of a request.
//!
//! Not here: what is done about it.

use afterturn_core::{
    kernel::CaptureUs,
    wire::{
        Again, Applies, CameraState, CoverReason, FromScreen, FromServer, MOST_FROM_SCREEN_BYTES,
        Order, StationAgain, StationOrder, StationPatch, StationState,
    },
};

use crate::script::Script;

/// Keys, values and signs of the messages.
pub const WORDS: &[&[u8]] = &[
    b"\"type\"",
    b"\"clock\"",
    b"\"want\"",
    b"\"report\"",
    b"\"sound\"",
    b"\"failed\"",
    b"\"t1_us\"",
    b"\"from_us\"",
    b"\"buffer_end_us\"",
    b"\"glass_us\"",
    b"\"error_us\"",
    b"\"dropped_pictures\"",
    b"\"delay_ms\"",
    b"\"order\"",
    b"\"dont_show\"",
    b"null",
    b"-1",
    b"0",
    b"1e99",
    b"1.5",
    b"-0",
    b"9223372036854775807",
    b"9223372036854775808",
    b"18446744073709551615",
    b"18446744073709551616",
    b"4294967295",
    b"\\u0000",
    b"\\ud800",
    b"{",
    b"}",
    b"[",
    b",",
    b":",
    b"\"",
];

/// Whatever the bytes:
///
/// - a message from a screen is refused in words or taken, and what is taken says
///   the same once it is written and read again, in no more bytes than a screen
///   may send;
/// - the same for one from the server;
/// - whatever a screen has to say arrives as it was said;
/// - a request's body is refused or taken.
pub fn messages(data: &[u8]) {
    let said = said_by_a_screen(&mut Script::new(data));
    let written = serde_json::to_string(&said).expect("a message is plain data");
    let heard = serde_json::from_str::<FromScreen>(&written);
    assert_eq!(heard.expect("what we write we read"), said);
    if let Ok(text) = std::str::from_utf8(data) {
        match serde_json::from_str::<FromScreen>(text) {
            Ok(said) => {
                let written = serde_json::to_string(&said).expect("a message is plain data");
                assert!(written.len() <= MOST_FROM_SCREEN_BYTES);
                let again = serde_json::from_str::<FromScreen>(&written);
                assert_eq!(again.expect("what we write we read"), said);
            }
            Err(error) => assert!(!error.to_string().is_empty()),
        }
        if let Ok(said) = serde_json::from_str::<FromServer>(text) {
            let written = serde_json::to_string(&said).expect("a message is plain data");
            let again = serde_json::from_str::<FromServer>(&written);
            assert_eq!(again.expect("what we write we read"), said);
        }
    }
    if let Ok(asked) = serde_json::from_slice::<StationOrder>(data) {
        assert!(Order::ALL.contains(&asked.order));
    }
    let _ = serde_json::from_slice::<StationPatch>(data);
    let _ = serde_json::from_slice::<StationAgain>(data);
}

/// Any message a screen can send.
fn said_by_a_screen(script: &mut Script<'_>) -> FromScreen {
    let moment = |script: &mut Script<'_>| {
        let there = !script.u8().is_multiple_of(4);
        there.then(|| CaptureUs(script.u64()))
    };
    match script.u8() % 6 {
        3 => FromScreen::Again {},
        4 => FromScreen::Speak {},
        5 => FromScreen::Sound {
            ready: script.u8().is_multiple_of(2),
            plays: script.u8().is_multiple_of(2),
            failed: (0..script.u8()).map(|_| script.u32() as u16).collect(),
        },
        0 => FromScreen::Clock {
            t1_us: script.u64() as i64,
        },
        1 => FromScreen::Want {
            from_us: moment(script),
        },
        _ => FromScreen::Report {
            buffer_end_us: moment(script),
            glass_us: moment(script),
            error_us: moment(script).map(|us| us.0 as i64),
            dropped_pictures: script.u32(),
        },
    }
}

/// Every message there is, as we write it.
#[must_use]
pub fn seeds() -> Vec<Vec<u8>> {
    let at = CaptureUs(1_790_000_000_000_000);
    let screen = [
        FromScreen::Clock { t1_us: -5 },
        FromScreen::Again {},
        FromScreen::Speak {},
        FromScreen::Sound {
            ready: true,
            plays: false,
            failed: vec![0, 500],
        },
        FromScreen::Want { from_us: None },
        FromScreen::Want { from_us: Some(at) },
        FromScreen::Report {
            buffer_end_us: Some(at),
            glass_us: Some(at),
            error_us: Some(-1_500),
            dropped_pictures: 3,
        },
    ];
    let server = [
        FromServer::Hello {
            protocol: 1,
            build: "0.1.0".to_owned(),
            station: 7,
            now_us: at,
        },
        FromServer::Clock {
            t1_us: 1,
            t2_us: at,
            t3_us: at,
        },
        FromServer::State(StationState {
            applies: Applies::Live,
            number: 7,
            title: "Low beam".to_owned(),
            delay_ms: 10_000,
            window_ms: 30_000,
            camera: CameraState::Showing,
            camera_since_us: at,
            oldest_us: Some(at),
            newest_us: None,
            demo: false,
            calibrating: false,
            attempt_s: 8,
            again: Some(Again::Playing {
                from_us: at,
                to_us: at,
                starts_us: at,
                ends_us: at,
            }),
            quiet: false,
        }),
        FromServer::Run {
            mime: "video/mp4; codecs=\"avc1.4d401f\"".to_owned(),
            width_px: 1280,
            height_px: 720,
            from_us: at,
        },
        FromServer::Lost { pictures: 30 },
        FromServer::Cover {
            applies: Applies::AtCapture { capture_us: at },
            reason: CoverReason::DontShow,
        },
        FromServer::Refused {
            detail: "no".to_owned(),
        },
    ];
    let bodies = [
        &br#"{"delay_ms": 5000}"#[..],
        br#"{"order": "wipe"}"#,
        br#"{"ask": "again"}"#,
    ];
    let screen = screen.iter().map(serde_json::to_vec);
    let server = server.iter().map(serde_json::to_vec);
    screen
        .chain(server)
        .map(|written| written.expect("a message is plain data"))
        .chain(bodies.iter().map(|body| body.to_vec()))
        .collect()
}
