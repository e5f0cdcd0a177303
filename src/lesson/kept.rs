//! What a class had otherwise than planned, offered once it is over: for every
//! class from now on, for that class alone, or for nobody.
//!
//! - Offered is what differs from the plan as it is now and nobody has answered.
//!   It waits while a class runs, and is offered again after the next lesson of
//!   its class until somebody answers.
//! - *Everybody*: written into the unit file like a change of the editor's,
//!   against the version that the offer named. Where no unit has the station, the
//!   box itself keeps the delay, as long as the config file says what it said
//!   then.
//! - *Class*: it comes back with that class, and is not asked about again until
//!   it is changed.
//! - *Nobody*: it is as planned again.
//!
//! Not here: changing it while the class runs (`tuning`).

use std::sync::Arc;

use afterturn_core::{
    plan::{Grade, Station as UnitStation, Unit},
    rotation::{Tune, Tuned},
    wire::{InBoth, KeepAsk, KeepFor, KeepOffer, Otherwise},
};
use tokio::task::spawn_blocking;

use super::book::Known;
use super::tuning::within;
use super::{Inner, Lesson};
use crate::station::Station;
use crate::units::{
    Change, Copy, SaveError, cue_of, grade_of, in_both, keep_edits, station_of, view_of,
};

/// Why something is not kept.
#[derive(Debug, thiserror::Error)]
pub enum NotKept {
    /// The plan cannot say it.
    #[error("this cannot be planned for everybody; it can stay with the class")]
    Class,
    /// The unit file would not take it.
    #[error(transparent)]
    Save(#[from] SaveError),
    /// Nobody could look at it.
    #[error("the unit file could not be looked at")]
    Broken,
}

/// An offer with what it takes to keep it.
struct Offered {
    offer: KeepOffer,
    tune: Tune,
    grade: Option<Grade>,
}

impl Offered {
    fn is(&self, ask: &KeepAsk) -> bool {
        let (class, station) = (&self.offer.class, self.offer.station);
        *class == ask.class && station == ask.station && self.tune.tuned.kind() == ask.what
    }
}

impl Lesson {
    /// What there is to say about the classes that are over.
    #[must_use]
    pub fn offers(&self) -> Vec<KeepOffer> {
        let offered = self.offered(&self.lock());
        offered.into_iter().map(|one| one.offer).collect()
    }

    /// Carries out what somebody said to an offer. One that is no longer there was
    /// answered at another remote.
    pub async fn settle_offer(&self, ask: &KeepAsk) -> Result<(), NotKept> {
        let offered = self.offered(&self.lock());
        let Some(one) = offered.into_iter().find(|one| one.is(ask)) else {
            return Ok(());
        };
        if ask.keep == KeepFor::Everybody {
            self.keep_for_everybody(&one, ask).await?;
        }
        let Offered { offer, tune, .. } = one;
        let (class, kind) = (&offer.class, tune.tuned.kind());
        self.with(|inner, _| {
            let (number, of) = (tune.station, tune.of.as_deref());
            if ask.keep == KeepFor::Everybody {
                // Or it would stand before what is planned from now on.
                inner.free.forget(number, None, kind);
                if let (None, Tuned::DelayMs(ms)) = (of, &tune.tuned) {
                    let mut stations = self.settings.stations.iter();
                    let file = stations.find(|station| station.config().number == number);
                    let file_ms = file.map(|station| station.config().delay.ms());
                    inner.book.keep_delay(number, file_ms.unwrap_or(*ms), *ms);
                }
            }
            if let Some(known) = inner.book.known_mut(class) {
                match ask.keep {
                    KeepFor::Class => known.tuning.answer(number, of, kind),
                    KeepFor::Everybody | KeepFor::Nobody => known.tuning.forget(number, of, kind),
                }
            }
            inner.unkept_book = true;
        });
        self.keep().await;
        tracing::info!(station = offer.station, ?kind, keep = ?ask.keep, "what a class had");
        Ok(())
    }

    /// Writes it into the unit file; there is nothing to write where the box keeps
    /// it.
    async fn keep_for_everybody(&self, one: &Offered, ask: &KeepAsk) -> Result<(), NotKept> {
        if !one.offer.for_everybody {
            return Err(NotKept::Class);
        }
        let copy = self.settings.unit.sheets.unit();
        let unit = copy.as_ref().and_then(|copy| copy.unit.as_ref());
        let station = unit.zip(one.tune.of.as_deref());
        let station = station.and_then(|(unit, of)| station_of(unit, of));
        let (Some(copy), Some(station)) = (&copy, station) else {
            return Ok(());
        };
        let edits = keep_edits(station, one.grade, &one.tune.tuned);
        let base = ask.version.clone().unwrap_or_else(|| copy.version.clone());
        let (units, sheets) = (
            Arc::clone(&self.settings.unit.units),
            Arc::clone(&self.settings.unit.sheets),
        );
        let name = copy.name.clone();
        // The disk is waited for elsewhere, so that no picture waits for it.
        let saving = spawn_blocking(move || {
            let saved = units.save(&name, &base, &Change::Edits(edits));
            // The screens need not wait until somebody notices.
            sheets.follow(&units);
            saved
        });
        saving.await.map_err(|_| NotKept::Broken)??;
        Ok(())
    }

    fn offered(&self, inner: &Inner) -> Vec<Offered> {
        let runs = inner.class.as_ref().is_some_and(|class| !class.demo);
        if runs || inner.asking.is_some() {
            return Vec::new();
        }
        let copy = self.settings.unit.sheets.unit();
        let newest = inner.book.classes.iter().rev();
        let all = newest.flat_map(|known| {
            let open = known.tuning.iter().filter(|tune| !tune.answered);
            open.filter_map(|tune| self.offer(inner, copy.as_deref(), known, tune))
        });
        all.collect()
    }

    /// One thing a class had otherwise; nothing where it is as planned by now, or
    /// where nobody knows what it was about.
    fn offer(
        &self,
        inner: &Inner,
        copy: Option<&Copy>,
        known: &Known,
        tune: &Tune,
    ) -> Option<Offered> {
        let mut stations = self.settings.stations.iter();
        let station = stations.find(|station| station.config().number == tune.station)?;
        let grade = grade_of(known.grade);
        let unit = copy.and_then(|copy| copy.unit.as_ref());
        // Nothing of a unit that is not in use.
        let written = match &tune.of {
            Some(of) => Some((unit?, station_of(unit?, of)?)),
            None => None,
        };
        let (otherwise, for_everybody) = match &tune.tuned {
            Tuned::DelayMs(ms) => {
                delay_otherwise(*ms, inner.box_ms(station), station, written, grade)
            }
            Tuned::Cue(id) => {
                let shown = grade.or_else(|| grade_of(self.settings.unit.sheets.grade()));
                cue_otherwise(id, written?, shown?)
            }
        }?;
        let title = written.map_or_else(
            || plain(&station.config().title),
            |(_, station)| in_both(&station.details.title),
        );
        Some(Offered {
            offer: KeepOffer {
                class: known.title.clone(),
                station: tune.station.get(),
                title,
                otherwise,
                version: written.and(copy).map(|copy| copy.version.clone()),
                for_everybody,
            },
            tune: tune.clone(),
            grade,
        })
    }
}

/// A delay beside the one that is planned.
fn delay_otherwise(
    delay_ms: u32,
    box_ms: u32,
    station: &Station,
    written: Option<(&Unit, &UnitStation)>,
    grade: Option<Grade>,
) -> Option<(Otherwise, bool)> {
    // Without a grade a class has the box's.
    let unit_ms = written.zip(grade);
    let unit_ms = unit_ms.map(|((_, station), grade)| station.details_for(grade).delay_ms);
    let planned_ms = unit_ms.filter(|ms| *ms > 0);
    let planned_ms = planned_ms.map_or(box_ms, |ms| within(ms, station));
    // None at all is how a unit leaves it to the server.
    let sayable = written.is_none() || (delay_ms > 0 && grade.is_some());
    let otherwise = Otherwise::Delay {
        delay_ms,
        planned_ms,
    };
    (planned_ms != delay_ms).then_some((otherwise, sayable))
}

/// A cue beside the one that is planned.
fn cue_otherwise(
    id: &str,
    (unit, station): (&Unit, &UnitStation),
    grade: Grade,
) -> Option<(Otherwise, bool)> {
    let cue = cue_of(station, id)?;
    let view = view_of(unit, station, grade)?;
    let planned = view.shown_cue(None);
    if planned.is_some_and(|planned| planned.id == cue.id) {
        return None;
    }
    let otherwise = Otherwise::Cue {
        cue: in_both(&cue.text),
        planned: planned.map(|planned| in_both(&planned.text)),
    };
    Some((otherwise, view.leads_if_first(id)))
}

fn plain(text: &str) -> InBoth {
    InBoth {
        en: text.to_owned(),
        es: text.to_owned(),
    }
}
