//! The time strip: the capture time of a picture, written into the picture so
//! that a program can read it back off a screen, a canvas or a decoder.
//!
//! The full width of the picture and its top 1/45 (16 rows of 720) are cut into
//! [`CELLS`] equal cells, white for 1 and black for 0:
//!
//! | cells | what |
//! |---|---|
//! | 0–3 | the marker `1 0 1 0` |
//! | 4–45 | Unix milliseconds, 42 bits, most significant first |
//! | 46 | even parity of those 42 bits |
//! | 47 | always 0 |
//!
//! Only demo and test pictures carry one. Not here: correcting errors (a strip
//! that was damaged is refused; the next picture has another), colour (whoever
//! draws makes the chroma under the strip neutral), and any clock.

/// Cells in a strip.
pub const CELLS: usize = 48;

/// Bits of time in a strip; 42 bits of milliseconds last until the year 2109.
pub const TIME_BITS: usize = 42;

/// The luma of a 1: nominal white in studio range (ITU-R BT.709-6, item 5.3).
pub const WHITE: u8 = 235;

/// The luma of a 0: nominal black in studio range.
pub const BLACK: u8 = 16;

/// What the first cells always are, so that a picture without a strip is known.
const MARKER: [bool; 4] = [true, false, true, false];

/// A cell is 1 above this: halfway between [`BLACK`] and [`WHITE`], rounded up.
const THRESHOLD: u8 = 127;

/// The strip is one part in this many of the picture's height.
const HEIGHT_PART: usize = 45;

const PARITY_CELL: usize = MARKER.len() + TIME_BITS;
const LAST_CELL: usize = CELLS - 1;

/// Why no time could be read from a picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum StripError {
    /// Fewer than 48 columns or 45 rows: no room for a strip.
    #[error("a picture of {width}×{height} is too small for a time strip")]
    TooSmall {
        /// Columns of the picture.
        width: usize,
        /// Rows of the picture.
        height: usize,
    },
    /// The luma ends before the strip does, or its rows overlap.
    #[error("the luma is shorter than its size and stride say")]
    ShortBuffer,
    /// The first four cells are not `1 0 1 0`: probably no strip at all.
    #[error("no time strip: its marker is missing")]
    NoMarker,
    /// The parity cell does not match the time.
    #[error("the time strip is damaged: its parity is wrong")]
    Parity,
    /// The last cell is not 0.
    #[error("the time strip is damaged: its last cell is not black")]
    LastCell,
}

/// The cells that carry this time. Only the low [`TIME_BITS`] bits fit.
#[must_use]
pub fn encode(time_ms: u64) -> [bool; CELLS] {
    let mut cells = [false; CELLS];
    cells[..MARKER.len()].copy_from_slice(&MARKER);
    let mut parity = false;
    for bit in 0..TIME_BITS {
        let one = time_ms >> (TIME_BITS - 1 - bit) & 1 == 1;
        cells[MARKER.len() + bit] = one;
        parity ^= one;
    }
    cells[PARITY_CELL] = parity;
    cells
}

/// The time these cells carry.
pub fn decode(cells: &[bool; CELLS]) -> Result<u64, StripError> {
    if cells[..MARKER.len()] != MARKER {
        return Err(StripError::NoMarker);
    }
    if cells[LAST_CELL] {
        return Err(StripError::LastCell);
    }
    let time = &cells[MARKER.len()..PARITY_CELL];
    let parity = time.iter().fold(false, |odd, &one| odd ^ one);
    if parity != cells[PARITY_CELL] {
        return Err(StripError::Parity);
    }
    Ok(time
        .iter()
        .fold(0, |so_far, &one| so_far << 1 | u64::from(one)))
}

/// How many rows of a picture the strip takes.
#[must_use]
pub const fn rows(height: usize) -> usize {
    height / HEIGHT_PART
}

/// Draws the strip over the top rows of a picture's luma. A picture too small
/// for one, or a buffer shorter than it says, is left as it is.
pub fn draw(luma: &mut [u8], stride: usize, width: usize, height: usize, time_ms: u64) {
    if check(luma.len(), stride, width, height).is_err() {
        return;
    }
    let cells = encode(time_ms);
    let (first, rest) = luma.split_at_mut(width);
    for (cell, &one) in cells.iter().enumerate() {
        first[first_column(cell, width)..first_column(cell + 1, width)].fill(if one {
            WHITE
        } else {
            BLACK
        });
    }
    for row in 1..rows(height) {
        let from = row * stride - width;
        rest[from..from + width].copy_from_slice(first);
    }
}

/// Reads the strip: one look at the centre of each cell.
pub fn read(luma: &[u8], stride: usize, width: usize, height: usize) -> Result<u64, StripError> {
    check(luma.len(), stride, width, height)?;
    let row = rows(height) / 2 * stride;
    let mut cells = [false; CELLS];
    for (cell, one) in cells.iter_mut().enumerate() {
        *one = luma[row + (2 * cell + 1) * width / (2 * CELLS)] > THRESHOLD;
    }
    decode(&cells)
}

/// The first column whose middle lies in this cell or beyond: rounding so, the
/// column that holds a cell's centre is always of that cell, however narrow.
const fn first_column(cell: usize, width: usize) -> usize {
    (cell * width + CELLS / 2 - 1) / CELLS
}

/// Whether a buffer of this length holds a strip of this size.
fn check(length: usize, stride: usize, width: usize, height: usize) -> Result<(), StripError> {
    if width < CELLS || rows(height) == 0 {
        return Err(StripError::TooSmall { width, height });
    }
    let needed = (rows(height) - 1)
        .checked_mul(stride)
        .and_then(|n| n.checked_add(width));
    if stride < width || needed.is_none_or(|n| n > length) {
        return Err(StripError::ShortBuffer);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const MOST_MS: u64 = (1 << TIME_BITS) - 1;

    fn sizes() -> impl Strategy<Value = (usize, usize)> {
        prop_oneof![
            Just((1280, 720)),
            Just((640, 360)),
            Just((1920, 1080)),
            Just((160, 90)),
            Just((48, 45)),
            (48_usize..700, 45_usize..400),
        ]
    }

    #[test]
    fn the_layout_is_the_published_one() {
        let cells = encode(0b1011);
        assert_eq!(cells[..4], [true, false, true, false]);
        assert!(cells[4..42].iter().all(|&one| !one));
        assert_eq!(cells[42..], [true, false, true, true, true, false]);
        let mut luma = vec![0; 1280 * 720];
        draw(&mut luma, 1280, 1280, 720, 0b1011);
        assert_eq!((luma[0], luma[27]), (WHITE, BLACK));
        assert_eq!((luma[15 * 1280], luma[16 * 1280]), (WHITE, 0));
    }

    #[test]
    fn what_is_no_strip_is_refused() {
        assert_eq!(
            read(&[0; 100], 47, 47, 45),
            Err(StripError::TooSmall {
                width: 47,
                height: 45
            })
        );
        assert_eq!(read(&[0; 100], 64, 64, 90), Err(StripError::ShortBuffer));
        assert_eq!(read(&[0; 6400], 60, 64, 90), Err(StripError::ShortBuffer));
        assert_eq!(read(&[0; 6400], 64, 64, 90), Err(StripError::NoMarker));
        assert_eq!(read(&[255; 6400], 64, 64, 90), Err(StripError::NoMarker));
        assert_eq!(
            read(&[0; 6400], usize::MAX, 64, 90),
            Err(StripError::ShortBuffer)
        );
        draw(&mut [0; 100], 64, 64, 90, 1);
    }

    proptest! {
        #[test]
        fn a_time_comes_back(time_ms in 0..=MOST_MS, (width, height) in sizes(), pad in 0_usize..40) {
            let stride = width + pad;
            let mut luma = vec![90; stride * height];
            draw(&mut luma, stride, width, height, time_ms);
            prop_assert_eq!(read(&luma, stride, width, height), Ok(time_ms));
            for row in luma.chunks(stride) {
                prop_assert!(row[width..].iter().all(|&y| y == 90), "drew beside the picture");
            }
            prop_assert!(luma[rows(height) * stride..].iter().all(|&y| y == 90));
        }

        #[test]
        fn one_flipped_cell_never_passes(time_ms in 0..=MOST_MS, cell in 0..CELLS) {
            let mut cells = encode(time_ms);
            cells[cell] = !cells[cell];
            prop_assert!(decode(&cells).is_err());
        }

        #[test]
        fn weak_contrast_and_noise_are_borne(
            time_ms in 0..=MOST_MS,
            (width, height) in sizes(),
            keep_percent in 35_i32..=100,
            noise in proptest::collection::vec(-30_i32..=30, 97),
        ) {
            let mut luma = vec![90; width * height];
            draw(&mut luma, width, width, height, time_ms);
            for (at, y) in luma.iter_mut().enumerate() {
                let flat = 127 + (i32::from(*y) - 127) * keep_percent / 100;
                *y = (flat + noise[at % noise.len()]).clamp(0, 255) as u8;
            }
            prop_assert_eq!(read(&luma, width, width, height), Ok(time_ms));
        }

        #[test]
        fn any_bytes_are_read_without_harm(
            luma in proptest::collection::vec(any::<u8>(), 0..6000),
            stride in 0_usize..200, width in 0_usize..200, height in 0_usize..200,
        ) {
            let _ = read(&luma, stride, width, height);
        }
    }
}
