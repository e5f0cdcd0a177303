//! A camera that was moved: what its screens and its remote are told. What a look
//! finds is said by hand here; `afterturn_core::vision` judges pictures.

use afterturn_core::{vision::Trust, wire::CoverReason};

use super::*;

/// A station that has shown pictures for ten seconds, and a screen that has them.
async fn shown() -> (Stage, Watch) {
    let stage = stage(1, &[Act::PlayThenEnd(Duration::from_mins(10))]);
    seconds(10.0).await;
    let mut watch = Watch::new(&stage.station);
    watch.want(None);
    take_all(&mut watch);
    (stage, watch)
}

/// Carries out what the screen is sent, and says the last capture time of it.
fn take_all(watch: &mut Watch) -> Option<CaptureUs> {
    let mut last = None;
    loop {
        match watch.step() {
            Step::Run { .. } => {}
            Step::Send(fragment) => last = Some(fragment.capture),
            _ => return last,
        }
    }
}

impl Station {
    fn look_found(&self, trust: Trust) {
        let newest = self.state().newest_us.expect("pictures");
        let run = self.lock().aim.run();
        self.aimed(run, newest, trust);
    }
}

#[tokio::test(start_paused = true)]
async fn a_camera_that_moved_is_off_the_screens_at_once_until_somebody_has_looked() {
    let (stage, mut watch) = shown().await;
    let station = &stage.station;
    station.look_found(Trust::Shown);
    seconds(1.0).await;
    watch.take_news();
    station.look_found(Trust::Doubted);
    assert!(watch.take_news(), "its screens are told at once");
    let told = watch.step();
    assert!(
        matches!(told, Step::Cover(_, CoverReason::Paused)),
        "{told:?}"
    );
    assert!(!station.info().camera.moved, "it may be over in a moment");
    seconds(2.0).await;
    station.look_found(Trust::Moved);
    assert!(station.info().camera.moved);
    assert!(!station.info().paused, "nobody paused it");
    // Neither a pause that ends nor time ends it.
    station.order(Order::Pause);
    station.order(Order::Resume);
    seconds(40.0).await;
    assert_eq!(take_all(&mut watch), None);
    let looked_at = station.now();
    station.order(Order::CameraRight);
    assert!(!station.info().camera.moved);
    // What was taken in between is never seen.
    seconds(5.0).await;
    let mut first = None;
    for _ in 0..200 {
        match watch.step() {
            Step::Send(fragment) => {
                first = Some(fragment.capture);
                break;
            }
            _ => seconds(0.02).await,
        }
    }
    assert!(first.expect("pictures again") >= looked_at);
}

#[tokio::test(start_paused = true)]
async fn a_doubt_that_is_over_hides_what_was_doubted_and_no_more() {
    let (stage, _watch) = shown().await;
    let station = &stage.station;
    station.look_found(Trust::Shown);
    let right = station.state().newest_us.expect("pictures");
    seconds(1.0).await;
    station.look_found(Trust::Doubted);
    assert!(station.is_held());
    seconds(1.0).await;
    station.look_found(Trust::Shown);
    let over = station.state().newest_us.expect("pictures");
    assert!(!station.is_held());
    let inner = station.lock();
    let hidden = |at: CaptureUs| inner.ring.veil_within(at, at.offset(1)).is_some();
    assert!(!hidden(right) && hidden(right.offset(1)));
    assert!(hidden(over.offset(-1)) && !hidden(over));
}

#[tokio::test(start_paused = true)]
async fn a_camera_that_was_off_is_aimed_anew() {
    let (stage, _watch) = shown().await;
    let station = &stage.station;
    let run = station.lock().aim.run();
    station.look_found(Trust::Moved);
    station.capture(false);
    seconds(1.0).await;
    station.capture(true);
    seconds(5.0).await;
    assert!(!station.info().camera.moved && !station.is_held());
    // A look that was under way meanwhile says nothing any more.
    let newest = station.state().newest_us.expect("pictures");
    station.aimed(run, newest, Trust::Moved);
    assert!(!station.info().camera.moved);
}
