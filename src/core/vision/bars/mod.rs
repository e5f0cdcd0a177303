//! Finds the [bars](crate::media::bars) of a screen in a picture of it, and
//! reads their time.
//!
//! The bars are as high as the screen, so any row that crosses it crosses all of
//! them: rows are read one by one, and where the screen is tilted or seen from
//! one side only the columns' width changes along the row. Several rows have to
//! agree. What is found must be a strip with its marker, its parity and its dark
//! end, *and* carry a time that can be: of 42 bits, some thirty are known. So a
//! picture of anything else is taken for a strip practically never.
//!
//! Not here: where the screen is in the picture (nobody needs to know), and what
//! a time means.

mod row;

use std::ops::RangeInclusive;

use super::{Grey, sight};

/// Rows looked at in each picture. A screen a fifth as high as the picture still
/// meets five of them with its bars.
const ROWS: usize = 36;

/// Rows that have to agree.
const ENOUGH: usize = 3;

/// A picture is looked at whole, at half and at a quarter of its size: columns of
/// the bars are then near the size at which edges are told best from noise.
const PARTS: [usize; 3] = [1, 2, 4];

/// What a picture shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seen {
    /// A screen with this time, in milliseconds.
    Time(u64),
    /// A screen whose upper and lower rows carry different times: it changed
    /// while the picture was taken.
    Changing,
    /// No screen that can be read.
    Nothing,
    /// The same, and hardly any light.
    Dark,
}

/// Looks for bars that carry one of these times.
#[must_use]
pub fn read(picture: Grey<'_>, possible_ms: &RangeInclusive<u64>) -> Seen {
    for part in PARTS {
        let times = (0..ROWS).filter_map(|index| {
            let middle = (2 * index + 1) * picture.height_px / (2 * ROWS);
            row::read(&signal(picture, middle, part), possible_ms)
        });
        let times: Vec<u64> = times.collect();
        if times.len() < ENOUGH {
            continue;
        }
        let usual = usual(&times);
        let agree = times.iter().filter(|time| **time == usual).count();
        // One row in eight may have been read through a reflection.
        return if agree >= ENOUGH && (times.len() - agree) * 8 <= times.len() {
            Seen::Time(usual)
        } else {
            Seen::Changing
        };
    }
    if sight::too_dark(picture) {
        Seen::Dark
    } else {
        Seen::Nothing
    }
}

/// The most frequent of them.
fn usual(times: &[u64]) -> u64 {
    let count = |time: u64| times.iter().filter(|other| **other == time).count();
    let most = times.iter().copied().max_by_key(|time| count(*time));
    most.unwrap_or_default()
}

/// Brightness along a row, `part` columns taken together, over some rows about
/// the middle one: noise halves with four pixels, and upright bars stay sharp.
fn signal(picture: Grey<'_>, middle: usize, part: usize) -> Vec<f32> {
    let rows = middle.saturating_sub(2 * part)..(middle + 2 * part + 1).min(picture.height_px);
    let mut sums = vec![0_u32; picture.width_px / part];
    for row in rows.clone() {
        let line = picture.row(row).chunks_exact(part);
        for (sum, pixels) in sums.iter_mut().zip(line) {
            *sum += pixels.iter().map(|y| u32::from(*y)).sum::<u32>();
        }
    }
    let count = (rows.len() * part) as f32;
    sums.into_iter().map(|sum| sum as f32 / count).collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "in a test a panic is the report")]
mod tests;
