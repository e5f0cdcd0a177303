//! When what happens: attempts with gaps between them, and children passing.
//!
//! Time from the start is cut into blocks of [`BLOCK_US`]; each holds the same
//! number of attempts and passers and is made from the seed and its own number
//! alone, so any moment, today or in a year, costs the same to ask.
//!
//! Not here: what an attempt looks like (see `attempt`).

use serde::Serialize;

use super::attempt::{Script, Skill};
use super::random::Random;
use crate::kernel::CaptureUs;

/// Attempts in a block.
const ATTEMPTS: usize = 32;
/// Attempts in a round, in which every skill comes up.
const ROUND: usize = 4;
/// The gap before an attempt, in seconds.
const GAP_S: (f32, f32) = (4.0, 12.0);
/// An attempt lasts about nine seconds and a gap eight; the gaps take up what
/// the attempts of a block leave over, and never leave [`GAP_S`] for it.
const BLOCK_US: u64 = 560_000_000;
/// Passers in a block, one to a slot.
const PASSERS: u64 = 14;
const SLOT_US: u64 = BLOCK_US / PASSERS;
/// The longest answer [`super::Scene::truth`] gives.
pub(super) const MOST_TRUTH_US: i64 = 24 * 3600 * 1_000_000;

/// What began or ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum TruthKind {
    /// A child starts to walk in for an attempt.
    AttemptStart,
    /// A balance has come to rest.
    HoldStart,
    /// The child leaves its balance.
    HoldEnd,
    /// The child has left the picture.
    AttemptEnd,
    /// Another child starts to pass behind.
    PasserStart,
    /// That child has left the picture.
    PasserEnd,
}

/// One thing that truly happened in the scene, to hold a detector against.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct TruthEvent {
    /// What.
    pub kind: TruthKind,
    /// When.
    pub at: CaptureUs,
    /// Which attempt, counted from 1; of passers, which passer.
    pub attempt: u32,
    /// What was tried; a passer tries nothing.
    pub skill: Option<Skill>,
}

/// An attempt in its place.
pub(super) struct Attempt {
    pub number: u32,
    pub skill: Skill,
    pub from_us: u64,
    pub to_us: u64,
    pub script: Script,
}

/// A passer in its place. Times are microseconds from the scene's start.
pub(super) struct Passer {
    number: u32,
    pub from_us: u64,
    pub to_us: u64,
    pub rightwards: bool,
}

/// One block's worth.
pub(super) struct Block {
    number: u64,
    pub attempts: Vec<Attempt>,
    pub passers: Vec<Passer>,
}

fn whole_us(seconds: f32) -> u64 {
    (f64::from(seconds) * 1e6) as u64
}

impl Block {
    /// Which block a time (from the scene's start) lies in.
    pub(super) const fn number_at(at_us: u64) -> u64 {
        at_us / BLOCK_US
    }

    /// Makes a block.
    pub(super) fn new(seed: u64, number: u64) -> Self {
        let mut random = Random::new(seed, number);
        let scripts: Vec<(Skill, Script)> = (0..ATTEMPTS / ROUND)
            .flat_map(|_| round(&mut random))
            .collect::<Vec<_>>()
            .into_iter()
            .map(|skill| (skill, Script::new(skill, &mut random)))
            .collect();
        let busy_s: f32 = scripts.iter().map(|(_, script)| script.length_s()).sum();
        let gaps_s = gaps(&mut random, BLOCK_US as f32 / 1e6 - busy_s);

        let mut at_us = number * BLOCK_US;
        let first = number * ATTEMPTS as u64 + 1;
        let attempts = scripts
            .into_iter()
            .zip(gaps_s)
            .zip(first..)
            .map(|(((skill, script), gap_s), number)| {
                let from_us = at_us + whole_us(gap_s);
                at_us = from_us + whole_us(script.length_s());
                Attempt {
                    number: number as u32,
                    skill,
                    from_us,
                    to_us: at_us,
                    script,
                }
            })
            .collect();
        let passers = (0..PASSERS)
            .map(|slot| passer(&mut random, number * PASSERS + slot))
            .collect();
        Self {
            number,
            attempts,
            passers,
        }
    }

    /// Which block this is.
    pub(super) const fn number(&self) -> u64 {
        self.number
    }

    /// Everything that begins or ends in it, unordered.
    pub(super) fn truth(&self, start: CaptureUs) -> Vec<TruthEvent> {
        let place = |us: u64| CaptureUs(start.0.saturating_add(us));
        let mut events = Vec::new();
        for Attempt {
            number,
            skill,
            from_us,
            to_us,
            script,
        } in &self.attempts
        {
            let mut event = |kind, us| {
                events.push(TruthEvent {
                    kind,
                    at: place(us),
                    attempt: *number,
                    skill: Some(*skill),
                });
            };
            event(TruthKind::AttemptStart, *from_us);
            if let Some((hold_s, let_go_s)) = script.hold_s {
                event(TruthKind::HoldStart, from_us + whole_us(hold_s));
                event(TruthKind::HoldEnd, from_us + whole_us(let_go_s));
            }
            event(TruthKind::AttemptEnd, *to_us);
        }
        for passer in &self.passers {
            let ends = [
                (TruthKind::PasserStart, passer.from_us),
                (TruthKind::PasserEnd, passer.to_us),
            ];
            events.extend(ends.map(|(kind, us)| TruthEvent {
                kind,
                at: place(us),
                attempt: passer.number,
                skill: None,
            }));
        }
        events
    }
}

/// Every skill once and a jump or a balance again, shuffled.
fn round(random: &mut Random) -> [Skill; ROUND] {
    let again = if random.unit() < 0.5 {
        Skill::Jump
    } else {
        Skill::Balance
    };
    let mut skills = [Skill::Jump, Skill::Balance, Skill::Roll, again];
    for last in (1..ROUND).rev() {
        skills.swap(last, (random.unit() * (last + 1) as f32) as usize);
    }
    skills
}

/// The gaps of a block: random, each within [`GAP_S`], together `total_s`.
fn gaps(random: &mut Random, total_s: f32) -> [f32; ATTEMPTS] {
    let (least, most) = GAP_S;
    let mut shares: [f32; ATTEMPTS] = std::array::from_fn(|_| random.unit());
    let count = ATTEMPTS as f32;
    let wanted = ((total_s - least * count) / (most - least)).clamp(0.0, count);
    let sum: f32 = shares.iter().sum();
    for share in &mut shares {
        // Drawn towards 0 or towards 1, whichever way the sum is off.
        *share = if sum > wanted {
            *share * wanted / sum
        } else {
            1.0 - (1.0 - *share) * (count - wanted) / (count - sum)
        };
    }
    shares.map(|share| least + (most - least) * share)
}

fn passer(random: &mut Random, slot: u64) -> Passer {
    let long_us = whole_us(random.between(6.5, 8.5));
    let room_us = SLOT_US - long_us;
    let from_us = slot * SLOT_US + (f64::from(random.unit()) * room_us as f64) as u64;
    Passer {
        number: slot as u32 + 1,
        from_us,
        to_us: from_us + long_us,
        rightwards: random.unit() < 0.5,
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn blocks_fit_whatever_the_seed(seed: u64, number in 0_u64..100_000) {
            let block = Block::new(seed, number);
            let mut free_us = number * BLOCK_US;
            for attempt in &block.attempts {
                let gap_us = attempt.from_us - free_us;
                prop_assert!((3_999_000..=12_001_000).contains(&gap_us), "a gap of {gap_us} us");
                prop_assert!((6_000_000..=18_000_000).contains(&(attempt.to_us - attempt.from_us)));
                free_us = attempt.to_us;
            }
            prop_assert!(free_us <= (number + 1) * BLOCK_US + 1000);
            prop_assert!((number + 1) * BLOCK_US - free_us.min((number + 1) * BLOCK_US) < 1_000_000);
            for pair in block.passers.windows(2) {
                prop_assert!(pair[0].to_us <= pair[1].from_us);
            }
            let skills = |wanted| block.attempts.iter().filter(|a| a.skill == wanted).count();
            prop_assert!(skills(Skill::Jump) > 0 && skills(Skill::Balance) > 0);
        }
    }
}
