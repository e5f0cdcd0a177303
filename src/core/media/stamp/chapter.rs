//! A stretch of pictures on one timeline, and which source times to go by in it.
//!
//! Not here: when a chapter begins or ends.

use super::offset::Offset;
use crate::kernel::CaptureUs;

/// A stamp further from its arrival than this is not believed.
pub(super) const BELIEVE_US: i64 = 1_000_000;
/// Disbelieved this often in a row, the source's time has stepped.
const STRIKES: u32 = 3;
/// Missing this often in a row, the stamps have stopped. By then the usual
/// interval, a median over as many, is nothing but what was made up from it.
const STOPPED: u32 = 15;
/// Made-up times lean towards arrivals by this share of the difference…
const LEAN: f64 = 1.0 / 32.0;
/// …but by no more than this share of an interval: it is seen, and soon over.
/// A source that stamps nothing has no better time to keep to.
const LEAN_MOST: f64 = 0.1;

pub(super) struct Chapter {
    pub(super) offset: Offset,
    pub(super) given: bool,
    /// Pictures without a stamp since the last that had one.
    pub(super) missing: u32,
    /// The mean interval of arrivals: what a source without stamps goes by.
    pub(super) pace_us: f64,
    pub(super) last_source_us: i64,
    pub(super) last_arrival: CaptureUs,
    pub(super) strikes: u32,
}

/// The least transit; the least but one where a single wild stamp could have
/// made the least.
pub(super) fn least(mut transits_us: Vec<i64>) -> Option<i64> {
    const ENOUGH: usize = 5;
    transits_us.sort_unstable();
    transits_us
        .get(usize::from(transits_us.len() >= ENOUGH))
        .copied()
}

impl Chapter {
    /// Takes in an arrival. Jitter cancels out over the pictures it spans.
    pub(super) fn keep_pace(&mut self, arrival: CaptureUs) {
        const GAIN: f64 = 1.0 / 64.0;
        let interval_us = arrival.since(self.last_arrival).clamp(0, BELIEVE_US) as f64;
        self.pace_us += (interval_us - self.pace_us) * GAIN;
        self.last_arrival = arrival;
    }

    /// To the next made-up time: the pace of arrivals, and a little towards
    /// where the arrival itself would have it, so that a pace taken from too few
    /// pictures does not add up.
    fn paced_step_us(&self, reached_us: i64) -> i64 {
        let expected_us = (self.last_source_us + self.offset.now_us()) as f64 + self.pace_us;
        let most_us = self.pace_us * LEAN_MOST;
        let lean_us = ((reached_us as f64 - expected_us) * LEAN).clamp(-most_us, most_us);
        (self.pace_us + lean_us).round() as i64
    }

    /// The source time to go by: the given one, or a made-up one where it is
    /// missing or wild; `None` when neither agrees with the arrival any more.
    pub(super) fn believe(
        &mut self,
        given_us: Option<i64>,
        reached_us: i64,
        nominal_us: i64,
    ) -> Option<i64> {
        self.missing = given_us.map_or(self.missing + 1, |_| 0);
        self.given &= self.missing < STOPPED;
        let step_us = if self.given {
            nominal_us
        } else {
            self.paced_step_us(reached_us)
        };
        let mut made_up_us = self.last_source_us + step_us;
        if let (Some(us), false) = (given_us, self.given) {
            // Stamps begin only now: go on from the made-up time without a seam.
            self.given = true;
            self.offset.rebase(made_up_us - us);
            self.last_source_us = us - step_us;
            made_up_us = us;
        }
        let near = |us: i64, offset_us: i64| (us + offset_us - reached_us).abs() <= BELIEVE_US;
        let offset_us = self.offset.now_us();
        if let Some(us) = given_us.filter(|us| near(*us, offset_us)) {
            self.strikes = 0;
            return Some(us);
        }
        // A stamp that is merely missing is no sign of a step.
        self.strikes += u32::from(given_us.is_some());
        (self.strikes < STRIKES && near(made_up_us, offset_us)).then_some(made_up_us)
    }
}
