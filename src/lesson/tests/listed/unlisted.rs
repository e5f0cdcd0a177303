//! Where the list cannot tell who may be seen: everybody is covered, and only the
//! teacher's word shows anything.

use super::*;

#[tokio::test]
async fn a_helper_shows_no_more_than_the_list_allows() {
    let folder = tempfile::tempdir().unwrap();
    let own = list(&folder);
    let children = with_3b(&own);
    says(&own, children[1], false);
    let gym = gym_with(4, &own);
    let nobody = |asked: &mut ClassStart| asked.not_shown = Some(Vec::new());
    let other = |asked: &mut ClassStart| {
        "Rainy day".clone_into(&mut asked.class);
        asked.groups = Some(3);
    };
    let four = |asked: &mut ClassStart| {
        asked.groups = Some(4);
        asked.anew = true;
    };
    // A class that the list does not know, and more groups than it has.
    let started = gym.start_by(By::Helper, |a| (nobody(a), other(a)).0).await;
    assert_eq!(
        started.unwrap().asks,
        [],
        "a class never waits for the list"
    );
    assert_eq!(gym.not_shown(), ALL_THREE);
    let why = |gym: &Gym| gym.lesson.info().class.unwrap().not_known;
    assert_eq!(why(&gym), Some(NotKnown::Class));
    gym.press(Press::End).await;
    gym.start_by(By::Helper, |a| (nobody(a), four(a)).0)
        .await
        .unwrap();
    assert_eq!(gym.not_shown(), [1, 2, 3, 4]);
    assert_eq!(why(&gym), Some(NotKnown::Groups));
    gym.press(Press::End).await;
    // What the teacher says holds for her class; the next one starts afresh.
    for _ in 0..2 {
        let silent = |a: &mut ClassStart| (other(a), a.not_shown = None).1;
        assert_ne!(gym.start(silent).await.unwrap().asks, [], "asked each time");
        gym.start(|a| (nobody(a), other(a)).0).await.unwrap();
        assert_eq!((gym.not_shown(), why(&gym)), (vec![], None));
        gym.press(Press::End).await;
        gym.start_by(By::Helper, silent).await.unwrap();
        assert_eq!(gym.not_shown(), ALL_THREE, "of what she left behind too");
        gym.press(Press::End).await;
    }
    // Less than the list allows is anybody's.
    let less = |a: &mut ClassStart| {
        a.not_shown = Some(vec![GroupNumber::at(0)]);
        a.groups = Some(3);
        a.anew = true;
    };
    gym.start_by(By::Helper, less).await.unwrap();
    assert_eq!(gym.not_shown(), [1, 2]);
}

#[tokio::test]
async fn what_the_teacher_says_in_class_holds_until_another_family_says_no() {
    let folder = tempfile::tempdir().unwrap();
    let own = list(&folder);
    let children = with_3b(&own);
    says(&own, children[1], false);
    let gym = gym_with(4, &own);
    let four = |asked: &mut ClassStart| {
        asked.groups = Some(4);
        asked.anew = true;
    };
    gym.start_by(By::Helper, four).await.unwrap();
    gym.wait_and_keep(500).await;
    assert_eq!(gym.hidden_now(), [true; 4]);
    let only = |n: u8| BTreeSet::from([GroupNumber::try_from(n).unwrap()]);
    gym.lesson.show_all_but(only(4)).await.unwrap();
    assert_eq!(gym.not_shown(), [4]);
    // A picture may be stamped a second ahead.
    gym.wait(2);
    let hidden = gym.hidden_now();
    assert!(
        hidden[3] && !hidden.iter().all(|hidden| *hidden),
        "{hidden:?}"
    );
    // What was taken while nobody could tell stays hidden.
    {
        let before = gym.lesson.info().now_us.offset(-2_000_001);
        let inner = gym.lesson.lock();
        let clock = &inner.class.as_ref().unwrap().clock;
        for group in clock.plan().groups() {
            assert!(clock.is_hidden(group, before));
        }
    }
    assert_eq!(
        gym.lesson.show_all_but(only(5)).await,
        Err(Refused::NoGroup(5))
    );
    // A child more, and nobody can tell where it stands.
    says(&own, children[0], false);
    gym.wait_and_keep(1).await;
    assert_eq!(gym.not_shown(), [1, 2, 3, 4]);
    gym.lesson.show_all_but(only(1)).await.unwrap();
    assert_eq!(gym.not_shown(), [1]);
    // A yes later changes nothing of it.
    says(&own, children[0], true);
    gym.wait_and_keep(1).await;
    assert_eq!(gym.not_shown(), [1]);
}

#[tokio::test]
async fn an_empty_list_leaves_it_to_the_teacher_and_remembers_her_word() {
    let folder = tempfile::tempdir().unwrap();
    let gym = gym_with(3, &list(&folder));
    let silent = |asked: &mut ClassStart| (says_nothing(asked), asked.groups = Some(3)).1;
    gym.start_by(By::Helper, silent).await.unwrap();
    assert_eq!(gym.not_shown(), ALL_THREE);
    assert_eq!(gym.lesson.start_info().classes[0].not_shown, None);
    gym.press(Press::End).await;
    assert_ne!(gym.start(silent).await.unwrap().asks, []);
    let two = |asked: &mut ClassStart| {
        silent(asked);
        asked.not_shown = Some(vec![GroupNumber::at(1)]);
    };
    gym.start(two).await.unwrap();
    assert_eq!(gym.not_shown(), [2]);
    gym.press(Press::End).await;
    for by in [By::Helper, By::Teacher] {
        assert_eq!(gym.start_by(by, silent).await.unwrap().asks, []);
        assert_eq!(gym.not_shown(), [2]);
        gym.press(Press::End).await;
    }
    let four = |asked: &mut ClassStart| (silent(asked), asked.groups = Some(4)).1;
    gym.start_by(By::Helper, four).await.unwrap();
    assert_eq!(gym.not_shown(), [1, 2, 3, 4], "said of other groups");
}

#[tokio::test]
async fn a_list_that_cannot_be_read_covers_everybody_and_is_known_again_once_mended() {
    let folder = tempfile::tempdir().unwrap();
    let own = list(&folder);
    let children = with_3b(&own);
    says(&own, children[1], false);
    let mut gym = gym_with(3, &own);
    gym.start(says_nothing).await.unwrap();
    gym.press(Press::End).await;
    drop(own);
    let path = folder.path().join("vault.db");
    let whole = std::fs::read(&path).unwrap();
    for broken in [
        &b"[]"[..],
        b"",
        &whole[..5000],
        b"no database, and longer than nothing",
    ] {
        gym.list = None;
        gym.restart(1, "first");
        for end in ["-wal", "-shm"] {
            let _ = std::fs::remove_file(folder.path().join(format!("vault.db{end}")));
        }
        std::fs::write(&path, broken).unwrap();
        gym.list = Some(list(&folder));
        gym.restart(1, "first");
        let offered = gym.lesson.start_info().classes[0].not_shown.clone();
        assert_eq!(offered, None, "last lesson's word is not believed");
        gym.start_by(By::Helper, |_| ()).await.unwrap();
        assert_eq!(gym.not_shown(), ALL_THREE);
        let why = gym.lesson.info().class.unwrap().not_known;
        assert_eq!(why, Some(NotKnown::Unreadable));
        gym.press(Press::End).await;
    }
    // Mended: the class is found in the list as before, which is still locked.
    gym.list = None;
    gym.restart(1, "first");
    std::fs::write(&path, &whole).unwrap();
    gym.list = Some(list(&folder));
    gym.restart(1, "first");
    assert_eq!(gym.start(says_nothing).await.unwrap().asks, []);
    assert_eq!(gym.not_shown(), [2]);
}

#[tokio::test(start_paused = true)]
async fn a_no_in_the_middle_of_a_class_is_pushed_and_not_waited_for() {
    let folder = tempfile::tempdir().unwrap();
    let own = list(&folder);
    let children = with_3b(&own);
    let gym = gym_with(3, &own);
    gym.start(says_nothing).await.unwrap();
    gym.wait_and_keep(400).await;
    let (stop, stopped) = watch::channel(false);
    let running = tokio::spawn(Arc::clone(&gym.lesson).run(stopped));
    let mut news = gym.lesson.changes();
    // It has looked, and sleeps for seconds.
    tokio::time::sleep(Duration::from_millis(1)).await;
    news.mark_unchanged();
    let before = tokio::time::Instant::now();
    says(&own, children[2], false);
    news.changed().await.unwrap();
    assert_eq!(before.elapsed(), Duration::ZERO, "without any time passing");
    assert_eq!(gym.not_shown(), [3]);
    assert!(gym.hidden_now()[2]);
    stop.send_replace(true);
    running.await.unwrap();
}

#[tokio::test]
async fn a_class_that_nobody_could_place_is_found_when_the_list_is_opened() {
    let folder = tempfile::tempdir().unwrap();
    let own = list(&folder);
    let children = with_3b(&own);
    says(&own, children[1], false);
    for (said, then) in [(vec![], vec![1, 2, 3]), (vec![2], vec![2])] {
        own.portfolio.lock();
        // Its title is in no book yet.
        let gym = gym_with(3, &own);
        let says = |asked: &mut ClassStart| {
            says_nothing(asked);
            let groups = said.iter().map(|group| GroupNumber::try_from(*group));
            asked.not_shown = Some(groups.map(Result::unwrap).collect());
        };
        gym.start(says).await.unwrap();
        assert_eq!(gym.not_shown(), said, "the teacher's word");
        own.portfolio.unlock(WORDS, moment()).unwrap();
        gym.lesson.list_changed().await;
        // Where the list has somebody whom she did not speak of, nobody can tell
        // where that child stood meanwhile.
        assert_eq!(gym.not_shown(), then);
    }
}
