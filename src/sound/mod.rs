//! What the gym hears: which page is its speaker, what that plays, and which
//! files the teacher has put there.
//!
//! - [`Sound`]: pages come and go ([`Sound::join`]), one is the speaker; a remote
//!   or a press at a page chooses. Told at every change ([`Sound::changes`]).
//! - `list`: the files of the folder.
//!
//! A file is named by its place in a list and never by a path, and its name is
//! for the remote alone: never in a log.
//!
//! Not here: when there is sound (the page), whether a class is quiet (the
//! lesson), HTTP.

mod list;

use std::{
    collections::{BTreeMap, BTreeSet},
    path::{Path, PathBuf},
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use afterturn_core::wire::{
    Applies, SoundInfo, SoundMode, SoundPage, SoundPatch, SoundPlace, SoundStanding, SoundState,
};
use serde::{Deserialize, Serialize};
use tokio::sync::watch;

use crate::door::SessionId;

pub use list::{Kind, MOST_TRACKS, Track};
use list::{Listing, listing};

/// A page that can be the speaker, as it is known again after a restart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Who {
    /// Its session; none for a page on the box itself.
    pub session: Option<SessionId>,
    /// Where it hangs.
    pub place: SoundPlace,
}

/// What outlives the program.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Kept {
    /// What was chosen; nothing: files where there are some.
    mode: Option<SoundMode>,
    speaker: Option<Who>,
}

/// What a page says of itself.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Said {
    /// Its browser lets sound out.
    pub ready: bool,
    /// Music plays.
    pub plays: bool,
    /// The files it could not play, by their places.
    pub failed: Vec<u16>,
}

/// There is no such page, or not any more.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("that page is not open any more")]
pub struct NoPage;

/// See the module.
pub struct Sound {
    folder: Option<PathBuf>,
    inner: Mutex<Inner>,
    changed: watch::Sender<()>,
}

#[derive(Default)]
struct Inner {
    kept: Kept,
    unkept: bool,
    pages: BTreeMap<u64, Page>,
    next: u64,
    tones: u32,
    listing: Listing,
    /// Counts the lists there were.
    listed: u32,
    /// Places in the list that the speaker's browser could not play.
    failed: BTreeSet<u16>,
}

struct Page {
    who: Who,
    said: Said,
}

impl Inner {
    /// The page that is the speaker: of several that are the same, the last that
    /// was opened.
    fn speaker(&self) -> Option<u64> {
        let who = self.kept.speaker?;
        let mut pages = self.pages.iter().rev();
        pages.find(|(_, page)| page.who == who).map(|(id, _)| *id)
    }

    fn mode(&self) -> SoundMode {
        let any = !self.listing.tracks.is_empty();
        match self.kept.mode {
            Some(SoundMode::Files) | None if any => SoundMode::Files,
            // Without a file there has to be something whose end is heard.
            Some(SoundMode::Files) | None => SoundMode::Rhythm,
            Some(mode) => mode,
        }
    }

    fn choose(&mut self, kept: Kept) -> bool {
        let news = self.kept != kept;
        self.kept = kept;
        self.unkept |= news;
        news
    }
}

impl Sound {
    /// The gym's sound as it was left, with the files of a folder.
    #[must_use]
    pub fn open(folder: Option<PathBuf>, kept: Kept) -> Arc<Self> {
        let sound = Self {
            folder,
            inner: Mutex::new(Inner {
                kept,
                ..Inner::default()
            }),
            changed: watch::Sender::new(()),
        };
        sound.look();
        Arc::new(sound)
    }

    /// Told at every change a page has to hear of.
    #[must_use]
    pub fn changes(&self) -> watch::Receiver<()> {
        self.changed.subscribe()
    }

    /// What is to be kept, if that has changed.
    pub fn take_unkept(&self) -> Option<Kept> {
        let mut inner = self.lock();
        std::mem::take(&mut inner.unkept).then_some(inner.kept)
    }

    /// Looks at the folder; it may have changed.
    pub fn look(&self) {
        let Some(folder) = self.folder.as_deref() else {
            return;
        };
        // Names and times first: what has not changed is not opened again.
        let before = self.lock().listing.seen.clone();
        let Some(found) = listing(folder, before.as_ref()) else {
            return;
        };
        let (tracks, broken) = (found.tracks.len(), found.broken.len());
        tracing::info!(tracks, broken, "the folder of music was read");
        let mut inner = self.lock();
        inner.listing = found;
        inner.listed += 1;
        inner.failed.clear();
        drop(inner);
        self.changed.send_replace(());
    }

    /// A page has opened.
    #[must_use]
    pub fn join(self: &Arc<Self>, who: Who) -> Seat {
        let mut inner = self.lock();
        inner.next += 1;
        let id = inner.next;
        let said = Said::default();
        inner.pages.insert(id, Page { who, said });
        drop(inner);
        self.changed.send_replace(());
        Seat {
            sound: Arc::clone(self),
            id,
        }
    }

    /// How it stands, for a remote. `quiet` says whether a place is.
    #[must_use]
    pub fn info(&self, quiet: impl Fn(SoundPlace) -> bool) -> SoundInfo {
        let inner = self.lock();
        let speaker = inner.speaker();
        let page = speaker.and_then(|id| inner.pages.get(&id));
        let standing = match page {
            None if inner.kept.speaker.is_none() => SoundStanding::Nobody,
            None => SoundStanding::Away,
            Some(page) if quiet(page.who.place) => SoundStanding::Quiet,
            Some(page) if !page.said.ready => SoundStanding::Waits,
            Some(page) if page.said.plays => SoundStanding::Plays,
            Some(_) => SoundStanding::Ready,
        };
        let all = &inner.listing.tracks;
        let failed = inner
            .failed
            .iter()
            .filter_map(|at| all.get(usize::from(*at)));
        let failed: Vec<String> = failed.map(|track| track.name.clone()).collect();
        SoundInfo {
            mode: inner.mode(),
            standing,
            folder: self.folder.is_some(),
            tracks: (all.len() - failed.len()) as u16,
            broken: inner.listing.broken.iter().cloned().chain(failed).collect(),
            pages: inner
                .pages
                .iter()
                .map(|(id, page)| SoundPage {
                    id: *id,
                    place: page.who.place,
                    speaks: Some(*id) == speaker,
                })
                .collect(),
        }
    }

    /// Chooses what plays, or which page is the speaker.
    pub fn choose(&self, patch: SoundPatch) -> Result<(), NoPage> {
        let mut inner = self.lock();
        let mut kept = inner.kept;
        kept.mode = patch.mode.or(kept.mode);
        kept.speaker = match patch.speaker {
            None => kept.speaker,
            Some(0) => None,
            Some(id) => Some(inner.pages.get(&id).ok_or(NoPage)?.who),
        };
        let news = inner.choose(kept);
        drop(inner);
        if news {
            self.changed.send_replace(());
        }
        Ok(())
    }

    /// The speaker sounds once, so that it can be set at the amplifier.
    pub fn tone(&self) {
        self.lock().tones += 1;
        self.changed.send_replace(());
    }

    /// A file of a list, for whoever is the speaker.
    #[must_use]
    pub fn track(&self, listing: u32, at: usize) -> Option<Track> {
        let inner = self.lock();
        let track = inner.listing.tracks.get(at);
        track.filter(|_| inner.listed == listing).cloned()
    }

    /// Whether an open page of this session is the speaker.
    #[must_use]
    pub fn is_speaker(&self, session: Option<SessionId>) -> bool {
        let inner = self.lock();
        let page = inner.speaker().and_then(|id| inner.pages.get(&id));
        page.is_some_and(|page| page.who.session == session)
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        // What was chosen is whole at every moment.
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// A page that is open, for as long as this is held.
pub struct Seat {
    sound: Arc<Sound>,
    id: u64,
}

impl Seat {
    /// Told at every change.
    #[must_use]
    pub fn changes(&self) -> watch::Receiver<()> {
        self.sound.changes()
    }

    /// How it stands for this page; `quiet` says whether it is to be.
    #[must_use]
    pub fn state(&self, quiet: bool) -> SoundState {
        let inner = self.sound.lock();
        SoundState {
            applies: Applies::Live,
            speaks: inner.speaker() == Some(self.id),
            mode: inner.mode(),
            quiet,
            tracks: inner.listing.tracks.len() as u16,
            listing: inner.listed,
            tones: inner.tones,
        }
    }

    /// Somebody pressed at it that it be the speaker.
    pub fn speak(&self) {
        let mut inner = self.sound.lock();
        let speaker = inner.pages.get(&self.id).map(|page| page.who);
        let kept = Kept {
            speaker,
            ..inner.kept
        };
        let news = inner.choose(kept);
        drop(inner);
        if news {
            tracing::info!("a speaker was chosen at its screen");
            self.sound.changed.send_replace(());
        }
    }

    /// What it says of itself.
    pub fn heard(&self, said: Said) {
        let mut inner = self.sound.lock();
        let tracks = inner.listing.tracks.len();
        if inner.speaker() == Some(self.id) {
            let known = said.failed.iter().filter(|at| usize::from(**at) < tracks);
            inner.failed = known.copied().collect();
        }
        if let Some(page) = inner.pages.get_mut(&self.id) {
            page.said = said;
        }
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        self.sound.lock().pages.remove(&self.id);
        self.sound.changed.send_replace(());
    }
}

/// The name of a file as a remote shows it.
fn shown(path: &Path) -> String {
    const MOST_CHARACTERS: usize = 80;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let plain = name.chars().filter(|c| !c.is_control());
    plain.take(MOST_CHARACTERS).collect()
}

#[cfg(test)]
mod tests;
