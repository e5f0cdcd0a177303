//! Grades, and runs of them.
//!
//! Not here: what differs between them.

use std::fmt;
use std::str::FromStr;

use serde::{Serialize, Serializer};

/// A grade of an elementary school, kindergarten to fifth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Grade(u8);

/// What is no grade.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a grade is K, 1, 2, 3, 4 or 5")]
pub struct GradeError;

impl Grade {
    /// Kindergarten.
    pub const K: Self = Self(0);
    /// Every grade, from the youngest.
    pub const ALL: [Self; 6] = [Self(0), Self(1), Self(2), Self(3), Self(4), Self(5)];

    /// Years after kindergarten.
    #[must_use]
    pub const fn years(self) -> u8 {
        self.0
    }
}

impl FromStr for Grade {
    type Err = GradeError;

    fn from_str(text: &str) -> Result<Self, GradeError> {
        match text {
            "K" | "k" => Ok(Self::K),
            "1" | "2" | "3" | "4" | "5" => Ok(Self(text.as_bytes()[0] - b'0')),
            _ => Err(GradeError),
        }
    }
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            0 => f.write_str("K"),
            years => years.fmt(f),
        }
    }
}

impl Serialize for Grade {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

/// A run of grades without a gap, both ends included: `K`, `1-3`, `4-5`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Grades {
    first: Grade,
    last: Grade,
}

/// What is no run of grades.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum GradesError {
    /// Neither one grade nor two with a dash between.
    #[error("grades are one grade, or the first and the last with a dash: \"K\", \"1-3\"")]
    Unclear,
    /// It ends before it begins.
    #[error("the younger grade comes first: \"{last}-{first}\"")]
    Backwards {
        /// As it was written.
        first: Grade,
        /// As it was written.
        last: Grade,
    },
}

impl Grades {
    /// Kindergarten to fifth.
    pub const ALL: Self = Self {
        first: Grade(0),
        last: Grade(5),
    };

    /// From one grade to another.
    pub const fn new(first: Grade, last: Grade) -> Result<Self, GradesError> {
        if first.0 > last.0 {
            return Err(GradesError::Backwards { first, last });
        }
        Ok(Self { first, last })
    }

    /// The youngest.
    #[must_use]
    pub const fn first(self) -> Grade {
        self.first
    }

    /// The oldest.
    #[must_use]
    pub const fn last(self) -> Grade {
        self.last
    }

    /// Whether a grade is in it.
    #[must_use]
    pub const fn contains(self, grade: Grade) -> bool {
        self.first.0 <= grade.0 && grade.0 <= self.last.0
    }

    /// Whether some grade is in both.
    #[must_use]
    pub const fn meets(self, other: Self) -> bool {
        self.first.0 <= other.last.0 && other.first.0 <= self.last.0
    }

    /// Whether all of another run is in this one.
    #[must_use]
    pub const fn covers(self, other: Self) -> bool {
        self.first.0 <= other.first.0 && other.last.0 <= self.last.0
    }

    /// Its grades, from the youngest.
    pub fn iter(self) -> impl Iterator<Item = Grade> {
        (self.first.0..=self.last.0).map(Grade)
    }
}

impl FromStr for Grades {
    type Err = GradesError;

    fn from_str(text: &str) -> Result<Self, GradesError> {
        // A typographer's dash is a dash too.
        let (first, last) = text.split_once(['-', '–']).unwrap_or((text, text));
        let one = |part: &str| part.trim().parse().map_err(|_| GradesError::Unclear);
        Self::new(one(first)?, one(last)?)
    }
}

impl fmt::Display for Grades {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.first == self.last {
            self.first.fmt(f)
        } else {
            write!(f, "{}-{}", self.first, self.last)
        }
    }
}

impl Serialize for Grades {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}
