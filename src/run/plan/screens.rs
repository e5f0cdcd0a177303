//! How screens look and what language each is in, kept from one run to the next:
//! after a power cut a station's TV does not change its language.
//!
//! Not here: choosing (`units::sheets`), writing it down, and the grade: that is
//! the class's.

use std::path::Path;

use afterturn_core::wire::{Look, ShowingPatch, StationLanguage, ViewChoice};
use serde::{Deserialize, Serialize};

use crate::store::json;
use crate::units::Sheets;

/// The file in the state directory.
pub(super) const FILE: &str = "screens";

/// What is in it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub(super) struct Kept {
    choice: ViewChoice,
    look: Look,
    languages: Vec<StationLanguage>,
}

impl Kept {
    pub(super) fn now(sheets: &Sheets) -> Self {
        let showing = sheets.showing();
        Self {
            choice: showing.choice,
            look: showing.look,
            languages: showing.languages,
        }
    }
}

/// Screens as they were left; gives back what the file says.
pub(super) fn as_they_were(sheets: &Sheets, state_dir: &Path) -> Kept {
    let (kept, warning): (Kept, _) = json::load(state_dir, FILE);
    if let Some(warning) = warning {
        tracing::warn!("{warning}");
    }
    let all = ShowingPatch {
        choice: Some(kept.choice),
        look: Some(kept.look),
        ..ShowingPatch::default()
    };
    let each = kept.languages.iter().map(|one| ShowingPatch {
        language: Some(*one),
        ..ShowingPatch::default()
    });
    for patch in each.chain([all]) {
        // A station that the config file no longer has shows nothing.
        let _ = sheets.choose(patch);
    }
    kept
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use afterturn_core::{kernel::StationNumber, plan::lettering::Screen, wire::Language};
    use tokio::sync::watch;

    use super::{super::keep, *};

    fn sheets(stations: &[i64]) -> Arc<Sheets> {
        let numbers = stations.iter().map(|number| {
            let number = StationNumber::try_from(*number).unwrap();
            (number, Screen::default())
        });
        Arc::new(Sheets::new(numbers.collect()))
    }

    const fn language(station: u8, language: Option<Language>) -> ShowingPatch {
        ShowingPatch {
            grade: None,
            choice: None,
            look: None,
            language: Some(StationLanguage { station, language }),
        }
    }

    /// A run in which this is chosen.
    async fn run(folder: &Path, patches: &[ShowingPatch]) {
        let sheets = sheets(&[1, 2]);
        let kept = as_they_were(&sheets, folder);
        let (stop, stopped) = watch::channel(false);
        let place = (folder.to_owned(), FILE);
        let keeping = tokio::spawn(keep(Arc::clone(&sheets), Kept::now, kept, place, stopped));
        tokio::task::yield_now().await;
        for patch in patches {
            sheets.choose(*patch).unwrap();
        }
        stop.send_replace(true);
        keeping.await.unwrap();
    }

    #[tokio::test]
    async fn what_was_chosen_outlives_the_program_but_for_the_grade() {
        let folder = tempfile::tempdir().unwrap();
        let chosen = ShowingPatch {
            grade: Some(Some(4)),
            choice: Some(ViewChoice::Picture),
            look: Some(Look::Bright),
            language: None,
        };
        let spanish = |station| language(station, Some(Language::Es));
        run(folder.path(), &[chosen, spanish(1), spanish(2)]).await;
        run(folder.path(), &[language(1, None)]).await;

        let next = sheets(&[1, 2]);
        as_they_were(&next, folder.path());
        let showing = next.showing();
        assert_eq!(showing.choice, ViewChoice::Picture);
        assert_eq!(showing.look, Look::Bright);
        assert_eq!(showing.grade, None);
        let two = StationLanguage {
            station: 2,
            language: Some(Language::Es),
        };
        assert_eq!(showing.languages, [two]);
    }

    #[tokio::test]
    async fn a_station_that_is_gone_takes_nothing_else_with_it() {
        let folder = tempfile::tempdir().unwrap();
        let bright = ShowingPatch {
            look: Some(Look::Bright),
            ..ShowingPatch::default()
        };
        run(folder.path(), &[bright, language(2, Some(Language::Es))]).await;
        let next = sheets(&[1]);
        as_they_were(&next, folder.path());
        assert_eq!(next.showing().look, Look::Bright);
        assert!(next.showing().languages.is_empty());
    }
}
