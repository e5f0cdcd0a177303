//! Why a USB camera is not sending, from what the kernel said.
//!
//! Not here: any text of `GStreamer`'s. It is searched for the kernel's words
//! and dropped.

use std::{fs, io, os::unix::fs::FileTypeExt as _, path::Path};

use afterturn_core::wire::CameraState;
use gstreamer as gst;

use crate::av::camera::CameraError;

/// What `GStreamer` knew, without its words.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Trouble {
    /// The bus has no room (`ENOSPC`).
    no_room: bool,
    /// Another program has it (`EBUSY`).
    busy: bool,
}

impl Trouble {
    pub(super) fn of(message: &gst::message::Error) -> Self {
        let busy = message.error().matches(gst::ResourceError::Busy);
        let debug = message.debug().unwrap_or_default();
        let said = Self::in_words(&debug);
        Self {
            busy: busy || said.busy,
            ..said
        }
    }

    /// The names the C library has for errors (POSIX `strerror`, in English as
    /// this program sets no locale).
    fn in_words(said: &str) -> Self {
        Self {
            no_room: said.contains("No space left on device"),
            busy: said.contains("Device or resource busy"),
        }
    }
}

/// The one word and the technician's sentence.
pub(super) fn explain(trouble: Trouble, device: &Path) -> CameraError {
    let name = device.display();
    let (state, detail) = match fs::File::open(device).and_then(|file| file.metadata()) {
        Err(error) if error.kind() == io::ErrorKind::PermissionDenied => (
            CameraState::Unreachable,
            format!("the program may not open {name}; add its user to the group `video`"),
        ),
        Err(error) if error.kind() == io::ErrorKind::NotFound => (
            CameraState::Unreachable,
            format!("{name} is not plugged in"),
        ),
        Err(_) => (CameraState::Unreachable, format!("{name} does not open")),
        Ok(about) if !about.file_type().is_char_device() => (
            CameraState::NotACamera,
            format!("{name} is no device; `afterturn cameras` lists those there are"),
        ),
        Ok(_) if trouble.no_room => (
            CameraState::Unreachable,
            format!(
                "the USB hub of {name} has no room left for its pictures; \
                 plug it in elsewhere, or ask for smaller ones"
            ),
        ),
        Ok(_) if trouble.busy => (
            CameraState::Unreachable,
            format!("another program uses {name}"),
        ),
        Ok(_) if trouble == Trouble::default() && !takes_pictures(device) => (
            CameraState::NotACamera,
            format!(
                "{name} is a device that takes no pictures; \
                 `afterturn cameras` lists those that do"
            ),
        ),
        Ok(_) => (
            CameraState::Ended,
            format!("{name} stopped sending; is its cable loose?"),
        ),
    };
    CameraError::new(state, detail)
}

/// Cameras are those of the video class; a camera has a second device there that
/// only tells about its pictures, and that one does not open as a source.
fn takes_pictures(device: &Path) -> bool {
    let real = fs::canonicalize(device).unwrap_or_else(|_| device.to_owned());
    let name = real.file_name().unwrap_or_default();
    Path::new("/sys/class/video4linux").join(name).exists()
}

/// None of its forms is one of ours.
pub(super) fn nothing_to_use(listed: &gst::CapsRef) -> CameraError {
    let mut names: Vec<_> = listed.iter().map(|form| form.name().to_string()).collect();
    names.sort_unstable();
    names.dedup();
    let detail = if names.is_empty() {
        "this device offers no pictures".to_owned()
    } else {
        format!(
            "this camera offers {}, none of which can be used here",
            names.join(" and ")
        )
    };
    CameraError::new(CameraState::Unsuitable, detail)
}

#[cfg(test)]
mod tests {
    use std::str::FromStr as _;

    use super::*;

    const NONE: Trouble = Trouble {
        no_room: false,
        busy: false,
    };

    #[test]
    fn the_kernels_words_are_known() {
        let said = "../sys/v4l2/gstv4l2bufferpool.c(863): streamon_failed (): \
                    error with STREAMON 28 (No space left on device)";
        assert!(Trouble::in_words(said).no_room);
        let said = "Call to S_FMT failed for YUYV @ 640x480: Device or resource busy";
        assert!(Trouble::in_words(said).busy);
        assert_eq!(Trouble::in_words("something else"), NONE);
    }

    #[test]
    fn each_trouble_has_its_word() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        fs::write(&file, b"x").unwrap();
        let busy = Trouble { busy: true, ..NONE };
        let full = Trouble {
            no_room: true,
            ..NONE
        };
        // A device that is there on every machine, and is no camera.
        let null = Path::new("/dev/null");
        for (trouble, device, state, words) in [
            (
                NONE,
                Path::new("/dev/v4l/by-id/none"),
                CameraState::Unreachable,
                "not plugged in",
            ),
            (NONE, &file, CameraState::NotACamera, "no device"),
            (NONE, folder.path(), CameraState::NotACamera, "no device"),
            (NONE, null, CameraState::NotACamera, "takes no pictures"),
            (busy, null, CameraState::Unreachable, "another program"),
            (full, null, CameraState::Unreachable, "no room left"),
        ] {
            let error = explain(trouble, device);
            assert_eq!(error.state, state, "{error}");
            assert!(error.detail.contains(words), "{error}");
        }
    }

    #[test]
    fn a_camera_of_another_kind_is_told_by_what_it_offers() {
        crate::av::init().unwrap();
        let caps = |text| gst::Caps::from_str(text).unwrap();
        let bayer = caps("video/x-bayer, width=640; video/x-bayer, width=320; video/x-dv");
        let error = nothing_to_use(&bayer);
        assert_eq!(error.state, CameraState::Unsuitable);
        assert!(
            error.detail.contains("video/x-bayer and video/x-dv"),
            "{error}"
        );
        let error = nothing_to_use(&caps("EMPTY"));
        assert!(error.detail.contains("offers no pictures"), "{error}");
    }
}
