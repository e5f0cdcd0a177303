//! What the gym hears: said to screens over their sockets, one of which is the
//! speaker, and to a remote as JSON.
//!
//! Not here: when there is sound (the page, by the class's phase), and the
//! teacher's files themselves.

use serde::{Deserialize, Serialize};

use super::Applies;

/// What plays while the children work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum SoundMode {
    /// The teacher's own files.
    Files,
    /// The rhythm the page makes itself.
    Rhythm,
    /// Nothing: the teacher has music of their own, we only signal.
    Own,
}

/// Where a page that can be the speaker hangs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case", tag = "at")]
pub enum SoundPlace {
    /// It is a board of the hall.
    Hall,
    /// It is a station's TV.
    Station {
        /// The number on its sign.
        station: u8,
    },
}

/// To one page: whether it is the speaker, and of what. All of it is live.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SoundState {
    /// Always [`Applies::Live`].
    pub applies: Applies,
    /// This page is the speaker.
    pub speaks: bool,
    /// What plays while the children work.
    pub mode: SoundMode,
    /// Neither music nor signals, whatever was chosen: the class is a quiet one,
    /// or the station.
    pub quiet: bool,
    /// How many files there are to play…
    pub tracks: u16,
    /// …and which list of them that is: it counts up when the folder changes.
    pub listing: u32,
    /// Counts the test tones that were asked for.
    pub tones: u32,
}

/// A page that can be the speaker.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SoundPage {
    /// Names it for as long as it is open.
    #[cfg_attr(test, ts(type = "number"))]
    pub id: u64,
    /// Where it hangs.
    pub place: SoundPlace,
    /// It is the speaker.
    pub speaks: bool,
}

/// Whether there is sound, in a word; the page has the sentence.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum SoundStanding {
    /// No page is the speaker.
    Nobody,
    /// The one that is, is not open.
    Away,
    /// Its browser wants a press at the screen first.
    Waits,
    /// The class is quiet, or the station whose TV it is.
    Quiet,
    /// It could play; nothing is due.
    Ready,
    /// Music plays.
    Plays,
}

/// `GET /api/sound`, and the answer to every change.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SoundInfo {
    /// What plays while the children work.
    pub mode: SoundMode,
    /// Whether there is sound.
    pub standing: SoundStanding,
    /// The config file names a folder of music.
    pub folder: bool,
    /// How many files of it can be played, as far as is known.
    pub tracks: u16,
    /// The names of those that cannot: not read, not music, or refused by the
    /// speaker's browser.
    pub broken: Vec<String>,
    /// The pages that are open.
    pub pages: Vec<SoundPage>,
}

/// `PATCH /api/sound`: what to change; what is left out stays.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields, default)]
pub struct SoundPatch {
    /// What plays while the children work.
    pub mode: Option<SoundMode>,
    /// Which page is the speaker; 0: none.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub speaker: Option<u64>,
}
