//! What a class has otherwise than planned: a delay, a cue that stays on the
//! screen. It belongs to the class and comes back with it; once the class is over
//! somebody says whether it is to hold for everybody, and until then it has not
//! been answered.
//!
//! Not here: what is planned (a unit or the config file says), which class it is,
//! and writing anything down.

use serde::{Deserialize, Serialize};

use crate::kernel::StationNumber;

/// More than a class that changed everything in a dozen units; the oldest goes.
const MOST: usize = 200;

/// In what a class differs at a station.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tuned {
    /// Capture to glass.
    DelayMs(u32),
    /// The id of the cue that stays.
    Cue(String),
}

/// Which of the two is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum TunedKind {
    /// The delay.
    Delay,
    /// The cue.
    Cue,
}

impl Tuned {
    /// Which it is.
    #[must_use]
    pub const fn kind(&self) -> TunedKind {
        match self {
            Self::DelayMs(_) => TunedKind::Delay,
            Self::Cue(_) => TunedKind::Cue,
        }
    }
}

/// One thing that differs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tune {
    /// At which station.
    pub station: StationNumber,
    /// What stood there: the ids of unit and station. With another unit the same
    /// number is another task, and this says nothing of it. Nothing without a
    /// unit.
    #[serde(default)]
    pub of: Option<String>,
    /// In what.
    pub tuned: Tuned,
    /// Somebody has said since that it is for this class alone.
    #[serde(default)]
    pub answered: bool,
}

impl Tune {
    fn is(&self, station: StationNumber, of: Option<&str>, kind: TunedKind) -> bool {
        self.station == station && self.of.as_deref() == of && self.tuned.kind() == kind
    }
}

/// All that differs for one class; see the module.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Tuning(Vec<Tune>);

impl Tuning {
    /// Something differs from now on, and is to be asked about again.
    pub fn set(&mut self, station: StationNumber, of: Option<&str>, tuned: Tuned) {
        self.forget(station, of, tuned.kind());
        self.0.push(Tune {
            station,
            of: of.map(str::to_owned),
            tuned,
            answered: false,
        });
        if self.0.len() > MOST {
            self.0.remove(0);
        }
    }

    /// It is as planned again.
    pub fn forget(&mut self, station: StationNumber, of: Option<&str>, kind: TunedKind) {
        self.0.retain(|tune| !tune.is(station, of, kind));
    }

    /// Every cue is as planned again.
    pub fn forget_cues(&mut self) {
        self.0.retain(|tune| tune.tuned.kind() != TunedKind::Cue);
    }

    /// Somebody said that it is for this class alone.
    pub fn answer(&mut self, station: StationNumber, of: Option<&str>, kind: TunedKind) {
        let meant = self.0.iter_mut().filter(|tune| tune.is(station, of, kind));
        meant.for_each(|tune| tune.answered = true);
    }

    /// The delay of a station, if it differs.
    #[must_use]
    pub fn delay_ms(&self, station: StationNumber, of: Option<&str>) -> Option<u32> {
        let mut all = self.0.iter();
        let tune = all.find(|tune| tune.is(station, of, TunedKind::Delay))?;
        match tune.tuned {
            Tuned::DelayMs(ms) => Some(ms),
            Tuned::Cue(_) => None,
        }
    }

    /// All of it, in the order in which it was changed.
    pub fn iter(&self) -> impl Iterator<Item = &Tune> {
        self.0.iter()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BEAM: Option<&str> = Some("larkfield/beam");

    fn station(number: i64) -> StationNumber {
        number.try_into().expect("a good number")
    }

    fn cue(id: &str) -> Tuned {
        Tuned::Cue(id.to_owned())
    }

    #[test]
    fn a_station_has_one_delay_and_one_cue_and_the_last_counts() {
        let mut tuning = Tuning::default();
        tuning.set(station(1), BEAM, Tuned::DelayMs(8_000));
        tuning.set(station(1), BEAM, cue("eyes"));
        tuning.set(station(1), BEAM, Tuned::DelayMs(9_000));
        tuning.set(station(1), BEAM, cue("arms"));
        assert_eq!(tuning.delay_ms(station(1), BEAM), Some(9_000));
        let all: Vec<_> = tuning.iter().map(|tune| tune.tuned.clone()).collect();
        assert_eq!(all, [Tuned::DelayMs(9_000), cue("arms")]);
        tuning.forget(station(1), BEAM, TunedKind::Delay);
        assert_eq!(tuning.delay_ms(station(1), BEAM), None);
        assert_eq!(tuning.iter().count(), 1, "the cue stays");
    }

    #[test]
    fn the_same_number_in_another_unit_is_another_task() {
        let mut tuning = Tuning::default();
        tuning.set(station(1), BEAM, Tuned::DelayMs(8_000));
        for other in [None, Some("spring/beam"), Some("larkfield/jumps")] {
            assert_eq!(tuning.delay_ms(station(1), other), None, "{other:?}");
        }
        assert_eq!(tuning.delay_ms(station(2), BEAM), None);
        tuning.set(station(1), None, Tuned::DelayMs(3_000));
        assert_eq!(tuning.delay_ms(station(1), None), Some(3_000));
        assert_eq!(tuning.delay_ms(station(1), BEAM), Some(8_000), "it waits");
    }

    #[test]
    fn what_was_answered_is_asked_again_only_when_it_changed() {
        let mut tuning = Tuning::default();
        let asked = |tuning: &Tuning| tuning.iter().filter(|tune| !tune.answered).count();
        tuning.set(station(1), BEAM, cue("eyes"));
        tuning.set(station(2), None, cue("knees"));
        tuning.answer(station(1), BEAM, TunedKind::Cue);
        tuning.answer(station(2), None, TunedKind::Delay);
        assert_eq!(asked(&tuning), 1, "the other station's, and no delay");
        tuning.set(station(1), BEAM, cue("eyes"));
        assert_eq!(asked(&tuning), 2);
        tuning.forget_cues();
        assert_eq!(tuning, Tuning::default());
    }

    #[test]
    fn it_is_read_as_it_was_written() {
        let mut tuning = Tuning::default();
        tuning.set(station(1), BEAM, cue("eyes"));
        tuning.set(station(2), None, Tuned::DelayMs(500));
        tuning.answer(station(2), None, TunedKind::Delay);
        let text = serde_json::to_string(&tuning).expect("plain data");
        assert_eq!(serde_json::from_str::<Tuning>(&text).ok(), Some(tuning));
        let least = r#"[{"station":3,"tuned":{"delay_ms":4000}}]"#;
        let least: Tuning = serde_json::from_str(least).expect("what may be missing");
        assert_eq!(least.delay_ms(station(3), None), Some(4_000));
    }

    #[test]
    fn it_does_not_grow_without_end() {
        let mut tuning = Tuning::default();
        for unit in 0..1_000 {
            let of = format!("unit-{unit}/beam");
            tuning.set(station(1), Some(&of), Tuned::DelayMs(500));
        }
        assert_eq!(tuning.iter().count(), MOST);
        let newest = tuning.delay_ms(station(1), Some("unit-999/beam"));
        assert_eq!(newest, Some(500));
    }
}
