//! What a screen is told to show beside the pictures.

use afterturn_core::wire::FromServer;

use super::harness::{Gym, Heard};

#[tokio::test]
async fn a_screen_is_told_its_mark_before_any_picture() {
    let gym = Gym::with_one().await;
    let mut screen = gym.screen(1).await;
    let hello = screen.next().await;
    assert!(matches!(hello, Heard::Said(FromServer::Hello { .. })));
    screen.want().await;
    while !matches!(screen.next_but_state().await, Heard::Bytes(_)) {}
    let [sheet] = &screen.sheets[..] else {
        panic!("one sheet, told once: {:?}", screen.sheets);
    };
    assert_eq!(sheet.mark.number, 1);
    // Nobody has chosen a grade, and there is no unit.
    assert_eq!(sheet.task, None);
}
