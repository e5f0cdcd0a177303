//! Starting a class: what it needs to know, and what it makes of it.
//!
//! Not here: the page that asks.

use std::collections::BTreeSet;

use afterturn_core::{
    consent::{Covered, Unknown},
    kernel::{ClassId, StationNumber},
    rotation::{
        Change, Clicks, Clock, Crowd, GroupNumber, Plan, PlanError, Readings, StationPlan, Times,
        Tuning, on_the_floor,
    },
    wire::{
        ClassStart, GradeStart, InBoth, KnownClass, StartAsk, StartInfo, StartStation,
        StationChange,
    },
};

use super::book::{Known, Running};
use super::{By, Inner, Lesson, List, closed::closed, today::Wishes};
use crate::portfolio::Listed;

/// Letters of a class's title; "3B" is one.
const MOST_TITLE: usize = 40;

/// The demo's: short enough to be watched.
const DEMO: Times = Times {
    warm_up_s: 0,
    briefing_s: 0,
    work_s: 60,
    last_turn_s: 15,
    gather_s: 8,
    walk_s: 12,
    closing_s: 10,
};
/// What stands between the lines of a set-up.
pub(crate) const BETWEEN_LINES: &str = "; ";
/// Grades there are, in years after kindergarten.
const GRADES: std::ops::RangeInclusive<u8> = 0..=5;
/// What explaining the cameras takes, in a class that has not seen them yet:
/// go, walk to the watching spot, watch yours, choose one thing to change.
const CAMERA_BRIEFING_S: u32 = 60;
/// The drawn children of the demo.
const DEMO_CHILDREN: u16 = 12;

/// What came of a start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Started {
    /// What has to be said first; nothing once the class runs.
    pub asks: Vec<StartAsk>,
    /// How many groups it has, or would have.
    pub groups: u8,
}

/// Why a class was not started.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotStarted {
    /// Another one runs.
    #[error("{0} is still running; end it first")]
    Running(String),
    /// One was interrupted and nobody has said how far it is.
    #[error("a class was interrupted; say first whether it goes on")]
    Interrupted,
    /// It was started with this very press, and has ended since.
    #[error("this class has ended since; start it again")]
    Over,
    /// It has no title.
    #[error("a class is called something, in up to {MOST_TITLE} letters")]
    Title,
    /// No class has this grade.
    #[error("a grade goes from 0, kindergarten, to 5, not {0}")]
    Grade(u8),
    /// It cannot be planned like this.
    #[error(transparent)]
    Plan(#[from] PlanError),
}

impl Lesson {
    /// Starts a class: its cameras are on before this returns.
    pub async fn start(&self, asked: &ClassStart, by: By) -> Result<Started, NotStarted> {
        if let Some(grade) = asked.grade.filter(|grade| !GRADES.contains(grade)) {
            return Err(NotStarted::Grade(grade));
        }
        let title = asked.class.trim();
        let stations = (self.settings.setups)(title, asked.grade);
        let listed = self.listed(title).await;
        let list = self.settings.list.as_ref();
        let started = self.with(|inner, now| inner.start(asked, stations, (listed, list, by), now));
        self.keep().await;
        started
    }

    /// Whether a class is in the list.
    async fn listed(&self, title: &str) -> Listed {
        let Some(list) = &self.settings.list else {
            return Listed::No;
        };
        let known = self.lock().book.known(title).and_then(|known| known.listed);
        let now = (self.settings.clocks)().capture;
        list.listed(title, known.map(ClassId::from_kept), now).await
    }

    /// What start asks.
    #[must_use]
    pub fn start_info(&self) -> StartInfo {
        let wall_us = (self.settings.clocks)().wall_us;
        let inner = self.lock();
        let book = &inner.book;
        let classes = book.order(wall_us).into_iter().map(|known| {
            let circuit = known.circuit.as_ref();
            KnownClass {
                title: known.title.clone(),
                grade: known.grade,
                children: known.children,
                groups: known.groups,
                not_shown: self
                    .still_not_shown(known)
                    .map(|groups| groups.into_iter().collect()),
                goes_on_with: circuit.map(|circuit| circuit.next_turn + 1),
                turns: circuit.map(afterturn_core::rotation::Circuit::turns),
                times: known.times,
            }
        });
        let grades = std::iter::once(None).chain(GRADES.map(Some));
        StartInfo {
            classes: classes.collect(),
            accidents: book.accidents.clone(),
            times: Times::USUAL,
            grades: grades
                .map(|grade| self.grade_start(&inner, grade))
                .collect(),
        }
    }

    /// Who is not shown of a class as it was the last time: as the list says;
    /// where there is no child in it, as was said.
    fn still_not_shown(&self, known: &Known) -> Option<BTreeSet<GroupNumber>> {
        let Some(list) = &self.settings.list else {
            return known.not_shown.clone();
        };
        let class = known.listed.map(ClassId::from_kept);
        match list.covered(class, known.groups) {
            covered @ Covered::Known(_) => Some(list.not_shown(&covered, known.groups, None)),
            Covered::Unknown(Unknown::Empty) if known.teachers_word => known.not_shown.clone(),
            Covered::Unknown(_) => None,
        }
    }

    fn grade_start(&self, inner: &Inner, grade: Option<u8>) -> GradeStart {
        let book = &inner.book;
        let stations = (self.settings.setups)("", grade);
        let changes = book.changes(&stations);
        let change = |number: StationNumber| {
            let change = changes.iter().find(|change| change.station == number)?;
            let (gone, come) = self.gone_and_come(change);
            Some(StationChange {
                gone,
                come,
                easier_as_it_stands: book.is_easier(number, grade),
            })
        };
        let stations = stations.iter().map(|station| StartStation {
            number: station.number.get(),
            in_pairs: station.in_pairs,
            hands: station.hands,
            change: change(station.number),
        });
        GradeStart {
            grade,
            stations: stations.collect(),
        }
    }

    /// A set-up is text, since its unit may have been changed since the last
    /// class: what differs are its lines.
    fn gone_and_come(&self, change: &Change) -> (Vec<InBoth>, Vec<InBoth>) {
        let lines = |setup: &str| -> Vec<String> {
            let lines = setup.split(BETWEEN_LINES).filter(|line| !line.is_empty());
            lines.map(str::to_owned).collect()
        };
        let (from, to) = (
            lines(change.from.as_deref().unwrap_or_default()),
            lines(&change.to),
        );
        let missing = |of: &[String], others: &[String]| {
            let missing = of.iter().filter(|line| !others.contains(line));
            missing.map(|line| (self.settings.in_words)(line)).collect()
        };
        (missing(&from, &to), missing(&to, &from))
    }

    /// The demo's class; nothing of it is remembered.
    pub(super) fn start_demo(&self) {
        let stations = (self.settings.setups)("", None);
        self.with(|inner, now| {
            let groups = stations.len().min(255) as u8;
            let none = BTreeSet::new();
            let plan = Plan::new(stations, &none, DEMO_CHILDREN, groups, Crowd::Rest, DEMO);
            // A demo without stations has nothing to do.
            let Ok(plan) = plan else { return };
            inner.class = Some(Running {
                title: String::new(),
                grade: None,
                clock: Clock::start(plan, BTreeSet::new(), BTreeSet::new(), now.capture),
                floor: BTreeSet::new(),
                children: DEMO_CHILDREN,
                demo: true,
                clicks: Clicks::default(),
                today: Wishes::default(),
                listed: None,
                grouping: None,
                word: None,
                word_at: None,
                read: now.clone(),
            });
            inner.unkept_class = true;
        });
    }
}

impl Inner {
    fn start(
        &mut self,
        asked: &ClassStart,
        mut stations: Vec<StationPlan>,
        (listed, list, by): (Listed, Option<&List>, By),
        now: &Readings,
    ) -> Result<Started, NotStarted> {
        let title = asked.class.trim();
        // The demo's own gives way.
        if let Some(class) = self.class.as_ref().filter(|class| !class.demo) {
            // The same press again, or another remote was first.
            if self.book.has_started(&asked.id) || class.title == title {
                return Ok(Started {
                    asks: Vec::new(),
                    groups: class.clock.plan().sizes().len() as u8,
                });
            }
            return Err(NotStarted::Running(class.title.clone()));
        }
        if self.book.has_started(&asked.id) {
            return Err(NotStarted::Over);
        }
        if self.asking.is_some() {
            return Err(NotStarted::Interrupted);
        }
        let control = title.chars().any(char::is_control);
        if title.is_empty() || title.chars().count() > MOST_TITLE || control {
            return Err(NotStarted::Title);
        }
        self.leave_as_it_stands(asked, &mut stations);
        let unchanged = self.unchanged(asked, &stations);
        let closed = closed(asked, &unchanged, &stations);
        let mut plan = self.plan(asked, listed, &closed, stations)?;
        let groups = plan.sizes().len() as u8;
        let class = self.class_of(title, listed);
        let Some(not_shown) = self.not_shown(asked, (list, class), groups, by) else {
            return Ok(Started {
                asks: vec![StartAsk::NotShown],
                groups,
            });
        };
        let known = Known {
            title: title.to_owned(),
            grade: asked.grade,
            children: asked.children,
            groups,
            not_shown: Some(not_shown.groups.clone()),
            teachers_word: not_shown.remembered,
            listed: class.map(ClassId::get),
            circuit: plan.left(plan.first_turn()),
            times: plan.times,
            tuning: Tuning::default(),
        };
        if asked.camera_briefing {
            plan.times.briefing_s += CAMERA_BRIEFING_S;
        }
        let stations = plan.stations();
        // What was left as it stands still stands as its younger class had it.
        let left = asked.as_it_stands.iter().filter_map(|n| number(*n));
        let stand = unchanged.iter().copied().chain(left).collect();
        self.book
            .started(&asked.id, known, &stand, stations, now.wall_us);
        self.class = Some(Running {
            title: title.to_owned(),
            grade: asked.grade,
            floor: on_the_floor(stations, asked.no_spotter),
            clock: Clock::start(plan, closed, not_shown.groups, now.capture),
            children: asked.children,
            listed: class.map(ClassId::get),
            grouping: class.and_then(|class| list?.grouping(class)),
            word: not_shown.word,
            word_at: None,
            demo: false,
            clicks: Clicks::default(),
            today: Wishes::of(asked),
            read: now.clone(),
        });
        self.free.forget_cues();
        (self.unkept_class, self.unkept_book) = (true, true);
        tracing::info!(groups, children = asked.children, "a class has started");
        Ok(Started {
            asks: Vec::new(),
            groups,
        })
    }

    /// Where time is short a station may stay as a younger class had it.
    fn leave_as_it_stands(&self, asked: &ClassStart, stations: &mut [StationPlan]) {
        for change in self.book.changes(stations) {
            let wished = asked.as_it_stands.contains(&change.station.get());
            if !wished || !self.book.is_easier(change.station, asked.grade) {
                continue;
            }
            let station = stations.iter_mut().find(|s| s.number == change.station);
            if let (Some(station), Some(stands)) = (station, change.from) {
                station.setup = stands;
            }
        }
    }

    /// Stations that still stand as the last class had them.
    fn unchanged(&self, asked: &ClassStart, all: &[StationPlan]) -> BTreeSet<StationNumber> {
        let changes = self.book.changes(all).into_iter();
        let ticked = |number: &StationNumber| asked.ticked.contains(&number.get());
        changes
            .map(|change| change.station)
            .filter(|number| !ticked(number))
            .collect()
    }

    fn plan(
        &self,
        asked: &ClassStart,
        listed: Listed,
        closed: &BTreeSet<StationNumber>,
        stations: Vec<StationPlan>,
    ) -> Result<Plan, PlanError> {
        let known = self.book.known(asked.class.trim());
        let times = asked.times.or(known.map(|known| known.times));
        let times = times.unwrap_or(Times::USUAL);
        let circuit = known.and_then(|known| known.circuit.clone());
        let mut plan = if let Some(circuit) = circuit.filter(|_| !asked.anew) {
            Plan::going_on(circuit, stations, asked.children, times)
        } else {
            let open = stations.iter().filter(|s| !closed.contains(&s.number));
            let in_list = match listed {
                Listed::Class { groups, .. } => groups,
                Listed::No | Listed::Unknown => None,
            };
            let groups = asked.groups.or(in_list);
            let groups = groups.unwrap_or(open.count().min(255) as u8);
            Plan::new(stations, closed, asked.children, groups, asked.crowd, times)
        }?;
        let turns = u32::from(plan.turns() - plan.first_turn());
        let filling = asked.lesson_s.and_then(|s| plan.times.filling(s, turns));
        plan.times = filling.unwrap_or(plan.times);
        Ok(plan)
    }

    /// Which class of the list it is. While that cannot be looked up, the one it
    /// was the last time, so that the link is not lost.
    fn class_of(&self, title: &str, listed: Listed) -> Option<ClassId> {
        match listed {
            Listed::Class { id, .. } => Some(id),
            Listed::No => None,
            Listed::Unknown => {
                let known = self.book.known(title)?;
                known.listed.map(ClassId::from_kept)
            }
        }
    }
}

fn number(given: u8) -> Option<StationNumber> {
    StationNumber::try_from(i64::from(given)).ok()
}
