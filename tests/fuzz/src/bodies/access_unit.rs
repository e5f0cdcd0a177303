//! Access units of any bytes: what is read from their slice headers, and what
//! is left of them as a sample.
//!
//! Not here: pictures; only the first numbers of a slice are ever read.

use afterturn_core::media::slice::{PictureKind, picture_kind, sample_of};
use h264_reader::{
    nal::{Nal as _, RefNal},
    rbsp::BitRead as _,
};

/// NAL units that mean something: a delimiter, parameter sets, slices, filler;
/// emulation prevention; lengths.
pub const WORDS: &[&[u8]] = &[
    &[0, 0, 0, 2, 9, 0x10],
    &[0, 0, 0, 3, 0x67, 0x4d, 0x40],
    &[0, 0, 0, 3, 0x68, 0xeb, 0xc3],
    &[0, 0, 0, 4, 0x65, 0x88, 0x84, 0x00],
    &[0, 0, 0, 3, 0x41, 0x9a, 0x02],
    &[0, 0, 0, 3, 0x01, 0xa8, 0x80],
    &[0, 0, 0, 3, 0x02, 0x9a, 0x02],
    &[0, 0, 0, 5, 6, 5, 1, 7, 0x80],
    &[0, 0, 0, 3, 12, 0xff, 0x80],
    &[0, 0, 3],
    &[0, 0, 0, 0],
    &[0, 0, 1],
];

/// Whatever the bytes:
///
/// - a sample is the access unit without parameter sets, delimiters and filler,
///   in the same order, and nothing else is lost; what cannot be taken apart is
///   left as it is;
/// - taking the sample again changes nothing, and it is the same kind of picture;
/// - where another parser reads a slice's first numbers, the kind is what they say.
pub fn access_unit(data: &[u8]) {
    let sample = sample_of(data);
    let kind = picture_kind(data);
    assert_eq!(sample_of(&sample), sample, "twice is not once");
    if let Some(units) = units(data) {
        let kept: Vec<u8> = units
            .iter()
            .filter(|unit| !unit.first().is_some_and(|head| left_out(*head)))
            .flat_map(|unit| [&(unit.len() as u32).to_be_bytes()[..], unit].concat())
            .collect();
        assert_eq!(*sample, kept);
        assert_eq!(picture_kind(&sample), kind, "what is left out is no slice");
        if let Some(expected) = expected_kind(&units) {
            assert_eq!(kind, expected);
        }
    } else {
        assert_eq!(*sample, *data, "what is damaged is left as it is");
    }
}

/// ITU-T H.264 Table 7-1: 7 and 8 are parameter sets, 13 an extension of one, 9
/// the delimiter, 12 filler.
fn left_out(head: u8) -> bool {
    matches!(head % 32, 7 | 8 | 9 | 12 | 13)
}

/// Every NAL unit, or `None` where the lengths do not add up.
pub(crate) fn units(mut data: &[u8]) -> Option<Vec<&[u8]>> {
    let mut units = Vec::new();
    while !data.is_empty() {
        let length = crate::boxes::be32(data, 0)? as usize;
        let unit = data.get(4..4 + length)?;
        units.push(unit);
        data = &data[4 + length..];
    }
    Some(units)
}

/// The kind by another parser; `None` where it cannot read a slice up to the
/// first that decides.
fn expected_kind(units: &[&[u8]]) -> Option<PictureKind> {
    let mut kind = PictureKind::Unreadable;
    for unit in units.iter().filter(|unit| !unit.is_empty()) {
        match unit[0] % 32 {
            5 => return Some(PictureKind::Idr),
            1 | 2 => {
                let mut bits = RefNal::new(unit, &[], true).rbsp_bits();
                bits.read_ue("first_mb_in_slice").ok()?;
                // Table 7-6: 1 and 6 are B; there are ten types.
                match bits.read_ue("slice_type").ok()? {
                    1 | 6 => return Some(PictureKind::Bidirectional),
                    0..=9 => kind = PictureKind::Forward,
                    _ => {}
                }
            }
            _ => {}
        }
    }
    Some(kind)
}

/// Access units as cameras send them.
#[must_use]
pub fn seeds() -> Vec<Vec<u8>> {
    let unit = |words: &[usize]| words.iter().flat_map(|at| WORDS[*at]).copied().collect();
    vec![
        unit(&[0, 1, 2, 7, 3]),
        unit(&[0, 4, 4, 4]),
        unit(&[4]),
        unit(&[0, 5, 8]),
        unit(&[6, 6]),
        unit(&[1, 2]),
        Vec::new(),
    ]
}
