//! A teacher's own picture for a cue or a choice: taken apart and made anew, so
//! that what is kept is a picture and nothing else, neither a place nor a date
//! nor whatever was hidden behind it; and which of them a unit file asks for.
//!
//! Not here: the disk. No picture of a camera's comes this way.

use std::io::Cursor;

use image::{
    DynamicImage, ExtendedColorType, ImageDecoder as _, ImageEncoder as _, ImageFormat,
    ImageReader, Limits,
    codecs::{jpeg::JpegEncoder, png::PngEncoder},
    imageops::FilterType,
};
use sha2::{Digest as _, Sha256};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::settings::diagnostic::Diagnostic;
use crate::settings::sentence::Sentence;

/// What is taken in at most: a photograph as telephones make them.
pub const MOST_BYTES: usize = 8 * 1024 * 1024;
/// Wider or higher than any telephone's.
const MOST_PX: u32 = 10_000;
/// And so much memory while it is decoded: some forty million pixels.
const MOST_MEMORY_BYTES: u64 = 160 * 1024 * 1024;
/// It is shown on a quarter of a screen; the largest are 3840 wide.
const KEPT_PX: u32 = 1_280;
/// Of 100; what is lost is not seen from two metres.
const JPEG_QUALITY: u8 = 88;
/// Digits of the hash in a name: 128 bits.
const NAME_DIGITS: usize = 32;

/// Why something is not taken in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PictureError {
    /// It is larger than what is taken.
    #[error("a picture has at most 8 MB; make it smaller and try again")]
    TooLarge,
    /// It is none, or damaged.
    #[error("this is no JPEG or PNG picture that can be read; try another file")]
    NotAPicture,
    /// It has more pixels than the box has room for.
    #[error("this picture has too many pixels; make it smaller and try again")]
    TooManyPixels,
    /// There are too many already.
    #[error("there is no room for more pictures; remove some from the folder")]
    TooMany,
    /// The disk would not take it.
    #[error("the picture could not be written; is there room on the disk?")]
    Write,
}

/// A picture as it is kept.
#[derive(Clone, PartialEq, Eq)]
pub(super) struct Picture {
    /// The hash of its bytes: nothing of what its file was called.
    pub(super) name: String,
    pub(super) bytes: Vec<u8>,
}

/// Whether a text is the name of a picture of ours. No such text leads out of a
/// folder.
pub(super) fn is_picture(name: &str) -> bool {
    let stem = name
        .strip_suffix(".jpg")
        .or_else(|| name.strip_suffix(".png"));
    stem.is_some_and(|stem| {
        stem.len() == NAME_DIGITS && stem.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'))
    })
}

/// Makes of what somebody sent what is kept: upright, of a size that is shown,
/// encoded by ourselves.
pub(super) fn made_anew(sent: &[u8]) -> Result<Picture, PictureError> {
    if sent.len() > MOST_BYTES {
        return Err(PictureError::TooLarge);
    }
    let picture = decoded(sent)?;
    let picture = if picture.width().max(picture.height()) > KEPT_PX {
        picture.resize(KEPT_PX, KEPT_PX, FilterType::Triangle)
    } else {
        picture
    };
    // A drawing may have no ground of its own, and JPEG would give it a black one.
    let (bytes, ending) = if picture.color().has_alpha() || was_png(sent) {
        (encoded_png(&picture), "png")
    } else {
        (encoded_jpeg(&picture), "jpg")
    };
    let bytes = bytes.ok_or(PictureError::NotAPicture)?;
    let name = format!("{}.{ending}", hash(&bytes));
    Ok(Picture { name, bytes })
}

fn was_png(sent: &[u8]) -> bool {
    image::guess_format(sent).is_ok_and(|format| format == ImageFormat::Png)
}

fn decoded(sent: &[u8]) -> Result<DynamicImage, PictureError> {
    let format = image::guess_format(sent).map_err(|_| PictureError::NotAPicture)?;
    if !matches!(format, ImageFormat::Jpeg | ImageFormat::Png) {
        return Err(PictureError::NotAPicture);
    }
    let mut limits = Limits::default();
    limits.max_image_width = Some(MOST_PX);
    limits.max_image_height = Some(MOST_PX);
    limits.max_alloc = Some(MOST_MEMORY_BYTES);
    let mut reader = ImageReader::with_format(Cursor::new(sent), format);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(why)?;
    if decoder.total_bytes() > MOST_MEMORY_BYTES {
        return Err(PictureError::TooManyPixels);
    }
    // Telephones store a picture as the sensor lay and say beside it which way is
    // up; what says so is not kept.
    let orientation = decoder.orientation().map_err(why)?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(why)?;
    picture.apply_orientation(orientation);
    Ok(picture)
}

#[expect(
    clippy::needless_pass_by_value,
    reason = "it stands where errors are mapped"
)]
fn why(error: image::ImageError) -> PictureError {
    match error {
        image::ImageError::Limits(_) => PictureError::TooManyPixels,
        _ => PictureError::NotAPicture,
    }
}

fn encoded_jpeg(picture: &DynamicImage) -> Option<Vec<u8>> {
    let plain = picture.to_rgb8();
    let mut bytes = Vec::new();
    let encoder = JpegEncoder::new_with_quality(&mut bytes, JPEG_QUALITY);
    let (width, height) = plain.dimensions();
    encoder
        .write_image(&plain, width, height, ExtendedColorType::Rgb8)
        .ok()?;
    Some(bytes)
}

fn encoded_png(picture: &DynamicImage) -> Option<Vec<u8>> {
    let plain = picture.to_rgba8();
    let mut bytes = Vec::new();
    let encoder = PngEncoder::new(&mut bytes);
    let (width, height) = plain.dimensions();
    encoder
        .write_image(&plain, width, height, ExtendedColorType::Rgba8)
        .ok()?;
    Some(bytes)
}

fn hash(bytes: &[u8]) -> String {
    let digest = Sha256::digest(bytes);
    let digits = digest.iter().flat_map(|byte| [byte >> 4, byte & 15]);
    let digits = digits.map(|digit| char::from_digit(u32::from(digit), 16).unwrap_or('0'));
    digits.take(NAME_DIGITS).collect()
}

/// The pictures that a unit file asks for and that are not there. A unit can be
/// used all the same: its words are.
#[must_use]
pub(super) fn missing_pictures(text: &str, there: &dyn Fn(&str) -> bool) -> Vec<Diagnostic> {
    let (root, _) = DeTable::parse_recoverable(text);
    let mut found = Vec::new();
    in_table(root.get_ref(), there, &mut found);
    found
}

fn in_table(table: &DeTable<'_>, there: &dyn Fn(&str) -> bool, found: &mut Vec<Diagnostic>) {
    for (key, value) in table {
        if key.get_ref() == "picture" {
            let name = value.get_ref().as_str();
            if let Some(name) = name.filter(|name| is_picture(name) && !there(name)) {
                found.push(missing(value.span(), name));
            }
        }
        in_value(value, there, found);
    }
}

fn in_value(
    value: &Spanned<DeValue<'_>>,
    there: &dyn Fn(&str) -> bool,
    found: &mut Vec<Diagnostic>,
) {
    match value.get_ref() {
        DeValue::Table(table) => in_table(table, there, found),
        DeValue::Array(items) => items.iter().for_each(|item| in_value(item, there, found)),
        _ => {}
    }
}

fn missing(span: std::ops::Range<usize>, name: &str) -> Diagnostic {
    Diagnostic::warning(
        span,
        Sentence::new(
            "picture-missing",
            "the file {name} is not in the folder `pictures` beside the units; the words are shown without it",
            [("name", name.to_owned())],
        ),
        Sentence::new(
            "picture-again",
            "put the file back, or choose the picture again in the editor",
            [],
        ),
    )
}

#[cfg(test)]
mod tests;
