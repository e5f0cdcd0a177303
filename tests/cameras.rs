//! The kinds of camera against real servers: an RTSP server in its own process,
//! doors that are closed, and things that are no cameras.
//!
//! Needs `cargo build -p rtsp-camera` first. Every server takes a port of its
//! own, so all of this runs at once.

#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a test fails by panicking, and explains itself"
)]

#[path = "cameras/harness.rs"]
mod harness;

use std::{fs, time::Duration};

use afterturn::av::{
    camera::{Camera, CameraEvent},
    source::demo::DemoCamera,
};
use afterturn_core::{media::stamp::SourceStamp, scene::Size, wire::CameraState};
use harness::{
    Offering, RtspCamera, closed_door, end_of, given_url, in_own_process, listen, network,
    server_saying,
};

#[test]
fn pictures_come_behind_their_format_beginning_at_a_keyframe() {
    let camera = RtspCamera::start(&[]);
    let heard = listen(&mut network(&camera.url, None, None));
    let CameraEvent::Format(config) = heard.next() else {
        panic!("a format first")
    };
    // ISO/IEC 14496-15 §5.3.3.1: version 1, then the profile; the last two bits
    // of the fifth byte say that lengths have four bytes.
    assert_eq!((config.0[0], config.0[4] & 3), (1, 3));
    let pictures = heard.pictures(45);
    assert!(pictures[0].keyframe);
    let keyframes = pictures.iter().filter(|p| p.keyframe).count();
    assert!((1..=3).contains(&keyframes), "{keyframes} keyframes");
    assert!(pictures.is_sorted_by_key(|p| p.arrival));
    let stamps: Vec<_> = pictures
        .iter()
        .filter_map(|p| nanoseconds(p.source))
        .collect();
    assert!(stamps.is_sorted_by(|a, b| a < b), "{stamps:?}");
}

fn nanoseconds(stamp: SourceStamp) -> Option<u64> {
    if let SourceStamp::PipelineNs(ns) = stamp {
        Some(ns)
    } else {
        None
    }
}

#[test]
fn passwords_open_or_do_not() {
    for quirks in [&[][..], &["--quirk", "digest-auth"]] {
        let options = [&["--user", "coach", "--password", "p@ss:w/rd"], quirks].concat();
        let camera = RtspCamera::start(&options);
        for (user, password) in [(None, None), (Some("coach"), Some("wrong"))] {
            let end = listen(&mut network(&camera.url, user, password)).end();
            assert_eq!(end.state, CameraState::Refused, "{end}");
        }
        let heard = listen(&mut network(&camera.url, Some("coach"), Some("p@ss:w/rd")));
        assert_eq!(heard.pictures(3).len(), 3);
    }
}

#[test]
fn what_is_no_camera_is_told_apart() {
    let camera = RtspCamera::start(&[]);
    let http = b"HTTP/1.1 400 Bad Request\r\nContent-Length: 0\r\n\r\n";
    for (url, state) in [
        (closed_door(), CameraState::Unreachable),
        (
            "rtsp://no-such-gym.invalid/cam".to_owned(),
            CameraState::Unreachable,
        ),
        (server_saying(None), CameraState::Unreachable),
        (server_saying(Some(http)), CameraState::NotACamera),
        (
            server_saying(Some(b"220 ready\r\n")),
            CameraState::NotACamera,
        ),
        (server_saying(Some(b"")), CameraState::NotACamera),
        (
            camera.url.replace("/cam", "/other"),
            CameraState::NotACamera,
        ),
    ] {
        let end = end_of(&url);
        assert_eq!(end.state, state, "{url}: {end}");
        assert!(
            !end.detail.contains("/cam") && !end.detail.contains("/other"),
            "{end}"
        );
    }
}

/// What many cameras offer: sound, picture, a smaller picture, and data.
const EVERYTHING: &str = "v=0\r\no=- 0 0 IN IP4 127.0.0.1\r\ns=Beam\r\nt=0 0\r\n\
    m=audio 0 RTP/AVP 0\r\na=control:sound\r\n\
    m=video 0 RTP/AVP 96\r\na=rtpmap:96 H264/90000\r\na=control:picture\r\n\
    m=video 0 RTP/AVP 97\r\na=rtpmap:97 H264/90000\r\na=control:small\r\n\
    m=application 0 RTP/AVP 98\r\na=rtpmap:98 vnd.onvif.metadata/90000\r\na=control:data\r\n";

#[test]
fn audio_is_never_set_up_nor_anything_but_one_picture() {
    let server = Offering::of(EVERYTHING);
    let _heard = listen(&mut network(&server.url, None, None));
    let asked = server.asked_until("PLAY");
    let setups: Vec<_> = asked
        .iter()
        .filter(|line| line.starts_with("SETUP"))
        .collect();
    assert_eq!(setups.len(), 1, "{asked:?}");
    assert!(setups[0].ends_with("/picture RTSP/1.0"), "{asked:?}");
}

#[test]
fn a_camera_with_sound_alone_is_asked_for_nothing() {
    let server = Offering::of(
        "v=0\r\no=- 0 0 IN IP4 127.0.0.1\r\ns=Beam\r\nt=0 0\r\n\
         m=audio 0 RTP/AVP 0\r\na=control:sound\r\n",
    );
    let end = end_of(&server.url);
    assert_eq!(end.state, CameraState::Unsuitable, "{end}");
    assert!(end.detail.contains("no video"), "{end}");
}

#[test]
fn new_parameter_sets_come_before_their_keyframe() {
    let camera = RtspCamera::start(&["--quirk", "size-change@1"]);
    let heard = listen(&mut network(&camera.url, None, None));
    let mut formats = Vec::new();
    while formats.len() < 2 {
        match heard.next() {
            CameraEvent::Format(config) => formats.push(config),
            CameraEvent::Picture(_) | CameraEvent::Notes(_) => {}
            CameraEvent::Ended(error) => panic!("{error:?}"),
        }
    }
    assert_ne!(formats[0], formats[1]);
    assert!(matches!(heard.next(), CameraEvent::Picture(picture) if picture.keyframe));
}

#[test]
fn a_camera_that_dies_is_missed_at_once() {
    let mut camera = RtspCamera::start(&[]);
    let heard = listen(&mut network(&camera.url, None, None));
    heard.pictures(10);
    camera.kill();
    // A station's screen says so within two seconds; half of that is ours.
    let end = heard.end_within(Duration::from_secs(1));
    assert_eq!(end.state, CameraState::Ended);
    assert_eq!(heard.stop(), 0, "nothing follows the end");
}

#[test]
fn nothing_follows_a_drop() {
    let camera = RtspCamera::start(&[]);
    let heard = listen(&mut network(&camera.url, None, None));
    heard.pictures(3);
    assert_eq!(heard.stop(), 0);
}

#[test]
fn the_demo_keeps_its_grid() {
    let size = Size::new(320, 240).unwrap();
    let mut demo = DemoCamera::new(7, size, 30, None);
    assert_eq!((demo.kind(), demo.knock()), ("demo", None));
    let heard = listen(&mut demo);
    assert!(matches!(heard.next(), CameraEvent::Format(_)));
    let pictures = heard.pictures(40);
    assert!(pictures[0].keyframe);
    let stamps: Vec<_> = pictures
        .iter()
        .filter_map(|p| nanoseconds(p.source))
        .collect();
    assert_eq!(stamps.len(), pictures.len());
    assert!(stamps.is_sorted_by(|a, b| a < b));
    // Every picture lies on a thirtieth of a second, skipped ones or not.
    for ns in stamps {
        let number = (ns * 30 + 500_000_000) / 1_000_000_000;
        assert_eq!(ns, number * 1_000_000 / 30 * 1000);
    }
}

#[test]
fn twenty_starts_leave_nothing_behind() {
    let camera = RtspCamera::start(&[]);
    let output = in_own_process("starting_and_dropping", &camera.url);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
}

#[test]
#[ignore = "run by `twenty_starts_leave_nothing_behind`, in a process of its own"]
fn starting_and_dropping() {
    let url = given_url();
    let once = |pictures: usize| {
        let mut demo = DemoCamera::new(1, Size::new(320, 240).unwrap(), 30, None);
        for camera in [&mut network(&url, None, None) as &mut dyn Camera, &mut demo] {
            let heard = listen(camera);
            heard.pictures(pictures);
            heard.stop();
        }
    };
    let count = |what| fs::read_dir(format!("/proc/self/{what}")).unwrap().count();
    // GStreamer keeps threads for its next pipelines: the first ones are its own.
    for _ in 0..4 {
        once(2);
    }
    let before = (count("task"), count("fd"));
    for pictures in 0..20 {
        once(pictures % 3);
    }
    let fits = || count("task") <= before.0 + 3 && count("fd") <= before.1 + 3;
    for _ in 0..50 {
        if fits() {
            return;
        }
        std::thread::sleep(Duration::from_millis(100));
    }
    panic!(
        "before {before:?}, after {:?}",
        (count("task"), count("fd"))
    );
}

/// What must be nowhere; the last is `coach:tiptoe-9` as Basic authentication
/// (RFC 7617 §2) sends it.
const SECRETS: [&str; 5] = [
    "tiptoe-9",
    "side-door",
    "key-of-the-gym",
    "wrong-word",
    "Y29hY2g6dGlwdG9lLTk=",
];

#[test]
fn secrets_stay_out_of_every_log() {
    let options = [
        "--user",
        "coach",
        "--password",
        "tiptoe-9",
        "--path",
        "/side-door",
    ];
    let camera = RtspCamera::start(&options);
    let output = in_own_process("telling_everything", &camera.url);
    let said = [output.stdout, output.stderr].map(|b| String::from_utf8_lossy(&b).into_owned());
    let said = said.concat();
    assert!(output.status.success(), "{said}");
    assert!(
        said.contains("camera ended") && said.contains("TRACE"),
        "the log was on: {said}"
    );
    for secret in SECRETS {
        assert!(!said.contains(secret), "{secret} in: {said}");
    }
}

#[test]
#[ignore = "run by `secrets_stay_out_of_every_log`, in a process of its own"]
fn telling_everything() {
    tracing_subscriber::fmt()
        .with_max_level(tracing::Level::TRACE)
        .with_writer(std::io::stderr)
        .init();
    tracing::trace!("everything is told");
    let url = given_url();
    let inside = url.replace("rtsp://", "rtsp://coach:tiptoe-9@");
    for (url, user, password) in [
        (url.clone(), Some("coach"), Some("tiptoe-9")),
        (inside.clone(), None, None),
        (url.clone(), Some("coach"), Some("wrong-word")),
        (url + "?token=key-of-the-gym", None, None),
        (inside + "/key-of-the-gym", None, None),
        (
            closed_door() + "?token=key-of-the-gym",
            Some("coach"),
            Some("tiptoe-9"),
        ),
        (
            "rtsp://coach:tiptoe-9@:0/key-of-the-gym".to_owned(),
            None,
            None,
        ),
    ] {
        let mut camera = network(&url, user, password);
        eprintln!("{camera:?}");
        if camera.knock().is_none() {
            let refused = camera.start(
                std::sync::Arc::new(|| afterturn_core::kernel::CaptureUs::ZERO),
                std::sync::Arc::new(|_| ()),
            );
            eprintln!("{:?}", refused.err());
            continue;
        }
        let heard = listen(&mut camera);
        for _ in 0..5 {
            let event = heard.next();
            eprintln!("{event:?}");
            if matches!(event, CameraEvent::Ended(_)) {
                break;
            }
        }
    }
}
