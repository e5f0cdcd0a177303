//! Small texts that are secret and outlive the program: keys of certificates.
//! Each is a file of its own in the state directory, readable by the program
//! alone, replaced as a whole.
//!
//! Not here: what is in them.

use std::{
    fs::{self, File},
    io::{self, Read as _},
    path::{Path, PathBuf},
};

use super::atomic;

/// A chain with its key is a few kilobytes.
const MOST_BYTES: u64 = 64 * 1024;

/// Reads a text; none if there is no such file.
pub fn load(state_dir: &Path, name: &str) -> io::Result<Option<String>> {
    let file = match File::open(file(state_dir, name)) {
        Ok(file) => file,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error),
    };
    let mut bytes = Vec::new();
    file.take(MOST_BYTES).read_to_end(&mut bytes)?;
    // Whoever reads the text finds out that it is not one of ours.
    Ok(Some(String::from_utf8_lossy(&bytes).into_owned()))
}

/// Keeps a text.
pub fn save(state_dir: &Path, name: &str, text: &str) -> io::Result<()> {
    atomic::write(&file(state_dir, name), text.as_bytes())
}

/// Gives a text that is of no use another name, so that whoever knows better can
/// put it back; says which.
pub fn put_aside(state_dir: &Path, name: &str) -> io::Result<String> {
    let mut number = 1;
    let aside = loop {
        let aside = format!("{name}.aside-{number}");
        match fs::symlink_metadata(file(state_dir, &aside)) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => break aside,
            Err(error) => return Err(error),
            Ok(_) => number += 1,
        }
    };
    fs::rename(file(state_dir, name), file(state_dir, &aside))?;
    Ok(aside)
}

fn file(state_dir: &Path, name: &str) -> PathBuf {
    state_dir.join(name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::os::unix::fs::PermissionsExt as _;

    #[test]
    fn a_secret_comes_back_and_is_nobody_elses_to_read() {
        let dir = tempfile::tempdir().unwrap();
        assert_eq!(load(dir.path(), "leaf.pem").unwrap(), None);
        // Left there by an older hand, open to all: its successor is not.
        let path = file(dir.path(), "leaf.pem");
        std::fs::write(&path, "old").unwrap();
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o644)).unwrap();
        save(dir.path(), "leaf.pem", "new").unwrap();
        assert_eq!(load(dir.path(), "leaf.pem").unwrap().unwrap(), "new");
        let mode = std::fs::metadata(&path).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
    }

    #[test]
    fn what_cannot_be_read_is_an_error_and_not_nothing() {
        let dir = tempfile::tempdir().unwrap();
        std::fs::create_dir(file(dir.path(), "leaf.pem")).unwrap();
        assert!(load(dir.path(), "leaf.pem").is_err());
        assert!(save(&dir.path().join("none"), "leaf.pem", "x").is_err());
    }
}
