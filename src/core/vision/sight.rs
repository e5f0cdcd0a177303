//! Whether a camera sees well enough to be of use: light and focus, from a
//! picture of some 160 × 90 points, in one word.
//!
//! Careful on purpose: a sentence that is wrong once is believed never again. So
//! only what is plain is said, what was said stays until it is plainly over, and
//! single pictures (a hand before the lens, lights being switched) count for
//! nothing.
//!
//! Thresholds are from trying drawn rooms; common practice, no source.
//!
//! Not here: decoding, when to look, sentences. Not told: a picture a little
//! soft, noise of a camera that turns its gain up, what the camera points at.

mod focus;

use super::Grey;

/// What is wrong with a camera's picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// Hardly any light.
    TooDark,
    /// A bright window behind, and everything before it a shadow.
    Backlit,
    /// No edge in it is sharp.
    OutOfFocus,
}

/// What is wrong with this picture, if anything; `said` is what has been said of
/// the camera so far, which takes less to stay than it took to come.
#[must_use]
pub fn trouble(picture: Grey<'_>, said: Option<Trouble>) -> Option<Trouble> {
    let light = Light::of(picture);
    let stays = |trouble| said == Some(trouble);
    if light.too_dark(stays(Trouble::TooDark)) {
        return Some(Trouble::TooDark);
    }
    if light.backlit(stays(Trouble::Backlit)) {
        return Some(Trouble::Backlit);
    }
    focus::lost(picture, stays(Trouble::OutOfFocus)).then_some(Trouble::OutOfFocus)
}

/// Whether so little light is in a picture that nothing can be told from it.
pub(super) fn too_dark(picture: Grey<'_>) -> bool {
    Light::of(picture).too_dark(false)
}

/// Where nearly all is white, nothing stands before it.
const MOST_WHITE: f32 = 0.85;

/// How many points have each brightness.
struct Light {
    counts: [u32; 256],
    points: u32,
}

impl Light {
    fn of(picture: Grey<'_>) -> Self {
        let mut counts = [0; 256];
        for y in picture.luma {
            counts[usize::from(*y)] += 1;
        }
        Self {
            counts,
            points: picture.luma.len() as u32,
        }
    }

    /// The share of points with a brightness in this range.
    fn share(&self, levels: std::ops::Range<usize>) -> f32 {
        self.counts[levels].iter().sum::<u32>() as f32 / self.points as f32
    }

    /// Nine in ten points are darker than a dark mat in a lit room.
    fn too_dark(&self, stays: bool) -> bool {
        self.share(0..if stays { 72 } else { 56 }) >= 0.9
    }

    /// A tenth is as good as white, and most of the rest as good as black, where
    /// in a good picture people, mats and walls are in between.
    fn backlit(&self, stays: bool) -> bool {
        let (least, black) = if stays { (0.07, 0.5) } else { (0.1, 0.6) };
        let white = self.share(225..256);
        white >= least && self.share(0..60) >= black * (1.0 - white) && white <= MOST_WHITE
    }
}

/// What is said of a camera, from one look to the next.
#[derive(Clone, Copy, Debug, Default)]
pub struct Sight {
    said: Option<Trouble>,
    /// What the last looks agree on instead, and how many they are.
    instead: Option<Trouble>,
    looks: u32,
}

impl Sight {
    /// So many looks in a row have to agree before anything else is said.
    pub const AGREE: u32 = 3;

    /// What is said.
    #[must_use]
    pub const fn said(&self) -> Option<Trouble> {
        self.said
    }

    /// What the next look found; whether something else is said now.
    pub fn add(&mut self, found: Option<Trouble>) -> bool {
        if found == self.said {
            self.looks = 0;
            return false;
        }
        if found != self.instead {
            self.looks = 0;
        }
        self.instead = found;
        self.looks += 1;
        let changed = self.looks >= Self::AGREE;
        if changed {
            self.said = found;
            self.looks = 0;
        }
        changed
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "in a test a panic is the report")]
mod tests;
