//! What somebody would like to keep of a station, as an address and a form say it.
//!
//! Not here: whether it may be.

use afterturn_core::{
    consent::Medium,
    kernel::{AttemptS, CaptureUs, StationNumber},
};

use crate::station::Station;

/// What is asked for: a still of one capture time, or a clip.
#[derive(Clone, Copy)]
pub(super) struct Wish {
    pub(super) medium: Medium,
    pub(super) from: CaptureUs,
    pub(super) to: CaptureUs,
    /// The whole picture, with leave for everybody in it.
    pub(super) whole: bool,
}

const SECOND_US: i64 = 1_000_000;

impl Wish {
    /// What an address or a form asks for; what is on the glass where it says
    /// no more.
    pub(super) fn read(get: impl Fn(&str) -> Option<String>, station: &Station) -> Self {
        let at = |name| get(name).and_then(|us| us.parse().ok()).map(CaptureUs);
        let medium = match get("what").as_deref() {
            Some("clip") => Medium::Clip,
            _ => Medium::Still,
        };
        let (from, to) = match (medium, at("from"), at("to")) {
            (_, Some(from), Some(to)) => (from, to.max(from)),
            (Medium::Still, ..) => (station.on_glass(), station.on_glass()),
            (Medium::Clip, ..) => {
                let to = station.seen_to();
                (to.offset(-i64::from(station.attempt_s()) * SECOND_US), to)
            }
        };
        Self {
            medium,
            from,
            to: if medium == Medium::Still { from } else { to },
            whole: get("whole").as_deref() == Some("yes"),
        }
    }

    pub(super) fn path(&self, station: StationNumber) -> String {
        let what = match self.medium {
            Medium::Still => "still",
            Medium::Clip => "clip",
        };
        let whole = if self.whole { "&whole=yes" } else { "" };
        let (from, to) = (self.from.0, self.to.0);
        format!("/roster/keep/{station}?what={what}&from={from}&to={to}{whole}")
    }

    pub(super) fn length_us(&self) -> i64 {
        self.to.since(self.from)
    }
}

/// The other things that could be kept: a second more or less, the other kind,
/// all of the picture or the mat alone.
pub(super) fn ways(station: &Station, wish: Wish) -> impl Iterator<Item = (String, &'static str)> {
    let number = station.config().number;
    let attempt_us = i64::from(station.attempt_s()) * SECOND_US;
    let least = (attempt_us - SECOND_US).max(AttemptS::LEAST.us());
    let most = (attempt_us + SECOND_US).min(AttemptS::MOST.us());
    let length_us = wish.length_us();
    let clip = wish.medium == Medium::Clip;
    let of = |us: i64| Wish {
        from: wish.to.offset(-us),
        ..wish
    };
    let second = |us: i64, id| {
        let fits = clip && (least..=most).contains(&us);
        fits.then(|| (of(us).path(number), id))
    };
    let other = Wish {
        whole: !wish.whole,
        ..wish
    };
    let whole = if wish.whole {
        "keep-mat-alone"
    } else {
        "keep-whole"
    };
    [
        second(length_us + SECOND_US, "keep-longer"),
        second(length_us - SECOND_US, "keep-shorter"),
        Some((other.path(number), whole)),
    ]
    .into_iter()
    .flatten()
}
