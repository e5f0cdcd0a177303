//! Whether a camera still looks where it looked: knocked, carried off or turned
//! to a door, it must not go on showing.
//!
//! What stands still is learnt as lines: where brightness changes sharply, and
//! which way, in nearly every look. No picture is kept, and none can be made of
//! what is. A look is held against them in parts of the picture, each by itself:
//!
//! - Light changes how strong a line is and not where it is.
//! - Whoever stands before the camera hides some parts, and the others stay. A
//!   camera that moved has moved everywhere.
//! - A part that looks like another (one window of four) says little: turned by a
//!   window's width the camera would see the same. So the more of a part is found
//!   elsewhere in its own view, the more of it has to be found where it was; and
//!   one part that is, is proof enough.
//!
//! At the first look that finds none, the view is *doubted*, and not shown; found
//! again soon, it was a hand before the lens. Otherwise it has *moved*, and only
//! somebody who looks says that it is right.
//!
//! Thresholds are from trying drawn rooms; common practice, no source. Not told:
//! a tripod that sinks slowly, a view without lines, where the camera turned to.
//!
//! Not here: decoding, when to look, what becomes of a picture in doubt.

mod lines;

use super::{Grey, sight::too_dark};
use lines::{Lines, Parts};

/// Looks until what stands still is known: whoever waits on the mat for three of
/// them is not part of it.
const LEARN: u32 = 8;
/// How much less than everything one look weighs: at first, and later, when a mat
/// that was carried in is to belong to the view within half a minute and a tripod
/// that sinks is not.
const FIRST: i16 = 8;
const LATER: i16 = 32;
/// What has changed since is learnt again so often, in looks.
const LEARN_ON: u32 = 64;
/// With fewer parts to judge by nothing is said.
const LEAST_PARTS: usize = 2;
/// So many looks in a row, and what was doubted has moved.
const AGREE: u32 = 3;
/// The same for a view without lines: a wall, or something close before the lens.
const BARE: u32 = 4;

/// Whether what a camera sees may be shown, as far as its aim goes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Trust {
    /// It may.
    #[default]
    Shown,
    /// Not now; perhaps in a moment.
    Doubted,
    /// Not until somebody has looked.
    Moved,
}

/// What one look found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Found {
    /// What stands still is not known yet.
    Learns,
    /// What was there is there.
    Same,
    /// Nothing of it.
    Elsewhere,
    /// Hardly a line at all.
    Bare,
}

/// A camera's aim, from one look to the next. See the module.
#[derive(Debug, Default)]
pub struct Aim {
    view: Option<View>,
    trust: Trust,
    /// Looks in a row that did not find what was there.
    odd: u32,
    /// The same that found nothing.
    bare: u32,
}

/// What stands still in the picture.
#[derive(Debug)]
struct View {
    lines: Lines,
    parts: Parts,
    looks: u32,
}

impl Aim {
    /// What is to be done with its pictures.
    #[must_use]
    pub const fn trust(&self) -> Trust {
        self.trust
    }

    /// The next look; in the dark there is none.
    pub fn look(&mut self, picture: Grey<'_>) -> Trust {
        if !too_dark(picture) {
            let found = self.find(picture);
            self.judge(found);
        }
        self.trust
    }

    /// Somebody has looked: as it is now it is right. What stands still is learnt
    /// anew.
    pub fn right(&mut self) {
        *self = Self::default();
    }

    fn find(&mut self, picture: Grey<'_>) -> Found {
        let seen = Lines::of(picture);
        let view = match self.view.take() {
            Some(view) if view.lines.is_like(&seen) => self.view.insert(view),
            // Held the other way it is another picture, whatever it shows.
            Some(view) if view.looks >= LEARN => {
                self.view = Some(view);
                return Found::Elsewhere;
            }
            _ => self.view.insert(View {
                lines: Lines::none_like(&seen),
                parts: Parts::default(),
                looks: 0,
            }),
        };
        view.find(&seen)
    }

    fn judge(&mut self, found: Found) {
        let (same, elsewhere) = (found == Found::Same, found == Found::Elsewhere);
        self.bare = if found == Found::Bare {
            self.bare + 1
        } else {
            0
        };
        self.trust = match self.trust {
            Trust::Moved => return,
            _ if found == Found::Learns || same => Trust::Shown,
            Trust::Shown if elsewhere || self.bare >= BARE => Trust::Doubted,
            before => before,
        };
        self.odd = if self.trust == Trust::Doubted {
            self.odd + 1
        } else {
            0
        };
        if self.odd >= AGREE {
            self.trust = Trust::Moved;
        }
    }
}

impl View {
    fn find(&mut self, seen: &Lines) -> Found {
        let known = self.looks >= LEARN && self.parts.count() >= LEAST_PARTS;
        if !known {
            self.learn(seen, self.looks + 1 >= LEARN);
            return Found::Learns;
        }
        if self.parts.found(seen) {
            self.learn(seen, self.looks.is_multiple_of(LEARN_ON));
            Found::Same
        } else if seen.are_bare(&self.parts) {
            Found::Bare
        } else {
            Found::Elsewhere
        }
    }

    fn learn(&mut self, seen: &Lines, settle: bool) {
        let first = self.looks < LEARN;
        self.lines.learn(seen, if first { FIRST } else { LATER });
        self.looks += 1;
        if settle {
            self.parts = self.lines.parts();
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "in a test a panic is the report")]
mod tests;
