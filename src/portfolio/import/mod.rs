//! Lists of classes and children from files: a plain table, or the `OneRoster`
//! CSV exchange format (1EdTech `OneRoster` 1.1 CSV Tables, 1.2 CSV Binding).
//!
//! Reading gives a [`List`] or every [`Issue`] there is, each by file, line and
//! column and never by what stands there. [`plan`](Plan::new) says what a list
//! changes.
//!
//! Not here: writing any of it.

mod budget;
mod csv;
mod oneroster;
mod plain;
mod plan;
mod text;
mod zip;

use afterturn_core::kernel::{Day, Name, NameError};
use bytes::Bytes;

pub use plan::{Plan, Planned};

/// Something wrong with a file, by its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Issue {
    /// Which file of an exchange; empty where there is one only.
    pub file: &'static str,
    /// Counted from 1.
    pub line: u32,
    /// Counted from 1.
    pub column: Option<u32>,
    /// What that column is for.
    pub title: Option<&'static str>,
    /// What is wrong.
    pub what: What,
}

/// What is wrong with a place in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// There is no row.
    Empty,
    /// Its signs cannot be read.
    Encoding,
    /// It is a spreadsheet, not a table of text.
    Spreadsheet,
    /// The ZIP file is damaged, or packed in a way we do not read.
    Zip,
    /// A quotation mark is left open, or stands where none may.
    Quotes,
    /// The tables together are more than is read.
    ManyBytes,
    /// A ZIP file has more files than is looked through.
    ManyFiles,
    /// A table has more rows than is read.
    ManyRows,
    /// A row has more columns than is read.
    ManyColumns,
    /// A field has more signs than is read.
    LongField,
    /// There are more classes than are taken at once.
    ManyClasses,
    /// There are more children than are taken at once.
    ManyChildren,
    /// There is no class and no child in it.
    Nobody,
    /// No class is one of those asked for.
    NoneAskedFor,
    /// A file of the exchange is there twice.
    FileTwice,
    /// A column is missing.
    NoColumn,
    /// A column is there twice.
    ColumnTwice,
    /// A file of the exchange is missing.
    NoFile,
    /// A version of the exchange we do not read.
    Version,
    /// This has to be filled in.
    Missing,
    /// This is too long.
    Long,
    /// A sign in it cannot be shown.
    Sign,
    /// Not a group's number.
    Group,
    /// The same number as another child's.
    SameNumber,
    /// The same child as in another row.
    SameChild,
    /// The child is in two classes of the list.
    TwoClasses,
    /// It refers to something that no other file of the exchange has.
    Unknown,
}

impl What {
    /// The id of its sentence.
    #[must_use]
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::Empty => "import-empty",
            Self::Encoding => "import-encoding",
            Self::Spreadsheet => "import-spreadsheet",
            Self::Zip => "import-zip",
            Self::Quotes => "import-quotes",
            Self::ManyBytes => "import-many-bytes",
            Self::ManyFiles => "import-many-files",
            Self::ManyRows => "import-many-rows",
            Self::ManyColumns => "import-many-columns",
            Self::LongField => "import-long-field",
            Self::ManyClasses => "import-many-classes",
            Self::ManyChildren => "import-many-children",
            Self::Nobody => "import-nobody",
            Self::NoneAskedFor => "import-none-asked-for",
            Self::FileTwice => "import-file-twice",
            Self::NoColumn => "import-no-column",
            Self::ColumnTwice => "import-column-twice",
            Self::NoFile => "import-no-file",
            Self::Version => "import-version",
            Self::Missing => "import-missing",
            Self::Long => "import-long",
            Self::Sign => "import-sign",
            Self::Group => "import-group",
            Self::SameNumber => "import-same-number",
            Self::SameChild => "import-same-child",
            Self::TwoClasses => "import-two-classes",
            Self::Unknown => "import-unknown",
        }
    }

    /// The limit that its sentence names.
    #[must_use]
    pub const fn most(self) -> Option<usize> {
        match self {
            Self::ManyBytes => Some(budget::MOST_MIB),
            Self::ManyFiles => Some(budget::MOST_FILES),
            Self::ManyRows => Some(budget::MOST_ROWS),
            Self::ManyColumns => Some(budget::MOST_COLUMNS),
            Self::LongField => Some(budget::MOST_FIELD_SIGNS),
            Self::ManyClasses => Some(budget::MOST_CLASSES),
            Self::ManyChildren => Some(budget::MOST_CHILDREN),
            _ => None,
        }
    }
}

impl From<NameError> for What {
    fn from(error: NameError) -> Self {
        match error {
            NameError::Empty => Self::Missing,
            NameError::Long => Self::Long,
            NameError::Sign => Self::Sign,
        }
    }
}

/// A class as a file lists it.
pub struct ListedClass {
    /// Its title.
    pub title: Name,
    /// Its grade.
    pub grade: Option<Name>,
    /// What the school's own system calls it.
    pub number: Option<Name>,
}

/// A child as a file lists it.
pub struct ListedChild {
    /// Its class, by its place in the list.
    pub class: usize,
    /// What it is called.
    pub given: Name,
    /// Its family name.
    pub family: Option<Name>,
    /// What the school's own system calls it.
    pub number: Option<Name>,
    /// Its group.
    pub group: Option<u8>,
}

/// What a file lists.
#[derive(Default)]
pub struct List {
    /// The classes.
    pub classes: Vec<ListedClass>,
    /// The children.
    pub children: Vec<ListedChild>,
}

impl List {
    /// What there is more of than is taken at once.
    fn is_too_long(&self) -> Option<What> {
        if self.classes.len() > budget::MOST_CLASSES {
            Some(What::ManyClasses)
        } else if self.children.len() > budget::MOST_CHILDREN {
            Some(What::ManyChildren)
        } else {
            None
        }
    }
}

/// A file as it was handed in. Its name is looked at, and kept nowhere.
pub struct File {
    /// What it is called.
    pub name: String,
    /// What is in it, shared with whoever handed it in.
    pub bytes: Bytes,
}

/// The most issues told at once: whoever has a hundred has one, a hundred times.
const MOST_ISSUES: usize = 100;

/// An issue of a file as a whole.
const fn whole(file: &'static str, what: What) -> Issue {
    Issue {
        file,
        line: 1,
        column: None,
        title: None,
        what,
    }
}

/// Reads what was handed in. `only` picks classes: those whose title has this
/// in it; a district's exchange lists every lesson of every child.
pub fn read(files: Vec<File>, only: &str, today: Day) -> Result<List, Vec<Issue>> {
    let parts = unpacked(files).map_err(|what| vec![whole("", what)])?;
    let exchange = parts
        .iter()
        .any(|(name, _)| oneroster::file(name).is_some());
    let list = if exchange {
        oneroster::read(&parts, only, today)
    } else {
        let bytes = parts.into_iter().next().map(|(_, bytes)| bytes);
        plain::read(&bytes.unwrap_or_default(), only)
    };
    let list = list.map_err(|mut issues| {
        issues.truncate(MOST_ISSUES);
        issues
    })?;
    if !list.classes.is_empty() {
        Ok(list)
    } else if only.trim().is_empty() {
        Err(vec![whole("", What::Nobody)])
    } else {
        Err(vec![whole("", What::NoneAskedFor)])
    }
}

/// The tables among the files, out of their ZIP files.
fn unpacked(files: Vec<File>) -> Result<Vec<(String, Bytes)>, What> {
    let mut parts: Vec<(String, Bytes)> = Vec::new();
    let mut left_bytes = budget::MOST_BYTES;
    for file in files {
        let found = if zip::is_one(&file.bytes) {
            zip::read(
                &file.bytes,
                |name| oneroster::file(name).is_some(),
                left_bytes,
            )?
        } else {
            vec![(file.name, file.bytes)]
        };
        if found.is_empty() {
            // A spreadsheet is a ZIP file too.
            return Err(What::Spreadsheet);
        }
        for (_, bytes) in &found {
            left_bytes = left_bytes.checked_sub(bytes.len()).ok_or(What::ManyBytes)?;
        }
        parts.extend(found);
    }
    Ok(parts)
}

/// Reads a name where one may be missing.
fn optional(text: &str) -> Result<Option<Name>, What> {
    match Name::new(text) {
        Ok(name) => Ok(Some(name)),
        Err(NameError::Empty) => Ok(None),
        Err(other) => Err(other.into()),
    }
}

/// Whether a class is one of those asked for.
fn is_asked_for(title: &Name, only: &str) -> bool {
    let only = only.trim().to_lowercase();
    only.is_empty() || contains(title.folded().for_seal(), only.as_bytes())
}

fn contains(text: &[u8], part: &[u8]) -> bool {
    text.windows(part.len()).any(|window| window == part)
}

#[cfg(test)]
mod tests;
