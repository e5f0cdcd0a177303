//! What a figure does in one attempt: key poses with their times.
//!
//! Not here: the motion between keys (see `motion`), when attempts happen (see
//! `schedule`), or drawing them.

use super::motion::{Key, Moment, Motion};
use super::pose::{Body, Pose, STRIDE_M, arms_high, both, sides, standing, walking};
use super::random::Random;
use super::room::{BOX_M, EDGE_M, MAT_M};

/// What is tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Skill {
    /// A forward jump from the low box and a soft landing on the mat.
    Jump,
    /// Standing on one leg, held still for some seconds.
    Balance,
    /// A forward roll on the mat.
    Roll,
}

/// One attempt, entry to exit, in seconds from its entry.
pub(super) struct Script {
    motion: Motion,
    /// The still part of a balance.
    pub hold_s: Option<(f32, f32)>,
    /// A slower or quicker child.
    tempo: f32,
}

impl Script {
    /// The attempt that this stream of random numbers describes.
    pub(super) fn new(skill: Skill, random: &mut Random) -> Self {
        let mut script = Self {
            motion: Motion::default(),
            hold_s: None,
            tempo: random.between(0.9, 1.15),
        };
        match skill {
            Skill::Jump => script.jump(random),
            Skill::Balance => script.balance(random),
            Skill::Roll => script.roll(random),
        }
        script
    }

    /// How long it takes.
    pub(super) fn length_s(&self) -> f32 {
        self.motion.length_s()
    }

    /// The figure `at_s` seconds after its entry.
    pub(super) fn moment(&self, at_s: f32) -> Moment {
        self.motion.moment(at_s)
    }

    /// Adds a key `after_s` seconds (at this child's tempo) after the last.
    fn key(&mut self, after_s: f32, key: Key) -> Key {
        self.key_exactly(after_s * self.tempo, key)
    }

    fn key_exactly(&mut self, after_s: f32, key: Key) -> Key {
        self.motion.add(after_s, key);
        key
    }

    /// Walks in from the left edge to `x`.
    fn enter(&mut self, x: f32, depth: f32) -> Key {
        let start = Key {
            x: -EDGE_M,
            ground: 0.0,
            depth,
            walk: 1.0,
            foot: 0.0,
            core: 0.0,
            pose: standing(),
        };
        self.key(0.0, start);
        self.key((x + EDGE_M) / 1.15, Key { x, ..start })
    }

    /// Walks off to the right from a stand.
    fn leave(&mut self, from: Key) {
        let off_the_foot = Key { foot: 0.0, ..from };
        self.key(0.25, off_the_foot);
        let x = from.x + 0.42;
        let walk = 1.0;
        self.key(
            0.5,
            Key {
                x,
                walk,
                ..off_the_foot
            },
        );
        let (x, ground) = (EDGE_M, 0.0);
        let last = Key {
            x,
            ground,
            walk,
            ..off_the_foot
        };
        self.key((EDGE_M - from.x - 0.42) / 1.2, last);
    }

    fn jump(&mut self, random: &mut Random) {
        let approach = self.enter(-2.32, 0.0);
        let far_down = [0.02, 0.05, 0.0, 0.45, 0.5];
        let foot_up = sides([1.42, 1.45, 0.0, -0.4, 0.4], far_down, 0.16, 0.05);
        let key = Key {
            x: -2.0,
            walk: 0.0,
            pose: foot_up,
            ..approach
        };
        self.key(0.40, key);
        let weight = sides(
            [0.62, 0.78, 0.0, 0.3, 0.4],
            [0.15, 1.1, -0.3, 0.0, 0.4],
            0.26,
            0.05,
        );
        let key = Key {
            x: -1.72,
            ground: BOX_M,
            pose: weight,
            ..key
        };
        self.key(0.42, key);
        let key = Key {
            x: -1.45,
            pose: standing(),
            foot: 1.0,
            ..key
        };
        self.key(0.45, key);
        self.key(random.between(0.3, 0.9), key);
        let crouch = both([0.80, 1.42, 0.1, -0.95, 0.15], 0.62, -0.35);
        self.key(
            0.55,
            Key {
                pose: crouch,
                ..key
            },
        );
        let reach = both([-0.22, 0.06, -0.75, 2.45, 0.15], 0.16, -0.05);
        let off = Key {
            pose: reach,
            x: -1.40,
            ..key
        };
        self.key_exactly(0.24, off);
        self.fly(random, off);
    }

    /// Off the box, through the air and onto the mat.
    fn fly(&mut self, random: &mut Random, off: Key) {
        // A longer flight is a higher jump; it lands further out.
        let flight_s = random.between(0.46, 0.56);
        let start_s = self.length_s();
        let tuck = both([0.95, 0.95, -0.1, 2.0, 0.2], 0.2, 0.0);
        self.key_exactly(
            flight_s * 0.5,
            Key {
                pose: tuck,
                x: -0.85,
                ..off
            },
        );
        let touch = both([0.52, 0.42, 0.12, 1.55, 0.15], 0.2, 0.05);
        let x = random.between(-0.15, 0.15);
        let down = Key {
            pose: touch,
            x,
            ground: MAT_M,
            ..off
        };
        self.key_exactly(flight_s * 0.5, down);
        self.motion.flight_s = Some((start_s, self.length_s()));

        let soft = both([1.08, 1.52, 0.1, 1.15, 0.15], 0.62, -0.3);
        self.key_exactly(0.26, Key { pose: soft, ..down });
        self.key(
            0.60,
            Key {
                pose: arms_high(),
                ..down
            },
        );
        self.key(
            random.between(0.6, 1.0),
            Key {
                pose: arms_high(),
                ..down
            },
        );
        let done = Key {
            pose: standing(),
            ..down
        };
        self.key(0.55, done);
        self.leave(done);
    }

    /// From behind the box to the middle of the mat.
    fn onto_the_mat(&mut self, x: f32) -> Key {
        let behind = self.enter(-1.35, 1.0);
        let edge = Key {
            x: -0.75,
            depth: 0.5,
            ground: 0.0,
            ..behind
        };
        self.key(0.52, edge);
        let on = Key {
            x: x - 0.25,
            depth: 0.0,
            ground: MAT_M,
            ..behind
        };
        self.key((x + 0.5) / 1.1, on);
        let stand = Key { x, walk: 0.0, ..on };
        self.key(0.45, stand)
    }

    fn balance(&mut self, random: &mut Random) {
        let arrived = self.onto_the_mat(random.between(0.25, 0.55));
        let ready = Key {
            foot: 1.0,
            ..arrived
        };
        self.key(random.between(0.4, 0.8), ready);
        let held = match (random.unit() * 3.0) as u32 {
            // A scale: trunk down, free leg long behind.
            0 => sides(
                [-1.32, 0.10, -0.9, 2.05, 0.05],
                [0.10, 0.06, 0.0, -0.35, 0.05],
                0.92,
                -0.62,
            ),
            // A stork: free knee high, arms spread.
            1 => sides(
                [1.42, 1.55, -0.5, 1.42, 0.12],
                [0.0, 0.03, 0.0, -1.15, 0.1],
                -0.03,
                0.0,
            ),
            // Free leg straight in front, arms high.
            _ => sides(
                [0.88, 0.06, -0.5, 2.70, 0.1],
                [-0.03, 0.03, 0.0, 2.90, 0.1],
                -0.1,
                -0.05,
            ),
        };
        self.key(
            0.85,
            Key {
                pose: held,
                ..ready
            },
        );
        let from_s = self.length_s();
        self.key_exactly(
            random.between(2.0, 6.0),
            Key {
                pose: held,
                ..ready
            },
        );
        self.hold_s = Some((from_s, self.length_s()));
        self.key(
            0.75,
            Key {
                pose: arms_high(),
                ..ready
            },
        );
        self.key(
            0.5,
            Key {
                pose: arms_high(),
                ..ready
            },
        );
        let done = Key {
            pose: standing(),
            ..ready
        };
        self.key(0.5, done);
        self.leave(done);
    }

    fn roll(&mut self, random: &mut Random) {
        let arrived = self.onto_the_mat(-0.15);
        let ready = Key {
            foot: 1.0,
            ..arrived
        };
        self.key(
            random.between(0.2, 0.7),
            Key {
                pose: arms_high(),
                ..ready
            },
        );
        let squat = both([1.75, 2.45, 0.1, 1.35, 0.2], 0.85, 0.0);
        self.key(
            0.65,
            Key {
                pose: squat,
                ..ready
            },
        );

        let on_the_core = |x: f32, pose: Pose, spin: f32| Key {
            x,
            foot: 0.0,
            core: 1.0,
            pose: Pose { spin, ..pose },
            ..ready
        };
        let x = ready.x + 0.10;
        let hands = both([1.45, 1.55, -0.5, 1.75, 0.1], 1.25, 0.6);
        self.key(0.40, on_the_core(x + 0.10, hands, 0.35));
        let tucked = both([1.85, 2.15, -0.3, 1.15, 0.9], 0.55, 1.05);
        let step_s = random.between(0.19, 0.25);
        for (forward, spin) in [(0.38, 1.9), (0.62, 3.1), (0.86, 4.3)] {
            self.key_exactly(step_s, on_the_core(x + forward, tucked, spin));
        }
        let up = both([2.0, 2.45, 0.1, 1.6, 0.2], 0.72, 0.2);
        let turned = on_the_core(x + 1.16, up, std::f32::consts::TAU);
        self.key_exactly(0.42, turned);
        let stand = |x, pose| Key {
            x,
            pose: Pose {
                spin: std::f32::consts::TAU,
                ..pose
            },
            ..ready
        };
        let over = x + 1.05;
        self.key(0.62, stand(over, arms_high()));
        self.key(0.6, stand(over, arms_high()));
        let done = stand(over, standing());
        self.key(0.5, done);
        self.leave(done);
    }
}

/// A child walking past behind, `share` of its way along, rightwards or not.
pub(super) fn passing(share: f32, rightwards: bool) -> Moment {
    let way_m = 2.0 * PASSER_EDGE_M * share - PASSER_EDGE_M;
    let body = Body::of(&walking(way_m / STRIDE_M * std::f32::consts::TAU));
    Moment {
        root: (if rightwards { way_m } else { -way_m }, body.reach_down()),
        ground: 0.0,
        depth: 1.0,
        body,
    }
}

/// Half of a passer's way, in its own metres; it is further off, so the picture
/// is wider there.
pub(super) const PASSER_EDGE_M: f32 = 4.4;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn motion_is_fluid_and_holds_are_still() {
        for skill in [Skill::Jump, Skill::Balance, Skill::Roll] {
            for stream in 0..40 {
                let script = Script::new(skill, &mut Random::new(5, stream));
                let hand = |at_s: f32| {
                    let m = script.moment(at_s);
                    (m.root.0 + m.body.near.hand.0, m.root.1 + m.body.near.hand.1)
                };
                let mut at_s = 0.0;
                while at_s < script.length_s() {
                    let (a, b) = (hand(at_s), hand(at_s + 0.01));
                    let moved = (a.0 - b.0).hypot(a.1 - b.1);
                    assert!(moved < 0.16, "{skill:?}: {moved} m in 10 ms at {at_s}");
                    at_s += 0.01;
                }
                assert_eq!(script.hold_s.is_some(), skill == Skill::Balance);
                if let Some((from_s, to_s)) = script.hold_s {
                    assert!((2.0..=6.0).contains(&(to_s - from_s)));
                    let (a, b) = (hand(from_s + 0.001), hand(to_s - 0.001));
                    assert!((a.0 - b.0).hypot(a.1 - b.1) < 0.002, "a hold that moves");
                }
            }
        }
    }
}
