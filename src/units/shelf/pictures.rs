//! The teacher's own pictures, in the folder `pictures` beside the unit files;
//! of a shelf in memory, in memory.
//!
//! Not here: what a picture has to be ([`super::super::picture`]).

use std::collections::BTreeMap;
use std::path::{Path as FilePath, PathBuf};
use std::sync::{Arc, PoisonError};

use super::{Copy, Note, Shelf, notes};
use crate::settings::diagnostic::{Report, Source};
use crate::store::folder;
use crate::units::picture::{Picture, PictureError, is_picture, made_anew, missing_pictures};

/// Beside the unit files.
const FOLDER: &str = "pictures";
/// A picture has a quarter of a megabyte at most, and a unit some fifty.
const MOST_PICTURES: usize = 1_000;
/// Where none can be kept but in memory.
const MOST_IN_MEMORY: usize = 40;

/// The pictures of a shelf in memory.
pub(super) type InMemory = BTreeMap<String, Arc<[u8]>>;

impl Shelf {
    /// Takes a picture in; returns its name. One at a time: each takes the
    /// memory of all its pixels.
    pub fn take_picture(&self, sent: &[u8]) -> Result<String, PictureError> {
        let mut in_memory = self.pictures.lock().unwrap_or_else(PoisonError::into_inner);
        let Picture { name, bytes } = made_anew(sent)?;
        match self.picture_folder() {
            Some(folder) => {
                if how_many(&folder) >= MOST_PICTURES {
                    return Err(PictureError::TooMany);
                }
                folder::keep(&folder, &name, &bytes).map_err(|error| {
                    tracing::error!(%error, "a picture for a unit could not be written");
                    PictureError::Write
                })?;
            }
            None if in_memory.len() >= MOST_IN_MEMORY => return Err(PictureError::TooMany),
            None => {
                in_memory.insert(name.clone(), bytes.into());
            }
        }
        Ok(name)
    }

    /// A picture's bytes; none where there is no such picture, and of what is
    /// no name of one.
    #[must_use]
    pub fn picture(&self, name: &str) -> Option<Arc<[u8]>> {
        if !is_picture(name) {
            return None;
        }
        let Some(folder) = self.picture_folder() else {
            let in_memory = self.pictures.lock().unwrap_or_else(PoisonError::into_inner);
            return in_memory.get(name).cloned();
        };
        std::fs::read(folder.join(name)).ok().map(Into::into)
    }

    /// The pictures that a unit asks for and that are not there, now.
    #[must_use]
    pub fn missing_pictures(&self, copy: &Copy) -> Vec<Note> {
        let there = |name: &str| match self.picture_folder() {
            Some(folder) => folder.join(name).is_file(),
            None => self.picture(name).is_some(),
        };
        let missing = missing_pictures(&copy.text, &there);
        let source = Source::without_secrets(copy.name.as_str(), copy.text.clone());
        notes(&Report::new(source, missing), &copy.text)
    }

    fn picture_folder(&self) -> Option<PathBuf> {
        Some(self.folder.as_ref()?.join(FOLDER))
    }
}

/// Adds to what was found in a unit file which of its pictures are not in the
/// folder beside it.
pub fn look_for_pictures(report: &mut Report, file: &FilePath, text: &str) {
    let folder = file.parent().unwrap_or(FilePath::new("")).join(FOLDER);
    for missing in missing_pictures(text, &|name| folder.join(name).is_file()) {
        report.add(missing);
    }
}

fn how_many(folder: &FilePath) -> usize {
    std::fs::read_dir(folder).map_or(0, Iterator::count)
}
