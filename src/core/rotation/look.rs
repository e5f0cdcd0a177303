//! What there is to see of a running class.
//!
//! Not here: anything that changes it.

use super::clock::{Clock, IDLE_US, Runs, SECOND_US};
use super::groups::GroupNumber;
use super::hidden::Span;
use super::history::{Stage, Stand, Stretch};
use super::plan::Circuit;
use super::press::{Hold, Phase};
use crate::kernel::CaptureUs;

/// How the class stands at a moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Face {
    /// The phase.
    pub phase: Phase,
    /// The turn, counted from nothing; in a walk, the one that is over.
    pub turn: u16,
    /// How much of the phase is left.
    pub left_us: i64,
    /// When it ends; nothing while it waits, or is over.
    pub ends: Option<CaptureUs>,
    /// The gravest reason to wait.
    pub hold: Option<Hold>,
}

impl Clock {
    /// When there is something to see next.
    #[must_use]
    pub fn next_change(&self, now: CaptureUs) -> Option<CaptureUs> {
        if self.is_done() {
            return None;
        }
        let Runs::Until(ends) = self.runs else {
            return Some(self.touched.offset(IDLE_US));
        };
        let last_turn = ends.offset(-self.last_turn_us());
        Some(if self.stage == Stage::Work && now < last_turn {
            last_turn
        } else {
            ends
        })
    }

    /// How it stands. The time has been let pass.
    #[must_use]
    pub fn face(&self, now: CaptureUs) -> Face {
        let (left_us, ends) = match self.runs {
            _ if self.is_done() => (0, None),
            Runs::Until(ends) => (ends.since(now).max(0), Some(ends)),
            Runs::Held { left_us } => (left_us, None),
        };
        let phase = match self.stage {
            Stage::WarmUp => Phase::WarmUp,
            Stage::Briefing => Phase::Briefing,
            Stage::Work if left_us <= self.last_turn_us() => Phase::LastTurn,
            Stage::Work => Phase::Work,
            Stage::Gather => Phase::Gather,
            Stage::Walk => Phase::Walk,
            Stage::Closing => Phase::Closing,
            Stage::Done => Phase::Done,
        };
        Face {
            phase,
            turn: self.turn,
            left_us,
            ends,
            hold: self.holds.iter().next_back().copied(),
        }
    }

    /// How long the phase is when nobody presses anything; of work and its last
    /// turn, all of it.
    #[must_use]
    pub fn whole_us(&self) -> i64 {
        self.lasts_us(self.stage)
    }

    /// The capture times at which the groups of this turn worked at their
    /// stations, in one go up to now; in a walk and after the last turn, those
    /// of the turn that is over. Nothing before the first.
    #[must_use]
    pub fn stay(&self) -> Option<Span> {
        let history = self.history.all();
        let here = |s: &Stretch| s.turn == self.turn && s.stage.is_at_stations();
        let last = history
            .iter()
            .rposition(|s| here(s) && s.stage == Stage::Work)?;
        let after = history[last + 1..].iter().find(|s| s.stage != Stage::Work);
        let stay = history[..=last].iter().rev().take_while(|s| here(s));
        let from = stay.filter(|s| s.stage == Stage::Work).last()?.from;
        // A walk that was gone back on has brought them to another turn.
        let now_elsewhere = matches!(self.stage, Stage::WarmUp | Stage::Briefing);
        (!now_elsewhere).then_some(Span {
            from,
            to: after.map(|s| s.from),
        })
    }

    /// Where a group stands at this turn, or will at the first.
    #[must_use]
    pub fn stand(&self, group: GroupNumber) -> Stand {
        self.plan.stand(group, self.turn, &self.closed)
    }

    /// Where it goes next; nothing when this is the last turn.
    #[must_use]
    pub fn next_stand(&self, group: GroupNumber) -> Option<Stand> {
        match self.stage {
            Stage::WarmUp | Stage::Briefing => Some(self.stand(group)),
            Stage::Work | Stage::Gather | Stage::Walk if self.turn + 1 < self.plan.turns() => {
                Some(self.plan.stand(group, self.turn + 1, &self.closed))
            }
            _ => None,
        }
    }

    /// What is left of the circuit for another lesson, if any is. A turn of
    /// which half was worked is not begun again.
    #[must_use]
    pub fn unfinished(&self, now: CaptureUs) -> Option<Circuit> {
        self.plan.left(self.next_turn(now))
    }

    fn next_turn(&self, now: CaptureUs) -> u16 {
        let worked_at = |turn| {
            let entered = self.way.iter().enumerate().rev();
            let mut entered = entered.filter(|(_, way)| **way == (Stage::Work, turn));
            entered.next().map(|(step, _)| step as u64)
        };
        // A walk has the turn that is over, the work after it the next.
        let Some(step) = worked_at(self.turn) else {
            return self.turn;
        };
        let whole_us = i64::from(self.plan.times.work_s) * SECOND_US;
        let left_us = match (self.stage, self.runs) {
            (Stage::Work, Runs::Held { left_us }) => left_us,
            (Stage::Work, Runs::Until(ends)) => ends.since(now),
            _ => self.cut.get(&step).copied().unwrap_or(0),
        };
        self.turn + u16::from(left_us * 2 <= whole_us)
    }
}
