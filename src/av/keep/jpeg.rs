//! A raw picture into a JPEG file that holds the picture and nothing else: no
//! place, no date, no device.
//!
//! Not here: what is in the picture.

use gstreamer::{self as gst, prelude::*};
use image::{ExtendedColorType, ImageEncoder as _, codecs::jpeg::JpegEncoder};

use super::{
    KeepError,
    raw::{Running, form, inlet, next, outlet, part},
};

/// Of a hundred: a print of it looks like the picture (common practice, no
/// source).
const QUALITY: u8 = 92;

/// The JPEG of a raw picture in this form. The colours are reckoned from how the
/// stream says they are meant, which JPEGs have no word for.
pub(super) fn of(raw: &gst::Caps, pixels: Vec<u8>) -> Result<Vec<u8>, KeepError> {
    let inlet = inlet(raw)?;
    let outlet = outlet(1)?;
    let rgb = gst::Caps::builder("video/x-raw")
        .field("format", "RGB")
        .build();
    let running = Running::start(&[
        inlet.upcast_ref(),
        &part("videoconvertscale")?,
        &form(&rgb)?,
        outlet.upcast_ref(),
    ])?;
    let mut buffer = gst::Buffer::from_mut_slice(pixels);
    let open = buffer.get_mut().ok_or(KeepError::Encode)?;
    open.set_pts(gst::ClockTime::ZERO);
    inlet
        .push_buffer(buffer)
        .and_then(|_| inlet.end_of_stream())
        .map_err(|_| KeepError::Encode)?;
    let sample = next(&outlet, &running)?.ok_or(KeepError::Encode)?;
    let form = sample.caps().and_then(|caps| caps.structure(0));
    let px = |name| form.and_then(|form| form.get::<i32>(name).ok());
    let size = px("width").zip(px("height")).ok_or(KeepError::Form)?;
    let (width, height) = (size.0.max(0) as usize, size.1.max(0) as usize);
    let buffer = sample.buffer().ok_or(KeepError::Form)?;
    let readable = buffer.map_readable().map_err(|_| KeepError::Form)?;
    let tight = rows(&readable, width * 3, height).ok_or(KeepError::Form)?;
    let mut file = Vec::new();
    JpegEncoder::new_with_quality(&mut file, QUALITY)
        .write_image(&tight, width as u32, height as u32, ExtendedColorType::Rgb8)
        .map_err(|_| KeepError::Encode)?;
    Ok(file)
}

/// The rows without what fills each up to four bytes.
fn rows(filled: &[u8], row: usize, count: usize) -> Option<Vec<u8>> {
    let stride = row.next_multiple_of(4);
    (row > 0 && filled.len() == stride * count).then(|| {
        let rows = filled.chunks_exact(stride);
        rows.flat_map(|line| &line[..row]).copied().collect()
    })
}
