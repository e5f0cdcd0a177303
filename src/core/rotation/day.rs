//! In which order classes come on which day of the week.
//!
//! Not here: a timetable. What was started last week is expected again, and
//! nothing else.

use serde::{Deserialize, Serialize};

/// See the module.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Days([Day; 7]);

/// One day of the week.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
struct Day {
    /// The date it was last, in days since the epoch.
    date: u64,
    /// What was started on that date.
    classes: Vec<String>,
    /// What was started on the date before.
    before: Vec<String>,
}

/// A school day does not cross midnight of the world's clock anywhere between
/// Lisbon and Honolulu; elsewhere the order is a day's and a half at worst.
const DAY_US: u64 = 86_400_000_000;

impl Days {
    /// A class was started.
    pub fn started(&mut self, class: &str, wall_us: u64) {
        let date = wall_us / DAY_US;
        let day = &mut self.0[(date % 7) as usize];
        if day.date != date {
            day.before = std::mem::take(&mut day.classes);
            day.date = date;
        }
        if !day.classes.iter().any(|known| known == class) {
            day.classes.push(class.to_owned());
        }
    }

    /// The classes in the order in which they are likely to be wanted: those of
    /// this day that have not been yet, then the others, then those that were.
    #[must_use]
    pub fn order<'a>(&self, classes: &[&'a str], wall_us: u64) -> Vec<&'a str> {
        let date = wall_us / DAY_US;
        let day = &self.0[(date % 7) as usize];
        let (been, expected) = if day.date == date {
            (&day.classes[..], &day.before[..])
        } else {
            (&[][..], &day.classes[..])
        };
        let place = |all: &[String], class: &str| all.iter().position(|known| known == class);
        let mut order = classes.to_vec();
        order.sort_by_key(|class| match (place(been, class), place(expected, class)) {
            (Some(at), _) => (2, at),
            (None, Some(at)) => (0, at),
            (None, None) => (1, 0),
        });
        order
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_expects_what_it_had_a_week_ago() {
        let monday = 20_000 * DAY_US;
        let all = ["1A", "2B", "3B", "5C"];
        let mut days = Days::default();
        assert_eq!(days.order(&all, monday), all, "as they are, at first");
        for class in ["3B", "1A", "5C"] {
            days.started(class, monday);
        }
        assert_eq!(days.order(&all, monday), ["2B", "3B", "1A", "5C"]);
        assert_eq!(days.order(&all, monday + DAY_US), all, "another day");
        let next = monday + 7 * DAY_US;
        assert_eq!(days.order(&all, next), ["3B", "1A", "5C", "2B"]);
        days.started("3B", next);
        days.started("3B", next);
        assert_eq!(days.order(&all, next), ["1A", "5C", "2B", "3B"]);
    }
}
