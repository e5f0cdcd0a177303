//! A ZIP file, its entries as they are: pictures and films are packed already,
//! and any system opens it. After PKWARE's APPNOTE 6.3.10, §4.3: local headers,
//! the central directory, its end.
//!
//! Not here: what is in it, and secrets: neither of the two ways to lock such a
//! file is an open standard that the usual systems open.

/// Made by, and needed to read: 2.0, the least (§4.4.3).
const VERSION: u16 = 20;
/// Names are UTF-8 (§4.4.4, bit 11).
const FLAGS: u16 = 1 << 11;
/// 1980-01-01, the first day there is (§4.4.6): when something was taken stands
/// on the page, where somebody chose to write it.
const DATE: u16 = 1 << 5 | 1;

/// See the module.
#[derive(Default)]
pub struct Archive {
    bytes: Vec<u8>,
    directory: Vec<u8>,
    count: u16,
}

impl Archive {
    /// Adds a file. Its name is ours, and short.
    pub fn add(&mut self, name: &str, content: &[u8]) {
        let offset = self.bytes.len() as u32;
        let mut both = Vec::with_capacity(26);
        for part in [VERSION, FLAGS, 0, 0, DATE] {
            both.extend(part.to_le_bytes());
        }
        for part in [crc32(content), content.len() as u32, content.len() as u32] {
            both.extend(part.to_le_bytes());
        }
        both.extend((name.len() as u16).to_le_bytes());
        both.extend([0; 2]);
        self.bytes.extend(b"PK\x03\x04");
        self.bytes.extend(&both);
        self.bytes.extend(name.as_bytes());
        self.bytes.extend(content);
        self.directory.extend(b"PK\x01\x02");
        self.directory.extend(VERSION.to_le_bytes());
        self.directory.extend(&both);
        // No comment, the first disk, no attributes.
        self.directory.extend([0; 10]);
        self.directory.extend(offset.to_le_bytes());
        self.directory.extend(name.as_bytes());
        self.count += 1;
    }

    /// The file.
    #[must_use]
    pub fn finish(mut self) -> Vec<u8> {
        let offset = self.bytes.len() as u32;
        self.bytes.append(&mut self.directory);
        let size = self.bytes.len() as u32 - offset;
        self.bytes.extend(b"PK\x05\x06");
        self.bytes.extend([0; 4]);
        for count in [self.count, self.count] {
            self.bytes.extend(count.to_le_bytes());
        }
        self.bytes.extend(size.to_le_bytes());
        self.bytes.extend(offset.to_le_bytes());
        self.bytes.extend([0; 2]);
        self.bytes
    }
}

/// The sum of such files (§4.4.7), four bits at a time.
fn crc32(bytes: &[u8]) -> u32 {
    const TABLE: [u32; 16] = {
        let mut table = [0; 16];
        let mut n = 0;
        while n < 16 {
            let mut sum = n as u32;
            let mut bit = 0;
            while bit < 4 {
                sum = if sum & 1 == 1 {
                    0xedb8_8320 ^ (sum >> 1)
                } else {
                    sum >> 1
                };
                bit += 1;
            }
            table[n] = sum;
            n += 1;
        }
        table
    };
    !bytes.iter().fold(!0, |sum: u32, byte| {
        let sum = sum ^ u32::from(*byte);
        let sum = TABLE[(sum & 15) as usize] ^ (sum >> 4);
        TABLE[(sum & 15) as usize] ^ (sum >> 4)
    })
}

#[cfg(test)]
mod tests {
    use std::process::Command;

    use super::*;

    #[test]
    fn the_sum_is_the_published_one() {
        // The catalogue of parametrised CRC algorithms, CRC-32/ISO-HDLC: check.
        assert_eq!(crc32(b"123456789"), 0xcbf4_3926);
        assert_eq!(crc32(b""), 0);
    }

    #[test]
    fn another_program_finds_every_file_whole() {
        let mut archive = Archive::default();
        let film: Vec<u8> = (0..70_000_u32).map(|n| (n % 251) as u8).collect();
        archive.add("index.html", "<p>Año</p>".as_bytes());
        archive.add("clip-1.mp4", &film);
        archive.add("empty", b"");
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.zip");
        std::fs::write(&path, archive.finish()).unwrap();
        let unzip = |how: &[&str]| {
            let out = Command::new("unzip").args(how).arg(&path).output();
            let out = out.expect("unzip");
            assert!(
                out.status.success(),
                "{}",
                String::from_utf8_lossy(&out.stdout)
            );
        };
        unzip(&["-t"]);
        let there = folder.path().join("out");
        unzip(&["-d", there.to_str().unwrap()]);
        assert_eq!(std::fs::read(there.join("clip-1.mp4")).unwrap(), film);
        assert_eq!(
            std::fs::read(there.join("index.html")).unwrap(),
            "<p>Año</p>".as_bytes()
        );
        assert_eq!(std::fs::read(there.join("empty")).unwrap(), b"");
    }
}
