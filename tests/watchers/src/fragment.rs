//! A fragment's number and capture time, and nothing more of it.
//!
//! Not here: whether the rest is right. Other tests read every byte.

/// What a screen here reads of a fragment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Head {
    /// `mfhd.sequence_number` (ISO/IEC 14496-12 §8.8.5).
    pub number: u32,
    /// `tfdt.baseMediaDecodeTime` (§8.8.12).
    pub capture_us: u64,
}

/// Whether this is an initialisation segment: it starts with a `ftyp` (§4.3).
pub(crate) fn is_init(bytes: &[u8]) -> bool {
    bytes.get(4..8) == Some(b"ftyp")
}

/// Reads the head of a `moof`.
pub(crate) fn head(bytes: &[u8]) -> Option<Head> {
    let moof = payload(bytes, *b"moof")?;
    let mfhd = payload(moof, *b"mfhd")?;
    let traf = payload(moof, *b"traf")?;
    let tfdt = payload(traf, *b"tfdt")?;
    // Behind version and flags; a version 1 has 64 bits.
    let number = u32::from_be_bytes(*mfhd.get(4..)?.first_chunk()?);
    let capture_us = match tfdt.first()? {
        1 => u64::from_be_bytes(*tfdt.get(4..)?.first_chunk()?),
        _ => u32::from_be_bytes(*tfdt.get(4..)?.first_chunk()?).into(),
    };
    Some(Head { number, capture_us })
}

/// What is in the first box of a kind (§4.2).
fn payload(mut bytes: &[u8], kind: [u8; 4]) -> Option<&[u8]> {
    loop {
        let length = u32::from_be_bytes(*bytes.first_chunk()?) as usize;
        let this = bytes.get(8..length)?;
        if bytes.get(4..8)? == kind {
            return Some(this);
        }
        bytes = bytes.get(length..)?;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn number_and_time_are_found_and_rubbish_is_not() {
        let boxed = |kind: &[u8], payload: &[u8]| {
            let length = (payload.len() + 8) as u32;
            [&length.to_be_bytes()[..], kind, payload].concat()
        };
        let mfhd = boxed(b"mfhd", &[0, 0, 0, 0, 0, 0, 1, 2]);
        let tfhd = boxed(b"tfhd", &[0, 2, 0, 0, 0, 0, 0, 1]);
        let tfdt = boxed(b"tfdt", &[1, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 5]);
        let traf = boxed(b"traf", &[tfhd, tfdt].concat());
        let moof = boxed(b"moof", &[mfhd, traf].concat());
        let expected = Head {
            number: 258,
            capture_us: (1 << 32) + 5,
        };
        assert_eq!(head(&moof), Some(expected));
        for cut in 0..moof.len() {
            assert_eq!(head(&moof[..cut]), None, "cut at {cut}");
        }
        assert_eq!(head(&boxed(b"free", &[0; 9])), None);
        assert!(is_init(&boxed(b"ftyp", b"iso6")));
        assert!(!is_init(&moof));
    }
}
