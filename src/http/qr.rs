//! Text as a QR code, for addresses that nobody wants to type on a phone.
//!
//! Not here: which addresses.

use std::fmt::Write as _;

use fast_qr::{ECL, QRBuilder, QRCode};

/// What has to stay empty around one, in modules (ISO/IEC 18004:2015 §6.3.8).
const QUIET: usize = 4;

/// An SVG image, to be sized by a style: dark on white, with its quiet zone.
/// Read aloud it is nothing; the text has to stand beside it. Empty where the
/// text is longer than a QR code holds, which no address is.
#[must_use]
pub fn qr_svg(text: &str) -> String {
    let Ok(code) = QRBuilder::new(text).ecl(ECL::M).build() else {
        return String::new();
    };
    let size = code.size;
    let whole = size + 2 * QUIET;
    let mut path = String::new();
    for y in 0..size {
        let mut x = 0;
        while x < size {
            let run = (x..size).take_while(|x| is_dark(&code, *x, y)).count();
            if run > 0 {
                let (from, down) = (x + QUIET, y + QUIET);
                // Writing to text does not fail.
                let _ = write!(path, "M{from} {down}h{run}v1h-{run}z");
            }
            x += run.max(1);
        }
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"qr\" viewBox=\"0 0 {whole} {whole}\" aria-hidden=\"true\" focusable=\"false\" \
         shape-rendering=\"crispEdges\"><path fill=\"#fff\" d=\"M0 0h{whole}v{whole}h-{whole}z\"/>\
         <path fill=\"#000\" d=\"{path}\"/></svg>"
    )
}

fn is_dark(code: &QRCode, x: usize, y: usize) -> bool {
    code[y][x].value()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Draws the image the way a browser would, and has it read by a reader
    /// that is not ours.
    fn read(svg: &str) -> String {
        const SCALE: usize = 4;
        let whole: usize = between(svg, "viewBox=\"0 0 ", " ").parse().unwrap();
        let mut dark = vec![false; whole * whole];
        let (_, path) = svg.rsplit_once("d=\"").unwrap();
        let path = path.split('"').next().unwrap();
        for run in path.split('M').skip(1) {
            let (at, rest) = run.split_once('h').unwrap();
            let (x, y) = at.split_once(' ').unwrap();
            let (x, y): (usize, usize) = (x.parse().unwrap(), y.parse().unwrap());
            let length: usize = rest.split('v').next().unwrap().parse().unwrap();
            dark[y * whole + x..][..length].fill(true);
        }
        let side = whole * SCALE;
        let mut image = rqrr::PreparedImage::prepare_from_greyscale(side, side, |x, y| {
            if dark[y / SCALE * whole + x / SCALE] {
                0
            } else {
                255
            }
        });
        let grids = image.detect_grids();
        assert_eq!(grids.len(), 1, "one code is seen");
        grids[0].decode().unwrap().1
    }

    fn between<'t>(text: &'t str, before: &str, after: &str) -> &'t str {
        let (_, rest) = text.split_once(before).unwrap();
        rest.split(after).next().unwrap()
    }

    #[test]
    fn what_is_drawn_is_read_again() {
        for text in [
            "https://192.168.4.1:8443/",
            "https://[fd12:3456:789a:1::7]:8443/trust",
            "https://afterturn.local:8443/pair",
            "0",
        ] {
            assert_eq!(read(&qr_svg(text)), text);
        }
    }

    #[test]
    fn it_brings_no_style_of_its_own_and_may_be_too_long() {
        assert!(!qr_svg("x").contains("style="));
        assert_eq!(qr_svg(&"x".repeat(10_000)), "");
    }
}
