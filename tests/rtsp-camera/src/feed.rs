//! Draws the scene for as long as someone watches: one thread to a running
//! media, woken at even moments of the pipeline's clock.
//!
//! A picture belongs to the moment it was due, as a sensor's does, however late
//! this thread was woken: its stamp and the wall time in its strip are both of
//! that moment. Not here: encoding (see `launch`), sessions (see `main`).

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use afterturn_core::kernel::CaptureUs;
use afterturn_core::scene::{Scene, Size};
use gst::prelude::*;
use gstreamer as gst;
use gstreamer_app::AppSrc;

use crate::film::Film;
use crate::grain::Grain;
use crate::options::Options;
use crate::poorly::Poorly;
use crate::quirk::Quirk;

/// Behind by more than this, pictures are left out instead of caught up with.
const MOST_BEHIND_NS: u64 = 500_000_000;

/// How often a thread that waits looks whether it should stop.
const LOOK: Duration = Duration::from_millis(5);

/// The wall clock.
pub(crate) fn wall_now() -> CaptureUs {
    // A clock before 1970 is shown as 1970; the strip has no sign.
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    CaptureUs(since.map_or(0, |d| d.as_micros() as u64))
}

/// One running media's pictures.
pub(crate) struct Feed {
    pub options: Arc<Options>,
    /// When the scene began; every watcher sees the same one.
    pub start: CaptureUs,
    pub source: AppSrc,
    pub stop: Arc<AtomicBool>,
}

/// What is in the pictures.
enum Subject {
    Scene(Box<Scene>),
    Screen(Film),
}

/// Pictures of one size, and what they are made with.
struct Painter {
    subject: Subject,
    size: Size,
    pool: gst::BufferPool,
    grain: Grain,
    poorly: Option<Poorly>,
}

impl Painter {
    fn new(feed: &Feed, size: Size) -> Result<Self, gst::glib::BoolError> {
        let caps = gst::Caps::builder("video/x-raw")
            .field("format", "I420")
            .field("width", size.width_px() as i32)
            .field("height", size.height_px() as i32)
            .field("framerate", gst::Fraction::new(feed.options.fps as i32, 1))
            .field("pixel-aspect-ratio", gst::Fraction::new(1, 1))
            .field("interlace-mode", "progressive")
            .field("colorimetry", "bt709")
            .build();
        let pool = gst::BufferPool::new();
        let mut config = pool.config();
        config.set_params(Some(&caps), size.i420_bytes() as u32, 2, 0);
        pool.set_config(config)?;
        pool.set_active(true)?;
        feed.source.set_caps(Some(&caps));
        Ok(Self {
            subject: if feed.options.films_bars {
                Subject::Screen(Film::new(size, feed.options.seed))
            } else {
                Subject::Scene(Box::new(Scene::new(feed.options.seed, feed.start, size)))
            },
            size,
            pool,
            grain: Grain::new(feed.options.grain),
            poorly: feed.options.poorly,
        })
    }

    fn draw(&mut self, at: CaptureUs) -> Result<gst::Buffer, String> {
        let mut buffer = self
            .pool
            .acquire_buffer(None)
            .map_err(|error| error.to_string())?;
        let open = buffer.get_mut().ok_or("a new picture is in use")?;
        let mut bytes = open.map_writable().map_err(|error| error.to_string())?;
        match &mut self.subject {
            Subject::Scene(scene) => scene
                .draw(at, &mut bytes)
                .map_err(|error| error.to_string())?,
            Subject::Screen(film) => film.draw(at, &mut bytes),
        }
        let luma_bytes = (self.size.width_px() * self.size.height_px()) as usize;
        if let Some(poorly) = self.poorly {
            poorly.over(&mut bytes[..luma_bytes], self.size.width_px() as usize);
        }
        // The strip stays readable: grain begins below it.
        let strip_bytes = (self.size.width_px() * self.size.height_px() / 45) as usize;
        self.grain.over(&mut bytes[strip_bytes..luma_bytes]);
        drop(bytes);
        Ok(buffer)
    }
}

impl Drop for Painter {
    fn drop(&mut self) {
        // Only frees memory early; a pool that refuses goes with the process.
        let _ = self.pool.set_active(false);
    }
}

impl Feed {
    /// Draws until told to stop, or until the pipeline takes no more.
    pub(crate) fn run(&self) {
        if let Err(problem) = self.pictures() {
            eprintln!("the scene stopped: {problem}");
        }
    }

    fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// Waits for the pipeline's clock to run; `None` when told to stop.
    fn first_ns(&self) -> Option<u64> {
        while !self.stopped() {
            if self.source.current_state() == gst::State::Playing
                && let Some(now) = self.source.current_running_time()
            {
                return Some(now.nseconds());
            }
            std::thread::sleep(LOOK);
        }
        None
    }

    fn now_ns(&self) -> Option<u64> {
        self.source
            .current_running_time()
            .map(gst::ClockTime::nseconds)
    }

    /// Sleeps until a moment of the pipeline's clock; the moment it woke, or
    /// `None` when told to stop.
    fn sleep_until(&self, due_ns: u64) -> Option<u64> {
        loop {
            let now_ns = self.now_ns()?;
            if self.stopped() {
                return None;
            }
            if now_ns >= due_ns {
                return Some(now_ns);
            }
            // In bits, so that a long hold ends when the media does.
            std::thread::sleep(Duration::from_nanos(due_ns - now_ns).min(LOOK * 20));
        }
    }

    /// The wall clock's time at a moment of the pipeline's clock. The two are
    /// read one after the other, and again where something came between.
    fn wall_at(&self, at_ns: u64) -> Option<CaptureUs> {
        const TOGETHER_NS: u64 = 200_000;
        const TRIES: usize = 20;
        let mut closest = (u64::MAX, CaptureUs::ZERO);
        for _ in 0..TRIES {
            let before_ns = self.now_ns()?;
            let wall = wall_now();
            let between_ns = self.now_ns()?.saturating_sub(before_ns);
            if between_ns < closest.0 {
                let since_ns = (before_ns + between_ns / 2) as i64 - at_ns as i64;
                closest = (between_ns, wall.offset(-since_ns / 1000));
            }
            if between_ns < TOGETHER_NS {
                break;
            }
        }
        Some(closest.1)
    }

    fn pictures(&self) -> Result<(), String> {
        let options = &self.options;
        let mut painter = Painter::new(self, options.size).map_err(|error| error.to_string())?;
        let Some(first_ns) = self.first_ns() else {
            return Ok(());
        };
        let mut jitter = Jitter::of(options);
        let fps = u64::from(options.fps);
        let mut number = 0_u64;
        while !self.stopped() {
            let after_ns = number * 1_000_000_000 / fps;
            let due_ns = first_ns + after_ns;
            let Some(now_ns) = self.sleep_until(due_ns + jitter.hold_ns()) else {
                break;
            };
            let late_ns = now_ns - due_ns;
            if late_ns > MOST_BEHIND_NS + jitter.most_ns {
                number = (now_ns - first_ns) * fps / 1_000_000_000 + 1;
                continue;
            }
            number += 1;
            let so_far_s = after_ns as f64 / 1e9;
            if is_silent(&options.quirks, so_far_s) {
                continue;
            }
            if let Some(size) = changed_size(options, so_far_s, painter.size) {
                painter = Painter::new(self, size).map_err(|error| error.to_string())?;
                crate::announce_quirk("size-change", "begins");
                crate::announce_quirk("size-change", "over");
            }
            let Some(due) = self.wall_at(due_ns) else {
                break;
            };
            let latency_us = (options.latency_ms * 1000) as i64;
            let mut buffer = painter.draw(due.offset(-latency_us))?;
            let open = buffer.get_mut().ok_or("a new picture is in use")?;
            open.set_pts(gst::ClockTime::from_nseconds(due_ns));
            open.set_duration(gst::ClockTime::from_nseconds(1_000_000_000 / fps));
            if self.source.push_buffer(buffer).is_err() {
                // Flushing: the last watcher left between two looks.
                break;
            }
        }
        Ok(())
    }
}

/// Whether no picture is sent so long after the first watcher came.
fn is_silent(quirks: &[Quirk], after_s: f64) -> bool {
    quirks.iter().any(|quirk| match *quirk {
        Quirk::StallAfter { at_s } => after_s >= at_s,
        _ => false,
    })
}

/// The size to change to, if that is due and not done.
fn changed_size(options: &Options, after_s: f64, now: Size) -> Option<Size> {
    let due = |quirk: &&Quirk| matches!(**quirk, Quirk::SizeChange { at_s } if after_s >= at_s);
    let changes = options.quirks.iter().filter(due).count();
    let even_half = |px: u32| px / 4 * 2;
    let half = Size::new(
        even_half(options.size.width_px()),
        even_half(options.size.height_px()),
    );
    let wanted = if changes.is_multiple_of(2) {
        options.size
    } else {
        half.ok()?
    };
    (wanted != now).then_some(wanted)
}

/// Random extra holds.
struct Jitter {
    most_ns: u64,
    state: u64,
}

impl Jitter {
    fn of(options: &Options) -> Self {
        let most_ms = options.quirks.iter().find_map(|quirk| match quirk {
            Quirk::JitterMs { most_ms } => Some(*most_ms),
            _ => None,
        });
        Self {
            most_ns: most_ms.unwrap_or(0) * 1_000_000,
            state: options.seed | 1,
        }
    }

    /// The next hold. A xorshift (G. Marsaglia, "Xorshift RNGs", 2003) is
    /// random enough for sending late.
    fn hold_ns(&mut self) -> u64 {
        self.state ^= self.state << 13;
        self.state ^= self.state >> 7;
        self.state ^= self.state << 17;
        self.state % (self.most_ns + 1)
    }
}

#[cfg(test)]
mod tests {
    use clap::Parser as _;

    use super::*;

    fn options(quirk: &str) -> Options {
        Options::parse_from(["c", "--size", "1280x720", "--quirk", quirk])
    }

    #[test]
    fn silence_is_where_it_was_asked_for() {
        let silent = |quirk: &str, after_s| is_silent(&options(quirk).quirks, after_s);
        assert!(!silent("stall-after=4", 3.9) && silent("stall-after=4", 400.0));
        assert!(!silent("b-frames", 5.0));
    }

    #[test]
    fn the_size_changes_once_each_time_it_was_asked_for() {
        let twice = ["c", "--quirk", "size-change@3", "--quirk", "size-change@10"];
        let options = Options::parse_from(twice);
        let half = Size::new(640, 360).expect("a good size");
        assert_eq!(changed_size(&options, 2.9, Size::HD), None);
        assert_eq!(changed_size(&options, 3.0, Size::HD), Some(half));
        assert_eq!(changed_size(&options, 9.0, half), None);
        assert_eq!(changed_size(&options, 10.0, half), Some(Size::HD));
        assert_eq!(changed_size(&options, 99.0, Size::HD), None);
    }

    #[test]
    fn holds_stay_within_what_was_asked() {
        let mut none = Jitter::of(&options("b-frames"));
        let mut some = Jitter::of(&options("jitter-ms=40"));
        let holds: Vec<u64> = (0..1000).map(|_| some.hold_ns()).collect();
        assert!((0..100).all(|_| none.hold_ns() == 0));
        assert!(holds.iter().all(|ns| *ns <= 40_000_000));
        assert!(holds.iter().any(|ns| *ns > 30_000_000));
    }
}
