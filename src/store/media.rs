//! The files of what is kept: one each, named by its bare id, sealed before it
//! gets here. A file is there whole or not at all.
//!
//! Not here: keys, and which files there should be.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs::{self, DirBuilder, File},
    io,
    os::unix::fs::DirBuilderExt as _,
    path::{Path, PathBuf},
    sync::{Mutex, MutexGuard, PoisonError},
};

use afterturn_core::kernel::ItemId;

use super::atomic;

/// The folder in the state directory.
const FOLDER: &str = "kept";
/// What a file's name ends with: nothing plays it.
const END: &str = ".sealed";

/// Only the program itself reads what it keeps.
const FILE_MODE: u32 = 0o600;
const FOLDER_MODE: u32 = 0o700;

/// See the module.
#[derive(Debug)]
pub struct Media(Place);

enum Place {
    Folder(PathBuf),
    Memory(Mutex<BTreeMap<ItemId, Vec<u8>>>),
}

impl std::fmt::Debug for Place {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Folder(folder) => f.debug_tuple("Folder").field(folder).finish(),
            Self::Memory(_) => f.write_str("Memory"),
        }
    }
}

impl Media {
    /// Those in a state directory. Their folder is made with the first.
    #[must_use]
    pub fn in_dir(state_dir: &Path) -> Self {
        Self(Place::Folder(state_dir.join(FOLDER)))
    }

    /// Files that are gone with the program.
    #[must_use]
    pub fn in_memory() -> Self {
        Self(Place::Memory(Mutex::default()))
    }

    /// Keeps a file that is not there yet; it is on the disk when this returns.
    pub fn keep(&self, id: ItemId, sealed: &[u8]) -> io::Result<()> {
        match &self.0 {
            Place::Folder(folder) => {
                make(folder)?;
                atomic::create(&file(folder, id), sealed, FILE_MODE)
            }
            Place::Memory(files) => {
                held(files).insert(id, sealed.to_vec());
                Ok(())
            }
        }
    }

    /// A file; none if it is not there.
    pub fn read(&self, id: ItemId) -> io::Result<Option<Vec<u8>>> {
        match &self.0 {
            Place::Folder(folder) => match fs::read(file(folder, id)) {
                Ok(bytes) => Ok(Some(bytes)),
                Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
                Err(error) => Err(error),
            },
            Place::Memory(files) => Ok(held(files).get(&id).cloned()),
        }
    }

    /// How long a file is; none if it is not there.
    #[must_use]
    pub fn bytes(&self, id: ItemId) -> Option<u64> {
        match &self.0 {
            Place::Folder(folder) => {
                let there = fs::metadata(file(folder, id)).ok()?;
                Some(there.len())
            }
            Place::Memory(files) => held(files).get(&id).map(|bytes| bytes.len() as u64),
        }
    }

    /// Removes a file, if it is there.
    pub fn erase(&self, id: ItemId) -> io::Result<()> {
        match &self.0 {
            Place::Folder(folder) => match fs::remove_file(file(folder, id)) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
                _ => Ok(()),
            },
            Place::Memory(files) => {
                held(files).remove(&id);
                Ok(())
            }
        }
    }

    /// Removes whatever is not one of these: files of what is kept no longer, and
    /// what a power cut left half done. Says how many it were.
    pub fn sweep(&self, stay: &BTreeSet<ItemId>) -> io::Result<usize> {
        match &self.0 {
            Place::Folder(folder) => sweep(folder, stay),
            Place::Memory(files) => {
                let mut files = held(files);
                let before = files.len();
                files.retain(|id, _| stay.contains(id));
                Ok(before - files.len())
            }
        }
    }
}

fn sweep(folder: &Path, stay: &BTreeSet<ItemId>) -> io::Result<usize> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(0),
        Err(error) => return Err(error),
    };
    let mut swept = 0;
    for entry in entries {
        let entry = entry?;
        let name = entry.file_name();
        let id = name.to_str().and_then(|name| name.strip_suffix(END));
        let id: Option<ItemId> = id.and_then(|id| id.parse().ok());
        // A folder was put there by somebody else.
        if id.is_some_and(|id| stay.contains(&id)) || entry.file_type()?.is_dir() {
            continue;
        }
        fs::remove_file(entry.path())?;
        swept += 1;
    }
    if swept > 0 {
        File::open(folder)?.sync_all()?;
    }
    Ok(swept)
}

fn make(folder: &Path) -> io::Result<()> {
    match DirBuilder::new().mode(FOLDER_MODE).create(folder) {
        Err(error) if error.kind() != io::ErrorKind::AlreadyExists => Err(error),
        Err(_) => Ok(()),
        // The folder itself lives in the one above.
        Ok(()) => match folder.parent() {
            Some(above) => File::open(above)?.sync_all(),
            None => Ok(()),
        },
    }
}

fn file(folder: &Path, id: ItemId) -> PathBuf {
    folder.join(format!("{id}{END}"))
}

fn held(files: &Mutex<BTreeMap<ItemId, Vec<u8>>>) -> MutexGuard<'_, BTreeMap<ItemId, Vec<u8>>> {
    files.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use std::os::unix::fs::PermissionsExt as _;

    use super::*;

    fn id(n: i64) -> ItemId {
        ItemId::from_kept(n)
    }

    #[test]
    fn a_file_is_kept_under_its_id_and_nobody_else_reads_it() {
        let dir = tempfile::tempdir().unwrap();
        for media in [Media::in_dir(dir.path()), Media::in_memory()] {
            media.keep(id(7), b"sealed").unwrap();
            assert_eq!(media.read(id(7)).unwrap().as_deref(), Some(&b"sealed"[..]));
            assert_eq!((media.bytes(id(7)), media.bytes(id(8))), (Some(6), None));
            assert_eq!(media.read(id(8)).unwrap(), None);
            media.erase(id(8)).unwrap();
        }
        let folder = dir.path().join(FOLDER);
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode(&folder), 0o700);
        assert_eq!(mode(&file(&folder, id(7))), 0o600);
        let again = Media::in_dir(dir.path()).keep(id(7), b"other");
        assert!(again.is_err(), "an id is never used twice");
    }

    #[test]
    fn what_belongs_to_nothing_is_swept_away() {
        let dir = tempfile::tempdir().unwrap();
        let media = Media::in_dir(dir.path());
        assert_eq!(media.sweep(&BTreeSet::new()).unwrap(), 0, "no folder yet");
        for n in 1..=3 {
            media.keep(id(n), b"sealed").unwrap();
        }
        // What a power cut leaves of a file that was being written.
        let half = dir.path().join(FOLDER).join(".0000.sealed.1-1.tmp");
        fs::write(&half, b"sea").unwrap();
        assert_eq!(media.sweep(&BTreeSet::from([id(2)])).unwrap(), 3);
        assert!(media.read(id(2)).unwrap().is_some() && !half.exists());
        assert_eq!(media.read(id(1)).unwrap(), None);
    }
}
