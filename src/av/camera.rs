//! What a camera is to the rest of the program: something that can be started,
//! that then sends pictures until it is dropped, and that says in one word why
//! it stopped. One small trait, so that a station can be tested with a script.
//!
//! Not here: `GStreamer` (the kinds of camera are in [`crate::av::source`]), and
//! any rule about when to start again (that is the station's).

use std::{path::PathBuf, sync::Arc};

pub use afterturn_core::media::Picture;
use afterturn_core::{
    kernel::CaptureUs,
    wire::{CameraNote, CameraState},
};
use bytes::Bytes;

/// The parameter sets of an H.264 stream, as an `avcC` record (ISO/IEC
/// 14496-15 §5.3.3.1).
#[derive(Clone, PartialEq, Eq)]
pub struct AvcConfig(pub Bytes);

impl std::fmt::Debug for AvcConfig {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "AvcConfig({} bytes)", self.0.len())
    }
}

/// What a running camera sends.
#[derive(Debug)]
pub enum CameraEvent {
    /// The parameter sets of the pictures that follow; always before the first.
    Format(AvcConfig),
    /// A picture.
    Picture(Picture),
    /// What could be better, all of it; in place of what was said before.
    Notes(Vec<Note>),
    /// The camera stopped by itself; nothing follows.
    Ended(CameraError),
}

/// Something about a camera that works and could do better.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// The word for it, from which a page makes its sentence.
    pub word: CameraNote,
    /// For the log, in a technician's words; as careful as [`CameraError`]'s.
    pub detail: String,
}

/// Why a camera is not sending.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{detail}")]
pub struct CameraError {
    /// The word for it, from which a screen makes its sentence.
    pub state: CameraState,
    /// For the log, in a technician's words. Never holds a password or a full
    /// camera address.
    pub detail: String,
}

impl CameraError {
    /// A reason with its detail.
    pub fn new(state: CameraState, detail: impl Into<String>) -> Self {
        Self {
            state,
            detail: detail.into(),
        }
    }
}

/// Where a running camera's events go. Called from the camera's own threads, so
/// it must not block; it may drop the picture.
pub type EventSink = Arc<dyn Fn(CameraEvent) + Send + Sync>;

/// The capture clock, as the edge reads it.
pub type NowFn = Arc<dyn Fn() -> CaptureUs + Send + Sync>;

/// A running camera; dropping it stops it and no event follows.
pub trait Running: Send {}

/// Where it shows that a camera is back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Knock {
    /// A host and port that take connections.
    Door(String, u16),
    /// A file or device that is there.
    Path(PathBuf),
}

/// Something that can be started again and again.
pub trait Camera: Send {
    /// A word for logs: `network`, `usb`, `file`, `demo`.
    fn kind(&self) -> &'static str;

    /// Where to look while the camera is away, if there is such a place: that it
    /// is back there is a reason to try at once.
    fn knock(&self) -> Option<Knock> {
        None
    }

    /// Opens the camera. Returns at once; whatever happens afterwards, a wrong
    /// password included, comes as an event.
    fn start(&mut self, now: NowFn, events: EventSink) -> Result<Box<dyn Running>, CameraError>;
}
