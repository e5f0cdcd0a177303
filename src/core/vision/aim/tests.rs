//! A drawn gym, looked at once a second by a camera that stays, trembles, is
//! knocked or turned away.

use proptest::prelude::*;

use super::*;
use crate::{
    kernel::CaptureUs,
    scene::{FilmedScreen, Filming, Scene, Size},
};

const START: CaptureUs = CaptureUs(1_790_000_000_000_000);
/// What is drawn, and the part of it that the camera sees, in points.
const DRAWN: (usize, usize) = (640, 360);
const SEEN: (usize, usize) = (480, 270);
/// From the left and the top of what is drawn, as long as nobody moves it.
const STRAIGHT: (usize, usize) = (80, 45);
/// So many points each way become one.
const PART: usize = 3;

struct Gym {
    scene: Scene,
    picture: Vec<u8>,
}

impl Gym {
    fn new(seed: u64) -> Self {
        let size = Size::new(DRAWN.0 as u32, DRAWN.1 as u32).unwrap();
        Self {
            scene: Scene::new(seed, START, size),
            picture: vec![0; size.i420_bytes()],
        }
    }

    /// What the camera sees after so many seconds, aimed there.
    fn film(&mut self, second: i64, aimed: (usize, usize)) -> Picture {
        let at = START.offset(second * 1_000_000);
        self.scene.draw(at, &mut self.picture).unwrap();
        let rows = self.picture.chunks_exact(DRAWN.0).skip(aimed.1);
        let seen = rows.take(SEEN.1).flat_map(|row| &row[aimed.0..][..SEEN.0]);
        Picture {
            luma: seen.copied().collect(),
            width: SEEN.0,
        }
    }
}

#[derive(Clone)]
struct Picture {
    luma: Vec<u8>,
    width: usize,
}

impl Picture {
    /// As it comes from the decoder: a ninth of the points.
    fn looked_at(&self, aim: &mut Aim) -> Trust {
        let mut small = Vec::new();
        for rows in self.luma.chunks_exact(self.width * PART) {
            for column in (0..self.width).step_by(PART) {
                let lines = rows.chunks_exact(self.width);
                let sum: u32 = lines
                    .flat_map(|line| &line[column..column + PART])
                    .map(|y| u32::from(*y))
                    .sum();
                small.push((sum / (PART * PART) as u32) as u8);
            }
        }
        let width = self.width / PART;
        aim.look(Grey::new(&small, width, small.len() / width).unwrap())
    }

    /// Every point by some rule.
    fn lit(mut self, rule: impl Fn(f32) -> f32) -> Self {
        for y in &mut self.luma {
            *y = rule(f32::from(*y)).clamp(0.0, 255.0) as u8;
        }
        self
    }

    fn noisy(mut self, most: i32, mut dice: u32) -> Self {
        for y in &mut self.luma {
            dice = dice.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let thrown = (dice >> 16) as i32 % (2 * most + 1) - most;
            *y = (i32::from(*y) + thrown).clamp(0, 255) as u8;
        }
        self
    }

    /// Somebody close, in a striped shirt, over these columns.
    fn behind(mut self, columns: std::ops::Range<usize>) -> Self {
        for (row, line) in self.luma.chunks_exact_mut(self.width).enumerate() {
            let stripe = if row / 20 % 2 == 0 { 45 } else { 190 };
            line[columns.clone()].fill(stripe);
        }
        self
    }

    /// Held upright: every row a column.
    fn on_its_side(&self) -> Self {
        let height = self.luma.len() / self.width;
        let columns = (0..self.width)
            .flat_map(|column| (0..height).map(move |row| self.luma[row * self.width + column]));
        Self {
            luma: columns.collect(),
            width: height,
        }
    }
}

/// A wall with posters and bars, somewhere else.
fn elsewhere(seed: u64) -> Picture {
    let filming = Filming {
        across: 0.2,
        ..Filming::well(SEEN.0, SEEN.1)
    };
    Picture {
        luma: FilmedScreen::new(filming, seed).film(0, 0, 0.0),
        width: SEEN.0,
    }
}

/// A camera that has looked at this gym for a while.
fn settled(gym: &mut Gym) -> Aim {
    let mut aim = Aim::default();
    for second in 0..12 {
        let trust = gym.film(second, STRAIGHT).looked_at(&mut aim);
        assert_eq!(trust, Trust::Shown, "second {second}");
    }
    aim
}

#[test]
fn an_hour_of_play_and_light_and_people_passing_is_never_doubted() {
    for seed in 0..12 {
        let mut gym = Gym::new(seed);
        let mut aim = Aim::default();
        for second in 0..300 {
            let picture = gym.film(second, STRAIGHT).noisy(4, second as u32);
            let trust = picture.looked_at(&mut aim);
            assert_eq!(trust, Trust::Shown, "seed {seed}, second {second}");
        }
    }
}

#[test]
fn a_change_of_light_is_never_doubted() {
    let mut gym = Gym::new(3);
    let mut aim = settled(&mut gym);
    for second in 12..60 {
        let picture = gym.film(second, STRAIGHT);
        let picture = match second % 6 {
            0 => picture.lit(|y| y * 0.45),
            1 => picture.lit(|y| y * 1.3),
            2 => picture.lit(|y| 70.0 + y * 0.5),
            // The lights go off, and on.
            3 => picture.lit(|y| y * 0.05).noisy(6, 7),
            4 => picture.noisy(14, 9),
            _ => picture,
        };
        assert_eq!(picture.looked_at(&mut aim), Trust::Shown, "{second}");
    }
}

#[test]
fn somebody_close_is_never_doubted_while_something_is_seen_beside() {
    let mut gym = Gym::new(5);
    let mut aim = settled(&mut gym);
    for (step, from) in (0..SEEN.0 - 260).step_by(20).enumerate() {
        let picture = gym.film(12 + step as i64, STRAIGHT);
        let trust = picture.behind(from..from + 260).looked_at(&mut aim);
        assert_eq!(trust, Trust::Shown, "{from}");
    }
}

#[test]
fn a_tripod_that_trembles_has_not_moved() {
    let mut gym = Gym::new(6);
    let mut aim = settled(&mut gym);
    for (second, (right, down)) in [(4, 0), (0, 3), (5, 5), (1, 6), (6, 2)]
        .into_iter()
        .enumerate()
    {
        let aimed = (STRAIGHT.0 + right, STRAIGHT.1 + down);
        let trust = gym.film(12 + second as i64, aimed).looked_at(&mut aim);
        assert_eq!(trust, Trust::Shown, "{right} {down}");
    }
}

#[test]
fn a_camera_that_was_knocked_is_not_shown_at_the_first_look() {
    for seed in 0..6 {
        for aimed in [
            (0, 45),
            (160, 45),
            (80, 0),
            (80, 90),
            (20, 10),
            (150, 85),
            (30, 80),
        ] {
            let mut gym = Gym::new(seed);
            let mut aim = settled(&mut gym);
            let mut look = |second| gym.film(second, aimed).looked_at(&mut aim);
            assert_eq!(look(12), Trust::Doubted, "seed {seed} {aimed:?}");
            assert_eq!(look(13), Trust::Doubted);
            assert_eq!(look(14), Trust::Moved);
            // Nor when it is turned back: somebody has to look.
            assert_eq!(gym.film(15, STRAIGHT).looked_at(&mut aim), Trust::Moved);
        }
    }
}

#[test]
fn a_camera_that_is_turned_to_another_place_is_not_shown_at_the_first_look() {
    for seed in 0..24 {
        let mut gym = Gym::new(seed);
        let mut aim = settled(&mut gym);
        let trust = elsewhere(seed).looked_at(&mut aim);
        assert_eq!(trust, Trust::Doubted, "seed {seed}");
    }
}

#[test]
fn one_held_upright_is_not_shown_at_the_first_look() {
    let mut gym = Gym::new(2);
    let mut aim = settled(&mut gym);
    let picture = gym.film(12, STRAIGHT).on_its_side();
    assert_eq!(picture.looked_at(&mut aim), Trust::Doubted);
}

#[test]
fn one_turned_to_a_bare_wall_is_not_shown_for_long() {
    let mut gym = Gym::new(2);
    let mut aim = settled(&mut gym);
    let wall = Picture {
        luma: vec![170; SEEN.0 * SEEN.1],
        width: SEEN.0,
    };
    // A ball that rolls by, close.
    for _ in 0..3 {
        assert_eq!(wall.looked_at(&mut aim), Trust::Shown);
    }
    assert_eq!(gym.film(15, STRAIGHT).looked_at(&mut aim), Trust::Shown);
    for _ in 0..3 {
        wall.looked_at(&mut aim);
    }
    assert_eq!(wall.looked_at(&mut aim), Trust::Doubted);
    wall.looked_at(&mut aim);
    assert_eq!(wall.looked_at(&mut aim), Trust::Moved);
}

#[test]
fn a_hand_before_the_lens_is_over_by_itself() {
    let mut gym = Gym::new(4);
    let mut aim = settled(&mut gym);
    let hidden = gym.film(12, STRAIGHT).behind(0..SEEN.0);
    assert_eq!(hidden.looked_at(&mut aim), Trust::Doubted);
    assert_eq!(hidden.looked_at(&mut aim), Trust::Doubted);
    assert_eq!(gym.film(14, STRAIGHT).looked_at(&mut aim), Trust::Shown);
}

#[test]
fn as_somebody_who_looked_says_it_is_right() {
    const AWAY: (usize, usize) = (150, 85);
    let mut gym = Gym::new(4);
    let mut aim = settled(&mut gym);
    for second in 12..16 {
        gym.film(second, AWAY).looked_at(&mut aim);
    }
    assert_eq!(aim.trust(), Trust::Moved);
    aim.right();
    for second in 16..40 {
        assert_eq!(gym.film(second, AWAY).looked_at(&mut aim), Trust::Shown);
    }
    assert_eq!(
        gym.film(40, STRAIGHT).looked_at(&mut aim),
        Trust::Doubted,
        "and is watched again"
    );
}

proptest! {
    /// Whatever the pictures and their sizes: no panic.
    #[test]
    fn any_pictures_are_looked_at(
        looks in proptest::collection::vec(
            (proptest::collection::vec(any::<u8>(), 1..900), 1_usize..40),
            1..24,
        ),
    ) {
        let mut aim = Aim::default();
        for (points, width) in looks {
            let height = points.len() / width;
            if let Some(picture) = Grey::new(&points[..width * height], width, height) {
                let _ = aim.look(picture);
            }
        }
    }
}
