//! A folder of small files beside those that people write: made when the first
//! is kept, each file replaced as a whole.
//!
//! Not here: what is in them, and how many there may be.

use std::{fs, io, path::Path};

use super::atomic;

/// Files that people may copy from one box to another.
const FOR_ALL_TO_READ: u32 = 0o644;

/// Keeps a file under a name in a folder, which is made if it is not there. A
/// file of this name is replaced.
pub fn keep(folder: &Path, name: &str, bytes: &[u8]) -> io::Result<()> {
    make(folder)?;
    atomic::write_as(&folder.join(name), bytes, FOR_ALL_TO_READ)
}

/// Makes a file that is not there yet, and the folder too; one that is stays as it
/// was, and is an error.
pub fn begin(folder: &Path, name: &str, bytes: &[u8]) -> io::Result<()> {
    make(folder)?;
    atomic::create(&folder.join(name), bytes, FOR_ALL_TO_READ)
}

/// Makes a folder if it is not there; what is above it has to be.
pub fn make(folder: &Path) -> io::Result<()> {
    match fs::create_dir(folder) {
        Err(error) if error.kind() != io::ErrorKind::AlreadyExists => Err(error),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_is_made_and_a_file_kept_whole() {
        let dir = tempfile::tempdir().expect("a temporary directory");
        let folder = dir.path().join("pictures");
        keep(&folder, "a.png", b"one").expect("kept");
        keep(&folder, "a.png", b"two").expect("kept");
        assert_eq!(fs::read(folder.join("a.png")).expect("there"), b"two");
        assert_eq!(fs::read_dir(&folder).expect("there").count(), 1);
        assert!(keep(&dir.path().join("no/such"), "a.png", b"x").is_err());
    }

    #[test]
    fn what_is_begun_overwrites_nothing() {
        let dir = tempfile::tempdir().expect("a temporary directory");
        let path = dir.path().join("new.toml");
        begin(dir.path(), "new.toml", b"first").expect("made");
        let again = begin(dir.path(), "new.toml", b"second").expect_err("it is there");
        assert_eq!(again.kind(), io::ErrorKind::AlreadyExists);
        assert_eq!(fs::read(&path).expect("there"), b"first");
        assert_eq!(
            fs::read_dir(dir.path()).expect("there").count(),
            1,
            "nothing is left beside it"
        );
    }
}
