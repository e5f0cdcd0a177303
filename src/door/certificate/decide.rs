//! Whether the leaf at hand will do, or a new one is due.
//!
//! Not here: making it.

use super::{DAY_S, Facts, Names, UnixSeconds};

/// A leaf is replaced so long before its end. The box asks at every start and
/// every half minute while running, but may stand in a cupboard over the summer.
const RENEW_BEFORE_S: UnixSeconds = 60 * DAY_S;

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
    /// It was made while the clock was ahead, and is not good yet.
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
            Self::NotYet => "the last one was made with a clock that was ahead",
        }
    }
}

/// Judges the stored leaf (of the authority at hand, or none), which lives no
/// longer than that authority. An address that went away is no reason for a new
/// one: it usually comes back, and does no harm meanwhile.
#[must_use]
pub fn verdict(
    now_s: UnixSeconds,
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
    if now_s < stored.not_before_s {
        return Verdict::Issue(Why::NotYet);
    }
    let could_last = stored.not_after_s < authority_ends_s;
    if could_last && stored.not_after_s.saturating_sub(now_s) < RENEW_BEFORE_S {
        return Verdict::Issue(Why::Ending);
    }
    Verdict::Keep
}
