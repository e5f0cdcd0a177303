//! A day of the calendar, as schools count: no clock time, no time zone.
//!
//! Not here: which day it is.

use serde::{Deserialize, Serialize};

/// Days since 1 January 1970, in the proleptic Gregorian calendar.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Day(pub i32);

impl Day {
    /// A year, a month from 1 and a day from 1; none if there is no such day,
    /// or it lies outside the years 1 to 9999.
    #[must_use]
    pub fn new(year: i32, month: u32, day: u32) -> Option<Self> {
        if !(1..=9999).contains(&year) || !(1..=12).contains(&month) || day == 0 {
            return None;
        }
        // Years that begin in March put the leap day last: the usual reckoning.
        let shifted = year - i32::from(month <= 2);
        let month_from_march = (month as i32 + 9) % 12;
        let day_of_year = (153 * month_from_march + 2) / 5 + day as i32 - 1;
        let leap_days = shifted.div_euclid(4) - shifted.div_euclid(100) + shifted.div_euclid(400);
        // Minus the days from 1 March of the year 0 to 1 January 1970.
        let this = Self(shifted * 365 + leap_days + day_of_year - 719_468);
        (this.parts() == (year, month, day)).then_some(this)
    }

    /// Its year, month and day.
    #[must_use]
    pub fn parts(self) -> (i32, u32, u32) {
        let days = self.0 + 719_468;
        let (era, of_era) = (days.div_euclid(146_097), days.rem_euclid(146_097));
        let year_of_era = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
        let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
        let from_march = (5 * of_year + 2) / 153;
        let day = of_year - (153 * from_march + 2) / 5 + 1;
        let month = if from_march < 10 {
            from_march + 3
        } else {
            from_march - 9
        };
        let year = year_of_era + era * 400 + i32::from(month <= 2);
        (year, month as u32, day as u32)
    }

    /// So many days later, earlier if negative.
    #[must_use]
    pub const fn plus(self, days: i32) -> Self {
        Self(self.0.saturating_add(days))
    }

    /// The day of a moment, at so many seconds east of Greenwich.
    #[must_use]
    pub const fn of(unix_s: i64, offset_s: i32) -> Self {
        Self((unix_s + offset_s as i64).div_euclid(86_400) as i32)
    }
}

/// As in ISO 8601 §5.2.2: `2026-11-25`.
impl std::fmt::Display for Day {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (year, month, day) = self.parts();
        write!(f, "{year:04}-{month:02}-{day:02}")
    }
}

/// Not a day of the calendar. Does not quote what was.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a date is written like 2026-11-25")]
pub struct DayError;

impl std::str::FromStr for Day {
    type Err = DayError;

    fn from_str(text: &str) -> Result<Self, DayError> {
        let mut parts = text.trim().split('-');
        let mut next = |length: usize| {
            let part = parts.next().filter(|p| p.len() == length)?;
            let digits = part.bytes().all(|b| b.is_ascii_digit());
            part.parse::<u32>().ok().filter(|_| digits)
        };
        let (year, month, day) = (next(4), next(2), next(2));
        if parts.next().is_some() {
            return Err(DayError);
        }
        match (year, month, day) {
            (Some(year), Some(month), Some(day)) => {
                Self::new(year as i32, month, day).ok_or(DayError)
            }
            _ => Err(DayError),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_calendar_is_the_usual_one() {
        // POSIX.1-2017 §4.16, seconds since the epoch: 86 400 to the day, the
        // first is 1 January 1970.
        assert_eq!(Day::new(1970, 1, 1), Some(Day(0)));
        // `date -u -d 2000-03-01 +%s` is 951868800.
        assert_eq!(Day::new(2000, 3, 1), Some(Day(951_868_800 / 86_400)));
        // Gregorian: 1900 was no leap year, 2000 was.
        assert_eq!(Day::new(1900, 2, 29), None);
        assert!(Day::new(2000, 2, 29).is_some());
        assert_eq!(Day::new(2026, 4, 31), None);
    }

    #[test]
    fn every_day_of_four_centuries_comes_back() {
        let mut day = Day::new(1900, 1, 1).expect("a day");
        for _ in 0..146_097 {
            let (year, month, of_month) = day.parts();
            assert_eq!(Day::new(year, month, of_month), Some(day));
            assert_eq!(day.to_string().parse(), Ok(day));
            day = day.plus(1);
        }
        assert_eq!(day.to_string(), "2300-01-01");
    }

    #[test]
    fn only_a_date_is_read() {
        for wrong in [
            "",
            "2026-2-01",
            "2026-02-30",
            "01.02.2026",
            "+026-02-01",
            "2026-02-01-1",
        ] {
            assert_eq!(wrong.parse::<Day>(), Err(DayError), "{wrong}");
        }
    }

    #[test]
    fn midnight_is_where_the_school_is() {
        // 2026-11-25 03:00 UTC is still the 24th five hours to the west.
        assert_eq!(Day::of(1_795_575_600, 0).to_string(), "2026-11-25");
        assert_eq!(Day::of(1_795_575_600, -5 * 3600).to_string(), "2026-11-24");
    }
}
