//! A stretch that is taken out to be kept.

use super::*;

fn cut(ring: &Ring, from: i64, to: i64) -> Result<(i64, i64), NoCut> {
    let picture = |at: CaptureUs| at.since(START) / PICTURE_US;
    ring.cut(at(from), at(to)).map(|cut| {
        assert!(cut.pictures[0].keyframe, "it can be decoded");
        assert!(cut.pictures[0].capture <= cut.from);
        assert_eq!(cut.pictures.last().expect("a last").capture, cut.last);
        (picture(cut.from), picture(cut.last))
    })
}

#[test]
fn it_has_exactly_the_pictures_asked_for_and_what_they_lean_on() {
    let ring = filled(300);
    assert_eq!(cut(&ring, 100, 200), Ok((100, 199)));
    let taken = ring.cut(at(100), at(200)).expect("there");
    assert_eq!(taken.pictures[0].capture, at(90));
    assert_eq!(taken.to, at(200));
    // Between two pictures: the next one, within one picture.
    let taken = ring
        .cut(at(100).offset(5), at(200).offset(5))
        .expect("there");
    assert_eq!((taken.from, taken.last), (at(101), at(200)));
    assert_eq!(cut(&ring, 295, 900), Ok((295, 299)), "as far as there is");
    assert_eq!(cut(&ring, 400, 500), Err(NoCut::Gone));
}

#[test]
fn nothing_hidden_is_in_it_nor_leant_on() {
    let mut ring = filled(300);
    ring.veil(at(95), Some(at(110)), CoverReason::DontShow);
    // What leans on hidden pictures is passed over: it begins with the next
    // that stands by itself.
    assert_eq!(cut(&ring, 100, 200), Ok((120, 199)));
    assert_eq!(cut(&ring, 60, 100), Err(NoCut::Hidden), "in its middle");
    assert_eq!(cut(&ring, 60, 95), Ok((60, 94)), "up to it");
    assert_eq!(cut(&ring, 96, 110), Err(NoCut::Hidden));
    ring.pause(true);
    assert_eq!(cut(&ring, 200, 250), Err(NoCut::Hidden));
}

#[test]
fn a_camera_that_was_away_leaves_no_film_with_a_hole() {
    let mut ring = filled(90);
    for i in 0..60 {
        push(&mut ring, 120 + i, i % 30 == 0);
    }
    assert_eq!(cut(&ring, 60, 140), Err(NoCut::Hole));
    assert_eq!(cut(&ring, 100, 140), Ok((120, 139)));
    ring.open_chapter(params());
    (0..60).for_each(|i| push(&mut ring, 180 + i, i % 30 == 0));
    assert_eq!(
        cut(&ring, 170, 200),
        Err(NoCut::Hole),
        "other parameter sets"
    );
}

#[test]
fn what_was_taken_is_not_to_be_used_once_it_was_wiped_or_hidden() {
    let mut ring = filled(300);
    let taken = ring.cut(at(100), at(200)).expect("there");
    assert!(ring.may_still(&taken));
    ring.veil(at(200), None, CoverReason::Covered);
    assert!(ring.may_still(&taken), "what comes after is another matter");
    ring.veil(at(150), Some(at(151)), CoverReason::DontShow);
    assert!(!ring.may_still(&taken));
    let taken = ring.cut(at(20), at(80)).expect("there");
    ring.wipe(at(1));
    assert!(!ring.may_still(&taken), "a wipe means everything");
}
