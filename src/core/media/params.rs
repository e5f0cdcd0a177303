//! The parameter sets of an H.264 stream, read from its `avcC` record, and the
//! initialisation segment made from them.
//!
//! Not here: pictures.

use bytes::Bytes;
use h264_reader::nal::{
    Nal as _, RefNal,
    sps::{FrameMbsFlags, SeqParameterSet},
};
use mp4_atom::{
    Avc1, Avcc, Buf as _, Codec, Decode as _, Dinf, Dref, Encode as _, FourCC, Ftyp, Hdlr, Mdhd,
    Mdia, Minf, Moov, Mvex, Mvhd, Stbl, Stsd, Tkhd, Trak, Trex, Url, Visual, Vmhd,
};

use super::fragment::{TIMESCALE_HZ, TRACK_ID};

/// What a stream's pictures need before they can be decoded.
#[derive(Clone, PartialEq, Eq)]
pub struct ParameterSets {
    /// `video/mp4; codecs="avc1.PPCCLL"`, read from the parameter sets
    /// themselves: what a camera announces elsewhere is often another level.
    pub mime: String,
    /// Width as shown, in pixels.
    pub width_px: u32,
    /// Height as shown, in pixels.
    pub height_px: u32,
    /// Pictures are coded as single fields.
    pub interlaced: bool,
    /// The stream promises that no picture is shown out of coding order. Where
    /// it is missing, a decoder may hold pictures back (RFC 6184 has no rule).
    pub promises_order: bool,
    /// `ftyp` and `moov`, ready to send.
    pub init: Bytes,
}

impl std::fmt::Debug for ParameterSets {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "ParameterSets({} {}×{})",
            self.mime, self.width_px, self.height_px
        )
    }
}

/// Why an `avcC` record cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ParameterSetsError {
    /// Not an `avcC` record, or cut short.
    #[error("the stream's configuration record is damaged: {0}")]
    Record(String),
    /// Lengths in front of NAL units are not four bytes long.
    #[error("the stream's NAL units carry {0}-byte lengths; four are expected")]
    LengthSize(u8),
    /// The sequence parameter set cannot be read.
    #[error("the stream's sequence parameter set is damaged: {0}")]
    Sps(String),
    /// A size no fragment can state.
    #[error("a picture of {0}×{1} pixels cannot be carried")]
    Size(u32, u32),
}

impl ParameterSets {
    /// Reads an `avcC` record (ISO/IEC 14496-15 §5.3.3.1).
    pub fn from_avcc(record: &[u8]) -> Result<Self, ParameterSetsError> {
        let avcc = decode_avcc(record)?;
        let sps = first_sps(&avcc)?;
        let (width_px, height_px) = sps
            .pixel_dimensions()
            .map_err(|e| ParameterSetsError::Sps(format!("{e:?}")))?;
        // RFC 6381 §3.3: profile_idc, constraint flags, level_idc, in hex.
        let mime = format!(
            "video/mp4; codecs=\"avc1.{:02x}{:02x}{:02x}\"",
            avcc.avc_profile_indication, avcc.profile_compatibility, avcc.avc_level_indication
        );
        let promises_order = sps
            .vui_parameters
            .as_ref()
            .and_then(|vui| vui.bitstream_restrictions.as_ref())
            .is_some_and(|limits| limits.max_num_reorder_frames == 0);
        Ok(Self {
            mime,
            width_px,
            height_px,
            interlaced: matches!(sps.frame_mbs_flags, FrameMbsFlags::Fields { .. }),
            promises_order,
            init: init_segment(avcc, width_px, height_px)?,
        })
    }
}

impl ParameterSets {
    /// The `avcC` record they were read from, for whoever decodes: the body of
    /// the one box of that name in the initialisation segment.
    #[must_use]
    pub fn record(&self) -> Option<Bytes> {
        let name = self.init.windows(4).position(|four| four == b"avcC")?;
        let size = self.init.get(name.checked_sub(4)?..)?.first_chunk::<4>()?;
        let end = (name - 4).checked_add(u32::from_be_bytes(*size) as usize)?;
        (name + 4 <= end && end <= self.init.len()).then(|| self.init.slice(name + 4..end))
    }
}

/// The first sequence parameter set. The reader takes an empty NAL unit for a
/// bug of ours, so those are refused before it sees them.
pub(super) fn first_sps(avcc: &Avcc) -> Result<SeqParameterSet, ParameterSetsError> {
    let damaged = |what: &str| ParameterSetsError::Record(what.to_owned());
    if avcc.length_size != 4 {
        return Err(ParameterSetsError::LengthSize(avcc.length_size));
    }
    let sets = [&avcc.sequence_parameter_sets, &avcc.picture_parameter_sets];
    if sets
        .iter()
        .any(|sets| sets.is_empty() || sets.iter().any(Vec::is_empty))
    {
        return Err(damaged("a parameter set is missing or empty"));
    }
    let nal = RefNal::new(&avcc.sequence_parameter_sets[0], &[], true);
    SeqParameterSet::from_bits(nal.rbsp_bits())
        .map_err(|e| ParameterSetsError::Sps(format!("{e:?}")))
}

pub(super) fn decode_avcc(record: &[u8]) -> Result<Avcc, ParameterSetsError> {
    // The record is the body of an avcC box; give it the header it lacks.
    let mut boxed = Vec::with_capacity(record.len() + 8);
    let size = u32::try_from(record.len() + 8)
        .map_err(|_| ParameterSetsError::Record("it is too long".to_owned()))?;
    boxed.extend_from_slice(&size.to_be_bytes());
    boxed.extend_from_slice(b"avcC");
    boxed.extend_from_slice(record);
    let mut unread = boxed.as_slice();
    let avcc = Avcc::decode(&mut unread).map_err(|e| ParameterSetsError::Record(e.to_string()))?;
    if unread.has_remaining() {
        return Err(ParameterSetsError::Record(
            "bytes follow its end".to_owned(),
        ));
    }
    Ok(avcc)
}

fn init_segment(avcc: Avcc, width_px: u32, height_px: u32) -> Result<Bytes, ParameterSetsError> {
    let too_large = || ParameterSetsError::Size(width_px, height_px);
    let width = u16::try_from(width_px).map_err(|_| too_large())?;
    let height = u16::try_from(height_px).map_err(|_| too_large())?;
    let ftyp = Ftyp {
        major_brand: FourCC::new(b"iso6"),
        minor_version: 0,
        compatible_brands: vec![
            FourCC::new(b"iso6"),
            FourCC::new(b"avc1"),
            FourCC::new(b"mp41"),
        ],
    };
    let moov = Moov {
        mvhd: Mvhd {
            timescale: TIMESCALE_HZ,
            next_track_id: TRACK_ID + 1,
            ..Mvhd::default()
        },
        mvex: Some(Mvex {
            mehd: None,
            trex: vec![Trex {
                track_id: TRACK_ID,
                default_sample_description_index: 1,
                ..Trex::default()
            }],
        }),
        trak: vec![track(avcc, width, height)],
        ..Moov::default()
    };
    let mut bytes = Vec::new();
    ftyp.encode(&mut bytes)
        .and_then(|()| moov.encode(&mut bytes))
        .map_err(|e| ParameterSetsError::Record(e.to_string()))?;
    Ok(bytes.into())
}

pub(super) fn track(avcc: Avcc, width: u16, height: u16) -> Trak {
    let entry = Avc1 {
        visual: Visual {
            data_reference_index: 1,
            width,
            height,
            ..Visual::default()
        },
        avcc,
        ..Avc1::default()
    };
    Trak {
        tkhd: Tkhd {
            track_id: TRACK_ID,
            enabled: true,
            in_movie: true,
            width: width.into(),
            height: height.into(),
            ..Tkhd::default()
        },
        mdia: Mdia {
            mdhd: Mdhd {
                timescale: TIMESCALE_HZ,
                language: "und".to_owned(),
                ..Mdhd::default()
            },
            hdlr: Hdlr {
                handler: FourCC::new(b"vide"),
                name: "station".to_owned(),
            },
            minf: Minf {
                vmhd: Some(Vmhd::default()),
                // The pictures are in this same file (ISO/IEC 14496-12 §8.7.2);
                // without an entry that says so, some players refuse it all.
                dinf: Dinf {
                    dref: Dref {
                        entries: vec![Url::default().into()],
                    },
                },
                stbl: Stbl {
                    stsd: Stsd {
                        codecs: vec![Codec::Avc1(entry)],
                    },
                    // A fragmented file keeps its chunk table empty, but present.
                    stco: Some(mp4_atom::Stco::default()),
                    ..Stbl::default()
                },
                ..Minf::default()
            },
        },
        ..Trak::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::media::intake::tests::AVCC_MAIN_31;

    #[test]
    fn the_codec_string_follows_rfc_6381() {
        // RFC 6381 §3.3: `avc1.` and profile_idc, constraint flags, level_idc in hex.
        let params = ParameterSets::from_avcc(AVCC_MAIN_31).expect("a good record");
        assert_eq!(params.mime, "video/mp4; codecs=\"avc1.4d401f\"");
        assert_eq!((params.width_px, params.height_px), (1280, 720));
        assert!(!params.interlaced);
    }

    #[test]
    fn the_published_example_reads_as_high_at_level_4() {
        // RFC 6381's own form for High profile at level 4.0: avc1.640028.
        let mut record = AVCC_MAIN_31.to_vec();
        (record[1], record[2], record[3]) = (0x64, 0x00, 0x28);
        record.extend_from_slice(&[0xfd, 0xf8, 0xf8, 0x00]);
        let params = ParameterSets::from_avcc(&record).expect("a good record");
        assert_eq!(params.mime, "video/mp4; codecs=\"avc1.640028\"");
    }

    #[test]
    fn the_record_can_be_had_back() {
        let params = ParameterSets::from_avcc(AVCC_MAIN_31).expect("a good record");
        assert_eq!(params.record().as_deref(), Some(AVCC_MAIN_31));
        for strange in [&b""[..], b"avcC", b"\0\0\0\x09avcC", b"\0\0\0\x01avcC"] {
            let init = Bytes::from_static(strange);
            assert_eq!(
                ParameterSets {
                    init,
                    ..params.clone()
                }
                .record(),
                None
            );
        }
    }

    #[test]
    fn damaged_records_are_refused_not_panicked_at() {
        for cut in 0..AVCC_MAIN_31.len() {
            assert!(
                ParameterSets::from_avcc(&AVCC_MAIN_31[..cut]).is_err(),
                "cut at {cut}"
            );
        }
        let mut short_lengths = AVCC_MAIN_31.to_vec();
        short_lengths[4] = 0xfd;
        assert_eq!(
            ParameterSets::from_avcc(&short_lengths),
            Err(ParameterSetsError::LengthSize(2))
        );
    }

    proptest::proptest! {
        #[test]
        fn any_bytes_are_read_or_refused(record in proptest::collection::vec(proptest::num::u8::ANY, 0..200)) {
            let _ = ParameterSets::from_avcc(&record);
        }

        #[test]
        fn any_flipped_byte_is_read_or_refused(at in 0..AVCC_MAIN_31.len(), to in proptest::num::u8::ANY) {
            let mut record = AVCC_MAIN_31.to_vec();
            record[at] = to;
            let _ = ParameterSets::from_avcc(&record);
        }
    }
}
