//! What the class needs of the rest of the program, and the rest of it.
//!
//! Not here: the class itself.

use std::sync::Arc;

use afterturn_core::{
    plan::{Allowed, Grade, Room, StationView, Unit, resolve, rigging},
    rotation::{Hands, StationPlan},
    wire::{InBoth, Part, ShowingPatch},
};
use tokio::sync::watch;

use crate::host::parts::Parts;
use crate::lesson::{BETWEEN_LINES, InWords, Lesson, Setups};
use crate::settings::StationSettings;
use crate::units::Sheets;

/// How the stations are set up for a class: as the unit has them for its grade.
/// Without a unit or a grade no more is known than their titles.
pub(super) fn setups(stations: &[StationSettings], sheets: &Arc<Sheets>) -> Setups {
    let title = |station: &StationSettings| StationPlan {
        number: station.number,
        setup: station.title.clone(),
        in_pairs: false,
        hands: Hands::None,
    };
    let titles: Vec<StationPlan> = stations.iter().map(title).collect();
    let sheets = Arc::clone(sheets);
    Arc::new(move |_class, grade| {
        let copy = sheets.unit();
        let unit = copy.as_ref().and_then(|copy| copy.unit.as_ref());
        let grade = Grade::ALL
            .into_iter()
            .find(|one| Some(one.years()) == grade);
        match unit.zip(grade) {
            Some((unit, grade)) => as_planned(&titles, unit, grade),
            None => titles.clone(),
        }
    })
}

/// The box's stations as a grade finds them. One that the unit has and this grade
/// does not is left out; one the unit knows nothing of stands as it does.
fn as_planned(titles: &[StationPlan], unit: &Unit, grade: Grade) -> Vec<StationPlan> {
    let room = resolve(unit, grade, &Allowed::recorded(unit));
    let own = |plan: &StationPlan| {
        let mut views = room.stations.iter();
        let view = views.find(|view| view.details.mark.number == plan.number);
        match view {
            Some(view) => Some(planned(plan, view)),
            None if is_left_out(unit, &room, plan) => None,
            None => Some(plan.clone()),
        }
    };
    titles.iter().filter_map(own).collect()
}

fn is_left_out(unit: &Unit, room: &Room, plan: &StationPlan) -> bool {
    let numbered = |id: &_| {
        let station = unit.stations.iter().find(|station| station.id == *id);
        station.is_some_and(|station| station.details_for(room.grade).mark.number == plan.number)
    };
    let mut out = room.left_out.iter().filter(|out| out.part.is_none());
    out.any(|out| numbered(&out.station))
}

fn planned(plan: &StationPlan, view: &StationView) -> StationPlan {
    let details = &view.details;
    let lines = rigging(&details.kit).into_iter().map(|line| line.en);
    let lines: Vec<String> = lines.collect();
    StationPlan {
        number: plan.number,
        setup: if lines.is_empty() {
            plan.setup.clone()
        } else {
            lines.join(BETWEEN_LINES)
        },
        in_pairs: details.in_pairs,
        // Where the unit does not say what is done without hands, nothing is.
        hands: match details.adult_hands {
            false => Hands::None,
            true if details.no_spotter.iter().next().is_none() => Hands::Close,
            true => Hands::Floor,
        },
    }
}

/// Finds a line of a set-up in the unit again, for whoever reads another
/// language; one that the unit no longer has stays as it was written down.
pub(super) fn in_words(sheets: &Arc<Sheets>) -> InWords {
    let sheets = Arc::clone(sheets);
    Arc::new(move |line| {
        let copy = sheets.unit();
        let unit = copy.as_ref().and_then(|copy| copy.unit.as_ref());
        let kits = unit.iter().flat_map(|unit| &unit.stations).flat_map(|s| {
            let bands = s.bands.iter().map(|band| &band.changes.kit);
            bands.chain([&s.details.kit])
        });
        let mut lines = kits.flat_map(|kit| rigging(kit));
        lines.find(|known| known.en == line).map_or_else(
            || InBoth {
                en: line.to_owned(),
                es: line.to_owned(),
            },
            |known| InBoth {
                en: known.en,
                es: known.es,
            },
        )
    })
}

/// Lets the class go on, and the screens follow it.
pub(super) fn start(lesson: &Arc<Lesson>, sheets: &Arc<Sheets>, parts: &mut Parts) {
    let runs = Arc::clone(lesson);
    parts.run(Part::Class, move |stop| Arc::clone(&runs).run(stop));
    let both = (Arc::clone(lesson), Arc::clone(sheets));
    let (lesson, sheets) = both.clone();
    parts.run(Part::Sheets, move |stop| {
        show_grade(Arc::clone(&lesson), Arc::clone(&sheets), stop)
    });
    let (lesson, sheets) = both.clone();
    parts.run(Part::Sheets, move |stop| {
        show_turns(Arc::clone(&lesson), Arc::clone(&sheets), stop)
    });
    let (lesson, sheets) = both;
    parts.run(Part::Sheets, move |stop| {
        show_pins(Arc::clone(&lesson), Arc::clone(&sheets), stop)
    });
}

/// The screens say what the grade of the class that runs has to do.
async fn show_grade(lesson: Arc<Lesson>, sheets: Arc<Sheets>, mut stop: watch::Receiver<bool>) {
    let mut changes = lesson.changes();
    changes.mark_changed();
    let mut shown = None;
    loop {
        tokio::select! {
            biased;
            _ = stop.wait_for(|stop| *stop) => return,
            _ = changes.changed() => {}
        }
        // Once for each class: afterwards the teacher may choose another.
        let runs = lesson.runs();
        if runs == shown {
            continue;
        }
        if let Some(grade) = runs.as_ref().and_then(|(_, grade)| *grade) {
            let patch = ShowingPatch {
                grade: Some(Some(grade)),
                ..ShowingPatch::default()
            };
            // A grade that is none was not started.
            let _ = sheets.choose(patch);
        }
        shown = runs;
    }
}

/// Shows on every sheet how much is left of the turn that runs.
async fn show_turns(lesson: Arc<Lesson>, sheets: Arc<Sheets>, mut stop: watch::Receiver<bool>) {
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

/// Shows the cues that the class has pinned; and lets its delays follow the unit,
/// whoever changed that.
async fn show_pins(lesson: Arc<Lesson>, sheets: Arc<Sheets>, mut stop: watch::Receiver<bool>) {
    let (mut changes, mut plan) = (lesson.changes(), sheets.changes());
    changes.mark_changed();
    loop {
        tokio::select! {
            biased;
            _ = stop.wait_for(|stop| *stop) => return,
            _ = changes.changed() => {}
            _ = plan.changed() => lesson.plan_changed(),
        }
        sheets.set_pins(lesson.pins());
    }
}
