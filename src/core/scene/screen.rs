//! A screen that is being filmed: the [bars](crate::media::bars) of a station
//! under calibration as a camera in a drawn gym sees them, for tests of whoever
//! reads them.
//!
//! The screen may fill only part of the picture, be tilted, seen from one side,
//! dim, out of focus, noisy, and stand before a wall that has bars of its own.
//!
//! Not here: children, colour, lenses that bend lines, a clock, an encoder.

use super::random::Random;
use crate::media::bars;

/// How the screen stands in the picture, and how well it is seen.
#[derive(Clone, Copy, Debug)]
pub struct Filming {
    /// Columns of the picture.
    pub width_px: usize,
    /// Its rows.
    pub height_px: usize,
    /// The screen's middle, in shares of the picture's width and height.
    pub middle: (f32, f32),
    /// The screen's width as a share of the picture's.
    pub across: f32,
    /// Turned in the picture, in degrees.
    pub tilt_deg: f32,
    /// Seen from one side, in degrees away from straight ahead; the camera is
    /// two widths of the screen away.
    pub aside_deg: f32,
    /// Brightness of the screen's dark and light columns.
    pub levels: (u8, u8),
    /// Out of focus: a point becomes a spot of about this radius.
    pub blur_px: usize,
    /// Noise of up to so much either way.
    pub noise: u8,
}

impl Filming {
    /// Straight ahead, sharp, filling most of the picture.
    #[must_use]
    pub const fn well(width_px: usize, height_px: usize) -> Self {
        Self {
            width_px,
            height_px,
            middle: (0.5, 0.5),
            across: 0.8,
            tilt_deg: 0.0,
            aside_deg: 0.0,
            levels: (24, 210),
            blur_px: 0,
            noise: 0,
        }
    }
}

/// The screen's own shape.
const SCREEN_RATIO: f32 = 16.0 / 9.0;
/// How far the camera is, in widths of the screen.
const AWAY: f32 = 2.0;
/// Looked at so often within the width of a pixel.
const LOOKS: usize = 4;

/// What a look meets, where it is no column of the bars.
const WALL: u8 = u8::MAX;
const DARK: u8 = u8::MAX - 1;

/// See the module.
#[derive(Debug)]
pub struct FilmedScreen {
    filming: Filming,
    /// What each look meets: a column of the bars, the screen's dark, the wall.
    met: Vec<u8>,
    wall: Vec<u8>,
    random: Random,
}

impl FilmedScreen {
    /// A screen before a wall.
    #[must_use]
    pub fn new(filming: Filming, seed: u64) -> Self {
        let mut random = Random::new(seed, 0);
        let wall = wall(&filming, &mut random);
        let mut met = Vec::with_capacity(wall.len() * LOOKS);
        for row in 0..filming.height_px {
            for look in 0..filming.width_px * LOOKS {
                let column = (look as f32 + 0.5) / LOOKS as f32;
                met.push(meets(&filming, column, row as f32 + 0.5));
            }
        }
        Self {
            filming,
            met,
            wall,
            random,
        }
    }

    /// One picture's luma, row by row. A time is on the screen, or it has been
    /// changing during the exposure: then `lit` of it belong to the new one.
    #[must_use]
    pub fn film(&mut self, before_ms: u64, now_ms: u64, lit: f32) -> Vec<u8> {
        let (dark, light) = self.filming.levels;
        let level = |before: bool, now: bool| {
            let share = f32::from(u8::from(before)) * (1.0 - lit) + f32::from(u8::from(now)) * lit;
            f32::from(dark) + share * (f32::from(light) - f32::from(dark))
        };
        let mut levels = [f32::from(dark); u8::MAX as usize + 1];
        let pairs = bars::columns(before_ms)
            .into_iter()
            .zip(bars::columns(now_ms));
        for (column, (before, now)) in pairs.enumerate() {
            levels[column] = level(before, now);
        }
        let mut luma = Vec::with_capacity(self.wall.len());
        for (looks, wall) in self.met.chunks_exact(LOOKS).zip(&self.wall) {
            levels[usize::from(WALL)] = f32::from(*wall);
            let sum: f32 = looks.iter().map(|met| levels[usize::from(*met)]).sum();
            luma.push((sum / LOOKS as f32).round() as u8);
        }
        blur(&mut luma, self.filming.width_px, self.filming.blur_px);
        self.add_noise(&mut luma);
        luma
    }

    /// Triangular: what two dice make.
    fn add_noise(&mut self, luma: &mut [u8]) {
        let most = u64::from(self.filming.noise);
        if most == 0 {
            return;
        }
        for eight in luma.chunks_mut(8) {
            let (mut dice, mut more) = (self.random.next(), self.random.next());
            for y in eight {
                let thrown = (dice & 0xff) * most / 255 + (more & 0xff) * most / 255;
                *y = (i64::from(*y) + thrown as i64 - most as i64).clamp(0, 255) as u8;
                dice >>= 8;
                more >>= 8;
            }
        }
    }
}

/// What is seen at a point of the picture.
fn meets(filming: &Filming, column: f32, row: f32) -> u8 {
    let width = filming.width_px as f32;
    // From the screen's middle, in widths of the screen.
    let x = (column - width * filming.middle.0) / (width * filming.across);
    let y = (row - filming.height_px as f32 * filming.middle.1) / (width * filming.across);
    let (sin, cos) = filming.tilt_deg.to_radians().sin_cos();
    let (x, y) = (x * cos + y * sin, y * cos - x * sin);
    // Where the line of sight meets the screen's plane.
    let (sin, cos) = filming.aside_deg.to_radians().sin_cos();
    let u = x * AWAY / (AWAY * cos - x * sin);
    let v = y * (AWAY + u * sin) / AWAY;
    let (u, v) = (u + 0.5, v * SCREEN_RATIO + 0.5);
    if !(0.0..1.0).contains(&u) || !(0.0..1.0).contains(&v) {
        WALL
    } else if (bars::TOP..bars::FOOT).contains(&v) {
        (u * bars::ACROSS as f32) as u8
    } else {
        DARK
    }
}

/// A wall with windows, posters and wall bars, each somewhere else for another
/// seed.
fn wall(filming: &Filming, random: &mut Random) -> Vec<u8> {
    let (width, height) = (filming.width_px, filming.height_px);
    let mut wall = vec![0; width * height];
    for (row, line) in wall.chunks_exact_mut(width).enumerate() {
        line.fill((110 + 40 * row / height) as u8);
    }
    for _ in 0..8 {
        let level = random.between(16.0, 235.0) as u8;
        let (left, top) = (random.unit(), random.unit());
        let (wide, high) = (random.between(0.02, 0.3), random.between(0.05, 0.5));
        // Every third is a set of upright bars.
        let pitch = if random.unit() < 0.34 {
            random.between(4.0, 24.0)
        } else {
            f32::INFINITY
        };
        let rows = (top * height as f32) as usize..((top + high) * height as f32) as usize;
        let columns = (left * width as f32) as usize..((left + wide) * width as f32) as usize;
        for row in rows.start..rows.end.min(height) {
            for column in columns.start..columns.end.min(width) {
                if (column - columns.start) as f32 / pitch % 1.0 < 0.5 {
                    wall[row * width + column] = level;
                }
            }
        }
    }
    wall
}

/// Two running means each way: close to the round spot of a lens.
fn blur(luma: &mut [u8], width: usize, radius: usize) {
    if radius == 0 {
        return;
    }
    let height = luma.len() / width;
    let mut line = Vec::new();
    for _ in 0..2 {
        for row in 0..height {
            line.clear();
            line.extend_from_slice(&luma[row * width..(row + 1) * width]);
            running_mean(&line, radius, |at, y| luma[row * width + at] = y);
        }
        for column in 0..width {
            line.clear();
            line.extend((0..height).map(|row| luma[row * width + column]));
            running_mean(&line, radius, |at, y| luma[at * width + column] = y);
        }
    }
}

fn running_mean(line: &[u8], radius: usize, mut put: impl FnMut(usize, u8)) {
    let at = |index: i64| u32::from(line[index.clamp(0, line.len() as i64 - 1) as usize]);
    let radius = radius as i64;
    let count = (2 * radius + 1) as u32;
    let mut sum: u32 = (-radius..=radius).map(at).sum();
    for index in 0..line.len() as i64 {
        put(index as usize, ((sum + count / 2) / count) as u8);
        sum = sum + at(index + radius + 1) - at(index - radius);
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "in a test a panic is the report")]
mod tests {
    use super::*;

    const TIME_MS: u64 = 1_790_000_000_123;

    fn light(luma: &[u8], column: usize, row: usize) -> bool {
        luma[row * 550 + column] > 120
    }

    #[test]
    fn straight_ahead_the_columns_stand_where_they_are_said_to() {
        let filming = Filming {
            across: 1.0,
            ..Filming::well(550, 310)
        };
        let luma = FilmedScreen::new(filming, 1).film(0, TIME_MS, 1.0);
        for (column, one) in bars::columns(TIME_MS).into_iter().enumerate() {
            assert_eq!(light(&luma, column * 10 + 1, 155), one, "column {column}");
            assert_eq!(light(&luma, column * 10 + 8, 155), one, "column {column}");
        }
        assert!((0..550).all(|column| !light(&luma, column, 5)), "above");
        assert!((0..550).all(|column| !light(&luma, column, 300)), "below");
    }

    #[test]
    fn from_the_side_the_far_end_is_narrower() {
        let filming = Filming {
            aside_deg: 30.0,
            // Lighter than any wall.
            levels: (0, 255),
            ..Filming::well(550, 310)
        };
        let luma = FilmedScreen::new(filming, 1).film(TIME_MS, TIME_MS, 0.0);
        let row = &luma[155 * 550..156 * 550];
        let light: Vec<usize> = (0..550).filter(|x| row[*x] > 250).collect();
        let run = |x: usize, step: isize| {
            let along = (0..).map(|n| x.wrapping_add_signed(n * step));
            along.take_while(|x| light.contains(x)).count()
        };
        let (near, far) = (run(light[0], 1), run(*light.last().unwrap(), -1));
        assert!(near > far + 1 && far > 3, "{near} {far}");
    }

    #[test]
    fn half_an_exposure_is_half_as_light() {
        let filming = Filming {
            across: 1.0,
            ..Filming::well(550, 310)
        };
        // Only the lowest bit and the parity differ.
        let luma = FilmedScreen::new(filming, 1).film(2, 3, 0.5);
        let middle = |column: usize| luma[155 * 550 + column * 10 + 5];
        assert_eq!((middle(49), middle(48)), (117, 210));
    }
}
