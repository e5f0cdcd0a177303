//! The gym's sound: as it was left, the teacher's folder kept an eye on, what was
//! chosen kept.
//!
//! Not here: what is chosen, or any file.

use std::{path::PathBuf, sync::Arc, time::Duration};

use afterturn_core::wire::Part;
use tokio::{sync::watch, task::spawn_blocking, time::sleep};

use crate::host::parts::Parts;
use crate::settings::Settings;
use crate::sound::{Kept, Sound};
use crate::store::json;

/// The file in the state directory.
const SOUND: &str = "sound";
/// How often the folder is looked at: a file that was put there can be played
/// before its teacher wonders.
const LOOK_EVERY: Duration = Duration::from_secs(5);

/// As it was left; followed until told to stop.
pub(super) fn open(settings: &Settings, parts: &mut Parts) -> Arc<Sound> {
    let state_dir = settings.state_dir.clone();
    let kept = state_dir.as_deref().map(|folder| {
        let (kept, warning) = json::load::<Kept>(folder, SOUND);
        if let Some(warning) = warning {
            tracing::warn!("{warning}");
        }
        kept
    });
    let sound = Sound::open(settings.music_dir.clone(), kept.unwrap_or_default());
    let looks = Arc::clone(&sound);
    parts.run(Part::Sound, move |stop| {
        follow(Arc::clone(&looks), state_dir.clone(), stop)
    });
    sound
}

async fn follow(sound: Arc<Sound>, state_dir: Option<PathBuf>, mut stop: watch::Receiver<bool>) {
    let mut changes = sound.changes();
    loop {
        let (looks, folder) = (Arc::clone(&sound), state_dir.clone());
        let kept = spawn_blocking(move || {
            looks.look();
            match (folder, looks.take_unkept()) {
                (Some(folder), Some(kept)) => json::save(&folder, SOUND, &kept),
                _ => Ok(()),
            }
        });
        if let Ok(Err(error)) = kept.await {
            tracing::error!("what sounds where cannot be kept: {error}");
        }
        tokio::select! {
            biased;
            _ = stop.wait_for(|stop| *stop) => return,
            _ = changes.changed() => {}
            () = sleep(LOOK_EVERY) => {}
        }
    }
}
