//! A keyframe a second, asked for by the pictures' own times: a camera that
//! halves its rate in the dark still has one, and no encoder has to be told how
//! many pictures a second are.
//!
//! Not here: the encoder.

use std::sync::{Mutex, PoisonError};

use gstreamer::{self as gst, prelude::*};

/// From keyframe to keyframe. A screen that lags or has just been opened waits
/// this long at the most, and a second of pictures still compresses well.
const EVERY_NS: u64 = 1_000_000_000;

/// A picture this little too early still takes it: stamps jitter.
const EARLY_NS: u64 = 8_000_000;

/// When the next is due.
#[derive(Debug, Default)]
struct Due {
    at_ns: Option<u64>,
}

impl Due {
    /// Whether the picture of this time should be one. The first always is.
    fn is_now(&mut self, pts_ns: u64) -> bool {
        let due = self
            .at_ns
            .is_none_or(|at_ns| pts_ns + EARLY_NS >= at_ns || pts_ns + EVERY_NS < at_ns);
        if due {
            let first = self.at_ns.is_none();
            self.at_ns = Some(pts_ns + EVERY_NS);
            // The first picture of a stream is one without being asked for.
            return !first;
        }
        false
    }
}

/// Has `encoder` make one each second.
pub(super) fn ask_for(encoder: &gst::Element) {
    let (Some(sink), Some(source)) = (encoder.static_pad("sink"), encoder.static_pad("src")) else {
        return;
    };
    let due = Mutex::new(Due::default());
    let source = source.downgrade();
    sink.add_probe(gst::PadProbeType::BUFFER, move |_, info| {
        let pts = info.buffer().and_then(|buffer| buffer.pts());
        let mut due = due.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(pts) = pts
            && due.is_now(pts.nseconds())
            && let Some(source) = source.upgrade()
        {
            // An encoder that does not listen has its own count of pictures.
            let _ = source.send_event(gst::event::CustomUpstream::new(request()));
        }
        gst::PadProbeReturn::Ok
    });
}

/// The event all encoders know, which asks for the next picture to stand alone.
fn request() -> gst::Structure {
    gst::Structure::builder("GstForceKeyUnit")
        .field("running-time", gst::ClockTime::NONE)
        .field("all-headers", true)
        .field("count", 0_u32)
        .build()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_a_second_whatever_the_rate() {
        let keyframes = |fps: u64, pictures: u64| -> Vec<u64> {
            let mut due = Due::default();
            (0..pictures)
                .filter(|n| due.is_now(n * 1_000_000_000 / fps))
                .collect()
        };
        assert_eq!(keyframes(30, 91), [30, 60, 90]);
        assert_eq!(keyframes(15, 46), [15, 30, 45]);
        assert_eq!(keyframes(25, 51), [25, 50]);
    }

    #[test]
    fn jitter_and_a_step_back_are_borne() {
        let mut due = Due::default();
        assert!(!due.is_now(5_000_000_000));
        assert!(!due.is_now(5_980_000_000));
        assert!(due.is_now(5_995_000_000));
        // Stamps from before: the next second counts from there.
        assert!(due.is_now(1_000_000_000));
        assert!(!due.is_now(1_500_000_000) && due.is_now(2_000_000_000));
    }
}
