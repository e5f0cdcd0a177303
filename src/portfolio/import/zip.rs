//! The little of ZIP that an exchange of CSV files needs (PKWARE APPNOTE 6.3.10
//! §4.3): stored or deflated entries, found by the central directory.

use miniz_oxide::inflate::decompress_to_vec_with_limit;

use super::What;

/// Larger than any school's table; a file that grows beyond it was made to.
const MOST_BYTES: usize = 32 * 1024 * 1024;
const MOST_ENTRIES: usize = 200;

/// §4.3.16, and the least length of that record.
const END: [u8; 4] = *b"PK\x05\x06";
const END_BYTES: usize = 22;
/// §4.3.12.
const DIRECTORY: [u8; 4] = *b"PK\x01\x02";
const DIRECTORY_BYTES: usize = 46;
/// §4.3.7.
const LOCAL: [u8; 4] = *b"PK\x03\x04";
const LOCAL_BYTES: usize = 30;

pub(super) fn is_one(bytes: &[u8]) -> bool {
    bytes.starts_with(&LOCAL)
}

/// Every entry whose name is wanted, by its name without folders.
pub(super) fn read(
    bytes: &[u8],
    wanted: impl Fn(&str) -> bool,
) -> Result<Vec<(String, Vec<u8>)>, What> {
    read_all(bytes, wanted).ok_or(What::Zip)
}

fn read_all(bytes: &[u8], wanted: impl Fn(&str) -> bool) -> Option<Vec<(String, Vec<u8>)>> {
    let last = bytes.len().checked_sub(END_BYTES)?;
    let end = (last.saturating_sub(usize::from(u16::MAX))..=last)
        .rev()
        .find(|at| bytes[*at..].starts_with(&END))?;
    let count = usize::from(u16_at(bytes, end + 10)?);
    let mut at = u32_at(bytes, end + 16)? as usize;
    if count > MOST_ENTRIES {
        return None;
    }
    let mut found = Vec::new();
    for _ in 0..count {
        let entry = bytes.get(at..).filter(|b| b.starts_with(&DIRECTORY))?;
        let name_length = usize::from(u16_at(entry, 28)?);
        let name = entry.get(DIRECTORY_BYTES..DIRECTORY_BYTES + name_length)?;
        let name = std::str::from_utf8(name).ok()?;
        let short = name.rsplit(['/', '\\']).next().unwrap_or(name).to_owned();
        if wanted(&short) {
            found.push((short, content(bytes, entry)?));
        }
        at += DIRECTORY_BYTES
            + name_length
            + usize::from(u16_at(entry, 30)?)
            + usize::from(u16_at(entry, 32)?);
    }
    Some(found)
}

fn content(bytes: &[u8], entry: &[u8]) -> Option<Vec<u8>> {
    // Bit 0: encrypted.
    if u16_at(entry, 8)? & 1 == 1 {
        return None;
    }
    let (method, crc) = (u16_at(entry, 10)?, u32_at(entry, 16)?);
    let packed = u32_at(entry, 20)? as usize;
    let local_at = u32_at(entry, 42)? as usize;
    let local = bytes.get(local_at..).filter(|b| b.starts_with(&LOCAL))?;
    let from = LOCAL_BYTES + usize::from(u16_at(local, 26)?) + usize::from(u16_at(local, 28)?);
    let packed = local.get(from..from.checked_add(packed)?)?;
    let content = match method {
        0 => packed.to_vec(),
        8 => decompress_to_vec_with_limit(packed, MOST_BYTES).ok()?,
        _ => return None,
    };
    (crc_32(&content) == crc).then_some(content)
}

fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    let two = bytes.get(at..at.checked_add(2)?)?;
    Some(u16::from_le_bytes([two[0], two[1]]))
}

fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    let four = bytes.get(at..at.checked_add(4)?)?;
    Some(u32::from_le_bytes([four[0], four[1], four[2], four[3]]))
}

/// §4.4.7: the usual polynomial, bit by bit; these files are small.
fn crc_32(bytes: &[u8]) -> u32 {
    let step = |crc: u32, _| {
        if crc & 1 == 1 {
            (crc >> 1) ^ 0xedb8_8320
        } else {
            crc >> 1
        }
    };
    !bytes
        .iter()
        .fold(!0, |crc, byte| (0..8).fold(crc ^ u32::from(*byte), step))
}

#[cfg(test)]
pub(super) mod tests {
    use miniz_oxide::deflate::compress_to_vec;

    use super::*;

    /// A ZIP file, as a packer writes one.
    pub(in super::super) fn packed(files: &[(&str, &[u8])]) -> Vec<u8> {
        let (mut out, mut directory) = (Vec::new(), Vec::new());
        for (name, content) in files {
            let at = out.len() as u32;
            let small = compress_to_vec(content, 6);
            let mut head = vec![20, 0, 0, 0, 8, 0, 0, 0, 0, 0];
            head.extend(crc_32(content).to_le_bytes());
            head.extend((small.len() as u32).to_le_bytes());
            head.extend((content.len() as u32).to_le_bytes());
            head.extend((name.len() as u16).to_le_bytes());
            head.extend([0, 0]);
            out.extend(LOCAL);
            out.extend(&head);
            out.extend(name.as_bytes());
            out.extend(&small);
            directory.extend(DIRECTORY);
            directory.extend([20, 0]);
            directory.extend(&head);
            directory.extend([0; 10]);
            directory.extend(at.to_le_bytes());
            directory.extend(name.as_bytes());
        }
        let at = out.len() as u32;
        out.extend(&directory);
        out.extend(END);
        out.extend([0; 4]);
        for _ in 0..2 {
            out.extend((files.len() as u16).to_le_bytes());
        }
        out.extend((directory.len() as u32).to_le_bytes());
        out.extend(at.to_le_bytes());
        out.extend([0, 0]);
        out
    }

    #[test]
    fn wanted_files_come_out_whole() {
        // The check value of CRC-32 (ISO 3309), of "123456789".
        assert_eq!(crc_32(b"123456789"), 0xcbf4_3926);
        let bytes = packed(&[("x/users.csv", b"a,b\n1,2\n"), ("other.txt", b"no")]);
        let found = read(&bytes, |name| name == "users.csv");
        assert_eq!(
            found,
            Ok(vec![("users.csv".to_owned(), b"a,b\n1,2\n".to_vec())])
        );
    }

    #[test]
    fn damage_is_an_error_and_never_a_panic() {
        let bytes = packed(&[("users.csv", b"a,b\n1,2\n3,4\n")]);
        let whole = read(&bytes, |_| true);
        for at in 0..bytes.len() {
            for bit in [1, 0x80] {
                let mut flipped = bytes.clone();
                flipped[at] ^= bit;
                let found = read(&flipped, |name| name == "users.csv");
                let content = |f: &[(String, Vec<u8>)]| f.first().map(|(_, c)| c.clone());
                let same = found.as_deref().map(content) == whole.as_deref().map(content);
                assert!(
                    found.is_err() || same || found == Ok(Vec::new()),
                    "byte {at}"
                );
            }
            let _ = read(&bytes[..at], |_| true);
        }
    }
}
