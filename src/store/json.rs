//! Small things that outlive the program, each a JSON file of its own in the
//! state directory, readable by the program alone.
//!
//! Not here: what they mean.

use std::io;
use std::path::{Path, PathBuf};

use serde::{Serialize, de::DeserializeOwned};

use super::atomic;

/// Reads one. Without a file it is what it is at first; with one that cannot be
/// read it is that too, the file is put aside and the warning says so.
#[must_use]
pub fn load<T: DeserializeOwned + Default>(state_dir: &Path, name: &str) -> (T, Option<String>) {
    let path = file(state_dir, name);
    let broken = match std::fs::read(&path) {
        Ok(bytes) => match serde_json::from_slice(&bytes) {
            Ok(value) => return (value, None),
            // Its words could quote what is in the file.
            Err(error) => format!("damaged at line {}", error.line()),
        },
        Err(error) if error.kind() == io::ErrorKind::NotFound => return (T::default(), None),
        Err(error) => error.to_string(),
    };
    let aside = file(state_dir, &format!("{name}.damaged"));
    let kept = match std::fs::rename(&path, &aside) {
        Ok(()) => format!("it is now {}", aside.display()),
        Err(error) => format!("it could not be put aside: {error}"),
    };
    let warning = format!("{}: {broken}; beginning anew, {kept}", path.display());
    (T::default(), Some(warning))
}

/// Writes one.
pub fn save<T: Serialize>(state_dir: &Path, name: &str, value: &T) -> io::Result<()> {
    let bytes = serde_json::to_vec_pretty(value).map_err(io::Error::other)?;
    atomic::write(&file(state_dir, name), &bytes)
}

fn file(state_dir: &Path, name: &str) -> PathBuf {
    state_dir.join(format!("{name}.json"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_saved_is_loaded_and_damage_is_put_aside() {
        let folder = tempfile::tempdir().unwrap();
        let load = || load::<Vec<u32>>(folder.path(), "numbers");
        assert_eq!(load(), (Vec::new(), None));
        save(folder.path(), "numbers", &vec![4, 7]).unwrap();
        assert_eq!(load(), (vec![4, 7], None));
        std::fs::write(folder.path().join("numbers.json"), b"[4, secret").unwrap();
        let (value, warning) = load();
        assert!(value.is_empty());
        let warning = warning.unwrap();
        assert!(
            warning.contains("damaged at line 1") && !warning.contains("secret"),
            "{warning}"
        );
        assert!(folder.path().join("numbers.damaged.json").exists());
        assert_eq!(load(), (Vec::new(), None));
    }
}
