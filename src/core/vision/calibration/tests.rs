//! Screens that change, cameras that look at them, and what comes of it.

use proptest::prelude::*;

use super::*;

const START_US: i64 = 1_790_000_000_000_000;

/// A camera that looks at a screen.
#[derive(Clone, Debug)]
#[allow(clippy::struct_field_names, reason = "units stand in names")]
struct Look {
    /// What is to be found.
    latency_us: i64,
    /// What is taken off its capture times already.
    taken_off_us: i64,
    picture_us: i64,
    /// Its first picture, after the screen's first change.
    phase_us: i64,
}

impl Look {
    fn steady(latency_us: i64) -> Self {
        Self {
            latency_us,
            taken_off_us: 200_000,
            picture_us: 33_333,
            phase_us: 5_000,
        }
    }

    /// Looks for so long; `spoil` may change what a picture shows, and when it
    /// is said to have been taken.
    fn watch(&self, seconds: i64, mut spoil: impl FnMut(i64, &mut i64, &mut Seen)) -> Calibration {
        let changes = changes();
        let mut calibration = Calibration::new(self.taken_off_us);
        for index in 0..seconds * 1_000_000 / self.picture_us {
            let light_us = START_US + 600_000 + self.phase_us + index * self.picture_us;
            let shown = changes.iter().rev().find(|ms| **ms * 1000 <= light_us);
            let mut seen = shown.map_or(Seen::Nothing, |ms| Seen::Time(*ms as u64));
            let mut capture_us = light_us + self.latency_us - self.taken_off_us;
            spoil(index, &mut capture_us, &mut seen);
            let capture = CaptureUs(capture_us as u64);
            // Reading the bars answers with nothing else.
            if !matches!(seen, Seen::Time(ms) if !calibration.possible(capture).contains(&ms)) {
                calibration.add(capture, seen);
            }
        }
        calibration
    }
}

/// When a screen of sixty hertz changes, in milliseconds: as web/live/bars.js has
/// it, at the first refresh after evenly scattered moments.
fn changes() -> Vec<i64> {
    let due = |n: i64| n as f64 * 550.0 + 100.0 * (n as f64 * 0.618_034).fract();
    let refresh = |ms: f64| ((ms * 0.06).ceil() / 0.06).round() as i64;
    (1..40).map(|n| START_US / 1000 + refresh(due(n))).collect()
}

/// So many of a hundred are true, in any order.
fn some_of_a_hundred(count: usize) -> impl Strategy<Value = Vec<bool>> {
    Just((0..100).map(|n| n < count).collect::<Vec<_>>()).prop_shuffle()
}

fn nothing(_: i64, _: &mut i64, _: &mut Seen) {}

fn off_ms(calibration: &Calibration, latency_us: i64) -> i64 {
    let found = calibration.verdict().unwrap();
    assert!(found.unsure_ms <= 20, "{found:?}");
    (i64::from(found.latency_ms) - latency_us / 1000).abs()
}

#[test]
fn twenty_changes_suffice_and_they_come_within_twelve_seconds() {
    let look = Look::steady(240_000);
    assert!(!look.watch(8, nothing).suffices());
    let calibration = look.watch(12, nothing);
    assert!(calibration.suffices(), "{:?}", calibration.verdict());
}

#[test]
fn an_unread_picture_here_and_there_is_no_matter() {
    let look = Look::steady(240_000);
    let gaps = look.watch(20, |index, _, seen| {
        if index % 5 == 0 {
            *seen = Seen::Nothing;
        }
    });
    assert!(off_ms(&gaps, look.latency_us) <= 10, "{:?}", gaps.verdict());
}

#[test]
fn a_screen_that_is_not_there_is_not_found() {
    let look = Look::steady(240_000);
    let blind = look.watch(20, |_, _, seen| *seen = Seen::Nothing);
    assert_eq!(blind.verdict(), Err(Unclear::NotFound));
    assert_eq!(Calibration::new(0).verdict(), Err(Unclear::NotFound));
}

#[test]
fn a_lid_on_the_lens_is_told_from_a_camera_that_looks_elsewhere() {
    let look = Look::steady(240_000);
    let lid = |dark_of_ten| {
        look.watch(20, move |index, _, seen| {
            *seen = if index % 10 < dark_of_ten {
                Seen::Dark
            } else {
                Seen::Nothing
            };
        })
    };
    assert_eq!(lid(9).verdict(), Err(Unclear::TooDark));
    assert_eq!(lid(2).verdict(), Err(Unclear::NotFound));
}

#[test]
fn a_screen_seen_now_and_then_is_too_few_changes() {
    // Somebody stands in the way most of the time.
    let look = Look::steady(240_000);
    let rarely = look.watch(20, |index, _, seen| {
        if index / 60 % 6 != 0 {
            *seen = Seen::Nothing;
        }
    });
    assert_eq!(rarely.verdict(), Err(Unclear::TooFew));
    let changing = look.watch(20, |_, _, seen| *seen = Seen::Changing);
    assert_eq!(changing.verdict(), Err(Unclear::TooFew));
}

#[test]
fn a_camera_whose_stamps_wander_is_too_uneven() {
    let look = Look::steady(240_000);
    let wander = look.watch(20, |index, capture_us, _| {
        *capture_us += (index * 7919 % 200) * 1000;
    });
    assert_eq!(wander.verdict(), Err(Unclear::Uneven));
    // Capture times that are still being brought into line.
    let slew = look.watch(20, |index, capture_us, _| *capture_us -= index * 200);
    assert_eq!(slew.verdict(), Err(Unclear::Uneven));
}

#[test]
fn three_seconds_are_no_cameras() {
    let look = Look {
        taken_off_us: 0,
        ..Look::steady(2_300_000)
    };
    assert_eq!(look.watch(20, nothing).verdict(), Err(Unclear::Impossible));
}

proptest! {
    #[test]
    fn any_camera_is_found(
        latency_ms in 0_i64..=1_980,
        taken_off_ms in 0_i64..=2_000,
        (fps, phase) in (12_i64..=60, 0.0..1.0),
    ) {
        let picture_us = 1_000_000 / fps;
        let look = Look {
            latency_us: latency_ms * 1000,
            taken_off_us: taken_off_ms * 1000,
            picture_us,
            phase_us: (phase * picture_us as f64) as i64,
        };
        let off = off_ms(&look.watch(20, nothing), look.latency_us);
        // Half of a screen's refresh and a little, where the camera is locked to it.
        prop_assert!(off <= 12, "{off}");
    }

    #[test]
    fn a_quarter_of_the_pictures_unread_and_one_in_ten_misread_hurt_little(
        latency_ms in 0_i64..=1_500,
        unread in some_of_a_hundred(25),
        misread in some_of_a_hundred(10),
    ) {
        let look = Look::steady(latency_ms * 1000);
        let spoilt = look.watch(20, |index, _, seen| {
            let index = index as usize % 100;
            if unread[index] {
                *seen = Seen::Nothing;
            } else if let (true, Seen::Time(ms)) = (misread[index], seen) {
                // A bit of the old time among those of the new one.
                *ms ^= 0x40;
            }
        });
        // Where too much of it is spoilt there is no figure rather than a wrong one.
        if spoilt.verdict() != Err(Unclear::Uneven) {
            let off = off_ms(&spoilt, look.latency_us);
            prop_assert!(off <= 15, "{off}");
        }
    }

    #[test]
    fn a_screen_that_is_often_late_hurts_little(
        latency_ms in 0_i64..=1_500,
        late_ones in proptest::collection::vec(0_usize..5, 8),
    ) {
        let look = Look::steady(latency_ms * 1000);
        let mut late = Calibration::new(look.taken_off_us);
        let changes = changes();
        // One change in five shows fifty milliseconds later than it says.
        let is_late = |index: usize| late_ones[index / 5] == index % 5;
        let shows: Vec<i64> = (0..changes.len())
            .map(|index| changes[index] + if is_late(index) { 50 } else { 0 }).collect();
        for index in 0..600 {
            let light_us = START_US + 605_000 + index * 33_333;
            let shown = shows.iter().rposition(|ms| *ms * 1000 <= light_us);
            let seen = shown.map_or(Seen::Nothing, |at| Seen::Time(changes[at] as u64));
            late.add(CaptureUs((light_us + look.latency_us - look.taken_off_us) as u64), seen);
        }
        let off = off_ms(&late, look.latency_us);
        prop_assert!(off <= 15, "{off}");
    }

    #[test]
    fn any_sightings_are_borne(
        sightings in proptest::collection::vec((any::<u64>(), any::<u64>(), 0..3), 0..200),
        taken_off_us in any::<i64>(),
    ) {
        let mut calibration = Calibration::new(taken_off_us);
        for (capture, time, kind) in sightings {
            calibration.add(CaptureUs(capture), match kind {
                0 => Seen::Nothing,
                1 => Seen::Changing,
                _ => Seen::Time(time % 4),
            });
        }
        let _ = (calibration.verdict(), calibration.suffices());
    }
}
