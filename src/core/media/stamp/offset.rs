//! The distance from a source's time to capture time, held to the least transit
//! of the last seconds and moved too slowly to be seen.

use std::collections::VecDeque;

/// The offset moves by at most this share of the time that passes: 0.5 % is a
/// sixth of a millisecond a picture, and beats any clock's drift fifty times.
const SLEW: f64 = 0.005;
/// Transit is judged in slices of this length…
const SLICE_US: i64 = 1_000_000;
/// …over this many: long enough to have met a quick picture, short enough to
/// follow a warming clock.
const SLICES: usize = 10;

pub(super) struct Offset {
    now_us: f64,
    /// Start of a slice of source time, and the least transit met in it.
    least: VecDeque<(i64, i64)>,
}

impl Offset {
    pub(super) fn starting(us: i64) -> Self {
        Self {
            now_us: us as f64,
            least: VecDeque::with_capacity(SLICES + 1),
        }
    }

    pub(super) fn now_us(&self) -> i64 {
        self.now_us.round() as i64
    }

    /// The source's time moved by `-by_us` without anything else happening.
    pub(super) fn rebase(&mut self, by_us: i64) {
        self.now_us += by_us as f64;
        self.least.clear();
    }

    /// Takes in one picture's transit and moves towards the least.
    pub(super) fn follow(&mut self, source_us: i64, transit_us: i64, interval_us: i64) {
        match self.least.back_mut() {
            Some((start, least)) if source_us - *start < SLICE_US => {
                *least = (*least).min(transit_us);
            }
            _ => self.least.push_back((source_us, transit_us)),
        }
        if self.least.len() > SLICES {
            self.least.pop_front();
        }
        let Some(aim_us) = self.least.iter().map(|(_, us)| *us).min() else {
            return;
        };
        let most = SLEW * interval_us as f64;
        self.now_us += (aim_us as f64 - self.now_us).clamp(-most, most);
    }
}
