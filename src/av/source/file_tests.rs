//! What is said of files that are no recordings, and that sound is left alone.

use super::{super::drive::bench, *};

#[test]
fn a_recording_prints_nothing_of_its_name() {
    let camera = FileCamera::new("/home/coach/Ines cartwheel.mp4".into(), Encoding::default());
    assert_eq!(format!("{camera:?}"), "FileCamera { .. }");
}

#[test]
fn what_is_no_file_is_said_in_a_word() {
    let folder = tempfile::tempdir().unwrap();
    let empty = folder.path().join("empty.mp4");
    fs::write(&empty, b"").unwrap();
    for (path, state, words) in [
        (
            folder.path().join("gone.mp4"),
            CameraState::Unreachable,
            "no file",
        ),
        (
            folder.path().to_owned(),
            CameraState::Unsuitable,
            "a folder",
        ),
        ("/dev/null".into(), CameraState::Unsuitable, "a device"),
        (empty, CameraState::Unsuitable, "empty"),
    ] {
        let error = readable(&path).unwrap_err();
        assert_eq!(error.state, state, "{error}");
        assert!(error.detail.contains(words), "{error}");
        assert!(!error.detail.contains("gone"), "{error}");
    }
}

#[test]
fn the_reason_follows_from_what_was_found() {
    let found = |pictures, sound, undecoded: Option<&str>| Found {
        pictures,
        sound,
        undecoded: undecoded.map(readable_form),
    };
    for (found, state, words) in [
        (
            found(false, true, None),
            CameraState::Unsuitable,
            "sound and no pictures",
        ),
        (
            found(false, false, None),
            CameraState::Unsuitable,
            "no recording",
        ),
        (
            found(true, true, None),
            CameraState::Unsuitable,
            "half a second",
        ),
        (
            found(false, true, Some("video/x-h265")),
            CameraState::MissingPart,
            "decode H.265 (HEVC); install the Debian package gstreamer1.0-libav",
        ),
        (
            found(false, false, Some("video/x-\u{1b}[2Jodd")),
            CameraState::MissingPart,
            "decode video/x-2Jodd;",
        ),
    ] {
        let error = explain(&found);
        assert_eq!(error.state, state, "{error}");
        assert!(error.detail.contains(words), "{error}");
    }
}

/// A second of pictures, as they come out of an encoder.
const PICTURES: &str = "videotestsrc num-buffers=30 \
    ! video/x-raw,width=160,height=120,framerate=30/1 ! x264enc ! h264parse";

/// A recording of pictures and sound.
fn with_sound(path: &Path) {
    const SOUND: &str = "audiotestsrc num-buffers=50 ! audioconvert ! vorbisenc";
    record(
        path,
        &format!("{PICTURES} ! mux. {SOUND} ! mux. matroskamux name=mux"),
    );
}

fn record(path: &Path, description: &str) {
    let description = format!("{description} ! filesink location={}", path.display());
    let pipeline = gst::parse::launch(&description).unwrap();
    pipeline.set_state(gst::State::Playing).unwrap();
    let wanted = [gst::MessageType::Eos, gst::MessageType::Error];
    let bus = pipeline.bus().unwrap();
    let end = bus.timed_pop_filtered(gst::ClockTime::from_seconds(20), &wanted);
    assert_eq!(end.unwrap().type_(), gst::MessageType::Eos);
    pipeline.set_state(gst::State::Null).unwrap();
}

/// A recording that is being played: some pictures have come.
fn played(path: PathBuf) -> (Bench, Playback) {
    let (seen, pictures) = std::sync::mpsc::channel();
    let bench = bench(Arc::new(move |_| {
        let _ = seen.send(());
    }));
    let mut playback = Playback {
        path,
        converter: Converter::new(Encoding::default(), USUAL),
        began: Instant::now(),
        found: Arc::default(),
    };
    playback.build(&bench).unwrap();
    bench.pipeline.set_state(gst::State::Playing).unwrap();
    for _ in 0..10 {
        pictures.recv_timeout(Duration::from_secs(20)).unwrap();
    }
    (bench, playback)
}

#[test]
fn what_was_filmed_sideways_is_turned_and_nothing_else_is_copied() {
    crate::av::init().unwrap();
    let folder = tempfile::tempdir().unwrap();
    // How a phone was held stands in its track's matrix (ISO/IEC 14496-12 §8.3.2).
    let one = 1 << 16;
    for (name, [a, b, c, d], turns, size) in [
        ("upright", [one, 0, 0, one], 0, (160, 120)),
        ("sideways", [0, one, -one, 0], 1, (120, 160)),
        ("overhead", [-one, 0, 0, -one], 1, (160, 120)),
    ] {
        let path = folder.path().join(name).with_extension("mp4");
        record(&path, &format!("{PICTURES} ! qtmux"));
        let mut file = fs::read(&path).unwrap();
        let track = file.windows(4).position(|kind| kind == b"tkhd").unwrap();
        for (at, number) in [(0, a), (4, b), (12, c), (16, d)] {
            let place = track + 44 + at;
            file[place..place + 4].copy_from_slice(&i32::to_be_bytes(number));
        }
        fs::write(&path, file).unwrap();
        let (bench, _) = played(path);
        let all = bench.pipeline.iterate_elements().into_iter().flatten();
        let of = |kind| {
            let all = all.clone().collect::<Vec<_>>();
            let is = move |e: &gst::Element| e.factory().is_some_and(|f| f.name() == kind);
            all.into_iter().filter(is).collect::<Vec<_>>()
        };
        assert_eq!(of("videoflip").len(), turns, "{name}");
        let caps = of("clocksync")[0].static_pad("src").unwrap().current_caps();
        let form = caps.unwrap();
        let px = |side| form.structure(0).unwrap().get::<i32>(side).unwrap();
        assert_eq!((px("width"), px("height")), size, "{name}");
        bench.pipeline.set_state(gst::State::Null).unwrap();
    }
}

#[test]
fn sound_is_neither_decoded_nor_linked() {
    crate::av::init().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sound.mkv");
    with_sound(&path);
    let (bench, playback) = played(path);
    assert!(locked(&playback.found).sound, "it has sound");
    let mut names = Vec::new();
    for element in bench.pipeline.iterate_recurse() {
        let element = element.unwrap();
        let factory = element.factory().unwrap();
        let kind = factory.metadata("klass").unwrap_or_default().to_owned();
        assert!(!kind.contains("Audio"), "{}", factory.name());
        names.push(factory.name().to_string());
        for pad in element.src_pads() {
            let caps = pad.current_caps();
            let sound = caps.is_some_and(|caps| name_of(&caps).starts_with("audio/"));
            let beyond = pad.peer().and_then(|peer| peer.parent_element());
            // Within the demuxing part it is carried to the open end and no further.
            let inside =
                beyond.is_none_or(|e| e.factory().is_none_or(|f| f.name() == "multiqueue"));
            assert!(!sound || inside, "{}", factory.name());
        }
    }
    assert!(names.iter().any(|name| name.contains("h264")), "{names:?}");
    bench.pipeline.set_state(gst::State::Null).unwrap();
}
