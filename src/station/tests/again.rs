//! Once more at a station: what its screens are told.

use afterturn_core::{
    delay::Who,
    wire::{self, AgainAnswer, AgainAsk, Applies},
};

use super::*;

/// A station that has shown pictures for ten seconds, two seconds late.
async fn shown() -> Stage {
    let stage = stage(1, &[Act::PlayThenEnd(Duration::from_mins(10))]);
    stage.station.set_attempt(4).expect("an attempt's length");
    seconds(10.0).await;
    stage
}

fn from(station: &Station) -> Option<CaptureUs> {
    match station.state().again? {
        wire::Again::Playing { from_us, .. } => Some(from_us),
        wire::Again::Held { at_us } => Some(at_us),
    }
}

#[tokio::test(start_paused = true)]
async fn a_press_is_news_and_over_by_itself() {
    let stage = shown().await;
    let mut watch = Watch::new(&stage.station);
    watch.take_news();
    let answer = stage.station.once_more(AgainAsk::Again, Who::Screen);
    assert_eq!(answer, AgainAnswer::Done);
    assert!(watch.take_news(), "screens are told at once");
    let from = from(&stage.station).expect("it plays");
    let back_us = stage.station.now().since(from);
    assert!((5_900_000..=6_000_000).contains(&back_us), "{back_us}");
    // Somebody presses on: nothing, and no news.
    for _ in 0..50 {
        seconds(0.1).await;
        let answer = stage.station.once_more(AgainAsk::Again, Who::Screen);
        assert_eq!(answer, AgainAnswer::Busy);
    }
    assert_eq!(super::again::from(&stage.station), Some(from));
    seconds(3.5).await;
    assert_eq!(stage.station.state().again, None);
    assert_eq!(stage.station.info().again, None);
}

#[tokio::test(start_paused = true)]
async fn a_group_that_arrives_sees_nothing_of_the_last_ones() {
    let stage = shown().await;
    stage.station.once_more(AgainAsk::Again, Who::Screen);
    let now = stage.station.now();
    stage.station.arrived(Some(now));
    assert_eq!(stage.station.state().again, None, "at once");
    seconds(1.0).await;
    let answer = stage.station.once_more(AgainAsk::Again, Who::Remote);
    assert_eq!(
        answer,
        AgainAnswer::Nothing,
        "what is on the glass is the last group's"
    );
    seconds(5.0).await;
    let answer = stage.station.once_more(AgainAsk::Again, Who::Remote);
    assert_eq!(answer, AgainAnswer::Done);
    assert!(from(&stage.station).expect("it plays") >= now);
}

#[tokio::test(start_paused = true)]
async fn dont_show_means_what_is_shown_once_more_too() {
    let stage = shown().await;
    let mut watch = Watch::new(&stage.station);
    watch.want(None);
    while matches!(watch.step(), Step::Run { .. } | Step::Send(_)) {}
    stage.station.once_more(AgainAsk::Again, Who::Screen);
    let from = from(&stage.station).expect("it plays");
    let _ = watch.step();
    stage.station.order(wire::Order::DontShow);
    assert_eq!(stage.station.state().again, None);
    // Before anything else its screens are told to show none of it.
    let Step::Cover(Applies::AtCapture { capture_us }, _) = watch.step() else {
        panic!("nothing was taken back");
    };
    assert!(capture_us <= from);
    seconds(20.0).await;
    stage.station.once_more(AgainAsk::Again, Who::Remote);
    assert!(super::again::from(&stage.station).expect("it plays") > from);
}
