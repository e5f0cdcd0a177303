//! The mat of a station as somebody drew it on a still, and the cover over
//! everything else in a picture: whoever waits or walks by there is not kept.
//!
//! What is covered is painted over with one colour, in blocks of two by two
//! pixels, which share their colour samples: a block is left only if the whole of
//! it lies on the mat. So no sample is left that was made from a covered pixel.
//!
//! Not here: drawing it, decoding, and whether anything may be kept.

use serde::{Deserialize, Serialize};

/// One corner, in ten-thousandths of the picture's width and height.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Corner {
    /// From its left edge.
    pub x: u16,
    /// From its upper edge.
    pub y: u16,
}

/// Corners in the order in which somebody walks round the mat.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Vec<Corner>", into = "Vec<Corner>")]
pub struct Mat(Vec<Corner>);

/// Why corners are no mat.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MatError {
    /// Too few or too many.
    #[error("a mat has {} to {} corners", Mat::LEAST_CORNERS, Mat::MOST_CORNERS)]
    Corners,
    /// One lies outside the picture.
    #[error("a corner lies outside the picture")]
    Outside,
    /// Two of its edges cross.
    #[error("the mat's edges cross")]
    Crossed,
    /// There is next to nothing in it.
    #[error("the mat is too small to be one")]
    Small,
}

impl Mat {
    /// A corner's greatest number.
    pub const WHOLE: u16 = 10_000;
    /// The fewest corners.
    pub const LEAST_CORNERS: usize = 3;
    /// The most: a mat that goes round a box.
    pub const MOST_CORNERS: usize = 12;
    /// A hundredth of the picture, as twice an area: a guess of ours, no source.
    const LEAST_TWICE: i64 = 2 * 10_000 * 10_000 / 100;

    /// A mat, if these corners are one.
    pub fn new(corners: Vec<Corner>) -> Result<Self, MatError> {
        if !(Self::LEAST_CORNERS..=Self::MOST_CORNERS).contains(&corners.len()) {
            return Err(MatError::Corners);
        }
        if corners.iter().any(|c| c.x.max(c.y) > Self::WHOLE) {
            return Err(MatError::Outside);
        }
        let mat = Self(corners);
        if mat.crosses_itself() {
            return Err(MatError::Crossed);
        }
        if mat.twice_its_area() < Self::LEAST_TWICE {
            return Err(MatError::Small);
        }
        Ok(mat)
    }

    /// Its corners.
    #[must_use]
    pub fn corners(&self) -> &[Corner] {
        &self.0
    }

    fn edges(&self) -> impl Iterator<Item = (Corner, Corner)> + '_ {
        let next = self.0.iter().cycle().skip(1);
        self.0.iter().copied().zip(next.copied())
    }

    /// The shoelace formula.
    fn twice_its_area(&self) -> i64 {
        let cross = |(a, b): (Corner, Corner)| {
            i64::from(a.x) * i64::from(b.y) - i64::from(b.x) * i64::from(a.y)
        };
        self.edges().map(cross).sum::<i64>().abs()
    }

    fn crosses_itself(&self) -> bool {
        let edges: Vec<_> = self.edges().collect();
        let count = edges.len();
        (0..count).any(|i| {
            (i + 2..count)
                // The last edge ends where the first begins.
                .filter(|j| (i, *j) != (0, count - 1))
                .any(|j| meet(edges[i], edges[j]))
        })
    }
}

impl TryFrom<Vec<Corner>> for Mat {
    type Error = MatError;

    fn try_from(corners: Vec<Corner>) -> Result<Self, MatError> {
        Self::new(corners)
    }
}

impl From<Mat> for Vec<Corner> {
    fn from(mat: Mat) -> Self {
        mat.0
    }
}

/// Whether two edges have a point in common.
fn meet(one: (Corner, Corner), other: (Corner, Corner)) -> bool {
    let side = |edge: (Corner, Corner), point: Corner| {
        let (from_x, from_y) = (i64::from(edge.0.x), i64::from(edge.0.y));
        let ahead = (i64::from(edge.1.x) - from_x) * (i64::from(point.y) - from_y);
        let aside = (i64::from(edge.1.y) - from_y) * (i64::from(point.x) - from_x);
        (ahead - aside).signum()
    };
    let within = |edge: (Corner, Corner), point: Corner| {
        let across = edge.0.x.min(edge.1.x)..=edge.0.x.max(edge.1.x);
        let down = edge.0.y.min(edge.1.y)..=edge.0.y.max(edge.1.y);
        across.contains(&point.x) && down.contains(&point.y)
    };
    let touches = |edge, point| side(edge, point) == 0 && within(edge, point);
    let parts = |edge, (from, to)| side(edge, from) != side(edge, to);
    (parts(one, other) && parts(other, one))
        || touches(one, other.0)
        || touches(one, other.1)
        || touches(other, one.0)
        || touches(other, one.1)
}

/// Where the samples of a raw picture lie: brightness, then twice the colour at
/// half the size (I420), rows filled up to four bytes, as raw video usually is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct I420 {
    width: usize,
    height: usize,
    luma_stride: usize,
    chroma_stride: usize,
    u_at: usize,
    v_at: usize,
    bytes: usize,
}

/// No picture anybody takes is larger; it bounds what is reckoned with.
const MOST_PX: u32 = 16_384;

impl I420 {
    /// The layout of a picture of this size; none of one without any.
    #[must_use]
    pub fn new(width_px: u32, height_px: u32) -> Option<Self> {
        if !(2..=MOST_PX).contains(&width_px) || !(2..=MOST_PX).contains(&height_px) {
            return None;
        }
        let (width, height) = (width_px as usize, height_px as usize);
        let luma_stride = width.next_multiple_of(4);
        let chroma_stride = width.div_ceil(2).next_multiple_of(4);
        let rows = height.div_ceil(2);
        let u_at = luma_stride * rows * 2;
        let v_at = u_at + chroma_stride * rows;
        Some(Self {
            width,
            height,
            luma_stride,
            chroma_stride,
            u_at,
            v_at,
            bytes: v_at + chroma_stride * rows,
        })
    }

    /// How long such a picture is.
    #[must_use]
    pub const fn bytes(&self) -> usize {
        self.bytes
    }
}

/// A cover for pictures of one size.
#[derive(Clone, Debug)]
pub struct Cover {
    layout: I420,
    /// For each row of blocks, what is left of it: from and to, in blocks.
    left: Vec<Vec<(usize, usize)>>,
}

/// A calm grey, in studio range: what is covered is to be seen as covered, and
/// not as a dark room.
const GREY: [u8; 3] = [72, 128, 128];

impl Cover {
    /// The cover round a mat.
    #[must_use]
    pub fn round(mat: &Mat, layout: I420) -> Self {
        let whole = f64::from(Mat::WHOLE);
        let at = |c: Corner| {
            let (x, y) = (f64::from(c.x) / whole, f64::from(c.y) / whole);
            (x * layout.width as f64, y * layout.height as f64)
        };
        let edges: Vec<_> = mat.edges().map(|(a, b)| (at(a), at(b))).collect();
        let rows = layout.height.div_ceil(2);
        let left = (0..rows).map(|row| {
            let upper = crossed(&edges, (2 * row) as f64 + 0.5);
            let lower = crossed(&edges, (2 * row) as f64 + 1.5);
            both(&upper, &lower, layout.width.div_ceil(2))
        });
        Self {
            layout,
            left: left.collect(),
        }
    }

    /// Paints over everything but the mat; says whether the picture was of the
    /// size this cover is for. One that was not is left as it was, and must not
    /// be used.
    #[must_use]
    pub fn paint(&self, picture: &mut [u8]) -> bool {
        let layout = self.layout;
        if picture.len() != layout.bytes {
            return false;
        }
        let (luma, chroma) = picture.split_at_mut(layout.u_at);
        let (u, v) = chroma.split_at_mut(layout.v_at - layout.u_at);
        for (row, left) in self.left.iter().enumerate() {
            for line in luma
                .chunks_exact_mut(layout.luma_stride)
                .skip(2 * row)
                .take(2)
            {
                outside(line, left, 2, GREY[0]);
            }
            let start = row * layout.chroma_stride;
            let line = start..start + layout.chroma_stride;
            outside(&mut u[line.clone()], left, 1, GREY[1]);
            outside(&mut v[line], left, 1, GREY[2]);
        }
        true
    }
}

/// Paints what of a row is not left, its filling too.
fn outside(line: &mut [u8], left: &[(usize, usize)], per_block: usize, colour: u8) {
    let mut from = 0;
    for &(start, end) in left {
        line[from..start * per_block].fill(colour);
        from = end * per_block;
    }
    if let Some(rest) = line.get_mut(from..) {
        rest.fill(colour);
    }
}

type Edge = ((f64, f64), (f64, f64));

/// The stretches of a line that lie inside, by where edges cross it.
fn crossed(edges: &[Edge], y: f64) -> Vec<(f64, f64)> {
    let mut at: Vec<f64> = edges
        .iter()
        .filter(|((_, a), (_, b))| (*a <= y) != (*b <= y))
        .map(|((ax, ay), (bx, by))| ax + (y - ay) / (by - ay) * (bx - ax))
        .collect();
    at.sort_by(f64::total_cmp);
    at.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect()
}

/// The blocks all of whose pixels' centres lie inside, on both lines.
fn both(upper: &[(f64, f64)], lower: &[(f64, f64)], blocks: usize) -> Vec<(usize, usize)> {
    let mut left = Vec::new();
    for a in upper {
        for b in lower {
            let (from, to) = (a.0.max(b.0), a.1.min(b.1));
            // The centres of a block's pixels: half a pixel in from its edges.
            let first = (from / 2.0 - 0.25).ceil().max(0.0) as usize;
            let end = (to / 2.0 + 0.25).floor().max(0.0) as usize;
            let end = end.min(blocks);
            if first < end {
                left.push((first, end));
            }
        }
    }
    left.sort_unstable();
    left
}

#[cfg(test)]
#[path = "mat_tests.rs"]
mod tests;
