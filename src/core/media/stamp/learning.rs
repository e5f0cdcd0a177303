//! The first pictures of a chapter, held until it is known how long the way to
//! us takes at the least.
//!
//! Many cameras greet a client with a burst from their past. While one lasts,
//! each picture is less late than the one before, and what the least transit is
//! shows only when that has ended: over a busy line it can take a second and more.
//!
//! Not here: what is done with the pictures afterwards.

use super::Arriving;
use crate::kernel::CaptureUs;

/// Held at least this long.
const LEARN_US: i64 = 400_000;
/// A greeting lasts as long as pictures catch up by more than this in the time
/// above. A little more than a picture: less may be jitter.
const CATCHING_UP_US: i64 = 40_000;
/// Never hold more pictures than this while learning: a greeting of eight
/// seconds at thirty a second, more than any keyframe distance in use.
const LEARN_MOST: usize = 240;
/// The widest interval taken for a camera's own while its rate is not known.
const LEARN_STEP_US: i64 = 300_000;
/// So many pictures show a rate.
const ENOUGH: usize = 5;
/// What came this long before the end shows the pace of arrivals: by then the
/// clump is over in which first pictures often come.
const PACE_US: i64 = 300_000;

/// See the module.
pub(super) struct Learning<T> {
    /// With their source times.
    pub(super) held: Vec<(i64, Arriving<T>)>,
    /// The source has given at least one stamp; until then its times are made
    /// up from arrivals.
    pub(super) given: bool,
}

impl<T> Learning<T> {
    /// Begins with a picture.
    pub(super) fn with(source_us: i64, picture: Arriving<T>, given: bool) -> Self {
        Self {
            held: vec![(source_us, picture)],
            given,
        }
    }

    /// Source time and arrival of the last picture held.
    pub(super) fn last(&self) -> Option<(i64, CaptureUs)> {
        self.held.last().map(|(us, picture)| (*us, picture.arrival))
    }

    /// Whether it can end before a picture with this source time and arrival.
    pub(super) fn is_over(&self, source_us: i64, arrival: CaptureUs) -> bool {
        let long_ago = |(_, held): &&(i64, Arriving<T>)| arrival.since(held.arrival) >= LEARN_US;
        let then = self.held.iter().rev().find(long_ago);
        let caught_up = then.is_some_and(|(then_us, then)| {
            source_us - then_us - arrival.since(then.arrival) <= CATCHING_UP_US
        });
        caught_up || self.held.len() >= LEARN_MOST
    }

    /// What lies further apart than this has a hole between, as far as can be
    /// told yet; `gap_us` says it for a known interval.
    pub(super) fn widest_us(&self, gap_us: impl Fn(i64) -> i64) -> i64 {
        if self.held.len() < ENOUGH {
            return LEARN_STEP_US;
        }
        let pairs = self.held.windows(2);
        let intervals_us = pairs.map(|pair| (pair[1].0 - pair[0].0) as f64).collect();
        gap_us(median(intervals_us).map_or(0, |us| us as i64))
    }

    /// The interval at which pictures come, for a source that does not stamp
    /// them: the median slope of arrivals over their number (H. Theil, 1950;
    /// P. K. Sen, 1968), which a few late ones do not move.
    pub(super) fn pace_us(&self) -> Option<f64> {
        let (_, end) = self.last()?;
        let times_us: Vec<i64> = self.held.iter().map(|(us, _)| *us).collect();
        let clump = self
            .held
            .partition_point(|(_, held)| end.since(held.arrival) > PACE_US);
        let lately = if times_us.len() - clump >= ENOUGH {
            &times_us[clump..]
        } else {
            &times_us[..]
        };
        let slopes = (0..lately.len()).flat_map(|from| {
            let later = from + 1..lately.len();
            later.map(move |to| (lately[to] - lately[from]) as f64 / (to - from) as f64)
        });
        median(slopes.collect())
    }
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_unstable_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}
