//! The CSV files of an exchange, out of the ZIP file they come in. What is handed
//! in may be damaged, or made to grow.
//!
//! Not here: what the files hold.

use std::io::{Cursor, Read as _};

use zip::ZipArchive;

use super::What;

/// Larger than any school's table; a file that grows beyond it was made to.
const MOST_BYTES: u64 = 32 * 1024 * 1024;
const MOST_ENTRIES: usize = 200;

/// PKWARE APPNOTE 6.3.10 §4.3.7: how the first entry begins.
pub(super) fn is_one(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04")
}

/// Every entry whose name is wanted, by its name without folders.
pub(super) fn read(
    bytes: &[u8],
    wanted: impl Fn(&str) -> bool,
) -> Result<Vec<(String, Vec<u8>)>, What> {
    read_all(bytes, wanted).ok_or(What::Zip)
}

fn read_all(bytes: &[u8], wanted: impl Fn(&str) -> bool) -> Option<Vec<(String, Vec<u8>)>> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).ok()?;
    if archive.len() > MOST_ENTRIES {
        return None;
    }
    let mut found = Vec::new();
    for number in 0..archive.len() {
        let entry = archive.by_index(number).ok()?;
        let name = entry.name().ok()?.into_owned();
        let short = name.rsplit(['/', '\\']).next().unwrap_or(&name).to_owned();
        if wanted(&short) {
            let mut content = Vec::new();
            // Its sum is compared at its end; one byte more is too many.
            entry.take(MOST_BYTES + 1).read_to_end(&mut content).ok()?;
            if content.len() as u64 > MOST_BYTES {
                return None;
            }
            found.push((short, content));
        }
    }
    Some(found)
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
        let found = read(&bytes, |name| name == "users.csv");
        assert_eq!(
            found,
            Ok(vec![("users.csv".to_owned(), b"a,b\n1,2\n".to_vec())])
        );
    }

    #[test]
    fn what_was_made_to_grow_is_refused() {
        let large = vec![b'a'; MOST_BYTES as usize + 1];
        let bytes = packed(&[("users.csv", &large)]);
        assert!(bytes.len() < 100_000);
        assert_eq!(read(&bytes, |_| true), Err(What::Zip));
        let many: Vec<String> = (0..=MOST_ENTRIES).map(|n| format!("{n}.csv")).collect();
        let many: Vec<(&str, &[u8])> = many.iter().map(|n| (n.as_str(), &b""[..])).collect();
        assert_eq!(read(&packed(&many), |_| true), Err(What::Zip));
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
