//! A new unit file: nearly empty, or a copy of one there is.
//!
//! Not here: what a unit has to hold.

use std::io;
use std::sync::Arc;

use afterturn_core::plan::{Id, Language};

use super::{Copy, ENDING, Shelf};
use crate::store::folder;
use crate::units::edit::{Edit, apply};

/// More files than a school has units.
const MOST_UNITS: usize = 200;

/// Why no new file is made.
#[derive(Debug, thiserror::Error)]
pub enum BeginError {
    /// A file is called by an id.
    #[error("a unit's name is 1 to 40 small letters, digits and dashes, beginning with a letter")]
    Name,
    /// There is such a file.
    #[error("there is a unit of this name already")]
    Taken,
    /// There is nothing to copy.
    #[error("there is no such unit to copy")]
    NoSuch,
    /// There are too many.
    #[error("there is no room for more units; remove some from the folder")]
    TooMany,
    /// The one to copy is not TOML.
    #[error("the unit to copy has to be mended in a text editor first")]
    Unreadable,
    /// The disk would not take it.
    #[error("it could not be written: {0}")]
    Write(io::Error),
}

impl Shelf {
    /// Makes a new file: a copy of another, comments and all, or one station to
    /// begin with, in one language.
    pub fn begin(
        &self,
        name: &str,
        copy_of: Option<&str>,
        language: Language,
    ) -> Result<Arc<Copy>, BeginError> {
        name.parse::<Id>().map_err(|_| BeginError::Name)?;
        let text = match copy_of {
            Some(other) => {
                let other = self.one(other).ok_or(BeginError::NoSuch)?;
                copied(&other, name)?
            }
            None => first_words(name, language),
        };
        let all = self.all();
        if all.len() >= MOST_UNITS {
            return Err(BeginError::TooMany);
        }
        let mut held = self.held();
        if self.look(&mut held, name).is_some() {
            return Err(BeginError::Taken);
        }
        if let Some(units) = &self.folder {
            let made = folder::begin(units, &format!("{name}.{ENDING}"), text.as_bytes());
            made.map_err(|error| match error.kind() {
                io::ErrorKind::AlreadyExists => BeginError::Taken,
                _ => BeginError::Write(error),
            })?;
        }
        Ok(self.keep(&mut held, Copy::new(name, text.as_bytes())))
    }
}

/// Another's text under a new id.
fn copied(other: &Copy, name: &str) -> Result<String, BeginError> {
    let id = Edit::Set {
        at: vec!["id".to_owned()],
        to: name.into(),
    };
    let made = apply(&other.text, &[id]);
    made.map(|(text, _)| text)
        .map_err(|_| BeginError::Unreadable)
}

/// The least a unit can be: a station with a choice, another way and a cue.
fn first_words(name: &str, language: Language) -> String {
    let text = match language {
        Language::En => include_str!("new-en.toml"),
        Language::Es => include_str!("new-es.toml"),
    };
    text.replace("NAME", name)
}
