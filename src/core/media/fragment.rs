//! One picture, encoded and wrapped: a movie fragment (ISO/IEC 14496-12 §8.8)
//! of a single sample whose decode time is its capture time.
//!
//! Not here: the delay. It is never written into media; one fragment serves
//! every viewer, whatever delay each is shown at.

use bytes::Bytes;
use mp4_atom::{Encode as _, Mfhd, Moof, Tfdt, Tfhd, Traf, Trun, TrunEntry, TrunSamples};

use crate::kernel::{CaptureUs, FragmentNumber};

/// Ticks a second of everything we write: microseconds, so that a capture time
/// goes in unchanged.
pub const TIMESCALE_HZ: u32 = 1_000_000;

/// The one track there is. No sound is ever carried.
pub(super) const TRACK_ID: u32 = 1;

/// ISO/IEC 14496-12 §8.8.3.1: depends on no other sample.
const FLAGS_KEYFRAME: u32 = 0x0200_0000;
/// Depends on others, and is no sync sample.
const FLAGS_DELTA: u32 = 0x0101_0000;

/// Size and type in front of the picture.
const MDAT_HEADER_BYTES: usize = 8;

/// One picture as it is kept and sent. Cloning shares the bytes.
#[derive(Clone)]
pub struct Fragment {
    /// Its place in the ring.
    pub number: FragmentNumber,
    /// When it was captured.
    pub capture: CaptureUs,
    /// Until the next picture.
    pub duration_us: u32,
    /// It can be decoded without any other.
    pub keyframe: bool,
    /// `moof` and `mdat`.
    pub bytes: Bytes,
}

impl std::fmt::Debug for Fragment {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Fragment")
            .field("number", &self.number.0)
            .field("capture_us", &self.capture.0)
            .field("duration_us", &self.duration_us)
            .field("keyframe", &self.keyframe)
            .field("bytes", &self.bytes.len())
            .finish()
    }
}

impl Fragment {
    /// The picture in it, with four-byte NAL lengths. Shares the bytes.
    #[must_use]
    pub fn access_unit(&self) -> Bytes {
        let head = self
            .bytes
            .first_chunk::<4>()
            .map(|size| u32::from_be_bytes(*size));
        let from = head.map_or(usize::MAX, |size| size as usize + MDAT_HEADER_BYTES);
        // Nothing of one that was not wrapped here.
        self.bytes.slice(from.min(self.bytes.len())..)
    }

    /// Wraps one access unit.
    ///
    /// # Panics
    /// Never: every field is in range for its box, and memory is the only sink.
    #[must_use]
    pub fn wrap(
        number: FragmentNumber,
        capture: CaptureUs,
        duration_us: u32,
        keyframe: bool,
        access_unit: &[u8],
    ) -> Self {
        let moof = |data_offset: i32| Moof {
            mfhd: Mfhd {
                sequence_number: number.0 as u32,
            },
            traf: vec![Traf {
                tfhd: Tfhd {
                    track_id: TRACK_ID,
                    default_base_is_moof: true,
                    ..Tfhd::default()
                },
                tfdt: Some(Tfdt {
                    base_media_decode_time: capture.0,
                }),
                trun: vec![Trun {
                    data_offset: Some(data_offset),
                    samples: TrunSamples::Explicit(vec![TrunEntry {
                        duration: Some(duration_us),
                        size: Some(access_unit.len() as u32),
                        flags: Some(if keyframe {
                            FLAGS_KEYFRAME
                        } else {
                            FLAGS_DELTA
                        }),
                        cts: None,
                    }]),
                }],
                ..Traf::default()
            }],
        };
        // The offset of the payload is known once the box is: encode it to
        // learn its length, then again with the offset in it.
        let mut head = Vec::with_capacity(128);
        moof(0)
            .encode(&mut head)
            .expect("writing to memory cannot fail");
        let data_offset = head.len() + MDAT_HEADER_BYTES;
        let mut bytes = Vec::with_capacity(data_offset + access_unit.len());
        moof(data_offset as i32)
            .encode(&mut bytes)
            .expect("writing to memory cannot fail");
        bytes.extend_from_slice(&((access_unit.len() + MDAT_HEADER_BYTES) as u32).to_be_bytes());
        bytes.extend_from_slice(b"mdat");
        bytes.extend_from_slice(access_unit);
        Self {
            number,
            capture,
            duration_us,
            keyframe,
            bytes: bytes.into(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_wrapped_comes_out_again() {
        for unit in [&b"\0\0\0\x02ab"[..], &[7; 3000], b""] {
            let wrapped = Fragment::wrap(FragmentNumber(1), CaptureUs(5), 33_333, true, unit);
            assert_eq!(wrapped.access_unit(), unit);
        }
        let strange = Fragment {
            bytes: Bytes::from_static(&[0xff; 5]),
            ..Fragment::wrap(FragmentNumber(1), CaptureUs(5), 33_333, true, b"")
        };
        assert!(strange.access_unit().is_empty());
    }
}
