//! What start asks, remembers and sets up.

use super::*;

#[tokio::test]
async fn start_remembers_the_class_and_asks_for_what_nobody_said() {
    let mut gym = Gym::open(4);
    let asked = gym.start(|asked| asked.not_shown = None).await.unwrap();
    assert_eq!(asked.asks, [afterturn_core::wire::StartAsk::NotShown]);
    assert_eq!((gym.seen(), gym.cameras()), (None, vec![false; 4]));
    let group = afterturn_core::rotation::GroupNumber::at(1);
    let started = gym.start(|asked| asked.not_shown = Some(vec![group])).await;
    assert_eq!(started.unwrap().asks, []);
    gym.press(Press::End).await;
    gym.restart(3_600, "second");
    let again = gym.start(|asked| asked.not_shown = None).await.unwrap();
    assert_eq!(again.asks, [], "it was said before");
    assert!(gym.lesson.info().class.unwrap().groups[1].covered);
    // A press that came twice, another remote, another class.
    assert!(gym.start(|asked| asked.id = "t".to_owned()).await.is_ok());
    let twice = |asked: &mut ClassStart| asked.id = "s1".to_owned();
    assert!(gym.start(twice).await.is_ok());
    let other = gym.start(|asked| "1A".clone_into(&mut asked.class)).await;
    assert_eq!(other, Err(NotStarted::Running("3B".to_owned())));
    gym.press(Press::End).await;
    assert_eq!(gym.start(twice).await, Err(NotStarted::Over));
    assert_eq!(gym.cameras(), [false; 4]);
    let other = gym.start(|asked| {
        "1A".clone_into(&mut asked.class);
        asked.not_shown = None;
    });
    assert_ne!(other.await.unwrap().asks, [], "nobody said so of 1A");
}

#[tokio::test]
async fn what_was_not_set_up_anew_and_what_nobody_spots_starts_closed() {
    let gym = Gym::with(4, Hands::Close);
    gym.start(|_| ()).await.unwrap();
    assert_eq!(
        gym.cameras(),
        [true; 4],
        "the first class finds its own rig"
    );
    gym.press(Press::End).await;
    gym.start(|asked| "1A".clone_into(&mut asked.class))
        .await
        .unwrap();
    assert_eq!(
        gym.cameras(),
        [true, false, true, true],
        "nobody ticked station 2"
    );
    gym.press(Press::End).await;
    let known = gym.lesson.start_info().classes;
    let changes = |title: &str| {
        let class = known.iter().find(|known| known.title == title).unwrap();
        class
            .changes
            .iter()
            .map(|c| c.station.get())
            .collect::<Vec<_>>()
    };
    assert_eq!((changes("3B"), changes("1A")), (vec![], vec![2]));
    let start = gym.start(|asked| {
        "1A".clone_into(&mut asked.class);
        asked.ticked = vec![2];
        asked.no_spotter = true;
        asked.anew = true;
    });
    start.await.unwrap();
    assert_eq!(gym.cameras(), [true, true, false, true]);
}

#[tokio::test]
async fn a_circuit_goes_on_in_the_next_lesson() {
    let mut gym = Gym::open(4);
    let times = Times {
        warm_up_s: 0,
        briefing_s: 0,
        ..Times::USUAL
    };
    gym.start(|asked| asked.times = Some(times)).await.unwrap();
    gym.wait(270 + 200);
    gym.press(Press::End).await;
    let known = gym.lesson.start_info().classes;
    assert_eq!((known[0].goes_on_with, known[0].turns), (Some(3), Some(4)));
    gym.restart(7 * 86_400, "second");
    gym.start(|_| ()).await.unwrap();
    assert_eq!(gym.seen(), Some((Phase::Work, 3, 240)));
    gym.press(Press::End).await;
    gym.start(|asked| asked.anew = true).await.unwrap();
    assert_eq!(gym.seen(), Some((Phase::Work, 1, 240)));
}

#[tokio::test]
async fn an_accident_is_noted_and_outlives_the_class() {
    let mut gym = Gym::open(3);
    gym.start(|_| ()).await.unwrap();
    gym.press(Press::Hold {
        hold: Hold::Accident,
    })
    .await;
    let station = 2_i64.try_into().unwrap();
    gym.press(Press::AccidentAt { station }).await;
    gym.press(Press::End).await;
    gym.restart(60, "second");
    let noted = gym.lesson.start_info().accidents;
    assert_eq!(noted.len(), 1);
    assert_eq!(
        (noted[0].station, noted[0].setup.as_str()),
        (Some(station), "beam for 3B")
    );
    assert_eq!(noted[0].wall_ms, START_US / 1000);
}
