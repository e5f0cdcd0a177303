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

const fn nothing() -> Shut {
    Shut::These(Vec::new())
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
    let listed = list_below(
        root.path(),
        &nothing(),
        |_| true,
        |node| {
            let second = node.ends_with("video1");
            let one = offer(Form::Jpeg, 1280, 720, 30);
            if second {
                Err(Why::NoCamera)
            } else {
                Ok(vec![one])
            }
        },
    );
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
    let untouched = |_: &Path| panic!("there is nothing to open");
    assert!(list_below(root.path(), &nothing(), |_| true, untouched).is_empty());
    crate::av::init().unwrap();
    // Whatever this machine has, asking does no harm, and a made-up one is none.
    let listed = list(&nothing());
    let useful = |device: &Device| device.offers.is_empty() == device.trouble.is_some();
    assert!(listed.iter().all(useful), "{listed:?}");
    for made_up in ["video4711", "../etc", "video", "video00"] {
        assert_eq!(find(made_up, &nothing()), None, "{made_up}");
    }
}

#[test]
fn what_a_station_uses_is_listed_and_not_opened() {
    let root = machine(&[(0, "Gym Cam"), (2, "Twin"), (4, "Free")]);
    link(&root, "by-id/usb-Gym_Cam-video-index0", 0);
    link(&root, "by-path/pci-1-usb-0:1:1.0-video-index0", 0);
    // By a name it is not listed by, and by its number.
    let by_path = root
        .path()
        .join("dev/v4l/by-path/pci-1-usb-0:1:1.0-video-index0");
    let taken = Shut::These(vec![by_path.clone(), root.path().join("dev/video2")]);
    let probe = |node: &Path| {
        assert!(node.ends_with("video4"), "{} was opened", node.display());
        Ok(vec![offer(Form::Jpeg, 1280, 720, 30)])
    };
    let listed = list_below(root.path(), &taken, |_| true, probe);
    let offers: Vec<_> = listed.iter().map(|device| device.offers.len()).collect();
    assert_eq!(offers, [0, 0, 1]);
    assert!(listed.iter().all(|device| device.trouble.is_none()));
    assert!(listed[0].is_at(&by_path) && !listed[1].is_at(&by_path));
    assert!(!listed[2].is_at(Path::new("/dev/v4l/by-id/none")));
}

#[test]
fn where_every_camera_is_shut_none_is_opened_and_each_is_listed_once() {
    let root = machine(&[(0, "Gym Cam"), (1, "Gym Cam"), (2, "Twin")]);
    let about = root.path().join("sys/class/video4linux");
    fs::write(about.join("video0/index"), "0\n").unwrap();
    fs::write(about.join("video1/index"), "1\n").unwrap();
    let probe = |node: &Path| panic!("{} was opened", node.display());
    let listed = list_below(root.path(), &Shut::All, |_| true, probe);
    let ids: Vec<_> = listed.iter().map(|device| &*device.id).collect();
    assert_eq!(ids, ["video0", "video2"]);
}

#[test]
fn a_camera_that_can_be_set_right_is_listed_with_what_is_wrong() {
    let root = machine(&[
        (0, "Locked"),
        (1, "Locked"),
        (2, "Busy"),
        (3, "Old"),
        (4, "Codec"),
    ]);
    let about = root.path().join("sys/class/video4linux");
    fs::write(about.join("video0/index"), "0\n").unwrap();
    fs::write(about.join("video1/index"), "1\n").unwrap();
    let listed = list_below(
        root.path(),
        &nothing(),
        |_| true,
        |node| {
            Err(match number_of(node) {
                Some(0 | 1) => Why::Forbidden,
                Some(2) => Why::Busy,
                Some(3) => Why::NoForm,
                _ => Why::Silent,
            })
        },
    );
    let found: Vec<_> = listed
        .iter()
        .map(|device| (&*device.id, device.trouble))
        .collect();
    assert_eq!(
        found,
        [
            ("video0", Some(Why::Forbidden)),
            ("video2", Some(Why::Busy)),
            ("video3", Some(Why::NoForm)),
        ]
    );
    // And no picture is tried.
    assert_eq!(picture(&listed[1], &|| true), Err(Why::Busy));
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
        trouble: None,
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
        (
            Form::H264,
            "videotestsrc ! video/x-raw,format=I420,width=1280,height=720,framerate=30/1 \
             ! x264enc tune=zerolatency speed-preset=ultrafast \
             ! video/x-h264,stream-format=byte-stream ! identity",
            (640, 360),
        ),
        (Form::Raw("YUY2"), "videotestsrc", (480, 360)),
        (Form::Raw("GRAY8"), "videotestsrc", (480, 360)),
    ] {
        let (width, height) = if form.is_packed() {
            (1280, 720)
        } else {
            (640, 480)
        };
        let mode = Mode {
            form,
            size: Dimensions::new(width, height),
            rate: Rate::new(30, 1),
        };
        let jpeg = still(&source(description), &mode, &|| true).unwrap();
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
    let ends = still(&source("videotestsrc num-buffers=0"), &mode, &|| true);
    assert_eq!(ends, Err(Trouble::default()));
    let slow = still(&source("videotestsrc num-buffers=3"), &mode, &|| true);
    assert!(slow.is_ok(), "what there was is better than none");
}

/// Somebody starts a class while a technician looks through a camera.
#[test]
fn a_camera_is_let_go_without_a_picture_once_it_may_not_be_open() {
    let mode = Mode {
        form: Form::Raw("YUY2"),
        size: Dimensions::new(640, 480),
        rate: None,
    };
    let asked = std::cell::Cell::new(0);
    let may = || {
        asked.set(asked.get() + 1);
        asked.get() < 3
    };
    let stopped = still(&source("videotestsrc"), &mode, &may);
    assert_eq!(stopped, Err(Trouble::default()));
    assert_eq!(asked.get(), 3, "and it is not asked for more");
}
