//! Any picture at any time, wrapped and read again.
//!
//! Not here: which time a picture gets.

use std::sync::LazyLock;

use afterturn_core::{
    kernel::{CaptureUs, FragmentNumber},
    media::{Fragment, ParameterSets},
};
use shiguredo_mp4::demux::Fmp4SegmentDemuxer;

use super::{access_unit, parameter_sets};
use crate::{boxes, script::Script};

static PARAMS: LazyLock<ParameterSets> = LazyLock::new(|| {
    ParameterSets::from_avcc(parameter_sets::MAIN).expect("a record as x264 writes it")
});

/// Whatever number, time, duration and bytes a fragment is given, a strict
/// reader written from the standard and another MP4 library find the same in it
/// and nothing else, and `Debug` shows none of the bytes.
pub fn fragment(data: &[u8]) {
    let mut script = Script::new(data);
    let number = FragmentNumber(script.u64());
    let capture = CaptureUs(script.u64());
    let duration_us = script.u32();
    let keyframe = script.u8().is_multiple_of(2);
    let picture = script.rest();
    let fragment = Fragment::wrap(number, capture, duration_us, keyframe, picture);
    assert_eq!((fragment.number, fragment.capture), (number, capture));
    assert_eq!(fragment.duration_us, duration_us);
    assert_eq!(fragment.keyframe, keyframe);
    reads_back(&fragment, picture);
    // It reckons when the picture ends, which has to fit.
    if capture.0.checked_add(duration_us.into()).is_some() {
        another_library_agrees(&fragment, picture);
    }
    assert!(
        format!("{fragment:?}").len() < 200,
        "Debug shows a number of bytes"
    );
}

/// What the strict reader finds is what the fragment says of itself, and these
/// bytes.
pub(crate) fn reads_back(fragment: &Fragment, picture: &[u8]) {
    let read = boxes::one_picture(&fragment.bytes).expect("one picture, all about it said");
    assert_eq!(read.sequence_number, fragment.number.0 as u32);
    assert_eq!(read.decode_time, fragment.capture.0);
    assert_eq!(read.duration, fragment.duration_us);
    assert_eq!(read.keyframe(), fragment.keyframe);
    assert_eq!(read.picture, picture);
}

fn another_library_agrees(fragment: &Fragment, picture: &[u8]) {
    let mut demuxer = Fmp4SegmentDemuxer::new();
    demuxer
        .handle_init_segment(&PARAMS.init)
        .expect("another library takes the segment");
    let samples = demuxer
        .handle_media_segment(&fragment.bytes)
        .expect("another library takes the fragment");
    let [sample] = &samples[..] else {
        panic!("one sample and no other");
    };
    assert_eq!(sample.timestamp, fragment.capture.0);
    assert_eq!(sample.duration, fragment.duration_us);
    assert_eq!(sample.keyframe, fragment.keyframe);
    assert_eq!(sample.composition_time_offset, None);
    let from = sample.data_offset as usize;
    assert_eq!(&fragment.bytes[from..from + sample.data_size], picture);
}

/// A picture of a gym's afternoon, and some at the ends of the range.
#[must_use]
pub fn seeds() -> Vec<Vec<u8>> {
    let numbers = [0, 1, u64::from(u32::MAX), u64::MAX];
    let captures = [1_790_000_000_000_000, 0, 1 << 32, u64::MAX];
    let durations = [33_333, 1, 0, u32::MAX];
    let pictures = access_unit::seeds();
    (0..4)
        .map(|at| {
            let mut seed = u64::to_be_bytes(numbers[at]).to_vec();
            seed.extend(u64::to_be_bytes(captures[at]));
            seed.extend(u32::to_be_bytes(durations[at]));
            seed.push(at as u8);
            seed.extend(&pictures[at]);
            seed
        })
        .collect()
}
