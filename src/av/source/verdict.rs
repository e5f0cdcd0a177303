//! What a pipeline finds out about itself while it runs, and how it says so:
//! that its pictures cannot be passed on as they are, or that this machine is
//! too slow for it. Whoever built it then builds another.
//!
//! Not here: building (`drive` and the kinds of camera).

use std::sync::{Arc, Mutex, PoisonError};

use gstreamer as gst;

/// What was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Verdict {
    /// Pictures come in another order than they are shown.
    Bidirectional,
    /// Pictures are coded as fields.
    Interlaced,
    /// A profile that no browser plays, as `GStreamer` writes it.
    Profile(String),
    /// Keyframes are too far apart for a screen to wait for.
    RareKeyframes,
    /// There is no stream of pictures in it.
    NoPictures,
    /// The encoder leaves out too many pictures.
    TooSlow,
}

impl Verdict {
    /// What is wrong and what to set at the camera, for a technician.
    pub(super) fn advice(&self) -> String {
        match self {
            Self::Bidirectional => {
                "This camera sends B-frames; set its profile to Baseline or turn B-frames off"
                    .to_owned()
            }
            Self::Interlaced => {
                "This camera sends interlaced pictures; set its video to progressive".to_owned()
            }
            Self::Profile(profile) => format!(
                "This camera sends H.264 in the {profile} profile; \
                 set its profile to Main or Baseline"
            ),
            Self::RareKeyframes => {
                "This camera's keyframes are too far apart; set one a second".to_owned()
            }
            Self::NoPictures => "There are no pictures in it".to_owned(),
            Self::TooSlow => "This machine is too slow to encode these pictures".to_owned(),
        }
    }
}

/// Says one verdict on a pipeline's bus; the first counts.
#[derive(Clone, Debug)]
pub(super) struct Whistle {
    said: Arc<Mutex<Option<Verdict>>>,
    bus: gst::Bus,
}

impl Whistle {
    pub(super) fn new(bus: gst::Bus) -> Self {
        Self {
            said: Arc::default(),
            bus,
        }
    }

    pub(super) fn blow(&self, verdict: Verdict) {
        let mut said = self.said.lock().unwrap_or_else(PoisonError::into_inner);
        if said.is_none() {
            *said = Some(verdict);
            let word = gst::Structure::new_empty("afterturn-verdict");
            // Refused only by a pipeline that is going down anyway.
            let _ = self.bus.post(gst::message::Application::new(word));
        }
    }

    /// What was said, if anything.
    pub(super) fn heard(&self) -> Option<Verdict> {
        self.said
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .take()
    }
}
