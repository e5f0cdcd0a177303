//! Cameras' bad habits, each a recording with a name: played in simulated time
//! through the intake, the ring and one screen's viewer, and what that screen was
//! sent decoded by programs that are not ours.
//!
//! `scripts/make-fixtures` makes the recordings, and needs running again only
//! where a habit is added. Needs `ffmpeg`.

#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a test fails by panicking, and explains itself"
)]

#[path = "cameras/harness.rs"]
mod cameras;
#[path = "fixtures/habits.rs"]
mod habits;
#[path = "fragments/harness.rs"]
mod harness;
#[path = "fixtures/recording.rs"]
mod recording;
#[path = "fixtures/replay.rs"]
mod replay;

use std::{
    collections::BTreeSet,
    path::{Path, PathBuf},
    sync::LazyLock,
};

use afterturn_core::{delay::LEAD_US, media::Fragment};

use habits::{FIXTURES, Fixture, steps_ms};
use recording::Recording;
use replay::{Came, DELAY_MS, Played, play};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures")
}

fn file(name: &str) -> PathBuf {
    folder().join(name).with_extension("camera")
}

/// Each recording, played once.
fn each() -> impl Iterator<Item = (&'static Fixture, &'static Played)> {
    static PLAYED: LazyLock<Vec<Played>> = LazyLock::new(|| {
        let played = |fixture: &Fixture| play(&Recording::read(&file(fixture.name)).unwrap());
        FIXTURES.iter().map(played).collect()
    });
    FIXTURES.iter().zip(PLAYED.iter())
}

#[test]
fn every_recording_is_tested_reads_whole_and_shows_its_habit() {
    let names: BTreeSet<_> = folder()
        .read_dir()
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "camera"))
        .map(|path| path.file_stem().unwrap().to_str().unwrap().to_owned())
        .collect();
    let tested = FIXTURES.iter().map(|fixture| fixture.name.to_owned());
    assert_eq!(names, tested.collect());
    for Fixture { name, shows, .. } in FIXTURES {
        let bytes = std::fs::read(file(name)).unwrap();
        let recording = Recording::parse(&bytes).unwrap();
        assert_eq!(recording.write(), bytes, "{name}");
        assert_eq!(Recording::parse(&bytes[..bytes.len() - 1]), None, "{name}");
        assert_eq!(
            Recording::parse(&[&bytes[..], &[0]].concat()),
            None,
            "{name}"
        );
        assert!(
            recording.events.is_sorted_by_key(|event| event.at),
            "{name}"
        );
        assert!(shows(&recording), "{name}: {:?}", steps_ms(&recording));
    }
}

#[test]
fn pictures_are_broken_off_where_they_have_to_be_and_go_on_at_a_keyframe() {
    for (fixture, played) in each() {
        let name = fixture.name;
        let breaks: Vec<_> = played.breaks.iter().map(|(_, why)| *why).collect();
        assert_eq!(breaks, fixture.breaks, "{name}");
        let opening: Vec<_> = played.wrapped.iter().filter(|one| one.opens).collect();
        assert!(opening.iter().all(|one| one.fragment.keyframe), "{name}");
        assert!(played.wrapped[0].opens, "{name}");
        // What a camera ends with is followed by nothing.
        let followed = breaks.len() - usize::from(played.ended.is_some());
        assert_eq!(
            (opening.len(), played.chapters),
            (1 + followed, 1 + followed),
            "{name}"
        );
    }
}

#[test]
fn capture_times_increase_and_no_picture_lasts_beyond_the_next_or_for_long() {
    for (Fixture { name, .. }, played) in each() {
        for pair in played.wrapped.windows(2) {
            let (one, next) = (&pair[0].fragment, &pair[1].fragment);
            assert_eq!(next.number, one.number.next(), "{name}");
            let apart_us = next.capture.since(one.capture);
            assert!(apart_us > 0, "{name}: {one:?} {next:?}");
            let lasts_us = i64::from(one.duration_us);
            assert!(
                apart_us == lasts_us || (pair[1].opens && apart_us > lasts_us),
                "{name}: {pair:?}"
            );
        }
        let longest_us = played
            .wrapped
            .iter()
            .map(|one| one.fragment.duration_us)
            .max();
        assert!(
            longest_us.is_some_and(|us| us <= 100_000),
            "{name}: {longest_us:?}"
        );
    }
}

#[test]
fn no_picture_is_stamped_ahead_of_its_arrival() {
    // But by less than a picture: of many transits the least but one counts.
    const MOST_US: i64 = 33_333;
    for (Fixture { name, .. }, played) in each() {
        for one in &played.wrapped {
            let ahead_us = one.fragment.capture.since(one.arrival);
            assert!(ahead_us <= MOST_US, "{name}: {one:?} by {ahead_us} µs");
        }
    }
}

#[test]
fn nothing_is_left_out_but_what_leans_on_a_lost_keyframe() {
    for (Fixture { name, .. }, played) in each() {
        for (number, picture) in played.came.iter().enumerate() {
            if picture.became.is_some() {
                continue;
            }
            let broken_off = played.breaks.iter().rfind(|(at, _)| *at <= picture.arrival);
            let (since, _) = broken_off.unwrap_or_else(|| panic!("{name}: picture {number}"));
            let up_to_it = played.came[..=number]
                .iter()
                .filter(|one| one.arrival >= *since);
            assert!(
                up_to_it.clone().all(|one| !one.keyframe),
                "{name}: picture {number}"
            );
        }
    }
}

#[test]
fn pictures_go_on_soon_after_the_first_good_one() {
    for (fixture, played) in each() {
        let began = (played.came[0].arrival, ());
        let broken_off = played.breaks.iter().map(|(at, _)| (*at, ()));
        for (since, ()) in std::iter::once(began).chain(broken_off) {
            let good = |one: &&Came| one.keyframe && one.arrival >= since;
            let Some(good) = played.came.iter().find(good) else {
                assert!(played.ended.is_some(), "{}", fixture.name);
                continue;
            };
            let first = played
                .wrapped
                .iter()
                .find(|one| one.opens && one.at >= since);
            let after_ms = first.unwrap().at.since(good.arrival) / 1000;
            assert!(
                after_ms <= fixture.held_ms,
                "{}: after {after_ms} ms",
                fixture.name
            );
        }
    }
}

#[test]
fn a_screen_is_sent_every_picture_in_time_and_from_a_keyframe_on() {
    for (Fixture { name, .. }, played) in each() {
        let runs: Vec<_> = played.sent.iter().flat_map(|sent| &sent.runs).collect();
        assert_eq!((runs.len(), played.lost), (played.chapters, 0), "{name}");
        for run in &runs {
            assert!(run[0].1.keyframe, "{name}");
            for pair in run.windows(2) {
                assert_eq!(pair[1].1.number, pair[0].1.number.next(), "{name}");
            }
        }
        let sent: Vec<_> = runs.iter().flat_map(|run| run.iter()).collect();
        let wrapped = played.wrapped.iter().map(|one| one.fragment.number);
        assert!(
            wrapped.eq(sent.iter().map(|(_, fragment)| fragment.number)),
            "{name}"
        );
        for ((at, fragment), one) in sent.iter().zip(&played.wrapped) {
            let due = fragment.capture.offset(i64::from(DELAY_MS) * 1000);
            // Some of a camera's past may be overdue when it is here.
            let sent = due.offset(-LEAD_US).max(one.at);
            assert_eq!(*at, sent, "{name}: {fragment:?}");
        }
    }
}

#[test]
fn what_a_screen_is_sent_decodes_without_a_word_and_has_the_time_it_was_taken() {
    for (fixture, played) in each() {
        for sent in &played.sent {
            let fragments: Vec<Fragment> =
                sent.runs.iter().flatten().map(|(_, f)| f.clone()).collect();
            let recording = harness::Recording {
                params: sent.params.clone(),
                fragments,
            };
            recording.decode();
            let strips = recording.strips();
            assert_eq!(strips.len(), recording.fragments.len(), "{}", fixture.name);
            let taken = strips.iter().zip(&recording.fragments);
            let late_ms: Vec<_> = taken
                .map(|(strip_ms, fragment)| fragment.capture.as_ms() as i64 - *strip_ms as i64)
                .collect();
            let within = late_ms.iter().all(|ms| fixture.late_ms.contains(ms));
            assert!(within, "{}: {late_ms:?}", fixture.name);
        }
    }
}
