//! What kind of picture an access unit is, read from the first numbers of its
//! slice headers (ITU-T H.264 §7.3.3): enough to know where a viewer can begin,
//! and whether a camera sends its pictures out of order.
//!
//! Not here: parameter sets, anything behind the slice type, decoding. The
//! access unit is in `avcC` form: every NAL unit behind a four-byte length.

use std::borrow::Cow;

/// How a picture leans on others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PictureKind {
    /// An instantaneous decoding refresh: nothing before it is needed, by it or
    /// by anything after it. Only here may a viewer begin.
    Idr,
    /// Leans at most on pictures sent before it.
    Forward,
    /// Has a B slice: it may lean on a picture shown later, so sending order
    /// and showing order differ.
    Bidirectional,
    /// No slice could be read.
    Unreadable,
}

/// NAL unit types that hold coded slices with a header of their own (Table 7-1).
const SLICE: u8 = 1;
const PARTITION_A: u8 = 2;
const IDR_SLICE: u8 = 5;

/// Reads what kind of picture this is. What a truncated or broken access unit
/// lacks is not guessed: the slices before the damage decide, and with none it
/// is [`PictureKind::Unreadable`].
#[must_use]
pub fn picture_kind(access_unit: &[u8]) -> PictureKind {
    let mut kind = PictureKind::Unreadable;
    for nal in nal_units(access_unit) {
        let Some((&header, body)) = nal.split_first() else {
            continue;
        };
        match header & 0x1f {
            IDR_SLICE => return PictureKind::Idr,
            SLICE | PARTITION_A => match slice_type(body) {
                // Types 5 to 9 say the same as 0 to 4 for the whole picture.
                Some(1 | 6) => return PictureKind::Bidirectional,
                Some(0..=9) => kind = PictureKind::Forward,
                _ => {}
            },
            _ => {}
        }
    }
    kind
}

/// What `avc1` samples leave out: parameter sets and their extension, which
/// stand in the sample entry alone (ISO/IEC 14496-15 §5.3.3), the delimiter,
/// and filler, which some cameras send by the kilobyte.
const LEFT_OUT: [u8; 5] = [7, 8, 9, 12, 13];

/// The access unit without what an `avc1` sample leaves out. One that cannot be
/// taken apart comes back as it is.
#[must_use]
pub fn sample_of(access_unit: &[u8]) -> Cow<'_, [u8]> {
    without(access_unit, &LEFT_OUT)
}

/// The same without the messages that go along with a picture: encoders write
/// into them what they are and how they were set.
#[must_use]
pub fn bare_sample_of(access_unit: &[u8]) -> Cow<'_, [u8]> {
    without(access_unit, &[6, 7, 8, 9, 12, 13])
}

fn without<'u>(access_unit: &'u [u8], left_out: &[u8]) -> Cow<'u, [u8]> {
    let whole = nal_units(access_unit)
        .map(|nal| nal.len() + 4)
        .sum::<usize>();
    let is_left_out = |nal: &[u8]| nal.first().is_some_and(|h| left_out.contains(&(h & 0x1f)));
    if whole != access_unit.len() || !nal_units(access_unit).any(is_left_out) {
        return Cow::Borrowed(access_unit);
    }
    let mut sample = Vec::with_capacity(access_unit.len());
    for nal in nal_units(access_unit).filter(|nal| !is_left_out(nal)) {
        // It was read behind a four-byte length, so it fits one.
        sample.extend_from_slice(&(nal.len() as u32).to_be_bytes());
        sample.extend_from_slice(nal);
    }
    Cow::Owned(sample)
}

/// The NAL units of an access unit; stops where a length points past the end.
fn nal_units(mut rest: &[u8]) -> impl Iterator<Item = &[u8]> {
    std::iter::from_fn(move || {
        let (length, tail) = rest.split_first_chunk::<4>()?;
        let length_bytes = usize::try_from(u32::from_be_bytes(*length)).ok()?;
        let (nal, after) = tail.split_at_checked(length_bytes)?;
        rest = after;
        Some(nal)
    })
}

/// `slice_type`, which stands behind `first_mb_in_slice`.
fn slice_type(body: &[u8]) -> Option<u32> {
    let mut bits = Bits { body, at_bit: 0 };
    bits.exp_golomb()?;
    bits.exp_golomb()
}

/// Reads bits from the front of a NAL unit's body.
struct Bits<'a> {
    body: &'a [u8],
    at_bit: usize,
}

impl Bits<'_> {
    fn bit(&mut self) -> Option<u32> {
        if self.at_bit.is_multiple_of(8) && self.at_emulation_prevention() {
            self.at_bit += 8;
        }
        let byte = *self.body.get(self.at_bit / 8)?;
        let bit = byte >> (7 - self.at_bit % 8) & 1;
        self.at_bit += 1;
        Some(u32::from(bit))
    }

    /// A 3 behind two zero bytes was put there by the encoder and is no data
    /// (§7.4.1).
    fn at_emulation_prevention(&self) -> bool {
        let at = self.at_bit / 8;
        at >= 2 && self.body.get(at - 2..=at) == Some(&[0, 0, 3])
    }

    /// An unsigned number in Exp-Golomb code (§9.1), up to 32 bits long.
    fn exp_golomb(&mut self) -> Option<u32> {
        let mut zeros = 0;
        while self.bit()? == 0 {
            zeros += 1;
            if zeros > 31 {
                return None;
            }
        }
        let mut value: u64 = 1;
        for _ in 0..zeros {
            value = value << 1 | u64::from(self.bit()?);
        }
        u32::try_from(value - 1).ok()
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn access_unit(nals: &[&[u8]]) -> Vec<u8> {
        let mut out = Vec::new();
        for nal in nals {
            out.extend((nal.len() as u32).to_be_bytes());
            out.extend(*nal);
        }
        out
    }

    /// A slice NAL unit whose header starts with the two numbers, written by
    /// the definition of the code: value + 1 in binary behind as many zeros as
    /// it has further digits.
    fn slice(nal_type: u8, first_macroblock: u32, slice_type: u32) -> Vec<u8> {
        let mut bits = String::new();
        for value in [first_macroblock, slice_type] {
            let binary = format!("{:b}", u64::from(value) + 1);
            bits += &"0".repeat(binary.len() - 1);
            bits += &binary;
        }
        bits += "1010101010101010";
        let mut nal = vec![0x60 | nal_type];
        for byte in bits.as_bytes().chunks_exact(8) {
            let text = std::str::from_utf8(byte).unwrap();
            let byte = u8::from_str_radix(text, 2).unwrap();
            if nal.len() > 2 && nal.ends_with(&[0, 0]) && byte <= 3 {
                nal.push(3);
            }
            nal.push(byte);
        }
        nal
    }

    #[test]
    fn the_codes_of_table_9_2_read_as_printed() {
        // ITU-T H.264 Table 9-2: 1 → 0, 010 → 1, 011 → 2, 00100 → 3, 00111 → 6.
        for (byte, value) in [
            (0b1000_0000, 0),
            (0b0100_0000, 1),
            (0b0110_0000, 2),
            (0b0010_0000, 3),
            (0b0011_1000, 6),
        ] {
            let mut bits = Bits {
                body: &[byte],
                at_bit: 0,
            };
            assert_eq!(bits.exp_golomb(), Some(value));
        }
    }

    #[test]
    fn a_delimiter_and_parameter_sets_are_passed_over() {
        let idr = slice(5, 0, 7);
        let unit = access_unit(&[&[9, 0x10], &[0x67, 1, 2], &[0x68, 3], &[6, 5, 1], &idr]);
        assert_eq!(picture_kind(&unit), PictureKind::Idr);
    }

    #[test]
    fn one_b_slice_among_others_is_enough() {
        let (p, b) = (slice(1, 0, 0), slice(1, 1800, 1));
        let whole = slice(1, 0, 6);
        assert_eq!(picture_kind(&access_unit(&[&p, &p])), PictureKind::Forward);
        assert_eq!(
            picture_kind(&access_unit(&[&p, &b])),
            PictureKind::Bidirectional
        );
        assert_eq!(
            picture_kind(&access_unit(&[&whole])),
            PictureKind::Bidirectional
        );
    }

    #[test]
    fn an_i_slice_alone_is_no_place_to_begin() {
        assert_eq!(
            picture_kind(&access_unit(&[&slice(1, 0, 7)])),
            PictureKind::Forward
        );
    }

    #[test]
    fn what_is_cut_off_or_nonsense_is_unreadable() {
        let p = access_unit(&[&slice(1, 0, 5)]);
        assert_eq!(picture_kind(&[]), PictureKind::Unreadable);
        assert_eq!(picture_kind(&p[..4]), PictureKind::Unreadable);
        assert_eq!(picture_kind(&p[..p.len() - 1]), PictureKind::Unreadable);
        assert_eq!(picture_kind(&access_unit(&[&[1]])), PictureKind::Unreadable);
        let zeros = access_unit(&[&[1, 0, 0, 0, 0, 0]]);
        assert_eq!(picture_kind(&zeros), PictureKind::Unreadable);
        let no_such_type = access_unit(&[&slice(1, 0, 10)]);
        assert_eq!(picture_kind(&no_such_type), PictureKind::Unreadable);
    }

    proptest! {
        #[test]
        fn every_header_written_is_read(first in 0u32..2_000_000, kind in 0u32..10) {
            let expected = match kind % 5 {
                1 => PictureKind::Bidirectional,
                _ => PictureKind::Forward,
            };
            prop_assert_eq!(picture_kind(&access_unit(&[&slice(1, first, kind)])), expected);
        }

        #[test]
        fn no_bytes_make_it_panic(bytes: Vec<u8>) {
            let _ = picture_kind(&bytes);
        }
    }
}
