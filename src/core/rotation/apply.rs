//! What a press does.
//!
//! Two remotes may press at once, and a press may come twice because its answer
//! was lost. So each has an id and counts once; *next*, *back*, *more*, *finish*
//! count only at the step their remote saw; and the rest says how it is to be,
//! not what is to change.
//!
//! Not here: who may press what.

use super::clock::{Accident, Clock, PRESSES, Runs, SECOND_US};
use super::groups::GroupNumber;
use super::hidden::Cover;
use super::history::Stage;
use super::press::{Hold, Outcome, Press, Refused};
use crate::kernel::{CaptureUs, StationNumber};

/// What *more* gives, and the least that *back* does.
const MORE_US: i64 = 30 * SECOND_US;

impl Clock {
    /// Carries a press out. `seen` is the step its remote showed, `wall_ms` the
    /// clock on the wall.
    pub fn press(
        &mut self,
        id: &str,
        press: Press,
        seen: Option<u64>,
        now: CaptureUs,
        wall_ms: u64,
    ) -> Result<Outcome, Refused> {
        self.advance(now);
        if self.has_had(id) {
            return Ok(Outcome::Already);
        }
        if self.is_done() {
            return if press == Press::End {
                Ok(Outcome::Already)
            } else {
                Err(Refused::Over)
            };
        }
        let steps = matches!(
            press,
            Press::Next | Press::Back | Press::More | Press::Finish
        );
        let late = steps && seen.is_some_and(|seen| seen != self.step);
        let outcome = if late {
            Outcome::Already
        } else {
            self.carry_out(press, now, wall_ms)?
        };
        self.touched = now;
        self.presses.push_back(id.to_owned());
        if self.presses.len() > PRESSES {
            self.presses.pop_front();
        }
        Ok(outcome)
    }

    /// Whether a press of this id has come before.
    pub(super) fn has_had(&self, id: &str) -> bool {
        self.presses.iter().any(|earlier| earlier == id)
    }

    fn carry_out(
        &mut self,
        press: Press,
        now: CaptureUs,
        wall_ms: u64,
    ) -> Result<Outcome, Refused> {
        let changed = match press {
            Press::Next => {
                self.leave(now);
                true
            }
            Press::Back => return self.back(now),
            Press::More => {
                self.more();
                true
            }
            Press::Hold { hold } => self.hold(hold, now, wall_ms),
            Press::Resume { hold } => self.resume(hold, now),
            Press::AccidentAt { station } => self.accident_at(station)?,
            Press::Close { station } => self.close(station, now)?,
            Press::Open { station } => self.open(station, now)?,
            Press::CoverGroup { group } => self.cover(group, now)?,
            Press::Finish => self.finish(now),
            Press::End => {
                self.end(now);
                true
            }
        };
        Ok(if changed {
            Outcome::Done
        } else {
            Outcome::Already
        })
    }

    fn back(&mut self, now: CaptureUs) -> Result<Outcome, Refused> {
        let at = self.way.len() - 1;
        let before = self.before(at).ok_or(Refused::NothingBefore)?;
        let (stage, turn) = self.way[before];
        let least_us = MORE_US.min(self.lasts_us(stage));
        let left_us = self.cut.get(&(before as u64)).copied().unwrap_or(0);
        self.cut_short(now);
        self.enter_for(stage, turn, now, left_us.max(least_us));
        Ok(Outcome::Done)
    }

    /// The step in which the stage before this one was entered last: twice back
    /// is two stages back, not there and forth.
    fn before(&self, at: usize) -> Option<usize> {
        let now = place_of(self.way[at]);
        let earlier = (0..at).filter(|step| place_of(self.way[*step]) < now);
        earlier.max_by_key(|step| (place_of(self.way[*step]), *step))
    }

    fn more(&mut self) {
        self.runs = match self.runs {
            Runs::Until(ends) => Runs::Until(ends.offset(MORE_US)),
            Runs::Held { left_us } => Runs::Held {
                left_us: left_us + MORE_US,
            },
        };
    }

    fn hold(&mut self, hold: Hold, now: CaptureUs, wall_ms: u64) -> bool {
        if let Runs::Until(ends) = self.runs {
            self.runs = Runs::Held {
                left_us: ends.since(now).max(0),
            };
        }
        let new = self.holds.insert(hold);
        if new && hold == Hold::Accident {
            self.accidents.push(Accident {
                wall_ms,
                station: None,
                setup: String::new(),
            });
        }
        new
    }

    fn resume(&mut self, hold: Hold, now: CaptureUs) -> bool {
        let was = self.holds.remove(&hold);
        if was && hold.stops_cameras() {
            self.unsettle(now);
        }
        if let (true, Runs::Held { left_us }) = (self.holds.is_empty(), self.runs) {
            self.runs = Runs::Until(now.offset(left_us));
        }
        was
    }

    fn accident_at(&mut self, number: StationNumber) -> Result<bool, Refused> {
        let station = self.plan.station(number);
        let setup = &station.ok_or(Refused::NoStation(number))?.setup;
        let Some(noted) = self.accidents.last_mut() else {
            return Ok(false);
        };
        noted.station = Some(number);
        noted.setup.clone_from(setup);
        Ok(true)
    }

    fn close(&mut self, number: StationNumber, now: CaptureUs) -> Result<bool, Refused> {
        self.known(number)?;
        let open = |s: &&super::plan::StationPlan| {
            s.number != number && self.plan.has_place(s.number) && !self.closed.contains(&s.number)
        };
        if !self.plan.stations().iter().any(|s| open(&s)) {
            return Err(Refused::LastOpen(number));
        }
        let new = self.closed.insert(number);
        self.write_again(now);
        Ok(new)
    }

    fn open(&mut self, number: StationNumber, now: CaptureUs) -> Result<bool, Refused> {
        self.known(number)?;
        if !self.plan.has_place(number) {
            return Err(Refused::NotInCircuit(number));
        }
        let was = self.closed.remove(&number);
        self.write_again(now);
        Ok(was)
    }

    fn known(&self, number: StationNumber) -> Result<(), Refused> {
        let there = self.plan.station(number).is_some();
        there.then_some(()).ok_or(Refused::NoStation(number))
    }

    /// Stands changed, places did not.
    fn write_again(&mut self, now: CaptureUs) {
        let last = self.history.all().last();
        let settled = last.map_or(now, |stretch| stretch.settled);
        self.write(now, settled);
    }

    fn cover(&mut self, group: GroupNumber, now: CaptureUs) -> Result<bool, Refused> {
        if group.index() >= self.plan.sizes().len() {
            return Err(Refused::NoGroup(group.get()));
        }
        if self
            .covers
            .iter()
            .any(|c| c.group == group && c.to.is_none())
        {
            return Ok(false);
        }
        self.covers.push(Cover {
            group,
            turn: match self.stage {
                Stage::Walk => self.turn + 1,
                _ => self.turn,
            },
            from: self.came(now),
            to: None,
        });
        Ok(true)
    }

    fn finish(&mut self, now: CaptureUs) -> bool {
        if self.stage == Stage::Closing {
            return false;
        }
        self.cut_short(now);
        if self.lasts_us(Stage::Closing) > 0 {
            self.enter(Stage::Closing, self.turn, now);
        } else {
            self.end(now);
        }
        true
    }
}

/// Where a stage stands in the course of a class.
const fn place_of((stage, turn): (Stage, u16)) -> (u8, u16, Stage) {
    let part = match stage {
        Stage::WarmUp => 0,
        Stage::Briefing => 1,
        Stage::Work | Stage::Gather | Stage::Walk => 2,
        Stage::Closing => 3,
        Stage::Done => 4,
    };
    // Among the circuit's stages the turn goes first.
    (part, if part == 2 { turn } else { 0 }, stage)
}
