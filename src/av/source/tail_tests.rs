//! The intake, fed samples made by hand: no pipeline runs here.

use std::sync::mpsc;

use super::*;

/// A fed intake and what came out of it.
struct Bench {
    intake: Intake,
    events: mpsc::Receiver<CameraEvent>,
}

const IDR: &[u8] = &[0, 0, 0, 2, 0x65, 0b1000_1000];
const P: &[u8] = &[0, 0, 0, 2, 0x41, 0b1100_0000];
const B: &[u8] = &[0, 0, 0, 2, 0x01, 0b1010_0000];
const I_NOT_IDR: &[u8] = &[0, 0, 0, 2, 0x41, 0b1011_0000];

fn bench() -> Bench {
    crate::av::init().unwrap();
    let (tx, events) = mpsc::channel();
    let gate = Gate::new(Arc::new(move |event| tx.send(event).unwrap()));
    Bench {
        intake: Intake::new(Arc::new(gate)),
        events,
    }
}

fn caps(config: &'static [u8], profile: &str, interlace: &str) -> gst::Caps {
    gst::Caps::builder("video/x-h264")
        .field("codec_data", gst::Buffer::from_slice(config))
        .field("profile", profile)
        .field("interlace-mode", interlace)
        .build()
}

fn sample(caps: &gst::Caps, data: &'static [u8], pts: Option<gst::ClockTime>) -> gst::Sample {
    let mut buffer = gst::Buffer::from_slice(data);
    let writable = buffer.get_mut().unwrap();
    writable.set_pts(pts);
    if data == P || data == B {
        writable.set_flags(gst::BufferFlags::DELTA_UNIT);
    }
    let mut segment = gst::FormattedSegment::<gst::ClockTime>::new();
    segment.set_start(gst::ClockTime::from_seconds(3_600_000));
    gst::Sample::builder()
        .caps(caps)
        .buffer(&buffer)
        .segment(&segment)
        .build()
}

impl Bench {
    fn feed(&mut self, sample: &gst::Sample) -> bool {
        self.intake.take(sample, CaptureUs(7)).is_ok()
    }

    /// What came, in short: `F` and the first config byte, `K`ey, `d`elta, or
    /// the reason for an end.
    fn heard(&self) -> Vec<String> {
        let short = |event| match event {
            CameraEvent::Format(AvcConfig(bytes)) => format!("F{}", bytes[0]),
            CameraEvent::Picture(p) if p.keyframe => "K".to_owned(),
            CameraEvent::Picture(_) => "d".to_owned(),
            CameraEvent::Ended(e) => format!("{:?}: {}", e.state, e.detail),
        };
        self.events.try_iter().map(short).collect()
    }
}

#[test]
fn pictures_begin_at_a_keyframe_behind_their_format() {
    let mut bench = bench();
    let caps = caps(&[1], "main", "progressive");
    for data in [P, I_NOT_IDR, P, IDR, P, I_NOT_IDR] {
        assert!(bench.feed(&sample(&caps, data, None)));
    }
    assert_eq!(bench.heard(), ["F1", "K", "d", "d"]);
}

#[test]
fn a_new_format_waits_for_its_keyframe_and_the_same_one_is_not_told_twice() {
    let mut bench = bench();
    let (first, again, second) = (
        caps(&[1], "main", "progressive"),
        caps(&[1], "high", "progressive"),
        caps(&[2], "main", "progressive"),
    );
    for (caps, data) in [
        (&first, IDR),
        (&again, P),
        (&second, P),
        (&second, IDR),
        (&second, P),
    ] {
        assert!(bench.feed(&sample(caps, data, None)));
    }
    assert_eq!(bench.heard(), ["F1", "K", "d", "F2", "K", "d"]);
}

#[test]
fn a_stream_without_parameter_sets_sends_nothing() {
    let mut bench = bench();
    let bare = gst::Caps::new_empty_simple("video/x-h264");
    assert!(bench.feed(&sample(&bare, IDR, None)));
    assert!(bench.heard().is_empty());
}

#[test]
fn time_is_running_time_or_missing() {
    let mut bench = bench();
    let caps = caps(&[1], "main", "progressive");
    let start = gst::ClockTime::from_seconds(3_600_000);
    bench.feed(&sample(
        &caps,
        IDR,
        Some(start + gst::ClockTime::from_mseconds(33)),
    ));
    bench.feed(&sample(&caps, IDR, None));
    let stamps: Vec<_> = bench
        .events
        .try_iter()
        .filter_map(|e| {
            if let CameraEvent::Picture(p) = e {
                Some((p.source, p.arrival))
            } else {
                None
            }
        })
        .collect();
    let arrival = CaptureUs(7);
    assert_eq!(
        stamps,
        [
            (SourceStamp::PipelineNs(33_000_000), arrival),
            (SourceStamp::Missing, arrival)
        ]
    );
}

#[test]
fn bytes_are_what_was_sent_even_in_pieces() {
    let mut buffer = gst::Buffer::from_slice(&IDR[..3]);
    buffer
        .get_mut()
        .unwrap()
        .append_memory(gst::Memory::from_slice(&IDR[3..]));
    assert_eq!(copied(&buffer).unwrap(), IDR);
}

#[test]
fn what_cannot_be_passed_through_ends_with_the_setting_to_change() {
    let good = caps(&[1], "main", "progressive");
    for (caps, data, word) in [
        (caps(&[1], "main", "interleaved"), IDR, "progressive"),
        (
            caps(&[1], "high-4:4:4", "progressive"),
            IDR,
            "Main or Baseline",
        ),
        (good.clone(), B, "turn B-frames off"),
    ] {
        let mut bench = bench();
        assert!(bench.feed(&sample(&good, IDR, None)));
        assert!(!bench.feed(&sample(&caps, data, None)));
        assert!(
            !bench.feed(&sample(&good, IDR, None)),
            "nothing follows the end"
        );
        let heard = bench.heard();
        assert_eq!(heard.len(), 3, "{heard:?}");
        assert!(
            heard[2].starts_with("Unsuitable: ") && heard[2].contains(word),
            "{heard:?}"
        );
    }
}
