//! A ZIP file, its entries as they are: pictures and films are packed already, and
//! any system opens it. With a passphrase its entries are sealed with AES-256
//! (AE-2, which many programs know and few systems by themselves).
//!
//! Not here: what is in it.

use std::io::{Cursor, Write as _};

use zip::{
    AesMode, CompressionMethod, DateTime, ZipWriter, result::ZipError, write::SimpleFileOptions,
};

/// The least there is of a passphrase for a file that somebody may find.
pub const LEAST_PASSPHRASE: usize = 8;

/// See the module.
pub struct Archive<'p> {
    writer: ZipWriter<Cursor<Vec<u8>>>,
    passphrase: Option<&'p str>,
}

impl<'p> Archive<'p> {
    /// An empty one; with a passphrase, locked.
    #[must_use]
    pub fn new(passphrase: Option<&'p str>) -> Self {
        Self {
            writer: ZipWriter::new(Cursor::default()),
            passphrase,
        }
    }

    /// Adds a file. Its name is ours: where a file is locked, names are not.
    pub fn add(&mut self, name: &str, content: &[u8]) -> Result<(), ZipError> {
        // 1980-01-01, the first day there is (§4.4.6): when something was taken
        // stands on the page, where somebody chose to write it.
        let plain = SimpleFileOptions::default()
            .compression_method(CompressionMethod::Stored)
            .last_modified_time(DateTime::default());
        match self.passphrase {
            Some(passphrase) => {
                let locked = plain.with_aes_encryption(AesMode::Aes256, passphrase);
                self.writer.start_file(name, locked)?;
            }
            None => self.writer.start_file(name, plain)?,
        }
        Ok(self.writer.write_all(content)?)
    }

    /// The file.
    pub fn finish(self) -> Result<Vec<u8>, ZipError> {
        Ok(self.writer.finish()?.into_inner())
    }
}

#[cfg(test)]
mod tests {
    use std::{
        path::Path,
        process::{Command, Output},
    };

    use super::*;

    fn film() -> Vec<u8> {
        (0..70_000_u32).map(|n| (n % 251) as u8).collect()
    }

    fn made(passphrase: Option<&str>) -> Vec<u8> {
        let mut archive = Archive::new(passphrase);
        let page = "<p>Año</p>".as_bytes();
        for (name, content) in [
            ("index.html", page),
            ("clip-1.mp4", &film()),
            ("empty", b""),
        ] {
            archive.add(name, content).unwrap();
        }
        archive.finish().unwrap()
    }

    fn said(program: &str, arguments: &[&str]) -> Output {
        let out = Command::new(program).args(arguments).output();
        out.unwrap_or_else(|error| panic!("{program}: {error}"))
    }

    fn assert_whole(folder: &Path) {
        let read = |name| std::fs::read(folder.join(name)).unwrap();
        assert_eq!(read("clip-1.mp4"), film());
        assert_eq!(read("index.html"), "<p>Año</p>".as_bytes());
        assert_eq!(read("empty"), b"");
    }

    #[test]
    fn another_program_finds_every_file_whole() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.zip");
        std::fs::write(&path, made(None)).unwrap();
        let (path, there) = (path.to_str().unwrap(), folder.path().join("out"));
        assert!(said("unzip", &["-t", path]).status.success());
        let out = said("unzip", &["-d", there.to_str().unwrap(), path]);
        assert!(out.status.success());
        assert_whole(&there);
    }

    #[test]
    fn another_program_opens_what_is_locked_and_with_its_passphrase_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.zip");
        let file = made(Some("wide mat, low beam"));
        let clip = film();
        assert!(!file.windows(8).any(|part| part == &clip[..8]));
        std::fs::write(&path, file).unwrap();
        let (path, there) = (path.to_str().unwrap(), folder.path().join("out"));
        std::fs::create_dir(&there).unwrap();
        let open = |passphrase: &str| {
            let place = there.to_str().unwrap();
            said(
                "bsdtar",
                &["-x", "--passphrase", passphrase, "-f", path, "-C", place],
            )
        };
        assert!(!open("wide mat, high beam").status.success());
        let out = open("wide mat, low beam");
        let error = String::from_utf8_lossy(&out.stderr);
        assert!(out.status.success(), "{error}");
        assert_whole(&there);
    }
}
