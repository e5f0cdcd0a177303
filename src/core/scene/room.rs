//! The gym itself: wall, windows, floor, mat and low box, drawn once, and how
//! metres lie in the picture.
//!
//! Flat shapes in slate and warm tones; light comes from high windows and
//! drifts so slowly that only a camera notices. Not here: anyone in it.

use super::Size;
use super::paint::{Canvas, Colour, Point};

/// The picture shows this many metres across at the mat.
const ACROSS_M: f32 = 5.5;
/// From the middle to where a figure is wholly out of the picture, arms too.
pub(super) const EDGE_M: f32 = 3.3;
/// How high the low box is.
pub(super) const BOX_M: f32 = 0.28;
/// How high the mat is.
pub(super) const MAT_M: f32 = 0.05;

/// Fractions of the height: where the wall meets the floor, and where feet
/// stand in the middle of the mat.
const SKIRTING: f32 = 0.60;
const FEET: f32 = 0.83;
/// Feet behind the box, and of a passer.
const FEET_BEHIND: f32 = 0.775;
const FEET_FAR: f32 = 0.665;
/// A passer is this much smaller.
const FAR_SCALE: f32 = 0.70;

/// How metres lie in a picture of some size.
#[derive(Clone, Copy)]
pub(super) struct View {
    width: f32,
    height: f32,
    /// Pixels to the metre in the middle of the mat.
    pub px_per_m: f32,
}

impl View {
    pub(super) fn of(size: Size) -> Self {
        let (width, height) = (size.width_px() as f32, size.height_px() as f32);
        Self {
            width,
            height,
            px_per_m: width / ACROSS_M,
        }
    }

    /// The floor's row at a depth between the mat (0) and behind the box (1).
    pub(super) fn floor_y(self, depth: f32) -> f32 {
        self.height * (FEET + (FEET_BEHIND - FEET) * depth)
    }

    /// The row and the pixels to the metre where passers walk.
    pub(super) fn far(self) -> (f32, f32) {
        (self.height * FEET_FAR, self.px_per_m * FAR_SCALE)
    }

    /// The column of a place so many metres from the middle.
    pub(super) fn column(self, x_m: f32, px_per_m: f32) -> f32 {
        self.width / 2.0 + x_m * px_per_m
    }

    /// A point in fractions of the picture.
    fn part(self, x: f32, y: f32) -> Point {
        (self.width * x, self.height * y)
    }

    /// A point on the floor, in metres across at the mat and as a fraction of
    /// the height; what is further off draws together.
    fn on_floor(self, x_m: f32, y: f32) -> Point {
        let closer = 1.0 + (y - FEET) * 1.35;
        (self.column(x_m * closer, self.px_per_m), self.height * y)
    }
}

/// Where the windows are: left edges as fractions of the width.
const WINDOWS: [f32; 4] = [0.065, 0.295, 0.525, 0.755];
const WINDOW_WIDTH: f32 = 0.18;
const WINDOW_TOP: f32 = 0.075;
const WINDOW_FOOT: f32 = 0.285;

/// Draws everything that stands still.
pub(super) fn draw(canvas: &mut Canvas<'_>, view: View) {
    wall(canvas, view);
    floor(canvas, view);
    mat(canvas, view);
    low_box(canvas, view);
}

fn wall(canvas: &mut Canvas<'_>, view: View) {
    let rectangle = |canvas: &mut Canvas<'_>, x: (f32, f32), y: (f32, f32), rgb| {
        canvas.rectangle(view.part(x.0, y.0), view.part(x.1, y.1), Colour::rgb(rgb));
    };
    rectangle(canvas, (0.0, 1.0), (0.0, SKIRTING), 0xd9_cd_b9);
    rectangle(canvas, (0.0, 1.0), (0.0, 0.045), 0x8d_8b_84);
    for left in WINDOWS {
        let right = left + WINDOW_WIDTH;
        rectangle(
            canvas,
            (left - 0.007, right + 0.007),
            (WINDOW_TOP - 0.012, WINDOW_FOOT + 0.012),
            0x8f_95_96,
        );
        let pane = WINDOW_WIDTH / 3.0;
        for column in 0..3 {
            let from = left + pane * column as f32 + 0.002;
            let x = (from, from + pane - 0.004);
            rectangle(canvas, x, (WINDOW_TOP, 0.176), 0xe6_ef_f0);
            rectangle(canvas, x, (0.184, WINDOW_FOOT), 0xdc_e8_ea);
        }
        rectangle(
            canvas,
            (left - 0.014, right + 0.014),
            (WINDOW_FOOT + 0.012, WINDOW_FOOT + 0.028),
            0xb9_ad_99,
        );
    }
    // Panelling, and wall bars at the right.
    rectangle(canvas, (0.0, 1.0), (0.43, SKIRTING), 0xc3_b2_98);
    rectangle(canvas, (0.0, 1.0), (0.43, 0.438), 0xa9_98_80);
    for panel in 1..12 {
        let x = panel as f32 / 12.0;
        rectangle(
            canvas,
            (x - 0.001, x + 0.001),
            (0.438, SKIRTING),
            0xb5_a4_8a,
        );
    }
    for post in [0.845, 0.905, 0.965] {
        rectangle(
            canvas,
            (post - 0.006, post + 0.006),
            (0.325, SKIRTING),
            0x9a_7c_58,
        );
    }
    for bar in 0..7 {
        let y = 0.345 + 0.036 * bar as f32;
        rectangle(canvas, (0.842, 0.968), (y, y + 0.009), 0xb8_97_6e);
    }
    rectangle(canvas, (0.0, 1.0), (SKIRTING - 0.012, SKIRTING), 0x8e_80_6e);
}

fn floor(canvas: &mut Canvas<'_>, view: View) {
    let whole = (view.part(0.0, SKIRTING), view.part(1.0, 1.0));
    canvas.rectangle(whole.0, whole.1, Colour::rgb(0xb9_93_68));
    // Light from the windows, lying on the floor.
    for left in WINDOWS {
        let corner = |dx: f32, y: f32| view.part(left + dx, y);
        let light = [
            corner(0.02, SKIRTING + 0.025),
            corner(0.15, SKIRTING + 0.025),
            corner(0.20, 0.735),
            corner(0.05, 0.735),
        ];
        canvas.polygon(&light, Colour::rgb(0xc9_a6_7b));
    }
    // Two painted lines, as every gym floor has.
    for (y, thick, rgb) in [(0.705, 0.006, 0x5f_7f_8a), (0.955, 0.012, 0xe4_da_c6)] {
        canvas.rectangle(
            view.part(0.0, y),
            view.part(1.0, y + thick),
            Colour::rgb(rgb),
        );
    }
}

fn mat(canvas: &mut Canvas<'_>, view: View) {
    let (back, front, foot) = (0.755, 0.872, 0.900);
    let (left, right) = (-0.92, 2.05);
    let at = |x: f32, y: f32| view.on_floor(x, y);
    let (front_left, front_right) = (at(left, front), at(right, front));
    let foot_y = view.height * foot;
    canvas.polygon(
        &[
            front_left,
            front_right,
            (front_right.0, foot_y),
            (front_left.0, foot_y),
        ],
        Colour::rgb(0x2f_54_6b),
    );
    canvas.polygon(
        &[at(left, back), at(right, back), front_right, front_left],
        Colour::rgb(0x4a_7a_93),
    );
    for seam in [0.07, 1.06] {
        canvas.polygon(
            &[
                at(seam - 0.008, back),
                at(seam + 0.008, back),
                at(seam + 0.008, front),
                at(seam - 0.008, front),
            ],
            Colour::rgb(0x3f_6a_82),
        );
    }
}

/// The low box; drawn again over a figure that walks behind it.
pub(super) fn low_box(canvas: &mut Canvas<'_>, view: View) {
    let (left, right) = (-1.98, -1.22);
    let rise = BOX_M * view.px_per_m;
    let at = |x: f32, y: f32, up: f32| {
        let floor = view.on_floor(x, y);
        (floor.0, floor.1 - up)
    };
    let (back, front) = (0.795, 0.868);
    let (fl, fr) = (at(left, front, 0.0), at(right, front, 0.0));
    let (tl, tr) = (at(left, front, rise), at(right, front, rise));
    canvas.polygon(&[tl, tr, fr, fl], Colour::rgb(0xa8_6a_38));
    let mid = |low: Point, high: Point, share: f32| {
        (
            low.0 + (high.0 - low.0) * share,
            low.1 + (high.1 - low.1) * share,
        )
    };
    let band = [
        mid(fl, tl, 0.46),
        mid(fr, tr, 0.46),
        mid(fr, tr, 0.36),
        mid(fl, tl, 0.36),
    ];
    canvas.polygon(&band, Colour::rgb(0x8d_56_2d));
    let side = [at(right, back, rise), at(right, back, 0.0), fr, tr];
    if side[0].0 > tr.0 {
        canvas.polygon(&[tr, side[0], side[1], fr], Colour::rgb(0x8a_54_2c));
    }
    let top = [at(left, back, rise), at(right, back, rise), tr, tl];
    canvas.polygon(&top, Colour::rgb(0xd3_9a_5c));
}

/// The rows and columns of the panes, in whole pixels: where the drift of the
/// light shows most.
pub(super) fn panes(size: Size) -> (std::ops::Range<usize>, Vec<std::ops::Range<usize>>) {
    let (width, height) = (size.width_px() as f32, size.height_px() as f32);
    let whole = |value: f32| value.round() as usize;
    let rows = whole(height * WINDOW_TOP)..whole(height * WINDOW_FOOT);
    let columns = WINDOWS
        .iter()
        .map(|left| whole(width * left)..whole(width * (left + WINDOW_WIDTH)))
        .collect();
    (rows, columns)
}
