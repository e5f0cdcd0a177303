//! How large letters have to be on a screen, and whether words fit beside the
//! picture at that size.
//!
//! The height of a letter is the height of a capital `I`, as the ADA measures
//! it; pages turn it into a font size by measuring the font they really have.
//!
//! Not here: drawing, fonts, and where on the page a part stands. The page
//! measures for itself; this says beforehand, and errs on the safe side.

/// One inch.
const INCH_MM: f64 = 25.4;
/// Screens are sold by their diagonal and are 16 wide to 9 high.
const ASPECT: (f64, f64) = (16.0, 9.0);

/// ADA 2010, 703.5.6: no letter that is meant to be read stands lower.
pub const ADA_LOWEST_BASELINE_MM: f64 = 40.0 * INCH_MM;
/// ISO 9241-3: the least and the preferred height of a capital, in minutes of
/// arc.
pub const ISO_LEAST_ARCMIN: f64 = 16.0;
/// See [`ISO_LEAST_ARCMIN`].
pub const ISO_PREFERRED_ARCMIN: f64 = 20.0;

/// Lines of words this far apart, as a share of the font's size: ADA 703.5.9
/// asks for 1.35 to 1.70 between baselines.
pub const LINE_SPACING: f64 = 1.35;

/// No letter's baseline is in this share of the picture's height, at its upper
/// edge: marks stand there. Higher lines would have to be larger.
pub const HEADROOM: f64 = 0.08;

/// A screen on a wall or a stand, and who looks at it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Screen {
    /// From corner to corner.
    pub diagonal_mm: f64,
    /// From the floor to the picture's lower edge.
    pub lower_edge_mm: f64,
    /// From the screen to the child who looks up.
    pub distance_mm: f64,
    /// How near somebody who cannot read it from there can come: from the
    /// screen to what is in the way.
    pub approach_mm: f64,
}

impl Default for Screen {
    /// A usual screen on a stand, looked at from six metres.
    fn default() -> Self {
        Self::read_from(65.0, 1_020.0, 6_000.0)
    }
}

impl Screen {
    /// A screen that nobody comes nearer to than they stand.
    #[must_use]
    pub fn read_from(diagonal_in: f64, lower_edge_mm: f64, distance_mm: f64) -> Self {
        Self {
            diagonal_mm: diagonal_in * INCH_MM,
            lower_edge_mm,
            distance_mm,
            approach_mm: distance_mm,
        }
    }

    /// How high the picture is.
    #[must_use]
    pub fn height_mm(&self) -> f64 {
        self.diagonal_mm * ASPECT.1 / ASPECT.0.hypot(ASPECT.1)
    }

    /// The letters it needs.
    ///
    /// The highest line decides for all: the table asks for no smaller letter
    /// further up, and one page has one smallest letter. The ADA measures the
    /// distance to what keeps a reader from coming closer, the standard for
    /// displays to where the reader is.
    #[must_use]
    pub fn letters(&self) -> Letters {
        let top_in = (self.lower_edge_mm + self.height_mm()) / INCH_MM;
        let nearest_in = self.approach_mm.min(self.distance_mm) / INCH_MM;
        let headroom_in = self.height_mm() * HEADROOM / INCH_MM;
        // No baseline is nearer to the upper edge than a letter is high.
        let rows_in = [70.0, 120.0, f64::INFINITY];
        let rows = rows_in.map(|row_in| (row_in, ada_least_in(row_in, nearest_in)));
        let (_, ada_in) = rows
            .into_iter()
            .find(|(row_in, least_in)| top_in - least_in.max(headroom_in) <= *row_in)
            // Not reached: the last row has no end.
            .unwrap_or(rows[2]);
        let ada_mm = ada_in * INCH_MM;
        let least_mm = ada_mm.max(visual_angle_mm(self.distance_mm, ISO_LEAST_ARCMIN));
        let preferred_mm = ada_mm.max(visual_angle_mm(self.distance_mm, ISO_PREFERRED_ARCMIN));
        let height = self.height_mm();
        Letters {
            least_mm,
            least: least_mm / height,
            preferred: preferred_mm / height,
        }
    }

    /// Whether its lowest lines are below what the ADA lets stand for reading.
    #[must_use]
    pub fn hangs_low(&self) -> bool {
        self.lower_edge_mm < ADA_LOWEST_BASELINE_MM
    }
}

/// The least height of a capital by ADA 2010, table 703.5.5, in inches as the
/// table has it: its millimetres are rounded.
#[must_use]
pub fn ada_least_in(baseline_in: f64, distance_in: f64) -> f64 {
    // Up to this baseline: at least so much, up to that distance.
    let (least_in, free_in) = if baseline_in <= 70.0 {
        (0.625, 72.0)
    } else if baseline_in <= 120.0 {
        (2.0, 180.0)
    } else {
        (3.0, 252.0)
    };
    // An eighth of an inch for each foot beyond.
    least_in + 0.125 * ((distance_in - free_in) / 12.0).max(0.0)
}

/// How high something is that takes up so many minutes of arc at a distance.
#[must_use]
pub fn visual_angle_mm(distance_mm: f64, arcmin: f64) -> f64 {
    2.0 * distance_mm * (arcmin / 60.0 / 2.0).to_radians().tan()
}

/// Heights of a capital on one screen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Letters {
    /// The smallest there may be.
    pub least_mm: f64,
    /// The same as a share of the picture's height.
    pub least: f64,
    /// What reads with ease, as a share of the picture's height; at least the
    /// smallest.
    pub preferred: f64,
}

impl Letters {
    /// The smallest in pixels, on a page so many pixels high.
    #[must_use]
    pub fn least_px(&self, height_px: f64) -> f64 {
        self.least * height_px
    }
}

/// The share of the width that the late picture keeps at the very least.
pub const LEAST_PICTURE: f64 = 0.54;
/// The strip below it, as shares of the page's height, figure and margins taken
/// off (`web/style/tv.css`).
const FOOT_WIDTH: f64 = ASPECT.0 / ASPECT.1 * (1.0 - 0.21) - 0.12;
/// See [`FOOT_WIDTH`].
const FOOT_HEIGHT: f64 = 1.0 - LEAST_PICTURE - 0.04;
/// A capital is at most this share of the font's size, and a space between
/// lines is reckoned by the font (`DejaVu` Sans 0.729, Roboto 0.711, Arial 0.716;
/// from memory but for the first, which was measured).
const CAPITAL: f64 = 0.70;

/// How much wider cue and task are, which are set in bold (`DejaVu` Sans Bold
/// against `DejaVu` Sans, the widest letters; from memory).
const BOLD: f64 = 1.12;

/// Whether a cue has room on a screen when everything else that has words has
/// made way for it.
#[must_use]
pub fn cue_fits(cue: &str, screen: &Screen) -> bool {
    let capital = screen.letters().least;
    let line = capital / CAPITAL * LINE_SPACING;
    let most = (FOOT_HEIGHT / line).floor();
    let needed = lines(cue, FOOT_WIDTH / capital / BOLD);
    needed.is_some_and(|needed| f64::from(needed) <= most)
}

/// How many lines words take, broken where there is a space; `None` where a
/// single word is too long. The width is in heights of a capital.
#[must_use]
pub fn lines(words: &str, width: f64) -> Option<u32> {
    let space = advance(' ');
    let mut count = 1;
    let mut at = 0.0;
    for word in words.split_whitespace() {
        let long = width_of(word);
        if long > width {
            return None;
        }
        let on = if at > 0.0 { at + space + long } else { long };
        if on <= width {
            at = on;
        } else {
            count += 1;
            at = long;
        }
    }
    Some(count)
}

/// How wide words are on one line, in heights of a capital.
#[must_use]
pub fn width_of(words: &str) -> f64 {
    words.chars().map(advance).sum()
}

/// A character's width in heights of a capital: that of `DejaVu` Sans, the widest
/// face a page of ours is likely to find, rounded up in groups. Measured; the
/// page in a browser is held against it.
fn advance(character: char) -> f64 {
    let em = match character {
        ' ' => 0.32,
        'i' | 'j' | 'l' | 'I' | 'J' | 'í' | '.' | ',' | ':' | ';' | '\'' | '’' | '|' => 0.34,
        'f' | 't' | 'r' | '(' | ')' | '-' | '/' | '!' | '¡' => 0.42,
        's' | 'z' | 'c' | '"' | '“' | '”' | '?' | '¿' => 0.55,
        'k' | 'v' | 'x' | 'y' => 0.60,
        'a'..='l' | 'n'..='q' | 'u' | '0'..='9' | 'á' | 'é' | 'ó' | 'ú' | 'ü' | 'ñ' => 0.64,
        'A'..='C' | 'E' | 'F' | 'K' | 'L' | 'P' | 'R'..='T' | 'V' | 'X'..='Z' => 0.70,
        'D' | 'G' | 'H' | 'N' | 'O' | 'Q' | 'U' | 'w' => 0.82,
        'M' => 0.87,
        _ => 1.0,
    };
    em / 0.729
}

mod room;
#[cfg(test)]
mod tests;

pub use room::{Part, Words, without_room};
