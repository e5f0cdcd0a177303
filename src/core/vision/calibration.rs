//! How long a camera takes: from the times seen on a filmed screen to one
//! figure, or to why there is none.
//!
//! Each change of the time on the screen lies between two pictures: the last
//! with the old time and the first with the new one. With when those two reached
//! us, and the new time itself, that gives the least and the most the camera can
//! take. The answer goes by the changes that most agree with, and has as many of
//! their bounds below it as above: a misread picture or a late change of a busy
//! screen moves it by next to nothing.
//!
//! What is measured is the whole loop, the screen's own lag with it. That is what
//! a child waits for, so it is what should be taken off.
//!
//! Not here: reading pictures ([`super::bars`]), and what is done with the figure.

use std::{cmp::Reverse, ops::RangeInclusive};

use super::bars::Seen;
use crate::kernel::CaptureUs;

/// With fewer, at the end of the time, there is no answer.
const LEAST: usize = 8;

/// The longest a camera may take: what the config file can say.
const MOST_MS: i64 = 2_000;

/// A time on the screen may be this far ahead of when it was seen: clocks are
/// not that exact.
const AHEAD_US: i64 = 50_000;

/// How old a time on a screen can be: the slowest camera's, and a change.
const OLD_US: i64 = 4_000_000;

/// Pictures further apart say too little about what happened in between.
const APART_US: i64 = 250_000;

/// What fits to this fits: half of a screen's refresh.
const NEAR_US: i64 = 8_000;

/// An answer that may be further off than this is none.
const UNSURE_US: i64 = 20_000;

/// Pictures in which something was read, below which nothing was found.
const GLIMPSES: usize = 5;

/// How long a camera takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Latency {
    /// From light to arrival, rounded.
    pub latency_ms: u32,
    /// It may be off by this.
    pub unsure_ms: u32,
    /// Changes it was judged by.
    pub changes: usize,
}

/// Why there is no figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unclear {
    /// No screen in the picture that could be read.
    NotFound,
    /// The same, and the picture is as good as black.
    TooDark,
    /// There was one, but too few changes of it could be seen.
    TooFew,
    /// The changes do not agree on a figure.
    Uneven,
    /// They agree on one that no camera has.
    Impossible,
}

/// A time that stood on the screen for more than one picture.
#[derive(Clone, Copy, Debug)]
struct Run {
    time_ms: u64,
    first: CaptureUs,
    last: CaptureUs,
    pictures: usize,
}

/// See the module.
#[derive(Debug)]
pub struct Calibration {
    latency_us: i64,
    runs: Vec<Run>,
    glimpses: usize,
    /// Pictures without a screen, in light and in hardly any.
    blind: usize,
    dark: usize,
}

impl Calibration {
    /// So many changes suffice.
    pub const ENOUGH: usize = 20;

    /// For pictures whose capture time has so much taken off already.
    #[must_use]
    pub const fn new(latency_us: i64) -> Self {
        Self {
            latency_us,
            runs: Vec::new(),
            glimpses: 0,
            blind: 0,
            dark: 0,
        }
    }

    /// The times, in milliseconds, that a picture with this capture time can show.
    #[must_use]
    pub const fn possible(&self, capture: CaptureUs) -> RangeInclusive<u64> {
        let reached = capture.offset(self.latency_us);
        reached.offset(-OLD_US).as_ms()..=reached.offset(AHEAD_US).as_ms()
    }

    /// Takes in what the next picture shows.
    pub fn add(&mut self, capture: CaptureUs, seen: Seen) {
        match seen {
            Seen::Time(_) | Seen::Changing => self.glimpses += 1,
            Seen::Nothing => self.blind += 1,
            Seen::Dark => self.dark += 1,
        }
        let Seen::Time(time_ms) = seen else { return };
        let reached = capture.offset(self.latency_us);
        match self.runs.last_mut() {
            Some(run) if run.time_ms == time_ms => {
                run.last = reached;
                run.pictures += 1;
            }
            _ => self.runs.push(Run {
                time_ms,
                first: reached,
                last: reached,
                pictures: 1,
            }),
        }
    }

    /// Least and most, of each change that says something.
    fn bounds(&self) -> Vec<(i64, i64)> {
        let mut times: Vec<Run> = Vec::with_capacity(self.runs.len());
        // A time seen once may have been misread; one that lies before the last
        // was.
        for run in self.runs.iter().filter(|run| run.pictures > 1) {
            match times.last_mut() {
                Some(last) if last.time_ms == run.time_ms => last.last = run.last,
                Some(last) if last.time_ms > run.time_ms => {}
                _ => times.push(*run),
            }
        }
        let changes = times.windows(2).map(|two| {
            let changed = CaptureUs(two[1].time_ms.saturating_mul(1000));
            (two[0].last.since(changed), two[1].first.since(changed))
        });
        changes
            .filter(|(least, most)| most.saturating_sub(*least) <= APART_US)
            .collect()
    }

    /// Changes seen so far that say something.
    #[must_use]
    pub fn changes(&self) -> usize {
        self.bounds().len()
    }

    /// The figure, as far as it can be told.
    pub fn verdict(&self) -> Result<Latency, Unclear> {
        let mut bounds = self.bounds();
        let changes = bounds.len();
        if self.glimpses < GLIMPSES {
            return Err(if self.dark > self.blind {
                Unclear::TooDark
            } else {
                Unclear::NotFound
            });
        }
        if changes < LEAST {
            return Err(Unclear::TooFew);
        }
        let fit = |latency_us: i64| {
            let off = bounds.iter().map(|bounds| off_us(*bounds, latency_us));
            let fitting = off.clone().filter(|off| *off <= NEAR_US).count();
            (fitting, Reverse(off.fold(0, i64::saturating_add)))
        };
        let ends = bounds.iter().flat_map(|bounds| [bounds.0, bounds.1]);
        let best = ends.max_by_key(|end| fit(*end)).unwrap_or_default();
        by_fit(&mut bounds, best);
        let fitting = bounds.partition_point(|bounds| off_us(*bounds, best) <= NEAR_US);
        let balance = balance(&bounds[..fitting]);
        by_fit(&mut bounds, balance.latency_us);
        // Three of four are at least so close.
        let usual_us = off_us(bounds[changes - changes / 4 - 1], balance.latency_us);
        let unsure_us = balance.either_way_us.saturating_add(usual_us);
        if unsure_us > UNSURE_US {
            return Err(Unclear::Uneven);
        }
        let latency_ms = balance.latency_us.saturating_add(500).div_euclid(1000);
        if !(-AHEAD_US / 1000..=MOST_MS).contains(&latency_ms) {
            return Err(Unclear::Impossible);
        }
        Ok(Latency {
            latency_ms: latency_ms.max(0) as u32,
            unsure_ms: ((unsure_us + 999) / 1000) as u32,
            changes,
        })
    }

    /// Whether enough has been seen to stop looking.
    #[must_use]
    pub fn suffices(&self) -> bool {
        self.changes() >= Self::ENOUGH && self.verdict().is_ok()
    }
}

/// A figure with as many bounds below it as above.
struct Balance {
    latency_us: i64,
    /// So much more or less, and it would still be one.
    either_way_us: i64,
}

/// Of at least one change.
fn balance(bounds: &[(i64, i64)]) -> Balance {
    let mut ends: Vec<i64> = bounds.iter().flat_map(|b| [b.0, b.1]).collect();
    ends.sort_unstable();
    let (low, high) = (ends[bounds.len() - 1], ends[bounds.len()]);
    Balance {
        latency_us: low.midpoint(high),
        either_way_us: high.saturating_sub(low) / 2,
    }
}

/// Sorts changes by how well they fit a figure.
fn by_fit(bounds: &mut [(i64, i64)], latency_us: i64) {
    bounds.sort_by_key(|bounds| off_us(*bounds, latency_us));
}

/// How far a figure is outside of a change's bounds.
fn off_us((least, most): (i64, i64), latency_us: i64) -> i64 {
    let (over, under) = (
        least.saturating_sub(latency_us),
        latency_us.saturating_sub(most),
    );
    over.max(under).max(0)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "in a test a panic is the report")]
mod tests;
