//! What the class that runs has otherwise than planned: a station's delay, the cue
//! on its screens; and which unit says what is planned.
//!
//! - A change belongs to the class that runs. It is written down with it, outlives
//!   a restart and comes back with the class; another class has what is planned.
//! - Planned is what the unit says for the class's grade, else what the box itself
//!   was told to keep, else what the config file says.
//! - A delay that is set while no class runs holds for as long as the program
//!   does, for every class that has none of its own. The demo's class counts as
//!   none.
//! - Another unit is another task: what was changed at a station waits until the
//!   same station of the same unit stands there again.
//!
//! Not here: what becomes of it after the class (`kept`).

use std::{collections::BTreeMap, sync::Arc};

use afterturn_core::{
    kernel::{DelayError, DelayMs, StationNumber},
    rotation::{Tuned, TunedKind, Tuning},
};

use tokio::task::spawn_blocking;

use super::{Inner, Lesson};
use crate::station::Station;
use crate::units::{Pins, Planned, Sheets, Shelf};

/// The unit that is in use.
#[derive(Clone)]
pub struct UnitInUse {
    /// What is shown of it.
    pub sheets: Arc<Sheets>,
    /// Where its file is.
    pub units: Arc<Shelf>,
}

impl Default for UnitInUse {
    /// None.
    fn default() -> Self {
        Self {
            sheets: Arc::new(Sheets::new(BTreeMap::new())),
            units: Arc::new(Shelf::in_memory()),
        }
    }
}

/// Why a cue is not pinned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotPinned {
    /// It would be nobody's.
    #[error("a cue is chosen for a class; start one first")]
    NoClass,
    /// The grade that is shown has no such cue there.
    #[error("station {0} has no such cue for this grade")]
    NoCue(u8),
}

/// Why another unit is not used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotUsed {
    /// It would have other stations and other words in mid-class.
    #[error("a class is running with the unit that is in use; end it first")]
    Class,
    /// There is no such file.
    #[error("there is no such unit")]
    NoSuch,
    /// It cannot be shown.
    #[error("the unit file holds mistakes; mend them first")]
    Mistakes,
}

impl Lesson {
    /// Has the gym use another unit from now on; not while a class works with the
    /// one that is in use.
    pub async fn use_unit(&self, name: &str) -> Result<(), NotUsed> {
        let (units, file) = (Arc::clone(&self.settings.unit.units), name.to_owned());
        let copy = spawn_blocking(move || units.one(&file)).await;
        let copy = copy.ok().flatten().ok_or(NotUsed::NoSuch)?;
        if copy.unit.is_none() {
            return Err(NotUsed::Mistakes);
        }
        self.with(|inner, _| {
            let runs = inner.class.as_ref().is_some_and(|class| !class.demo);
            if runs || inner.asking.is_some() {
                return Err(NotUsed::Class);
            }
            self.settings.unit.sheets.use_unit(copy);
            Ok(())
        })
    }

    /// Sets a station's delay for the class that runs, or for as long as the
    /// program does.
    pub async fn set_delay(&self, station: &Station, delay_ms: u32) -> Result<DelayMs, DelayError> {
        let config = station.config();
        let delay = DelayMs::new(delay_ms, config.window_ms)?;
        self.with(|inner, _| {
            let plans = self.plans(inner);
            let of = plans.get(&config.number).map(|planned| planned.of.as_str());
            if inner.planned_ms(&plans, station) == delay.ms() {
                // As planned is not otherwise.
                inner.tuning().forget(config.number, of, TunedKind::Delay);
            } else {
                let tuned = Tuned::DelayMs(delay.ms());
                inner.tuning().set(config.number, of, tuned);
            }
        });
        self.keep().await;
        Ok(delay)
    }

    /// Has a cue stay on a station's screens for the class that runs; with none it
    /// is as planned again.
    pub async fn pin(&self, number: StationNumber, cue: Option<&str>) -> Result<(), NotPinned> {
        let sheets = &self.settings.unit.sheets;
        let cues = sheets.cues_at(number);
        let mut ids = cues.iter().flat_map(|at| &at.cues).map(|choice| &choice.id);
        if cue.is_some_and(|cue| !ids.any(|id| id == cue)) {
            return Err(NotPinned::NoCue(number.get()));
        }
        let pinned: Result<(), NotPinned> = self.with(|inner, _| {
            let class = inner.class.as_ref().ok_or(NotPinned::NoClass)?;
            let plans = sheets.planned(class.grade);
            let of = plans.get(&number).map(|planned| planned.of.as_str());
            match cue {
                Some(cue) => inner.tuning().set(number, of, Tuned::Cue(cue.to_owned())),
                None => inner.tuning().forget(number, of, TunedKind::Cue),
            }
            Ok(())
        });
        pinned?;
        sheets.set_pins(self.pins());
        self.keep().await;
        Ok(())
    }

    /// The cues that the class that runs has pinned.
    #[must_use]
    pub fn pins(&self) -> Pins {
        let inner = self.lock();
        if inner.class.is_none() {
            return Pins::new();
        }
        let all = inner.own().unwrap_or(&inner.free).iter();
        let pin = all.filter_map(|tune| match (&tune.of, &tune.tuned) {
            (Some(of), Tuned::Cue(cue)) => Some((of.clone(), cue.clone())),
            _ => None,
        });
        pin.collect()
    }

    /// What is planned has changed: delays follow.
    pub fn plan_changed(&self) {
        self.with(|_, _| ());
    }

    /// Gives each station the delay it has now.
    pub(super) fn move_delays(&self, inner: &Inner) {
        let plans = self.plans(inner);
        for station in &self.settings.stations {
            let number = station.config().number;
            let of = plans.get(&number).map(|planned| planned.of.as_str());
            let tuned = inner.own().unwrap_or(&inner.free).delay_ms(number, of);
            station.follow_delay(tuned.unwrap_or_else(|| inner.planned_ms(&plans, station)));
        }
    }

    /// The delays that the unit plans for the class that runs; of one without a
    /// grade it knows nothing.
    fn plans(&self, inner: &Inner) -> BTreeMap<StationNumber, Planned> {
        let class = inner.class.as_ref().filter(|class| !class.demo);
        let grade = class.and_then(|class| class.grade);
        grade.map_or_else(BTreeMap::new, |grade| {
            self.settings.unit.sheets.planned(Some(grade))
        })
    }
}

impl Inner {
    /// What the class that runs has otherwise; nothing where none runs, or the
    /// demo's.
    pub(super) fn own(&self) -> Option<&Tuning> {
        let class = self.class.as_ref().filter(|class| !class.demo)?;
        Some(&self.book.known(&class.title)?.tuning)
    }

    /// Where a change is noted.
    fn tuning(&mut self) -> &mut Tuning {
        let class = self.class.as_ref().filter(|class| !class.demo);
        let known = class.and_then(|class| self.book.known_mut(&class.title));
        match known {
            Some(known) => {
                self.unkept_book = true;
                &mut known.tuning
            }
            None => &mut self.free,
        }
    }

    /// The delay of a station where nobody has set another.
    fn planned_ms(&self, plans: &BTreeMap<StationNumber, Planned>, station: &Station) -> u32 {
        let number = station.config().number;
        // What was set before the class came.
        let before = self.own().and_then(|_| self.free.delay_ms(number, None));
        let unit = || plans.get(&number).and_then(|planned| planned.delay_ms);
        let ms = before.or_else(unit);
        ms.map_or_else(|| self.box_ms(station), |ms| within(ms, station))
    }

    /// The box's own delay of a station: what it was told to keep, as long as the
    /// config file says what it said then; else what that says.
    pub(super) fn box_ms(&self, station: &Station) -> u32 {
        let config = station.config();
        let file_ms = config.delay.ms();
        let kept = self.book.delay_kept(config.number, file_ms);
        kept.map_or(file_ms, |ms| within(ms, station))
    }
}

/// As much of a delay as a station's window reaches: a unit does not know it.
pub(super) fn within(delay_ms: u32, station: &Station) -> u32 {
    delay_ms.min(DelayMs::most_ms(station.config().window_ms))
}
