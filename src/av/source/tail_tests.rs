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
        intake: Intake::new(Arc::new(gate), Whistle::new(gst::Bus::new())),
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
            other @ (CameraEvent::Ended(_) | CameraEvent::Waiting(_) | CameraEvent::Notes(_)) => {
                format!("{other:?}")
            }
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
    crate::av::init().unwrap();
    let mut buffer = gst::Buffer::from_slice(&IDR[..3]);
    buffer
        .get_mut()
        .unwrap()
        .append_memory(gst::Memory::from_slice(&IDR[3..]));
    assert_eq!(copied(&buffer).unwrap(), IDR);
}

#[test]
fn times_of_one_start_only_grow_and_arrivals_are_those_of_the_raw_picture() {
    let mut bench = bench();
    bench.intake.base_ns = 5_000_000_000;
    let arrivals = Arrivals::default();
    arrivals.note(33_000_000, CaptureUs(3));
    bench.intake.wishes.arrivals = Some(arrivals);
    let caps = caps(&[1], "main", "progressive");
    let pts = gst::ClockTime::from_seconds(3_600_000) + gst::ClockTime::from_mseconds(33);
    bench.feed(&sample(&caps, IDR, Some(pts)));
    let later = pts + gst::ClockTime::from_mseconds(33);
    bench.feed(&sample(&caps, P, Some(later)));
    let stamps: Vec<_> = bench
        .events
        .try_iter()
        .filter_map(|event| match event {
            CameraEvent::Picture(picture) => Some((picture.source, picture.arrival)),
            _ => None,
        })
        .collect();
    assert_eq!(
        stamps,
        [
            (SourceStamp::PipelineNs(5_033_000_000), CaptureUs(3)),
            // Nobody noted it: then it came when it came here.
            (SourceStamp::PipelineNs(5_066_000_000), CaptureUs(7)),
        ]
    );
}

#[test]
fn what_cannot_be_passed_through_is_found_and_nothing_follows() {
    crate::av::init().unwrap();
    let good = caps(&[1], "main", "progressive");
    for (caps, data, verdict) in [
        (caps(&[1], "main", "interleaved"), IDR, Verdict::Interlaced),
        (
            caps(&[1], "high-4:4:4", "progressive"),
            IDR,
            Verdict::Profile("high-4:4:4".into()),
        ),
        (good.clone(), B, Verdict::Bidirectional),
    ] {
        let mut bench = bench();
        assert!(bench.feed(&sample(&good, IDR, None)));
        assert!(!bench.feed(&sample(&caps, data, None)));
        assert_eq!(bench.heard(), ["F1", "K"]);
        assert_eq!(bench.intake.whistle.heard(), Some(verdict));
    }
}

#[test]
fn pictures_out_of_order_show_before_the_first_keyframe() {
    let mut bench = bench();
    assert!(!bench.feed(&sample(&caps(&[1], "main", "progressive"), B, None)));
    assert_eq!(bench.intake.whistle.heard(), Some(Verdict::Bidirectional));
}

#[test]
fn keyframes_are_missed_where_they_are_wanted() {
    let mut bench = bench();
    bench.intake.wishes.keyframe_within_us = Some(2_000_000);
    let caps = caps(&[1], "main", "progressive");
    let mut feed = |data, at_s: u64| {
        let sample = sample(&caps, data, None);
        bench
            .intake
            .take(&sample, CaptureUs(at_s * 1_000_000))
            .is_ok()
    };
    assert!(feed(IDR, 10) && feed(P, 11) && feed(IDR, 12) && feed(P, 14));
    assert!(!feed(P, 15));
    assert_eq!(bench.intake.whistle.heard(), Some(Verdict::RareKeyframes));
}
