//! The teacher's files: which there are, and which of them are music a browser
//! may be able to play.
//!
//! Told by their first bytes, so that whatever a file is called, it is announced
//! as what it is. Whether all of it can be played only the browser finds out.
//!
//! Not here: sending them.

use std::{
    fs::{self, File},
    io::Read as _,
    path::{Path, PathBuf},
    time::SystemTime,
};

use super::shown;

/// More than a school year of lessons; what comes after is left out.
pub const MOST_TRACKS: usize = 500;
/// What a file of music ends with.
const ENDINGS: [&str; 6] = ["mp3", "m4a", "ogg", "oga", "wav", "wave"];
/// Enough to tell what it is.
const FIRST_BYTES: usize = 16;

/// What a file is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// MPEG audio, layer III.
    Mp3,
    /// MPEG-4.
    Mp4,
    /// Ogg.
    Ogg,
    /// RIFF WAVE.
    Wave,
}

impl Kind {
    /// As it is announced: RFC 3003, RFC 4337, RFC 5334; WAVE has no registered
    /// type, and this is what browsers take it by (WHATWG MIME Sniffing §6.2).
    #[must_use]
    pub const fn media_type(self) -> &'static str {
        match self {
            Self::Mp3 => "audio/mpeg",
            Self::Mp4 => "audio/mp4",
            Self::Ogg => "audio/ogg",
            Self::Wave => "audio/wave",
        }
    }

    /// By the first bytes (WHATWG MIME Sniffing §6.2; a bare MPEG frame: §6.2.3
    /// "matches an mp3 header").
    fn of(first: &[u8]) -> Option<Self> {
        match first {
            [b'I', b'D', b'3', ..] => Some(Self::Mp3),
            [b'O', b'g', b'g', b'S', 0, ..] => Some(Self::Ogg),
            [
                b'R',
                b'I',
                b'F',
                b'F',
                _,
                _,
                _,
                _,
                b'W',
                b'A',
                b'V',
                b'E',
                ..,
            ] => Some(Self::Wave),
            [_, _, _, _, b'f', b't', b'y', b'p', ..] => Some(Self::Mp4),
            // Synchronisation, a layer that is none of the reserved, a bit rate
            // and a sampling rate there are.
            [0xff, second, third, ..]
                if second & 0xe0 == 0xe0
                    && second & 0x06 != 0
                    && third & 0xf0 != 0xf0
                    && third & 0x0c != 0x0c =>
            {
                Some(Self::Mp3)
            }
            _ => None,
        }
    }
}

/// A file that may be played.
#[derive(Clone, PartialEq, Eq)]
pub struct Track {
    /// Where it is.
    pub path: PathBuf,
    /// What it is.
    pub kind: Kind,
    pub(super) name: String,
}

/// Name, length and time of each file: what has to differ for it to be read anew.
pub(super) type Seen = Vec<(PathBuf, u64, Option<SystemTime>)>;

/// What a folder holds.
#[derive(Clone, Default)]
pub(super) struct Listing {
    pub(super) tracks: Vec<Track>,
    /// The names of those that cannot be played.
    pub(super) broken: Vec<String>,
    pub(super) seen: Option<Seen>,
}

/// The files of a folder in the order of their names; nothing if they are those
/// that were seen before. A folder that cannot be read holds none.
pub(super) fn listing(folder: &Path, before: Option<&Seen>) -> Option<Listing> {
    let seen = files(folder);
    if before == Some(&seen) {
        return None;
    }
    let mut listing = Listing::default();
    for (path, ..) in &seen {
        let name = shown(path);
        match first_bytes(path).and_then(|bytes| Kind::of(&bytes)) {
            Some(kind) => listing.tracks.push(Track {
                path: path.clone(),
                kind,
                name,
            }),
            None => listing.broken.push(name),
        }
    }
    listing.seen = Some(seen);
    Some(listing)
}

fn files(folder: &Path) -> Seen {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut files: Seen = entries
        .map(|entry| entry.path())
        .filter(|path| is_called_music(path))
        .filter_map(|path| {
            // Nothing else is opened: a pipe would be waited for without end.
            let about = fs::metadata(&path).ok().filter(fs::Metadata::is_file)?;
            Some((path, about.len(), about.modified().ok()))
        })
        .collect();
    files.sort();
    files.truncate(MOST_TRACKS);
    files
}

/// A name that begins with a point is a system's, not a teacher's.
fn is_called_music(path: &Path) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str());
    let hidden = path
        .file_name()
        .is_some_and(|name| name.as_encoded_bytes().starts_with(b"."));
    !hidden
        && ending.is_some_and(|ending| {
            ENDINGS
                .iter()
                .any(|known| known.eq_ignore_ascii_case(ending))
        })
}

fn first_bytes(path: &Path) -> Option<Vec<u8>> {
    let mut bytes = Vec::with_capacity(FIRST_BYTES);
    let file = File::open(path).ok()?;
    file.take(FIRST_BYTES as u64).read_to_end(&mut bytes).ok()?;
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_what_its_first_bytes_say() {
        let known: [(&[u8], Option<Kind>); 10] = [
            (b"ID3\x04\0\0", Some(Kind::Mp3)),
            // MPEG-1 layer III, 128 kbit/s, 44.1 kHz (ISO/IEC 11172-3 §2.4.2.3).
            (&[0xff, 0xfb, 0x90, 0x64], Some(Kind::Mp3)),
            (b"OggS\0\x02", Some(Kind::Ogg)),
            (b"RIFF\x24\0\0\0WAVEfmt ", Some(Kind::Wave)),
            (b"\0\0\0\x20ftypM4A ", Some(Kind::Mp4)),
            // AAC without a container has layer 0, which MPEG audio reserves.
            (&[0xff, 0xf1, 0x50, 0x80], None),
            (b"RIFF\x24\0\0\0AVI LIST", None),
            (b"<html>", None),
            (&[0xff], None),
            (b"", None),
        ];
        for (bytes, kind) in known {
            assert_eq!(Kind::of(bytes), kind, "{bytes:02x?}");
        }
    }
}
