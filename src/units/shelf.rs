//! The folder with the unit files: what is in it, which version, and saving
//! without overwriting what somebody else wrote.
//!
//! A file is known by its name without `.toml`, a version by the hash of its
//! bytes. The files are the truth: each question looks at them, so a change
//! made with a text editor counts at once, and [`Shelf::changes`] tells whoever
//! waits for one.
//!
//! Not here: HTTP, and which unit a class uses.

use std::collections::{BTreeMap, VecDeque};
use std::io;
use std::path::{Path as FilePath, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use afterturn_core::plan::{Id, Unit};
use serde::Serialize;
use sha2::{Digest as _, Sha256};
use tokio::sync::watch;

use super::edit::{Edit, EditError, Path, apply, keep_last_id, last_id};
use super::file::parse;
use super::place::{Places, tree};
use crate::settings::diagnostic::{Report, Severity};
use crate::settings::read_file;
use crate::settings::sentence::Sentence;
use crate::store::atomic;

mod new;
mod pictures;

pub use new::BeginError;
pub use pictures::look_for_pictures;

/// What a unit file's name ends in.
const ENDING: &str = "toml";
/// Versions that are kept in memory for each file, to show both sides of a
/// clash and to go back. A unit is some twenty kilobytes.
const MOST_KEPT: usize = 16;

/// One version of a unit file.
#[derive(Debug)]
pub struct Copy {
    /// The file's name without its ending.
    pub name: String,
    /// The hash of its bytes.
    pub version: String,
    /// Its bytes as text.
    pub text: String,
    /// What it says; nothing where it holds mistakes.
    pub unit: Option<Unit>,
    /// What is wrong with it, or could be better.
    pub notes: Vec<Note>,
}

/// One mistake or warning, for a page.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Note {
    /// The file can be used all the same.
    pub warning: bool,
    /// Where, in the text: from 1.
    pub line: usize,
    /// From 1, in characters.
    pub column: usize,
    /// Where, in the document.
    pub at: Path,
    /// What is wrong.
    pub message: Sentence,
    /// What to do about it.
    pub fix: Sentence,
}

impl Copy {
    fn new(name: &str, bytes: &[u8]) -> Self {
        let text = String::from_utf8_lossy(bytes).into_owned();
        let (unit, report) = match parse(&format!("{name}.{ENDING}"), bytes) {
            Ok((unit, report)) => (Some(unit), report),
            Err(report) => (None, report),
        };
        let notes = notes(&report, &text);
        Self {
            name: name.to_owned(),
            version: version(bytes),
            text,
            unit,
            notes,
        }
    }

    /// The file's values as they are written.
    #[must_use]
    pub fn tree(&self) -> serde_json::Value {
        tree(&self.text)
    }
}

fn notes(report: &Report, text: &str) -> Vec<Note> {
    let places = Places::of(text);
    let note = |found: &crate::settings::diagnostic::Diagnostic| {
        let place = report.place(found);
        Note {
            warning: found.severity == Severity::Warning,
            line: place.line,
            column: place.column,
            at: places.at(found.span.start),
            message: found.message.clone(),
            fix: found.fix.clone(),
        }
    };
    report.diagnostics().iter().map(note).collect()
}

fn version(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    let mut text = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        let _ = write!(text, "{byte:02x}");
    }
    text
}

/// What is to be saved.
#[derive(Clone, Debug)]
pub enum Change {
    /// These changes.
    Edits(Vec<Edit>),
    /// An earlier version, as it was.
    Restore(String),
}

/// Why something is not saved. The file is then as it was.
#[derive(Debug, thiserror::Error)]
pub enum SaveError {
    /// There is no such file.
    #[error("there is no such unit")]
    NoSuch,
    /// Somebody else changed the file meanwhile.
    #[error("the file was changed meanwhile")]
    Stale {
        /// The file now.
        theirs: Arc<Copy>,
        /// What would have been saved, as far as the version it began from is
        /// still known.
        yours: Option<Box<Copy>>,
    },
    /// That version is no longer known.
    #[error("that version is no longer kept; it is forgotten when the program ends")]
    Forgotten,
    /// The changes cannot be made.
    #[error(transparent)]
    Edit(#[from] EditError),
    /// With the changes the file would hold mistakes.
    #[error("with these changes the unit could not be used")]
    Mistakes(Vec<Note>),
    /// The disk would not take it.
    #[error("it could not be written: {0}")]
    Write(io::Error),
}

/// What was saved.
#[derive(Debug)]
pub struct Saved {
    /// The file now.
    pub copy: Arc<Copy>,
    /// The ids that were given, in the order of the changes.
    pub ids: Vec<String>,
}

/// The versions of each file, the newest last.
type Held = BTreeMap<String, VecDeque<Arc<Copy>>>;

/// A version that is still known.
fn known(held: &Held, name: &str, version: &str) -> Option<Arc<Copy>> {
    let mut kept = held.get(name).into_iter().flatten();
    kept.find(|copy| copy.version == version).cloned()
}

/// A folder with unit files.
#[derive(Debug)]
pub struct Shelf {
    /// Nothing for a shelf in memory alone.
    folder: Option<PathBuf>,
    held: Mutex<Held>,
    pictures: Mutex<pictures::InMemory>,
    changed: watch::Sender<u64>,
}

impl Shelf {
    /// The files of a folder, which need not exist.
    #[must_use]
    pub fn new(folder: PathBuf) -> Self {
        Self {
            folder: Some(folder),
            ..Self::in_memory()
        }
    }

    /// None, and nowhere to keep any.
    #[must_use]
    pub fn in_memory() -> Self {
        Self {
            folder: None,
            held: Mutex::default(),
            pictures: Mutex::default(),
            changed: watch::Sender::new(0),
        }
    }

    /// The sample unit; what is changed in it is forgotten with the program.
    #[must_use]
    pub fn sample() -> Self {
        let shelf = Self::in_memory();
        let bytes = include_bytes!("../../config/units/larkfield-circuit.toml");
        shelf.keep(&mut shelf.held(), Copy::new("larkfield-circuit", bytes));
        shelf
    }

    /// Counts the changes that were noticed.
    #[must_use]
    pub fn changes(&self) -> watch::Receiver<u64> {
        self.changed.subscribe()
    }

    /// Every unit there is, by name. A file that cannot be read is not there.
    #[must_use]
    pub fn all(&self) -> Vec<Arc<Copy>> {
        let mut held = self.held();
        if let Some(folder) = &self.folder {
            let names = names(folder);
            held.retain(|name, _| names.contains(name));
            for name in names {
                held.entry(name).or_default();
            }
        }
        let names: Vec<String> = held.keys().cloned().collect();
        names
            .iter()
            .filter_map(|name| self.look(&mut held, name))
            .collect()
    }

    /// One unit as it is now.
    #[must_use]
    pub fn one(&self, name: &str) -> Option<Arc<Copy>> {
        // What is no id is no file of ours, whatever path it would make.
        name.parse::<Id>().ok()?;
        self.look(&mut self.held(), name)
    }

    /// Looks whether anything changed, for those who wait. Cheap enough for
    /// every second: files of the same bytes are not read as units again.
    pub fn poll(&self) {
        let _ = self.all();
    }

    /// Saves a change of a version. All of it or nothing.
    pub fn save(&self, name: &str, base: &str, change: &Change) -> Result<Saved, SaveError> {
        name.parse::<Id>().map_err(|_| SaveError::NoSuch)?;
        let mut held = self.held();
        let now = self.look(&mut held, name).ok_or(SaveError::NoSuch)?;
        let known = |version: &str| known(&held, name, version);
        if now.version != base {
            let yours = known(base).and_then(|base| changed(&base, change, &known).ok());
            return Err(SaveError::Stale {
                theirs: now,
                yours: yours.map(|(text, _)| Box::new(Copy::new(name, text.as_bytes()))),
            });
        }
        let (text, ids) = changed(&now, change, &known)?;
        let next = Copy::new(name, text.as_bytes());
        if next.unit.is_none() {
            return Err(SaveError::Mistakes(next.notes));
        }
        if let Some(file) = self.file(name) {
            atomic::replace(&file, text.as_bytes()).map_err(SaveError::Write)?;
        }
        let copy = self.keep(&mut held, next);
        Ok(Saved { copy, ids })
    }

    /// What a version would become with a change, saved nowhere: for a look at
    /// it and at what is wrong with it.
    pub fn trial(&self, name: &str, base: &str, change: &Change) -> Result<Copy, SaveError> {
        name.parse::<Id>().map_err(|_| SaveError::NoSuch)?;
        let mut held = self.held();
        let now = self.look(&mut held, name).ok_or(SaveError::NoSuch)?;
        let known = |version: &str| known(&held, name, version);
        let base = known(base).unwrap_or(now);
        let (text, _) = changed(&base, change, &known)?;
        Ok(Copy::new(name, text.as_bytes()))
    }

    /// The versions of a file that are still known, the oldest first.
    #[must_use]
    pub fn versions(&self, name: &str) -> Vec<String> {
        let held = self.held();
        let kept = held.get(name).into_iter().flatten();
        kept.map(|copy| copy.version.clone()).collect()
    }

    fn held(&self) -> std::sync::MutexGuard<'_, Held> {
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn file(&self, name: &str) -> Option<PathBuf> {
        let folder = self.folder.as_ref()?;
        Some(folder.join(format!("{name}.{ENDING}")))
    }

    fn look(&self, held: &mut Held, name: &str) -> Option<Arc<Copy>> {
        let last = held.get(name).and_then(VecDeque::back);
        let Some(file) = self.file(name) else {
            return last.cloned();
        };
        let bytes = read_file(&file).ok()?;
        if let Some(last) = last.filter(|last| last.version == version(&bytes)) {
            return Some(Arc::clone(last));
        }
        Some(self.keep(held, Copy::new(name, &bytes)))
    }

    fn keep(&self, held: &mut Held, copy: Copy) -> Arc<Copy> {
        let copy = Arc::new(copy);
        let kept = held.entry(copy.name.clone()).or_default();
        kept.retain(|old| old.version != copy.version);
        kept.push_back(Arc::clone(&copy));
        if kept.len() > MOST_KEPT {
            kept.pop_front();
        }
        self.changed.send_modify(|count| *count += 1);
        copy
    }
}

/// A version's text with a change made.
fn changed(
    base: &Copy,
    change: &Change,
    known: &dyn Fn(&str) -> Option<Arc<Copy>>,
) -> Result<(String, Vec<String>), SaveError> {
    match change {
        Change::Edits(edits) => Ok(apply(&base.text, edits)?),
        Change::Restore(version) => {
            let old = known(version).ok_or(SaveError::Forgotten)?;
            let text = with_counter_of(&old.text, &base.text);
            Ok((text, Vec::new()))
        }
    }
}

/// An old text, in which the editor goes on counting from a newer one: an id
/// that was given out since must not come again.
fn with_counter_of(old: &str, newer: &str) -> String {
    let (Ok(mut old_one), Ok(newer)) = (
        old.parse::<toml_edit::DocumentMut>(),
        newer.parse::<toml_edit::DocumentMut>(),
    ) else {
        return old.to_owned();
    };
    let last = last_id(&newer);
    if last > last_id(&old_one) {
        keep_last_id(&mut old_one, last);
    }
    old_one.to_string()
}

/// The names of the unit files in a folder, sorted.
fn names(folder: &FilePath) -> Vec<String> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let name = |entry: std::fs::DirEntry| {
        let path = entry.path();
        let name = path.file_stem()?.to_str()?.to_owned();
        let ours = path.extension()? == ENDING && name.parse::<Id>().is_ok();
        ours.then_some(name)
    };
    let mut names: Vec<String> = entries.filter_map(name).collect();
    names.sort();
    names
}
