//! A finished film: a plain MP4 file (ISO/IEC 14496-12) of one H.264 track, its
//! index in front of its pictures, so that a player can begin with the first
//! bytes. Nothing in it says when, where or with what it was taken.
//!
//! Not here: choosing and encoding the pictures.

use bytes::Bytes;
use mp4_atom::{
    Encode as _, FourCC, Ftyp, Moov, Mvhd, Stbl, Stco, Stsc, StscEntry, Stss, Stsz, StszSamples,
    Stts, SttsEntry, Trak,
};

use super::{
    fragment::{TIMESCALE_HZ, TRACK_ID},
    params::{ParameterSetsError, decode_avcc, first_sps, track},
};

/// Size and type in front of the pictures.
const MDAT_HEADER_BYTES: usize = 8;

/// One picture of a film.
#[derive(Clone)]
pub struct Sample {
    /// With four-byte NAL lengths, and without parameter sets.
    pub data: Bytes,
    /// For how long it is seen.
    pub duration_us: u32,
    /// It can be decoded without any other.
    pub keyframe: bool,
}

impl std::fmt::Debug for Sample {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Sample")
            .field("bytes", &self.data.len())
            .field("duration_us", &self.duration_us)
            .field("keyframe", &self.keyframe)
            .finish()
    }
}

/// Why pictures are no film.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MovieError {
    /// There are none, or they do not begin with one that stands by itself.
    #[error("a film begins with a whole picture")]
    NoBeginning,
    /// Their parameter sets cannot be read.
    #[error(transparent)]
    Params(#[from] ParameterSetsError),
    /// More than the numbers of such a file reach.
    #[error("this is too large for one film")]
    Large,
}

/// The file of these pictures; `avcc` is the record of their parameter sets
/// (ISO/IEC 14496-15 §5.3.3.1).
///
/// # Panics
/// Never: memory is the only sink.
pub fn movie(avcc: &[u8], samples: &[Sample]) -> Result<Vec<u8>, MovieError> {
    if !samples.first().is_some_and(|first| first.keyframe) {
        return Err(MovieError::NoBeginning);
    }
    let record = decode_avcc(avcc)?;
    let (width_px, height_px) = first_sps(&record)?
        .pixel_dimensions()
        .map_err(|e| ParameterSetsError::Sps(format!("{e:?}")))?;
    let small = |px: u32| u16::try_from(px).map_err(|_| MovieError::Large);
    let mut trak = track(record, small(width_px)?, small(height_px)?);
    let duration_us: u64 = samples.iter().map(|s| u64::from(s.duration_us)).sum();
    trak.tkhd.duration = duration_us;
    trak.mdia.mdhd.duration = duration_us;
    let stbl = &mut trak.mdia.minf.stbl;
    fill(stbl, samples)?;
    let mut head = Vec::new();
    let index = |trak: Trak, head: &mut Vec<u8>| {
        ftyp().encode(head).expect("writing to memory cannot fail");
        moov(trak, duration_us)
            .encode(head)
            .expect("writing to memory cannot fail");
    };
    // Where the pictures begin is known once the index is: encode it to learn
    // its length, then again with that in it.
    index(trak.clone(), &mut head);
    let begins = head.len() + MDAT_HEADER_BYTES;
    let pictures: usize = samples.iter().map(|sample| sample.data.len()).sum();
    let size = u32::try_from(pictures + MDAT_HEADER_BYTES).map_err(|_| MovieError::Large)?;
    trak.mdia.minf.stbl.stco = Some(Stco {
        entries: vec![begins as u32],
    });
    let mut file = Vec::with_capacity(begins + pictures);
    index(trak, &mut file);
    file.extend_from_slice(&size.to_be_bytes());
    file.extend_from_slice(b"mdat");
    for sample in samples {
        file.extend_from_slice(&sample.data);
    }
    Ok(file)
}

/// The tables of the pictures: how long each, which stand by themselves, how
/// large; all of them in one chunk.
fn fill(stbl: &mut Stbl, samples: &[Sample]) -> Result<(), MovieError> {
    let count = u32::try_from(samples.len()).map_err(|_| MovieError::Large)?;
    let mut times: Vec<SttsEntry> = Vec::new();
    for sample in samples {
        match times.last_mut() {
            Some(run) if run.sample_delta == sample.duration_us => run.sample_count += 1,
            _ => times.push(SttsEntry {
                sample_count: 1,
                sample_delta: sample.duration_us,
            }),
        }
    }
    stbl.stts = Stts { entries: times };
    let keyframes = (1..=count).zip(samples).filter(|(_, s)| s.keyframe);
    stbl.stss = Some(Stss {
        entries: keyframes.map(|(number, _)| number).collect(),
    });
    stbl.stsc = Stsc {
        entries: vec![StscEntry {
            first_chunk: 1,
            samples_per_chunk: count,
            sample_description_index: 1,
        }],
    };
    let sizes = samples.iter().map(|sample| sample.data.len() as u32);
    stbl.stsz = Stsz {
        samples: StszSamples::Different {
            sizes: sizes.collect(),
        },
    };
    stbl.stco = Some(Stco { entries: vec![0] });
    Ok(())
}

fn ftyp() -> Ftyp {
    Ftyp {
        major_brand: FourCC::new(b"isom"),
        minor_version: 0x200,
        compatible_brands: [b"isom", b"iso2", b"avc1", b"mp41"]
            .map(FourCC::new)
            .to_vec(),
    }
}

fn moov(trak: Trak, duration_us: u64) -> Moov {
    Moov {
        mvhd: Mvhd {
            timescale: TIMESCALE_HZ,
            duration: duration_us,
            next_track_id: TRACK_ID + 1,
            ..Mvhd::default()
        },
        trak: vec![trak],
        ..Moov::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::media::intake::tests::AVCC_MAIN_31;

    fn sample(bytes: usize, duration_us: u32, keyframe: bool) -> Sample {
        Sample {
            data: vec![7; bytes].into(),
            duration_us,
            keyframe,
        }
    }

    #[test]
    fn the_index_stands_in_front_and_points_at_the_pictures() {
        let samples = [
            sample(30, 33_333, true),
            sample(20, 33_333, false),
            sample(9, 40_000, true),
        ];
        let file = movie(AVCC_MAIN_31, &samples).expect("a film");
        let at = |name: &[u8]| file.windows(4).position(|four| four == name);
        let (ftyp, moov, mdat) = (at(b"ftyp"), at(b"moov"), at(b"mdat"));
        assert!(ftyp < moov && moov < mdat, "{ftyp:?} {moov:?} {mdat:?}");
        let stco = at(b"stco").expect("an index") + 12;
        let begins = u32::from_be_bytes(file[stco..stco + 4].try_into().expect("four"));
        assert_eq!(begins as usize, mdat.expect("pictures") + 4);
        assert_eq!(file.len() - begins as usize, 59);
    }

    #[test]
    fn what_does_not_begin_with_a_whole_picture_is_no_film() {
        assert_eq!(movie(AVCC_MAIN_31, &[]), Err(MovieError::NoBeginning));
        let samples = [sample(9, 1, false)];
        assert_eq!(movie(AVCC_MAIN_31, &samples), Err(MovieError::NoBeginning));
        assert!(movie(b"dust", &[sample(9, 1, true)]).is_err());
    }
}
