//! The titles that the remote offers at a start.

use super::*;

#[tokio::test]
async fn the_remote_offers_the_classes_of_an_open_list_to_the_teacher_alone() {
    let gym = a_box();
    gym.with_zyxwanda().await;
    let offers = |answer: &Answer| {
        answer
            .text
            .contains("<option value=\"2 Blue\" data-children=\"1\">")
    };
    assert!(offers(&gym.get("/remote").await));
    let helper = gym.ask_as(Grant::Helper, "GET", "/remote", "").await;
    assert!(helper.status == 200 && !offers(&helper));
    assert!(!helper.text.contains("2 Blue"));
    gym.vault.portfolio.lock();
    assert!(!gym.get("/remote").await.text.contains("2 Blue"), "locked");
}

#[tokio::test]
async fn offering_titles_does_not_keep_the_list_open() {
    let gym = a_box();
    gym.with_zyxwanda().await;
    let portfolio = &gym.vault.portfolio;
    let now = gym.vault.moment(CaptureUs(1_790_000_000_000_000)).now;
    let minutes = |n: i64| now.offset(n * 60_000_000);
    for n in 1..=15 {
        assert_eq!(portfolio.titles(minutes(n)).len(), 1, "{n}");
    }
    assert_eq!(portfolio.titles(minutes(16)).len(), 0);
}
