//! A recording in place of a camera: any file that this machine can decode,
//! over and over at its own pace, for trying things out and for lessons without
//! a camera.
//!
//! ```text
//! filesrc ! decodebin ! (videoflip, where it was held sideways) ! clocksync ! (encode) ! (tail)
//! ```
//!
//! A picture is "taken" when its turn in the recording comes. Each lap is a
//! pipeline of its own: files that cannot be wound back can be played again too,
//! and times only grow.
//!
//! Not here: sound (such a stream is neither decoded nor linked), and writing.
//! The file's name stays here too: it may hold a child's.

use std::{
    fmt, fs, io,
    path::{Path, PathBuf},
    sync::{Arc, Mutex, MutexGuard, PoisonError},
    time::{Duration, Instant},
};

use afterturn_core::wire::CameraState;
use gstreamer::{self as gst, prelude::*};

use super::{
    arrivals::Arrivals,
    convert::Converter,
    drive::{Bench, Outcome, Recipe, drive},
    gate::Gate,
    verdict::{Verdict, Whistle},
};
use crate::av::{
    camera::{Camera, CameraError, EventSink, Knock, NowFn, Running},
    element,
    encode::{Encoding, USUAL},
};

/// A lap below this is no recording worth looping: a still, or one picture of a
/// damaged file, opened a dozen times a second.
const LEAST_LAP: Duration = Duration::from_millis(500);

/// The package that decodes most of what the others do not.
const MOST_DECODERS: &str = "gstreamer1.0-libav";

/// A recording.
pub struct FileCamera {
    path: PathBuf,
    encoding: Encoding,
}

impl fmt::Debug for FileCamera {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("FileCamera").finish_non_exhaustive()
    }
}

impl FileCamera {
    /// The recording in this file; nothing is opened yet.
    #[must_use]
    pub const fn new(path: PathBuf, encoding: Encoding) -> Self {
        Self { path, encoding }
    }
}

impl Camera for FileCamera {
    fn kind(&self) -> &'static str {
        "file"
    }

    fn knock(&self) -> Option<Knock> {
        Some(Knock::Path(self.path.clone()))
    }

    fn start(&mut self, now: NowFn, events: EventSink) -> Result<Box<dyn Running>, CameraError> {
        let playback = Playback {
            path: self.path.clone(),
            converter: Converter::new(self.encoding.clone(), USUAL),
            began: Instant::now(),
            found: Arc::default(),
        };
        let gate = Arc::new(Gate::new(events));
        Ok(Box::new(drive(playback, &gate, &now)?))
    }
}

/// What showed in the file.
#[derive(Default)]
struct Found {
    pictures: bool,
    sound: bool,
    /// A form of pictures for which there is no decoder.
    undecoded: Option<String>,
}

struct Playback {
    path: PathBuf,
    converter: Converter,
    /// When this lap did.
    began: Instant,
    found: Arc<Mutex<Found>>,
}

impl Recipe for Playback {
    fn build(&mut self, bench: &Bench) -> Result<(), CameraError> {
        readable(&self.path)?;
        self.found = Arc::default();
        let misfit = |_| CameraError::new(CameraState::MissingPart, "the file parts do not fit");
        let source = element("filesrc")?;
        source.set_property("location", self.path.as_path());
        let decode = element("decodebin")?;
        // What a driver makes of a file is not for us to find out in a lesson.
        decode.set_property("force-sw-decoders", true);
        let pace = element("clocksync")?;
        // The first picture is due when it comes, however long opening took.
        pace.set_property("sync-to-first", true);
        let pipeline = &bench.pipeline;
        pipeline
            .add_many([&source, &decode, &pace])
            .and_then(|()| gst::Element::link_many([&source, &decode]))
            .map_err(misfit)?;
        only_pictures(&decode, &pace, &self.found, &bench.whistle);

        let arrivals = pace.static_pad("src");
        let arrivals = arrivals.map(|pad| Arrivals::at(&pad, &bench.now));
        self.converter.attach(bench, &pace, arrivals, Vec::new())?;
        self.began = Instant::now();
        Ok(())
    }

    /// `decodebin` may swallow the error of a part it was still plugging in.
    fn looks_well(&self) -> Result<(), CameraError> {
        let found = locked(&self.found);
        if found.pictures {
            Ok(())
        } else {
            Err(explain(&found))
        }
    }

    fn after(&mut self, outcome: Outcome<'_>) -> Result<(), CameraError> {
        let found = locked(&self.found);
        match outcome {
            Outcome::Found(Verdict::TooSlow) => {
                self.converter.step_down();
                Ok(())
            }
            Outcome::Found(Verdict::NoPictures) => Err(explain(&found)),
            Outcome::Found(verdict) => Err(unsuitable(verdict.advice())),
            // A recording that breaks off is shown as far as it goes.
            Outcome::Ended | Outcome::Failed(_)
                if found.pictures && self.began.elapsed() >= LEAST_LAP =>
            {
                Ok(())
            }
            Outcome::Ended => Err(explain(&found)),
            Outcome::Failed(error) => {
                let failed_to_read = error.error().is::<gst::ResourceError>();
                match readable(&self.path) {
                    Err(reason) => Err(reason),
                    Ok(()) if failed_to_read => Err(unreachable("it cannot be read to its end")),
                    Ok(()) => Err(explain(&found)),
                }
            }
        }
    }
}

/// Whether there is a file with something in it.
fn readable(path: &Path) -> Result<(), CameraError> {
    let opened = fs::File::open(path).and_then(|file| file.metadata());
    match opened {
        Ok(about) if !about.is_file() => Err(unsuitable("it is a folder or a device, not a file")),
        Ok(about) if about.len() == 0 => Err(unsuitable("it is empty")),
        Ok(_) => Ok(()),
        Err(error) => Err(unreachable(match error.kind() {
            io::ErrorKind::NotFound => "there is no file of this name",
            io::ErrorKind::PermissionDenied => "the program may not read it",
            _ => "it cannot be opened",
        })),
    }
}

fn explain(found: &Found) -> CameraError {
    if let Some(form) = &found.undecoded {
        return CameraError::new(
            CameraState::MissingPart,
            format!(
                "the recording: this machine cannot decode {form}; \
                 install the Debian package {MOST_DECODERS}, or convert it to H.264 in MP4"
            ),
        );
    }
    unsuitable(match (found.pictures, found.sound) {
        (true, _) => "it is shorter than half a second, or damaged",
        (false, true) => "it has sound and no pictures",
        (false, false) => "it is damaged, or no recording",
    })
}

fn unsuitable(why: impl fmt::Display) -> CameraError {
    CameraError::new(CameraState::Unsuitable, format!("the recording: {why}"))
}

fn unreachable(why: &str) -> CameraError {
    CameraError::new(CameraState::Unreachable, format!("the recording: {why}"))
}

/// Lets the first stream of pictures be decoded and come out at `outlet`, and
/// nothing else; notes what else there was.
fn only_pictures(
    decode: &gst::Element,
    outlet: &gst::Element,
    found: &Arc<Mutex<Found>>,
    whistle: &Whistle,
) {
    let noted = Arc::clone(found);
    decode.connect("autoplug-continue", false, move |values| {
        let caps = values.get(2).and_then(|caps| caps.get::<gst::Caps>().ok());
        let name = caps.as_ref().map(name_of).unwrap_or_default();
        // Containers count as pictures: what is in them is asked about in turn.
        let sound = name.starts_with("audio/");
        locked(&noted).sound |= sound;
        let other = name.starts_with("text/") || name.starts_with("subpicture/");
        Some((!sound && !other).to_value())
    });
    let noted = Arc::clone(found);
    decode.connect("unknown-type", false, move |values| {
        let caps = values.get(2).and_then(|caps| caps.get::<gst::Caps>().ok());
        let name = caps.as_ref().map(name_of).unwrap_or_default();
        if name.starts_with("video/") || name.starts_with("image/") {
            locked(&noted).undecoded.get_or_insert(readable_form(&name));
        }
        None
    });
    let (outlet, noted) = (outlet.downgrade(), Arc::clone(found));
    decode.connect_pad_added(move |decode, pad| {
        let caps = pad.current_caps().unwrap_or_else(|| pad.query_caps(None));
        let free = |outlet: &gst::Element| {
            let sink = outlet.static_pad("sink");
            sink.is_some_and(|sink| !sink.is_linked())
        };
        if name_of(&caps).starts_with("video/x-raw")
            && let Some(outlet) = outlet.upgrade().filter(free)
            && let Some(sink) = upright(decode, &outlet)
            && pad.link(&sink).is_ok()
        {
            locked(&noted).pictures = true;
        }
    });
    // Sound that nobody takes may end without another word.
    let (noted, whistle) = (Arc::clone(found), whistle.clone());
    decode.connect_no_more_pads(move |_| {
        if !locked(&noted).pictures {
            whistle.blow(Verdict::NoPictures);
        }
    });
}

/// Where pictures go in that are to leave the right way up. What turns them is put
/// in only where the file says that they lie on their side: it copies each picture,
/// turned or not, which is a hundredth of a core.
fn upright(decode: &gst::Element, outlet: &gst::Element) -> Option<gst::Pad> {
    if !lies_on_its_side(decode) {
        return outlet.static_pad("sink");
    }
    let flip = element("videoflip").ok()?;
    flip.set_property_from_str("video-direction", "auto");
    let pipeline = outlet.parent()?.downcast::<gst::Bin>().ok()?;
    pipeline.add(&flip).ok()?;
    flip.link(outlet).ok()?;
    flip.sync_state_with_parent().ok()?;
    flip.static_pad("sink")
}

/// Whether any part that takes the file apart has found that it was held so. The
/// word of it is under way still when the first pictures show.
fn lies_on_its_side(decode: &gst::Element) -> bool {
    let said = |pad: &gst::Pad| {
        let mut tags = (0..).map_while(|number| pad.sticky_event::<gst::event::Tag<_>>(number));
        tags.any(|event| {
            let held = event.tag().get::<gst::tags::ImageOrientation>();
            held.is_some_and(|held| held.get() != "rotate-0")
        })
    };
    let Some(decode) = decode.downcast_ref::<gst::Bin>() else {
        return false;
    };
    let parts = decode.iterate_recurse().into_iter().flatten();
    let mut pads = parts.flat_map(|part| part.src_pads());
    pads.any(|pad| said(&pad))
}

fn name_of(caps: &gst::Caps) -> String {
    caps.structure(0)
        .map(|form| form.name().to_string())
        .unwrap_or_default()
}

/// A form of pictures as people write it; only letters and digits of what the
/// file itself may have made up.
fn readable_form(name: &str) -> String {
    match name {
        "video/x-h264" => "H.264 of this kind".to_owned(),
        "video/x-h265" => "H.265 (HEVC)".to_owned(),
        "video/x-av1" => "AV1".to_owned(),
        "video/mpeg" => "MPEG video".to_owned(),
        "image/jpeg" => "JPEG".to_owned(),
        other => other
            .chars()
            .filter(|c| c.is_ascii_alphanumeric() || "/-".contains(*c))
            .take(30)
            .collect(),
    }
}

/// A thread that panicked while it held these plain values left them whole.
fn locked(found: &Mutex<Found>) -> MutexGuard<'_, Found> {
    found.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
#[path = "file_tests.rs"]
mod tests;
