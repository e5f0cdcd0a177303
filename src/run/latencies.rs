//! What was measured of cameras, kept from one run to the next.
//!
//! Not here: measuring, and whether an old figure is still meant
//! (`station::calibrate`).

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use futures_util::future::select_all;
use tokio::{sync::watch, task::spawn_blocking};

use crate::{
    station::{Measured, Station},
    store::json,
};

/// The file of what was measured.
const FILE: &str = "latencies";

/// What was measured in earlier runs.
pub(super) fn as_they_were(state_dir: &Path) -> Vec<Measured> {
    let (measured, warning) = json::load(state_dir, FILE);
    if let Some(warning) = warning {
        tracing::warn!("{warning}");
    }
    measured
}

/// Keeps what is measured, as it changes.
pub(super) async fn keep(
    state_dir: PathBuf,
    stations: Vec<Arc<Station>>,
    mut stop: watch::Receiver<bool>,
) {
    let changes = stations.iter().map(|station| station.latency_changes());
    let mut changes: Vec<_> = changes.collect();
    loop {
        let any = select_all(changes.iter_mut().map(|one| Box::pin(one.changed())));
        tokio::select! {
            biased;
            _ = stop.wait_for(|stop| *stop) => return,
            _ = any => {}
        }
        let measured = stations.iter().filter_map(|station| station.measured());
        let measured: Vec<Measured> = measured.collect();
        let folder = state_dir.clone();
        let saved = spawn_blocking(move || json::save(&folder, FILE, &measured)).await;
        if let Ok(Err(error)) = saved {
            let folder = state_dir.display();
            tracing::warn!("{folder}: what cameras take cannot be kept: {error}");
        }
    }
}
