//! Once more, over any order of everything that can happen meanwhile.

use proptest::prelude::*;

use super::*;

#[derive(Clone, Debug)]
enum Act {
    Push(u8),
    Hole(u8),
    GiveAway,
    Delay(u8),
    Press(bool),
    Mash(u8),
    Hold,
    Step(bool),
    GoOn,
    Arrive(u8),
    Veil(u16, u8),
    Cover,
    Uncover,
    Wipe(u8),
    Pause(bool),
}

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        20 => any::<u8>().prop_map(Act::Push),
        1 => any::<u8>().prop_map(Act::Hole),
        1 => Just(Act::GiveAway),
        2 => (0_u8..30).prop_map(Act::Delay),
        8 => any::<bool>().prop_map(Act::Press),
        4 => any::<u8>().prop_map(Act::Mash),
        3 => Just(Act::Hold),
        4 => any::<bool>().prop_map(Act::Step),
        3 => Just(Act::GoOn),
        1 => any::<u8>().prop_map(Act::Arrive),
        2 => (0_u16..400, any::<u8>()).prop_map(|(from, len)| Act::Veil(from, len)),
        1 => Just(Act::Cover),
        2 => Just(Act::Uncover),
        1 => any::<u8>().prop_map(Act::Wipe),
        2 => any::<bool>().prop_map(Act::Pause),
    ]
}

/// What may be seen, by our own reckoning; and what was said.
#[derive(Default)]
struct Model {
    veils: Vec<(CaptureUs, Option<CaptureUs>)>,
    wiped: CaptureUs,
    paused: bool,
    arrived: Option<CaptureUs>,
    captured: Vec<CaptureUs>,
    answered: Vec<(CaptureUs, CaptureUs)>,
    over: Option<CaptureUs>,
}

impl Model {
    fn may_be_seen(&self, at: CaptureUs) -> bool {
        let veiled = |(from, to): &(CaptureUs, Option<CaptureUs>)| {
            *from <= at && to.is_none_or(|to| at < to)
        };
        !self.paused
            && at >= self.wiped
            && self.arrived.is_none_or(|arrived| at >= arrived)
            && !self.veils.iter().any(veiled)
    }

    /// Whatever is said now, every picture of it may be seen.
    fn check(&self, said: Option<wire::Again>) -> Result<(), TestCaseError> {
        match said {
            None => {}
            Some(wire::Again::Held { at_us }) => prop_assert!(self.may_be_seen(at_us)),
            Some(wire::Again::Playing {
                from_us,
                to_us,
                starts_us,
                ends_us,
            }) => {
                prop_assert!(from_us < to_us);
                prop_assert_eq!(ends_us.since(starts_us), 2 * to_us.since(from_us));
                let inside = |at: &&CaptureUs| from_us <= **at && **at < to_us;
                for at in self.captured.iter().filter(inside) {
                    prop_assert!(self.may_be_seen(*at));
                }
            }
        }
        Ok(())
    }

    fn answered(
        &mut self,
        said: Option<wire::Again>,
        bounds: &Bounds,
        who: Who,
        now: CaptureUs,
    ) -> Result<(), TestCaseError> {
        let Some(wire::Again::Playing {
            from_us,
            to_us,
            ends_us,
            ..
        }) = said
        else {
            return Err(TestCaseError::fail("a press is answered by playing"));
        };
        let due = now.offset(-bounds.delay.us());
        prop_assert!(to_us.since(due) <= PICTURE_US, "nothing before its time");
        prop_assert!(from_us.since(due) >= -bounds.attempt.us() - 400_000);
        prop_assert!(to_us.since(from_us) >= S);
        let fresh = |(from, to): &(CaptureUs, CaptureUs)| to_us <= *from || from_us >= *to;
        prop_assert!(self.answered.iter().all(fresh), "no picture twice");
        if let (Who::Screen, Some(over)) = (who, self.over) {
            prop_assert!(now.since(over) >= 5 * S, "the late picture had its time");
        }
        self.answered.push((from_us, to_us));
        self.over = Some(ends_us);
        Ok(())
    }
}

proptest! {
    /// Over any order of presses, mashing, holds, steps, wipes, veils, covers,
    /// pauses, arrivals, holes and delay changes.
    #[test]
    fn once_more_only_ever_shows_what_may_be_seen(acts in proptest::collection::vec(act(), 1..200)) {
        let mut ring = ring();
        let mut again = Again::default();
        let mut model = Model::default();
        let mut bounds = bounds(2_000, 4);
        let (mut i, mut key_in) = (0_i64, 0_u8);
        for act in acts {
            let now = at(i);
            let press = |again: &mut Again, model: &mut Model, who, now| {
                let answer = again.press(&ring, &bounds, who, now);
                let said = again.look(&ring, bounds.arrived, now);
                if answer == AgainAnswer::Done { model.answered(said, &bounds, who, now)?; }
                Ok::<(), TestCaseError>(())
            };
            match act {
                Act::Press(remote) => {
                    press(&mut again, &mut model, if remote { Who::Remote } else { Who::Screen }, now)?;
                }
                Act::Mash(times) => for n in 0..i64::from(times) {
                    press(&mut again, &mut model, Who::Screen, now.offset(n))?;
                },
                Act::Push(n) => for _ in 0..n % 90 {
                    push(&mut ring, i, key_in == 0);
                    model.captured.push(at(i));
                    key_in = (key_in + 1) % 30;
                    i += 1;
                    ring.prune(at(i));
                },
                Act::Hole(n) => {
                    i += i64::from(n);
                    ring.open_chapter(params());
                    key_in = 0;
                }
                Act::GiveAway => { ring.give_away(); }
                Act::Delay(steps) => bounds.delay = delay(u32::from(steps) * 500),
                Act::Hold => { again.hold(&ring, &bounds, now); }
                Act::Step(on) => {
                    again.step(&ring, bounds.arrived, if on { Way::On } else { Way::Back }, now);
                }
                Act::GoOn => { again.go_on(&ring, bounds.arrived, now); }
                Act::Arrive(back) => {
                    bounds.arrived = Some(at(i - i64::from(back)));
                    model.arrived = bounds.arrived;
                }
                Act::Veil(from, len) => {
                    let (from, to) = (at(i - i64::from(from)), at(i - i64::from(from) + i64::from(len)));
                    ring.veil(from, Some(to), CoverReason::DontShow);
                    model.veils.push((from, Some(to)));
                }
                Act::Cover => {
                    ring.veil(now, None, CoverReason::Covered);
                    model.veils.push((now, None));
                }
                Act::Uncover => {
                    ring.unveil(now);
                    for veil in &mut model.veils { veil.1 = veil.1.or(Some(now)); }
                }
                Act::Wipe(back) => {
                    ring.wipe(at(i - i64::from(back)));
                    model.wiped = model.wiped.max(at(i - i64::from(back)));
                }
                Act::Pause(on) => {
                    ring.pause(on);
                    model.paused = on;
                }
            }
            let said = again.look(&ring, bounds.arrived, at(i));
            model.over = match said {
                None => model.over.map(|over| over.min(at(i))),
                Some(wire::Again::Held { .. }) => Some(at(i)),
                Some(wire::Again::Playing { ends_us, .. }) => Some(ends_us),
            };
            model.check(said)?;
        }
    }
}
