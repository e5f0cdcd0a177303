//! What the box remembers of its clock and its door, written down as it changes.
//!
//! Not here: what is kept, and the disk.

use std::{
    path::{Path, PathBuf},
    sync::Arc,
    time::Duration,
};

use tokio::{sync::watch, task::spawn_blocking, time::sleep};

use crate::door::Kept;
use crate::host::clock::BootClock;
use crate::http::Entrance;
use crate::store::{high_water, json};

pub(super) async fn keep_mark(
    state_dir: PathBuf,
    clock: BootClock,
    mut stop: watch::Receiver<bool>,
) {
    let mut warned = false;
    loop {
        if let Err(error) = high_water::save(&state_dir, clock.now())
            && !std::mem::replace(&mut warned, true)
        {
            let folder = state_dir.display();
            tracing::warn!("{folder}: the clock's mark cannot be kept: {error}");
        }
        tokio::select! {
            () = sleep(high_water::SAVE_EVERY) => {}
            _ = stop.wait_for(|stop| *stop) => {
                let _ = high_water::save(&state_dir, clock.now());
                return;
            }
        }
    }
}

/// The file of the door in the state directory.
const DOOR: &str = "door";

pub(super) fn door_as_it_was(state_dir: &Path) -> Kept {
    let (kept, warning) = json::load(state_dir, DOOR);
    if let Some(warning) = warning {
        tracing::warn!("{warning}");
    }
    kept
}

/// Keeps who is let in, and what was guessed at, as it changes.
pub(super) async fn keep_door(
    state_dir: PathBuf,
    entrance: Arc<Entrance>,
    mut stop: watch::Receiver<bool>,
) {
    let mut changes = entrance.changes();
    loop {
        if let Some(kept) = entrance.take_unkept() {
            let folder = state_dir.clone();
            let saved = spawn_blocking(move || json::save(&folder, DOOR, &kept)).await;
            if let Ok(Err(error)) = saved {
                let folder = state_dir.display();
                tracing::error!("{folder}: who is let in cannot be kept: {error}");
            }
        }
        tokio::select! {
            biased;
            _ = changes.changed() => {}
            // A session in use is no change anybody is told of.
            () = sleep(Duration::from_mins(1)) => {}
            _ = stop.wait_for(|stop| *stop) => {
                if let Some(kept) = entrance.take_unkept() {
                    let _ = json::save(&state_dir, DOOR, &kept);
                }
                return;
            }
        }
    }
}
