//! The circuit in words: the unit files, kept an eye on, and what the screens
//! show of them.
//!
//! Not here: what a unit means, which sheet a screen gets.

use std::{collections::BTreeSet, sync::Arc, time::Duration};

use afterturn_core::wire::{ShowingPatch, ViewChoice};
use tokio::{
    sync::watch,
    task::{JoinSet, spawn_blocking},
    time::sleep,
};

use crate::settings::Settings;
use crate::units::{Sheets, Shelf};

/// Children who read.
const DEMO_CLASS: ShowingPatch = ShowingPatch {
    grade: Some(Some(3)),
    choice: Some(ViewChoice::ByGrade),
    look: None,
    language: None,
};

/// Unit files and sheets.
pub(super) struct Plan {
    pub(super) units: Arc<Shelf>,
    pub(super) sheets: Arc<Sheets>,
    /// The sheets are those of the unit files.
    follows: bool,
}

impl Plan {
    /// As the config file has them; the demo has its own.
    pub(super) fn open(settings: &Settings, demo: bool) -> Self {
        let screens = settings.stations.iter();
        let screens = screens.map(|station| (station.number, station.screen.screen()));
        let sheets = Sheets::new(screens.collect());
        if demo {
            // It names no station and a grade there is.
            let _ = sheets.choose(DEMO_CLASS);
        }
        let units = match &settings.units_dir {
            Some(folder) => Shelf::new(folder.clone()),
            None => Shelf::sample(),
        };
        Self {
            units: Arc::new(units),
            sheets: Arc::new(sheets),
            // Without a folder of units there are none, but for the demo.
            follows: demo || settings.units_dir.is_some(),
        }
    }

    /// Keeps them right until told to stop.
    pub(super) fn start(&self, tasks: &mut JoinSet<()>, stop: &watch::Receiver<bool>) {
        if self.follows {
            self.sheets.follow(&self.units);
            tasks.spawn(follow_units(
                Arc::clone(&self.sheets),
                Arc::clone(&self.units),
                stop.clone(),
            ));
        }
        tasks.spawn(watch_units(Arc::clone(&self.units), stop.clone()));
    }
}

/// Keeps what screens show in step with the unit files.
async fn follow_units(sheets: Arc<Sheets>, units: Arc<Shelf>, mut stop: watch::Receiver<bool>) {
    let mut changes = units.changes();
    loop {
        tokio::select! {
            biased;
            _ = stop.wait_for(|stop| *stop) => return,
            Ok(()) = changes.changed() => {}
            else => return,
        }
        let (sheets, units) = (Arc::clone(&sheets), Arc::clone(&units));
        let _ = spawn_blocking(move || sheets.follow(&units)).await;
    }
}

/// How often the unit files are looked at: a change made with a text editor is
/// on the screens before its author looks up.
const LOOK_AT_UNITS_EVERY: Duration = Duration::from_secs(1);

/// Notices what text editors do to the unit files, and says once of each
/// version that it cannot be used.
async fn watch_units(units: Arc<Shelf>, mut stop: watch::Receiver<bool>) {
    let mut said = BTreeSet::new();
    loop {
        let shelf = Arc::clone(&units);
        let all = spawn_blocking(move || shelf.all())
            .await
            .unwrap_or_default();
        for copy in all.iter().filter(|copy| copy.unit.is_none()) {
            if said.insert(copy.version.clone()) {
                let (file, mistakes) = (&copy.name, copy.notes.len());
                tracing::warn!("unit {file}: {mistakes} mistakes; `afterturn check` shows them");
            }
        }
        tokio::select! {
            () = sleep(LOOK_AT_UNITS_EVERY) => {}
            _ = stop.wait_for(|stop| *stop) => return,
        }
    }
}
