//! Which date it is, as far as the box can tell, and whether the leaf at hand
//! will do or a new one is due.
//!
//! An authority is not judged by a date at all: a clock that is wrong for a day
//! must not cost every device its trust.
//!
//! Not here: making a leaf.

use super::{Authority, DAY_S, Facts, LEAST_NOW_S, Names, UnixSeconds};

/// A leaf is replaced so long before its end. The box asks at every start and
/// every half minute while running, but may stand in a cupboard over the summer.
const RENEW_BEFORE_S: UnixSeconds = 60 * DAY_S;

/// The date, as the box's leaf takes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Date {
    /// The clock may be right.
    Read(UnixSeconds),
    /// The clock says what cannot be: before this program was written, or after
    /// the authority's end. It was this late once.
    NotBefore(UnixSeconds),
}

impl Date {
    /// What a clock comes to beside an authority and the leaf at hand.
    #[must_use]
    pub fn of(clock_s: UnixSeconds, authority: &Authority, stored: Option<&Facts>) -> Self {
        if (LEAST_NOW_S..authority.ends_s()).contains(&clock_s) {
            return Self::Read(clock_s);
        }
        let signed_s = stored.map(Facts::signed_s);
        let known_s = authority.made_s().max(LEAST_NOW_S);
        Self::NotBefore(signed_s.map_or(known_s, |signed_s| signed_s.max(known_s)))
    }

    /// The day that is put into a leaf.
    #[must_use]
    pub const fn seconds(self) -> UnixSeconds {
        match self {
            Self::Read(seconds) | Self::NotBefore(seconds) => seconds,
        }
    }
}

/// What to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The leaf at hand is good.
    Keep,
    /// Make a new one.
    Issue(Why),
}

/// Why a new leaf is due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// There is none, or none that the authority at hand has signed.
    Missing,
    /// It is for another name.
    Name,
    /// The box has an address that is not in it.
    Address,
    /// It ends soon, or has ended.
    Ending,
    /// By the date it is not good yet: that was ahead when it was made, or is
    /// behind now. A new one lasts long enough for either.
    NotYet,
}

impl Why {
    /// For the log.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Missing => "there is none yet",
            Self::Name => "the box's name has changed",
            Self::Address => "the box has a new address",
            Self::Ending => "the last one nears its end",
            Self::NotYet => "by this box's date the last one is not good yet",
        }
    }
}

/// Judges the stored leaf (of the authority at hand, or none), which lives no
/// longer than that authority. An address that went away is no reason for a new
/// one: it usually comes back, and does no harm meanwhile. Nor is a date that
/// tells nothing.
#[must_use]
pub fn verdict(
    date: Date,
    stored: Option<&Facts>,
    wanted: &Names,
    authority_ends_s: UnixSeconds,
) -> Verdict {
    let Some(stored) = stored else {
        return Verdict::Issue(Why::Missing);
    };
    if !stored.names.contains(&wanted.name) {
        return Verdict::Issue(Why::Name);
    }
    if !stored.addresses.is_superset(&wanted.addresses) {
        return Verdict::Issue(Why::Address);
    }
    let Date::Read(now_s) = date else {
        return Verdict::Keep;
    };
    if now_s < stored.not_before_s {
        return Verdict::Issue(Why::NotYet);
    }
    let could_last = stored.not_after_s < authority_ends_s;
    if could_last && stored.not_after_s.saturating_sub(now_s) < RENEW_BEFORE_S {
        return Verdict::Issue(Why::Ending);
    }
    Verdict::Keep
}
