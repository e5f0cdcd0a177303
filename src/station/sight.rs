//! Looks at each station's newest keyframe from time to time and says whether its
//! camera sees well enough: too dark, backlit, out of focus.
//!
//! One task for all stations, off every picture's path: one keyframe is decoded at
//! a time, small, and then the task rests for much longer than that took. A
//! picture is got through the ring's one read, looked at and let go; what is
//! hidden is not looked at, and what was said before is no longer.
//!
//! Not here: judging ([`afterturn_core::vision`]), decoding
//! ([`crate::av::decode`]).

use std::{future::pending, sync::Arc, time::Duration};

use afterturn_core::{
    delay::{Chapter, Reading},
    kernel::FragmentNumber,
    media::Fragment,
    vision::{self, Sight, Trouble},
    wire::{CameraState, SightTrouble},
};
use bytes::Bytes;
use tokio::{
    sync::watch,
    task::spawn_blocking,
    time::{Instant, sleep, sleep_until},
};

use super::Station;
use crate::av::decode::{self, DecodeError};

/// How often a station's picture is looked at: whoever draws a curtain sees the
/// sentence go within a quarter of a minute, and a room with twenty cameras costs
/// next to nothing.
pub const LOOK_EVERY: Duration = Duration::from_secs(4);

/// After each look the task rests so many times as long as it took: a slow
/// machine looks more rarely, and a twenty-fifth of one core is all it gives.
const REST: u32 = 24;

/// What is decoded is no wider: coarse on purpose, enough for light and focus.
const MOST_WIDTH_PX: u32 = 160;

/// What is said of a camera, and the last picture that was looked at.
#[derive(Default)]
pub(super) struct Looks {
    sight: Sight,
    last: Option<FragmentNumber>,
}

impl Looks {
    /// What is said.
    pub(super) fn said(&self) -> Option<SightTrouble> {
        self.sight.said().map(|trouble| match trouble {
            Trouble::TooDark => SightTrouble::TooDark,
            Trouble::Backlit => SightTrouble::Backlit,
            Trouble::OutOfFocus => SightTrouble::OutOfFocus,
        })
    }
}

/// A keyframe to be looked at.
pub(super) struct Keyframe {
    chapter: Arc<Chapter>,
    access_unit: Bytes,
    said: Option<Trouble>,
}

/// Looks at every station in turn until `stop` says otherwise; at each one no
/// more often than `every`.
pub async fn watch_sight(
    stations: Vec<Arc<Station>>,
    every: Duration,
    mut stop: watch::Receiver<bool>,
) {
    let looking = async {
        loop {
            let next_round = Instant::now() + every;
            for station in &stations {
                let began = Instant::now();
                if let Err(DecodeError::Missing(parts)) = look(station).await {
                    tracing::warn!("cameras' light and focus are not looked at: {parts}");
                    // The rest goes on as ever.
                    return pending().await;
                }
                let took = began.elapsed();
                tracing::trace!(station = station.config.number.get(), ?took, "looked");
                sleep(took * REST).await;
            }
            sleep_until(next_round).await;
        }
    };
    tokio::select! {
        biased;
        _ = stop.wait_for(|stop| *stop) => {}
        () = looking => {}
    }
}

/// Looks at a station's newest keyframe, if there is one that may be seen and has
/// not been.
async fn look(station: &Station) -> Result<(), DecodeError> {
    let Some(keyframe) = station.keyframe_to_look_at() else {
        return Ok(());
    };
    let looked = spawn_blocking(move || {
        let said = keyframe.said;
        decode::one(
            &keyframe.chapter.params,
            MOST_WIDTH_PX,
            keyframe.access_unit,
            move |grey| vision::trouble(grey, said),
        )
    });
    match looked.await {
        Ok(Ok(found)) => station.looked(found),
        Ok(Err(error @ DecodeError::Missing(_))) => return Err(error),
        // A picture that cannot be decoded says nothing about the light; and only
        // a runtime that shuts down takes a look away.
        _ => {}
    }
    Ok(())
}

impl Station {
    /// The newest keyframe, unless it was looked at, hides, or shows bars. What was
    /// said is forgotten where nobody may look.
    pub(super) fn keyframe_to_look_at(&self) -> Option<Keyframe> {
        let now = self.now();
        let mut inner = self.lock();
        if inner.health.state != CameraState::Showing || inner.calibration.running() {
            inner.looks = Looks::default();
            return None;
        }
        let number = inner.ring.locate(now)?;
        if inner.looks.last == Some(number) {
            return None;
        }
        let Reading::Shown(fragment, chapter) = inner.ring.read(number) else {
            inner.looks = Looks::default();
            return None;
        };
        inner.looks.last = Some(number);
        Some(Keyframe {
            chapter,
            access_unit: fragment.access_unit(),
            said: inner.looks.sight.said(),
        })
    }

    /// The newest keyframe with its number and what it needs to be decoded, where
    /// the camera is showing and it may be seen.
    #[must_use]
    pub fn newest_seen(&self) -> Option<(FragmentNumber, Fragment, Arc<Chapter>)> {
        let now = self.now();
        let inner = self.lock();
        if inner.health.state != CameraState::Showing {
            return None;
        }
        let number = inner.ring.locate(now)?;
        match inner.ring.read(number) {
            Reading::Shown(fragment, chapter) => Some((number, fragment, chapter)),
            _ => None,
        }
    }

    /// Whether a picture that was to be seen a moment ago still is.
    #[must_use]
    pub fn is_seen_still(&self, number: FragmentNumber) -> bool {
        matches!(self.lock().ring.read(number), Reading::Shown(..))
    }

    fn looked(&self, found: Option<Trouble>) {
        let mut inner = self.lock();
        if inner.looks.sight.add(found) {
            let station = self.config.number.get();
            tracing::info!(station, sight = ?inner.looks.said(), "what the camera sees");
        }
    }
}
