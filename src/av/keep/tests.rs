//! What is made of drawn pictures: exact, playable, and with no trace of what
//! was covered. The films are read by two parsers that are not ours.

use std::{io::Write as _, process::Command};

use afterturn_core::{
    consent::{Answer, Interval, Kind, Purpose, Record, Register, Request},
    kernel::{ChildId, Day, FragmentNumber, RecordId},
    media::Corner,
};
use bytes::Bytes;
use gst::prelude::*;
use gstreamer_app as gst_app;
use shiguredo_mp4::{
    TrackKind,
    demux::{Input, Mp4FileDemuxer},
};

use super::*;

/// A moment of 2026-11-25, in UTC.
pub(crate) const START: CaptureUs = CaptureUs(1_795_600_000_000_000);
const WIDTH: usize = 320;
const HEIGHT: usize = 192;
/// As cameras do it: never quite the same.
const APART_US: [u32; 3] = [33_000, 34_000, 33_500];

/// Where a scene differs from another: outside the middle of the picture.
fn scene(number: usize, outside: u8) -> Vec<u8> {
    let mut picture = vec![0; WIDTH * HEIGHT * 3 / 2];
    let (luma, chroma) = picture.split_at_mut(WIDTH * HEIGHT);
    for (at, byte) in luma.iter_mut().enumerate() {
        let (x, y) = (at % WIDTH, at / WIDTH);
        let mat = (80..240).contains(&x) && (48..144).contains(&y);
        // Something that moves on the mat, something else round it.
        let on = 40 + ((x + 3 * number) ^ y) as u8 % 160;
        let off = outside.wrapping_mul(((x / 8 + number) ^ (y / 8)) as u8) | 16;
        *byte = if mat { on } else { off };
    }
    for (at, byte) in chroma.iter_mut().enumerate() {
        let (x, y) = (at % (WIDTH / 2), at / (WIDTH / 2) % (HEIGHT / 2));
        let mat = (40..120).contains(&x) && (24..72).contains(&y);
        *byte = if mat {
            100 + (x ^ y) as u8 % 50
        } else {
            outside
        };
    }
    picture
}

fn mat() -> Mat {
    let at = |x, y| Corner { x, y };
    let corners = [
        at(2500, 2500),
        at(7500, 2500),
        at(7500, 7500),
        at(2500, 7500),
    ];
    Mat::new(corners.to_vec()).expect("a mat")
}

/// A camera's stream of a scene. Without loss, so that what two scenes have in
/// common is the same in both streams.
pub(crate) fn stream(count: usize, outside: u8) -> (ParameterSets, Vec<Fragment>) {
    crate::av::init().expect("GStreamer");
    let raw = gst::Caps::builder("video/x-raw")
        .field("format", "I420")
        .field("width", WIDTH as i32)
        .field("height", HEIGHT as i32)
        .field("framerate", gst::Fraction::new(30, 1))
        .field("colorimetry", "bt709")
        .build();
    let units = gst::Caps::builder("video/x-h264")
        .field("stream-format", "avc")
        .field("alignment", "au")
        .build();
    let encoder = raw::part("x264enc").expect("x264enc");
    for (name, value) in [
        ("pass", "quant"),
        ("quantizer", "0"),
        ("tune", "zerolatency"),
        ("speed-preset", "ultrafast"),
        ("key-int-max", "30"),
        ("threads", "1"),
    ] {
        encoder.set_property_from_str(name, value);
    }
    let inlet = raw::inlet(&raw).expect("an inlet");
    inlet.set_max_bytes(0);
    let outlet: gst_app::AppSink = raw::outlet(0).expect("an outlet");
    let running = raw::Running::start(&[
        inlet.upcast_ref(),
        &encoder,
        &raw::part("h264parse").expect("h264parse"),
        &raw::form(&units).expect("a form"),
        outlet.upcast_ref(),
    ])
    .expect("it starts");
    for number in 0..count {
        let mut buffer = gst::Buffer::from_mut_slice(scene(number, outside));
        let open = buffer.get_mut().expect("ours");
        open.set_pts(gst::ClockTime::from_mseconds(33 * number as u64));
        inlet.push_buffer(buffer).expect("taken");
    }
    inlet.end_of_stream().expect("ended");
    let mut params = None;
    let mut pictures = Vec::new();
    let mut at = START;
    while let Some(sample) = raw::next(&outlet, &running).expect("encoded") {
        let record = || {
            let caps = sample.caps().expect("a form");
            let form = caps.structure(0).expect("one");
            let record = form.get::<gst::Buffer>("codec_data").expect("its record");
            let bytes = record.map_readable().expect("bytes");
            ParameterSets::from_avcc(&bytes).expect("a good record")
        };
        params.get_or_insert_with(record);
        let buffer = sample.buffer().expect("a picture");
        let unit = buffer.map_readable().expect("bytes");
        let keyframe = !buffer.flags().contains(gst::BufferFlags::DELTA_UNIT);
        let number = FragmentNumber(pictures.len() as u64);
        let duration_us = APART_US[pictures.len() % 3];
        let fragment = Fragment::wrap(number, at, duration_us, keyframe, &unit);
        pictures.push(fragment);
        at = at.offset(i64::from(duration_us));
    }
    (params.expect("pictures"), pictures)
}

fn permit(medium: Medium, from: CaptureUs, to: CaptureUs) -> Permit {
    let child = ChildId::from_kept(1);
    let interval = Interval {
        from,
        to,
        offset_s: 0,
    };
    let today = interval.days().1;
    let yes = |order, kind| Record {
        id: RecordId::from_kept(order),
        order,
        child,
        kind,
        answer: Answer::Given,
        from: Day(today.0 - 1),
        until: None,
        over: false,
        confirmed: true,
    };
    let register = Register::new([yes(1, Kind::Stills), yes(2, Kind::Clips)], None);
    let request = Request {
        children: vec![child],
        medium,
        purpose: Purpose::Portfolio,
        interval,
        term_days: 60,
    };
    register.permit(request, today).expect("a permit")
}

fn source<'s>(params: &'s ParameterSets, pictures: &'s [Fragment], from: usize) -> Source<'s> {
    Source {
        params,
        pictures,
        from: pictures[from].capture,
    }
}

fn clip_of(count: usize, outside: u8, seen: Seen<'_>) -> (Vec<u8>, Vec<Fragment>) {
    let (params, pictures) = stream(count, outside);
    let last = pictures.last().expect("pictures").capture;
    let permit = permit(Medium::Clip, START, last);
    let film = clip(&permit, &source(&params, &pictures, 10), seen).expect("a clip");
    (film, pictures)
}

#[test]
fn no_trace_is_left_of_what_was_round_the_mat() {
    let mat = mat();
    let [one, other] = [40, 200].map(|outside| clip_of(40, outside, Seen::Mat(&mat)).0);
    assert!(
        one == other,
        "two scenes that differ off the mat make one film"
    );
    let [one, other] = [40, 200].map(|outside| clip_of(40, outside, Seen::Whole).0);
    assert!(one != other, "the scenes do differ");
    let [one, other] = [40, 200].map(|outside| {
        let (params, pictures) = stream(1, outside);
        let permit = permit(Medium::Still, START, START);
        still(&permit, &source(&params, &pictures, 0), Seen::Mat(&mat)).expect("a still")
    });
    assert!(one == other, "and one still");
}

#[test]
fn a_clip_is_a_plain_file_with_exactly_its_pictures() {
    let (film, pictures) = clip_of(75, 40, Seen::Mat(&mat()));
    let meant = &pictures[10..];
    // As bytes: the index stands in front of the pictures, and nothing says who
    // encoded it or when.
    let at = |name: &[u8]| film.windows(name.len()).position(|some| some == name);
    assert!(at(b"moov") < at(b"mdat"));
    assert_eq!((at(b"x264"), at(b"udta"), at(b"meta")), (None, None, None));
    let mut demuxer = Mp4FileDemuxer::new();
    demuxer.handle_input(Input {
        position: 0,
        data: &film,
    });
    let tracks = demuxer.tracks().expect("a strict parser reads it").to_vec();
    assert_eq!(tracks.len(), 1);
    assert_eq!(
        (tracks[0].kind, tracks[0].timescale.get()),
        (TrackKind::Video, 1_000_000)
    );
    let mut began_us = 0;
    for (number, picture) in meant.iter().enumerate() {
        let sample = demuxer
            .next_sample()
            .expect("well formed")
            .expect("as many");
        assert_eq!(sample.timestamp, began_us, "picture {number}");
        assert_eq!(sample.duration, picture.duration_us);
        assert_eq!(sample.keyframe, number % 60 == 0, "picture {number}");
        began_us += u64::from(picture.duration_us);
    }
    assert!(demuxer.next_sample().expect("well formed").is_none());
    assert_eq!(tracks[0].duration, began_us);
}

/// What `ffprobe` says of a film.
fn probed(film: &[u8], what: &[&str]) -> String {
    let mut kept = tempfile::NamedTempFile::new().expect("a file");
    kept.write_all(film).expect("written");
    let said = Command::new("ffprobe")
        .args(["-v", "error", "-of", "default=noprint_wrappers=1"])
        .args(what)
        .arg(kept.path())
        .output()
        .expect("ffprobe");
    assert!(
        said.stderr.is_empty(),
        "{}",
        String::from_utf8_lossy(&said.stderr)
    );
    String::from_utf8(said.stdout).expect("text")
}

#[test]
fn a_clip_is_what_any_player_plays() {
    let (film, pictures) = clip_of(75, 40, Seen::Mat(&mat()));
    let said = probed(
        &film,
        &[
            "-count_frames",
            "-show_entries",
            "stream=codec_name,profile,level,width,height,pix_fmt,has_b_frames,nb_read_frames",
        ],
    );
    let level: u32 = said
        .lines()
        .find_map(|line| line.strip_prefix("level="))
        .and_then(|level| level.parse().ok())
        .expect("a level");
    // TVs play Main up to level 4.1.
    assert!(level <= 41, "{said}");
    for line in [
        "codec_name=h264",
        "profile=Main",
        "width=320",
        "height=192",
        "pix_fmt=yuv420p",
        "has_b_frames=0",
        "nb_read_frames=65",
    ] {
        assert!(said.lines().any(|said| said == line), "{line} in {said}");
    }
    let seconds: f64 = probed(&film, &["-show_entries", "format=duration"])
        .trim()
        .trim_start_matches("duration=")
        .parse()
        .expect("seconds");
    let meant: u32 = pictures[10..].iter().map(|one| one.duration_us).sum();
    assert!(
        (seconds - f64::from(meant) / 1e6).abs() < 0.001,
        "{seconds}"
    );
    let tags = probed(&film, &["-show_entries", "format_tags:stream_tags"]);
    assert!(
        !tags.contains("creation_time") && !tags.contains("encoder"),
        "{tags}"
    );
}

#[test]
fn a_still_is_as_large_as_the_picture_and_says_nothing_else() {
    let (params, pictures) = stream(20, 90);
    let at = pictures[15].capture;
    let permit = permit(Medium::Still, at, at);
    let source = source(&params, &pictures[..16], 15);
    let file = still(&permit, &source, Seen::Mat(&mat())).expect("a still");
    let picture = image::load_from_memory(&file).expect("a JPEG").to_rgb8();
    assert_eq!(picture.dimensions(), (WIDTH as u32, HEIGHT as u32));
    // Covered is grey: luma 72 in studio range is 65 of 255 (BT.709-6, 3.4).
    let corner = picture.get_pixel(8, 8).0;
    assert!(corner.iter().all(|c| c.abs_diff(65) < 8), "{corner:?}");
    // The segments before the picture (ITU-T T.81 §B.1.1.4): JFIF's own APP0, and
    // neither another application's nor a comment.
    let mut markers = Vec::new();
    let mut rest = &file[2..];
    while let [0xff, marker, high, low, ..] = *rest {
        markers.push(marker);
        if marker == 0xda {
            break;
        }
        rest = &rest[2 + usize::from(u16::from_be_bytes([high, low]))..];
    }
    assert_eq!(markers.last(), Some(&0xda));
    let odd = markers.iter().filter(|m| matches!(m, 0xe1..=0xef | 0xfe));
    assert_eq!(odd.count(), 0, "{markers:x?}");
}

#[test]
fn colours_stay_as_they_were() {
    let (params, pictures) = stream(1, 90);
    let permit = permit(Medium::Still, START, START);
    let file = still(&permit, &source(&params, &pictures, 0), Seen::Whole).expect("a still");
    let picture = image::load_from_memory(&file).expect("a JPEG").to_rgb8();
    let raw = scene(0, 90);
    let mut off = 0.0;
    for (x, y) in [(100, 60), (160, 100), (200, 130), (30, 20)] {
        // ITU-R BT.709-6, items 3.2 to 3.4, backwards.
        let luma = f64::from(raw[y * WIDTH + x]);
        let plane = |n: usize| WIDTH * HEIGHT + n * WIDTH * HEIGHT / 4;
        let chroma = |n| f64::from(raw[plane(n) + y / 2 * WIDTH / 2 + x / 2]) - 128.0;
        let (luma, cb, cr) = ((luma - 16.0) / 219.0, chroma(0) / 224.0, chroma(1) / 224.0);
        let (red, blue) = (luma + 1.5748 * cr, luma + 1.8556 * cb);
        let green = (luma - 0.2126 * red - 0.0722 * blue) / 0.7152;
        let found = picture.get_pixel(x as u32, y as u32).0;
        for (meant, found) in [red, green, blue].into_iter().zip(found) {
            off += (meant.clamp(0.0, 1.0) * 255.0 - f64::from(found)).abs() / 12.0;
        }
    }
    // Neighbours' colours are mixed in, and the file is made with loss.
    assert!(off < 25.0, "{off} off on average");
}

#[test]
fn a_permit_is_for_its_own_pictures_and_kind() {
    let (params, pictures) = stream(20, 40);
    let last = pictures.last().expect("pictures").capture;
    let mat = mat();
    let whole = source(&params, &pictures, 0);
    for permit in [
        permit(Medium::Clip, START, last.offset(-1)),
        permit(Medium::Clip, START.offset(1), last),
        permit(Medium::Still, START, last),
    ] {
        let made = clip(&permit, &whole, Seen::Mat(&mat));
        assert_eq!(made, Err(KeepError::NotPermitted));
    }
    let made = still(&permit(Medium::Clip, START, last), &whole, Seen::Mat(&mat));
    assert_eq!(made, Err(KeepError::NotPermitted));
}

#[test]
fn what_is_no_stream_makes_nothing_and_does_not_hang() {
    let (params, mut pictures) = stream(5, 40);
    for picture in &mut pictures {
        *picture = Fragment {
            bytes: Fragment::wrap(
                picture.number,
                picture.capture,
                picture.duration_us,
                picture.keyframe,
                b"\0\0\0\x04dust",
            )
            .bytes,
            ..picture.clone()
        };
    }
    let last = pictures.last().expect("pictures").capture;
    let permit = permit(Medium::Clip, START, last);
    let source = source(&params, &pictures, 0);
    assert!(clip(&permit, &source, Seen::Whole).is_err());
    let strange = ParameterSets {
        init: Bytes::new(),
        ..params.clone()
    };
    let source = Source {
        params: &strange,
        ..source
    };
    assert!(clip(&permit, &source, Seen::Whole).is_err());
}
