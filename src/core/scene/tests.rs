//! The scene as a whole.

use proptest::prelude::*;

use super::*;

const START: CaptureUs = CaptureUs(1_790_000_000_000_000);

fn picture(scene: &mut Scene, at: CaptureUs, size: Size) -> Vec<u8> {
    let mut picture = vec![0; size.i420_bytes()];
    scene.draw(at, &mut picture).unwrap();
    picture
}

#[test]
fn sizes_are_checked() {
    assert!(Size::new(1280, 720).is_ok_and(|size| size == Size::HD));
    assert_eq!(Size::HD.i420_bytes(), 1_382_400);
    for (width_px, height_px) in [(1279, 720), (1280, 721), (0, 0), (62, 48), (8192, 720)] {
        assert_eq!(
            Size::new(width_px, height_px),
            Err(SizeError {
                width_px,
                height_px
            })
        );
    }
    let mut scene = Scene::new(1, START, Size::HD);
    assert_eq!(
        scene.draw(START, &mut [0; 9]),
        Err(PictureSizeError {
            wanted_bytes: 1_382_400,
            given_bytes: 9
        })
    );
}

#[test]
fn whoever_is_away_is_not_in_the_picture() {
    let size = Size::new(320, 180).unwrap();
    let mut scene = Scene::new(3, START, size);
    let truth = scene.truth(START, START.offset(500_000_000));
    for second in 0..500 {
        let at = START.offset(second * 1_000_000);
        let present = truth
            .iter()
            .filter(|e| e.at <= at)
            .fold(0, |n, e| match e.kind {
                TruthKind::AttemptStart | TruthKind::PasserStart => n + 1,
                TruthKind::AttemptEnd | TruthKind::PasserEnd => n - 1,
                _ => n,
            });
        let drawn = picture(&mut scene, at, size);
        let empty = scene.light.room_at(at.since(START)).to_vec();
        let below = 4 * 320..320 * 180;
        if present == 0 {
            assert!(
                drawn[below.clone()] == empty[below],
                "someone at {second} s"
            );
        }
    }
}

#[test]
fn the_one_who_is_there_can_be_seen() {
    let size = Size::new(320, 180).unwrap();
    let mut scene = Scene::new(4, START, size);
    let truth = scene.truth(START, START.offset(200_000_000));
    let starts = truth.iter().filter(|e| e.kind == TruthKind::AttemptStart);
    for start in starts {
        let at = start.at.offset(3_500_000);
        let drawn = picture(&mut scene, at, size);
        let empty = scene.light.room_at(at.since(START));
        let luma = 320 * 4..320 * 180;
        let changed = drawn[luma.clone()]
            .iter()
            .zip(&empty[luma])
            .filter(|(a, b)| a.abs_diff(**b) > 40)
            .count();
        assert!(changed > 500, "{changed} pixels of a figure at {at:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn truth_is_in_order_and_nests(seed: u64, from_s in 0_i64..4_000_000, long_s in 60_i64..3000) {
        let scene = Scene::new(seed, START, Size::new(64, 48).unwrap());
        let from = START.offset(from_s * 1_000_000);
        let truth = scene.truth(from, from.offset(long_s * 1_000_000));
        prop_assert!(truth.is_sorted_by_key(|event| event.at));
        let mut running: Option<(u32, Skill)> = None;
        let mut last = 0;
        let mut holding = false;
        for event in truth.iter().filter(|e| e.skill.is_some()) {
            let this = Some((event.attempt, event.skill.unwrap()));
            match event.kind {
                TruthKind::AttemptStart => {
                    prop_assert!(running.is_none(), "two attempts at once");
                    prop_assert!(last == 0 || event.attempt == last + 1);
                    last = event.attempt;
                    running = this;
                }
                // What was under way at `from` has its end only.
                _ if last == 0 => {}
                TruthKind::HoldStart => {
                    prop_assert_eq!(running, this);
                    prop_assert!(!holding);
                    holding = true;
                }
                TruthKind::HoldEnd => {
                    prop_assert_eq!(running, this);
                    prop_assert!(holding);
                    holding = false;
                }
                _ => {
                    prop_assert_eq!(running, this);
                    prop_assert!(!holding);
                    running = None;
                }
            }
        }
        let middle = from.offset(long_s * 400_000);
        let mut parts = scene.truth(from, middle);
        parts.extend(scene.truth(middle, from.offset(long_s * 1_000_000)));
        prop_assert_eq!(parts, truth);
    }

    #[test]
    fn any_moment_at_any_size_is_drawn_the_same_again(
        seed: u64,
        at_us in 0_i64..2_000_000_000,
        half_width in 32_u32..200,
        half_height in 24_u32..160,
    ) {
        let size = Size::new(half_width * 2, half_height * 2).unwrap();
        let at = START.offset(at_us);
        let mut scene = Scene::new(seed, START, size);
        let first = picture(&mut scene, at, size);
        let later = picture(&mut scene, at.offset(1_000_000_000), size);
        prop_assert!(first != later);
        prop_assert!(first == picture(&mut scene, at, size), "another order, another picture");
        prop_assert!(first == picture(&mut Scene::new(seed, START, size), at, size));
        let (width, height) = (half_width as usize * 2, half_height as usize * 2);
        prop_assert_eq!(strip::read(&first, width, width, height), Ok(at.as_ms()));
    }

    #[test]
    fn times_far_off_do_no_harm(at_us: u64, start_us: u64) {
        let size = Size::new(160, 90).unwrap();
        let mut scene = Scene::new(9, CaptureUs(start_us), size);
        picture(&mut scene, CaptureUs(at_us), size);
        prop_assert!(scene.truth(CaptureUs(at_us), CaptureUs(u64::MAX)).len() < 60_000);
    }
}

#[test]
fn the_usual_sizes_are_drawn() {
    for (width_px, height_px) in [(160, 90), (640, 360), (1920, 1080), (720, 1280)] {
        let size = Size::new(width_px, height_px).unwrap();
        let mut scene = Scene::new(1, START, size);
        for second in 0..30 {
            picture(&mut scene, START.offset(second * 1_000_000), size);
        }
    }
}

#[test]
fn what_ends_just_after_its_stretch_is_told_with_the_next() {
    // Once lost: an attempt that ends 17 microseconds into the next stretch of
    // the schedule.
    let scene = Scene::new(4_782_659_256_226_432_210, START, Size::new(64, 48).unwrap());
    let (from, to) = (START.offset(759_920_000_000), START.offset(760_000_000_000));
    let whole = scene.truth(START.offset(759_900_000_000), to);
    let late: Vec<_> = whole.into_iter().filter(|event| event.at >= from).collect();
    assert_eq!(scene.truth(from, to), late);
}
