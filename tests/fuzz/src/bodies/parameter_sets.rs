//! Configuration records of any bytes, and the initialisation segment made of
//! those that are taken.
//!
//! Not here: what a decoder makes of the parameter sets.

use afterturn_core::media::{ParameterSets, TIMESCALE_HZ};
use shiguredo_mp4::{TrackKind, demux::Fmp4SegmentDemuxer};

use crate::boxes;

/// What x264 writes for 1280×720, Main profile, level 3.1.
pub(crate) const MAIN: &[u8] = &[
    0x01, 0x4d, 0x40, 0x1f, 0xff, 0xe1, 0x00, 0x19, 0x67, 0x4d, 0x40, 0x1f, 0xd9, 0x00, 0x50, 0x05,
    0xbb, 0x01, 0x10, 0x00, 0x00, 0x03, 0x00, 0x10, 0x00, 0x00, 0x03, 0x03, 0xc0, 0xf1, 0x83, 0x24,
    0x80, 0x01, 0x00, 0x05, 0x68, 0xeb, 0xc3, 0xcb, 0x20,
];

/// A sequence parameter set of another size, and fields that stand behind one.
pub const WORDS: &[&[u8]] = &[
    &[0xfd, 0xf8, 0xf8, 0x00],
    &[0xe1, 0x00, 0x19],
    &[0xe2],
    &[0x67, 0x64, 0x00, 0x28],
    &[0x67, 0x42, 0xc0, 0x1e],
    &[0x00, 0x00, 0x03],
    &[0x01, 0x00, 0x01, 0x68],
    &[0xff, 0xff],
];

/// Whatever the bytes, a record is refused in words or taken; and when it is
/// taken:
///
/// - its initialisation segment has the nesting the standard asks for, without a
///   byte left over, and the `avcC` in it is the record;
/// - the codec string, and the size in both places where it stands, are the
///   record's;
/// - another MP4 library takes the segment too;
/// - taking it again gives the same.
pub fn parameter_sets(data: &[u8]) {
    let params = match ParameterSets::from_avcc(data) {
        Ok(params) => params,
        Err(error) => {
            assert!(!error.to_string().is_empty());
            return;
        }
    };
    assert_eq!(ParameterSets::from_avcc(data).as_ref(), Ok(&params));
    let nodes = boxes::walk(&params.init).expect("a segment without a byte left over");
    assert_eq!(
        boxes::shape(&nodes),
        "ftyp moov(mvhd mvex(trex) trak(tkhd mdia(mdhd hdlr minf(dinf(dref(url )) \
         stbl(stsd(avc1(avcC)) stts stsc stsz stco) vmhd))))"
    );
    let entry = ["moov", "trak", "mdia", "minf", "stbl", "stsd", "avc1"];
    let record = boxes::at(&nodes, &[&entry[..], &["avcC"]].concat()).payload;
    assert_eq!(
        record,
        with_reserved_bits(data),
        "the record in the segment"
    );
    let [profile, constraints, level] = [data[1], data[2], data[3]];
    let codec = format!("avc1.{profile:02x}{constraints:02x}{level:02x}");
    assert_eq!(params.mime, format!("video/mp4; codecs=\"{codec}\""));

    // ISO/IEC 14496-12 §12.1.3: behind 8 bytes of every sample entry and 16 of a
    // visual one, width and height in 16 bits each. §8.3.2: at the end of a tkhd,
    // in 16.16 fixed point.
    let size = boxes::be32(boxes::at(&nodes, &entry).payload, 24).expect("a size");
    assert_eq!(size, params.width_px << 16 | params.height_px);
    assert!(params.width_px > 0 && params.height_px > 0, "{params:?}");
    let tkhd = boxes::at(&nodes, &["moov", "trak", "tkhd"]).payload;
    let at = tkhd.len() - 8;
    assert_eq!(boxes::be32(tkhd, at), Some(params.width_px << 16));
    assert_eq!(boxes::be32(tkhd, at + 4), Some(params.height_px << 16));
    another_library_agrees(&params);
}

fn another_library_agrees(params: &ParameterSets) {
    let mut demuxer = Fmp4SegmentDemuxer::new();
    demuxer
        .handle_init_segment(&params.init)
        .expect("another library takes the segment");
    let [track] = demuxer.tracks().expect("its tracks") else {
        panic!("one track and no other");
    };
    assert_eq!(track.kind, TrackKind::Video);
    assert_eq!(track.timescale.get(), TIMESCALE_HZ);
}

/// The record with its reserved bits as the standard wants them (ISO/IEC
/// 14496-15 §5.3.3.1.2): six before the length size, three before the number of
/// sequence parameter sets, and six, five and five before what follows them.
/// Some cameras leave them zero; a writer may not.
fn with_reserved_bits(record: &[u8]) -> Vec<u8> {
    let mut record = record.to_vec();
    record[4] |= 0b1111_1100;
    record[5] |= 0b1110_0000;
    let sets = usize::from(record[5] & 0b1_1111);
    let mut at = past_sets(&record, 6, sets);
    at = past_sets(&record, at + 1, usize::from(record[at]));
    if at < record.len() {
        record[at] |= 0b1111_1100;
        record[at + 1] |= 0b1111_1000;
        record[at + 2] |= 0b1111_1000;
    }
    record
}

fn past_sets(record: &[u8], at: usize, count: usize) -> usize {
    (0..count).fold(at, |at, _| {
        at + 2 + usize::from(record[at]) * 256 + usize::from(record[at + 1])
    })
}

/// Records as cameras send them.
#[must_use]
pub fn seeds() -> Vec<Vec<u8>> {
    let mut high = MAIN.to_vec();
    (high[1], high[2], high[3]) = (0x64, 0x00, 0x28);
    high.extend([0xfd, 0xf8, 0xf8, 0x00]);
    let mut lax = MAIN.to_vec();
    (lax[4], lax[5]) = (0x03, 0x01);
    let sps = &MAIN[6..33];
    let two = [&MAIN[..5], &[0xe2], sps, sps, &MAIN[33..]].concat();
    vec![MAIN.to_vec(), high, lax, two]
}
