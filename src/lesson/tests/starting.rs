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
    let grades = gym.lesson.start_info().grades;
    let beam = grades[0].stations[1].change.clone().expect("another class");
    let said = |all: &[InBoth]| all.iter().map(|line| line.en.clone()).collect::<Vec<_>>();
    assert_eq!(
        (said(&beam.gone), said(&beam.come)),
        (vec!["beam for 3B".to_owned()], vec!["beam for ".to_owned()])
    );
    assert_eq!(grades[0].stations[0].change, None, "mats stay mats");
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

/// A gym whose beam is 20 cm higher with each grade.
fn by_grade(gym: &mut Gym) {
    let numbers: Vec<_> = gym.stations.iter().map(|s| s.config().number).collect();
    gym.lesson = Lesson::open(LessonSettings {
        stations: gym.stations.clone(),
        setups: Arc::new(move |_, grade| {
            let plan = |number: &StationNumber| StationPlan {
                number: *number,
                setup: match number.get() {
                    2 => format!("mat; beam at {} cm", 20 * (1 + grade.unwrap_or(0))),
                    _ => "mats".to_owned(),
                },
                in_pairs: false,
                hands: Hands::None,
            };
            numbers.iter().map(plan).collect()
        }),
        in_words: plain_words(),
        unit: UnitInUse::default(),
        clocks: Arc::clone(&gym.lesson.settings.clocks),
        state_dir: None,
        heard_of: None,
        demo: false,
        list: None,
    });
}

#[tokio::test]
async fn when_time_is_short_a_station_stays_as_the_younger_class_had_it() {
    let mut gym = Gym::open(3);
    by_grade(&mut gym);
    gym.start(|asked| asked.grade = Some(1)).await.unwrap();
    gym.press(Press::End).await;
    let change = |gym: &Gym, grade: usize| {
        let grades = gym.lesson.start_info().grades;
        grades[grade + 1].stations[1].change.clone()
    };
    assert_eq!(change(&gym, 1), None, "the same grade again");
    assert!(change(&gym, 4).unwrap().easier_as_it_stands);
    let younger = change(&gym, 0).unwrap();
    assert!(!younger.easier_as_it_stands, "not for the younger");
    assert_eq!(
        (younger.gone.len(), younger.come.len()),
        (1, 1),
        "the mat stays"
    );
    let start = |grade, id: &'static str| {
        move |asked: &mut ClassStart| {
            id.clone_into(&mut asked.class);
            asked.grade = Some(grade);
            asked.as_it_stands = vec![2];
            asked.anew = true;
        }
    };
    gym.start(start(4, "5C")).await.unwrap();
    assert_eq!(gym.cameras(), [true; 3]);
    let setup = gym.lesson.info().class.unwrap().stations[1].setup.clone();
    assert_eq!(setup, "mat; beam at 40 cm", "as it stood for grade 1");
    gym.press(Press::End).await;
    assert_eq!(change(&gym, 1), None, "and it still stands so");
    gym.start(start(0, "KA")).await.unwrap();
    assert_eq!(gym.cameras(), [true, false, true], "higher is not easier");
    gym.press(Press::End).await;
    let wrong = gym.start(|asked| asked.grade = Some(6)).await;
    assert_eq!(wrong, Err(NotStarted::Grade(6)));
}

#[tokio::test]
async fn the_first_lesson_with_cameras_has_a_minute_more_and_the_next_has_not() {
    let gym = Gym::open(2);
    let briefing = |gym: &Gym| gym.lesson.start_info().classes[0].times.briefing_s;
    gym.start(|asked| asked.camera_briefing = true)
        .await
        .unwrap();
    gym.press(Press::Next).await;
    assert_eq!(gym.seen(), Some((Phase::Briefing, 1, 180)));
    assert_eq!(briefing(&gym), 120);
}

#[tokio::test]
async fn a_visitor_of_the_demo_starts_a_class_at_once() {
    let mut gym = Gym::open(2);
    gym.lesson = Lesson::open(LessonSettings {
        stations: gym.stations.clone(),
        setups: Arc::clone(&gym.lesson.settings.setups),
        in_words: plain_words(),
        unit: UnitInUse::default(),
        clocks: Arc::clone(&gym.lesson.settings.clocks),
        state_dir: None,
        heard_of: None,
        demo: true,
        list: None,
    });
    gym.lesson.start_demo();
    assert!(gym.lesson.info().class.unwrap().demo);
    gym.start(|_| ()).await.unwrap();
    let class = gym.lesson.info().class.unwrap();
    assert_eq!((class.title.as_str(), class.demo), ("3B", false));
    let other = gym.start(|asked| "1A".clone_into(&mut asked.class)).await;
    assert_eq!(other, Err(NotStarted::Running("3B".to_owned())));
}
