//! The running class.
//!
//! A phase ends at a moment fixed when it began, so what is true at a moment
//! does not depend on how often it is looked at.
//!
//! Not here: reading the time, waiting for it.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use serde::{Deserialize, Serialize};

use super::groups::GroupNumber;
use super::hidden::Cover;
use super::history::{History, Stage, Stretch};
use super::plan::Plan;
use super::press::Hold;
use crate::kernel::{CaptureUs, StationNumber};

pub(super) const SECOND_US: i64 = 1_000_000;
/// A class that waits this long without a press is over.
pub(super) const IDLE_US: i64 = 600 * SECOND_US;
/// Somebody is always slower than planned.
const STRAGGLE_US: i64 = 5 * SECOND_US;
/// A picture may be stamped this much ahead of the moment at which it is here;
/// one that is stamped further off is stamped anew (`media::stamp`).
const STAMP_OFF_US: i64 = SECOND_US;
/// Presses remembered: an answer that was lost is asked for again at once, not
/// after a hundred others.
pub(super) const PRESSES: usize = 100;

/// Whether the time of a phase runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Runs {
    /// It ends then.
    Until(CaptureUs),
    /// It stands still with so much left.
    Held {
        /// Microseconds.
        left_us: i64,
    },
}

/// What is noted of an accident: no names, and no picture.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Accident {
    /// When it was pressed, by the clock on the wall: Unix milliseconds.
    #[cfg_attr(test, ts(type = "number"))]
    pub wall_ms: u64,
    /// Where, once somebody has said so.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub station: Option<StationNumber>,
    /// How that station was set up.
    pub setup: String,
}

/// See the module.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Clock {
    pub(super) plan: Plan,
    pub(super) stage: Stage,
    pub(super) turn: u16,
    pub(super) runs: Runs,
    /// Counts the stages entered, so that a press made at one does not hit the
    /// next.
    pub(super) step: u64,
    pub(super) holds: BTreeSet<Hold>,
    pub(super) closed: BTreeSet<StationNumber>,
    pub(super) not_shown: BTreeSet<GroupNumber>,
    pub(super) covers: Vec<Cover>,
    pub(super) history: History,
    /// What each stage that was left early had left.
    pub(super) cut: BTreeMap<u64, i64>,
    /// The stages entered, for the way back.
    pub(super) way: Vec<(Stage, u16)>,
    pub(super) accidents: Vec<Accident>,
    /// When somebody last pressed anything.
    pub(super) touched: CaptureUs,
    pub(super) presses: VecDeque<String>,
}

impl Clock {
    /// A class that begins now. Groups that are not to be shown are hidden from
    /// its first moment to its last.
    #[must_use]
    pub fn start(
        plan: Plan,
        closed: BTreeSet<StationNumber>,
        not_shown: BTreeSet<GroupNumber>,
        now: CaptureUs,
    ) -> Self {
        let turn = plan.first_turn();
        let mut clock = Self {
            plan,
            stage: Stage::WarmUp,
            turn,
            runs: Runs::Until(now),
            step: 0,
            holds: BTreeSet::new(),
            closed,
            not_shown,
            covers: Vec::new(),
            history: History::default(),
            cut: BTreeMap::new(),
            way: Vec::new(),
            accidents: Vec::new(),
            touched: now,
            presses: VecDeque::new(),
        };
        clock.enter(Stage::WarmUp, turn, now);
        clock.advance(now);
        clock
    }

    /// What it set out to do.
    #[must_use]
    pub const fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Stations nobody works at.
    #[must_use]
    pub const fn closed(&self) -> &BTreeSet<StationNumber> {
        &self.closed
    }

    /// Groups that are not shown in this class.
    #[must_use]
    pub const fn not_shown(&self) -> &BTreeSet<GroupNumber> {
        &self.not_shown
    }

    /// These are not shown either, from the first moment of the class on; says
    /// whether that is new.
    pub fn do_not_show(&mut self, groups: &BTreeSet<GroupNumber>) -> bool {
        let before = self.not_shown.len();
        self.not_shown.extend(groups);
        self.not_shown.len() > before
    }

    /// Nobody is shown as they were before a moment.
    pub fn hide_before(&mut self, moment: CaptureUs) {
        let turn = self.turn;
        let groups: Vec<GroupNumber> = self.plan.groups().collect();
        self.covers.extend(groups.into_iter().map(|group| Cover {
            group,
            turn,
            from: CaptureUs::ZERO,
            to: Some(moment.offset(STAMP_OFF_US)),
        }));
    }

    /// All are shown from now on but these. What was taken before stays hidden as
    /// it was; says whether anything changed.
    pub fn show_all_but(&mut self, groups: &BTreeSet<GroupNumber>, now: CaptureUs) -> bool {
        let shown: Vec<GroupNumber> = self.not_shown.difference(groups).copied().collect();
        let turn = self.turn;
        self.covers.extend(shown.iter().map(|&group| Cover {
            group,
            turn,
            from: CaptureUs::ZERO,
            to: Some(now.offset(STAMP_OFF_US)),
        }));
        self.not_shown.retain(|group| groups.contains(group));
        self.do_not_show(groups) || !shown.is_empty()
    }

    /// Why it waits.
    #[must_use]
    pub const fn holds(&self) -> &BTreeSet<Hold> {
        &self.holds
    }

    /// Counts its stages.
    #[must_use]
    pub const fn step(&self) -> u64 {
        self.step
    }

    /// What is noted of accidents.
    #[must_use]
    pub fn accidents(&self) -> &[Accident] {
        &self.accidents
    }

    /// Which group stood where.
    #[must_use]
    pub const fn history(&self) -> &History {
        &self.history
    }

    /// The class is over.
    #[must_use]
    pub fn is_done(&self) -> bool {
        self.stage == Stage::Done
    }

    /// Cameras are on.
    #[must_use]
    pub fn captures(&self) -> bool {
        !self.is_done() && !self.holds.iter().any(|hold| hold.stops_cameras())
    }

    /// No picture may be on any screen.
    #[must_use]
    pub fn hides(&self) -> bool {
        self.is_done() || self.holds.iter().any(|hold| hold.hides())
    }

    /// Lets the time pass; says whether anything changed that is worth keeping.
    pub fn advance(&mut self, now: CaptureUs) -> bool {
        let before = self.step;
        while let Runs::Until(ends) = self.runs
            && ends <= now
            && !self.is_done()
        {
            self.leave(ends);
        }
        if !self.is_done() && !self.holds.is_empty() && now.since(self.touched) >= IDLE_US {
            self.end(now);
        }
        self.step != before
    }

    pub(super) fn last_turn_us(&self) -> i64 {
        i64::from(self.plan.times.last_turn_s) * SECOND_US
    }

    pub(super) fn lasts_us(&self, stage: Stage) -> i64 {
        let times = &self.plan.times;
        let seconds = match stage {
            Stage::WarmUp => times.warm_up_s,
            Stage::Briefing => times.briefing_s,
            Stage::Work => times.work_s,
            Stage::Gather => times.gather_s,
            Stage::Walk => times.walk_s,
            Stage::Closing => times.closing_s,
            Stage::Done => 0,
        };
        i64::from(seconds) * SECOND_US
    }

    /// The stage is over; the next one that takes any time begins.
    pub(super) fn leave(&mut self, at: CaptureUs) {
        self.cut_short(at);
        let (mut stage, mut turn) = (self.stage, self.turn);
        loop {
            (stage, turn) = self.after(stage, turn);
            if stage == Stage::Done || self.lasts_us(stage) > 0 {
                break;
            }
        }
        self.enter(stage, turn, at);
    }

    /// The class is over, at whatever stage.
    pub(super) fn end(&mut self, at: CaptureUs) {
        self.cut_short(at);
        self.holds.clear();
        self.enter(Stage::Done, self.turn, at);
    }

    /// Remembers what the stage has left.
    pub(super) fn cut_short(&mut self, at: CaptureUs) {
        let left_us = match self.runs {
            Runs::Until(ends) => ends.since(at),
            Runs::Held { left_us } => left_us,
        };
        if left_us > 0 {
            self.cut.insert(self.step - 1, left_us);
        }
    }

    fn after(&self, stage: Stage, turn: u16) -> (Stage, u16) {
        match stage {
            Stage::WarmUp => (Stage::Briefing, turn),
            Stage::Briefing => (Stage::Work, turn),
            Stage::Work if turn + 1 < self.plan.turns() => (Stage::Gather, turn),
            Stage::Work => (Stage::Closing, turn),
            Stage::Gather => (Stage::Walk, turn),
            Stage::Walk => (Stage::Work, turn + 1),
            Stage::Closing | Stage::Done => (Stage::Done, turn),
        }
    }

    /// A stage begins with its whole time.
    pub(super) fn enter(&mut self, stage: Stage, turn: u16, at: CaptureUs) {
        self.enter_for(stage, turn, at, self.lasts_us(stage));
    }

    /// A stage begins or goes on with so much time.
    pub(super) fn enter_for(&mut self, stage: Stage, turn: u16, at: CaptureUs, us: i64) {
        self.stage = stage;
        self.turn = turn;
        self.step += 1;
        self.way.push((stage, turn));
        self.runs = match self.runs {
            Runs::Until(_) => Runs::Until(at.offset(us)),
            Runs::Held { .. } => Runs::Held { left_us: us },
        };
        self.write(at, self.settles(turn, at));
        self.close_covers(at);
    }

    /// Until when children may be on their way, once a stage has begun: as long
    /// as a walk takes from where it began, and a little more.
    fn settles(&self, turn: u16, at: CaptureUs) -> CaptureUs {
        let walk_us = self.lasts_us(Stage::Walk);
        match self.history.at(at) {
            Some(last) if last.stage.is_at_stations() && last.turn == turn => last.settled,
            // Not so on the way back: that takes its own time.
            Some(last) if last.stage == Stage::Walk && last.turn != turn => {
                at.max(last.from.offset(walk_us)).offset(STRAGGLE_US)
            }
            _ => at.offset(walk_us + STRAGGLE_US),
        }
    }

    /// Where everybody stands from now on.
    pub(super) fn write(&mut self, at: CaptureUs, settled: CaptureUs) {
        let stands = self.plan.groups().map(|group| self.stand(group));
        self.history.push(Stretch {
            from: at,
            stage: self.stage,
            turn: self.turn,
            settled,
            stands: stands.collect(),
        });
    }

    /// The children come from wherever they are to where they belong.
    pub(super) fn unsettle(&mut self, at: CaptureUs) {
        let walk_us = self.lasts_us(Stage::Walk);
        self.write(at, at.offset(walk_us + STRAGGLE_US));
    }

    /// The program was away: what is to come is that much later on the new
    /// timeline, on which it is now `now`. Nobody gave a signal meanwhile, so
    /// children may be anywhere until they have had the time of a walk.
    pub fn carry_over(&mut self, later_us: i64, now: CaptureUs) {
        if let Runs::Until(ends) = &mut self.runs {
            *ends = ends.offset(later_us);
        }
        self.touched = self.touched.offset(later_us);
        self.advance(now);
        if !self.is_done() {
            self.unsettle(now);
        }
    }
}
