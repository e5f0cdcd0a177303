use super::*;

mod learning;
mod properties;

const START: u64 = 1_790_000_000_000_000;

/// A camera in numbers: what it stamps and when that arrives.
#[derive(Clone)]
struct Line {
    source_us: i64,
    at_us: i64,
}

impl Line {
    fn new() -> Self {
        Self {
            source_us: 500_000,
            at_us: 0,
        }
    }

    fn advance(&mut self, us: i64) {
        self.source_us += us;
        self.at_us += us;
    }

    fn arriving(&self, transit_us: i64, keyframe: bool) -> Arriving<i64> {
        Arriving {
            source: SourceStamp::PipelineNs(self.source_us as u64 * 1000),
            arrival: CaptureUs(START).offset(self.at_us + transit_us),
            keyframe,
            item: self.at_us,
        }
    }
}

fn pictures(out: &[Stamped<i64>]) -> Vec<(CaptureUs, i64)> {
    out.iter()
        .filter_map(|s| match s {
            Stamped::Picture { capture, item, .. } => Some((*capture, *item)),
            Stamped::Break(_) => None,
        })
        .collect()
}

fn breaks(out: &[Stamped<i64>]) -> Vec<Break> {
    out.iter()
        .filter_map(|s| match s {
            Stamped::Break(why) => Some(*why),
            Stamped::Picture { .. } => None,
        })
        .collect()
}

/// Runs an even camera for `n` pictures from where `line` stands.
fn run(
    stamper: &mut Stamper<i64>,
    line: &mut Line,
    n: usize,
    transit_us: i64,
) -> Vec<Stamped<i64>> {
    let mut out = Vec::new();
    for i in 0..n {
        out.extend(stamper.push(line.arriving(transit_us, i % 30 == 0)));
        line.advance(33_333);
    }
    out
}

#[test]
fn latency_is_taken_off_and_transit_of_the_quickest_picture_counts() {
    let mut stamper = Stamper::new(200_000, CaptureUs::ZERO);
    let mut line = Line::new();
    let out = run(&mut stamper, &mut line, 100, 230_000);
    for (capture, at_us) in pictures(&out) {
        // 230 ms of transit, of which 200 are known: 30 ms remain.
        assert_eq!(capture.since(CaptureUs(START)), at_us + 30_000);
    }
}

#[test]
fn a_greeting_burst_gets_the_times_at_which_it_was_captured() {
    let mut stamper = Stamper::new(0, CaptureUs::ZERO);
    let mut line = Line::new();
    let mut out = Vec::new();
    // A second of past pictures, 1 ms apart, then live ones with 5 ms transit.
    for i in 0..60_i64 {
        let late_us = if i < 30 {
            1_000_000 - i * 33_333 + i * 1_000
        } else {
            5_000
        };
        out.extend(stamper.push(line.arriving(late_us, i % 30 == 0)));
        line.advance(33_333);
    }
    let out = pictures(&out);
    assert_eq!(out.len(), 60);
    for (capture, at_us) in out {
        let off_us = capture.since(CaptureUs(START)) - at_us;
        assert!((0..=33_500).contains(&off_us), "{off_us}");
    }
}

#[test]
fn a_greeting_from_a_past_already_stamped_makes_nothing_late() {
    let mut stamper = Stamper::new(0, CaptureUs::ZERO);
    let mut line = Line::new();
    let mut out = run(&mut stamper, &mut line, 90, 5_000);
    let new_from_us = line.at_us;
    // Opened anew at once, it counts from nothing and greets with two seconds.
    out.extend(stamper.end_chapter(Break::Format));
    (line.source_us, line.at_us) = (0, line.at_us - 60 * 33_333);
    for i in 0..120_i64 {
        let late_us = if i < 60 {
            2_000_000 - i * 33_333 + i * 500
        } else {
            5_000
        };
        out.extend(stamper.push(line.arriving(late_us, i % 30 == 0)));
        line.advance(33_333);
    }
    let out = pictures(&out);
    assert_eq!(out.len(), 90 + 120);
    assert!(out.is_sorted_by(|a, b| a.0 < b.0));
    for (capture, at_us) in out.into_iter().filter(|(_, at)| *at >= new_from_us) {
        let off_us = capture.since(CaptureUs(START)) - at_us;
        assert!((0..=6_000).contains(&off_us), "{off_us}");
    }
}

#[test]
fn first_pictures_without_stamps_join_the_others_without_a_seam() {
    for unstamped in [1, 5, 20, 40] {
        let mut stamper = Stamper::new(0, CaptureUs::ZERO);
        let mut line = Line::new();
        let mut out = Vec::new();
        for i in 0..90 {
            let mut picture = line.arriving(4_000, i % 30 == 0);
            if i < unstamped {
                picture.source = SourceStamp::Missing;
            }
            out.extend(stamper.push(picture));
            line.advance(33_333);
        }
        assert!(breaks(&out).is_empty(), "{unstamped}: {:?}", breaks(&out));
        let out = pictures(&out);
        assert_eq!(out.len(), 90);
        for pair in out.windows(2) {
            let step_us = pair[1].0.since(pair[0].0);
            assert!(
                (32_000..=35_000).contains(&step_us),
                "{unstamped}: {step_us}"
            );
        }
    }
}

#[test]
fn a_first_stamp_after_a_long_wait_does_not_stand_for_the_wait() {
    let mut stamper = Stamper::new(0, CaptureUs::ZERO);
    let mut line = Line::new();
    for i in 0..30 {
        let mut picture = line.arriving(4_000, i % 10 == 0);
        picture.source = SourceStamp::Missing;
        stamper.push(picture);
        line.advance(33_333);
    }
    // Nothing for a second and a half, then the source begins to stamp: one
    // interval after the last picture is where its times cannot go on.
    line.advance(1_500_000);
    let out = run(&mut stamper, &mut line, 60, 4_000);
    assert_eq!(breaks(&out), [Break::Step]);
    for (capture, at_us) in pictures(&out) {
        assert_eq!(capture.since(CaptureUs(START)) - at_us, 4_000);
    }
}

#[test]
fn a_stream_that_never_stamps_still_runs_at_its_own_rate() {
    let mut stamper = Stamper::new(0, CaptureUs::ZERO);
    let mut line = Line::new();
    let mut out = Vec::new();
    for i in 0..3_000_i64 {
        // 25 a second, with 0 to 9 ms of jitter.
        let mut picture = line.arriving((i * 7_919) % 9_000, i % 50 == 0);
        picture.source = SourceStamp::Missing;
        out.extend(stamper.push(picture));
        line.advance(40_000);
    }
    assert_eq!(breaks(&out), []);
    for (i, (capture, at_us)) in pictures(&out).into_iter().enumerate() {
        let off_us = capture.since(CaptureUs(START)) - at_us;
        // Its pace is only known roughly after the first ten pictures.
        let most_us = if i < 600 { 60_000 } else { 20_000 };
        assert!(off_us.abs() < most_us, "picture {i}: {off_us}");
    }
}

#[test]
fn a_source_that_stops_stamping_is_followed_by_its_pace() {
    let mut stamper = Stamper::new(0, CaptureUs::ZERO);
    let mut line = Line::new();
    let mut out = run(&mut stamper, &mut line, 60, 4_000);
    // 29 a second from here on, and no stamp tells.
    for i in 0..3_000 {
        let mut picture = line.arriving(4_000, i % 30 == 0);
        picture.source = SourceStamp::Missing;
        out.extend(stamper.push(picture));
        line.advance(34_483);
    }
    assert_eq!(breaks(&out), []);
    for (capture, at_us) in pictures(&out) {
        let off_us = capture.since(CaptureUs(START)) - at_us;
        assert!((-100_000..=50_000).contains(&off_us), "{off_us}");
    }
}

#[test]
fn a_small_step_back_costs_no_picture() {
    let mut stamper = Stamper::new(0, CaptureUs::ZERO);
    let mut line = Line::new();
    let mut out = run(&mut stamper, &mut line, 95, 8_000);
    line.source_us -= 50_000;
    out.extend(run(&mut stamper, &mut line, 95, 8_000));
    assert!(breaks(&out).is_empty());
    let out = pictures(&out);
    assert_eq!(out.len(), 190);
    for pair in out.windows(2) {
        let step_us = pair[1].0.since(pair[0].0);
        assert!((33_000..=33_700).contains(&step_us), "{step_us}");
    }
}

#[test]
fn two_missing_pictures_open_a_chapter_at_a_keyframe() {
    let mut stamper = Stamper::new(0, CaptureUs::ZERO);
    let mut line = Line::new();
    let mut out = run(&mut stamper, &mut line, 40, 8_000);
    line.advance(2 * 33_333);
    for i in 0..60 {
        out.extend(stamper.push(line.arriving(8_000, i == 20)));
        line.advance(33_333);
    }
    assert_eq!(breaks(&out), [Break::Gap]);
    let kept = pictures(&out);
    assert_eq!(
        kept.len(),
        40 + 40,
        "20 pictures without a keyframe before them are left out"
    );
    let opens: Vec<i64> = out
        .iter()
        .filter_map(|s| match s {
            Stamped::Picture {
                opens: true, item, ..
            } => Some(*item),
            _ => None,
        })
        .collect();
    assert_eq!(opens, [0, 62 * 33_333]);
}

#[test]
fn one_missing_picture_is_nothing() {
    let mut stamper = Stamper::new(0, CaptureUs::ZERO);
    let mut line = Line::new();
    let mut out = run(&mut stamper, &mut line, 40, 8_000);
    line.advance(33_333);
    out.extend(run(&mut stamper, &mut line, 40, 8_000));
    assert!(breaks(&out).is_empty());
}

#[test]
fn a_wild_stamp_is_replaced_and_a_lasting_step_opens_a_chapter() {
    let mut stamper = Stamper::new(0, CaptureUs::ZERO);
    let mut line = Line::new();
    let mut out = run(&mut stamper, &mut line, 60, 8_000);
    let mut wild = line.arriving(8_000, false);
    wild.source = SourceStamp::PipelineNs(7);
    out.extend(stamper.push(wild));
    line.advance(33_333);
    out.extend(run(&mut stamper, &mut line, 60, 8_000));
    assert!(breaks(&out).is_empty(), "one wild stamp is replaced");
    line.source_us += 3_600_000_000;
    let out = run(&mut stamper, &mut line, 60, 8_000);
    assert_eq!(
        breaks(&out),
        [Break::Step],
        "an hour's step that stays is a chapter"
    );
}

#[test]
fn a_suspend_opens_a_chapter_whose_times_are_right() {
    let mut stamper = Stamper::new(0, CaptureUs::ZERO);
    let mut line = Line::new();
    run(&mut stamper, &mut line, 60, 8_000);
    // The machine slept for an hour: arrivals jump, the pipeline's time does not.
    line.at_us += 3_600_000_000;
    let out = run(&mut stamper, &mut line, 60, 8_000);
    assert_eq!(breaks(&out), [Break::Silence]);
    for (capture, at_us) in pictures(&out) {
        assert_eq!(capture.since(CaptureUs(START)), at_us + 8_000);
    }
}

#[test]
fn a_longer_latency_leaves_pictures_out_and_a_shorter_one_a_hole_and_both_are_right_at_once() {
    for (before_us, after_us) in [(50_000, 400_000), (400_000, 50_000)] {
        let mut stamper = Stamper::new(before_us, CaptureUs(START));
        let mut line = Line::new();
        // Keyframes every half a second.
        let mut play = |stamper: &mut Stamper<i64>, n: i64| {
            let mut out = Vec::new();
            for i in 0..n {
                out.extend(stamper.push(line.arriving(20_000, i % 15 == 0)));
                line.advance(33_333);
            }
            out
        };
        let first = play(&mut stamper, 60);
        assert!(
            stamper.set_latency(before_us).is_empty(),
            "the same is no news"
        );
        let changed = stamper.set_latency(after_us);
        assert_eq!(breaks(&changed), [Break::Latency]);
        let second = play(&mut stamper, 120);
        let (first, second) = (pictures(&first), pictures(&second));
        assert!(
            second[0].0 > first[first.len() - 1].0,
            "times only increase"
        );
        for (capture, at_us) in &second {
            let natural = CaptureUs(START).offset(at_us + 20_000 - after_us);
            assert!(capture.since(natural).abs() <= 1, "{capture:?} {natural:?}");
        }
        let away_us = second[0].1 - first[first.len() - 1].1;
        assert!(away_us <= 1_000_000, "back after {away_us} µs");
    }
}

#[test]
fn an_rtp_clock_goes_round_unnoticed() {
    // RFC 3550 §5.1: the timestamp wraps; at 90 kHz after 13.3 hours.
    let mut stamper = Stamper::new(0, CaptureUs::ZERO);
    let mut ticks = u32::MAX - 90_000;
    let mut out = Vec::new();
    for i in 0..120_i64 {
        out.extend(stamper.push(Arriving {
            source: SourceStamp::Rtp {
                ticks,
                clock_hz: 90_000,
            },
            arrival: CaptureUs(START).offset(i * 33_333 + 2_000),
            keyframe: i % 30 == 0,
            item: i,
        }));
        ticks = ticks.wrapping_add(3_000);
    }
    assert!(breaks(&out).is_empty());
    assert_eq!(pictures(&out).len(), 120);
}
