//! A device that is a file: what stands in it is what a camera would send, as a
//! description of `GStreamer`'s. While the file is there the camera is plugged
//! in; when it goes, the camera was unplugged, and says so as `v4l2src` does.
//!
//! Not here: anything behind the device. That is the program's own.

use std::{
    fs,
    path::Path,
    sync::atomic::{AtomicBool, Ordering},
};

use gstreamer::{self as gst, prelude::*};

use super::trouble::{Trouble, explain};
use crate::av::camera::CameraError;

/// Raw pictures as a camera sends them.
pub(crate) const RAW: &str = "videotestsrc is-live=true pattern=ball \
     ! video/x-raw,format=YUY2,width=320,height=240,framerate=30/1 ! identity";
/// A JPEG each picture.
pub(crate) const JPEG: &str = "videotestsrc is-live=true pattern=ball \
     ! video/x-raw,format=Y42B,width=320,height=240,framerate=30/1 ! jpegenc \
     ! image/jpeg,width=320,height=240,framerate=30/1 ! identity";
/// A camera with an encoder of its own.
pub(crate) const H264: &str = "videotestsrc is-live=true pattern=ball \
     ! video/x-raw,format=I420,width=320,height=240,framerate=30/1 \
     ! x264enc tune=zerolatency speed-preset=ultrafast key-int-max=30 \
     ! video/x-h264,stream-format=byte-stream,alignment=au,profile=constrained-baseline,\
       width=320,height=240,framerate=30/1 ! identity";

pub(super) fn open(device: &Path) -> Result<gst::Element, CameraError> {
    let script = fs::read_to_string(device).map_err(|_| explain(Trouble::default(), device))?;
    let source = gst::parse::bin_from_description(&script, true).expect("a script is sound");
    let pad = source.static_pad("src").expect("something comes out of it");
    let (device, unplugged) = (device.to_owned(), AtomicBool::new(false));
    let bin = source.downgrade();
    pad.add_probe(gst::PadProbeType::BUFFER, move |_, _| {
        if device.exists() {
            return gst::PadProbeReturn::Ok;
        }
        if let Some(bin) = bin.upgrade()
            && !unplugged.swap(true, Ordering::Relaxed)
        {
            // `gstv4l2bufferpool.c`, GStreamer 1.22: what a poll of a device that
            // has gone ends in.
            gst::element_error!(
                bin,
                gst::ResourceError::Read,
                ("Could not read from resource."),
                ["poll error 1: No such device"]
            );
        }
        gst::PadProbeReturn::Drop
    });
    Ok(source.upcast())
}
