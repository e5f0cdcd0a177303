//! Whether edges are sharp: how many points brightness takes from one side of an
//! edge to the other, along rows and columns.
//!
//! A sharp edge takes one or two points, wherever it falls between them; a lens
//! out of focus makes a slope of each. Shallow shadows are slopes too, so a slope
//! counts only where it is steep enough to be an edge, and a picture with few
//! edges (a bare wall) is not judged.
//!
//! Not told: a blur below some three hundredths of the picture's width, which at
//! this size is a point or two.

use super::super::Grey;

/// Sides of an edge are so far apart in brightness.
const LEAST_STEP: i16 = 26;

/// Brightness may go back by this on the way, and it is still one slope: noise.
const BACK: i16 = 3;

/// Standing still for so many points ends it: stairs are several edges.
const FLAT: usize = 3;

/// What takes more points is a shadow or a curved thing.
const WIDEST: f32 = 14.0;

/// With fewer edges there is nothing to judge.
const LEAST_EDGES: usize = 40;

/// The sharpest tenth of all edges is looked at: in any picture most edges are
/// slanted, round, or moving.
const SHARPEST: usize = 10;

/// Wider than this, in points, and the lens is out of focus; and once that has
/// been said, than this.
const SOFT: f32 = 2.7;
const STILL_SOFT: f32 = 2.3;

/// Cameras write the date along the upper and lower edge, always sharp.
const EDGE_ROWS: usize = 8;

/// Whether no edge is sharp.
pub(super) fn lost(picture: Grey<'_>, stays: bool) -> bool {
    sharpest(picture).is_some_and(|width| width >= if stays { STILL_SOFT } else { SOFT })
}

/// How wide, in points, the sharpest edges are.
pub(super) fn sharpest(picture: Grey<'_>) -> Option<f32> {
    let edge = picture.height_px / EDGE_ROWS;
    let rows = edge..picture.height_px - edge;
    let mut widths = Vec::new();
    // Three lines beside each other taken together: noise halves nearly, and an
    // edge across them stays as sharp as it is.
    let mean = |sum: u16| (sum / 3) as u8;
    for three in rows.clone().collect::<Vec<_>>().windows(3) {
        let line = (0..picture.width_px).map(|column| {
            let points = three.iter().map(|row| picture.row(*row)[column]);
            mean(points.map(u16::from).sum())
        });
        edges(line, &mut widths);
    }
    for column in 1..picture.width_px.saturating_sub(1) {
        let line = rows.clone().map(|row| {
            let points = &picture.row(row)[column - 1..=column + 1];
            mean(points.iter().copied().map(u16::from).sum())
        });
        edges(line, &mut widths);
    }
    if widths.len() < LEAST_EDGES {
        return None;
    }
    let tenth = widths.len() / SHARPEST;
    let (_, width, _) = widths.select_nth_unstable_by(tenth, f32::total_cmp);
    Some(*width)
}

/// The widths of the edges along a line: the whole step by its steepest part.
fn edges(mut line: impl Iterator<Item = u8>, widths: &mut Vec<f32>) {
    let Some(first) = line.next() else { return };
    let mut slope = Slope::from(i16::from(first));
    for y in line.map(i16::from) {
        if slope.is_over(y) {
            widths.extend(slope.width());
            slope = Slope {
                last: slope.last,
                ..Slope::from(slope.far)
            };
        }
        slope.go(y);
    }
    widths.extend(slope.width());
}

/// Brightness on its way up or down.
struct Slope {
    start: i16,
    /// As far as it came.
    far: i16,
    last: i16,
    /// 1 up, −1 down, 0 not known yet.
    way: i16,
    steepest: i16,
    /// Points since it last went on.
    flat: usize,
}

impl Slope {
    const fn from(y: i16) -> Self {
        Self {
            start: y,
            far: y,
            last: y,
            way: 0,
            steepest: 0,
            flat: 0,
        }
    }

    /// It turns, or has stood still so long that what follows is another.
    const fn is_over(&self, y: i16) -> bool {
        (self.far - y) * self.way > BACK || self.flat >= FLAT
    }

    fn go(&mut self, y: i16) {
        if self.way == 0 {
            self.way = (y - self.start).signum();
        }
        let step = (y - self.last) * self.way;
        self.steepest = self.steepest.max(step);
        self.flat = if step > 1 { 0 } else { self.flat + 1 };
        if (y - self.far) * self.way > 0 {
            self.far = y;
        }
        self.last = y;
    }

    fn width(&self) -> Option<f32> {
        let whole = (self.far - self.start).abs();
        if whole < LEAST_STEP || self.steepest <= 0 {
            return None;
        }
        let width = f32::from(whole) / f32::from(self.steepest);
        (width <= WIDEST).then_some(width)
    }
}
