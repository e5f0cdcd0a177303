//! Takes the VUI, and with it the `bitstream_restriction`, out of a sequence
//! parameter set (ITU-T H.264 §7.3.2.1.1, Annex E), as the encoders of many
//! cameras leave it out: then nothing says that pictures are shown in the order
//! they are sent, and a decoder may hold some back.
//!
//! Not here: any other change, and sets with scaling lists or `pic_order_cnt_type`
//! 1, which the encoder in use does not write.

/// NAL unit type of a sequence parameter set (Table 7-1).
const SPS: u8 = 7;

/// Profiles whose sets say more about their samples (§7.3.2.1.1).
const HIGH_PROFILES: &[u8] = &[100, 110, 122, 244, 44, 83, 86, 118, 128, 138, 139, 134, 135];

/// The same byte stream (Annex B) with every set rewritten; `None` where there
/// is none to rewrite.
pub(crate) fn stream_without_vui(stream: &[u8]) -> Option<Vec<u8>> {
    let starts: Vec<usize> = (0..stream.len().saturating_sub(3))
        .filter(|&at| stream[at..at + 3] == [0, 0, 1])
        .map(|at| at + 3)
        .collect();
    let mut out = Vec::with_capacity(stream.len());
    let mut changed = false;
    let mut from = 0;
    for (index, &start) in starts.iter().enumerate() {
        // A start code may have a zero more in front; it stays what it was.
        let next = starts.get(index + 1).map_or(stream.len(), |next| next - 3);
        let zeros = stream[start..next].iter().rev();
        let end = next - zeros.take_while(|byte| **byte == 0).count();
        let nal = &stream[start..end];
        if nal.first().is_some_and(|header| header & 0x1f == SPS)
            && let Some(shorter) = without_vui(nal)
        {
            out.extend_from_slice(&stream[from..start]);
            out.extend_from_slice(&shorter);
            from = end;
            changed = true;
        }
    }
    out.extend_from_slice(&stream[from..]);
    changed.then_some(out)
}

/// A set, its NAL header included, that ends where its VUI began; `None` if it
/// has none or cannot be read.
pub(crate) fn without_vui(nal: &[u8]) -> Option<Vec<u8>> {
    let (&header, body) = nal.split_first()?;
    let plain = without_emulation_prevention(body);
    let mut bits = Bits {
        body: &plain,
        at: 0,
    };
    let flag = vui_flag(&mut bits)?;
    if !bits.bit()? {
        return None;
    }
    // Everything before the flag, the flag cleared, the stop bit (§7.3.2.11).
    let mut short: Vec<u8> = plain[..=flag / 8].to_vec();
    let last = short.last_mut()?;
    *last &= !(0xff >> (flag % 8));
    let stop = flag + 1;
    if stop.is_multiple_of(8) {
        short.push(0x80);
    } else {
        *last |= 0x80 >> (stop % 8);
    }
    let mut out = vec![header];
    out.extend(with_emulation_prevention(&short));
    Some(out)
}

/// Reads up to `vui_parameters_present_flag` and says where it stands.
fn vui_flag(bits: &mut Bits<'_>) -> Option<usize> {
    let profile = *bits.body.first()?;
    bits.at = 24;
    bits.number()?; // seq_parameter_set_id
    if HIGH_PROFILES.contains(&profile) {
        let chroma_format = bits.number()?;
        if chroma_format == 3 {
            bits.bit()?;
        }
        bits.number()?; // bit_depth_luma_minus8
        bits.number()?; // bit_depth_chroma_minus8
        bits.bit()?; // qpprime_y_zero_transform_bypass_flag
        if bits.bit()? {
            return None; // seq_scaling_matrix_present_flag
        }
    }
    bits.number()?; // log2_max_frame_num_minus4
    match bits.number()? {
        0 => drop(bits.number()?), // log2_max_pic_order_cnt_lsb_minus4
        2 => {}
        _ => return None,
    }
    bits.number()?; // max_num_ref_frames
    bits.bit()?; // gaps_in_frame_num_value_allowed_flag
    bits.number()?; // pic_width_in_mbs_minus1
    bits.number()?; // pic_height_in_map_units_minus1
    if !bits.bit()? {
        bits.bit()?; // mb_adaptive_frame_field_flag, of interlaced pictures
    }
    bits.bit()?; // direct_8x8_inference_flag
    if bits.bit()? {
        for _side in 0..4 {
            bits.number()?;
        }
    }
    Some(bits.at)
}

struct Bits<'a> {
    body: &'a [u8],
    at: usize,
}

impl Bits<'_> {
    fn bit(&mut self) -> Option<bool> {
        let byte = self.body.get(self.at / 8)?;
        let bit = byte >> (7 - self.at % 8) & 1;
        self.at += 1;
        Some(bit == 1)
    }

    /// An unsigned number in Exp-Golomb code (§9.1).
    fn number(&mut self) -> Option<u32> {
        let mut zeros = 0;
        while !self.bit()? {
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

/// §7.4.1: a 3 behind two zeros was put there so that no start code appears.
fn without_emulation_prevention(body: &[u8]) -> Vec<u8> {
    let mut out: Vec<u8> = Vec::with_capacity(body.len());
    let mut zeros = 0;
    for &byte in body {
        if zeros >= 2 && byte == 3 {
            zeros = 0;
            continue;
        }
        zeros = if byte == 0 { zeros + 1 } else { 0 };
        out.push(byte);
    }
    out
}

fn with_emulation_prevention(body: &[u8]) -> Vec<u8> {
    let mut out: Vec<u8> = Vec::with_capacity(body.len() + 4);
    let mut zeros = 0;
    for &byte in body {
        if zeros >= 2 && byte <= 3 {
            out.push(3);
            zeros = 0;
        }
        zeros = if byte == 0 { zeros + 1 } else { 0 };
        out.push(byte);
    }
    out
}

#[cfg(test)]
mod tests {
    use afterturn_core::media::ParameterSets;

    use super::*;

    /// What x264 writes for 1280×720 in Main and for 192×144 in High profile.
    const SETS: [&[u8]; 2] = [
        &[
            0x67, 0x4d, 0x40, 0x1f, 0xd9, 0x00, 0x50, 0x05, 0xbb, 0x01, 0x10, 0x00, 0x00, 0x03,
            0x00, 0x10, 0x00, 0x00, 0x03, 0x03, 0xc0, 0xf1, 0x83, 0x24, 0x80,
        ],
        &[
            0x67, 0x64, 0x00, 0x0c, 0xac, 0xb4, 0x18, 0x27, 0x60, 0x2d, 0x40, 0x40, 0x40, 0x50,
            0x00, 0x00, 0x03, 0x00, 0x10, 0x00, 0x00, 0x03, 0x03, 0xc8, 0xf1, 0x42, 0xaa,
        ],
    ];
    const PPS: &[u8] = &[0x68, 0xeb, 0xc3, 0xcb, 0x20];

    /// The `avcC` record of a set (ISO/IEC 14496-15 §5.3.3.1).
    fn record(sps: &[u8]) -> Vec<u8> {
        let mut out = vec![1, sps[1], sps[2], sps[3], 0xff, 0xe1, 0];
        out.push(sps.len() as u8);
        out.extend_from_slice(sps);
        out.extend_from_slice(&[1, 0, PPS.len() as u8]);
        out.extend_from_slice(PPS);
        if sps[1] == 100 {
            out.extend_from_slice(&[0xfd, 0xf8, 0xf8, 0]);
        }
        out
    }

    #[test]
    fn the_promise_is_gone_and_nothing_else_is() {
        for sps in SETS {
            let before = ParameterSets::from_avcc(&record(sps)).expect("a good set");
            assert!(before.promises_order);
            let short = without_vui(sps).expect("it has a VUI");
            assert!(short.len() < sps.len());
            let after = ParameterSets::from_avcc(&record(&short)).expect("still a good set");
            assert!(!after.promises_order);
            assert_eq!(
                (after.width_px, after.height_px, &after.mime),
                (before.width_px, before.height_px, &before.mime)
            );
            assert_eq!(without_vui(&short), None, "nothing left to take");
        }
    }

    #[test]
    fn the_rest_of_a_stream_stays_as_it_is() {
        let delimiter: &[u8] = &[0, 0, 0, 1, 9, 0x10];
        let slice: &[u8] = &[0, 0, 1, 0x65, 0x88, 0x84, 0, 0, 3, 1];
        let stream =
            |sps: &[u8]| [delimiter, &[0, 0, 0, 1], sps, &[0, 0, 0, 1], PPS, slice].concat();
        let short = without_vui(SETS[0]).expect("it has a VUI");
        assert_eq!(stream_without_vui(&stream(SETS[0])), Some(stream(&short)));
        assert_eq!(stream_without_vui(&stream(&short)), None);
        assert_eq!(stream_without_vui(slice), None);
        assert_eq!(stream_without_vui(&[]), None);
    }

    #[test]
    fn what_is_cut_short_is_left_alone() {
        for sps in SETS {
            for cut in 0..9.min(sps.len()) {
                assert_eq!(without_vui(&sps[..cut]), None, "cut at {cut}");
            }
        }
    }
}
