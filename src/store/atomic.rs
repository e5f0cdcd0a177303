//! Replaces a small file so that after a power cut there is the old one or the
//! new one, never half of either.
//!
//! Not here: what is in the file, and large files.

use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write as _};
use std::os::unix::fs::{OpenOptionsExt as _, PermissionsExt as _};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

/// Only the program itself reads what it keeps.
const OWNER_ONLY: u32 = 0o600;

/// Two writers of one file in one process must not share a temporary.
static COUNTER: AtomicU32 = AtomicU32::new(0);

/// Writes `bytes` to `path`, replacing what was there. The directory must
/// exist.
pub fn write(path: &Path, bytes: &[u8]) -> io::Result<()> {
    write_as(path, bytes, OWNER_ONLY)
}

/// The same for a file that people read and change too: whoever could, still
/// can.
pub fn replace(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mode = fs::metadata(path)?.permissions().mode() & 0o777;
    write_as(path, bytes, mode)
}

pub(super) fn write_as(path: &Path, bytes: &[u8], mode: u32) -> io::Result<()> {
    let (directory, temporary) = temporary_beside(path)?;
    let written = write_new(&temporary, bytes, mode).and_then(|()| fs::rename(&temporary, path));
    if let Err(error) = written {
        // The old file is untouched; a left-over is only untidy.
        let _ = fs::remove_file(&temporary);
        return Err(error);
    }
    // The rename itself lives in the directory and is synced with it.
    File::open(directory)?.sync_all()
}

/// The same for a file that must not be there yet. Written beside its place and
/// linked there, so that it is whole or not there at all.
pub(super) fn create(path: &Path, bytes: &[u8], mode: u32) -> io::Result<()> {
    let (directory, temporary) = temporary_beside(path)?;
    let linked = write_new(&temporary, bytes, mode).and_then(|()| fs::hard_link(&temporary, path));
    let _ = fs::remove_file(&temporary);
    linked?;
    File::open(directory)?.sync_all()
}

fn temporary_beside(path: &Path) -> io::Result<(&Path, PathBuf)> {
    let no_name = || io::Error::new(io::ErrorKind::InvalidInput, "the path names no file");
    let name = path.file_name().ok_or_else(no_name)?;
    let directory = match path.parent() {
        Some(parent) if parent.as_os_str().is_empty() => Path::new("."),
        Some(parent) => parent,
        None => return Err(no_name()),
    };
    let mut hidden = OsString::from(".");
    hidden.push(name);
    let count = COUNTER.fetch_add(1, Ordering::Relaxed);
    hidden.push(format!(".{}-{count}.tmp", std::process::id()));
    Ok((directory, directory.join(hidden)))
}

fn write_new(path: &Path, bytes: &[u8], mode: u32) -> io::Result<()> {
    // A left-over of this name can only be from a process that is gone.
    let mut options = OpenOptions::new();
    options
        .write(true)
        .create(true)
        .truncate(true)
        .mode(OWNER_ONLY);
    let mut file = options.open(path)?;
    // After opening: what a new file may be is narrowed by the process's mask.
    file.set_permissions(fs::Permissions::from_mode(mode))?;
    file.write_all(bytes)?;
    file.sync_all()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(directory: &Path) -> Vec<String> {
        let entries = fs::read_dir(directory).expect("the directory is there");
        entries
            .map(|entry| {
                entry
                    .expect("an entry")
                    .file_name()
                    .to_string_lossy()
                    .into_owned()
            })
            .collect()
    }

    #[test]
    fn a_file_is_replaced_whole_and_nothing_is_left_beside_it() {
        let dir = tempfile::tempdir().expect("a temporary directory");
        let path = dir.path().join("mark");
        write(&path, b"a longer first version").expect("written");
        write(&path, b"second").expect("written");
        assert_eq!(fs::read(&path).expect("readable"), b"second");
        assert_eq!(names(dir.path()), ["mark"]);
        let mode = fs::metadata(&path).expect("there").permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
    }

    #[test]
    fn a_file_of_people_stays_readable_to_them() {
        let dir = tempfile::tempdir().expect("a temporary directory");
        let path = dir.path().join("unit.toml");
        fs::write(&path, b"old").expect("written");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o664)).expect("set");
        replace(&path, b"new").expect("replaced");
        assert_eq!(fs::read(&path).expect("readable"), b"new");
        let mode = fs::metadata(&path).expect("there").permissions().mode();
        assert_eq!(mode & 0o777, 0o664);
        assert!(replace(&dir.path().join("none"), b"x").is_err());
    }

    #[test]
    fn a_failure_leaves_the_old_file_and_no_temporary() {
        let dir = tempfile::tempdir().expect("a temporary directory");
        // A directory cannot be replaced by a file: the rename fails.
        let path = dir.path().join("taken");
        fs::create_dir(&path).expect("created");
        assert!(write(&path, b"x").is_err());
        assert_eq!(names(dir.path()), ["taken"]);
        assert!(write(&dir.path().join("no/such"), b"x").is_err());
        assert!(write(Path::new("/"), b"x").is_err());
    }
}
