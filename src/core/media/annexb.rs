//! Access units as they come over RTP (RFC 6184) and out of most encoders: NAL
//! units behind start codes (ITU-T H.264 Annex B), taken over into the form that
//! everything after works with: four-byte lengths, parameter sets apart as an
//! `avcC` record (ISO/IEC 14496-15 §5.3.3.1).
//!
//! Not here: packets, decoding, or whether the pictures can be shown.

use bytes::{BufMut, Bytes, BytesMut};

const SPS: u8 = 7;
const PPS: u8 = 8;
const IDR_SLICE: u8 = 5;
/// One camera sends one parameter set of each kind, some two. A stream with
/// more is made to waste our time.
const MOST_SETS: usize = 8;

/// What one access unit held.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Unpacked {
    /// The parameter sets in it, if it brought both kinds.
    pub avcc: Option<Bytes>,
    /// Everything in it, behind four-byte lengths.
    pub data: Bytes,
    /// It has a slice of an instantaneous decoding refresh.
    pub keyframe: bool,
}

/// Takes an access unit apart. Bytes before the first start code are no NAL
/// unit and are left out; so is what is empty.
#[must_use]
pub fn unpack(annexb: &[u8]) -> Unpacked {
    let mut data = BytesMut::with_capacity(annexb.len() + 16);
    let (mut sps, mut pps) = (Vec::new(), Vec::new());
    let mut keyframe = false;
    for nal in nal_units(annexb) {
        match nal[0] & 0x1f {
            SPS => sps.push(nal),
            PPS => pps.push(nal),
            IDR_SLICE => keyframe = true,
            _ => {}
        }
        // An access unit of four gigabytes does not come in packets.
        data.put_u32(nal.len() as u32);
        data.put_slice(nal);
    }
    Unpacked {
        avcc: avcc(&sps, &pps),
        data: data.freeze(),
        keyframe,
    }
}

/// The record; none where a kind is missing or a set is too short to say its
/// profile.
fn avcc(sps: &[&[u8]], pps: &[&[u8]]) -> Option<Bytes> {
    let first = sps.first().filter(|set| set.len() >= 4)?;
    let count = |sets: &[&[u8]]| (1..=MOST_SETS).contains(&sets.len());
    if !count(sps) || !count(pps) {
        return None;
    }
    let mut record = BytesMut::new();
    record.put_slice(&[
        1,
        first[1],
        first[2],
        first[3],
        0xff,
        0xe0 | sps.len() as u8,
    ]);
    put_sets(&mut record, sps)?;
    record.put_u8(pps.len() as u8);
    put_sets(&mut record, pps)?;
    Some(record.freeze())
}

fn put_sets(record: &mut BytesMut, sets: &[&[u8]]) -> Option<()> {
    for set in sets {
        record.put_u16(u16::try_from(set.len()).ok()?);
        record.put_slice(set);
    }
    Some(())
}

/// The NAL units between start codes of three or four bytes, without the zeros
/// that may follow each; none is empty.
fn nal_units(annexb: &[u8]) -> impl Iterator<Item = &[u8]> {
    let mut at = next_start(annexb, 0);
    std::iter::from_fn(move || {
        let from = at? + 3;
        at = next_start(annexb, from);
        Some(&annexb[from..at.unwrap_or(annexb.len())])
    })
    .map(|nal| {
        let end = nal.iter().rposition(|&byte| byte != 0);
        end.map_or(&nal[..0], |last| &nal[..=last])
    })
    .filter(|nal| !nal.is_empty())
}

/// Where the next `00 00 01` is.
fn next_start(annexb: &[u8], from: usize) -> Option<usize> {
    let rest = annexb.get(from..)?;
    rest.windows(3)
        .position(|three| three == [0, 0, 1])
        .map(|found| from + found)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const SPS_NAL: &[u8] = &[0x67, 0x64, 0x00, 0x1f, 0xac];
    const PPS_NAL: &[u8] = &[0x68, 0xee, 0x3c, 0x80];

    fn joined(nals: &[&[u8]], start: &[u8]) -> Vec<u8> {
        nals.iter().flat_map(|nal| [start, nal].concat()).collect()
    }

    #[test]
    fn a_keyframe_brings_its_parameter_sets() {
        for start in [&[0, 0, 1][..], &[0, 0, 0, 1]] {
            let unit = unpack(&joined(&[SPS_NAL, PPS_NAL, &[0x65, 0x88]], start));
            assert!(unit.keyframe);
            // ISO/IEC 14496-15 §5.3.3.1: version, profile, constraints, level,
            // length size, then counted sets, each behind its 16-bit length.
            let expected = [
                &[1, 0x64, 0x00, 0x1f, 0xff, 0xe1, 0, 5][..],
                SPS_NAL,
                &[1, 0, 4],
                PPS_NAL,
            ];
            assert_eq!(unit.avcc.unwrap(), expected.concat());
            let lengths = [&[0, 0, 0, 5][..], SPS_NAL, &[0, 0, 0, 4], PPS_NAL];
            let slice: &[u8] = &[0, 0, 0, 2, 0x65, 0x88];
            assert_eq!(unit.data, [lengths.concat(), slice.to_vec()].concat());
        }
    }

    #[test]
    fn a_picture_between_keyframes_has_none() {
        let unit = unpack(&[0, 0, 1, 0x41, 0x9a, 0, 0, 3, 1, 0, 0]);
        assert_eq!(unit.avcc, None);
        assert!(!unit.keyframe);
        assert_eq!(&unit.data[..], [0, 0, 0, 6, 0x41, 0x9a, 0, 0, 3, 1]);
    }

    #[test]
    fn rubbish_is_nothing() {
        for rubbish in [
            &[][..],
            &[0],
            &[0, 0, 1],
            &[0, 0, 0, 1, 0, 0],
            &[1, 2, 3, 4],
        ] {
            assert_eq!(unpack(rubbish), Unpacked::default(), "{rubbish:?}");
        }
        // Half a parameter set says nothing.
        assert_eq!(
            unpack(&joined(&[&[0x67, 0x64], PPS_NAL], &[0, 0, 1])).avcc,
            None
        );
        assert_eq!(unpack(&joined(&[SPS_NAL; 9], &[0, 0, 1])).avcc, None);
    }

    proptest! {
        #[test]
        fn anything_is_taken_apart(bytes: Vec<u8>) {
            let unit = unpack(&bytes);
            let mut rest = &unit.data[..];
            while let Some((length, more)) = rest.split_first_chunk::<4>() {
                let length = u32::from_be_bytes(*length) as usize;
                prop_assert!(length > 0 && length <= more.len());
                rest = &more[length..];
            }
            prop_assert!(rest.is_empty());
        }
    }
}
