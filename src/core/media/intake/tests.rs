use super::*;

/// What x264 writes for 1280×720, Main profile, level 3.1, no B-pictures.
pub(crate) const AVCC_MAIN_31: &[u8] = &[
    0x01, 0x4d, 0x40, 0x1f, 0xff, 0xe1, 0x00, 0x19, 0x67, 0x4d, 0x40, 0x1f, 0xd9, 0x00, 0x50, 0x05,
    0xbb, 0x01, 0x10, 0x00, 0x00, 0x03, 0x00, 0x10, 0x00, 0x00, 0x03, 0x03, 0xc0, 0xf1, 0x83, 0x24,
    0x80, 0x01, 0x00, 0x05, 0x68, 0xeb, 0xc3, 0xcb, 0x20,
];

const START: CaptureUs = CaptureUs(1_790_000_000_000_000);

fn intake() -> Intake {
    let mut intake = Intake::new(IntakeSettings {
        latency_us: 0,
        after: CaptureUs::ZERO,
    });
    assert!(
        intake
            .format(AVCC_MAIN_31)
            .expect("a good record")
            .is_empty()
    );
    intake
}

fn picture(i: i64) -> Picture {
    Picture {
        source: SourceStamp::PipelineNs(i as u64 * 33_333_000),
        arrival: START.offset(i * 33_333 + 5_000),
        keyframe: i % 30 == 0,
        data: Bytes::from(vec![0, 0, 0, 1, 0x65]),
    }
}

fn fragments(made: &[Made]) -> Vec<&Fragment> {
    made.iter()
        .filter_map(|m| {
            if let Made::Fragment(f) = m {
                Some(f)
            } else {
                None
            }
        })
        .collect()
}

#[test]
fn each_picture_lasts_exactly_until_the_next() {
    let mut intake = intake();
    let mut made: Vec<Made> = (0..100).flat_map(|i| intake.picture(picture(i))).collect();
    made.extend(intake.idle());
    assert!(matches!(made[0], Made::Chapter(_)));
    let fragments = fragments(&made);
    assert_eq!(fragments.len(), 100);
    for pair in fragments.windows(2) {
        assert_eq!(pair[1].number, pair[0].number.next());
        assert_eq!(
            pair[1].capture.since(pair[0].capture),
            i64::from(pair[0].duration_us)
        );
    }
}

#[test]
fn a_gap_is_a_break_and_a_chapter_not_a_long_picture() {
    let mut intake = intake();
    let mut made: Vec<Made> = (0..60).flat_map(|i| intake.picture(picture(i))).collect();
    made.extend((90..150).flat_map(|i| intake.picture(picture(i))));
    let marks: Vec<&Made> = made
        .iter()
        .filter(|m| !matches!(m, Made::Fragment(_)))
        .collect();
    assert!(matches!(
        marks[..],
        [Made::Chapter(_), Made::Break(Break::Gap), Made::Chapter(_)]
    ));
    assert!(fragments(&made).iter().all(|f| f.duration_us < 40_000));
}

#[test]
fn the_same_parameter_sets_again_change_nothing() {
    let mut intake = intake();
    let before: usize = (0..60).map(|i| intake.picture(picture(i)).len()).sum();
    assert!(before > 0);
    assert!(
        intake
            .format(AVCC_MAIN_31)
            .expect("a good record")
            .is_empty()
    );
    let made = intake.picture(picture(60));
    assert!(matches!(made[..], [Made::Fragment(_)]));
}

#[test]
fn reopening_keeps_numbers_and_times_growing() {
    let mut intake = intake();
    let mut made: Vec<Made> = (0..60).flat_map(|i| intake.picture(picture(i))).collect();
    made.extend(intake.end_chapter(Break::Format));
    // The camera restarts its own time at nothing; the world's goes on.
    made.extend((0..60).flat_map(|i| {
        let arrival = START.offset((i + 70) * 33_333);
        intake.picture(Picture {
            arrival,
            ..picture(i)
        })
    }));
    made.extend(intake.idle());
    let fragments = fragments(&made);
    assert_eq!(fragments.len(), 120);
    for pair in fragments.windows(2) {
        assert_eq!(pair[1].number, pair[0].number.next());
        assert!(pair[1].capture > pair[0].capture);
    }
}

#[test]
fn a_unit_of_parameter_sets_alone_is_no_picture() {
    let mut intake = intake();
    let mut made: Vec<Made> = (0..60).flat_map(|i| intake.picture(picture(i))).collect();
    let before = made.len();
    let sets = [
        0, 0, 0, 2, 9, 0x10, 0, 0, 0, 2, 0x67, 0x4d, 0, 0, 0, 2, 0x68, 0xeb,
    ];
    for data in [&sets[..], &[]] {
        let data = Bytes::copy_from_slice(data);
        made.extend(intake.picture(Picture {
            data,
            ..picture(60)
        }));
    }
    assert_eq!(made.len(), before);
    made.extend((60..90).flat_map(|i| intake.picture(picture(i))));
    made.extend(intake.idle());
    assert_eq!(fragments(&made).len(), 90);
}

#[test]
fn pictures_before_parameter_sets_are_left_out() {
    let mut intake = Intake::new(IntakeSettings {
        latency_us: 0,
        after: CaptureUs::ZERO,
    });
    assert!((0..60).all(|i| intake.picture(picture(i)).is_empty()));
    assert!(intake.format(b"nonsense").is_err());
}
