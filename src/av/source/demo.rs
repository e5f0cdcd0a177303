//! The camera that draws: no device, the same pictures for the same seed, each
//! carrying its capture time in the strip.
//!
//! Not here: what is drawn (`afterturn_core::scene`) and how it is encoded
//! (`av::encode`). Here is only the pace, and the rule that a machine that
//! cannot keep up shows fewer pictures instead of later ones.

use std::{
    fmt,
    sync::{Arc, mpsc},
    thread,
    time::Duration,
};

use afterturn_core::{
    kernel::CaptureUs,
    scene::{Scene, Size, TruthEvent},
    wire::CameraState,
};
use gstreamer::{self as gst, prelude::*};
use gstreamer_app as gst_app;

use super::{
    arrivals::Arrivals,
    drive::{Bench, Driven, Outcome, Recipe, drive},
    gate::Gate,
    tail::{self, Wishes},
};
use crate::av::{
    camera::{Camera, CameraError, EventSink, NowFn, Running},
    element,
    encode::{Dimensions, Encoding, Most, Order, attach},
};

/// Raw pictures that may wait for the encoder. One is being worked on while the
/// next is drawn; a third would only be late.
const MOST_WAITING: u64 = 2;

/// Raw pictures there are at all: those waiting, and the one in the encoder.
const MOST_RAW: u32 = MOST_WAITING as u32 + 1;

/// Beyond what any screen here shows.
const MOST_FPS: u32 = 120;

/// Told what really happens in the scene, for tests of whatever watches it.
pub type TruthSink = Arc<dyn Fn(&TruthEvent) + Send + Sync>;

/// The camera that draws.
pub struct DemoCamera {
    seed: u64,
    size: Size,
    fps: u32,
    truth: Option<TruthSink>,
    encoding: Encoding,
}

impl fmt::Debug for DemoCamera {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            seed,
            size,
            fps,
            truth: _,
            encoding: _,
        } = self;
        f.debug_struct("DemoCamera")
            .field("seed", seed)
            .field("size", size)
            .field("fps", fps)
            .finish_non_exhaustive()
    }
}

impl DemoCamera {
    /// A scene of this size at this many pictures a second. Each start begins
    /// the scene of `seed` anew.
    #[must_use]
    pub fn new(seed: u64, size: Size, fps: u32, truth: Option<TruthSink>) -> Self {
        Self {
            seed,
            size,
            fps,
            truth,
            encoding: Encoding::default(),
        }
    }

    /// The same, encoded together with the program's other sources.
    #[must_use]
    pub fn encoded_by(self, encoding: Encoding) -> Self {
        Self { encoding, ..self }
    }

    /// Raw pictures are packed without gaps only in some widths: `GStreamer`
    /// rounds every row, the half as long ones of colour too, to four bytes.
    fn check(&self) -> Result<(), CameraError> {
        if self.size.width_px().is_multiple_of(8) && (1..=MOST_FPS).contains(&self.fps) {
            return Ok(());
        }
        let (width_px, fps) = (self.size.width_px(), self.fps);
        Err(CameraError::new(
            CameraState::Unsuitable,
            format!(
                "the demo cannot draw {width_px} columns {fps} times a second; \
                 columns go in steps of 8, pictures from 1 to {MOST_FPS} a second"
            ),
        ))
    }

    fn caps(&self) -> gst::Caps {
        gst::Caps::builder("video/x-raw")
            .field("format", "I420")
            .field("width", self.size.width_px() as i32)
            .field("height", self.size.height_px() as i32)
            .field("framerate", gst::Fraction::new(self.fps as i32, 1))
            .field("interlace-mode", "progressive")
            .field("pixel-aspect-ratio", gst::Fraction::new(1, 1))
            .field("colorimetry", "bt709")
            .build()
    }

    /// Where raw pictures go in.
    fn inlet(&self) -> Result<gst_app::AppSrc, CameraError> {
        let inlet = element("appsrc")?
            .downcast::<gst_app::AppSrc>()
            .expect("the element named appsrc is an AppSrc");
        inlet.set_caps(Some(&self.caps()));
        inlet.set_format(gst::Format::Time);
        inlet.set_is_live(true);
        inlet.set_max_buffers(MOST_WAITING);
        inlet.set_max_bytes(0);
        Ok(inlet)
    }
}

impl Camera for DemoCamera {
    fn kind(&self) -> &'static str {
        "demo"
    }

    fn start(&mut self, now: NowFn, events: EventSink) -> Result<Box<dyn Running>, CameraError> {
        self.check()?;
        let inlet = self.inlet()?;
        let pool = raw_pool(&self.caps(), self.size).ok_or_else(|| {
            CameraError::new(
                CameraState::MissingPart,
                "no memory for the demo's pictures",
            )
        })?;
        let gate = Arc::new(Gate::new(events));
        let (drawn, stopped) = mpsc::channel();
        let easel = Easel {
            seed: self.seed,
            size: self.size,
            fps: self.fps,
            truth: self.truth.clone(),
            now: Arc::clone(&now),
            inlet: inlet.clone(),
            pool,
        };
        let frame = Frame {
            easel: Some((easel, stopped)),
            inlet: inlet.upcast(),
            encoding: self.encoding.clone(),
            wanted: Most {
                size: Dimensions::new(self.size.width_px(), self.size.height_px()),
                fps: self.fps,
            },
        };
        let driven = drive(frame, &gate, &now)?;
        Ok(Box::new(Drawing {
            _driven: driven,
            _stop: drawn,
        }))
    }
}

/// What the painted pictures are put into.
struct Frame {
    /// Goes onto a thread of its own once the pipeline is there.
    easel: Option<(Easel, mpsc::Receiver<()>)>,
    inlet: gst::Element,
    encoding: Encoding,
    wanted: Most,
}

impl Recipe for Frame {
    fn build(&mut self, bench: &Bench) -> Result<(), CameraError> {
        let misfit = |_| CameraError::new(CameraState::MissingPart, "the demo parts do not fit");
        bench.pipeline.add(&self.inlet).map_err(misfit)?;
        let order = Order {
            encoding: &self.encoding,
            wanted: self.wanted,
            lower: 0,
            // The painter leaves pictures out by itself.
            too_slow: None,
        };
        let made = attach(&bench.pipeline, &self.inlet, order)?;
        bench.say(made.note().into_iter().collect());
        let outlet = self.inlet.static_pad("src");
        let arrivals = outlet.map(|pad| Arrivals::at(&pad, &bench.now));
        tail::attach(
            bench,
            &made.last,
            Wishes {
                arrivals,
                ..Wishes::default()
            },
        )?;
        let Some((easel, stopped)) = self.easel.take() else {
            return Err(CameraError::new(CameraState::Ended, "the demo is over"));
        };
        thread::Builder::new()
            .name("camera-demo".into())
            .spawn(move || easel.paint(&stopped))
            .map(drop)
            .map_err(|error| {
                CameraError::new(
                    CameraState::MissingPart,
                    format!("no thread for the demo: {error}"),
                )
            })
    }

    fn after(&mut self, _: Outcome<'_>) -> Result<(), CameraError> {
        Err(CameraError::new(
            CameraState::Ended,
            "the demo's encoder stopped",
        ))
    }
}

/// A running demo. Losing the channel's end tells the painting thread to stop.
struct Drawing {
    _driven: Driven,
    _stop: mpsc::Sender<()>,
}

impl Running for Drawing {}

/// A fixed set of raw pictures, used again and again.
fn raw_pool(caps: &gst::Caps, size: Size) -> Option<gst::BufferPool> {
    let pool = gst::BufferPool::new();
    let mut config = pool.config();
    config.set_params(
        Some(caps),
        u32::try_from(size.i420_bytes()).ok()?,
        0,
        MOST_RAW,
    );
    pool.set_config(config).ok()?;
    pool.set_active(true).ok()?;
    Some(pool)
}

/// Everything the painting thread needs.
struct Easel {
    seed: u64,
    size: Size,
    fps: u32,
    truth: Option<TruthSink>,
    now: NowFn,
    inlet: gst_app::AppSrc,
    pool: gst::BufferPool,
}

impl Easel {
    /// Draws each picture at its own moment, reckoned from the start so that
    /// small delays never add up, until told to stop.
    fn paint(self, stopped: &mpsc::Receiver<()>) {
        let start = (self.now)();
        let mut scene = Scene::new(self.seed, start, self.size);
        let mut told_until = start;
        let mut number = 0;
        let mut skipped: u64 = 0;
        loop {
            let at = moment(start, number, self.fps);
            let early_us = at.since((self.now)()).max(0).unsigned_abs();
            let waited = stopped.recv_timeout(Duration::from_micros(early_us));
            if waited != Err(mpsc::RecvTimeoutError::Timeout) {
                break;
            }
            if let Some(truth) = &self.truth {
                scene
                    .truth(told_until, at)
                    .iter()
                    .for_each(|event| truth(event));
                told_until = at;
            }
            match self.picture(&mut scene, start, at) {
                Drawn::Sent => {}
                Drawn::Skipped => skipped += 1,
                Drawn::Refused => break,
            }
            number = next_number(start, number, self.fps, (self.now)());
        }
        let _ = self.pool.set_active(false);
        tracing::debug!(skipped, "demo stopped");
    }

    fn picture(&self, scene: &mut Scene, start: CaptureUs, at: CaptureUs) -> Drawn {
        if self.inlet.current_level_buffers() >= MOST_WAITING {
            return Drawn::Skipped;
        }
        let at_once =
            gst::BufferPoolAcquireParams::with_flags(gst::BufferPoolAcquireFlags::DONTWAIT);
        let Ok(mut buffer) = self.pool.acquire_buffer(Some(&at_once)) else {
            return Drawn::Skipped;
        };
        let raw = buffer
            .get_mut()
            .expect("a buffer fresh from the pool has one owner");
        let since_start_us = at.since(start).max(0).unsigned_abs();
        raw.set_pts(gst::ClockTime::from_useconds(since_start_us));
        raw.set_duration(gst::ClockTime::from_useconds(
            1_000_000 / u64::from(self.fps),
        ));
        let drawn = raw
            .map_writable()
            .is_ok_and(|mut pixels| scene.draw(at, &mut pixels).is_ok());
        if !drawn {
            return Drawn::Refused;
        }
        if self.inlet.push_buffer(buffer).is_ok() {
            Drawn::Sent
        } else {
            Drawn::Refused
        }
    }
}

enum Drawn {
    Sent,
    /// The encoder is behind; this moment has no picture.
    Skipped,
    /// The pipeline takes no more, or its memory is not a picture's.
    Refused,
}

/// When picture `number` is due.
const fn moment(start: CaptureUs, number: u64, fps: u32) -> CaptureUs {
    start.offset((number * 1_000_000 / fps as u64) as i64)
}

/// The picture to draw next: the following one, or, where the machine was busy
/// past its moment, the latest whose moment has come.
fn next_number(start: CaptureUs, number: u64, fps: u32, now: CaptureUs) -> u64 {
    let elapsed_us = now.since(start).max(0).unsigned_abs();
    (elapsed_us * u64::from(fps) / 1_000_000).max(number + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    const START: CaptureUs = CaptureUs(1_000_000_000);

    #[test]
    fn moments_do_not_drift() {
        assert_eq!(moment(START, 1, 30).since(START), 33_333);
        assert_eq!(moment(START, 30, 30).since(START), 1_000_000);
        assert_eq!(moment(START, 30 * 3600, 30).since(START), 3_600_000_000);
    }

    #[test]
    fn a_late_thread_skips_to_the_present() {
        assert_eq!(next_number(START, 4, 30, START.offset(140_000)), 5);
        assert_eq!(next_number(START, 4, 30, START.offset(2_000_000)), 60);
        assert_eq!(next_number(START, 4, 30, START.offset(-5)), 5);
    }

    #[test]
    fn a_size_that_cannot_be_packed_is_refused_with_the_steps() {
        for (width_px, fps) in [(1284, 30), (1280, 0), (1280, 121)] {
            let size = Size::new(width_px, 720).unwrap();
            let mut camera = DemoCamera::new(1, size, fps, None);
            let refused = camera.start(Arc::new(|| START), Arc::new(|_| ()));
            assert_eq!(
                refused.err().map(|e| e.state),
                Some(CameraState::Unsuitable)
            );
        }
    }
}
