//! The program was away in the middle of a class; the demo's, which starts over.

use super::*;

#[tokio::test]
async fn killed_at_random_moments_it_is_in_the_right_phase_to_the_second() {
    let mut random = 777_u64;
    let mut next = |below: u64| {
        random = random
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (random >> 33) % below
    };
    for round in 0..20 {
        let mut gym = Gym::open(8);
        gym.start(|_| ()).await.unwrap();
        // Written down at each change, as the running program does.
        let mut left_s = next(2_400);
        while left_s > 0 {
            let step_s = left_s.min(1 + next(20));
            gym.wait_and_keep(step_s).await;
            left_s -= step_s;
        }
        let away_s = next(120);
        let boot = if round % 2 == 0 { "first" } else { "second" };
        let mut straight = gym.lesson.lock().class.clone().unwrap().clock;
        gym.capture_off.store(next(15) * S, Ordering::Relaxed);
        gym.restart(away_s, boot);
        let now = CaptureUs(START_US + gym.passed.load(Ordering::Relaxed));
        straight.advance(now);
        let face = straight.face(now);
        let wanted = (face.phase, face.turn + 1, (face.left_us / 1_000_000) as u32);
        assert_eq!(gym.seen(), (!straight.is_done()).then_some(wanted));
    }
}

#[tokio::test]
async fn a_wall_clock_wrong_by_a_year_is_asked_about_and_no_camera_is_on() {
    for boot in ["first", "second"] {
        for (answer, wanted) in [
            (AnswerAfterRestart::GoOn, Some((Phase::WarmUp, 1, 100))),
            (AnswerAfterRestart::AsItWas, Some((Phase::WarmUp, 1, 140))),
            (AnswerAfterRestart::End, None),
        ] {
            let mut gym = Gym::open(4);
            gym.start(|_| ()).await.unwrap();
            gym.wait_and_keep(100).await;
            gym.wall_off.store(365 * 86_400 * S, Ordering::Relaxed);
            gym.restart(40, boot);
            assert_eq!((gym.seen(), gym.cameras()), (None, vec![false; 4]));
            let asks = gym.lesson.info().asks.expect("it asks");
            assert_eq!(asks.title, "3B");
            if boot == "first" {
                assert_eq!(asks.why, Why::WallClock);
                assert_eq!(asks.going_on.left_ms / 1000, 100);
                assert!(gym.lesson.answer(answer).await);
                assert!(
                    !gym.lesson.answer(answer).await,
                    "the other remote was first"
                );
                assert_eq!(gym.seen(), wanted);
                assert_eq!(gym.cameras(), vec![wanted.is_some(); 4]);
            }
            assert_eq!(asks.as_it_was.left_ms / 1000, 140);
            // Nobody says anything: over.
            gym.wait(601);
            if boot == "second" {
                assert!(gym.lesson.info().asks.is_none() && gym.seen().is_none());
            }
        }
    }
}

#[tokio::test(start_paused = true)]
async fn the_demo_starts_by_itself_and_starts_over_and_nothing_of_it_is_kept() {
    let gym = Gym::open(2);
    let (lesson, passed) = (&gym.lesson, &gym.passed);
    let demo = Lesson::open(LessonSettings {
        stations: gym.stations.clone(),
        setups: Arc::clone(&lesson.settings.setups),
        in_words: Arc::clone(&lesson.settings.in_words),
        unit: UnitInUse::default(),
        clocks: Arc::clone(&lesson.settings.clocks),
        state_dir: None,
        heard_of: None,
        demo: true,
        list: None,
    });
    let (_stop, stopped) = watch::channel(false);
    tokio::spawn(Arc::clone(&demo).run(stopped));
    let mut turns = std::collections::BTreeSet::new();
    let mut begun = 0;
    for _ in 0..60 {
        sleep(Duration::from_secs(6)).await;
        let time = demo.info().class.expect("a class").time;
        begun +=
            u32::from(turns.insert((time.turn, time.phase == Phase::Closing)) && time.turn == 1);
        if time.phase == Phase::Closing {
            turns.clear();
        }
        passed.fetch_add(6 * S, Ordering::Relaxed);
    }
    assert!(begun >= 2, "six minutes are two classes and more: {begun}");
    assert!(demo.start_info().classes.is_empty());
}

#[tokio::test]
async fn a_damaged_journal_is_put_aside_and_no_camera_is_on() {
    let mut gym = Gym::open(2);
    gym.start(|_| ()).await.unwrap();
    std::fs::write(gym.folder.path().join("class.json"), b"{\"class\": {").unwrap();
    gym.restart(5, "first");
    assert_eq!((gym.seen(), gym.cameras()), (None, vec![false; 2]));
    assert!(gym.folder.path().join("class.damaged.json").exists());
}

#[tokio::test]
async fn whose_freeze_it_is_is_written_down_with_the_class() {
    let mut gym = Gym::open(2);
    gym.start(|_| ()).await.unwrap();
    gym.wait(10);
    let frozen = |gym: &Gym| gym.lesson.info().class.unwrap().holds == [Hold::Freeze];
    gym.lesson.click("a", ClickedAt::Hall, Click::Long);
    assert!(frozen(&gym));
    // What the run task does at a change.
    gym.lesson.keep().await;
    gym.restart(5, "first");
    assert!(frozen(&gym));
    let station = ClickedAt::Station(1_i64.try_into().unwrap());
    gym.lesson.click("b", station, Click::Long);
    assert!(frozen(&gym), "another screen's");
    gym.lesson.click("c", ClickedAt::Hall, Click::Long);
    assert!(!frozen(&gym));
}
