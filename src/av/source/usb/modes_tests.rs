//! Cameras as they are sold, and what is asked of each. The lists are written
//! from memory of what such devices report; no device was at hand.

use super::*;
use crate::av::encode::USUAL;

fn rate(pictures: u32, seconds: u32) -> Rate {
    Rate::new(pictures, seconds).unwrap()
}

fn offer(form: Form, width_px: u32, height_px: u32, fps: &[u32]) -> Offer {
    Offer {
        form,
        width: Span::one(width_px),
        height: Span::one(height_px),
        rates: Rates::Some(fps.iter().map(|fps| rate(*fps, 1)).collect()),
    }
}

const YUY2: Form = Form::Raw("YUY2");

/// The usual webcam: raw pictures only small or slow, everything as JPEG.
fn webcam() -> Vec<Offer> {
    vec![
        offer(YUY2, 640, 480, &[30, 24, 15]),
        offer(YUY2, 1280, 720, &[10, 5]),
        offer(YUY2, 1920, 1080, &[5]),
        offer(Form::Jpeg, 640, 480, &[30, 24, 15]),
        offer(Form::Jpeg, 1280, 720, &[60, 30, 24, 15]),
        offer(Form::Jpeg, 1920, 1080, &[30, 24, 15]),
    ]
}

fn chosen(offers: &[Offer], wanted: Most) -> (Form, (u32, u32), f64) {
    let mode = choose(offers, wanted, &[]).expect("there is something to use");
    let size = (mode.size.width_px, mode.size.height_px);
    (mode.form, size, mode.rate.map_or(0.0, Rate::per_s))
}

fn want(width_px: u32, height_px: u32, fps: u32) -> Most {
    Most {
        size: Dimensions::new(width_px, height_px),
        fps,
    }
}

#[test]
fn a_webcam_is_asked_for_jpeg_in_the_size_and_rate_wanted() {
    for (wanted, size, fps) in [
        (USUAL, (1280, 720), 30.0),
        (want(1920, 1080, 30), (1920, 1080), 30.0),
        (want(1920, 1080, 25), (1920, 1080), 30.0),
        (want(1280, 720, 60), (1280, 720), 60.0),
        (want(1280, 720, 20), (1280, 720), 24.0),
        (want(640, 480, 15), (640, 480), 15.0),
    ] {
        assert_eq!(chosen(&webcam(), wanted), (Form::Jpeg, size, fps));
    }
}

#[test]
fn h264_goes_before_jpeg_where_it_fits_and_not_where_it_was_refused() {
    let mut offers = webcam();
    offers.push(offer(Form::H264, 1280, 720, &[30, 15]));
    offers.push(offer(Form::H264, 1920, 1080, &[30, 15]));
    assert_eq!(chosen(&offers, USUAL), (Form::H264, (1280, 720), 30.0));
    let second = choose(&offers, USUAL, &[Form::H264]).unwrap();
    assert_eq!(second.form, Form::Jpeg);
    // What is passed on cannot be made smaller.
    let large = [offer(Form::H264, 1920, 1080, &[30])];
    assert_eq!(choose(&large, USUAL, &[]), None);
    assert_eq!(chosen(&large, want(1920, 1080, 30)).0, Form::H264);
}

#[test]
fn a_poor_packed_form_loses_to_a_good_raw_one() {
    let offers = [
        offer(Form::Jpeg, 320, 240, &[30]),
        offer(YUY2, 1280, 720, &[30]),
    ];
    assert_eq!(chosen(&offers, USUAL).0, YUY2);
    // A little smaller is still worth it.
    let offers = [
        offer(Form::Jpeg, 1280, 720, &[25]),
        offer(YUY2, 1280, 720, &[30]),
    ];
    assert_eq!(chosen(&offers, USUAL).0, Form::Jpeg);
}

#[test]
fn raw_cameras_trade_size_for_rate() {
    let raw = [
        offer(YUY2, 640, 480, &[30]),
        offer(YUY2, 1280, 720, &[10]),
        offer(YUY2, 1920, 1080, &[5]),
    ];
    // A third of the rate is worse than half of the width.
    assert_eq!(chosen(&raw, USUAL), (YUY2, (640, 480), 30.0));
    let both = [
        offer(YUY2, 1280, 720, &[30]),
        offer(Form::Raw("NV12"), 1280, 720, &[30]),
        offer(Form::Raw("BGR"), 1280, 720, &[30]),
    ];
    assert_eq!(chosen(&both, USUAL).0, Form::Raw("NV12"));
}

#[test]
fn a_picture_of_the_wanted_shape_goes_before_a_larger_one() {
    let offers = [
        offer(Form::Jpeg, 1280, 960, &[30]),
        offer(Form::Jpeg, 1280, 720, &[30]),
        offer(Form::Jpeg, 2592, 1944, &[30]),
        offer(Form::Jpeg, 1920, 1080, &[30]),
    ];
    assert_eq!(chosen(&offers, USUAL).1, (1280, 720));
    // Without it, the next that is large enough.
    let fours = [offers[0].clone(), offers[2].clone()];
    assert_eq!(chosen(&fours, USUAL).1, (1280, 960));
}

#[test]
fn grey_is_taken_where_there_is_nothing_else() {
    let grey = offer(Form::Raw("GRAY8"), 1280, 720, &[30]);
    assert_eq!(
        chosen(std::slice::from_ref(&grey), USUAL).0,
        Form::Raw("GRAY8")
    );
    let offers = [grey, offer(YUY2, 320, 240, &[15])];
    assert_eq!(chosen(&offers, USUAL).0, YUY2);
}

#[test]
fn television_rates_are_the_rates_meant() {
    let offers = [Offer {
        rates: Rates::Some(vec![
            rate(60_000, 1001),
            rate(30_000, 1001),
            rate(24_000, 1001),
        ]),
        ..offer(Form::Jpeg, 1280, 720, &[])
    }];
    let at = |fps| choose(&offers, want(1280, 720, fps), &[]).unwrap().rate;
    assert_eq!(at(30), Some(rate(30_000, 1001)));
    assert_eq!(at(24), Some(rate(24_000, 1001)));
    assert_eq!(at(25), Some(rate(30_000, 1001)));
    assert_eq!(at(5), Some(rate(24_000, 1001)));
}

#[test]
fn ranges_are_entered_at_the_wish() {
    let offers = [Offer {
        form: YUY2,
        width: Span {
            least_px: 32,
            most_px: 1920,
            step_px: 16,
        },
        height: Span {
            least_px: 32,
            most_px: 1080,
            step_px: 8,
        },
        rates: Rates::Between(rate(1, 1), rate(25, 1)),
    }];
    assert_eq!(chosen(&offers, USUAL), (YUY2, (1280, 720), 25.0));
    assert_eq!(
        chosen(&offers, want(650, 370, 12)),
        (YUY2, (640, 368), 12.0)
    );
    let slow = [Offer {
        rates: Rates::Between(rate(30, 1), rate(60, 1)),
        ..offers[0].clone()
    }];
    assert_eq!(
        chosen(&slow, want(1280, 720, 15)),
        (YUY2, (1280, 720), 30.0)
    );
}

#[test]
fn a_camera_that_does_not_say_its_rate_is_not_told_one() {
    let offers = [Offer {
        rates: Rates::Unsaid,
        ..offer(Form::Jpeg, 1280, 720, &[])
    }];
    assert_eq!(choose(&offers, USUAL, &[]).unwrap().rate, None);
    let nothing = [Offer {
        rates: Rates::Some(Vec::new()),
        ..offer(Form::Jpeg, 1280, 720, &[])
    }];
    assert_eq!(choose(&nothing, USUAL, &[]).unwrap().rate, None);
}

#[test]
fn nothing_to_use_is_none() {
    assert_eq!(choose(&[], USUAL, &[]), None);
    let empty = [offer(Form::Jpeg, 0, 0, &[30])];
    assert_eq!(choose(&empty, USUAL, &[]), None);
    assert_eq!(choose(&webcam(), USUAL, &[Form::Jpeg, YUY2]), None);
}
