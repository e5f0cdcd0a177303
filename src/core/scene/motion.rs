//! Smooth motion through key poses.
//!
//! Between keys every angle follows a monotone cubic (F. N. Fritsch and R. E.
//! Carlson, SIAM J. Numer. Anal. 17, 1980): fluid through a key, no overshoot,
//! and what two keys have alike stays perfectly still, as in a hold. In flight
//! the hip follows the parabola that gravity gives it.
//!
//! Not here: which poses make up an attempt (see `attempt`), or drawing them.

use super::pose::{ANGLES, Body, Pose, STRIDE_M, Spot, walking};

/// Gravity, rounded; a jump looks wrong at once without it.
const GRAVITY_M_S2: f32 = 9.8;

/// One key: where the figure is and how it stands.
#[derive(Clone, Copy)]
pub(super) struct Key {
    /// Where the hip is along the room, or what `foot` and `core` make of it.
    pub x: f32,
    /// Height of what it stands on.
    pub ground: f32,
    /// 1 behind the box, 0 in the middle of the mat.
    pub depth: f32,
    /// How much of the pose is the walk.
    pub walk: f32,
    /// `x` is the far ankle's place rather than the hip's.
    pub foot: f32,
    /// `x` is the trunk's place rather than the hip's.
    pub core: f32,
    pub pose: Pose,
}

const CHANNELS: usize = 6 + ANGLES;

impl Key {
    fn to_array(self) -> [f32; CHANNELS] {
        let place = [
            self.x,
            self.ground,
            self.depth,
            self.walk,
            self.foot,
            self.core,
        ];
        let angles = self.pose.to_array();
        std::array::from_fn(|i| if i < 6 { place[i] } else { angles[i - 6] })
    }

    fn from_array(row: [f32; CHANNELS]) -> Self {
        Self {
            x: row[0],
            ground: row[1],
            depth: row[2],
            walk: row[3],
            foot: row[4],
            core: row[5],
            pose: Pose::from_array(std::array::from_fn(|i| row[i + 6])),
        }
    }
}

/// A figure at one moment.
pub(super) struct Moment {
    /// The hip, in metres from the picture's middle and the floor.
    pub root: Spot,
    /// Height of what is under it.
    pub ground: f32,
    /// 1 behind the box, 0 in the middle of the mat.
    pub depth: f32,
    /// Its joints, from the hip.
    pub body: Body,
}

/// Keys with their times, and the flight among them if there is one.
#[derive(Default)]
pub(super) struct Motion {
    times_s: Vec<f32>,
    keys: Vec<[f32; CHANNELS]>,
    /// From taking off to touching down.
    pub flight_s: Option<(f32, f32)>,
}

impl Motion {
    /// How long it takes.
    pub(super) fn length_s(&self) -> f32 {
        self.times_s.last().copied().unwrap_or(0.0)
    }

    /// Adds a key so long after the last.
    pub(super) fn add(&mut self, after_s: f32, key: Key) {
        self.times_s.push(self.length_s() + after_s);
        self.keys.push(key.to_array());
    }

    /// The figure `at_s` seconds after its entry.
    pub(super) fn moment(&self, at_s: f32) -> Moment {
        let mut moment = self.grounded(at_s);
        if let Some((from_s, to_s)) = self.flight_s
            && (from_s..to_s).contains(&at_s)
        {
            let (off, down) = (self.grounded(from_s), self.grounded(to_s));
            let share = (at_s - from_s) / (to_s - from_s);
            let fall = 0.5 * GRAVITY_M_S2 * (to_s - from_s).powi(2);
            moment.root = (
                off.root.0 + (down.root.0 - off.root.0) * share,
                off.root.1 + (down.root.1 - off.root.1) * share + fall * share * (1.0 - share),
            );
            moment.ground = down.ground;
        }
        moment
    }

    /// The same, as if something always stood on the ground.
    fn grounded(&self, at_s: f32) -> Moment {
        let key = Key::from_array(self.between_keys(at_s));
        let phase = key.x / STRIDE_M * std::f32::consts::TAU;
        let turned = Pose {
            spin: key.pose.spin,
            ..walking(phase)
        };
        let body = Body::of(&key.pose.towards(turned, key.walk));
        let x = key.x - key.foot * body.far.ankle.0 - key.core * body.core().0;
        Moment {
            root: (x, key.ground + body.reach_down()),
            ground: key.ground,
            depth: key.depth,
            body,
        }
    }

    /// Every channel at one time, by monotone cubics.
    fn between_keys(&self, at_s: f32) -> [f32; CHANNELS] {
        let times = &self.times_s;
        let last = times.len() - 1;
        let after = times.partition_point(|&t| t <= at_s).clamp(1, last);
        let before = after - 1;
        let step = times[after] - times[before];
        let share = ((at_s - times[before]) / step.max(1e-6)).clamp(0.0, 1.0);
        std::array::from_fn(|channel| {
            let value = |key: usize| self.keys[key][channel];
            let slope = |from: usize| {
                (value(from + 1) - value(from)) / (times[from + 1] - times[from]).max(1e-6)
            };
            let here = slope(before);
            let (start, end) = (
                if before == 0 {
                    here
                } else {
                    tangent(slope(before - 1), here)
                },
                if after == last {
                    here
                } else {
                    tangent(here, slope(after))
                },
            );
            hermite(
                (value(before), value(after)),
                (start * step, end * step),
                share,
            )
        })
    }
}

/// The slope at a key between two stretches: none at a turning point, otherwise
/// their harmonic mean, which never overshoots.
fn tangent(before: f32, after: f32) -> f32 {
    if before * after <= 0.0 {
        return 0.0;
    }
    2.0 * before * after / (before + after)
}

fn hermite((from, to): (f32, f32), (start, end): (f32, f32), share: f32) -> f32 {
    let (s2, s3) = (share * share, share * share * share);
    from * (2.0 * s3 - 3.0 * s2 + 1.0)
        + start * (s3 - 2.0 * s2 + share)
        + to * (3.0 * s2 - 2.0 * s3)
        + end * (s3 - s2)
}
