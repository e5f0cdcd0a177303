//! What each outcome of an RTSP exchange is called.

use std::{net::TcpListener, thread};

use super::*;

fn host() -> Host {
    Host {
        host: "beam.gym".into(),
        port: 554,
    }
}

fn offer(media: &str, encoding: &str) -> Offer {
    Offer {
        media: media.into(),
        encoding: encoding.into(),
    }
}

fn never(_: &Host) -> Answer {
    panic!("no need to knock")
}

fn status(code: u32) -> Failure {
    Failure {
        status: Some(code),
        ..Failure::default()
    }
}

#[test]
fn a_status_code_decides_by_itself() {
    // The codes are those of RFC 2326 §11.
    for (code, state) in [
        (401, CameraState::Refused),
        (403, CameraState::Refused),
        (404, CameraState::NotACamera),
        (454, CameraState::NotACamera),
        (461, CameraState::Unsuitable),
        (453, CameraState::Unreachable),
        (503, CameraState::Unreachable),
    ] {
        let error = explain(status(code), &Progress::default(), &host(), never);
        assert_eq!(error.state, state, "{code}: {}", error.detail);
    }
}

#[test]
fn what_a_camera_sends_instead_is_named() {
    for (offers, words) in [
        (
            vec![offer("audio", "PCMU"), offer("video", "H265")],
            "H.265 (HEVC); set its video encoding",
        ),
        (vec![offer("video", "JPEG")], "Motion JPEG;"),
        (vec![offer("video", "X\u{1b}[2Jrtsp://a")], "X2Jrtspa;"),
        (vec![offer("audio", "PCMU")], "no video"),
    ] {
        let progress = Progress {
            offers,
            ..Progress::default()
        };
        let error = explain(Failure::default(), &progress, &host(), never);
        assert_eq!(error.state, CameraState::Unsuitable);
        assert!(error.detail.contains(words), "{}", error.detail);
    }
}

#[test]
fn a_stream_that_ran_has_ended() {
    let progress = Progress {
        offers: vec![offer("video", "H264")],
        chosen: true,
        flowing: true,
    };
    assert_eq!(
        explain(Failure::default(), &progress, &host(), never).state,
        CameraState::Ended
    );
}

#[test]
fn only_an_open_question_is_settled_by_knocking() {
    for (answer, state) in [
        (Answer::NoSuchName, CameraState::Unreachable),
        (
            Answer::Closed(ErrorKind::ConnectionRefused),
            CameraState::Unreachable,
        ),
        (
            Answer::Closed(ErrorKind::HostUnreachable),
            CameraState::Unreachable,
        ),
        (Answer::Silent, CameraState::Unreachable),
        (Answer::HangsUp, CameraState::NotACamera),
        (Answer::SomethingElse, CameraState::NotACamera),
        (Answer::Rtsp, CameraState::Ended),
    ] {
        let error = explain(Failure::default(), &Progress::default(), &host(), |_| {
            answer
        });
        assert_eq!(error.state, state, "{}", error.detail);
        assert!(error.detail.contains("beam.gym:554"), "{}", error.detail);
    }
}

/// Knocks at a listener that answers each connection with `reply`.
fn knocked(reply: &'static [u8]) -> Answer {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = listener.local_addr().unwrap().port();
    let serving = thread::spawn(move || {
        let (mut stream, _) = listener.accept().unwrap();
        let mut asked = [0; 64];
        let _ = stream.read(&mut asked);
        stream.write_all(reply).unwrap();
    });
    let answer = knock(&Host {
        host: "127.0.0.1".into(),
        port,
    });
    serving.join().unwrap();
    answer
}

#[test]
fn who_is_there_shows_in_the_first_word() {
    assert_eq!(knocked(b"RTSP/1.0 200 OK\r\n\r\n"), Answer::Rtsp);
    assert_eq!(
        knocked(b"HTTP/1.1 400 Bad Request\r\n\r\n"),
        Answer::SomethingElse
    );
    assert_eq!(knocked(b""), Answer::HangsUp);
}

#[test]
fn a_closed_door_says_so() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = listener.local_addr().unwrap().port();
    drop(listener);
    let answer = knock(&Host {
        host: "127.0.0.1".into(),
        port,
    });
    assert_eq!(answer, Answer::Closed(ErrorKind::ConnectionRefused));
}
