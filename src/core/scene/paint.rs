//! Flat, smooth-edged shapes in an I420 picture: convex polygons, thick lines
//! with round ends, ellipses. Each shape touches only the pixels of its own
//! bounding box, so a figure costs what it covers.
//!
//! Not here: what the shapes mean. Coordinates are pixels of the full picture,
//! from its top left corner; whatever lies outside is left out.

use super::Size;

/// A point of the picture, in luma pixels.
pub(super) type Point = (f32, f32);

/// A colour as it stands in the picture: BT.709, studio range.
#[derive(Clone, Copy)]
pub(super) struct Colour([u8; 3]);

impl Colour {
    /// From sRGB. Coefficients of ITU-R BT.709-6, items 3.2, 3.3 and 3.4.
    pub(super) fn rgb(hex: u32) -> Self {
        let channel = |shift: u32| (hex >> shift & 0xff) as f32 / 255.0;
        let (red, green, blue) = (channel(16), channel(8), channel(0));
        let y = 0.2126 * red + 0.7152 * green + 0.0722 * blue;
        let (cb, cr) = ((blue - y) / 1.8556, (red - y) / 1.5748);
        let code = |value: f32| value.round().clamp(0.0, 255.0) as u8;
        Self([
            code(16.0 + 219.0 * y),
            code(128.0 + 224.0 * cb),
            code(128.0 + 224.0 * cr),
        ])
    }
}

/// One plane of the picture and how many luma pixels its pixels span.
struct Plane<'a> {
    bytes: &'a mut [u8],
    width: usize,
    height: usize,
    per_px: f32,
}

/// A picture to draw on.
pub(super) struct Canvas<'a> {
    planes: [Plane<'a>; 3],
}

impl<'a> Canvas<'a> {
    /// Over a tight I420 picture; `None` if it has not the size's length.
    pub(super) fn new(picture: &'a mut [u8], size: Size) -> Option<Self> {
        if picture.len() != size.i420_bytes() {
            return None;
        }
        let (width, height) = (size.width_px() as usize, size.height_px() as usize);
        let (y, chroma) = picture.split_at_mut(width * height);
        let (u, v) = chroma.split_at_mut(width * height / 4);
        let half = |bytes| Plane {
            bytes,
            width: width / 2,
            height: height / 2,
            per_px: 2.0,
        };
        let luma = Plane {
            bytes: y,
            width,
            height,
            per_px: 1.0,
        };
        Some(Self {
            planes: [luma, half(u), half(v)],
        })
    }

    /// A convex polygon, corners clockwise as seen.
    pub(super) fn polygon(&mut self, corners: &[Point], colour: Colour) {
        // Each edge as a line whose value is the distance inside it.
        let edges: Vec<[f32; 3]> = corners
            .iter()
            .zip(corners.iter().cycle().skip(1))
            .filter_map(|(from, to)| {
                let (dx, dy) = (to.0 - from.0, to.1 - from.1);
                let length = dx.hypot(dy);
                (length > 0.0).then(|| {
                    let (nx, ny) = (-dy / length, dx / length);
                    [nx, ny, -(nx * from.0 + ny * from.1)]
                })
            })
            .collect();
        self.fill(bounds(corners, 0.0), colour, 1.0, |(x, y)| {
            let inside = |edge: &[f32; 3]| edge[0] * x + edge[1] * y + edge[2];
            edges.iter().map(inside).fold(f32::INFINITY, f32::min)
        });
    }

    /// An upright rectangle.
    pub(super) fn rectangle(&mut self, from: Point, to: Point, colour: Colour) {
        self.polygon(&[from, (to.0, from.1), to, (from.0, to.1)], colour);
    }

    /// A thick line with round ends; a disc when both ends are one.
    pub(super) fn limb(&mut self, from: Point, to: Point, radius: f32, colour: Colour) {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let per_length = 1.0 / (dx * dx + dy * dy).max(1e-6);
        self.fill(bounds(&[from, to], radius), colour, 1.0, |(x, y)| {
            let (px, py) = (x - from.0, y - from.1);
            let along = ((px * dx + py * dy) * per_length).clamp(0.0, 1.0);
            let (ex, ey) = (px - along * dx, py - along * dy);
            radius - (ex * ex + ey * ey).sqrt()
        });
    }

    /// A flat ellipse laid thinly over what is there: the mark of a body's
    /// weight on the floor.
    pub(super) fn tint(&mut self, centre: Point, radii: Point, colour: Colour, share: f32) {
        let (rx, ry) = (radii.0.max(1.0), radii.1.max(1.0));
        let corners = [
            (centre.0 - rx, centre.1 - ry),
            (centre.0 + rx, centre.1 + ry),
        ];
        self.fill(bounds(&corners, 0.0), colour, share, |(x, y)| {
            let (ex, ey) = ((x - centre.0) / rx, (y - centre.1) / ry);
            (1.0 - (ex * ex + ey * ey).sqrt()) * ry
        });
    }

    /// Lays a colour wherever `inside` (distance into the shape, in luma
    /// pixels) is positive, with an edge one pixel wide.
    fn fill(
        &mut self,
        (least, most): (Point, Point),
        colour: Colour,
        share: f32,
        inside: impl Fn(Point) -> f32,
    ) {
        for (plane, value) in self.planes.iter_mut().zip(colour.0) {
            let scale = plane.per_px;
            // Saturating casts: what lies outside, however far, becomes empty.
            let left = ((least.0 / scale - 1.0).max(0.0)) as usize;
            let right = ((most.0 / scale + 2.0).max(0.0) as usize).min(plane.width);
            let top = ((least.1 / scale - 1.0).max(0.0)) as usize;
            let bottom = ((most.1 / scale + 2.0).max(0.0) as usize).min(plane.height);
            if left >= right {
                continue;
            }
            let wanted = i32::from(value);
            for row in top..bottom {
                let y = (row as f32 + 0.5) * scale;
                let pixels = &mut plane.bytes[row * plane.width..][left..right];
                for (column, pixel) in (left..).zip(pixels) {
                    let x = (column as f32 + 0.5) * scale;
                    let cover = (inside((x, y)) / scale + 0.5).clamp(0.0, 1.0) * share;
                    if cover > 0.0 {
                        let part = (cover * 256.0) as i32;
                        let there = i32::from(*pixel);
                        *pixel = (there + (((wanted - there) * part + 128) >> 8)) as u8;
                    }
                }
            }
        }
    }
}

/// The box around some points, wider by a margin.
fn bounds(points: &[Point], margin: f32) -> (Point, Point) {
    let start = (
        (f32::INFINITY, f32::INFINITY),
        (f32::NEG_INFINITY, f32::NEG_INFINITY),
    );
    points.iter().fold(start, |(least, most), at| {
        (
            (least.0.min(at.0 - margin), least.1.min(at.1 - margin)),
            (most.0.max(at.0 + margin), most.1.max(at.1 + margin)),
        )
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "in a test a panic is the report")]
mod tests {
    use super::*;

    #[test]
    fn colours_are_the_published_ones() {
        // BT.709 studio range: white 235/128/128, black 16/128/128; the
        // saturated primaries as in the 100 % bars of ITU-R BT.709.
        assert_eq!(Colour::rgb(0xff_ff_ff).0, [235, 128, 128]);
        assert_eq!(Colour::rgb(0).0, [16, 128, 128]);
        assert_eq!(Colour::rgb(0xff_00_00).0, [63, 102, 240]);
        assert_eq!(Colour::rgb(0x00_00_ff).0, [32, 240, 118]);
    }

    #[test]
    fn a_shape_covers_itself_and_nothing_else() {
        let size = Size::new(64, 48).unwrap();
        let mut picture = vec![50; size.i420_bytes()];
        let mut canvas = Canvas::new(&mut picture, size).unwrap();
        canvas.rectangle((10.0, 8.0), (20.0, 16.0), Colour::rgb(0xff_ff_ff));
        let at = |x: usize, y: usize| picture[y * 64 + x];
        assert_eq!(
            (at(9, 8), at(10, 8), at(19, 15), at(20, 15)),
            (50, 235, 235, 50)
        );
        assert_eq!(picture[..64 * 48].iter().filter(|&&y| y != 50).count(), 80);
        let chroma = &picture[64 * 48..];
        assert_eq!(chroma.iter().filter(|&&c| c != 50).count(), 2 * 20);
    }

    #[test]
    fn far_outside_is_left_out() {
        let size = Size::new(64, 48).unwrap();
        let mut picture = vec![50; size.i420_bytes()];
        let mut canvas = Canvas::new(&mut picture, size).unwrap();
        for far in [-1e9, -200.0, 300.0, 1e9] {
            canvas.limb((far, far), (far + 1.0, 3.0), 4.0, Colour::rgb(0));
            canvas.tint((far, 3.0), (5.0, 2.0), Colour::rgb(0), 0.5);
        }
        assert!(Canvas::new(&mut [0; 7], size).is_none());
    }
}
