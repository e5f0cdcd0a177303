//! What can be told from a picture's brightness alone, and nothing else is
//! asked of it: no person, no face, no movement.
//!
//! - [`Grey`]: a picture's luma.
//! - [`bars`]: the time on a screen that a camera under calibration films.
//! - [`Calibration`]: from such times to how long the camera takes.
//! - [`trouble`], [`Sight`]: whether a camera sees well enough, and what is said
//!   of it.
//!
//! Not here: decoding, cameras, clocks, and keeping a picture: each is looked
//! at once and let go.

pub mod bars;
mod calibration;
mod sight;

pub use calibration::{Calibration, Latency, Unclear};
pub use sight::{Sight, Trouble, trouble};

/// A picture's luma, row by row without gaps.
#[derive(Clone, Copy)]
pub struct Grey<'a> {
    luma: &'a [u8],
    width_px: usize,
    height_px: usize,
}

impl std::fmt::Debug for Grey<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Grey({}×{})", self.width_px, self.height_px)
    }
}

impl<'a> Grey<'a> {
    /// A picture of so many columns; `None` for a buffer of another length.
    #[must_use]
    pub fn new(luma: &'a [u8], width_px: usize, height_px: usize) -> Option<Self> {
        let fits = width_px > 0 && width_px.checked_mul(height_px) == Some(luma.len());
        fits.then_some(Self {
            luma,
            width_px,
            height_px,
        })
    }

    fn row(self, row: usize) -> &'a [u8] {
        &self.luma[row * self.width_px..(row + 1) * self.width_px]
    }
}
