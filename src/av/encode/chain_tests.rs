//! The row, fed by a live test source with pictures of every form; what comes
//! out is looked at as a stream.

use afterturn_core::media::slice::{PictureKind, picture_kind};
use gstreamer_app as gst_app;

use super::*;
use crate::av::encode::USUAL;

/// What came out.
struct Out {
    form: gst::Caps,
    /// Running time and whether it is a keyframe.
    pictures: Vec<(u64, bool)>,
}

impl Out {
    fn size(&self) -> (i32, i32) {
        let form = self.form.structure(0).unwrap();
        (form.get("width").unwrap(), form.get("height").unwrap())
    }

    fn says(&self, field: &str) -> &str {
        self.form.structure(0).unwrap().get(field).unwrap()
    }

    fn apart_ms(&self) -> Vec<u64> {
        let times = self.pictures.windows(2);
        times
            .map(|pair| (pair[1].0 - pair[0].0) / 1_000_000)
            .collect()
    }
}

/// `pictures` pictures of a form, as `encoder` encodes them.
fn encode(encoder: &str, form: &str, pictures: i32, wanted: Most) -> Out {
    crate::av::init().unwrap();
    let source = format!(
        "videotestsrc is-live=true pattern=ball num-buffers={pictures} ! {form} ! identity name=end"
    );
    let pipeline = gst::Pipeline::new();
    let bin = gst::parse::bin_from_description(&source, true).unwrap();
    pipeline.add(&bin).unwrap();
    let encoding = Encoding::new(Some(encoder.to_owned()), 1);
    let order = Order {
        encoding: &encoding,
        wanted,
        lower: 0,
        too_slow: None,
    };
    let made = attach(&pipeline, bin.upcast_ref(), order).unwrap();
    let parse = element("h264parse").unwrap();
    let form = gst::Caps::builder("video/x-h264")
        .field("stream-format", "avc")
        .field("alignment", "au")
        .build();
    let sink = gst_app::AppSink::builder().caps(&form).sync(false).build();
    pipeline.add_many([&parse, sink.upcast_ref()]).unwrap();
    gst::Element::link_many([&made.last, &parse, sink.upcast_ref()]).unwrap();
    pipeline.set_state(gst::State::Playing).unwrap();
    let mut out = Out {
        form: gst::Caps::new_empty(),
        pictures: Vec::new(),
    };
    while let Ok(sample) = sink.pull_sample() {
        out.form = sample.caps_owned().unwrap();
        let segment = sample.segment().unwrap().clone();
        let segment = segment.downcast::<gst::ClockTime>().unwrap();
        let buffer = sample.buffer().unwrap();
        let time = segment.to_running_time(buffer.pts().unwrap()).unwrap();
        let kind = picture_kind(&buffer.map_readable().unwrap());
        assert_ne!(kind, PictureKind::Bidirectional);
        out.pictures
            .push((time.nseconds(), kind == PictureKind::Idr));
    }
    pipeline.set_state(gst::State::Null).unwrap();
    assert!(!out.pictures.is_empty(), "{source}: nothing came");
    out
}

fn small(form: &str, pictures: i32) -> Out {
    encode("x264enc", form, pictures, USUAL)
}

#[test]
fn any_raw_form_becomes_what_a_tv_plays() {
    for (form, size) in [
        (
            "video/x-raw,format=YUY2,width=320,height=240,framerate=30/1",
            (320, 240),
        ),
        (
            "video/x-raw,format=UYVY,width=320,height=240,framerate=30/1",
            (320, 240),
        ),
        (
            "video/x-raw,format=NV12,width=320,height=240,framerate=30/1",
            (320, 240),
        ),
        (
            "video/x-raw,format=Y42B,width=320,height=240,framerate=30/1",
            (320, 240),
        ),
        (
            "video/x-raw,format=Y444,width=320,height=240,framerate=30/1",
            (320, 240),
        ),
        (
            "video/x-raw,format=RGB,width=320,height=240,framerate=30/1",
            (320, 240),
        ),
        (
            "video/x-raw,format=GRAY8,width=320,height=240,framerate=30/1",
            (320, 240),
        ),
        (
            "video/x-raw,format=I420_10LE,width=320,height=240,framerate=30/1",
            (320, 240),
        ),
        (
            "video/x-raw,format=I420,width=321,height=241,framerate=30/1",
            (320, 240),
        ),
        (
            "video/x-raw,format=I420,width=360,height=288,framerate=25/1,pixel-aspect-ratio=16/11",
            (522, 288),
        ),
        (
            "video/x-raw,format=I420,width=320,height=240,framerate=25/1 \
             ! interlace field-pattern=1:1 top-field-first=false",
            (320, 240),
        ),
    ] {
        let out = small(form, 8);
        assert_eq!(out.size(), size, "{form}");
        assert_eq!(out.says("profile"), "main", "{form}");
        assert_eq!(out.says("chroma-format"), "4:2:0", "{form}");
        assert_eq!(out.says("coded-picture-structure"), "frame", "{form}");
        assert!(out.pictures[0].1, "{form}");
    }
}

#[test]
fn full_range_is_kept_only_where_the_stream_says_so() {
    let said = |encoder: &str| {
        let form =
            "video/x-raw,format=I420,width=320,height=240,framerate=30/1,colorimetry=1:4:0:0";
        let out = encode(encoder, form, 4, USUAL);
        out.says("colorimetry").to_owned()
    };
    assert!(said("x264enc").starts_with("1:"));
    assert!(!said("openh264enc").starts_with("1:"));
}

#[test]
fn large_pictures_are_fitted_and_stay_within_the_level() {
    for encoder in ["x264enc", "openh264enc"] {
        let out = encode(
            encoder,
            "video/x-raw,format=I420,width=1920,height=1080,framerate=30/1",
            10,
            USUAL,
        );
        assert_eq!(out.size(), (1280, 720), "{encoder}");
        let level: f64 = out.says("level").parse().unwrap();
        assert!(level <= 4.1, "{encoder}: {level}");
    }
}

#[test]
fn a_fast_source_is_thinned_and_no_stamp_is_moved() {
    let out = small(
        "video/x-raw,format=I420,width=320,height=240,framerate=60/1",
        60,
    );
    let apart_ms = out.apart_ms();
    assert!(apart_ms.iter().all(|ms| *ms >= 33), "{apart_ms:?}");
    let first_ns = out.pictures[0].0;
    for (time_ns, _) in &out.pictures {
        let since_ns = time_ns - first_ns;
        let number = (since_ns * 60 + 500_000_000) / 1_000_000_000;
        assert!(
            since_ns.abs_diff(number * 1_000_000_000 / 60) < 1000,
            "{since_ns}"
        );
    }
    let form = out.form.structure(0).unwrap();
    let rate: gst::Fraction = form.get("framerate").unwrap();
    assert_eq!(rate, gst::Fraction::new(30, 1));
}

#[test]
fn a_keyframe_comes_each_second_from_each_encoder_at_any_rate() {
    for encoder in ["x264enc", "openh264enc"] {
        for fps in [30, 12] {
            let form = format!("video/x-raw,format=I420,width=320,height=240,framerate={fps}/1");
            let out = encode(encoder, &form, fps * 5 / 2, USUAL);
            let keyframes: Vec<_> = out
                .pictures
                .iter()
                .filter(|(_, keyframe)| *keyframe)
                .map(|(time_ns, _)| time_ns / 1_000_000)
                .collect();
            assert!(keyframes.len() >= 3, "{encoder} at {fps}: {keyframes:?}");
            for pair in keyframes.windows(2) {
                let apart = pair[1] - pair[0];
                assert!(
                    (900..=1100).contains(&apart),
                    "{encoder} at {fps}: {keyframes:?}"
                );
            }
        }
    }
}

/// What a door that has been told of some pictures says of each.
fn kept(least_fps: u32, pictures: &[(u64, u32)]) -> Vec<bool> {
    let mut door = Door {
        least_apart_ns: (KEPT_APART * 1e9 / f64::from(least_fps)) as u64,
        kept_ns: None,
        overload: Overload::default(),
    };
    pictures
        .iter()
        .map(|(ms, waiting)| door.open_for(Some(ms * 1_000_000), *waiting).kept)
        .collect()
}

#[test]
fn what_the_encoder_has_no_time_for_is_left_out() {
    assert_eq!(
        kept(30, &[(0, 0), (33, 1), (66, 2), (100, 2), (133, 1)]),
        [true, true, false, false, true]
    );
}

#[test]
fn jitter_costs_no_picture_and_a_step_back_none_either() {
    assert_eq!(kept(30, &[(0, 0), (28, 0), (70, 0), (99, 0)]), [true; 4]);
    assert_eq!(kept(30, &[(5000, 0), (1000, 0), (1033, 0)]), [true; 3]);
    assert_eq!(
        kept(15, &[(0, 0), (33, 0), (66, 0), (100, 0)]),
        [true, false, true, false]
    );
}
