//! Screens filmed in drawn gyms, and pictures without one.

use proptest::prelude::*;

use super::*;
use crate::{
    kernel::CaptureUs,
    scene::{FilmedScreen, Filming, Scene, Size},
};

const TIME_MS: u64 = 1_790_000_000_123;

fn look(luma: &[u8], filming: &Filming, about_ms: u64) -> Seen {
    let picture = Grey::new(luma, filming.width_px, filming.height_px).unwrap();
    read(picture, &(about_ms - 4_000..=about_ms + 50))
}

fn filmed(filming: Filming, seed: u64, time_ms: u64) -> Seen {
    let luma = FilmedScreen::new(filming, seed).film(time_ms, time_ms, 0.0);
    look(&luma, &filming, time_ms + 300)
}

#[test]
fn a_screen_is_read_at_every_size_a_camera_has() {
    for (width, height) in [(640, 360), (1280, 720), (1920, 1080), (640, 480)] {
        for across in [0.4, 0.7, 1.0] {
            let filming = Filming {
                across,
                ..Filming::well(width, height)
            };
            assert_eq!(
                filmed(filming, 1, TIME_MS),
                Seen::Time(TIME_MS),
                "{filming:?}"
            );
        }
    }
}

#[test]
fn a_time_that_cannot_be_is_not_found() {
    let filming = Filming::well(640, 360);
    let luma = FilmedScreen::new(filming, 1).film(TIME_MS, TIME_MS, 0.0);
    // A recording of a screen, from a minute ago.
    assert_eq!(look(&luma, &filming, TIME_MS + 60_000), Seen::Nothing);
    assert_eq!(look(&luma, &filming, TIME_MS - 1_000), Seen::Nothing);
}

#[test]
fn a_picture_as_good_as_black_is_told_from_one_without_a_screen() {
    let filming = Filming::well(640, 360);
    assert_eq!(look(&vec![9; 640 * 360], &filming, TIME_MS), Seen::Dark);
    assert_eq!(look(&vec![90; 640 * 360], &filming, TIME_MS), Seen::Nothing);
}

#[test]
fn a_drawn_gym_is_no_screen_although_its_own_strip_carries_a_time() {
    let size = Size::new(640, 360).unwrap();
    let mut scene = Scene::new(7, CaptureUs(TIME_MS * 1000), size);
    let mut picture = vec![0; size.i420_bytes()];
    for seconds in 0..60 {
        let at = CaptureUs((TIME_MS + seconds * 1000) * 1000);
        scene.draw(at, &mut picture).unwrap();
        let filming = Filming::well(640, 360);
        assert_eq!(
            look(&picture[..640 * 360], &filming, at.as_ms()),
            Seen::Nothing
        );
    }
}

#[test]
fn a_change_within_an_exposure_is_the_old_time_or_the_new_one_or_nothing() {
    let filming = Filming::well(640, 360);
    let mut screen = FilmedScreen::new(filming, 3);
    let (before, now) = (TIME_MS, TIME_MS + 517);
    for percent in 0..=100_u8 {
        let luma = screen.film(before, now, f32::from(percent) / 100.0);
        let seen = look(&luma, &filming, now);
        match percent {
            0..20 => assert_eq!(seen, Seen::Time(before), "{percent} %"),
            81.. => assert_eq!(seen, Seen::Time(now), "{percent} %"),
            _ => assert!(
                [Seen::Time(before), Seen::Time(now), Seen::Nothing].contains(&seen),
                "{percent} %: {seen:?}"
            ),
        }
    }
}

#[test]
fn a_change_between_the_upper_and_the_lower_rows_is_told() {
    let filming = Filming::well(640, 360);
    let mut screen = FilmedScreen::new(filming, 3);
    let mut luma = screen.film(TIME_MS, TIME_MS, 0.0);
    let later = screen.film(TIME_MS + 517, TIME_MS + 517, 0.0);
    // A rolling shutter: rows are taken one after the other.
    luma[180 * 640..].copy_from_slice(&later[180 * 640..]);
    assert_eq!(look(&luma, &filming, TIME_MS + 600), Seen::Changing);
}

/// Views of which every one is to be read.
fn views() -> impl Strategy<Value = Filming> {
    (
        (0.4_f32..=1.0, -5.0_f32..=5.0, -30.0_f32..=30.0),
        (-0.12_f32..=0.12, -0.12_f32..=0.12),
        (10_u8..=60, 45_u8..=190),
        0_u8..=12,
    )
        .prop_map(
            |((across, tilt_deg, aside_deg), (right, down), (dark, more), noise)| Filming {
                // Wholly in the picture.
                middle: (0.5 + right * (1.0 - across), 0.5 + down),
                across: across * 0.94,
                tilt_deg,
                aside_deg,
                levels: (dark, dark + more),
                noise,
                ..Filming::well(640, 360)
            },
        )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn tilted_aside_dim_and_noisy_screens_are_read(
        filming in views(),
        seed in any::<u64>(),
        later_ms in 0_u64..3_000_000_000,
    ) {
        let time_ms = TIME_MS + later_ms;
        prop_assert_eq!(filmed(filming, seed, time_ms), Seen::Time(time_ms));
    }

    #[test]
    fn a_screen_out_of_focus_is_read_as_long_as_a_spot_is_narrower_than_a_column(
        filming in views(),
        seed in any::<u64>(),
    ) {
        // Columns of at least eight pixels.
        let filming = Filming {
            across: 0.8,
            middle: (0.5, 0.5),
            noise: filming.noise / 2,
            blur_px: 2,
            ..filming
        };
        prop_assert_eq!(filmed(filming, seed, TIME_MS), Seen::Time(TIME_MS));
    }

    #[test]
    fn a_screen_that_is_hard_to_see_is_never_misread(
        filming in views(),
        (across, blur_px, noise, more) in (0.1_f32..0.6, 0_usize..5, 0_u8..90, 5_u8..60),
        seed in any::<u64>(),
    ) {
        let filming = Filming {
            across,
            blur_px,
            noise,
            levels: (filming.levels.0, filming.levels.0 + more),
            ..filming
        };
        let seen = filmed(filming, seed, TIME_MS);
        prop_assert!(matches!(seen, Seen::Nothing | Seen::Time(TIME_MS)), "{:?}", seen);
    }

    #[test]
    fn no_picture_makes_it_panic(
        luma in proptest::collection::vec(any::<u8>(), 1..4000),
        width in 1_usize..200,
    ) {
        let width = width.min(luma.len());
        let luma = &luma[..luma.len() / width * width];
        let picture = Grey::new(luma, width, luma.len() / width).unwrap();
        prop_assert_eq!(read(picture, &(TIME_MS..=TIME_MS + 4_000)), Seen::Nothing);
    }
}
