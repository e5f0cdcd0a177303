//! The time strip as a whole screen shows it while a camera is calibrated: its
//! cells as upright bars in a frame, for a camera across the room to read.
//!
//! The width of the screen is cut into [`ACROSS`] equal columns:
//!
//! | columns | what |
//! |---|---|
//! | 0–1 | dark |
//! | 2 | light: the frame |
//! | 3 | dark |
//! | 4–51 | the 48 cells of the [`strip`] |
//! | 52 | light: the frame |
//! | 53–54 | dark |
//!
//! The strip's last cell is always dark, so the bars stand between two light
//! columns of known width, one column apart from them on either side. The bars
//! fill the rows from [`TOP`] to [`FOOT`]; what is above and below is dark, with
//! a sentence for people at the foot.
//!
//! A screen holds each time for at least [`HOLD_MS`], so that no bar changes more
//! than twice a second: one flash a second where three are allowed (WCAG 2.2,
//! success criterion 2.3.1), and no camera's exposure blends two changes. The
//! time in it is that of the *change*, not of the picture.
//!
//! Not here: drawing (`web/live/bars.js` does, and the drawn
//! [`FilmedScreen`](crate::scene::FilmedScreen) of the tests), and finding the
//! bars in a picture.

use super::strip::{self, CELLS};

/// Columns across the screen.
pub const ACROSS: usize = 55;

/// The column where the frame begins on the left.
pub const LEFT: usize = 2;

/// The column of the strip's first cell.
pub const FIRST: usize = 4;

/// The first column beyond the frame on the right.
pub const RIGHT: usize = 53;

/// Where the bars begin, as a share of the screen's height.
pub const TOP: f32 = 0.06;

/// Where they end.
pub const FOOT: f32 = 0.84;

/// The least time between two changes.
pub const HOLD_MS: u64 = 500;

/// Which columns are light at this time.
#[must_use]
pub fn columns(time_ms: u64) -> [bool; ACROSS] {
    let mut columns = [false; ACROSS];
    columns[LEFT] = true;
    columns[RIGHT - 1] = true;
    columns[FIRST..FIRST + CELLS].copy_from_slice(&strip::encode(time_ms));
    columns
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bars_stand_between_two_light_columns_one_apart() {
        let text = |time_ms| {
            let columns = columns(time_ms).map(|light| if light { '#' } else { '.' });
            columns.iter().collect::<String>()
        };
        assert_eq!(
            text(0),
            "..#.#.#.............................................#.."
        );
        // The same time stands in tests/web/bars.test.mjs, for what a page draws.
        assert_eq!(
            text(1_790_000_000_123),
            "..#.#.#..##.#.....##...#...#.#.....##.##...####.##..#.."
        );
        assert_eq!(ACROSS, text(0).len());
        assert_eq!(&text(0)[RIGHT - 1..RIGHT], "#");
    }
}
