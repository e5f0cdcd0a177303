//! The circuit in words: the unit files, kept an eye on, and what the screens
//! show of them.
//!
//! Not here: what a unit means, which sheet a screen gets.

mod screens;

use std::{
    collections::BTreeSet,
    path::{Path, PathBuf},
    sync::Arc,
    time::Duration,
};

use afterturn_core::wire::{Part, ShowingPatch, ViewChoice};
use serde::{Deserialize, Serialize};
use tokio::{sync::watch, task::spawn_blocking, time::sleep};

use crate::host::parts::Parts;
use crate::settings::Settings;
use crate::store::{self, json};
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
    /// Where it is remembered which one is in use, if anywhere.
    state_dir: Option<PathBuf>,
}

/// The file of what is in use in the state directory.
const IN_USE: &str = "unit";

/// What is in it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
struct InUse {
    unit: Option<String>,
}

impl InUse {
    fn now(sheets: &Sheets) -> Self {
        Self {
            unit: sheets.name(),
        }
    }
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
            Some(folder) => {
                ready(folder, settings.state_dir.as_deref());
                Shelf::new(folder.clone())
            }
            None => Shelf::sample(),
        };
        Self {
            units: Arc::new(units),
            sheets: Arc::new(sheets),
            // Without a folder of units there are none, but for the demo.
            follows: demo || settings.units_dir.is_some(),
            state_dir: settings.state_dir.clone(),
        }
    }

    /// Keeps them right until told to stop.
    pub(super) fn start(&self, parts: &mut Parts) {
        if let Some(state_dir) = &self.state_dir {
            let kept = screens::as_they_were(&self.sheets, state_dir);
            let (sheets, state_dir) = (Arc::clone(&self.sheets), state_dir.clone());
            parts.run(Part::Memory, move |stop| {
                let (sheets, place) = (Arc::clone(&sheets), (state_dir.clone(), screens::FILE));
                keep(sheets, screens::Kept::now, kept.clone(), place, stop)
            });
        }
        if self.follows {
            if let Some(state_dir) = &self.state_dir {
                let (kept, warning): (InUse, _) = json::load(state_dir, IN_USE);
                if let Some(warning) = warning {
                    tracing::warn!("{warning}");
                }
                self.sheets.remember_unit(kept.unit.clone());
                let (sheets, state_dir) = (Arc::clone(&self.sheets), state_dir.clone());
                parts.run(Part::Memory, move |stop| {
                    let (sheets, place) = (Arc::clone(&sheets), (state_dir.clone(), IN_USE));
                    keep(sheets, InUse::now, kept.clone(), place, stop)
                });
            }
            self.sheets.follow(&self.units);
            let (sheets, units) = (Arc::clone(&self.sheets), Arc::clone(&self.units));
            parts.run(Part::Sheets, move |stop| {
                follow_units(Arc::clone(&sheets), Arc::clone(&units), stop)
            });
        }
        let units = Arc::clone(&self.units);
        parts.run(Part::Sheets, move |stop| {
            watch_units(Arc::clone(&units), stop)
        });
    }
}

/// A folder in the state directory is the box's own to make: one that root makes
/// there is one that the editor may not write.
fn ready(folder: &Path, state_dir: Option<&Path>) {
    if state_dir.is_none() || folder.parent() != state_dir {
        return;
    }
    if let Err(error) = store::folder::make(folder) {
        let folder = folder.display();
        tracing::warn!("{folder}: the folder of the units cannot be made: {error}");
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

/// Writes down what is chosen of the sheets, whoever chose it: `now`, whenever it
/// is another than what is kept.
async fn keep<T>(
    sheets: Arc<Sheets>,
    now: fn(&Sheets) -> T,
    mut kept: T,
    (state_dir, file): (PathBuf, &'static str),
    mut stop: watch::Receiver<bool>,
) where
    T: Clone + PartialEq + Serialize + Send + 'static,
{
    let mut changes = sheets.changes();
    changes.mark_changed();
    loop {
        // A choice made just before the end is still written.
        tokio::select! {
            biased;
            _ = changes.changed() => {}
            _ = stop.wait_for(|stop| *stop) => return,
        }
        let chosen = now(&sheets);
        if chosen == kept {
            continue;
        }
        kept = chosen.clone();
        let folder = state_dir.clone();
        let saved = spawn_blocking(move || json::save(&folder, file, &chosen)).await;
        if let Ok(Err(error)) = saved {
            let folder = state_dir.display();
            tracing::warn!("{folder}: {file}.json, what was chosen, cannot be kept: {error}");
        }
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
