//! How a chapter begins.

use super::*;

/// What a camera hands over that greets with its last `greeting` pictures, as
/// fast as the line allows, and then sends each as it is taken.
fn greeted(greeting: i64, over_us: i64, pictures: i64) -> Vec<Arriving<i64>> {
    let live_us = greeting * 33_333;
    let mut line = Line::new();
    (0..pictures)
        .map(|i| {
            let queued_us = live_us - over_us + i * over_us / greeting.max(1);
            let transit_us = (queued_us - line.at_us).max(5_000);
            let picture = line.arriving(transit_us, i % 30 == 0);
            line.advance(33_333);
            picture
        })
        .collect()
}

fn pushed(pictures: Vec<Arriving<i64>>) -> Vec<Stamped<i64>> {
    let mut stamper = Stamper::new(0, CaptureUs::ZERO);
    let out = pictures.into_iter().flat_map(|p| stamper.push(p));
    out.collect()
}

/// How far each capture time is from the moment it should be.
fn off_us(out: &[Stamped<i64>]) -> Vec<i64> {
    let off = |(capture, at_us): (CaptureUs, i64)| capture.since(CaptureUs(START)) - at_us;
    pictures(out).into_iter().map(off).collect()
}

#[test]
fn a_greeting_over_a_slow_line_is_waited_for() {
    for (greeting, over_us) in [(30, 400_000), (60, 600_000), (60, 1_200_000), (90, 900_000)] {
        let out = pushed(greeted(greeting, over_us, 300));
        assert_eq!(breaks(&out), []);
        let off_us = off_us(&out);
        assert_eq!(off_us.len(), 300);
        let most_us = off_us.iter().map(|us| (us - 5_000).abs()).max();
        assert!(most_us.is_some_and(|us| us < 34_000), "{most_us:?}");
    }
}

#[test]
fn nothing_is_held_for_longer_than_a_greeting_lasts() {
    for (greeting, over_us, held_us) in [(0, 0, 400_000), (60, 600_000, 1_000_000)] {
        let mut stamper = Stamper::new(0, CaptureUs::ZERO);
        let all = greeted(greeting, over_us, 300);
        let began = all[0].arrival;
        let first = all.into_iter().find_map(|picture| {
            let arrival = picture.arrival;
            (!stamper.push(picture).is_empty()).then_some(arrival)
        });
        let waited_us = first.expect("pictures come out").since(began);
        assert!(
            (held_us..held_us + 40_000).contains(&waited_us),
            "{waited_us}"
        );
    }
}

#[test]
fn what_is_amiss_among_the_first_pictures_is_a_gap_and_moves_no_time() {
    // A hole, a step ahead that stays, one stamp ahead of the others.
    let amiss: [fn(i64, &mut Arriving<i64>) -> bool; 3] = [
        |i, _| !(7..10).contains(&i),
        |i, picture| {
            ahead(picture, if i >= 7 { 250 } else { 0 });
            true
        },
        |i, picture| {
            ahead(picture, if i == 7 { 250 } else { 0 });
            true
        },
    ];
    for change in amiss {
        let mut all = Vec::new();
        for (i, mut picture) in (0..).zip(greeted(0, 0, 120)) {
            if change(i, &mut picture) {
                all.push(picture);
            }
        }
        let out = pushed(all);
        assert_eq!(breaks(&out), [Break::Gap]);
        assert!(off_us(&out).iter().all(|us| *us == 5_000));
        // All but those between the fault and the next keyframe.
        assert_eq!(pictures(&out).len(), 7 + 90);
    }
}

fn ahead(picture: &mut Arriving<i64>, ms: u64) {
    if let SourceStamp::PipelineNs(ns) = &mut picture.source {
        *ns += ms * 1_000_000;
    }
}

#[test]
fn pictures_that_begin_in_a_clump_do_not_set_the_pace_of_a_source_without_stamps() {
    for unstamped in [20, 60, 100, 600] {
        let mut all = greeted(0, 0, 600);
        // A media server that had to be woken: the first three come at once.
        let woken = all[2].arrival;
        for (i, picture) in all.iter_mut().enumerate() {
            picture.arrival = picture.arrival.max(woken);
            if i < unstamped {
                picture.source = SourceStamp::Missing;
            }
        }
        let out = pushed(all);
        assert_eq!(breaks(&out), []);
        let off_us = off_us(&out);
        assert_eq!(off_us.len(), 600);
        let most_us = off_us[2..].iter().map(|us| (us - 5_000).abs()).max();
        assert!(
            most_us.is_some_and(|us| us < 17_000),
            "{unstamped}: {most_us:?}"
        );
    }
}

#[test]
fn a_greeting_without_stamps_is_made_good() {
    // At once where it is a burst; in twenty seconds where it trickles in.
    for (greeting, over_us, from) in [
        (15, 30_000, 15),
        (60, 60_000, 60),
        (15, 300_000, 600),
        (30, 300_000, 600),
        (60, 800_000, 600),
        (90, 800_000, 600),
    ] {
        let mut all = greeted(greeting, over_us, 1_200);
        for picture in &mut all {
            picture.source = SourceStamp::Missing;
        }
        let off_us = off_us(&pushed(all));
        let most_us = off_us[from..].iter().map(|us| (us - 5_000).abs()).max();
        assert!(
            most_us.is_some_and(|us| us < 34_000),
            "{greeting} over {over_us}: {most_us:?}"
        );
    }
}
