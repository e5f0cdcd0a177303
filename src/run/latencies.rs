//! What was measured of cameras, kept from one run to the next, each figure with
//! a mark of the camera it was measured of: another camera at the same station
//! begins with its own.
//!
//! Not here: measuring, and whether an old figure is still meant
//! (`station::calibrate`).

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use futures_util::future::select_all;
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};
use tokio::{sync::watch, task::spawn_blocking};

use crate::settings::CameraSettings;
use crate::station::{Measured, Station};
use crate::store::json;

/// The file of what was measured.
const FILE: &str = "latencies";

/// What tells a camera from others without saying where it is: the end of its
/// address may be a secret.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Mark(String);

impl Mark {
    pub(super) fn of(camera: &CameraSettings) -> Self {
        let said = match camera {
            CameraSettings::Demo { seed } => format!("demo {seed}"),
            // Which device it will be is not known; the calibrated one, usually.
            CameraSettings::Whip => "whip".to_owned(),
            CameraSettings::File { path } => format!("file {}", path.display()),
            CameraSettings::Usb(usb) => format!("usb {}", usb.device.display()),
            CameraSettings::Network(network) => format!("network {}", network.url.location()),
        };
        let digest = Sha256::digest(said.as_bytes());
        let first = digest.first_chunk().copied().unwrap_or_default();
        Self(format!("{:016x}", u64::from_be_bytes(first)))
    }
}

/// A figure in the file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Kept {
    camera: Mark,
    measured: Measured,
}

/// Stations, each with its camera's mark.
#[derive(Default)]
pub(super) struct Latencies {
    stations: Vec<(Arc<Station>, Mark)>,
    kept: Vec<Kept>,
}

impl Latencies {
    /// What was measured in earlier runs.
    pub(super) fn as_they_were(state_dir: &Path) -> Self {
        let (kept, warning) = json::load(state_dir, FILE);
        if let Some(warning) = warning {
            tracing::warn!("{warning}");
        }
        Self {
            stations: Vec::new(),
            kept,
        }
    }

    /// Gives a station what was measured of its camera; before its camera starts.
    pub(super) fn give(&mut self, station: &Arc<Station>, camera: Mark) {
        for kept in self.kept.iter().filter(|kept| kept.camera == camera) {
            station.remember(kept.measured);
        }
        self.stations.push((Arc::clone(station), camera));
    }

    /// Keeps what is measured, as it changes.
    pub(super) async fn keep(self: Arc<Self>, state_dir: PathBuf, mut stop: watch::Receiver<bool>) {
        let changes = self.stations.iter().map(|one| one.0.latency_changes());
        let mut changes: Vec<_> = changes.collect();
        if changes.is_empty() {
            let _ = stop.wait_for(|stop| *stop).await;
            return;
        }
        loop {
            let any = select_all(changes.iter_mut().map(|one| Box::pin(one.changed())));
            tokio::select! {
                biased;
                _ = any => {}
                _ = stop.wait_for(|stop| *stop) => return,
            }
            let kept = self.measured();
            let folder = state_dir.clone();
            let saved = spawn_blocking(move || json::save(&folder, FILE, &kept)).await;
            if let Ok(Err(error)) = saved {
                let folder = state_dir.display();
                tracing::warn!("{folder}: what cameras take cannot be kept: {error}");
            }
        }
    }

    fn measured(&self) -> Vec<Kept> {
        let measured = self.stations.iter().filter_map(|(station, camera)| {
            Some(Kept {
                camera: camera.clone(),
                measured: station.measured()?,
            })
        });
        measured.collect()
    }
}

#[cfg(test)]
mod tests {
    use afterturn_core::kernel::{CaptureUs, DelayMs};

    use super::*;
    use crate::station::{Memory, StationConfig};

    fn station(number: i64, file_ms: u32) -> Arc<Station> {
        let config = StationConfig {
            number: number.try_into().unwrap(),
            title: "Low beam".to_owned(),
            delay: DelayMs::new(5_000, 30_000).unwrap(),
            window_ms: 30_000,
            latency_ms: file_ms,
            demo: false,
        };
        let now = Arc::new(|| CaptureUs(1));
        Station::new(config, now, &Arc::new(Memory::new(1_000_000)))
    }

    fn mark(seed: u64) -> Mark {
        Mark::of(&CameraSettings::Demo { seed })
    }

    /// What a station of the next run goes by.
    fn next_run(folder: &Path, number: i64, file_ms: u32, camera: Mark) -> u32 {
        let station = station(number, file_ms);
        Latencies::as_they_were(folder).give(&station, camera);
        station.latency_ms()
    }

    #[tokio::test]
    async fn what_was_measured_outlives_the_program_for_that_camera_alone() {
        let folder = tempfile::tempdir().unwrap();
        let mut latencies = Latencies::as_they_were(folder.path());
        let beam = station(1, 200);
        latencies.give(&beam, mark(1));
        latencies.give(&station(2, 200), mark(2));
        let (stop, stopped) = watch::channel(false);
        let keeping = tokio::spawn(Arc::new(latencies).keep(folder.path().to_owned(), stopped));
        tokio::task::yield_now().await;
        beam.remember(Measured {
            station: 1,
            file_ms: 200,
            latency_ms: 340,
        });
        // It is kept before a stop is heard of.
        stop.send_replace(true);
        keeping.await.unwrap();

        assert_eq!(next_run(folder.path(), 1, 200, mark(1)), 340);
        assert_eq!(
            next_run(folder.path(), 2, 200, mark(2)),
            200,
            "another station"
        );
        assert_eq!(
            next_run(folder.path(), 1, 200, mark(9)),
            200,
            "another camera"
        );
        assert_eq!(
            next_run(folder.path(), 1, 260, mark(1)),
            260,
            "another file"
        );
    }
}
