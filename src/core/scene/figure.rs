//! Draws a figure: round-jointed sticks of even thickness, the near side
//! darkest, so that one can tell which limb moves.
//!
//! Not here: how the joints bend (see `pose`), or when.

use super::motion::Moment;
use super::paint::{Canvas, Colour, Point};
use super::pose::{HEAD, LIMB, Limbs, Spot};
use super::room::View;

/// Who is drawn: the one to look at, or someone further off.
#[derive(Clone, Copy)]
pub(super) enum Shade {
    /// Dark on the light room.
    Gymnast,
    /// Pale, and walking right (or left).
    Passer(bool),
}

/// The colours of the far limbs, trunk and head, near limbs, mark on the floor.
const GYMNAST: [u32; 4] = [0x47_57_62, 0x30_40_4b, 0x1b_27_30, 0x3a_3a_36];
const PASSER: [u32; 4] = [0x9d_98_8c, 0x8b_87_7e, 0x7e_7b_74, 0x6a_5c_48];

/// Draws a figure where it is.
pub(super) fn draw(canvas: &mut Canvas<'_>, view: View, moment: &Moment, shade: Shade) {
    let (tones, floor_y, px_per_m, facing) = match shade {
        Shade::Gymnast => (GYMNAST, view.floor_y(moment.depth), view.px_per_m, 1.0),
        Shade::Passer(rightwards) => {
            let (row, px_per_m) = view.far();
            (PASSER, row, px_per_m, if rightwards { 1.0 } else { -1.0 })
        }
    };
    let [far, trunk, near, mark] = tones.map(Colour::rgb);
    let hip_column = view.column(moment.root.0, px_per_m);
    let at = |joint: Spot| -> Point {
        (
            hip_column + facing * joint.0 * px_per_m,
            floor_y - (moment.root.1 + joint.1) * px_per_m,
        )
    };
    let body = &moment.body;
    let thick = LIMB * px_per_m;

    let ground_y = floor_y - moment.ground * px_per_m;
    let under = (at(body.core()).0, ground_y);
    canvas.tint(under, (0.30 * px_per_m, 0.05 * px_per_m), mark, 0.28);

    let (hip, shoulder) = (at((0.0, 0.0)), at(body.shoulder));
    let limbs = |canvas: &mut Canvas<'_>, side: &Limbs, radius: f32, colour: Colour| {
        let path = [
            (hip, at(side.knee)),
            (at(side.knee), at(side.ankle)),
            (at(side.ankle), at(side.toe)),
            (shoulder, at(side.elbow)),
            (at(side.elbow), at(side.hand)),
        ];
        for (from, to) in path {
            canvas.limb(from, to, radius, colour);
        }
    };
    limbs(canvas, &body.far, thick * 0.94, far);
    let head = at(body.head);
    canvas.limb(hip, shoulder, thick * 1.34, trunk);
    canvas.limb(shoulder, head, thick * 0.9, trunk);
    canvas.limb(head, head, HEAD * px_per_m, trunk);
    let nose = at(body.nose);
    canvas.limb(nose, nose, HEAD * 0.17 * px_per_m, trunk);
    limbs(canvas, &body.near, thick * 1.06, near);
}
