//! The demo scene: a small gym in which one child after another makes an
//! attempt, drawn by us, for the demo station and for tests.
//!
//! A figure walks in, jumps from a low box, holds a balance or rolls, and walks
//! off; now and then another child passes behind; the daylight drifts. The
//! picture carries the [time strip](crate::media::strip). Everything follows
//! from the seed and the start: the same moment gives the same bytes, in any
//! order of asking, and [`Scene::truth`] says what truly happened when, so that
//! whatever watches the picture can be held against it.
//!
//! Not here: a clock, an encoder, noise, or anything that looks like a real
//! child. The only state is memory of work done (the room, the light, the block
//! of the schedule last asked for).

mod attempt;
mod figure;
mod light;
mod motion;
mod paint;
mod pose;
mod random;
mod room;
mod schedule;
mod screen;

pub use attempt::Skill;
pub use schedule::{TruthEvent, TruthKind};
pub use screen::{FilmedScreen, Filming};

use crate::{kernel::CaptureUs, media::strip};

use figure::Shade;
use light::Light;
use paint::Canvas;
use schedule::Block;

/// The size of a picture: even, because I420 halves its chroma both ways.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Size {
    width_px: u32,
    height_px: u32,
}

/// A size the scene cannot be drawn at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a scene is even and between 64×48 and 4096×4096 pixels, not {width_px}×{height_px}")]
pub struct SizeError {
    /// Columns asked for.
    pub width_px: u32,
    /// Rows asked for.
    pub height_px: u32,
}

impl Size {
    /// 1280×720, what a station shows unless told otherwise.
    pub const HD: Self = Self {
        width_px: 1280,
        height_px: 720,
    };

    /// Checks a size.
    pub const fn new(width_px: u32, height_px: u32) -> Result<Self, SizeError> {
        let even = width_px.is_multiple_of(2) && height_px.is_multiple_of(2);
        // The least holds a time strip, the most keeps a picture under 25 MB.
        if !even || width_px < 64 || height_px < 48 || width_px > 4096 || height_px > 4096 {
            return Err(SizeError {
                width_px,
                height_px,
            });
        }
        Ok(Self {
            width_px,
            height_px,
        })
    }

    /// Columns.
    #[must_use]
    pub const fn width_px(self) -> u32 {
        self.width_px
    }

    /// Rows.
    #[must_use]
    pub const fn height_px(self) -> u32 {
        self.height_px
    }

    /// Bytes of a tight I420 picture of this size.
    #[must_use]
    pub const fn i420_bytes(self) -> usize {
        self.width_px as usize * self.height_px as usize * 3 / 2
    }
}

/// A buffer that is not one picture long.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a picture of this scene has {wanted_bytes} bytes, not {given_bytes}")]
pub struct PictureSizeError {
    /// What [`Size::i420_bytes`] says.
    pub wanted_bytes: usize,
    /// The buffer's length.
    pub given_bytes: usize,
}

/// The demo scene.
pub struct Scene {
    seed: u64,
    start: CaptureUs,
    size: Size,
    light: Light,
    block: Option<Block>,
}

impl std::fmt::Debug for Scene {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Scene")
            .field("seed", &self.seed)
            .field("start", &self.start)
            .field("size", &self.size)
            .finish_non_exhaustive()
    }
}

impl Scene {
    /// Draws the room; before `start` nobody is in it.
    #[must_use]
    pub fn new(seed: u64, start: CaptureUs, size: Size) -> Self {
        Self {
            seed,
            start,
            size,
            light: Light::new(size),
            block: None,
        }
    }

    /// Draws the moment `at` as a tight I420 picture (BT.709, studio range),
    /// the strip carrying `at` in milliseconds.
    pub fn draw(&mut self, at: CaptureUs, picture: &mut [u8]) -> Result<(), PictureSizeError> {
        let refused = PictureSizeError {
            wanted_bytes: self.size.i420_bytes(),
            given_bytes: picture.len(),
        };
        if picture.len() != refused.wanted_bytes {
            return Err(refused);
        }
        picture.copy_from_slice(self.light.room_at(at.since(self.start)));
        let mut canvas = Canvas::new(picture, self.size).ok_or(refused)?;
        if at >= self.start {
            self.draw_children(&mut canvas, at.0 - self.start.0);
        }
        let (width, height) = (self.size.width_px as usize, self.size.height_px as usize);
        let (luma, chroma) = picture.split_at_mut(width * height);
        strip::draw(luma, width, width, height, at.as_ms());
        let under = strip::rows(height).div_ceil(2) * (width / 2);
        for plane in chroma.chunks_exact_mut(width * height / 4) {
            plane[..under].fill(128);
        }
        Ok(())
    }

    fn draw_children(&mut self, canvas: &mut Canvas<'_>, at_us: u64) {
        let view = room::View::of(self.size);
        let block = self.block_at(at_us);
        for passer in &block.passers {
            if (passer.from_us..passer.to_us).contains(&at_us) {
                let share =
                    (at_us - passer.from_us) as f32 / (passer.to_us - passer.from_us) as f32;
                let moment = attempt::passing(share, passer.rightwards);
                figure::draw(canvas, view, &moment, Shade::Passer(passer.rightwards));
            }
        }
        for attempt in &block.attempts {
            if (attempt.from_us..attempt.to_us).contains(&at_us) {
                let entered_us = at_us - attempt.from_us;
                let moment = attempt.script.moment(entered_us as f32 / 1e6);
                figure::draw(canvas, view, &moment, Shade::Gymnast);
                if moment.depth > 0.25 {
                    room::low_box(canvas, view);
                }
            }
        }
    }

    fn block_at(&mut self, at_us: u64) -> &Block {
        let number = Block::number_at(at_us);
        let known = self.block.take().filter(|block| block.number() == number);
        self.block
            .insert(known.unwrap_or_else(|| Block::new(self.seed, number)))
    }

    /// What truly happens from `from` up to, not including, `to`, in order. An
    /// answer covers at most one day.
    #[must_use]
    pub fn truth(&self, from: CaptureUs, to: CaptureUs) -> Vec<TruthEvent> {
        let from = from.max(self.start);
        let to = to.min(from.offset(schedule::MOST_TRUTH_US));
        if to <= from {
            return Vec::new();
        }
        let block = |at: CaptureUs| Block::number_at(at.0 - self.start.0);
        // What a block began may end a moment into the next.
        let first = block(from).saturating_sub(1);
        let mut events: Vec<TruthEvent> = (first..=block(to))
            .flat_map(|number| Block::new(self.seed, number).truth(self.start))
            .filter(|event| (from..to).contains(&event.at))
            .collect();
        events.sort_by_key(|event| (event.at, event.kind));
        events
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "in a test a panic is the report")]
mod tests;
