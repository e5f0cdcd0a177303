//! A file that grows by one JSON object a line: the demo's ground truth, so
//! that a test can compare what was seen with what was drawn.
//!
//! Not here: what is in a line. Nothing of a child is ever written this way.

use std::fs::{File, OpenOptions};
use std::io::{self, Write as _};
use std::path::Path;

use serde::Serialize;

/// An open file of lines.
#[derive(Debug)]
pub struct Lines {
    file: File,
    line: Vec<u8>,
}

impl Lines {
    /// Opens `path` to add to its end, making it if need be. A last line that
    /// a crash left unfinished is closed first, so that it spoils no other.
    pub fn append_to(path: &Path) -> io::Result<Self> {
        let file = OpenOptions::new().append(true).create(true).open(path)?;
        let mut lines = Self {
            file,
            line: Vec::new(),
        };
        if ends_mid_line(path)? {
            lines.file.write_all(b"\n")?;
        }
        Ok(lines)
    }

    /// Adds one line, in one write, so that a reader never sees half of it.
    pub fn add(&mut self, value: &impl Serialize) -> io::Result<()> {
        self.line.clear();
        serde_json::to_writer(&mut self.line, value)?;
        self.line.push(b'\n');
        self.file.write_all(&self.line)
    }
}

fn ends_mid_line(path: &Path) -> io::Result<bool> {
    use std::io::{Read as _, Seek as _, SeekFrom};
    // A pipe or a device has no end to look at.
    if !std::fs::metadata(path)?.is_file() {
        return Ok(false);
    }
    let mut file = File::open(path)?;
    if file.seek(SeekFrom::End(0))? == 0 {
        return Ok(false);
    }
    file.seek(SeekFrom::End(-1))?;
    let mut last = [0];
    file.read_exact(&mut last)?;
    Ok(last != *b"\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Serialize)]
    struct Mark<'m> {
        attempt: u32,
        what: &'m str,
    }

    #[test]
    fn lines_are_added_and_never_replaced() {
        let dir = tempfile::tempdir().expect("a temporary directory");
        let path = dir.path().join("truth.jsonl");
        for attempt in 1..=2 {
            let mut lines = Lines::append_to(&path).expect("opened");
            lines
                .add(&Mark {
                    attempt,
                    what: "on\nthe mat",
                })
                .expect("added");
        }
        assert_eq!(
            std::fs::read_to_string(&path).expect("readable"),
            "{\"attempt\":1,\"what\":\"on\\nthe mat\"}\n{\"attempt\":2,\"what\":\"on\\nthe mat\"}\n"
        );
    }

    #[test]
    fn a_line_cut_short_spoils_no_other() {
        let dir = tempfile::tempdir().expect("a temporary directory");
        let path = dir.path().join("truth.jsonl");
        std::fs::write(&path, "{\"attem").expect("written");
        Lines::append_to(&path)
            .expect("opened")
            .add(&7)
            .expect("added");
        assert_eq!(
            std::fs::read_to_string(&path).expect("readable"),
            "{\"attem\n7\n"
        );
    }
}
