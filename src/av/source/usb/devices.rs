//! What USB cameras are plugged in: the name to write into the settings, what
//! each offers, and a picture to tell them apart by.
//!
//! Not here: keeping a picture. It is made when asked for and handed over.

use std::{
    collections::BTreeMap,
    fmt, fs,
    path::{Path, PathBuf},
    time::{Duration, Instant},
};

use afterturn_core::wire::CameraState;
use bytes::Bytes;
use gstreamer::{self as gst, prelude::*};
use gstreamer_app as gst_app;

use super::{
    listed,
    modes::{Form, Mode, Offer, choose},
    offers::{caps_of, offers},
    open,
    trouble::{Trouble, explain},
};
use crate::av::{
    camera::CameraError,
    element,
    encode::{Dimensions, Most, Rate, USUAL},
};

/// A camera that is plugged in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Device {
    /// Short, for a page: `video0`. Another camera may have it tomorrow.
    pub id: String,
    /// The name for the settings: one that lasts, where there is one.
    pub device: PathBuf,
    /// What it calls itself.
    pub name: String,
    /// What it offers.
    pub offers: Vec<Offer>,
}

/// A form, and the largest and fastest of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Best {
    /// The form.
    pub form: Form,
    /// Its largest size…
    pub size: Dimensions,
    /// …and the fastest rate in that size, if it says.
    pub fps: Option<f64>,
}

impl Device {
    /// What would be asked of it where nothing is wished for.
    #[must_use]
    pub fn usual(&self) -> Option<Mode> {
        choose(&self.offers, USUAL, &[])
    }

    /// Its forms with the largest size of each, best first.
    #[must_use]
    pub fn best(&self) -> Vec<Best> {
        let mut best: BTreeMap<Form, Best> = BTreeMap::new();
        for offer in &self.offers {
            let one = Best {
                form: offer.form,
                size: Dimensions::new(offer.width.most_px, offer.height.most_px),
                fps: offer.rates.fastest().map(Rate::per_s),
            };
            let pixels = |best: &Best| (best.size.width_px * best.size.height_px, best.fps);
            let kept = best.entry(offer.form).or_insert(one);
            if pixels(&one) > pixels(kept) {
                *kept = one;
            }
        }
        best.into_values().collect()
    }
}

impl fmt::Display for Form {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::H264 => f.write_str("H.264"),
            Self::Jpeg => f.write_str("Motion JPEG"),
            Self::Raw(name) => write!(f, "uncompressed {name}"),
        }
    }
}

/// The cameras that are plugged in, in the order of their numbers. Opens each
/// for a moment, which does not disturb one that is sending.
#[must_use]
pub fn list() -> Vec<Device> {
    list_below(Path::new("/"), |node| {
        let Ok(source) = open(node) else {
            return Vec::new();
        };
        let offers = offers(&listed(&source));
        let _ = source.set_state(gst::State::Null);
        offers
    })
}

/// The same, in a file system that begins at `root`.
fn list_below(root: &Path, probe: impl Fn(&Path) -> Vec<Offer>) -> Vec<Device> {
    let lasting = lasting_names(root);
    let mut numbers: Vec<u32> = entries(&root.join("dev"))
        .filter_map(|path| number_of(&path))
        .collect();
    numbers.sort_unstable();
    numbers
        .into_iter()
        .filter_map(|number| {
            let id = format!("video{number}");
            let node = root.join("dev").join(&id);
            // A device without pictures is a camera's second one, or no camera.
            let offers = Some(probe(&node)).filter(|offers| !offers.is_empty())?;
            let about = root.join("sys/class/video4linux").join(&id).join("name");
            let name = fs::read_to_string(about).unwrap_or_default();
            let real = fs::canonicalize(&node).unwrap_or_else(|_| node.clone());
            Some(Device {
                device: lasting.get(&real).cloned().unwrap_or(node),
                name: printable(name.trim()),
                id,
                offers,
            })
        })
        .collect()
}

fn entries(folder: &Path) -> impl Iterator<Item = PathBuf> {
    let entries = fs::read_dir(folder).into_iter().flatten();
    entries.filter_map(|entry| Some(entry.ok()?.path()))
}

fn number_of(path: &Path) -> Option<u32> {
    path.file_name()?
        .to_str()?
        .strip_prefix("video")?
        .parse()
        .ok()
}

/// For each device the name that lasts: that of the camera itself, or, where two
/// cameras of a kind share that, of the socket it is plugged into.
fn lasting_names(root: &Path) -> BTreeMap<PathBuf, PathBuf> {
    let mut names = BTreeMap::new();
    for folder in ["dev/v4l/by-path", "dev/v4l/by-id"] {
        let mut links: Vec<_> = entries(&root.join(folder)).collect();
        links.sort_unstable();
        for link in links {
            if let Ok(real) = fs::canonicalize(&link) {
                names.insert(real, link);
            }
        }
    }
    names
}

/// A camera may call itself anything.
fn printable(name: &str) -> String {
    name.chars().filter(|c| !c.is_control()).take(60).collect()
}

/// How wide a picture is to tell cameras apart by.
const STILL: Dimensions = Dimensions::new(640, 360);

/// Pictures passed over: the first are dark until the exposure has settled.
const PASSED_OVER: usize = 8;

/// How long one may take altogether.
const PATIENCE: Duration = Duration::from_secs(5);

/// A picture of the device called `id`, as a JPEG; `None` where there is no such
/// device. Blocks for a second or so.
#[must_use]
pub fn picture(id: &str) -> Option<Result<Bytes, CameraError>> {
    let device = list().into_iter().find(|device| device.id == id)?;
    Some(picture_of(&device))
}

fn picture_of(device: &Device) -> Result<Bytes, CameraError> {
    let wanted = Most {
        size: STILL,
        fps: 15,
    };
    let mode = choose(&device.offers, wanted, &[Form::H264]).ok_or_else(|| {
        CameraError::new(
            CameraState::Unsuitable,
            "it sends H.264 alone, of which no picture is made here",
        )
    })?;
    let source = open(&device.device)?;
    still(&source, &mode).map_err(|trouble| explain(trouble, &device.device))
}

/// A picture from a source that can send in this mode.
pub(super) fn still(source: &gst::Element, mode: &Mode) -> Result<Bytes, Trouble> {
    let pipeline = gst::Pipeline::new();
    let outcome = still_from(&pipeline, source, mode);
    let _ = pipeline.set_state(gst::State::Null);
    outcome
}

fn still_from(
    pipeline: &gst::Pipeline,
    source: &gst::Element,
    mode: &Mode,
) -> Result<Bytes, Trouble> {
    let unmade = |_| Trouble::default();
    let sink = row(pipeline, source, mode).map_err(unmade)?;
    let bus = pipeline.bus().expect("a pipeline has a bus");
    let trouble = || {
        let error = bus.pop_filtered(&[gst::MessageType::Error]);
        match error.as_deref().map(gst::MessageRef::view) {
            Some(gst::MessageView::Error(error)) => Trouble::of(error),
            _ => Trouble::default(),
        }
    };
    if pipeline.set_state(gst::State::Playing).is_err() {
        return Err(trouble());
    }
    let until = Instant::now() + PATIENCE;
    let mut last = None;
    for _ in 0..=PASSED_OVER {
        let left = until.saturating_duration_since(Instant::now());
        let left = gst::ClockTime::from_mseconds(left.as_millis() as u64);
        match sink.try_pull_sample(left) {
            Some(sample) => last = Some(sample),
            // A slow camera's third picture is better than none.
            None => break,
        }
    }
    let sample = last.ok_or_else(trouble)?;
    let bytes = sample
        .buffer()
        .and_then(|buffer| buffer.map_readable().ok());
    bytes
        .map(|bytes| Bytes::copy_from_slice(&bytes))
        .ok_or_else(trouble)
}

/// Source, decoder, a small size, JPEG.
fn row(
    pipeline: &gst::Pipeline,
    source: &gst::Element,
    mode: &Mode,
) -> Result<gst_app::AppSink, CameraError> {
    let misfit = |_| CameraError::new(CameraState::MissingPart, "the parts do not fit");
    let asked = element("capsfilter")?;
    asked.set_property("caps", caps_of(mode));
    let convert = element("videoconvertscale")?;
    let small = element("capsfilter")?;
    // A picture's shape is kept; what is smaller is not blown up.
    let within = |px: u32| gst::IntRange::new(16, px as i32);
    let caps = gst::Caps::builder("video/x-raw")
        .field("width", within(STILL.width_px))
        .field("height", within(STILL.height_px))
        .field("pixel-aspect-ratio", gst::Fraction::new(1, 1))
        .build();
    small.set_property("caps", caps);
    let encode = element("jpegenc")?;
    let sink = gst_app::AppSink::builder()
        .sync(false)
        .max_buffers(1)
        .build();
    let mut parts = vec![source.clone(), asked];
    if mode.form == Form::Jpeg {
        // Through the decoder: a webcam's JPEG lacks tables that browsers need.
        let decode = element("jpegdec")?;
        decode.set_property("max-errors", -1_i32);
        parts.push(decode);
    }
    parts.extend([convert, small, encode, sink.clone().upcast()]);
    pipeline
        .add_many(&parts)
        .and_then(|()| gst::Element::link_many(&parts))
        .map_err(misfit)?;
    Ok(sink)
}

#[cfg(test)]
#[path = "devices_tests.rs"]
mod tests;
