use std::collections::BTreeSet;

use super::*;
use crate::kernel::{CaptureUs, StationNumber};

mod clicker;
mod hiding;
mod presses;
mod rules;
mod start;
mod stay;
mod stood;
mod whole;

const START: CaptureUs = CaptureUs(1_790_000_000_000_000);
const WALL_MS: u64 = 1_790_000_000_000;

/// Eight by four minutes and half a minute to change, nothing around it.
const CIRCUIT: Times = Times {
    warm_up_s: 0,
    briefing_s: 0,
    work_s: 240,
    last_turn_s: 20,
    gather_s: 10,
    walk_s: 20,
    closing_s: 0,
};

fn number(n: u8) -> StationNumber {
    i64::from(n).try_into().expect("a good number")
}

fn group(n: u8) -> GroupNumber {
    n.try_into().expect("a good number")
}

fn stations(count: u8) -> Vec<StationPlan> {
    let station = |n| StationPlan {
        number: number(n),
        setup: format!("set-up {n}"),
        in_pairs: false,
        hands: Hands::None,
    };
    (1..=count).map(station).collect()
}

fn plan(count: u8, groups: u8, times: Times) -> Plan {
    let crowd = Crowd::Rest;
    Plan::new(stations(count), &BTreeSet::new(), 24, groups, crowd, times).expect("a plan")
}

fn class(count: u8, groups: u8, times: Times) -> Clock {
    let plan = plan(count, groups, times);
    Clock::start(plan, BTreeSet::new(), BTreeSet::new(), START)
}

/// So many seconds into the class.
fn s(seconds: i64) -> CaptureUs {
    START.offset(seconds * 1_000_000)
}

/// Presses without an id that comes twice.
fn press(clock: &mut Clock, press: Press, at: CaptureUs) -> Result<Outcome, Refused> {
    let id = format!("{press:?} {}", at.0);
    clock.press(&id, press, None, at, WALL_MS)
}

/// Lets it run to its end by itself; when that was.
fn run_out(clock: &mut Clock, from: CaptureUs) -> CaptureUs {
    let mut now = from;
    while let Some(next) = clock.next_change(now) {
        now = next;
        clock.advance(now);
    }
    now
}

/// The phase and whole seconds left.
fn seen(clock: &Clock, now: CaptureUs) -> (Phase, u16, i64) {
    let face = clock.face(now);
    (face.phase, face.turn, face.left_us / 1_000_000)
}
