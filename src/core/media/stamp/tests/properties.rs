//! What holds whatever a camera does, and under jitter and drift.

use proptest::prelude::*;

use super::*;

#[derive(Clone, Debug)]
enum Happening {
    Even,
    Late(i64),
    Missing,
    Back(i64),
    Forward(i64),
    Drop(i64),
    Sleep(i64),
    Wild(u64),
    Format,
}

fn happening() -> impl Strategy<Value = Happening> {
    prop_oneof![
        40 => Just(Happening::Even),
        10 => (0_i64..300_000).prop_map(Happening::Late),
        3 => Just(Happening::Missing),
        1 => (1_i64..2_000_000).prop_map(Happening::Back),
        1 => (1_i64..7_200_000_000).prop_map(Happening::Forward),
        1 => (1_i64..40).prop_map(Happening::Drop),
        1 => (1_i64..7_200_000_000).prop_map(Happening::Sleep),
        1 => any::<u64>().prop_map(Happening::Wild),
        1 => Just(Happening::Format),
    ]
}

proptest! {
    /// Whatever a camera does: times strictly increase, a chapter starts at a
    /// keyframe, nothing is stamped more than a second and a learning time away
    /// from its arrival, and good input is never refused for long.
    #[test]
    fn whatever_comes_times_increase_and_stay_near_arrival(
        script in proptest::collection::vec(happening(), 1..400),
        latency_us in 0_i64..500_000,
    ) {
        let mut stamper = Stamper::new(latency_us, CaptureUs::ZERO);
        let mut line = Line::new();
        let mut last = CaptureUs::ZERO;
        let mut open = false;
        let mut arrivals = std::collections::HashMap::new();
        let mut check = |out: Vec<Stamped<(i64, bool)>>, arrivals: &std::collections::HashMap<i64, CaptureUs>| {
            // Pictures held for learning may be a greeting from further back.
            let most_us = if out.len() == 1 { 1_050_000 } else { 5_000_000 };
            for stamped in out {
                match stamped {
                    Stamped::Break(_) => open = false,
                    Stamped::Picture { capture, opens, item: (at_us, keyframe) } => {
                        prop_assert!(capture > last);
                        prop_assert_eq!(opens, !open);
                        prop_assert!(!opens || keyframe);
                        let off_us = arrivals[&at_us].since(capture) - latency_us;
                        // Ahead only as far as earlier chapters force it: the second that
                        // is believed, and a seam or two.
                        prop_assert!(off_us <= most_us, "{off_us} late");
                        prop_assert!(off_us >= -1_200_000, "{off_us} ahead");
                        (last, open) = (capture, true);
                    }
                }
            }
            Ok(())
        };
        let mut busy_until_us = 0;
        for (i, what) in script.into_iter().enumerate() {
            let mut transit_us = 5_000;
            let mut source = None;
            match what {
                Happening::Even => {}
                Happening::Late(us) => transit_us += us,
                Happening::Missing => source = Some(SourceStamp::Missing),
                Happening::Back(us) => line.source_us = (line.source_us - us).max(0),
                Happening::Forward(us) => line.source_us += us,
                Happening::Drop(n) => line.advance(n * 33_333),
                Happening::Sleep(us) => line.at_us += us,
                Happening::Wild(ns) => source = Some(SourceStamp::PipelineNs(ns)),
                Happening::Format => check(
                    stamper.end_chapter(Break::Format).into_iter().collect(), &arrivals)?,
            }
            // One line, so what is late makes the next wait: arrivals are ordered.
            busy_until_us = busy_until_us.max(line.at_us + transit_us);
            let arrival = CaptureUs(START).offset(busy_until_us + latency_us);
            arrivals.insert(line.at_us, arrival);
            let keyframe = i % 10 == 0;
            let base = line.arriving(0, keyframe);
            let out = stamper.push(Arriving {
                source: source.unwrap_or(base.source),
                arrival,
                keyframe,
                item: (line.at_us, keyframe),
            });
            check(out, &arrivals)?;
            line.advance(33_333);
        }
    }

    /// Jitter and a clock that runs up to 0.1 % off: no break, and between two
    /// pictures capture time differs from the source's by at most 0.5 %.
    #[test]
    fn jitter_and_drift_are_slewed_never_stepped(
        jitter_us in proptest::collection::vec(0_i64..60_000, 200..900),
        drift_ppm in -1_000_i64..1_000,
    ) {
        let mut stamper = Stamper::new(0, CaptureUs::ZERO);
        let mut out = Vec::new();
        let mut busy_until_us = 0;
        let mut sources = Vec::new();
        for (i, jitter_us) in jitter_us.iter().enumerate() {
            let at_us = i as i64 * 33_333;
            let source_us = at_us + at_us * drift_ppm / 1_000_000 + 10_000_000;
            busy_until_us = busy_until_us.max(at_us + jitter_us);
            sources.push(source_us);
            out.extend(stamper.push(Arriving {
                source: SourceStamp::PipelineNs(source_us as u64 * 1000),
                arrival: CaptureUs(START).offset(busy_until_us),
                keyframe: i % 30 == 0,
                item: i as i64,
            }));
        }
        prop_assert!(breaks(&out).is_empty());
        let out = pictures(&out);
        for pair in out.windows(2) {
            let source_us = sources[pair[1].1 as usize] - sources[pair[0].1 as usize];
            let capture_us = pair[1].0.since(pair[0].0);
            prop_assert!((capture_us - source_us).abs() <= source_us / 200 + 2);
        }
    }
}
