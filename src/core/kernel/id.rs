//! Numbers that name things: a station on the floor, a fragment in a ring.

use serde::{Deserialize, Serialize};

/// The number on a station's sign, 1 to 99: what a child can read from the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(transparent)]
pub struct StationNumber(u8);

/// A station number that no sign can carry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a station has a number from 1 to 99, not {0}")]
pub struct StationNumberError(pub i64);

impl StationNumber {
    /// The least number.
    pub const LEAST: u8 = 1;
    /// The greatest number.
    pub const MOST: u8 = 99;

    /// The number as it stands on the sign.
    #[must_use]
    pub const fn get(self) -> u8 {
        self.0
    }
}

impl TryFrom<i64> for StationNumber {
    type Error = StationNumberError;

    fn try_from(given: i64) -> Result<Self, Self::Error> {
        u8::try_from(given)
            .ok()
            .filter(|n| (Self::LEAST..=Self::MOST).contains(n))
            .map(Self)
            .ok_or(StationNumberError(given))
    }
}

impl<'de> Deserialize<'de> for StationNumber {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let given = i64::deserialize(from)?;
        Self::try_from(given).map_err(serde::de::Error::custom)
    }
}

impl std::str::FromStr for StationNumber {
    type Err = StationNumberError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        text.parse::<i64>()
            .map_err(|_| StationNumberError(-1))
            .and_then(Self::try_from)
    }
}

impl std::fmt::Display for StationNumber {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

/// A fragment's place in its ring, counted from the ring's start and never
/// reused: a viewer that fell behind learns exactly how many it lost.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct FragmentNumber(pub u64);

impl FragmentNumber {
    /// The one after this.
    #[must_use]
    pub const fn next(self) -> Self {
        Self(self.0 + 1)
    }
}
