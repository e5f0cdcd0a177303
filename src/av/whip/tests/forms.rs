//! Publishers whose pictures are another form each second, or no pictures.

use super::*;

/// Another profile and another level each second, as a device does that cannot
/// make up its mind.
fn another_each_second(number: u32, keyframe: bool) -> Vec<u8> {
    let level = [0x1f, 0x28, 0x1e][(number / 30) as usize % 3];
    let sps = [0, 0, 0, 1, 0x67, 0x42, 0xe0, level, 0x8c, 0x8d];
    let slice = if keyframe || number.is_multiple_of(30) {
        0x65
    } else {
        return drawn(number, false);
    };
    [&sps[..], PPS, &[0, 0, 0, 1, slice], &[0x9a; 5000]].concat()
}

/// Bytes without a meaning, some of them behind a start code; the same each time.
fn nonsense(number: u32, _: bool) -> Vec<u8> {
    let mut dice = number.wrapping_mul(2_654_435_761) | 1;
    let mut throw = || {
        dice = dice.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (dice >> 24) as u8
    };
    let mut bytes = Vec::new();
    for _ in 0..=throw() % 5 {
        if throw() % 4 > 0 {
            bytes.extend([0, 0, 0, 1]);
        }
        let length = 1 + usize::from(throw()) * 7;
        bytes.extend((0..length).map(|_| throw()));
    }
    bytes
}

#[tokio::test(flavor = "multi_thread")]
async fn each_new_form_is_said_before_its_first_keyframe() {
    let publishing = publishing().await;
    let watched = Watched::start(&publishing, 1);
    let device = Device {
        draw: another_each_second,
        ..Device::video()
    };
    let published = device.ask(&publishing, 7).await.unwrap();
    let _sending = device.run(&published, None);
    let formats = |events: &[CameraEvent]| events.iter().filter(|e| word(e) == "format").count();
    watched.until("four forms", |e| formats(e) >= 4).await;
    watched.until("and on", |e| pictures(e) >= 130).await;
    let words = watched.words();
    for pair in words.windows(2).filter(|pair| pair[0] == "format") {
        assert_eq!(pair[1], "keyframe");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn nonsense_harms_no_other_station_and_ends_with_its_sender() {
    let publishing = publishing().await;
    let spoilt = Watched::start(&publishing, 1);
    let good = Watched::start(&publishing, 2);
    let device = Device::video();
    let published = device.ask_at(2, &publishing, 8).await.unwrap();
    let _sending = device.run(&published, None);
    let rubbish = Device {
        draw: nonsense,
        ..Device::video()
    };
    let published = rubbish.ask(&publishing, 7).await.unwrap();
    let sending = rubbish.run(&published, None);
    good.until("pictures", |e| pictures(e) >= 150).await;
    drop(sending);
    // The same device comes to its senses.
    let again = Device::video();
    let published = again.ask(&publishing, 7).await.unwrap();
    let _again = again.run(&published, None);
    let told = spoilt.events.lock().unwrap().len();
    spoilt
        .until("pictures", |e| pictures(&e[told..]) >= 20)
        .await;
    assert!(!good.words().contains(&"stalled"));
}

/// Something else altogether twice a second.
fn jumps(number: u32, keyframe: bool) -> Vec<u8> {
    let mut data = drawn(number, keyframe);
    if number % 15 == 14 {
        data.resize(data.len() * 5, 0x9a);
    }
    data
}

#[tokio::test(flavor = "multi_thread")]
async fn a_view_that_changes_altogether_has_its_keyframe_at_once() {
    let publishing = publishing().await;
    let watched = Watched::start(&publishing, 1);
    let device = Device {
        draw: jumps,
        ..Device::video()
    };
    let published = device.ask(&publishing, 7).await.unwrap();
    let _sending = device.run(&published, None);
    watched.until("150 pictures", |e| pictures(e) >= 150).await;
    let words = watched.words();
    let keyframes = words.iter().filter(|word| **word == "keyframe").count();
    assert!(keyframes >= 8, "{keyframes} in five seconds");
}
