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
    opened,
    trouble::{self, Trouble},
};
use crate::av::{
    camera::CameraError,
    decode, element,
    encode::{Dimensions, Most, Rate, USUAL},
    still::{self, STILL},
};

pub use super::trouble::Why;

/// A camera that is plugged in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Device {
    /// Short, for a page: `video0`. Another camera may have it tomorrow.
    pub id: String,
    /// The name for the settings: one that lasts, where there is one.
    pub device: PathBuf,
    /// What it calls itself.
    pub name: String,
    /// What it offers; nothing where it is not to be opened, or is of no use.
    pub offers: Vec<Offer>,
    /// Why it gives no picture, where that is known already.
    pub trouble: Option<Why>,
}

/// The cameras that are not to be opened, not even to ask what they offer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Shut {
    /// Those of these names.
    These(Vec<PathBuf>),
    /// Every one.
    All,
}

impl Shut {
    /// Whether the device of this name is one of them.
    #[must_use]
    pub fn holds(&self, name: &Path) -> bool {
        match self {
            Self::These(names) => names.iter().any(|one| real(one) == real(name)),
            Self::All => true,
        }
    }
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
    /// Whether this is the device of this name: it has several.
    #[must_use]
    pub fn is_at(&self, name: &Path) -> bool {
        real(&self.device) == real(name)
    }

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
/// for a moment, but for those that are `shut`.
#[must_use]
pub fn list(shut: &Shut) -> Vec<Device> {
    list_below(Path::new("/"), shut, |_| true, probe)
}

/// The one called `id`. Opens it for a moment, unless it is `shut`.
#[must_use]
pub fn find(id: &str, shut: &Shut) -> Option<Device> {
    let this = |number| id == name_of(number);
    list_below(Path::new("/"), shut, this, probe).pop()
}

/// What a device offers. Opening one does not disturb another program's pictures.
fn probe(node: &Path) -> Result<Vec<Offer>, Why> {
    let source = opened(node)?;
    let listed = listed(&source);
    let _ = source.set_state(gst::State::Null);
    let offers = offers(&listed);
    if !offers.is_empty() {
        Ok(offers)
    } else if listed.is_empty() {
        Err(Why::NoCamera)
    } else {
        Err(Why::NoForm)
    }
}

/// Those with numbers that are asked for, in a file system that begins at `root`.
fn list_below(
    root: &Path,
    shut: &Shut,
    asked: impl Fn(u32) -> bool,
    probe: impl Fn(&Path) -> Result<Vec<Offer>, Why>,
) -> Vec<Device> {
    let lasting = lasting_names(root);
    let mut numbers: Vec<u32> = entries(&root.join("dev"))
        .filter_map(|path| number_of(&path))
        .filter(|number| asked(*number))
        .collect();
    numbers.sort_unstable();
    numbers
        .into_iter()
        .filter_map(|number| {
            let id = name_of(number);
            let node = root.join("dev").join(&id);
            let real = real(&node);
            let (offers, trouble) = if shut.holds(&real) {
                // A camera's second device is none for a station to use.
                if *shut == Shut::All && is_second(root, &id) {
                    return None;
                }
                (Vec::new(), None)
            } else {
                match probe(&node) {
                    Ok(offers) => (offers, None),
                    // A camera's second device, or no camera.
                    Err(Why::Forbidden) if is_second(root, &id) => return None,
                    // It is there for a person who looks at the table, and what
                    // is wrong can be set right.
                    Err(why @ (Why::Forbidden | Why::Busy | Why::NoForm)) => {
                        (Vec::new(), Some(why))
                    }
                    Err(_) => return None,
                }
            };
            let about = root.join("sys/class/video4linux").join(&id).join("name");
            let name = fs::read_to_string(about).unwrap_or_default();
            Some(Device {
                device: lasting.get(&real).cloned().unwrap_or(node),
                name: printable(name.trim()),
                id,
                offers,
                trouble,
            })
        })
        .collect()
}

/// Whether it is one of a camera's devices and not the first, as far as can be
/// told without opening it.
fn is_second(root: &Path, id: &str) -> bool {
    let index = root.join("sys/class/video4linux").join(id).join("index");
    fs::read_to_string(index).is_ok_and(|index| index.trim() != "0")
}

fn name_of(number: u32) -> String {
    format!("video{number}")
}

/// What a name leads to; the name itself where it leads nowhere.
fn real(name: &Path) -> PathBuf {
    fs::canonicalize(name).unwrap_or_else(|_| name.to_owned())
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

/// Pictures passed over: the first are dark until the exposure has settled.
const PASSED_OVER: usize = 8;

/// How long one may take altogether.
const PATIENCE: Duration = Duration::from_secs(5);

/// How soon it is noticed that no picture is wanted any more.
const ASK_EVERY: Duration = Duration::from_millis(100);

/// A picture of a device, as a JPEG. Blocks for a second or so; lets go of the
/// camera without one once it `may` not.
pub fn picture(device: &Device, may: &dyn Fn() -> bool) -> Result<Bytes, Why> {
    if let Some(why) = device.trouble {
        return Err(why);
    }
    let wanted = Most {
        size: STILL,
        fps: 15,
    };
    let mode = choose(&device.offers, wanted, &[Form::H264])
        // It sends nothing else.
        .or_else(|| choose(&device.offers, USUAL, &[]))
        .ok_or(Why::NoForm)?;
    let source = opened(&device.device)?;
    still(&source, &mode, may).map_err(|trouble| {
        if may() {
            trouble::why(trouble, &device.device)
        } else {
            // To find out more would be to open it again.
            Why::Shut
        }
    })
}

/// A picture from a source that can send in this mode.
pub(super) fn still(
    source: &gst::Element,
    mode: &Mode,
    may: &dyn Fn() -> bool,
) -> Result<Bytes, Trouble> {
    let pipeline = gst::Pipeline::new();
    let outcome = still_from(&pipeline, source, mode, may);
    let _ = pipeline.set_state(gst::State::Null);
    outcome
}

fn still_from(
    pipeline: &gst::Pipeline,
    source: &gst::Element,
    mode: &Mode,
    may: &dyn Fn() -> bool,
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
    let mut seen = 0;
    while seen <= PASSED_OVER && Instant::now() < until {
        if !may() {
            return Err(Trouble::default());
        }
        let wait = gst::ClockTime::from_mseconds(ASK_EVERY.as_millis() as u64);
        match sink.try_pull_sample(wait) {
            Some(sample) => {
                last = Some(sample);
                seen += 1;
            }
            // A slow camera's third picture is better than none.
            None if sink.is_eos() => break,
            None => {}
        }
    }
    let sample = last.ok_or_else(trouble)?;
    still::jpeg_of(&sample).ok_or_else(trouble)
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
    let mut parts = vec![source.clone(), asked];
    match mode.form {
        Form::H264 => {
            let missing = |error: decode::DecodeError| {
                CameraError::new(CameraState::MissingPart, error.to_string())
            };
            parts.extend([element("h264parse")?, decode::decoder().map_err(missing)?]);
        }
        Form::Jpeg => {
            // Through the decoder: a webcam's JPEG lacks tables that browsers need.
            let decode = element("jpegdec")?;
            decode.set_property("max-errors", -1_i32);
            parts.push(decode);
        }
        Form::Raw(_) => {}
    }
    let (rest, sink) = still::row()?;
    parts.extend(rest);
    pipeline
        .add_many(&parts)
        .and_then(|()| gst::Element::link_many(&parts))
        .map_err(misfit)?;
    Ok(sink)
}

#[cfg(test)]
#[path = "devices_tests.rs"]
mod tests;
