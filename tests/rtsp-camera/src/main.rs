//! A real RTSP server that plays a network camera for tests: the demo scene
//! with the time strip, and a camera's bad habits on request.
//!
//! ```text
//! rtsp-camera --port 8554 --quirk gop-4s
//! gst-launch-1.0 rtspsrc protocols=tcp location=rtsp://127.0.0.1:8554/cam \
//!     ! rtph264depay ! h264parse ! avdec_h264 ! autovideosink
//! ```
//!
//! Not here: anything the program itself uses. A camera that behaves well can
//! be the built-in demo; this one is for what happens on the wire.

mod feed;
mod film;
mod grain;
mod launch;
mod options;
mod poorly;
mod quirk;
mod sps;
mod truth;
mod wire;

use std::io::Write as _;
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use clap::Parser as _;
use gst::glib;
use gstreamer as gst;
use gstreamer_app::AppSrc;
use gstreamer_rtsp_server as rtsp;
use rtsp::prelude::*;

use feed::Feed;
use options::Options;
use quirk::Quirk;

/// The one role there is: whoever knows the password.
const WATCHER: &str = "watcher";

fn main() -> ExitCode {
    match run(&Arc::new(Options::parse())) {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => {
            eprintln!("rtsp-camera: {problem}");
            ExitCode::FAILURE
        }
    }
}

fn run(options: &Arc<Options>) -> Result<(), String> {
    gst::init().map_err(|error| error.to_string())?;
    let start = feed::wall_now();
    let factory = rtsp::RTSPMediaFactory::new();
    factory.set_launch(&launch::description(options)?);
    factory.set_shared(true);
    // A camera does not hold its pictures back for a late stream.
    factory.set_latency(0);
    let server = rtsp::RTSPServer::new();
    server.set_address(&options.address);
    server.set_service(&options.port.to_string());
    ask_for_password(&server, &factory, options);
    let wanted = Arc::clone(options);
    factory.connect_media_configure(move |_, media| {
        if let Err(problem) = start_feed(media, &wanted, start) {
            eprintln!("rtsp-camera: {problem}");
        }
    });
    let mounts = server
        .mount_points()
        .ok_or("the server has no mount points")?;
    mounts.add_factory(&options.path, factory);
    let attached = server
        .attach(None)
        .map_err(|_| format!("cannot listen on {}:{}", options.address, options.port))?;

    let writer = options
        .truth
        .as_deref()
        .map(|file| truth::Writer::start(file, options.seed, start))
        .transpose()?;
    let running = glib::MainLoop::new(None, false);
    for signal in [libc_signal::INTERRUPT, libc_signal::TERMINATE] {
        let running = running.clone();
        glib_unix::unix_signal_add(signal, move || {
            running.quit();
            glib::ControlFlow::Continue
        });
    }
    announce(&format!(
        "listening rtsp://{}:{}{}",
        options.address,
        server.bound_port(),
        options.path
    ));
    running.run();
    attached.remove();
    drop(writer);
    Ok(())
}

/// POSIX signal numbers (IEEE Std 1003.1, `kill` utility: 2 is INT, 15 is TERM).
mod libc_signal {
    pub(crate) const INTERRUPT: i32 = 2;
    pub(crate) const TERMINATE: i32 = 15;
}

fn announce(line: &str) {
    let mut out = std::io::stdout();
    // Nobody listening is no reason to stop being a camera.
    let _ = writeln!(out, "{line}").and_then(|()| out.flush());
}

/// Says that a habit set in, or that all is well again, for whoever measures.
fn announce_quirk(name: &str, what: &str) {
    announce(&format!("quirk {name} {what} {}", feed::wall_now().as_ms()));
}

fn ask_for_password(
    server: &rtsp::RTSPServer,
    factory: &rtsp::RTSPMediaFactory,
    options: &Options,
) {
    let (Some(user), Some(password)) = (&options.user, &options.password) else {
        return;
    };
    let auth = rtsp::RTSPAuth::new();
    let token = rtsp::RTSPToken::builder()
        .field("media.factory.role", WATCHER)
        .build();
    if options.has(Quirk::DigestAuth) {
        auth.set_supported_methods(rtsp::gst_rtsp::RTSPAuthMethod::Digest);
        auth.add_digest(user, password, &token);
    } else {
        auth.add_basic(&rtsp::RTSPAuth::make_basic(user, password), &token);
    }
    server.set_auth(Some(&auth));
    let role = gst::Structure::builder(WATCHER)
        .field("media.factory.access", true)
        .field("media.factory.construct", true)
        .build();
    factory.add_role_from_structure(&role);
}

/// Starts drawing for a media that is being prepared, until it is no more.
fn start_feed(
    media: &rtsp::RTSPMedia,
    options: &Arc<Options>,
    start: afterturn_core::kernel::CaptureUs,
) -> Result<(), String> {
    let bin = media
        .element()
        .downcast::<gst::Bin>()
        .map_err(|_| "a media that is no bin")?;
    wire::apply(&bin, &options.quirks)?;
    if options.films_display.is_some() {
        // What stands on a display needs nobody to draw it.
        return Ok(());
    }
    let source = bin
        .by_name(launch::SOURCE)
        .and_then(|element| element.downcast::<AppSrc>().ok())
        .ok_or("a media without its source")?;
    let stop = Arc::new(AtomicBool::new(false));
    let stopped = Arc::clone(&stop);
    media.connect_unprepared(move |_| stopped.store(true, Ordering::Relaxed));
    let feed = Feed {
        options: Arc::clone(options),
        start,
        source,
        stop,
    };
    std::thread::Builder::new()
        .name("scene".to_owned())
        .spawn(move || feed.run())
        .map(|_| ())
        .map_err(|error| error.to_string())
}
