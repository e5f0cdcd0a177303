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

/// Why a USB camera gives no picture, as far as that can be told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// It is not plugged in.
    Unplugged,
    /// The program may not open it.
    Forbidden,
    /// Another program has it.
    Busy,
    /// The bus has no room for its pictures.
    NoRoom,
    /// It offers no form that is taken here.
    NoForm,
    /// It is no camera.
    NoCamera,
    /// It does not open.
    Shut,
    /// It opened and sends nothing, or no more.
    Silent,
    /// A part of the program is missing on this machine.
    MissingPart,
}

impl Why {
    /// The one word and the technician's sentence.
    pub(super) fn of_device(self, device: &Path) -> CameraError {
        let name = device.display();
        let (state, detail) = match self {
            Self::Unplugged => (
                CameraState::Unreachable,
                format!("{name} is not plugged in"),
            ),
            Self::Forbidden => (
                CameraState::Unreachable,
                format!("the program may not open {name}; add its user to the group `video`"),
            ),
            Self::Busy => (
                CameraState::Unreachable,
                format!("another program uses {name}"),
            ),
            Self::NoRoom => (
                CameraState::Unreachable,
                format!(
                    "the USB hub of {name} has no room left for its pictures; \
                     plug it in elsewhere, or ask for smaller ones"
                ),
            ),
            Self::NoForm => (
                CameraState::Unsuitable,
                format!("{name} offers no form of pictures that can be used here"),
            ),
            Self::NoCamera => (
                CameraState::NotACamera,
                format!(
                    "{name} is no device that takes pictures; \
                     `afterturn cameras` lists those that do"
                ),
            ),
            Self::Shut => (CameraState::Unreachable, format!("{name} does not open")),
            Self::Silent => (
                CameraState::Ended,
                format!("{name} stopped sending; is its cable loose?"),
            ),
            Self::MissingPart => (
                CameraState::MissingPart,
                format!("a part is missing to read {name}; `afterturn cameras` names it"),
            ),
        };
        CameraError::new(state, detail)
    }
}

/// The one word and the technician's sentence.
pub(super) fn explain(trouble: Trouble, device: &Path) -> CameraError {
    why(trouble, device).of_device(device)
}

/// What the machine can tell of a device that gives no pictures.
pub(super) fn why(trouble: Trouble, device: &Path) -> Why {
    match fs::File::open(device).and_then(|file| file.metadata()) {
        Err(error) => match error.kind() {
            io::ErrorKind::PermissionDenied => Why::Forbidden,
            io::ErrorKind::NotFound => Why::Unplugged,
            io::ErrorKind::ResourceBusy => Why::Busy,
            // A device whose camera has gone stays for as long as somebody has it
            // open, and opens no more (`ENXIO`, `ENODEV`).
            _ if matches!(error.raw_os_error(), Some(6 | 19)) => Why::Unplugged,
            _ => Why::Shut,
        },
        Ok(about) if !about.file_type().is_char_device() => Why::NoCamera,
        Ok(_) if trouble.no_room => Why::NoRoom,
        Ok(_) if trouble.busy => Why::Busy,
        Ok(_) if trouble == Trouble::default() && !takes_pictures(device) => Why::NoCamera,
        Ok(_) => Why::Silent,
    }
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
            (NONE, &file, CameraState::NotACamera, "takes pictures"),
            (
                NONE,
                folder.path(),
                CameraState::NotACamera,
                "takes pictures",
            ),
            (NONE, null, CameraState::NotACamera, "takes pictures"),
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
