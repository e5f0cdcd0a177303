use super::*;

const FOOT_MM: f64 = 12.0 * INCH_MM;

/// Within a hundredth, which is finer than what the sources print.
fn near(found: f64, wanted: f64) -> bool {
    (found - wanted).abs() < 0.01
}

/// ADA 2010 Standards, table 703.5.5 and 703.5.5's own steps, in inches; the
/// distances between the rows are computed from the table's "plus 1/8 inch per
/// foot".
#[test]
fn the_least_letter_is_that_of_table_703_5_5() {
    let feet = |feet: f64| feet * 12.0;
    for (baseline_in, distance_in, least_in) in [
        (40.0, feet(3.0), 0.625),
        (70.0, feet(5.9), 0.625),
        (60.0, feet(10.0), 1.125),
        (60.0, feet(20.0), 2.375),
        (60.0, feet(30.0), 3.625),
        (60.0, feet(40.0), 4.875),
        (70.1, feet(14.0), 2.0),
        (120.0, feet(20.0), 2.625),
        (100.0, feet(30.0), 3.875),
        (121.0, feet(20.0), 3.0),
        (121.0, feet(30.0), 4.125),
    ] {
        let found = ada_least_in(baseline_in, distance_in);
        assert!(
            near(found, least_in),
            "{baseline_in} in, {distance_in} in: {found}"
        );
    }
    // 60.3 mm at 20 ft in the lowest row.
    assert!((ada_least_in(60.0, feet(20.0)) * INCH_MM - 60.325).abs() < 1e-9);
}

#[test]
fn the_table_has_no_step_where_a_distance_begins_to_count() {
    for (baseline_in, from_in) in [(60.0, 72.0), (100.0, 180.0), (130.0, 252.0)] {
        let [before, after] = [-0.01, 0.01].map(|d| ada_least_in(baseline_in, from_in + d));
        assert!((after - before).abs() < 0.001, "{baseline_in} in");
    }
}

/// h = 2·d·tan(θ/2). 8.87 mm at 20 ft is the letter of 5 minutes that a visual
/// acuity of 20/20 reads; the others are computed from the formula for ISO
/// 9241-3's 16 and 20 minutes.
#[test]
fn a_visual_angle_is_so_many_millimetres() {
    for (distance_mm, arcmin, height_mm) in [
        (20.0 * FOOT_MM, 5.0, 8.87),
        (3_000.0, 16.0, 13.96),
        (3_000.0, 20.0, 17.45),
        (10_000.0, 16.0, 46.54),
        (10_000.0, 20.0, 58.18),
        (15_000.0, 16.0, 69.81),
        (15_000.0, 20.0, 87.27),
    ] {
        let found = visual_angle_mm(distance_mm, arcmin);
        assert!(
            near(found, height_mm),
            "{distance_mm} mm, {arcmin}′: {found}"
        );
    }
}

/// 43 inches of 16:9 are 535 mm high (computed).
#[test]
fn a_screen_is_as_high_as_its_diagonal_says() {
    let screen = Screen::read_from(43.0, 1_100.0, 6_000.0);
    assert!((screen.height_mm() - 535.5).abs() < 0.5);
}

#[test]
fn the_greater_of_both_rules_is_the_smallest_letter() {
    // Where nobody can come nearer, the table asks for more: 20 ft, lowest row.
    let wall = Screen::read_from(43.0, 1_100.0, 20.0 * FOOT_MM);
    assert!((wall.letters().least_mm - 60.325).abs() < 0.01);
    assert!((wall.letters().preferred - wall.letters().least).abs() < 1e-9);
    // Where a child can walk up to it, the eye at six metres asks for more.
    let near_by = Screen {
        approach_mm: 2_000.0,
        ..Screen::read_from(43.0, 1_100.0, 6_000.0)
    };
    let letters = near_by.letters();
    assert!(near(letters.least_mm, visual_angle_mm(6_000.0, 16.0)));
    assert!(near(
        letters.preferred * near_by.height_mm(),
        visual_angle_mm(6_000.0, 20.0)
    ));
    // Nobody stands further off than they can come near.
    let odd = Screen {
        approach_mm: 9_000.0,
        ..wall
    };
    assert_eq!(odd.letters(), wall.letters());
}

#[test]
fn the_highest_line_decides_the_row() {
    let low = Screen::read_from(43.0, 1_100.0, 4_000.0);
    let high = Screen::read_from(43.0, 1_320.0, 4_000.0);
    // The second's highest line is above 70 inches.
    assert!(near(high.letters().least_mm, 2.0 * INCH_MM));
    assert!(low.letters().least_mm < high.letters().least_mm);
    // 65 inches from 1.02 m up: 1.829 m, and its highest baseline below 1.778 m.
    let between = Screen::default();
    assert!(between.lower_edge_mm + between.height_mm() > 1_780.0);
    assert!(
        near(between.letters().least_mm, 59.32),
        "the lowest row, at 6 m"
    );
    assert!(!low.hangs_low());
    assert!(Screen::read_from(43.0, 900.0, 4_000.0).hangs_low());
}

#[test]
fn pixels_follow_the_picture_not_the_screen() {
    let letters = Screen::default().letters();
    assert!(near(
        letters.least_px(2160.0),
        2.0 * letters.least_px(1080.0)
    ));
}

#[test]
fn words_break_at_spaces_and_only_there() {
    let width = width_of("soft knees");
    assert_eq!(lines("soft knees", width + 0.01), Some(1));
    assert_eq!(lines("soft knees", width - 0.01), Some(2));
    assert_eq!(lines("soft knees", width_of("knees") - 0.01), None);
    assert_eq!(lines("  ", 1.0), Some(1));
}

#[test]
fn a_cue_fits_until_it_is_too_long_or_the_screen_too_small() {
    let cue = "Soft knees, quiet feet";
    assert!(cue_fits(cue, &Screen::default()));
    assert!(!cue_fits(&cue.repeat(6), &Screen::default()));
    assert!(!cue_fits(cue, &Screen::read_from(24.0, 1_100.0, 9_000.0)));
    let nearer = Screen::read_from(24.0, 1_100.0, 2_000.0);
    assert!(cue_fits(cue, &nearer));
}

proptest::proptest! {
    #[test]
    fn no_line_on_a_screen_is_smaller_than_the_rules_ask_where_it_stands(
        edge in 500.0_f64..3_000.0, more in 0.0_f64..500.0, distance in 500.0_f64..20_000.0, down in 0.0_f64..1.0,
    ) {
        let screen = Screen::read_from(55.0, edge, distance);
        let least = screen.letters().least_mm;
        let highest = edge + screen.height_mm() - least.max(HEADROOM * screen.height_mm());
        let baseline = edge + (highest - edge) * down;
        let asked = ada_least_in(baseline / INCH_MM, distance / INCH_MM) * INCH_MM;
        proptest::prop_assert!(least >= asked - 1e-9);
        proptest::prop_assert!(least >= visual_angle_mm(distance, ISO_LEAST_ARCMIN) - 1e-9);
        let higher = Screen::read_from(55.0, edge + more, distance).letters().least_mm;
        proptest::prop_assert!(least <= higher + 1e-9);
    }

    #[test]
    fn a_word_more_never_makes_a_cue_fit(words in "[a-z]{1,9}( [a-z]{1,9}){0,12}", word in "[a-z]{1,9}") {
        let screen = Screen::default();
        if cue_fits(&format!("{words} {word}"), &screen) {
            proptest::prop_assert!(cue_fits(&words, &screen));
        }
    }
}
