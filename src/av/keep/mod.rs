//! Makes what is kept: a still or a clip out of pictures that were seen, with
//! everything but the mat covered. All of it happens in memory.
//!
//! ```text
//! appsrc ! decoder ! videoconvertscale ! I420 ! appsink
//!     → covered here, picture by picture →
//! appsrc ! encoder ! h264parse ! appsink → an MP4 file
//! appsrc ! videoconvertscale ! RGB ! appsink → a JPEG
//! ```
//!
//! It takes a [`Permit`], and makes nothing that lies outside the permit's
//! capture interval. What is covered is painted over before anything is encoded,
//! so that the encoder never sees it.
//!
//! Not here: keeping it, and whose pictures they are.

mod film;
mod jpeg;
mod raw;

use std::time::Duration;

use afterturn_core::{
    consent::{Medium, Permit},
    kernel::CaptureUs,
    media::{Cover, Fragment, I420, Mat, MovieError, ParameterSets},
};
use gstreamer as gst;

use super::decode::DecodeError;

/// A step that is not done by then never will be: a clip takes seconds.
const PATIENCE: Duration = Duration::from_secs(20);

/// What is cut out of: pictures from one that stands by itself.
#[derive(Clone, Copy, Debug)]
pub struct Source<'s> {
    /// What they need to be decoded.
    pub params: &'s ParameterSets,
    /// In order; each leans on those before it.
    pub pictures: &'s [Fragment],
    /// The first one that is meant.
    pub from: CaptureUs,
}

/// What of it is to be seen.
#[derive(Clone, Copy, Debug)]
pub enum Seen<'m> {
    /// The mat, and nothing round it.
    Mat(&'m Mat),
    /// All of it: for who has leave for everybody in it.
    Whole,
}

/// Why nothing was made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum KeepError {
    /// The permit is for something else, or for another time.
    #[error("the permit is not for these pictures")]
    NotPermitted,
    /// A part is missing, or the pictures cannot be decoded.
    #[error(transparent)]
    Decode(#[from] DecodeError),
    /// They are of a form that cannot be covered.
    #[error("these pictures cannot be covered")]
    Form,
    /// No encoder works.
    #[error("the encoder refused the pictures")]
    Encode,
    /// They make no file.
    #[error(transparent)]
    Movie(#[from] MovieError),
}

impl Source<'_> {
    /// Whether a permit is for exactly such a thing and all of these pictures.
    fn permitted(&self, permit: &Permit, medium: Medium) -> Result<(), KeepError> {
        let interval = permit.interval();
        let last = self.pictures.last().map(|last| last.capture);
        let within = last.is_some_and(|last| {
            interval.from <= self.from && self.from <= last && last <= interval.to
        });
        if within && permit.medium() == medium {
            Ok(())
        } else {
            Err(KeepError::NotPermitted)
        }
    }

    /// Until when the picture of a capture time is seen.
    fn duration_us(&self, at: CaptureUs) -> Option<u32> {
        let place = self.pictures.binary_search_by_key(&at, |one| one.capture);
        place.ok().map(|place| self.pictures[place].duration_us)
    }
}

/// A raw picture with its time, covered.
struct Painted {
    at: CaptureUs,
    pixels: Vec<u8>,
}

/// Decodes, covers, and hands each picture on; the form they all have.
fn painted(
    source: &Source<'_>,
    seen: Seen<'_>,
    mut take: impl FnMut(&gst::Caps, Painted) -> Result<(), KeepError>,
) -> Result<(), KeepError> {
    let mut cover: Option<(gst::Caps, Option<Cover>, I420)> = None;
    raw::decoded(source, |caps, at, pixels| {
        if at < source.from {
            return Ok(());
        }
        if cover.as_ref().is_none_or(|(known, ..)| known != caps) {
            let layout = layout(caps).ok_or(KeepError::Form)?;
            let round = match seen {
                Seen::Mat(mat) => Some(Cover::round(mat, layout)),
                Seen::Whole => None,
            };
            // A film is of one size.
            if cover.replace((caps.clone(), round, layout)).is_some() {
                return Err(KeepError::Form);
            }
        }
        let (_, round, layout) = cover.as_ref().ok_or(KeepError::Form)?;
        let mut pixels = pixels.to_vec();
        let painted = match round {
            Some(cover) => cover.paint(&mut pixels),
            None => pixels.len() == layout.bytes(),
        };
        if !painted {
            return Err(KeepError::Form);
        }
        take(caps, Painted { at, pixels })
    })
}

fn layout(caps: &gst::Caps) -> Option<I420> {
    let form = caps.structure(0)?;
    let px = |name| u32::try_from(form.get::<i32>(name).ok()?).ok();
    I420::new(px("width")?, px("height")?)
}

/// A clip: an MP4 file of H.264, its index first, that any player plays. Blocks
/// for some seconds.
pub fn clip(permit: &Permit, source: &Source<'_>, seen: Seen<'_>) -> Result<Vec<u8>, KeepError> {
    source.permitted(permit, Medium::Clip)?;
    let mut film = None;
    painted(source, seen, |caps, picture| {
        let film = match &mut film {
            Some(film) => film,
            none => none.insert(film::Film::start(caps)?),
        };
        let duration_us = source.duration_us(picture.at).ok_or(KeepError::Form)?;
        film.take(picture.pixels, duration_us)
    })?;
    film.ok_or(DecodeError::Refused)?.finish()
}

/// A still of the last picture, at full size: a JPEG that says nothing but what
/// is to be seen. Blocks for some tenths of a second.
pub fn still(permit: &Permit, source: &Source<'_>, seen: Seen<'_>) -> Result<Vec<u8>, KeepError> {
    source.permitted(permit, Medium::Still)?;
    let mut last = None;
    painted(source, seen, |caps, picture| {
        last = Some((caps.clone(), picture.pixels));
        Ok(())
    })?;
    let (caps, pixels) = last.ok_or(DecodeError::Refused)?;
    jpeg::of(&caps, pixels)
}

#[cfg(test)]
pub(crate) mod tests;
