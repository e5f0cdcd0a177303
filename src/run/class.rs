//! What the class needs of the rest of the program, and the rest of it.
//!
//! Not here: the class itself.

use std::sync::Arc;

use afterturn_core::rotation::{Hands, StationPlan};
use tokio::sync::watch;

use crate::lesson::{Lesson, Setups};
use crate::settings::StationSettings;
use crate::units::Sheets;

/// How the stations are set up for a class: the config file knows no more than
/// their titles.
pub(super) fn setups(stations: &[StationSettings]) -> Setups {
    let plan = |station: &StationSettings| StationPlan {
        number: station.number,
        setup: station.title.clone(),
        in_pairs: false,
        hands: Hands::None,
    };
    let all: Vec<StationPlan> = stations.iter().map(plan).collect();
    Arc::new(move |_class| all.clone())
}

/// Shows on every sheet how much is left of the turn that runs.
pub(super) async fn show_turns(
    lesson: Arc<Lesson>,
    sheets: Arc<Sheets>,
    mut stop: watch::Receiver<bool>,
) {
    let mut changes = lesson.changes();
    changes.mark_changed();
    let mut shown = None;
    loop {
        tokio::select! {
            biased;
            _ = stop.wait_for(|stop| *stop) => return,
            _ = changes.changed() => {}
        }
        let turn = lesson.turn();
        if std::mem::replace(&mut shown, turn) != turn {
            sheets.set_turn(turn);
        }
    }
}
