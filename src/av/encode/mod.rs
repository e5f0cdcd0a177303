//! Encoding, for sources whose pictures are not H.264 that a browser plays:
//! at most once, by the best encoder that works on this machine, at a size and
//! rate it can keep up with.
//!
//! - `choice`: the encoders there may be; `make`: makes one; `trial`: finds out
//!   whether it works and how fast it is
//! - `chain`: from raw pictures to H.264; `keyframes`: one a second
//! - `size`: sizes, rates and bit rates, and the steps down; `overload`: when to
//!   take one
//!
//! Not here: where the raw pictures come from.

mod chain;
mod choice;
mod keyframes;
mod make;
mod overload;
mod size;
mod trial;

use std::{
    fmt,
    sync::{
        Arc, LazyLock, OnceLock,
        atomic::{AtomicU32, Ordering},
    },
};

use afterturn_core::wire::CameraState;
use gstreamer as gst;

use super::{MissingPart, MissingParts, camera::CameraError};
use choice::{CHOICES, Choice, PREFERRED_SOFTWARE};
use make::Unmade;
use trial::Fault;

pub use size::{Dimensions, Most, Rate, USUAL, bitrate_kbps, fits_level_4_1, steps};

pub(super) use chain::{Order, attach};

use make::{Encoder, Target};

/// The share of a processor's time that encoding may take: the rest is for
/// decoding, the browser, and what else the machine does.
const SHARE: f64 = 0.5;

/// Encoding for all sources of one program: which encoder, and how many of them
/// share it. Cheap to clone; the encoder is tried out at the first need.
#[derive(Clone)]
pub struct Encoding(Arc<Inner>);

struct Inner {
    /// The element to use whatever else there is.
    wish: Option<String>,
    /// Sources that are sure to encode.
    expected: u32,
    running: AtomicU32,
    settled: OnceLock<Result<Settled, CameraError>>,
}

/// What was found out about this machine.
#[derive(Clone, Copy, Debug)]
struct Settled {
    choice: &'static Choice,
    /// What one encoder does.
    pixels_per_s: f64,
}

impl fmt::Debug for Encoding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Encoding")
            .field("wish", &self.0.wish)
            .field("expected", &self.0.expected)
            .field("settled", &self.0.settled.get().is_some())
            .finish_non_exhaustive()
    }
}

impl Default for Encoding {
    /// The best encoder, for one source at a time. All of these share what they
    /// find out.
    fn default() -> Self {
        static USUAL: LazyLock<Encoding> = LazyLock::new(|| Encoding::new(None, 1));
        USUAL.clone()
    }
}

/// A source that encodes; while it lives, others know that the machine has less
/// to give.
#[derive(Debug)]
struct Share {
    encoding: Encoding,
    choice: &'static Choice,
    /// The first of [`steps`] that the machine can afford.
    step: usize,
}

impl Drop for Share {
    fn drop(&mut self) {
        self.encoding.0.running.fetch_sub(1, Ordering::Relaxed);
    }
}

impl Encoding {
    /// Encoding for `expected` sources at once, with the encoder of this name,
    /// where one is wished for and works.
    #[must_use]
    pub fn new(wish: Option<String>, expected: u32) -> Self {
        Self(Arc::new(Inner {
            wish,
            expected,
            running: AtomicU32::new(0),
            settled: OnceLock::new(),
        }))
    }

    /// The names an encoder can be wished for by, best first.
    pub fn names() -> impl Iterator<Item = &'static str> {
        CHOICES.iter().map(|choice| choice.element)
    }

    /// Whether an encoder of this name works here.
    #[must_use]
    pub fn works(name: &str) -> bool {
        choice::named(name).is_some_and(|choice| trial::try_out(choice).is_ok())
    }

    /// Tries out the encoders until one works; takes up to a few seconds, once.
    /// The first of `steps` that the machine can afford for every source it was
    /// told to expect.
    pub fn afford(&self, steps: &[Most]) -> Result<usize, CameraError> {
        let settled = self.settled()?;
        let running = self.0.running.load(Ordering::Relaxed);
        let streams = running.max(self.0.expected);
        Ok(size::affordable(steps, streams, settled.capacity()))
    }

    /// Takes a share in the machine for one more source.
    fn share(&self, steps: &[Most]) -> Result<Share, CameraError> {
        let settled = self.settled()?;
        self.0.running.fetch_add(1, Ordering::Relaxed);
        let mut share = Share {
            encoding: self.clone(),
            choice: settled.choice,
            step: 0,
        };
        share.step = self.afford(steps)?;
        Ok(share)
    }

    fn settled(&self) -> Result<Settled, CameraError> {
        let settle = || settle(self.0.wish.as_deref());
        self.0.settled.get_or_init(settle).clone()
    }
}

impl Settled {
    /// What all encoders of the machine do in a second together, as far as they
    /// may: one in software keeps one processor busy, those in hardware share
    /// what there is.
    fn capacity(self) -> f64 {
        let processors = if self.choice.hardware {
            1
        } else {
            std::thread::available_parallelism().map_or(1, std::num::NonZero::get)
        };
        self.pixels_per_s * SHARE * processors as f64
    }
}

impl Share {
    /// The raw form its encoder is given.
    const fn raw(&self) -> &'static str {
        self.choice.raw
    }

    /// Whether pictures whose black is 0 may stay so.
    const fn takes_full_range(&self) -> bool {
        self.choice.writes_range
    }

    /// A new encoder, with a keyframe a second.
    fn encoder(&self, target: Target) -> Result<Encoder, CameraError> {
        let made = make::make(self.choice, target).map_err(|fault| {
            let element = self.choice.element;
            CameraError::new(CameraState::MissingPart, format!("{element}: {fault}"))
        })?;
        keyframes::ask_for(&made.element);
        Ok(made)
    }

    /// Tells its encoder another bit rate.
    fn set_bit_rate(&self, encoder: &gst::Element, kbps: u32) {
        make::set_bit_rate(encoder, self.choice, kbps);
    }
}

fn settle(wish: Option<&str>) -> Result<Settled, CameraError> {
    if let Some(name) = wish {
        match choice::named(name).map(|choice| (choice, trial::try_out(choice))) {
            Some((choice, Ok(pixels_per_s))) => return Ok(settled(choice, pixels_per_s)),
            Some((choice, Err(fault))) => {
                let package = choice.package;
                tracing::warn!(
                    encoder = name,
                    package,
                    "the encoder wished for does not work: {fault}; taking another"
                );
            }
            None => tracing::warn!(encoder = name, "there is no such encoder; taking another"),
        }
    }
    for choice in CHOICES {
        match trial::try_out(choice) {
            Ok(pixels_per_s) => return Ok(settled(choice, pixels_per_s)),
            Err(Fault::Unmade(Unmade::Absent)) => {}
            Err(fault) => {
                let encoder = choice.element;
                tracing::warn!(
                    encoder,
                    "an encoder does not work: {fault}; trying the next"
                );
            }
        }
    }
    let detail = match missing() {
        Some(part) => MissingParts::Elements(vec![part]).to_string(),
        None => "none of this machine's H.264 encoders works; the log says why".to_owned(),
    };
    Err(CameraError::new(CameraState::MissingPart, detail))
}

fn settled(choice: &'static Choice, pixels_per_s: f64) -> Settled {
    let (encoder, hardware) = (choice.element, choice.hardware);
    let hd_pictures_per_s = (pixels_per_s / Dimensions::HD.pixels() as f64) as u32;
    tracing::info!(encoder, hardware, hd_pictures_per_s, "encoder");
    Settled {
        choice,
        pixels_per_s,
    }
}

/// The part to name when there is no encoder at all: the usual one.
pub(super) fn missing() -> Option<MissingPart> {
    let found = CHOICES
        .iter()
        .any(|c| gst::ElementFactory::find(c.element).is_some());
    let usual = choice::named(PREFERRED_SOFTWARE).filter(|_| !found)?;
    Some(MissingPart {
        element: usual.element,
        package: usual.package,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_encoder_that_is_wished_for_is_taken_and_a_wrong_wish_is_not_fatal() {
        crate::av::init().unwrap();
        let raw = |wish: &str| {
            let encoding = Encoding::new(Some(wish.to_owned()), 1);
            encoding.share(&steps(USUAL)).unwrap().choice.element
        };
        assert_eq!(raw("openh264enc"), "openh264enc");
        assert_ne!(raw("theoraenc"), "theoraenc");
    }

    #[test]
    fn what_is_expected_and_what_runs_share_the_machine() {
        crate::av::init().unwrap();
        let steps = steps(USUAL);
        let encoding = Encoding::new(None, 1);
        // More than any machine has.
        let crowd = Encoding::new(None, 100_000);
        assert_eq!(crowd.afford(&steps).unwrap(), steps.len() - 1);
        let shares: Vec<_> = (0..3).map(|_| encoding.share(&steps).unwrap()).collect();
        assert_eq!(encoding.0.running.load(Ordering::Relaxed), 3);
        drop(shares);
        assert_eq!(encoding.0.running.load(Ordering::Relaxed), 0);
    }
}
