//! The CSV files of an exchange, out of the ZIP file they come in. What is handed
//! in may be damaged, or made to grow.
//!
//! Not here: what the files hold.

use std::io::{Cursor, Read as _};

use bytes::Bytes;
use zip::ZipArchive;

use super::{What, budget::MOST_FILES};

/// PKWARE APPNOTE 6.3.10 §4.3.7: how the first entry begins.
pub(super) fn is_one(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04")
}

/// Every entry whose name is wanted, by its name without folders; together no
/// more than so many bytes.
pub(super) fn read(
    bytes: &[u8],
    wanted: impl Fn(&str) -> bool,
    most_bytes: usize,
) -> Result<Vec<(String, Bytes)>, What> {
    check_size(bytes)?;
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|_| What::Zip)?;
    let mut found = Vec::new();
    let mut left_bytes = most_bytes;
    for number in 0..archive.len() {
        let entry = archive.by_index(number).map_err(|_| What::Zip)?;
        let name = entry.name().map_err(|_| What::Zip)?.into_owned();
        let short = name.rsplit(['/', '\\']).next().unwrap_or(&name).to_owned();
        if wanted(&short) {
            let mut content = Vec::new();
            // Its sum is compared at its end; one byte more is too many.
            let unpacked = entry.take(left_bytes as u64 + 1).read_to_end(&mut content);
            if content.len() > left_bytes {
                return Err(What::ManyBytes);
            }
            unpacked.map_err(|_| What::Zip)?;
            left_bytes -= content.len();
            found.push((short, content.into()));
        }
    }
    Ok(found)
}

/// Looks how many files there can be before a list of them is made. Each has a
/// header in the directory (PKWARE APPNOTE 6.3.10 §4.3.12); where there are that
/// many of its marks there may be fewer, never more. A directory that says its
/// length in 64 bits (§4.3.15) is for more files and bytes than we take, and can
/// ask for room for any number of them.
fn check_size(bytes: &[u8]) -> Result<(), What> {
    let mut files = 0;
    for mark in bytes.windows(4) {
        match mark {
            b"PK\x01\x02" => files += 1,
            b"PK\x06\x07" => return Err(What::ManyFiles),
            _ => {}
        }
        if files > MOST_FILES {
            return Err(What::ManyFiles);
        }
    }
    Ok(())
}

#[cfg(test)]
pub(super) mod tests {
    use std::io::Write as _;

    use zip::{ZipWriter, write::SimpleFileOptions};

    use super::*;

    /// A ZIP file, as a packer writes one: deflated.
    pub(in super::super) fn packed(files: &[(&str, &[u8])]) -> Vec<u8> {
        let mut writer = ZipWriter::new(Cursor::default());
        for (name, content) in files {
            writer
                .start_file(name, SimpleFileOptions::default())
                .unwrap();
            writer.write_all(content).unwrap();
        }
        writer.finish().unwrap().into_inner()
    }

    #[test]
    fn wanted_files_come_out_whole() {
        let bytes = packed(&[("x/users.csv", b"a,b\n1,2\n"), ("other.txt", b"no")]);
        let found = read(&bytes, |name| name == "users.csv", 100);
        assert_eq!(
            found,
            Ok(vec![(
                "users.csv".to_owned(),
                Bytes::from_static(b"a,b\n1,2\n")
            )])
        );
    }

    #[test]
    fn what_was_made_to_grow_is_refused_at_the_byte_and_the_file_that_are_too_many() {
        let table = [b'a'; 4000];
        let two: [(&str, &[u8]); 2] = [("x/users.csv", &table), ("y/users.csv", &table)];
        let two = packed(&two);
        assert!(two.len() < 1000);
        let read_two = |most_bytes| read(&two, |_| true, most_bytes).map(|found| found.len());
        assert_eq!(read_two(8000), Ok(2));
        assert_eq!(read_two(7999), Err(What::ManyBytes), "all together count");
        let files = |count: usize| {
            let names: Vec<String> = (0..count).map(|n| format!("{n}.csv")).collect();
            let files: Vec<(&str, &[u8])> = names.iter().map(|n| (n.as_str(), &b""[..])).collect();
            read(&packed(&files), |_| true, 100).map(|found| found.len())
        };
        assert_eq!(files(MOST_FILES), Ok(MOST_FILES));
        assert_eq!(files(MOST_FILES + 1), Err(What::ManyFiles));
    }

    #[test]
    fn damage_is_an_error_and_never_a_panic() {
        let bytes = packed(&[("users.csv", b"a,b\n1,2\n3,4\n")]);
        let whole = read(&bytes, |_| true, 100);
        for at in 0..bytes.len() {
            for bit in [1, 0x80] {
                let mut flipped = bytes.clone();
                flipped[at] ^= bit;
                let found = read(&flipped, |name| name == "users.csv", 100);
                let content = |f: &[(String, Bytes)]| f.first().map(|(_, c)| c.clone());
                let same = found.as_deref().map(content) == whole.as_deref().map(content);
                assert!(
                    found.is_err() || same || found == Ok(Vec::new()),
                    "byte {at}"
                );
            }
            let _ = read(&bytes[..at], |_| true, 100);
        }
    }
}
