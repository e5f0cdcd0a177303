//! What was erased or refused on this box, by its bare id: a file that only
//! grows, beside the vault and in no backup, so that nothing erased comes back
//! with one. Its first line names the box.
//!
//! Not here: names, dates, or what anything was, but for what a no was about.

use std::fs::{File, OpenOptions};
use std::io::{self, Write as _};
use std::os::unix::fs::OpenOptionsExt as _;
use std::path::{Path, PathBuf};

use afterturn_core::{
    consent::Kind,
    kernel::{ChildId, ClassId, ItemId, RecordId},
};
use sha2::{Digest as _, Sha256};

use super::vault::words::kind as kind_word;

/// Something that must not come back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Entry {
    /// A child that was erased.
    Child(ChildId),
    /// A class that was erased.
    Class(ClassId),
    /// Something kept that was erased.
    Item(ItemId),
    /// An answer that was followed by another.
    Over(RecordId),
    /// A family said no: every yes from before is over, also one that was in no
    /// copy at hand when it said so.
    No {
        /// Of which child.
        child: ChildId,
        /// To what.
        kind: Kind,
        /// Its place in the order of recording.
        order: i64,
    },
    /// A family said no to being seen: a copy from before must not show it, even
    /// where families that have not answered are shown.
    Unseen(ChildId),
    /// It said yes after all.
    Seen(ChildId),
    /// A vault was made on this box: one that is empty has lost what it held.
    Made,
}

/// See the module.
#[derive(Debug)]
pub struct Ledger {
    path: PathBuf,
    box_id: String,
    entries: Vec<Entry>,
    damaged: bool,
}

const FILE_NAME: &str = "erased";
/// Marks a line that a crash cut short.
const CUT: &str = " cut";
const OWNER_ONLY: u32 = 0o600;

impl Ledger {
    /// Reads it, or begins one for a box with this id.
    pub fn open(state_dir: &Path, new_box_id: &str) -> io::Result<Self> {
        let path = state_dir.join(FILE_NAME);
        let text = match std::fs::read(&path) {
            Ok(bytes) => String::from_utf8_lossy(&bytes).into_owned(),
            Err(error) if error.kind() == io::ErrorKind::NotFound => String::new(),
            Err(error) => return Err(error),
        };
        // A power cut may have left a last line unfinished; what it was about
        // had not been done.
        let whole = text.rfind('\n').map_or("", |end| &text[..end]);
        let lines = whole.split_terminator('\n').filter(|l| !l.ends_with(CUT));
        let lines: Vec<Option<Line>> = lines.map(Line::read).collect();
        let damaged = lines.iter().any(Option::is_none);
        let mut ledger = Self {
            path,
            box_id: String::new(),
            entries: Vec::new(),
            damaged,
        };
        for line in lines.into_iter().flatten() {
            match line {
                Line::Box(id) => ledger.box_id = id,
                Line::Entry(entry) => ledger.entries.push(entry),
            }
        }
        if ledger.box_id.is_empty() {
            new_box_id.clone_into(&mut ledger.box_id);
            let line = Line::Box(new_box_id.to_owned()).written();
            ledger.write(&line, text.is_empty() || text.ends_with('\n'))?;
            File::open(state_dir)?.sync_all()?;
        } else if !text.ends_with('\n') {
            ledger.write("", false)?;
        }
        Ok(ledger)
    }

    /// One that is gone with the program.
    #[must_use]
    pub fn in_memory(box_id: &str) -> Self {
        Self {
            path: PathBuf::new(),
            box_id: box_id.to_owned(),
            entries: Vec::new(),
            damaged: false,
        }
    }

    /// One whose file cannot be read: nothing is written to it, and nothing may
    /// be restored beside it.
    #[must_use]
    pub fn unreadable(box_id: &str) -> Self {
        Self {
            damaged: true,
            ..Self::in_memory(box_id)
        }
    }

    /// Which box this is.
    #[must_use]
    pub fn box_id(&self) -> &str {
        &self.box_id
    }

    /// Everything that must not come back.
    #[must_use]
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// A line cannot be read, so something may be missing here.
    #[must_use]
    pub const fn is_damaged(&self) -> bool {
        self.damaged
    }

    /// Adds entries; they are on the disk when this returns. Done before the
    /// thing itself: a crash between the two erases it at the next start.
    pub fn add(&mut self, entries: &[Entry]) -> io::Result<()> {
        if entries.is_empty() {
            return Ok(());
        }
        let lines: String = entries.iter().map(|e| Line::Entry(*e).written()).collect();
        self.write(&lines, true)?;
        self.entries.extend_from_slice(entries);
        Ok(())
    }

    fn write(&self, lines: &str, at_line_start: bool) -> io::Result<()> {
        if self.path.as_os_str().is_empty() {
            return Ok(());
        }
        let mut file = OpenOptions::new()
            .append(true)
            .create(true)
            .mode(OWNER_ONLY)
            .open(&self.path)?;
        // An unfinished line is closed, and passed over from then on.
        let text = if at_line_start {
            lines.to_owned()
        } else {
            format!("{CUT}\n{lines}")
        };
        file.write_all(text.as_bytes())?;
        file.sync_all()
    }
}

enum Line {
    Box(String),
    Entry(Entry),
}

impl Line {
    fn written(&self) -> String {
        let what = match self {
            Self::Box(id) => format!("box {id}"),
            Self::Entry(Entry::Child(id)) => format!("child {id}"),
            Self::Entry(Entry::Class(id)) => format!("class {id}"),
            Self::Entry(Entry::Item(id)) => format!("item {id}"),
            Self::Entry(Entry::Over(id)) => format!("over {id}"),
            Self::Entry(Entry::No { child, kind, order }) => {
                format!("no {child} {} {order}", kind_word(*kind))
            }
            Self::Entry(Entry::Unseen(id)) => format!("unseen {id}"),
            Self::Entry(Entry::Seen(id)) => format!("seen {id}"),
            Self::Entry(Entry::Made) => "vault made".to_owned(),
        };
        let sum = sum(&what);
        format!("{what} {sum}\n")
    }

    /// None: not as it was written.
    fn read(line: &str) -> Option<Self> {
        let (what, kept) = line.rsplit_once(' ')?;
        if sum(what) != kept {
            return None;
        }
        let (word, id) = what.split_once(' ')?;
        Some(match word {
            "box" => Self::Box(id.to_owned()),
            "child" => Self::Entry(Entry::Child(id.parse().ok()?)),
            "class" => Self::Entry(Entry::Class(id.parse().ok()?)),
            "item" => Self::Entry(Entry::Item(id.parse().ok()?)),
            "vault" => Self::Entry(Entry::Made),
            "no" => {
                let mut parts = id.split(' ');
                let (child, kind, order) = (parts.next()?, parts.next()?, parts.next()?);
                Self::Entry(Entry::No {
                    child: child.parse().ok()?,
                    kind: Kind::ALL.into_iter().find(|one| kind_word(*one) == kind)?,
                    order: order.parse().ok()?,
                })
            }
            "unseen" => Self::Entry(Entry::Unseen(id.parse().ok()?)),
            "seen" => Self::Entry(Entry::Seen(id.parse().ok()?)),
            "over" => Self::Entry(Entry::Over(id.parse().ok()?)),
            _ => return None,
        })
    }
}

fn sum(what: &str) -> String {
    let hash = Sha256::digest(what.as_bytes());
    let [a, b, c, d, ..] = hash[..] else {
        unreachable!("a hash has 32 bytes");
    };
    format!("{:08x}", u32::from_be_bytes([a, b, c, d]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(n: u64) -> Entry {
        Entry::Child(ChildId::from_random(n))
    }

    #[test]
    fn what_was_erased_is_remembered_with_the_box() {
        let folder = tempfile::tempdir().unwrap();
        let mut ledger = Ledger::open(folder.path(), "b0").unwrap();
        ledger
            .add(&[entry(7), Entry::Over(RecordId::from_random(9))])
            .unwrap();
        ledger.add(&[Entry::Item(ItemId::from_random(11))]).unwrap();
        for kind in Kind::ALL {
            let child = ChildId::from_random(5);
            let no = Entry::No {
                child,
                kind,
                order: 12,
            };
            ledger.add(&[no]).unwrap();
        }
        let again = Ledger::open(folder.path(), "other").unwrap();
        assert_eq!((again.box_id(), again.is_damaged()), ("b0", false));
        assert_eq!(again.entries(), ledger.entries());
        assert_eq!(again.entries().len(), 7);
    }

    #[test]
    fn a_cut_spoils_nothing_and_a_flip_is_seen() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(FILE_NAME);
        let mut ledger = Ledger::open(folder.path(), "b0").unwrap();
        ledger.add(&[entry(7), entry(9)]).unwrap();
        let whole = std::fs::read(&path).unwrap();
        for length in 0..whole.len() {
            std::fs::write(&path, &whole[..length]).unwrap();
            let mut cut = Ledger::open(folder.path(), "b1").unwrap();
            cut.add(&[entry(99)]).unwrap();
            let again = Ledger::open(folder.path(), "b2").unwrap();
            assert!(!again.is_damaged(), "cut at {length}");
            assert_eq!(again.box_id(), cut.box_id());
            assert_eq!(again.entries().last(), Some(&entry(99)), "cut at {length}");
        }
        for at in 0..whole.len() {
            let mut flipped = whole.clone();
            flipped[at] ^= 0x04;
            std::fs::write(&path, &flipped).unwrap();
            let ledger = Ledger::open(folder.path(), "b1").unwrap();
            let all = ledger.entries() == [entry(7), entry(9)];
            // The very last line break looks like a cut.
            assert!(
                ledger.is_damaged() || at == whole.len() - 1 || all,
                "flip at {at}"
            );
        }
    }
}
