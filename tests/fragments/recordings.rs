//! The recordings that the tests look at: every kind of camera, in every encoder
//! that works on this machine. Each is made once, at the first need.
//!
//! Not here: what is to be found in them.

use std::{sync::LazyLock, thread};

use afterturn::av::{
    encode::Encoding,
    source::{demo::DemoCamera, file::FileCamera},
};
use afterturn_core::scene::Size;

use crate::{
    cameras,
    harness::{Recording, record},
};

/// The built-in scene, in the best encoder that works here.
pub(crate) static DEMO: LazyLock<Recording> = LazyLock::new(|| {
    let size = Size::new(640, 360).unwrap();
    record(&mut DemoCamera::new(3, size, 30, None))
});

/// The encoders that work here.
static ENCODERS: LazyLock<Vec<&'static str>> = LazyLock::new(|| {
    afterturn::av::init().unwrap();
    let works: Vec<_> = Encoding::names()
        .filter(|name| Encoding::works(name))
        .collect();
    // Both are in packages the tests install.
    for sure in ["x264enc", "openh264enc"] {
        assert!(works.contains(&sure), "no {sure}");
    }
    works
});

/// The built-in scene in each encoder.
static DEMOS: LazyLock<Vec<(String, Recording)>> = LazyLock::new(|| {
    let one = |name: &&str| {
        let encoding = Encoding::new(Some((*name).to_owned()), 1);
        let size = Size::new(640, 360).unwrap();
        let mut demo = DemoCamera::new(3, size, 30, None).encoded_by(encoding);
        (format!("demo in {name}"), record(&mut demo))
    };
    ENCODERS.iter().map(one).collect()
});

/// The recorded scene, played from a file, in each encoder.
pub(crate) static FILES: LazyLock<Vec<(String, Recording)>> = LazyLock::new(|| {
    let file = DEMO.file();
    let one = |name: &&str| {
        let encoding = Encoding::new(Some((*name).to_owned()), 1);
        let mut played = FileCamera::new(file.path().to_owned(), encoding);
        (format!("file in {name}"), record(&mut played))
    };
    ENCODERS.iter().map(one).collect()
});

/// A camera on the network, whose pictures are passed through.
static NETWORK: LazyLock<Recording> = LazyLock::new(|| {
    let camera = cameras::RtspCamera::start(&[]);
    record(&mut cameras::network(&camera.url, None, None))
});

/// Cameras whose pictures have to be converted, in each encoder.
static CONVERTED: LazyLock<Vec<(String, Recording)>> = LazyLock::new(|| {
    let one = |encoder: &'static str, quirk: &'static str| {
        let camera = cameras::RtspCamera::start(&["--quirk", quirk]);
        let encoding = Encoding::new(Some(encoder.to_owned()), 1);
        let mut network = cameras::network(&camera.url, None, None).encoded_by(encoding);
        (format!("{quirk} in {encoder}"), record(&mut network))
    };
    let quirks = ["h265", "mjpeg", "b-frames", "interlaced", "4-2-2"];
    // A recording takes as long as it is; two at once are no load.
    let running: Vec<_> = ENCODERS
        .iter()
        .map(|encoder| thread::spawn(move || quirks.map(|quirk| one(encoder, quirk))))
        .collect();
    let joined = running.into_iter().map(|all| all.join().unwrap());
    joined.flatten().collect()
});

pub(crate) fn named(
    recordings: &[(String, Recording)],
) -> impl Iterator<Item = (&str, &Recording)> {
    recordings
        .iter()
        .map(|(name, recording)| (&**name, recording))
}

/// Those whose strips tell when they were taken.
pub(crate) fn live() -> Vec<(&'static str, &'static Recording)> {
    let two: [(_, &Recording); 2] = [("demo", &DEMO), ("network", &NETWORK)];
    let converted = named(&CONVERTED);
    two.into_iter()
        .chain(named(&DEMOS))
        .chain(converted)
        .collect()
}

pub(crate) fn each() -> Vec<(&'static str, &'static Recording)> {
    live().into_iter().chain(named(&FILES)).collect()
}
