//! Devices in a folder that stands for a machine, and pictures of a test source
//! that stands for a camera.

use std::os::unix::fs::symlink;

use super::*;
use crate::av::source::usb::modes::{Rates, Span};

fn offer(form: Form, width_px: u32, height_px: u32, fps: u32) -> Offer {
    Offer {
        form,
        width: Span::one(width_px),
        height: Span::one(height_px),
        rates: Rates::Some(Rate::new(fps, 1).into_iter().collect()),
    }
}

/// A machine with these devices, `(number, what it calls itself)`.
fn machine(devices: &[(u32, &str)]) -> tempfile::TempDir {
    let root = tempfile::tempdir().unwrap();
    for (number, name) in devices {
        let id = format!("video{number}");
        fs::create_dir_all(root.path().join("dev/v4l/by-id")).unwrap();
        fs::create_dir_all(root.path().join("dev/v4l/by-path")).unwrap();
        fs::write(root.path().join("dev").join(&id), b"").unwrap();
        let about = root.path().join("sys/class/video4linux").join(&id);
        fs::create_dir_all(&about).unwrap();
        fs::write(about.join("name"), format!("{name}\n")).unwrap();
    }
    root
}

fn link(root: &tempfile::TempDir, name: &str, number: u32) {
    let target = root.path().join(format!("dev/video{number}"));
    symlink(target, root.path().join("dev/v4l").join(name)).unwrap();
}

#[test]
fn each_camera_is_listed_once_by_its_lasting_name() {
    let root = machine(&[
        (10, "Gym Cam: Gym Cam"),
        (2, "Twin"),
        (0, "Gym\u{1b}[2J Cam"),
        (1, "its second device"),
        (3, "Twin"),
    ]);
    fs::write(root.path().join("dev/video"), b"").unwrap();
    fs::write(root.path().join("dev/null"), b"").unwrap();
    link(&root, "by-id/usb-Gym_Cam_0001-video-index0", 0);
    link(&root, "by-path/pci-1-usb-0:1:1.0-video-index0", 0);
    // Two of a kind without a number of their own share the first kind of name.
    link(&root, "by-id/usb-Twin-video-index0", 3);
    link(&root, "by-path/pci-1-usb-0:2:1.0-video-index0", 2);
    link(&root, "by-path/pci-1-usb-0:3:1.0-video-index0", 3);
    let listed = list_below(root.path(), |node| {
        let second = node.ends_with("video1");
        let one = offer(Form::Jpeg, 1280, 720, 30);
        if second { Vec::new() } else { vec![one] }
    });
    let found: Vec<_> = listed
        .iter()
        .map(|device| {
            let path = device.device.strip_prefix(root.path()).unwrap();
            (&*device.id, &*device.name, path.to_str().unwrap())
        })
        .collect();
    assert_eq!(
        found,
        [
            (
                "video0",
                "Gym[2J Cam",
                "dev/v4l/by-id/usb-Gym_Cam_0001-video-index0"
            ),
            (
                "video2",
                "Twin",
                "dev/v4l/by-path/pci-1-usb-0:2:1.0-video-index0"
            ),
            ("video3", "Twin", "dev/v4l/by-id/usb-Twin-video-index0"),
            ("video10", "Gym Cam: Gym Cam", "dev/video10"),
        ]
    );
}

#[test]
fn a_machine_without_cameras_has_an_empty_list() {
    let root = tempfile::tempdir().unwrap();
    assert!(list_below(root.path(), |_| panic!("there is nothing to open")).is_empty());
    crate::av::init().unwrap();
    // Whatever this machine has, asking does no harm, and a made-up one is none.
    let listed = list();
    assert!(listed.iter().all(|device| !device.offers.is_empty()));
    assert!(picture("video4711").is_none() && picture("../etc").is_none());
}

#[test]
fn a_device_tells_its_forms_by_the_largest_of_each() {
    let device = Device {
        id: "video0".into(),
        device: "/dev/video0".into(),
        name: "Gym Cam".into(),
        offers: vec![
            offer(Form::Raw("YUY2"), 640, 480, 30),
            offer(Form::Jpeg, 1280, 720, 30),
            offer(Form::Jpeg, 1920, 1080, 15),
            offer(Form::Jpeg, 1920, 1080, 30),
            offer(Form::Raw("YUY2"), 1280, 720, 10),
        ],
    };
    let best: Vec<_> = device
        .best()
        .iter()
        .map(|one| (one.form.to_string(), one.size.width_px, one.fps))
        .collect();
    assert_eq!(
        best,
        [
            ("Motion JPEG".to_owned(), 1920, Some(30.0)),
            ("uncompressed YUY2".to_owned(), 1280, Some(10.0))
        ]
    );
    let usual = device.usual().unwrap();
    assert_eq!((usual.form, usual.size), (Form::Jpeg, Dimensions::HD));
}

/// A source that sends in this mode, as a device would.
fn source(description: &str) -> gst::Element {
    crate::av::init().unwrap();
    gst::parse::bin_from_description(description, true)
        .unwrap()
        .upcast()
}

#[test]
fn a_picture_is_a_small_jpeg_whatever_the_camera_sends() {
    for (form, description, size) in [
        (
            Form::Jpeg,
            "videotestsrc ! video/x-raw,format=Y42B,width=1280,height=720,framerate=30/1 ! jpegenc",
            (640, 360),
        ),
        (Form::Raw("YUY2"), "videotestsrc", (480, 360)),
        (Form::Raw("GRAY8"), "videotestsrc", (480, 360)),
    ] {
        let (width, height) = if form == Form::Jpeg {
            (1280, 720)
        } else {
            (640, 480)
        };
        let mode = Mode {
            form,
            size: Dimensions::new(width, height),
            rate: Rate::new(30, 1),
        };
        let jpeg = still(&source(description), &mode).unwrap();
        // ITU-T T.81 Table B.1: SOI begins a picture, EOI ends it; in between
        // SOF0 (Figure B.3) has the height and width behind length and precision.
        assert!(jpeg.starts_with(&[0xff, 0xd8]) && jpeg.ends_with(&[0xff, 0xd9]));
        let frame = jpeg.windows(2).position(|at| at == [0xff, 0xc0]).unwrap();
        let number = |at: usize| u16::from_be_bytes([jpeg[frame + at], jpeg[frame + at + 1]]);
        assert_eq!((number(7), number(5)), size, "{form}");
    }
}

#[test]
fn a_source_that_fails_or_sends_nothing_gives_no_picture() {
    let mode = Mode {
        form: Form::Raw("YUY2"),
        size: Dimensions::new(640, 480),
        rate: None,
    };
    let ends = still(&source("videotestsrc num-buffers=0"), &mode);
    assert_eq!(ends, Err(Trouble::default()));
    let slow = still(&source("videotestsrc num-buffers=3"), &mode);
    assert!(slow.is_ok(), "what there was is better than none");
}
