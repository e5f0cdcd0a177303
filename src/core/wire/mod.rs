//! What a screen and the server say to each other over one station's socket:
//! the protocol, version [`PROTOCOL`].
//!
//! # The socket
//!
//! `GET /api/stations/{n}/view`, upgraded. Text messages are JSON objects with
//! a `type`: [`FromServer`] one way, [`FromScreen`] the other. Binary messages
//! go to the screen only and are plain ISO BMFF: either an initialisation
//! segment (starts with an `ftyp` box) or one fragment (starts with a `moof`
//! box, one picture). A fragment carries everything about itself: its
//! `mfhd.sequence_number` is the low 32 bits of its number in the ring, its
//! `tfdt.baseMediaDecodeTime` *is* its capture time (timescale 1,000,000, Unix
//! microseconds), its first sample's flags say whether it is a keyframe.
//!
//! # The order of things
//!
//! 1. The server says [`FromServer::Hello`]. A page whose `build` differs
//!    reloads, once.
//! 2. The page asks the time a few times ([`FromScreen::Clock`]) and says where
//!    it wants pictures from ([`FromScreen::Want`]). No picture comes before.
//! 3. The server says [`FromServer::Run`], then an initialisation segment, then
//!    fragments, each shortly before it is due. A new run starts at a keyframe,
//!    after every `want`, after a break and when the parameter sets change.
//! 4. The page reports ([`FromScreen::Report`]) a few times a second; the server
//!    keeps at most a second of pictures ahead of what is reported. The server
//!    sends [`FromServer::State`] and [`FromServer::Class`] at every change and
//!    at least every half second; a screen that hears nothing for 1.5 s says that it has lost the
//!    box.
//! 5. Twenty times a second the server vouches for what it has said so far
//!    ([`FromServer::Holds`]). A screen shows pictures only while the newest of
//!    these is at most 0.4 s old by the server's clock: a wipe that cannot reach
//!    a screen takes effect on it all the same, and what lay in a clogged
//!    connection does not count as hearing.
//!
//! 6. What stands beside the picture comes as one [`FromServer::Sheet`], right
//!    after the hello and at every change, in the language that the page asked
//!    for (`?lang=`) unless the teacher chose another.
//!
//! 7. Somebody at a screen, or the remote, may ask for the last attempt once more
//!    ([`FromScreen::Again`]). The state then says which stretch of capture time
//!    all screens of the station show, and when ([`Again`]). A page has most of it
//!    still; one that has not says `want`, and is sent it as far as it is there.
//!
//! 8. *Next* on a clicker or keyboard at a screen ([`FromScreen::Click`]) is the
//!    next phase, and held, a freeze: where the config file lets that screen.
//! 9. Any page can be the gym's speaker, and one is: a press at it
//!    ([`FromScreen::Speak`]) or a remote says which, [`FromServer::Sound`] tells
//!    it, and it says in [`FromScreen::Sound`] whether it can.
//!
//! `GET /api/hall/view` is the same for a board of the hall, without pictures:
//! hello, clock, sound, [`FromServer::Hall`], `click`; `want` and `report` come to
//! nothing there.
//!
//! # Live or late
//!
//! Whatever changes what a screen shows says which clock it belongs to:
//! [`Applies::Live`] takes effect on arrival, [`Applies::AtCapture`] when the
//! picture on the glass reaches that capture time.
//!
//! Not here: sending, receiving, or deciding any of it.

mod again;
mod api;
mod class;
mod hall;
mod interrupted;
mod parts;
mod publisher;
mod setup;
mod sheet;
mod shown;
mod sound;
mod today;
mod tuning;

use serde::{Deserialize, Serialize};

use crate::{kernel::CaptureUs, rotation::Click};

pub use again::{Again, AgainAnswer, AgainAsk, AgainSaid, StationAgain};
pub use api::{
    CameraInfo, CameraNote, Order, StationInfo, StationList, StationOrder, StationPatch, ViewerInfo,
};
pub use parts::{FailedPart, Part};
pub use publisher::{PublisherNews, PublisherStanding};
pub use setup::{
    CalibrationAsk, CalibrationInfo, CalibrationOrder, CalibrationRefusal, LatencyInfo,
    SightTrouble,
};
pub use sheet::{
    Language, LetterSizes, Look, Sheet, SheetMark, Showing, ShowingPatch, Shown, StationLanguage,
    Task, Turn, UnitChoice, View, ViewChoice,
};
pub use shown::{NotKnown, ShownAsk};

pub use hall::{Hall, HallGroup, HallStation};
pub use interrupted::{AfterRestart, AnswerAfterRestart, ClassAnswer};
pub use sound::{
    SoundInfo, SoundMode, SoundPage, SoundPatch, SoundPlace, SoundStanding, SoundState,
};
pub use today::{ClassChange, Refinement};
pub use tuning::{
    CueChoice, CuePick, KeepAsk, KeepFor, KeepOffer, KeepOffers, Otherwise, StationCues,
};

pub use class::{
    ClassInfo, ClassPress, ClassStart, ClassStation, ClassTime, GradeStart, GroupHere, GroupInfo,
    InBoth, KnownClass, PressAnswer, RunningClass, ScreenClass, StartAnswer, StartAsk, StartInfo,
    StartStation, StationChange, Stay,
};

/// The version of this protocol. It changes when a page of the old version
/// would misunderstand.
pub const PROTOCOL: u32 = 2;

/// The longest message a screen may send, in bytes. The largest real one is a
/// tenth of this; a socket that sends more is closed.
pub const MOST_FROM_SCREEN_BYTES: usize = 4096;

/// Which clock something belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case", tag = "clock")]
pub enum Applies {
    /// On arrival: the signal, the time left, a freeze, a camera's health.
    Live,
    /// When the picture on the glass reaches this capture time.
    AtCapture {
        /// Unix microseconds on the capture timeline.
        #[cfg_attr(test, ts(type = "number"))]
        capture_us: CaptureUs,
    },
}

/// How a station's camera is, in a word; the page has the sentence.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum CameraState {
    /// No class is running, or none at this station: it is off.
    Off,
    /// Being opened for the first time; no picture yet.
    Starting,
    /// Pictures are arriving.
    Showing,
    /// No picture for two seconds.
    Stalled,
    /// Nothing answers at its address.
    Unreachable,
    /// It answers and refuses the name or password.
    Refused,
    /// Something answers that is not a camera, or has no such stream.
    NotACamera,
    /// Its pictures are in a form that cannot be passed through.
    Unsuitable,
    /// It ended the stream or the connection broke.
    Ended,
    /// This machine lacks a part it needs to open the camera.
    MissingPart,
    /// No device publishes to this station.
    NoPublisher,
}

impl CameraState {
    /// Every state, for tables and tests.
    pub const ALL: [Self; 11] = [
        Self::Off,
        Self::Starting,
        Self::Showing,
        Self::Stalled,
        Self::Unreachable,
        Self::Refused,
        Self::NotACamera,
        Self::Unsuitable,
        Self::Ended,
        Self::MissingPart,
        Self::NoPublisher,
    ];
}

/// Why a stretch of pictures is covered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum CoverReason {
    /// Someone asked that it not be shown.
    DontShow,
    /// Everything before this moment was forgotten.
    Wiped,
    /// Nothing is to be seen from some moment on, until someone says otherwise.
    Covered,
    /// The station is paused.
    Paused,
}

/// From the server to a screen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case", tag = "type")]
#[allow(
    clippy::large_enum_variant,
    reason = "a sheet is sent a few times in a class, and one message at a time is made"
)]
pub enum FromServer {
    /// The first message on every socket.
    Hello {
        /// [`PROTOCOL`].
        protocol: u32,
        /// The server's build; a page of another one reloads once.
        build: String,
        /// The station's number; 0 for a board of the hall.
        station: u8,
        /// The server's capture clock as this was written.
        #[cfg_attr(test, ts(type = "number"))]
        now_us: CaptureUs,
    },
    /// The answer to [`FromScreen::Clock`]: three of RFC 5905's four timestamps.
    Clock {
        /// As the screen sent it.
        #[cfg_attr(test, ts(type = "number"))]
        t1_us: i64,
        /// Server's capture clock when the question was read.
        #[cfg_attr(test, ts(type = "number"))]
        t2_us: CaptureUs,
        /// Server's capture clock when the answer was written.
        #[cfg_attr(test, ts(type = "number"))]
        t3_us: CaptureUs,
    },
    /// How the station is; at every change and at least every half second.
    State(StationState),
    /// How the class stands; at every change and at least every half second.
    Class(ScreenClass),
    /// How the whole class stands, to a board of the hall instead.
    Hall(Hall),
    /// Whether this page is the gym's speaker, and of what; after `hello` and at
    /// every change.
    Sound(SoundState),
    /// What stands beside the picture; after `hello` and at every change.
    Sheet(Box<Sheet>),
    /// A run of pictures begins: the next binary message is its initialisation
    /// segment, the one after it a keyframe.
    Run {
        /// What `SourceBuffer` takes: `video/mp4; codecs="avc1.PPCCLL"`.
        mime: String,
        /// Picture width in pixels.
        width_px: u32,
        /// Picture height in pixels.
        height_px: u32,
        /// The first picture's capture time.
        #[cfg_attr(test, ts(type = "number"))]
        from_us: CaptureUs,
    },
    /// This screen fell behind and pictures were left out for it.
    Lost {
        /// How many, since the last such message.
        #[cfg_attr(test, ts(type = "number"))]
        pictures: u64,
    },
    /// Pictures from here on must not be seen, until the next run starts.
    Cover {
        /// From when.
        applies: Applies,
        /// Why.
        reason: CoverReason,
    },
    /// At this moment there was no more to say about what may be seen than has
    /// been said before this message.
    Holds {
        /// On the server's capture clock.
        #[cfg_attr(test, ts(type = "number"))]
        at_us: CaptureUs,
    },
    /// Whoever this screen was let in as, it is not any more; the socket closes
    /// after this, and the page begins anew.
    Removed,
    /// The screen's last message made no sense; the socket closes after this.
    Refused {
        /// What was wrong with it, for a technician.
        detail: String,
    },
}

/// How a station is at one moment. All of it is live.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct StationState {
    /// Always [`Applies::Live`]: a camera's health and a delay are.
    pub applies: Applies,
    /// The number on the station's sign.
    pub number: u8,
    /// Its title.
    pub title: String,
    /// Capture to glass.
    pub delay_ms: u32,
    /// How far back the ring reaches when full.
    pub window_ms: u32,
    /// How the camera is.
    pub camera: CameraState,
    /// Since when, on the capture clock.
    #[cfg_attr(test, ts(type = "number"))]
    pub camera_since_us: CaptureUs,
    /// Capture time of the oldest picture that may be shown, if there is one.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub oldest_us: Option<CaptureUs>,
    /// Capture time of the newest picture, if there is one.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub newest_us: Option<CaptureUs>,
    /// The station is the built-in demo scene, and the screen says so.
    pub demo: bool,
    /// The screen shows the bars, for the station's camera to film.
    pub calibrating: bool,
    /// How far back somebody may ask to see once more: a page keeps that much.
    pub attempt_s: u8,
    /// What is shown instead of the late picture, if anything.
    pub again: Option<Again>,
    /// It works without a picture of itself: none is taken, and the cue stands in
    /// its place.
    pub quiet: bool,
}

/// From a screen to the server.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case", tag = "type", deny_unknown_fields)]
pub enum FromScreen {
    /// What time is it? Answered at once by [`FromServer::Clock`].
    Clock {
        /// The screen's own clock, any epoch, as the question is sent.
        #[cfg_attr(test, ts(type = "number"))]
        t1_us: i64,
    },
    /// Send pictures from the last keyframe at or before this capture time on;
    /// `null`: from the one due now.
    Want {
        /// Unix microseconds on the capture timeline.
        #[cfg_attr(test, ts(type = "number | null"))]
        from_us: Option<CaptureUs>,
    },
    /// How the screen is doing; a few times a second and after each burst.
    Report {
        /// Capture time at which its buffer ends, if it holds anything.
        #[cfg_attr(test, ts(type = "number | null"))]
        buffer_end_us: Option<CaptureUs>,
        /// Capture time of the picture on the glass, if there is one.
        #[cfg_attr(test, ts(type = "number | null"))]
        glass_us: Option<CaptureUs>,
        /// How far the glass is from where it should be; positive is late.
        #[cfg_attr(test, ts(type = "number | null"))]
        error_us: Option<i64>,
        /// Pictures the screen itself left out since it opened.
        dropped_pictures: u32,
    },
    /// Somebody at the screen asks to see the last attempt again. What is shown
    /// comes with the next [`FromServer::State`]; nothing, if it is not answered.
    Again {},
    /// Somebody at the screen pressed *next* on a clicker or keyboard. What came
    /// of it shows in the next [`FromServer::Class`]; nothing, where the config
    /// file leaves that to the remote.
    Click {
        /// Made up by the page; a press that comes twice counts once.
        id: String,
        /// How long it was pressed.
        click: Click,
    },
    /// Somebody pressed at the screen that it be the gym's speaker.
    Speak {},
    /// How a page would sound; at every change of that.
    Sound {
        /// Its browser lets sound out.
        ready: bool,
        /// Music plays.
        plays: bool,
        /// The places in the list of those files its browser could not play.
        failed: Vec<u16>,
    },
}

/// The longest id that a page may make up for a press.
pub const MOST_PRESS_ID: usize = 64;

#[cfg(test)]
mod tests;
