//! Spoils pictures as bad light and a lens out of focus do, strip and all.
//!
//! Not here: the scene, and the noise of a cheap sensor (see `grain`).

/// How a camera sees badly.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum Poorly {
    /// Hardly any light
    Dark,
    /// A bright window behind, shadows before it
    Backlit,
    /// Out of focus
    Soft,
}

/// A sixteenth of the picture's width.
const SPOT: usize = 16;

impl Poorly {
    /// Over a picture's luma, in studio range.
    pub(crate) fn over(self, luma: &mut [u8], width: usize) {
        match self {
            Self::Dark => darken(luma, 8),
            Self::Backlit => {
                darken(luma, 5);
                let rows = luma.len() / width;
                for row in luma.chunks_exact_mut(width).take(rows * 2 / 3) {
                    row[width / 6..width * 5 / 6].fill(232);
                }
            }
            Self::Soft => soften(luma, width),
        }
    }
}

fn darken(luma: &mut [u8], parts: u8) {
    for y in luma {
        *y = 16 + y.saturating_sub(16) / parts;
    }
}

/// The mean over a square about each point.
fn soften(luma: &mut [u8], width: usize) {
    let spot = width / SPOT;
    let rows = luma.len() / width;
    // Sums of everything above and to the left.
    let mut sums = vec![0_u32; (width + 1) * (rows + 1)];
    for row in 0..rows {
        let mut along = 0;
        for column in 0..width {
            along += u32::from(luma[row * width + column]);
            sums[(row + 1) * (width + 1) + column + 1] =
                sums[row * (width + 1) + column + 1] + along;
        }
    }
    for row in 0..rows {
        let (top, foot) = (row.saturating_sub(spot / 2), (row + spot / 2 + 1).min(rows));
        for column in 0..width {
            let left = column.saturating_sub(spot / 2);
            let right = (column + spot / 2 + 1).min(width);
            let sum = |row: usize, column: usize| sums[row * (width + 1) + column];
            let all = sum(foot, right) + sum(top, left) - sum(top, right) - sum(foot, left);
            luma[row * width + column] = (all / ((foot - top) * (right - left)) as u32) as u8;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_soft_has_no_edge_and_is_as_bright_as_before() {
        let mut luma: Vec<u8> = (0..64 * 36)
            .map(|at| if at % 64 < 32 { 16 } else { 216 })
            .collect();
        Poorly::Soft.over(&mut luma, 64);
        let row = &luma[64 * 20..64 * 21];
        assert!(
            row.windows(2).all(|two| two[1].abs_diff(two[0]) <= 48),
            "{row:?}"
        );
        assert_eq!((row[4], row[60]), (16, 216));
    }
}
