//! Fragments of real pictures against programs and parsers that are not ours:
//! `ffprobe`, `ffmpeg`, another MP4 library, and a strict reader written from
//! the standard.
//!
//! Needs `ffmpeg`, and `cargo build -p rtsp-camera` first.

#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a test fails by panicking, and explains itself"
)]

#[path = "fragments/boxes.rs"]
mod boxes;
#[path = "cameras/harness.rs"]
mod cameras;
#[path = "fragments/harness.rs"]
mod harness;
#[path = "fragments/recordings.rs"]
mod recordings;

use afterturn_core::media::{Fragment, TIMESCALE_HZ};
use serde_json::Value;
use shiguredo_mp4::{TrackKind, demux::Fmp4SegmentDemuxer};

use recordings::{DEMO, FILES, each, live, named};

#[test]
fn every_packet_has_its_capture_time_and_nothing_is_reordered() {
    for (name, recording) in each() {
        let probe = recording.probe();
        let found = probe["packets_and_frames"].as_array().unwrap();
        let of = |kind: &str| -> Vec<&Value> {
            found.iter().filter(|entry| entry["type"] == kind).collect()
        };
        let (packets, frames) = (of("packet"), of("frame"));
        let ours = &recording.fragments;
        assert_eq!(
            (packets.len(), frames.len()),
            (ours.len(), ours.len()),
            "{name}"
        );
        for (fragment, packet) in ours.iter().zip(packets) {
            // The timescale is a million, so these are our microseconds.
            assert_eq!(packet["pts"], fragment.capture.0, "{name}: {fragment:?}");
            assert_eq!(packet["dts"], fragment.capture.0, "{name}: {fragment:?}");
            // ffprobe guesses durations from the picture rate; the readers below
            // tell those that are written.
            let picture = boxes::one_picture(&fragment.bytes).unwrap().picture;
            assert_eq!(packet["size"], picture.len().to_string(), "{name}");
            let key = packet["flags"].as_str().unwrap().starts_with('K');
            assert_eq!(key, fragment.keyframe, "{name}: {fragment:?}");
        }
        for (fragment, frame) in ours.iter().zip(frames) {
            assert_eq!(frame["pts"], fragment.capture.0, "{name}: {fragment:?}");
            assert_eq!(
                frame["key_frame"] == 1,
                fragment.keyframe,
                "{name}: {fragment:?}"
            );
            assert_ne!(frame["pict_type"], "B", "{name}: {fragment:?}");
            assert_eq!(frame["interlaced_frame"], 0, "{name}: {fragment:?}");
        }
    }
}

#[test]
fn durations_reach_to_the_next_picture() {
    for (name, recording) in each() {
        for pair in recording.fragments.windows(2) {
            let apart_us = pair[1].capture.since(pair[0].capture);
            // After a hole the next picture is a keyframe, and further off.
            let whole = apart_us == i64::from(pair[0].duration_us);
            let hole = pair[1].keyframe && apart_us > i64::from(pair[0].duration_us);
            assert!(whole || hole, "{name}: {pair:?}");
        }
    }
}

#[test]
fn the_stream_is_what_browsers_play() {
    for (name, recording) in each() {
        let probe = recording.probe();
        let streams = probe["streams"].as_array().unwrap();
        assert_eq!(streams.len(), 1, "{name}: one stream, and no sound");
        let stream = &streams[0];
        assert_eq!(stream["codec_name"], "h264", "{name}");
        assert_eq!(stream["is_avc"], "true", "{name}");
        assert_eq!(stream["time_base"], "1/1000000", "{name}");
        assert_eq!(stream["has_b_frames"], 0, "{name}");
        // 4:2:0 in both; the other is how ffprobe calls it where black is 0.
        let jpeg_kept = name == "mjpeg in x264enc";
        let form = if jpeg_kept { "yuvj420p" } else { "yuv420p" };
        assert_eq!(stream["pix_fmt"], form, "{name}");
        assert_eq!(stream["width"], recording.params.width_px, "{name}");
        assert_eq!(stream["height"], recording.params.height_px, "{name}");
        let profile = stream["profile"].as_str().unwrap();
        let played = ["Constrained Baseline", "Main", "High"];
        assert!(played.contains(&profile), "{name}: {profile}");
        assert!(stream["level"].as_u64().unwrap() <= 41, "{name}: {stream}");
    }
}

#[test]
fn what_is_encoded_here_has_a_keyframe_a_second() {
    for (name, recording) in each() {
        let keyframes: Vec<_> = recording
            .fragments
            .iter()
            .filter(|fragment| fragment.keyframe)
            .collect();
        assert!(keyframes.len() >= 3, "{name}: {keyframes:?}");
        for pair in keyframes.windows(2) {
            let apart_us = pair[1].capture.since(pair[0].capture);
            assert!(apart_us <= 1_050_000, "{name}: {pair:?}");
        }
    }
}

#[test]
fn the_codec_string_is_the_streams_own() {
    for (name, recording) in each() {
        // RFC 6381 §3.3: profile_idc, the constraint flags and level_idc, each
        // two hexadecimal digits.
        let (start, end) = ("video/mp4; codecs=\"avc1.", "\"");
        let mime = &recording.params.mime;
        let digits = mime
            .strip_prefix(start)
            .and_then(|rest| rest.strip_suffix(end));
        let digits = digits.unwrap_or_else(|| panic!("{name}: {mime}"));
        let hex = |c: char| matches!(c, '0'..='9' | 'a'..='f');
        assert!(
            digits.len() == 6 && digits.chars().all(hex),
            "{name}: {mime}"
        );
        let three = u32::from_str_radix(digits, 16).unwrap().to_be_bytes();
        let (profile_idc, constraints, level_idc) = (three[1], three[2], three[3]);

        // ITU-T H.264 Annex A.2: profile_idc by profile; constraint_set1_flag is
        // the second bit and makes Baseline the Constrained one.
        let stream = &recording.probe()["streams"][0];
        let profile = match profile_idc {
            66 if constraints & 0x40 != 0 => "Constrained Baseline",
            77 => "Main",
            100 => "High",
            other => panic!("{name}: profile_idc {other}"),
        };
        assert_eq!(stream["profile"], profile, "{name}");
        assert_eq!(stream["level"], level_idc, "{name}");

        // ISO/IEC 14496-15 §5.3.3.1.2: the same three in the avcC record, and,
        // behind six bytes and a length, a sequence parameter set whose first
        // three (H.264 §7.3.2.1.1, after the NAL header) they are.
        let nodes = boxes::walk(&recording.params.init).unwrap();
        let entry = [
            "moov", "trak", "mdia", "minf", "stbl", "stsd", "avc1", "avcC",
        ];
        let avcc = boxes::at(&nodes, &entry).payload;
        assert_eq!(avcc[1..4], three[1..], "{name}");
        assert_eq!(avcc[8] & 0x1f, 7, "{name}: a sequence parameter set");
        assert_eq!(avcc[9..12], three[1..], "{name}");
    }
}

#[test]
fn every_picture_decodes_without_a_word() {
    for (_, recording) in each() {
        recording.decode();
    }
}

#[test]
fn the_boxes_are_nested_as_the_standard_says() {
    for (name, recording) in each() {
        let init = boxes::walk(&recording.params.init).unwrap();
        // ISO/IEC 14496-12 §6.2.3 table 1 says what is in what, and leaves the
        // order within a box free but for a few; the sample tables are empty in
        // a fragmented file, but there.
        assert_eq!(
            boxes::shape(&init),
            "ftyp moov(mvhd mvex(trex) trak(tkhd mdia(mdhd hdlr minf(dinf(dref(url )) \
             stbl(stsd(avc1(avcC)) stts stsc stsz stco) vmhd))))",
            "{name}"
        );
        let stbl = ["moov", "trak", "mdia", "minf", "stbl"];
        for table in ["stts", "stsc", "stco"] {
            let entries = boxes::at(&init, &[&stbl[..], &[table]].concat())
                .full()
                .fields;
            assert_eq!(entries, [0; 4], "{name}: {table} is empty");
        }
        let url = ["moov", "trak", "mdia", "minf", "dinf", "dref", "url "];
        // §8.7.2.3: flag 1 says that the pictures are in this same file.
        assert_eq!(boxes::at(&init, &url).full().flags, 1, "{name}");
        // §8.4.2.2: behind two 32-bit times (version 0) or two 64-bit ones.
        let mdhd = boxes::at(&init, &["moov", "trak", "mdia", "mdhd"]).full();
        let timescale_at = if mdhd.version == 0 { 8 } else { 16 };
        let timescale = boxes::be32(mdhd.fields, timescale_at);
        assert_eq!(timescale, Some(TIMESCALE_HZ), "{name}");
    }
}

#[test]
fn each_fragment_says_one_picture_and_all_about_it() {
    for (name, recording) in each() {
        let mut last: Option<u32> = None;
        for fragment in &recording.fragments {
            let read = boxes::one_picture(&fragment.bytes);
            let read = read.unwrap_or_else(|error| panic!("{name}: {fragment:?}: {error}"));
            assert_eq!(read.decode_time, fragment.capture.0, "{name}");
            assert_eq!(read.duration, fragment.duration_us, "{name}");
            assert_eq!(read.keyframe(), fragment.keyframe, "{name}");
            // §8.8.5.1: the number grows from fragment to fragment.
            assert_eq!(read.sequence_number, fragment.number.0 as u32, "{name}");
            assert!(
                last.is_none_or(|last| read.sequence_number == last + 1),
                "{name}"
            );
            last = Some(read.sequence_number);
            let kinds = nal_kinds(read.picture);
            // H.264 table 7-1: 5 is a slice of a picture that stands alone, 1 of
            // one that does not.
            assert_eq!(kinds.contains(&5), fragment.keyframe, "{name}: {kinds:?}");
            assert_eq!(kinds.contains(&1), !fragment.keyframe, "{name}: {kinds:?}");
        }
    }
}

/// The types of the NAL units of an access unit, each behind four bytes of
/// length (ISO/IEC 14496-15 §5.3.4.2.1) that have to add up.
fn nal_kinds(mut picture: &[u8]) -> Vec<u8> {
    let mut kinds = Vec::new();
    while !picture.is_empty() {
        let length = boxes::be32(picture, 0).expect("a length") as usize;
        kinds.push(picture[4] & 0x1f);
        picture = &picture[4 + length..];
    }
    kinds
}

#[test]
fn another_library_reads_the_same() {
    for (name, recording) in each() {
        let mut demuxer = Fmp4SegmentDemuxer::new();
        demuxer.handle_init_segment(&recording.params.init).unwrap();
        let [track] = demuxer.tracks().unwrap() else {
            panic!("{name}: one track");
        };
        assert_eq!(track.kind, TrackKind::Video, "{name}");
        assert_eq!(track.timescale.get(), TIMESCALE_HZ, "{name}");
        for fragment in &recording.fragments {
            let samples = demuxer.handle_media_segment(&fragment.bytes).unwrap();
            let [sample] = &samples[..] else {
                panic!("{name}: one sample in {fragment:?}");
            };
            assert_eq!(sample.timestamp, fragment.capture.0, "{name}");
            assert_eq!(sample.duration, fragment.duration_us, "{name}");
            assert_eq!(sample.keyframe, fragment.keyframe, "{name}");
            assert_eq!(sample.composition_time_offset, None, "{name}");
            let end = sample.data_offset as usize + sample.data_size;
            assert_eq!(end, fragment.bytes.len(), "{name}");
        }
    }
}

/// By how much a capture time may be later than the moment that was drawn, in
/// whole milliseconds: the least time that encoding and sending take. Measured
/// as 0 to 2 on two cores, idle and overloaded alike; the rest is for machines
/// that encode more slowly, and still less than a third of a picture.
const LATE_MS: std::ops::RangeInclusive<i64> = 0..=10;

#[test]
fn the_time_in_the_picture_is_its_capture_time() {
    for (name, recording) in live() {
        let strips = recording.strips();
        assert_eq!(strips.len(), recording.fragments.len(), "{name}");
        assert!(strips.is_sorted_by(|a, b| a < b), "{name}: {strips:?}");
        let late_ms: Vec<_> = strips
            .iter()
            .zip(&recording.fragments)
            .map(|(strip_ms, fragment)| fragment.capture.as_ms() as i64 - *strip_ms as i64)
            .collect();
        // What the camera's own encoder takes is not for us to see: to sort
        // pictures, or to make H.265 on a busy machine.
        let own_ms = match name.split(' ').next() {
            Some("b-frames") => 250,
            Some("h265") => 60,
            _ => 0,
        };
        let range = *LATE_MS.start()..=LATE_MS.end() + own_ms;
        let within = late_ms.iter().all(|late_ms| range.contains(late_ms));
        assert!(within, "{name}: {late_ms:?}");
    }
}

#[test]
fn a_recordings_pictures_are_as_far_apart_as_they_were() {
    for (name, recording) in named(&FILES) {
        let strips = recording.strips();
        // Up to where the recording begins again.
        let lap = strips.windows(2).position(|pair| pair[1] < pair[0]);
        let lap = &strips[..lap.map_or(strips.len(), |last| last + 1)];
        assert!(lap.len() > 20, "{name}: {strips:?}");
        let late_ms = |(strip_ms, fragment): (&u64, &Fragment)| {
            fragment.capture.as_ms() as i64 - *strip_ms as i64
        };
        let late_ms: Vec<_> = lap.iter().zip(&recording.fragments).map(late_ms).collect();
        let (least, most) = (late_ms.iter().min().unwrap(), late_ms.iter().max().unwrap());
        // The offset is allowed 0.5 % of the time that passes; the rest is rounding.
        assert!(most - least <= 15, "{name}: {late_ms:?}");
    }
}

#[test]
fn the_reader_refuses_what_is_no_fragment() {
    let fragment = &DEMO.fragments[0].bytes;
    assert!(boxes::one_picture(fragment).is_ok());
    for cut in 0..fragment.len() {
        assert!(
            boxes::one_picture(&fragment[..cut]).is_err(),
            "cut at {cut}"
        );
    }
    let longer = [&fragment[..], &[0]].concat();
    assert!(boxes::one_picture(&longer).is_err());
    // Every byte of the head means something, but for the fields that are free:
    // the sequence number, the decode time, the duration and the sample's flags.
    let head = fragment.len() - boxes::one_picture(fragment).unwrap().picture.len();
    let refused = (0..head)
        .filter(|&at| {
            let mut damaged = fragment.to_vec();
            damaged[at] ^= 0xff;
            boxes::one_picture(&damaged).is_err()
        })
        .count();
    assert_eq!(head - refused, 4 + 8 + 4 + 4);
}

#[test]
fn the_reader_takes_every_form_of_size() {
    // §4.2: an explicit size, a 64-bit one, and none for the last.
    let explicit = b"\0\0\0\x09free\x01";
    let large = b"\0\0\0\x01free\0\0\0\0\0\0\0\x11\x02";
    let last = b"\0\0\0\0mdat\x03\x04";
    let all = [&explicit[..], large, last].concat();
    let nodes = boxes::walk(&all).unwrap();
    let payloads: Vec<_> = nodes.iter().map(|node| node.payload).collect();
    assert_eq!(payloads, [&[1][..], &[2], &[3, 4]]);
    // Without a size inside another box; and sizes below their own header's.
    for bad in [
        &b"\0\0\0\x10moof\0\0\0\0mfhd"[..],
        b"\0\0\0\x07free",
        &large[..15],
    ] {
        assert!(boxes::walk(bad).is_err());
    }
    assert!(boxes::walk(b"\0\0\0\x01free\0\0\0\0\0\0\0\x0f").is_err());
}
