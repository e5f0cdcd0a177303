//! A figure: how its joints bend and where that puts its limbs.
//!
//! One child seen from the side, facing right, as sticks of even thickness
//! with round joints; facing shows in nose and feet. Lengths are metres in the
//! figure's own plane, x forward, y up, the hip at the origin.
//!
//! Not here: what the figure does when (see `attempt`), or drawing it.

/// Metres forward and up.
pub(super) type Spot = (f32, f32);

/// Lengths of a child of about nine years (1.3 m), in metres.
const TORSO: f32 = 0.37;
const NECK: f32 = 0.145;
const UPPER_ARM: f32 = 0.22;
const FOREARM: f32 = 0.21;
const THIGH: f32 = 0.30;
const SHIN: f32 = 0.30;
const FOOT: f32 = 0.115;
/// Radius of the head.
pub(super) const HEAD: f32 = 0.118;
/// Half the thickness of every limb.
pub(super) const LIMB: f32 = 0.040;

/// The angles of one side's limbs, in radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Side {
    /// Thigh from straight down, forward.
    pub hip: f32,
    /// Bend of the knee.
    pub knee: f32,
    /// Toes up from where the foot would be flat.
    pub toe: f32,
    /// Upper arm from along the torso downwards, forward.
    pub shoulder: f32,
    /// Bend of the elbow.
    pub elbow: f32,
}

/// The angles of a whole figure, in radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pose {
    /// The side towards us.
    pub near: Side,
    /// The other side.
    pub far: Side,
    /// Torso forward from upright.
    pub lean: f32,
    /// Head forward from the line of the torso.
    pub nod: f32,
    /// The whole figure turned forwards, as in a roll.
    pub spin: f32,
}

/// How many angles a pose has.
pub(super) const ANGLES: usize = 13;

impl Pose {
    /// The angles in a row, to reckon with.
    pub(super) fn to_array(self) -> [f32; ANGLES] {
        let (n, f) = (self.near, self.far);
        [
            n.hip, n.knee, n.toe, n.shoulder, n.elbow, f.hip, f.knee, f.toe, f.shoulder, f.elbow,
            self.lean, self.nod, self.spin,
        ]
    }

    /// Back from a row.
    pub(super) fn from_array(row: [f32; ANGLES]) -> Self {
        let side = |at: usize| Side {
            hip: row[at],
            knee: row[at + 1],
            toe: row[at + 2],
            shoulder: row[at + 3],
            elbow: row[at + 4],
        };
        Self {
            near: side(0),
            far: side(5),
            lean: row[10],
            nod: row[11],
            spin: row[12],
        }
    }

    /// This pose moved a share of the way to another.
    pub(super) fn towards(self, other: Self, share: f32) -> Self {
        let (from, to) = (self.to_array(), other.to_array());
        Self::from_array(std::array::from_fn(|i| from[i] + (to[i] - from[i]) * share))
    }
}

/// A pose from its two sides (hip, knee, toe, shoulder, elbow each).
pub(super) fn sides(near: [f32; 5], far: [f32; 5], lean: f32, nod: f32) -> Pose {
    let mut row = [0.0; ANGLES];
    row[..5].copy_from_slice(&near);
    row[5..10].copy_from_slice(&far);
    row[10] = lean;
    row[11] = nod;
    Pose::from_array(row)
}

/// Both sides alike, but for a little, so that both can be seen.
pub(super) fn both(side: [f32; 5], lean: f32, nod: f32) -> Pose {
    let mut far = side;
    far[0] += 0.07;
    far[1] += 0.10;
    far[3] += 0.12;
    sides(side, far, lean, nod)
}

/// At ease.
pub(super) fn standing() -> Pose {
    both([-0.02, 0.03, 0.0, 0.03, 0.15], 0.01, 0.0)
}

/// As a gymnast begins and ends.
pub(super) fn arms_high() -> Pose {
    both([-0.03, 0.02, 0.0, 2.75, 0.1], -0.04, -0.08)
}

/// One moment of a walk. `phase` goes round once in two steps.
pub(super) fn walking(phase: f32) -> Pose {
    let side = |phase: f32| {
        // The knee bends while its thigh swings forward, and gives a little as
        // it takes the weight.
        let swing = (phase + 0.35).cos().max(0.0);
        Side {
            hip: 0.06 + 0.43 * phase.sin(),
            knee: 0.10 + 0.95 * swing * swing,
            toe: 0.10 * phase.sin() - 0.25 * (phase + 1.2).cos().max(0.0),
            shoulder: -0.48 * phase.sin(),
            elbow: 0.32 - 0.18 * phase.sin(),
        }
    };
    Pose {
        near: side(phase),
        far: side(phase + std::f32::consts::PI),
        lean: 0.05,
        nod: 0.02,
        spin: 0.0,
    }
}

/// Metres of one turn of [`walking`]'s phase: two steps of a child's legs.
pub(super) const STRIDE_M: f32 = 1.02;

/// Where one side's joints are.
#[derive(Clone, Copy, Debug)]
pub(super) struct Limbs {
    pub knee: Spot,
    pub ankle: Spot,
    pub toe: Spot,
    pub elbow: Spot,
    pub hand: Spot,
}

/// Where all the joints are, the hip at the origin.
#[derive(Clone, Copy, Debug)]
pub(super) struct Body {
    pub near: Limbs,
    pub far: Limbs,
    pub shoulder: Spot,
    pub head: Spot,
    pub nose: Spot,
}

/// `length` metres at `angle` from straight down, forward.
fn hang(from: Spot, length: f32, angle: f32) -> Spot {
    (from.0 + length * angle.sin(), from.1 - length * angle.cos())
}

impl Body {
    /// Bends the joints.
    pub(super) fn of(pose: &Pose) -> Self {
        use std::f32::consts::{FRAC_PI_2, PI};

        let upright = pose.lean + pose.spin;
        let shoulder = hang((0.0, 0.0), TORSO, PI - upright);
        let gaze = upright + pose.nod;
        let head = hang(shoulder, NECK + HEAD * 0.45, PI - gaze);
        let nose = hang(head, HEAD * 1.08, FRAC_PI_2 - gaze - 0.12);
        let limbs = |side: &Side| {
            let thigh = side.hip - pose.spin;
            let shin = thigh - side.knee;
            let knee = hang((0.0, 0.0), THIGH, thigh);
            let ankle = hang(knee, SHIN, shin);
            // A foot stays nearly flat while the shin tips over it.
            let flat = FRAC_PI_2 - pose.spin + 0.25 * (shin + pose.spin) + side.toe;
            let arm = side.shoulder - upright;
            let elbow = hang(shoulder, UPPER_ARM, arm);
            Limbs {
                knee,
                ankle,
                toe: hang(ankle, FOOT, flat),
                elbow,
                hand: hang(elbow, FOREARM, arm + side.elbow),
            }
        };
        Self {
            near: limbs(&pose.near),
            far: limbs(&pose.far),
            shoulder,
            head,
            nose,
        }
    }

    /// How far below the hip the figure reaches: what it stands, kneels or
    /// rolls on.
    pub(super) fn reach_down(&self) -> f32 {
        let limbs = |l: &Limbs| [l.knee.1, l.ankle.1, l.toe.1, l.elbow.1, l.hand.1];
        let lowest = limbs(&self.near)
            .into_iter()
            .chain(limbs(&self.far))
            .chain([0.0, self.shoulder.1, self.head.1 - (HEAD - LIMB)])
            .fold(f32::INFINITY, f32::min);
        LIMB - lowest
    }

    /// The middle of the trunk, about which a tucked body rolls.
    pub(super) fn core(&self) -> Spot {
        (self.shoulder.0 * 0.45, self.shoulder.1 * 0.45)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_standing_child_is_as_tall_as_a_child() {
        let still = Pose::from_array([0.0; ANGLES]);
        let body = Body::of(&still);
        let height_m = body.reach_down() + body.head.1 + HEAD;
        assert!((1.2..1.4).contains(&height_m), "{height_m} m");
        assert!(body.nose.0 > 0.0 && body.near.toe.0 > body.near.ankle.0);
    }

    #[test]
    fn a_whole_turn_comes_back() {
        let still = walking(0.7);
        let turned = Pose {
            spin: std::f32::consts::TAU,
            ..still
        };
        let (one, two) = (Body::of(&still), Body::of(&turned));
        assert!((one.near.hand.0 - two.near.hand.0).abs() < 1e-4);
        assert!((one.reach_down() - two.reach_down()).abs() < 1e-4);
        assert_eq!(Pose::from_array(still.to_array()), still);
    }
}
