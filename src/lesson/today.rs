//! What is set for one class and ends with it, and what the class moves: its
//! stations' cameras and covers.
//!
//! **A quiet station takes no picture**: what nobody is to see of themselves need
//! not be taken, so its camera is off like one of a closed station, and its
//! screen is told why.
//!
//! Not here: who may set what, and how a screen shows it.

use std::collections::BTreeSet;

use afterturn_core::{
    delay::Veil,
    kernel::StationNumber,
    rotation::{Clock, Refused, Span},
    wire::{ClassChange, ClassStart, CoverReason, Refinement},
};
use serde::{Deserialize, Serialize};

use super::{Inner, Lesson};

/// What is so today.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Wishes {
    /// No station has a picture of itself, and there is no sound.
    pub(super) quiet: bool,
    /// These have none.
    pub(super) quiet_at: BTreeSet<StationNumber>,
    /// What to look for.
    pub(super) refine: Option<Refinement>,
}

impl Wishes {
    /// As a class begins.
    pub(super) fn of(asked: &ClassStart) -> Self {
        Self {
            quiet: asked.quiet,
            refine: asked.refine,
            ..Self::default()
        }
    }

    /// Whether a station has no picture of itself.
    pub(super) fn is_quiet(&self, station: StationNumber) -> bool {
        self.quiet || self.quiet_at.contains(&station)
    }

    fn change(&mut self, change: ClassChange) {
        match change {
            ClassChange::Quiet { on } => self.quiet = on,
            ClassChange::StationQuiet { station, on: true } => {
                self.quiet_at.insert(station);
            }
            ClassChange::StationQuiet { station, on: false } => {
                self.quiet_at.remove(&station);
            }
            ClassChange::Refine { cue } => self.refine = cue,
        }
    }
}

impl Lesson {
    /// Sets something for the class that runs, and has it written down before it
    /// says so.
    pub async fn change(&self, change: ClassChange) -> Result<(), Refused> {
        let changed = self.with(|inner, _| {
            let class = inner.class.as_mut().ok_or(Refused::Over)?;
            class.today.change(change);
            inner.unkept_class = true;
            tracing::info!(?change, "set for this class");
            Ok(())
        });
        self.keep().await;
        changed
    }

    /// Whether there is to be no sound: nowhere, or not from a station's TV.
    #[must_use]
    pub fn is_quiet(&self, station: Option<StationNumber>) -> bool {
        let inner = self.lock();
        let today = inner.class.as_ref().map(|class| &class.today);
        today.is_some_and(|today| match station {
            Some(station) => today.is_quiet(station),
            None => today.quiet,
        })
    }

    /// What to look for today.
    #[must_use]
    pub fn refinement(&self) -> Option<Refinement> {
        self.lock().class.as_ref()?.today.refine
    }

    pub(super) fn move_stations(&self, inner: &Inner) {
        let clock = inner.class.as_ref().map(|class| &class.clock);
        let today = inner.class.as_ref().map(|class| &class.today);
        let stay = clock.and_then(Clock::stay);
        for station in &self.settings.stations {
            // What another group did is not shown once more to this one.
            station.arrived(stay.map(|stay| stay.from));
            let number = station.config().number;
            let quiet = today.is_some_and(|today| today.is_quiet(number));
            let open = |clock: &Clock| {
                let closed = clock.closed().contains(&number);
                clock.captures() && clock.plan().has_place(number) && !closed
            };
            let captures = !quiet && (station.config().demo || clock.is_some_and(open));
            // Wiped before anything of it is uncovered, and covered before there
            // is anything to cover.
            if !captures {
                station.capture(false);
            }
            station.set_quiet(quiet);
            let spans = clock.map_or_else(Vec::new, |clock| clock.hidden(number));
            let veil = |span: Span| Veil {
                from: span.from,
                to: span.to,
                reason: CoverReason::Covered,
            };
            station.hide(spans.into_iter().map(veil).collect());
            station.hold(clock.is_some_and(Clock::hides));
            station.capture(captures);
        }
    }
}
