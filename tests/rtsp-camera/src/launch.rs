//! From raw pictures to RTP, as a pipeline description.
//!
//! Not here: drawing the pictures (see `feed`).

use gstreamer as gst;

use crate::options::Options;
use crate::quirk::Quirk;

/// The name of the element that takes the pictures.
pub(crate) const SOURCE: &str = "scene";
/// The name of the element behind the encoder.
pub(crate) const PARSER: &str = "parser";
/// The name of the element that makes packets, as the server wants it.
pub(crate) const PACKETS: &str = "pay0";

/// The pipeline of one camera, or why it cannot be built here.
pub(crate) fn description(options: &Options) -> Result<String, String> {
    let (encoder, payloader, chain) = if options.has(Quirk::H265) {
        ("x265enc", "rtph265pay", h265_chain(options))
    } else if options.has(Quirk::Mjpeg) {
        ("jpegenc", "rtpjpegpay", jpeg_chain())
    } else {
        ("x264enc", "rtph264pay", h264_chain(options))
    };
    let source = if options.films_display.is_some() {
        "ximagesrc"
    } else {
        "appsrc"
    };
    for part in [source, encoder, payloader] {
        if gst::ElementFactory::find(part).is_none() {
            return Err(format!("this machine's GStreamer has no {part}"));
        }
    }
    if let Some(display) = &options.films_display {
        return Ok(format!("( {} ! {chain} )", display_chain(display, options)));
    }
    Ok(format!(
        "( appsrc name={SOURCE} is-live=true format=time do-timestamp=false ! {chain} )"
    ))
}

/// What stands on a display, each picture held back for the camera's latency and
/// still stamped with when it was taken.
fn display_chain(display: &str, options: &Options) -> String {
    let (width, height) = (options.size.width_px(), options.size.height_px());
    format!(
        "ximagesrc display-name={display} use-damage=false show-pointer=false \
         ! video/x-raw,framerate={}/1 ! videoconvert ! videoscale \
         ! video/x-raw,format=I420,width={width},height={height} \
         ! queue max-size-buffers=0 max-size-bytes=0 max-size-time=0 \
         ! clocksync ts-offset={}",
        options.fps,
        options.latency_ms * 1_000_000
    )
}

fn gop(options: &Options) -> u32 {
    let gop_s = if options.has(Quirk::Gop4s) {
        4
    } else {
        options.gop_s
    };
    gop_s * options.fps
}

fn h264_chain(options: &Options) -> String {
    // One thread: 720p30 is a fraction of a core, and more threads cost more
    // than they bring. CABAC and 8×8 transforms make it a High stream, as
    // cameras send. A scene cut must not shift the keyframes.
    let order = if options.has(Quirk::BFrames) {
        "bframes=2 b-adapt=false rc-lookahead=3 sync-lookahead=0"
    } else {
        "bframes=0 b-adapt=false tune=zerolatency"
    };
    // Where parameter sets are to be rewritten they have to be in the stream.
    let form = if options.has(Quirk::NoRestriction) {
        ",stream-format=byte-stream,alignment=au"
    } else {
        ""
    };
    let (before, profile) = if options.has(Quirk::FourTwoTwo) {
        ("videoconvert ! video/x-raw,format=Y42B ! ", "high-4:2:2")
    } else if options.has(Quirk::Interlaced) {
        // The encoder goes by what it is told of the pictures.
        (
            "capssetter caps=video/x-raw,interlace-mode=interleaved,field-order=top-field-first ! ",
            "high",
        )
    } else {
        ("", "high")
    };
    format!(
        "{before}x264enc speed-preset=ultrafast {order} threads=1 cabac=true \
         dct8x8=true key-int-max={} bitrate={} option-string=\"scenecut=0\" \
         ! video/x-h264,profile={profile}{form} ! h264parse name={PARSER} \
         ! rtph264pay name={PACKETS} pt=96 config-interval=-1",
        gop(options),
        options.bitrate_kbps
    )
}

/// Without a parser; what steps stamps back looks for one.
fn jpeg_chain() -> String {
    format!("jpegenc quality=80 ! identity name={PARSER} ! rtpjpegpay name=pay0 pt=26")
}

fn h265_chain(options: &Options) -> String {
    format!(
        "x265enc speed-preset=ultrafast tune=zerolatency key-int-max={} bitrate={} \
         option-string=\"scenecut=0:log-level=error\" ! h265parse name={PARSER} \
         ! rtph265pay name={PACKETS} pt=96 config-interval=-1",
        gop(options),
        options.bitrate_kbps
    )
}
