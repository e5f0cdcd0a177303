//! When each picture reached us, noted where it comes in and asked for where it
//! goes out: what decoding and encoding take in between is then no part of its
//! transit, and shifts no capture time.
//!
//! Not here: what is made of it (`afterturn_core::media::stamp`).

use std::{
    collections::VecDeque,
    sync::{Arc, Mutex, PoisonError},
};

use afterturn_core::kernel::CaptureUs;
use gstreamer::{self as gst, prelude::*};

use crate::av::camera::NowFn;

/// More pictures than any decoder and encoder hold between them, four seconds
/// of the fastest camera.
const MOST: usize = 256;

/// Stamps this near are of the same picture; encoders count in ticks of their own.
const SAME_NS: u64 = 500_000;

/// Times of pictures on their way, by the pipeline's running time.
#[derive(Clone, Debug, Default)]
pub(super) struct Arrivals(Arc<Mutex<VecDeque<(u64, CaptureUs)>>>);

impl Arrivals {
    /// Notes what passes a pad.
    pub(super) fn at(pad: &gst::Pad, now: &NowFn) -> Self {
        let arrivals = Self::default();
        let (noted, now) = (arrivals.clone(), now.clone());
        pad.add_probe(gst::PadProbeType::BUFFER, move |pad, info| {
            let at = now();
            let pts = info.buffer().and_then(|buffer| buffer.pts());
            let segment = pad.sticky_event::<gst::event::Segment>(0);
            let segment = segment.as_ref().map(|event| event.segment());
            let time = segment
                .and_then(|segment| segment.downcast_ref::<gst::ClockTime>())
                .and_then(|segment| segment.to_running_time(pts?));
            if let Some(time) = time {
                noted.note(time.nseconds(), at);
            }
            gst::PadProbeReturn::Ok
        });
        arrivals
    }

    pub(super) fn note(&self, time_ns: u64, at: CaptureUs) {
        let mut noted = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if noted.len() == MOST {
            noted.pop_front();
        }
        noted.push_back((time_ns, at));
    }

    /// When the picture of this time came in. Those noted before it may still
    /// follow: pictures need not come in the order they are shown.
    pub(super) fn of(&self, time_ns: u64) -> Option<CaptureUs> {
        let noted = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        noted
            .iter()
            .rev()
            .min_by_key(|(at_ns, _)| at_ns.abs_diff(time_ns))
            .filter(|(at_ns, _)| at_ns.abs_diff(time_ns) <= SAME_NS)
            .map(|(_, at)| *at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_is_found_by_its_time_whatever_the_order() {
        let arrivals = Arrivals::default();
        for (time_ns, at) in [
            (0, 10),
            (99_000_000, 20),
            (33_000_000, 21),
            (66_000_000, 22),
        ] {
            arrivals.note(time_ns, CaptureUs(at));
        }
        for (time_ns, at) in [(33_000_400, 21), (66_000_000, 22), (98_999_700, 20)] {
            assert_eq!(arrivals.of(time_ns), Some(CaptureUs(at)));
        }
        assert_eq!(arrivals.of(50_000_000), None);
    }

    #[test]
    fn only_so_many_are_kept() {
        let arrivals = Arrivals::default();
        for number in 0..1000 {
            arrivals.note(number * 33_000_000, CaptureUs(number));
        }
        assert_eq!(arrivals.0.lock().unwrap().len(), MOST);
        assert_eq!(arrivals.of(33_000_000), None);
        assert_eq!(arrivals.of(999 * 33_000_000), Some(CaptureUs(999)));
    }
}
