//! The server vouches for what it has said about what may be seen, and never
//! for more.

use std::time::Duration;

use afterturn_core::wire::FromServer;
use tokio::time::Instant;

use super::harness::{Gym, Heard};

#[tokio::test]
async fn what_was_said_is_vouched_for_all_the_time() {
    let gym = Gym::with_one().await;
    let mut screen = gym.screen(1).await;
    let until = Instant::now() + Duration::from_secs(2);
    while screen.next_before(until).await.is_some() {}
    assert!(screen.vouched.len() >= 20, "{}", screen.vouched.len());
    assert!(screen.vouched.is_sorted());
    let apart = screen.vouched.windows(2).map(|two| two[1].since(two[0]));
    // Twenty a second; a busy machine may be late with some.
    assert!(apart.max() < Some(300_000));
}

#[tokio::test]
async fn nothing_is_vouched_for_between_an_order_and_its_cover() {
    let gym = Gym::with_one().await;
    let mut screen = gym.screen(1).await;
    screen.next().await;
    screen.want().await;
    for _ in 0..5 {
        super::run_of(&mut screen).await;
        screen.vouched.clear();
        let post = gym.client.post(gym.url("/api/stations/1/orders"));
        let response = post.body(r#"{"order":"wipe"}"#).send().await.unwrap();
        assert_eq!(response.status(), 200);
        let done = (gym.now)();
        let until = Instant::now() + Duration::from_secs(10);
        // Read late, so that words from after the order are there to be read.
        tokio::time::sleep(Duration::from_millis(200)).await;
        while !matches!(
            screen.next_but_state().await,
            Heard::Said(FromServer::Cover { .. })
        ) {
            assert!(Instant::now() < until, "a cover");
        }
        let before_cover = std::mem::take(&mut screen.vouched);
        assert!(before_cover.iter().all(|at| *at <= done), "none is newer");
        // The next round reads its run, and words come between.
    }
}
