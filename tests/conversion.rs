//! Cameras whose pictures cannot be passed on as they are, against a real RTSP
//! server: they are converted, and it is said why and how to save that.
//!
//! Needs `cargo build -p rtsp-camera` first.

#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a test fails by panicking, and explains itself"
)]

#[path = "cameras/harness.rs"]
mod cameras;

use afterturn::av::camera::CameraEvent;
use afterturn_core::{
    media::{
        slice::{PictureKind, picture_kind},
        stamp::SourceStamp,
    },
    wire::{CameraNote, CameraState},
};
use cameras::{Heard, Offering, RtspCamera, end_of, listen, network};

#[test]
fn what_cannot_be_passed_on_is_converted_and_said() {
    for (quirk, word, advice) in [
        ("h265", CameraNote::ConvertsH265, "video encoding to H.264"),
        ("mjpeg", CameraNote::ConvertsJpeg, "video encoding to H.264"),
        ("b-frames", CameraNote::ConvertsBFrames, "turn B-frames off"),
        (
            "interlaced",
            CameraNote::ConvertsInterlaced,
            "video to progressive",
        ),
        (
            "4-2-2",
            CameraNote::ConvertsProfile,
            "profile to Main or Baseline",
        ),
    ] {
        let camera = RtspCamera::start(&["--quirk", quirk]);
        let (heard, first) = listen_patiently(&camera.url);
        let mut events = std::iter::once(first).chain(std::iter::from_fn(|| Some(heard.next())));
        // What came before it was clear: a second's worth at most.
        let notes = events.by_ref().take(60).find_map(|event| match event {
            CameraEvent::Format(_) | CameraEvent::Picture(_) => None,
            CameraEvent::Notes(notes) => Some(notes),
            CameraEvent::Ended(error) | CameraEvent::Waiting(error) => panic!("{quirk}: {error}"),
        });
        let notes = notes.unwrap_or_else(|| panic!("{quirk}: passed on as it is"));
        assert_eq!(notes[0].word, word, "{quirk}");
        assert!(notes[0].detail.contains(advice), "{quirk}: {notes:?}");
        assert!(notes[0].detail.contains("half a processor"), "{quirk}");
        // A busy machine is told meanwhile that it is too slow for all of it.
        let next = std::iter::repeat_with(|| heard.next())
            .find(|event| !matches!(event, CameraEvent::Notes(_)));
        assert!(
            matches!(next, Some(CameraEvent::Format(_))),
            "{quirk}: pictures of ours have a format of ours"
        );
        let pictures = heard.pictures(40);
        assert!(pictures[0].keyframe, "{quirk}");
        let stamps: Vec<_> = pictures.iter().map(|p| time_ns(p.source)).collect();
        assert!(stamps.is_sorted_by(|a, b| a < b), "{quirk}: {stamps:?}");
        let kinds: Vec<_> = pictures.iter().map(|p| picture_kind(&p.data)).collect();
        assert!(!kinds.contains(&PictureKind::Bidirectional), "{quirk}");
        assert_eq!(heard.stop(), 0, "{quirk}");
    }
}

/// An encoder of a busy test machine may need longer for its first picture than
/// a camera gets to answer; a station tries again, too.
fn listen_patiently(url: &str) -> (Heard, CameraEvent) {
    for _ in 0..5 {
        let heard = listen(&mut network(url, None, None));
        match heard.next() {
            CameraEvent::Ended(error) if error.state == CameraState::Unreachable => {}
            CameraEvent::Ended(error) | CameraEvent::Waiting(error) => panic!("{error}"),
            first => return (heard, first),
        }
    }
    panic!("the server answers in the end");
}

#[test]
fn a_form_that_nobody_converts_says_what_to_set() {
    let server = Offering::of(
        "v=0\r\no=- 0 0 IN IP4 127.0.0.1\r\ns=Beam\r\nt=0 0\r\n\
         m=video 0 RTP/AVP 96\r\na=rtpmap:96 MP4V-ES/90000\r\na=control:picture\r\n",
    );
    let end = end_of(&server.url);
    assert_eq!(end.state, CameraState::Unsuitable, "{end}");
    assert!(end.detail.contains("video encoding to H.264"), "{end}");
}

#[test]
fn h264_is_taken_where_there_is_some() {
    let server = Offering::of(
        "v=0\r\no=- 0 0 IN IP4 127.0.0.1\r\ns=Beam\r\nt=0 0\r\n\
         m=video 0 RTP/AVP 96\r\na=rtpmap:96 H265/90000\r\na=control:large\r\n\
         m=video 0 RTP/AVP 97\r\na=rtpmap:97 H264/90000\r\na=control:small\r\n",
    );
    let _heard = listen(&mut network(&server.url, None, None));
    let asked = server.asked_until("PLAY");
    let setups: Vec<_> = asked.iter().filter(|l| l.starts_with("SETUP")).collect();
    assert_eq!(setups.len(), 1, "{asked:?}");
    assert!(setups[0].ends_with("/small RTSP/1.0"), "{asked:?}");
}

fn time_ns(stamp: SourceStamp) -> u64 {
    let SourceStamp::PipelineNs(ns) = stamp else {
        panic!("the server gives every picture its time");
    };
    ns
}
