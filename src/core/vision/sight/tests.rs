//! Drawn rooms in good and bad light, sharp and not, and what is said of them.

use proptest::prelude::*;

use super::*;
use crate::{
    kernel::CaptureUs,
    media::strip,
    scene::{FilmedScreen, Filming, Scene, Size},
};

const WIDTH: usize = 640;
const HEIGHT: usize = 360;
/// So many points each way become one.
const PART: usize = 4;
const START: CaptureUs = CaptureUs(1_790_000_000_000_000);

/// A drawn gym at some moment, its brightness from 0 to 255.
fn gym(seed: u64, seconds: i64) -> Vec<u8> {
    let size = Size::new(WIDTH as u32, HEIGHT as u32).unwrap();
    let mut picture = vec![0; size.i420_bytes()];
    let mut scene = Scene::new(seed, START, size);
    let at = START.offset(seconds * 1_000_000);
    scene.draw(at, &mut picture).unwrap();
    picture.truncate(WIDTH * HEIGHT);
    for y in &mut picture {
        *y = ((f32::from(*y) - 16.0) * 255.0 / 219.0).clamp(0.0, 255.0) as u8;
    }
    picture
}

/// As it comes from the decoder: a sixteenth of the points.
fn coarse(luma: &[u8]) -> Vec<u8> {
    let mut small = Vec::with_capacity(luma.len() / PART / PART);
    for rows in luma.chunks_exact(WIDTH * PART) {
        for column in (0..WIDTH).step_by(PART) {
            let points = rows.chunks_exact(WIDTH);
            let sum: u32 = points
                .flat_map(|row| &row[column..column + PART])
                .map(|y| u32::from(*y))
                .sum();
            small.push((sum / (PART * PART) as u32) as u8);
        }
    }
    small
}

fn found(luma: &[u8], said: Option<Trouble>) -> Option<Trouble> {
    let small = coarse(luma);
    trouble(
        Grey::new(&small, WIDTH / PART, HEIGHT / PART).unwrap(),
        said,
    )
}

/// Every point by some rule.
fn lit(mut luma: Vec<u8>, rule: impl Fn(f32) -> f32) -> Vec<u8> {
    for y in &mut luma {
        *y = rule(f32::from(*y)).clamp(0.0, 255.0) as u8;
    }
    luma
}

/// A lens out of focus: a point becomes a spot, twice this wide.
fn soft(luma: &[u8], radius: usize) -> Vec<u8> {
    let mean = |line: &[u8], at: usize| {
        let near = at.saturating_sub(radius / 2)..(at + radius / 2 + 1).min(line.len());
        let count = near.len() as u32;
        (line[near].iter().map(|y| u32::from(*y)).sum::<u32>() / count) as u8
    };
    let mut luma = luma.to_vec();
    // Twice makes it nearly round.
    for _ in 0..2 {
        for row in luma.chunks_exact_mut(WIDTH) {
            let line = row.to_vec();
            (0..WIDTH).for_each(|at| row[at] = mean(&line, at));
        }
        for column in 0..WIDTH {
            let line: Vec<u8> = luma.iter().skip(column).step_by(WIDTH).copied().collect();
            (0..HEIGHT).for_each(|row| luma[row * WIDTH + column] = mean(&line, row));
        }
    }
    luma
}

/// A bright window over these columns of the upper two thirds.
fn window(mut luma: Vec<u8>, columns: std::ops::Range<usize>) -> Vec<u8> {
    for row in luma.chunks_exact_mut(WIDTH).take(HEIGHT * 2 / 3) {
        row[columns.clone()].fill(250);
    }
    luma
}

fn noisy(mut luma: Vec<u8>, most: i32) -> Vec<u8> {
    let mut dice = 12_345_u32;
    for y in &mut luma {
        dice = dice.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let thrown = (dice >> 16) as i32 % (2 * most + 1) - most;
        *y = (i32::from(*y) + thrown).clamp(0, 255) as u8;
    }
    luma
}

#[test]
fn nothing_is_said_of_a_good_picture() {
    for seed in 0..6 {
        for seconds in [0, 7, 31, 64] {
            let gym = gym(seed, seconds);
            for said in [
                None,
                Some(Trouble::TooDark),
                Some(Trouble::Backlit),
                Some(Trouble::OutOfFocus),
            ] {
                assert_eq!(found(&gym, said), None, "{seed} {seconds} {said:?}");
            }
        }
    }
}

#[test]
fn nothing_is_said_of_ordinary_differences() {
    let gym = gym(3, 20);
    let ordinary = [
        ("an overcast afternoon", lit(gym.clone(), |y| y * 0.62)),
        ("a little bright", lit(gym.clone(), |y| y * 1.25)),
        (
            "a flat, cheap camera",
            lit(gym.clone(), |y| 70.0 + y * 0.45),
        ),
        (
            "a contrasty one",
            lit(gym.clone(), |y| 1.4 * (y - 128.0) + 128.0),
        ),
        ("noise", noisy(gym.clone(), 24)),
        ("a window in a lit room", window(gym.clone(), 40..220)),
        (
            "a wall of windows in a lit room",
            window(gym.clone(), 40..600),
        ),
        ("a little soft", soft(&gym, 4)),
        (
            "dark, and a white mat",
            window(lit(gym.clone(), |y| y * 0.5), 300..360),
        ),
    ];
    for (what, luma) in &ordinary {
        assert_eq!(found(luma, None), None, "{what}");
    }
    // Bare, and with nothing in it that could be sharp.
    for y in [70, 128, 250] {
        assert_eq!(found(&vec![y; WIDTH * HEIGHT], None), None, "a wall of {y}");
    }
    let falling = (0..WIDTH * HEIGHT).map(|at| 60 + (at % WIDTH / 4) as u8);
    assert_eq!(
        found(&falling.collect::<Vec<_>>(), None),
        None,
        "a lamp's wall"
    );
}

#[test]
fn nothing_is_said_of_walls_with_posters_and_bars() {
    for seed in 0..24 {
        let filming = Filming {
            across: 0.2,
            ..Filming::well(WIDTH, HEIGHT)
        };
        let luma = FilmedScreen::new(filming, seed).film(0, 0, 0.0);
        assert_eq!(found(&luma, None), None, "{seed}");
    }
}

#[test]
fn hardly_any_light_is_too_dark() {
    for seed in 0..6 {
        let dark = noisy(lit(gym(seed, 20), |y| y * 0.15), 10);
        assert_eq!(found(&dark, None), Some(Trouble::TooDark));
    }
    assert_eq!(
        found(&vec![0; WIDTH * HEIGHT], None),
        Some(Trouble::TooDark),
        "a lid on the lens"
    );
}

#[test]
fn a_window_that_leaves_shadows_is_backlit() {
    for (columns, share) in [(100..520, 0.25), (0..640, 0.3), (260..420, 0.2)] {
        for seed in 0..6 {
            let shadows = lit(gym(seed, 20), |y| y * share);
            let luma = window(shadows, columns.clone());
            assert_eq!(found(&luma, None), Some(Trouble::Backlit), "{columns:?}");
        }
    }
}

#[test]
fn no_sharp_edge_is_out_of_focus_whatever_a_camera_writes_over_it() {
    for radius in [16, 24, 40] {
        for seed in 0..6 {
            let mut luma = soft(&gym(seed, 20), radius);
            assert_eq!(
                found(&luma, None),
                Some(Trouble::OutOfFocus),
                "{radius} {seed}"
            );
            strip::draw(&mut luma, WIDTH, WIDTH, HEIGHT, START.as_ms());
            assert_eq!(found(&luma, None), Some(Trouble::OutOfFocus), "a date");
            let noise = noisy(luma, 16);
            assert_eq!(found(&noise, None), Some(Trouble::OutOfFocus), "noise");
        }
    }
}

#[test]
fn what_was_said_takes_less_to_stay() {
    let dim = lit(gym(3, 20), |y| y * 0.29);
    assert_eq!(found(&dim, None), None);
    assert_eq!(found(&dim, Some(Trouble::TooDark)), Some(Trouble::TooDark));
}

#[test]
fn a_few_looks_have_to_agree() {
    let mut sight = Sight::default();
    let dark = Some(Trouble::TooDark);
    for found in [dark, dark, None, dark, dark, Some(Trouble::Backlit), dark] {
        assert!(!sight.add(found));
        assert_eq!(sight.said(), None);
    }
    assert!(!sight.add(dark) && sight.add(dark));
    assert_eq!(sight.said(), dark);
    // Lights flicker on.
    for found in [None, None, dark, None, dark] {
        assert!(!sight.add(found));
        assert_eq!(sight.said(), dark);
    }
    assert!(!sight.add(None) && !sight.add(None) && sight.add(None));
    assert_eq!(sight.said(), None);
}

proptest! {
    /// Whatever the picture: no panic, and what was found alone stays found when
    /// it has been said.
    #[test]
    fn what_is_found_stays_found(
        points in proptest::collection::vec(any::<u8>(), 1..600),
        width in 1_usize..40,
    ) {
        let height = points.len() / width;
        if let Some(picture) = Grey::new(&points[..width * height], width, height) {
            let first = trouble(picture, None);
            if first.is_some() {
                prop_assert_eq!(trouble(picture, first), first);
            }
        }
    }
}
