//! Lines and which way they go, and parts of a picture told by them.
//!
//! Not here: what it means that a part is where it was or is not.

use std::ops::Range;

use super::super::Grey;

/// Brightness changes by at least this over two points, weighted as Sobel's
/// operator does (eight times a step's height, where it is sharp)…
const LEAST: u16 = 40;
/// …and more than at this share of the points of a part: what stands close, in
/// stripes, leaves the lines beside it as they are.
const LINES: f32 = 0.82;
/// The upper and lower edge, where cameras write the date, which never moves.
const EDGE_ROWS: usize = 10;
/// The rest is looked at in so many parts.
const ACROSS: usize = 4;
const DOWN: usize = 3;
/// Lines of one way count from so many points, and this share of a part's.
const LEAST_POINTS: usize = 12;
const LEAST_SHARE: f32 = 0.15;
/// With so few of what there was, there are hardly lines at all.
const BARE: f32 = 0.12;
/// A tripod may tremble by so many points.
const TREMBLE: isize = 3;
/// The share of a part's points that have to be found again, whichever way their
/// lines go: turned along the floor's edge, a camera still sees a floor's edge.
const FOUND: f32 = 0.62;
/// A part that is found to this share elsewhere in the same view says nothing.
const LIKE_ANOTHER: f32 = 0.9;
/// What is a line in so much of the time, of 255.
const LASTING: u8 = 128;
/// Ways a line can go.
const WAYS: usize = 4;

/// Where lines are: how lasting (of 255), each way.
#[derive(Debug)]
pub(super) struct Lines {
    width: usize,
    height: usize,
    lasting: Vec<[u8; WAYS]>,
    count: usize,
}

/// The parts of a picture that have lines.
#[derive(Debug, Default)]
pub(super) struct Parts(Vec<Part>);

#[derive(Debug)]
struct Part {
    /// Columns and rows, by which way the lines go, as a bit; two ways at least.
    ways: Vec<(u8, Vec<Point>)>,
    /// The share that has to be found: halfway from what is found elsewhere in the
    /// same view to all of it.
    least: f32,
}

type Point = (isize, isize);

/// The columns and rows of each part.
fn tiles(width: usize, height: usize) -> impl Iterator<Item = (Range<usize>, Range<usize>)> {
    let edge = (height / EDGE_ROWS).max(1);
    let tall = height.saturating_sub(2 * edge);
    (0..DOWN).flat_map(move |down| {
        let rows = edge + tall * down / DOWN..edge + tall * (down + 1) / DOWN;
        (0..ACROSS).map(move |across| {
            let columns = width * across / ACROSS..width * (across + 1) / ACROSS;
            (columns, rows.clone())
        })
    })
}

impl Lines {
    /// The lines of one picture.
    pub(super) fn of(picture: Grey<'_>) -> Self {
        let (width, height) = (picture.width_px, picture.height_px);
        let mut lines = Self {
            width,
            height,
            lasting: vec![[0; WAYS]; width * height],
            count: 0,
        };
        for (columns, rows) in tiles(width, height) {
            lines.draw(picture, columns, rows);
        }
        lines
    }

    fn draw(&mut self, picture: Grey<'_>, columns: Range<usize>, rows: Range<usize>) {
        let columns = columns.start.max(1)..columns.end.min(self.width.saturating_sub(1));
        let mut strong = Vec::with_capacity(columns.len() * rows.len());
        for row in rows {
            let three = [row - 1, row, row + 1].map(|row| picture.row(row));
            for column in columns.clone() {
                strong.push((row * self.width + column, slope(three, column)));
            }
        }
        let mut sorted: Vec<u16> = strong.iter().map(|(_, (strength, _))| *strength).collect();
        if sorted.is_empty() {
            return;
        }
        let at = (sorted.len() as f32 * LINES) as usize;
        let most = sorted.len() - 1;
        let least = (*sorted.select_nth_unstable(at.min(most)).1).max(LEAST);
        for (at, (strength, way)) in strong {
            if strength >= least {
                self.lasting[at][way] = 255;
                self.count += 1;
            }
        }
    }

    /// None yet, in a picture of the same size.
    pub(super) fn none_like(other: &Self) -> Self {
        Self {
            lasting: vec![[0; WAYS]; other.lasting.len()],
            count: 0,
            ..*other
        }
    }

    pub(super) const fn is_like(&self, other: &Self) -> bool {
        self.width == other.width && self.height == other.height
    }

    /// Takes a look in, which weighs one part in so many: what lasts gets stronger,
    /// the rest fades.
    pub(super) fn learn(&mut self, seen: &Self, parts: i16) {
        for (known, seen) in self.lasting.iter_mut().zip(&seen.lasting) {
            for (known, seen) in known.iter_mut().zip(seen) {
                let apart = i16::from(*seen) - i16::from(*known);
                *known = (i16::from(*known) + apart / parts) as u8;
            }
        }
    }

    /// What has hardly a line, beside the parts that were learnt.
    pub(super) fn are_bare(&self, parts: &Parts) -> bool {
        let ways = parts.0.iter().flat_map(|part| &part.ways);
        let known: usize = ways.map(|(_, points)| points.len()).sum();
        (self.count as f32) < known as f32 * BARE
    }

    /// Its parts, as far as they have lines more ways than one and are like no
    /// other.
    pub(super) fn parts(&self) -> Parts {
        let near = self.near();
        let parts = tiles(self.width, self.height).filter_map(|(columns, rows)| {
            let ways = self.ways(&columns, rows);
            if ways.len() < 2 {
                return None;
            }
            let elsewhere = near.elsewhere(&ways);
            let least = FOUND.max(f32::midpoint(elsewhere, 1.0));
            (elsewhere <= LIKE_ANOTHER).then_some(Part { ways, least })
        });
        Parts(parts.collect())
    }

    fn ways(&self, columns: &Range<usize>, rows: Range<usize>) -> Vec<(u8, Vec<Point>)> {
        let mut ways = [(); WAYS].map(|()| Vec::new());
        for row in rows {
            for column in columns.clone() {
                let lasting = self.lasting[row * self.width + column];
                for (points, lasting) in ways.iter_mut().zip(lasting) {
                    if lasting >= LASTING {
                        points.push((column as isize, row as isize));
                    }
                }
            }
        }
        let all: usize = ways.iter().map(Vec::len).sum();
        let least = ((all as f32 * LEAST_SHARE) as usize).max(LEAST_POINTS);
        let ways = ways.into_iter().enumerate();
        ways.filter(|(_, points)| points.len() >= least)
            .map(|(way, points)| (1 << way, points))
            .collect()
    }

    /// Which ways lines go at each point or right beside it.
    fn near(&self) -> Near {
        let mut ways = vec![0; self.lasting.len()];
        for row in 1..self.height.saturating_sub(1) {
            for column in 1..self.width.saturating_sub(1) {
                let here = bits(self.lasting[row * self.width + column]);
                if here == 0 {
                    continue;
                }
                for row in row - 1..=row + 1 {
                    for column in column - 1..=column + 1 {
                        ways[row * self.width + column] |= here;
                    }
                }
            }
        }
        Near {
            width: self.width as isize,
            height: self.height as isize,
            ways,
        }
    }
}

impl Parts {
    pub(super) const fn count(&self) -> usize {
        self.0.len()
    }

    /// Whether any of them is where it was.
    pub(super) fn found(&self, seen: &Lines) -> bool {
        let near = seen.near();
        let here = |part: &Part| {
            let mut places = (-TREMBLE..=TREMBLE)
                .flat_map(|down| (-TREMBLE..=TREMBLE).map(move |across| (across, down)));
            places.any(|(across, down)| near.share(&part.ways, across, down) >= part.least)
        };
        self.0.iter().any(here)
    }
}

/// See [`Lines::near`].
struct Near {
    width: isize,
    height: isize,
    ways: Vec<u8>,
}

impl Near {
    /// The share of these points that are here, so far away; of the ways, the one
    /// that is found least.
    fn share(&self, ways: &[(u8, Vec<Point>)], across: isize, down: isize) -> f32 {
        let share = |(way, points): &(u8, Vec<Point>)| {
            let here = points.iter().filter(|(column, row)| {
                let (column, row) = (column + across, row + down);
                let inside = (0..self.width).contains(&column) && (0..self.height).contains(&row);
                inside && self.ways[(row * self.width + column) as usize] & way != 0
            });
            here.count() as f32 / points.len() as f32
        };
        ways.iter().map(share).fold(1.0, f32::min)
    }

    /// The largest share of these points that is anywhere but where they are.
    fn elsewhere(&self, ways: &[(u8, Vec<Point>)]) -> f32 {
        let beside = 2 * TREMBLE + 1;
        let mut best = 0_f32;
        // A line is three points thick here, and every second row enough.
        for down in (-self.height / 2..=self.height / 2).step_by(2) {
            for across in -self.width / 2..=self.width / 2 {
                if across.abs() >= beside || down.abs() >= beside {
                    best = best.max(self.share(ways, across, down));
                }
            }
        }
        best
    }
}

/// The lasting ways at a point, as bits.
fn bits(lasting: [u8; WAYS]) -> u8 {
    let ways = lasting.iter().enumerate();
    ways.fold(0, |bits, (way, lasting)| {
        bits | u8::from(*lasting >= LASTING) << way
    })
}

/// How steep brightness is at a point, and which way the line there goes: up and
/// down, across, or one of the slants.
fn slope(rows: [&[u8]; 3], column: usize) -> (u16, usize) {
    let at = |row: usize, column: usize| i16::from(rows[row][column]);
    let (left, right) = (column - 1, column + 1);
    let weighted = |a: i16, b: i16, c: i16| a + 2 * b + c;
    let across = weighted(at(0, right), at(1, right), at(2, right))
        - weighted(at(0, left), at(1, left), at(2, left));
    let down = weighted(at(2, left), at(2, column), at(2, right))
        - weighted(at(0, left), at(0, column), at(0, right));
    let (flat, steep) = (across.unsigned_abs(), down.unsigned_abs());
    let way = if 5 * flat > 12 * steep {
        0
    } else if 5 * steep > 12 * flat {
        1
    } else if (across > 0) == (down > 0) {
        2
    } else {
        3
    };
    (flat + steep, way)
}
