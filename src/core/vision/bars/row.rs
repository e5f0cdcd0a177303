//! One row of a picture: finds the bars by their edges, counts along them from
//! the left frame to the right one, then reads each column by its brightness.
//!
//! Not here: which rows, and what their agreement is worth.

use std::ops::RangeInclusive;

use crate::media::{
    bars::{ACROSS, FIRST, LEFT, RIGHT},
    strip::{self, CELLS},
};

/// How steep an edge has to be, in steps of brightness over two pixels; tried
/// one after the other, because a dim screen's edges are a bright wall's noise.
const STEEP: [f32; 5] = [40.0, 20.0, 10.0, 5.0, 2.5];

/// The frame's light column, a dark one, and the marker `1 0 1`, then dark: six
/// edges one column apart. Where they are, bars may begin.
const BEGIN: usize = 6;

/// How much the first columns may differ in width: a bright screen blooms, so
/// light ones look wider than dark ones.
const UNEVEN: f32 = 0.4;

/// How much the first edges may differ in steepness.
const UNLIKE: f32 = 3.0;

/// Columns narrower than this, in pixels, cannot be told apart.
const NARROWEST: f32 = 1.9;

/// An edge further than this from a column's boundary, in columns, is none of
/// the bars'.
const ASTRAY: f32 = 0.42;

/// Edges from which the width of a column is reckoned on the way: enough for
/// noise and bloom to cancel out, few enough to follow a lens that bends lines.
const LAST_EDGES: usize = 8;

/// How many times as wide as the first column the last one may look, seen from
/// one side. From one to the next the walk adapts by itself.
const SLANTS: [f32; 9] = [1.0, 0.87, 1.15, 0.75, 1.33, 0.65, 1.55, 0.56, 1.8];

/// How far, in columns, edges may be on average from where a plane seen from
/// some side has them. Where the count went astray by one and came back, they
/// are further.
const BENT: f32 = 0.2;

/// Before and behind the frame two columns are dark; so much of them at least.
const MARGIN: f32 = 1.5;

/// A column's brightness has to be this far from the middle between dark and
/// light, as a share of the half distance. What is in between has been changing.
const CLEAR: f32 = 0.3;

/// Dark and light have to be so far apart at the least.
const LEAST_CONTRAST: f32 = 6.0;

/// Where brightness changes fastest.
#[derive(Clone, Copy)]
struct Edge {
    /// In pixels: a pixel begins at its own number.
    at: f32,
    /// Steps of brightness over two pixels; positive towards light.
    slope: f32,
}

/// The time of the bars this row crosses, if it can be told.
pub(super) fn read(signal: &[f32], possible_ms: &RangeInclusive<u64>) -> Option<u64> {
    let slopes: Vec<f32> = signal.windows(3).map(|w| w[2] - w[0]).collect();
    STEEP.iter().find_map(|steep| {
        let edges = edges(&slopes, *steep);
        let mut starts = (0..edges.len()).filter(|start| begins(&edges, *start));
        starts.find_map(|start| {
            let walked = SLANTS
                .iter()
                .filter_map(|slant| walk(&edges[start..], *slant));
            let closest = walked.min_by(|one, other| one.astray.total_cmp(&other.astray))?;
            let cells = cells(signal, &closest.columns)?;
            let time_ms = strip::decode(&cells).ok()?;
            possible_ms.contains(&time_ms).then_some(time_ms)
        })
    })
}

/// Edges by turns up and down, at least so steep.
fn edges(slopes: &[f32], steep: f32) -> Vec<Edge> {
    let mut edges: Vec<Edge> = Vec::new();
    for (index, three) in slopes.windows(3).enumerate() {
        let [before, slope, after] = [three[0], three[1], three[2]];
        let peak = (slope >= steep && slope >= before && slope > after)
            || (slope <= -steep && slope <= before && slope < after);
        if !peak {
            continue;
        }
        // The top of the parabola through the three.
        let bend = before - 2.0 * slope + after;
        let off = if bend == 0.0 {
            0.0
        } else {
            0.5 * (before - after) / bend
        };
        let edge = Edge {
            at: index as f32 + 2.5 + off,
            slope,
        };
        match edges.last_mut() {
            // Two the same way: the steeper one is the edge.
            Some(last) if (last.slope > 0.0) == (slope > 0.0) => {
                if slope.abs() > last.slope.abs() {
                    *last = edge;
                }
            }
            _ => edges.push(edge),
        }
    }
    edges
}

/// Whether the edges from this one on may be the first of the bars.
fn begins(edges: &[Edge], start: usize) -> bool {
    let Some(six) = edges.get(start..start + BEGIN) else {
        return false;
    };
    let width = (six[BEGIN - 1].at - six[0].at) / (BEGIN - 1) as f32;
    let steepness = six.iter().map(|edge| edge.slope.abs());
    let (least, most) = steepness.fold((f32::MAX, 0.0_f32), |(least, most), slope| {
        (least.min(slope), most.max(slope))
    });
    let before = start.checked_sub(1).map(|before| edges[before].at);
    six[0].slope > 0.0
        && width >= NARROWEST
        && most <= least * UNLIKE
        && before.is_none_or(|at| six[0].at - at > MARGIN * width)
        && six
            .windows(2)
            .all(|two| ((two[1].at - two[0].at) / width - 1.0).abs() <= UNEVEN)
}

/// The way along the bars.
struct Walked {
    /// For each edge up to the right frame's end, the column that begins there
    /// and where that is.
    columns: Vec<(usize, f32)>,
    /// How far the edges are on average, in columns, from where the closest view
    /// of a plane has them.
    astray: f32,
}

/// Counts columns from edge to edge.
fn walk(edges: &[Edge], slant: f32) -> Option<Walked> {
    // A plane seen from one side: column `n` after the frame begins at
    // a·n / (1 + b·n) after it, so its width goes as 1 / (1 + b·n)².
    let bend = (1.0 / slant.sqrt() - 1.0) / (RIGHT - LEFT) as f32;
    let straightened = |column: usize, at: f32| {
        let n = (column - LEFT) as f32;
        (n, (at - edges[0].at) * (1.0 + bend * n))
    };
    let mut walked: Vec<(usize, f32)> = (LEFT..)
        .zip(&edges[..BEGIN])
        .map(|(column, edge)| (column, edge.at))
        .collect();
    for (index, edge) in edges.iter().enumerate().skip(BEGIN) {
        let lately = walked.iter().skip(walked.len().saturating_sub(LAST_EDGES));
        let (width, begin) = line(lately.map(|(column, at)| straightened(*column, *at)));
        let along = edge.at - edges[0].at;
        // (along) · (1 + bend·n) = begin + width·n
        let n = (along - begin) / (width - bend * along);
        let whole = n.round();
        let last = walked[walked.len() - 1].0;
        let column = LEFT + whole as usize;
        if (n - whole).abs() > ASTRAY || column <= last {
            return None;
        }
        walked.push((column, edge.at));
        if column >= RIGHT {
            let width = (edge.at - walked[walked.len() - 2].1) / (column - last) as f32;
            let after = edges.get(index + 1);
            let ends = column == RIGHT
                && edge.slope < 0.0
                && after.is_none_or(|after| after.at - edge.at > MARGIN * width);
            let astray = astray(&walked);
            return (ends && astray <= BENT).then_some(Walked {
                columns: walked,
                astray,
            });
        }
    }
    None
}

/// [`Walked::astray`], for the view whose ends are where theirs are.
fn astray(walked: &[(usize, f32)]) -> f32 {
    let (first, last) = (walked[0].1, walked[walked.len() - 1].1);
    let across = (RIGHT - LEFT) as f32;
    // Shares of the way: counted, and seen. counted = (1 + b)·seen / (1 + b·seen).
    let shares = walked.iter().map(|(column, at)| {
        let counted = (column - LEFT) as f32 / across;
        (counted, (at - first) / (last - first))
    });
    let (mut products, mut squares) = (0.0, 0.0);
    for (counted, seen) in shares.clone() {
        let weight = seen * (1.0 - counted);
        products += (counted - seen) * weight;
        squares += weight * weight;
    }
    let bend = products / squares;
    let off = shares.map(|(counted, seen)| {
        let off = counted - (1.0 + bend) * seen / (1.0 + bend * seen);
        off * off
    });
    (off.sum::<f32>() / walked.len() as f32).sqrt() * across
}

/// The straight line closest to some points: its slope, and where it begins.
fn line(points: impl Iterator<Item = (f32, f32)> + Clone) -> (f32, f32) {
    let sum = |of: fn((f32, f32)) -> f32| points.clone().map(of).sum::<f32>();
    let count = sum(|_| 1.0);
    let (x, y) = (sum(|(x, _)| x) / count, sum(|(_, y)| y) / count);
    let (mut products, mut squares) = (0.0, 0.0);
    for point in points {
        let off = point.0 - x;
        products += off * (point.1 - y);
        squares += off * off;
    }
    let slope = products / squares;
    (slope, y - slope * x)
}

/// The strip's cells by their brightness, which must agree with the edges.
fn cells(signal: &[f32], walked: &[(usize, f32)]) -> Option<[bool; CELLS]> {
    let levels = levels(signal, walked);
    let (dark_left, light_left) = (
        (levels[3] + levels[5] + levels[7]) / 3.0,
        (levels[2] + levels[4] + levels[6]) / 3.0,
    );
    let (dark_right, light_right) = (levels[RIGHT - 2], levels[RIGHT - 1]);
    // Edges go by turns up and down, the first of them up.
    let mut by_edges = [false; ACROSS];
    for light in walked.chunks_exact(2) {
        by_edges[light[0].0..light[1].0].fill(true);
    }
    let mut cells = [false; CELLS];
    for (cell, one) in cells.iter_mut().enumerate() {
        let column = FIRST + cell;
        let share = (column - LEFT) as f32 / (RIGHT - LEFT) as f32;
        let dark = dark_left + (dark_right - dark_left) * share;
        let light = light_left + (light_right - light_left) * share;
        let half = (light - dark) / 2.0;
        let from_middle = levels[column] - light.midpoint(dark);
        if half * 2.0 < LEAST_CONTRAST || from_middle.abs() < half * CLEAR {
            return None;
        }
        *one = from_middle > 0.0;
        if *one != by_edges[column] {
            return None;
        }
    }
    Some(cells)
}

/// The mean brightness of the middle half of each column between the frames.
fn levels(signal: &[f32], walked: &[(usize, f32)]) -> [f32; ACROSS] {
    let mut levels = [0.0; ACROSS];
    for two in walked.windows(2) {
        let ((from, begin), (to, end)) = (two[0], two[1]);
        let width = (end - begin) / (to - from) as f32;
        for (index, level) in levels[from..to].iter_mut().enumerate() {
            let middle = begin + (index as f32 + 0.5) * width;
            let (first, last) = (middle - width / 4.0, middle + width / 4.0);

            let pixels = first.floor() as usize..=(last.ceil() as usize).saturating_sub(1);
            let pixels = signal.get(pixels).unwrap_or_default();
            *level = pixels.iter().sum::<f32>() / pixels.len().max(1) as f32;
        }
    }
    levels
}
