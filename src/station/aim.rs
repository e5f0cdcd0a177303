//! Looks at each keyframe of a station whose camera can be knocked or carried off,
//! and says whether it still looks where it looked. Where it does not, no picture
//! is on any screen: at once, and until somebody has looked, or for a moment only
//! where it was a hand before the lens.
//!
//! One picture is decoded at a time, small, and let go; of what stands still only
//! lines are known, as long as the camera is on. While a station is paused, held
//! or calibrated nobody looks.
//!
//! Not here: judging ([`afterturn_core::vision::Aim`]), decoding
//! ([`crate::av::decode`]).

use std::{
    future::pending,
    sync::{Arc, Mutex, PoisonError},
    time::Duration,
};

use afterturn_core::{
    delay::{Chapter, Reading},
    kernel::{CaptureUs, FragmentNumber},
    vision::{Aim, Trust},
    wire::{CameraState, CoverReason},
};
use bytes::Bytes;
use tokio::{
    sync::{Semaphore, watch},
    task::spawn_blocking,
    time::{Instant, sleep},
};

use super::{Inner, Station};
use crate::av::decode::{self, DecodeError};

/// What is decoded is no wider.
const MOST_WIDTH_PX: u32 = 160;
/// After a look it rests so many times as long as it took, and at least so long:
/// a camera all of whose pictures are keyframes costs no more than another.
const REST: u32 = 6;
const LEAST_REST: Duration = Duration::from_millis(500);

/// How a station's camera is aimed, as far as is known.
#[derive(Default)]
pub(super) struct Aimed {
    trust: Trust,
    /// The last picture that was seen to be right.
    right: Option<CaptureUs>,
    /// The last that was looked at.
    last: Option<FragmentNumber>,
    /// Counts how often it was to be learnt anew.
    run: u64,
}

impl Aimed {
    /// Whether its pictures are to be seen nowhere.
    pub(super) fn doubts(&self) -> bool {
        self.trust != Trust::Shown
    }

    /// Which time it is that it is learnt.
    #[cfg(test)]
    pub(super) fn run(&self) -> u64 {
        self.run
    }

    /// Whether somebody has to look.
    pub(super) fn moved(&self) -> bool {
        self.trust == Trust::Moved
    }
}

/// A keyframe to be looked at.
pub(super) struct Keyframe {
    chapter: Arc<Chapter>,
    access_unit: Bytes,
    captured: CaptureUs,
    run: u64,
}

/// Looks until `stop` says otherwise; `turns` are shared by all stations, so that
/// one picture is decoded at a time.
pub async fn watch_aim(
    station: Arc<Station>,
    turns: Arc<Semaphore>,
    mut stop: watch::Receiver<bool>,
) {
    let looking = async {
        let mut grown = station.grown.subscribe();
        let known = Arc::new(Mutex::new((0, Aim::default())));
        while grown.changed().await.is_ok() {
            let Some(keyframe) = station.keyframe_to_aim_by() else {
                continue;
            };
            let turn = turns.acquire().await;
            let began = Instant::now();
            if let Err(DecodeError::Missing(parts)) = look(&station, keyframe, &known).await {
                tracing::warn!("nobody notices when a camera is moved: {parts}");
                // The rest goes on as ever.
                return pending().await;
            }
            drop(turn);
            let took = began.elapsed();
            tracing::trace!(station = station.config.number.get(), ?took, "aim");
            sleep(LEAST_REST.max(took * REST)).await;
        }
    };
    tokio::select! {
        biased;
        _ = stop.wait_for(|stop| *stop) => {}
        () = looking => {}
    }
}

async fn look(
    station: &Station,
    keyframe: Keyframe,
    known: &Arc<Mutex<(u64, Aim)>>,
) -> Result<(), DecodeError> {
    let known = Arc::clone(known);
    let (run, captured) = (keyframe.run, keyframe.captured);
    let looked = spawn_blocking(move || {
        decode::one(
            &keyframe.chapter.params,
            MOST_WIDTH_PX,
            keyframe.access_unit,
            move |grey| {
                let mut known = known.lock().unwrap_or_else(PoisonError::into_inner);
                let (of, aim) = &mut *known;
                if std::mem::replace(of, run) != run {
                    aim.right();
                }
                aim.look(grey)
            },
        )
    });
    match looked.await {
        Ok(Ok(trust)) => station.aimed(run, captured, trust),
        Ok(Err(error @ DecodeError::Missing(_))) => return Err(error),
        // A picture that cannot be decoded shows nothing either; and only a
        // runtime that shuts down takes a look away.
        _ => {}
    }
    Ok(())
}

impl Inner {
    /// Somebody has looked, or stands beside it. What was taken in doubt stays
    /// hidden.
    pub(super) fn trust_again(&mut self, now: CaptureUs) {
        if self.aim.doubts() {
            self.hide_doubtful(now);
            self.forget_aim();
        }
    }

    /// What stands still is to be learnt anew; says whether that ends a doubt.
    pub(super) fn forget_aim(&mut self) -> bool {
        let doubted = self.aim.doubts();
        self.aim = Aimed {
            run: self.aim.run + 1,
            ..Aimed::default()
        };
        doubted
    }

    /// From the last picture that was right up to this.
    fn hide_doubtful(&mut self, to: CaptureUs) {
        let from = self.aim.right.unwrap_or(CaptureUs::ZERO).offset(1);
        self.ring
            .veil(from, Some(to.max(from)), CoverReason::Covered);
    }
}

impl Station {
    /// The newest keyframe, unless it was looked at, or nobody may look.
    fn keyframe_to_aim_by(&self) -> Option<Keyframe> {
        let now = self.now();
        let mut inner = self.lock();
        let busy = inner.paused || inner.held || inner.calibration.running();
        if busy || inner.health.state != CameraState::Showing {
            return None;
        }
        let number = inner.ring.locate(now)?;
        if inner.aim.last == Some(number) {
            return None;
        }
        let Reading::Shown(fragment, chapter) = inner.ring.read_in_doubt(number) else {
            return None;
        };
        inner.aim.last = Some(number);
        Some(Keyframe {
            chapter,
            access_unit: fragment.access_unit(),
            captured: fragment.capture,
            run: inner.aim.run,
        })
    }

    /// What a look at a picture has found.
    pub(super) fn aimed(&self, run: u64, captured: CaptureUs, trust: Trust) {
        let mut inner = self.lock();
        if inner.aim.run != run {
            return;
        }
        let before = std::mem::replace(&mut inner.aim.trust, trust);
        if trust == Trust::Shown {
            if before == Trust::Doubted {
                inner.hide_doubtful(captured);
            }
            inner.aim.right = Some(captured);
        }
        if before == trust {
            return;
        }
        let covered = inner.covers();
        inner.ring.pause(covered);
        drop(inner);
        let station = self.config.number.get();
        if trust == Trust::Moved {
            tracing::warn!(
                station,
                "the camera was moved; it is not shown until somebody looks"
            );
        } else {
            tracing::info!(station, ?trust, "where the camera looks");
        }
        self.changed.send_replace(());
    }
}
