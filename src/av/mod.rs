//! The only room that knows `GStreamer` and WebRTC: it opens cameras, and hands out their
//! pictures as plain bytes with the time they came.
//!
//! - [`camera`]: what a camera is to everyone else; no `GStreamer` in it.
//! - [`source`]: the kinds of camera.
//! - [`decode`]: brightness out of a stream, for whoever has to look.
//! - [`encode`]: H.264 from raw pictures, by the best encoder that works here.
//! - [`keep`]: a still or a clip, everything but the mat covered.
//! - [`still`]: a small JPEG to tell cameras apart by.
//! - [`whip`]: devices that publish over WebRTC.
//!
//! Not here: what time a picture *was taken* (`afterturn_core::media` stamps
//! it), wrapping, keeping, or when to try a camera again. And no audio, ever:
//! no part of this room asks for it.

pub mod camera;
pub mod decode;
pub mod encode;
pub mod keep;
pub mod source;
pub mod still;
pub mod whip;

use gstreamer as gst;

/// What every camera needs: an element, and the Debian package that has it.
const NEEDED: &[(&str, &str)] = &[
    ("rtspsrc", "gstreamer1.0-plugins-good"),
    ("rtpbin", "gstreamer1.0-plugins-good"),
    ("rtph264depay", "gstreamer1.0-plugins-good"),
    ("h264parse", "gstreamer1.0-plugins-bad"),
    ("capsfilter", "libgstreamer1.0-0"),
    ("queue", "libgstreamer1.0-0"),
    ("deinterlace", "gstreamer1.0-plugins-good"),
    ("videoconvertscale", "gstreamer1.0-plugins-base"),
    ("filesrc", "libgstreamer1.0-0"),
    ("clocksync", "libgstreamer1.0-0"),
    ("decodebin", "gstreamer1.0-plugins-base"),
    ("videoflip", "gstreamer1.0-plugins-good"),
    ("v4l2src", "gstreamer1.0-plugins-good"),
    ("jpegdec", "gstreamer1.0-plugins-good"),
    ("jpegenc", "gstreamer1.0-plugins-good"),
    ("appsrc", "gstreamer1.0-plugins-base"),
    ("appsink", "gstreamer1.0-plugins-base"),
];

/// Something this machine lacks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MissingPart {
    /// The `GStreamer` element.
    pub element: &'static str,
    /// The Debian package to install.
    pub package: &'static str,
}

/// Why cameras cannot be opened on this machine, or not all of them.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MissingParts {
    /// `GStreamer` itself does not start.
    #[error("GStreamer does not start: {0}")]
    Gstreamer(String),
    /// It starts, without these.
    #[error("GStreamer lacks {}", list(.0))]
    Elements(Vec<MissingPart>),
}

fn list(parts: &[MissingPart]) -> String {
    let each = parts
        .iter()
        .map(|p| format!("{} (Debian package {})", p.element, p.package));
    each.collect::<Vec<_>>().join(", ")
}

/// Starts `GStreamer`, silences it, and looks for every part the kinds of
/// camera need. Called once before any camera is started; again does no harm.
///
/// An error need not stop the program: a camera that can be opened still will
/// be, and one that cannot says `MissingPart` on its own screen.
pub fn init() -> Result<(), MissingParts> {
    gst::init().map_err(|error| MissingParts::Gstreamer(error.to_string()))?;
    silence();
    let mut missing: Vec<_> = NEEDED
        .iter()
        .filter(|(element, _)| gst::ElementFactory::find(element).is_none())
        .map(|&(element, package)| MissingPart { element, package })
        .collect();
    missing.extend(encode::missing());
    if missing.is_empty() {
        Ok(())
    } else {
        Err(MissingParts::Elements(missing))
    }
}

/// `GStreamer` prints camera addresses, passwords included, at several of its
/// debug levels. So its words go nowhere, whatever `GST_DEBUG` asks for; what a
/// technician needs is in a [`camera::CameraError`], written by us.
fn silence() {
    gst::log::set_active(false);
    gst::log::remove_default_log_function();
    gst::glib::log_set_default_handler(|domain, level, _words| {
        let domain = domain.unwrap_or("no domain");
        tracing::debug!(
            domain,
            ?level,
            "a library complained (words left out: they may hold an address)"
        );
    });
}

/// Makes an element, or says which package has it.
fn element(name: &'static str) -> Result<gst::Element, camera::CameraError> {
    gst::ElementFactory::make(name).build().map_err(|_| {
        let package = NEEDED
            .iter()
            .find(|(needed, _)| *needed == name)
            .map_or("unknown", |n| n.1);
        let part = MissingPart {
            element: name,
            package,
        };
        camera::CameraError::new(
            afterturn_core::wire::CameraState::MissingPart,
            MissingParts::Elements(vec![part]).to_string(),
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_missing_part_names_its_package() {
        let parts = vec![
            MissingPart {
                element: "rtspsrc",
                package: "gstreamer1.0-plugins-good",
            },
            MissingPart {
                element: "h264parse",
                package: "gstreamer1.0-plugins-bad",
            },
        ];
        assert_eq!(
            MissingParts::Elements(parts).to_string(),
            "GStreamer lacks rtspsrc (Debian package gstreamer1.0-plugins-good), \
             h264parse (Debian package gstreamer1.0-plugins-bad)"
        );
    }

    #[test]
    fn every_part_is_here_and_asking_twice_does_no_harm() {
        assert_eq!(init(), Ok(()));
        assert_eq!(init(), Ok(()));
    }
}
