//! What is set for one class and ends with it.

use afterturn_core::wire::{ClassChange, Refinement};

use super::*;

fn number(n: i64) -> StationNumber {
    n.try_into().expect("a good number")
}

fn quiet(gym: &Gym) -> Vec<bool> {
    gym.stations.iter().map(|s| s.state().quiet).collect()
}

#[tokio::test]
async fn a_quiet_class_takes_no_picture_and_its_screens_are_told_why() {
    let gym = Gym::open(3);
    gym.start(|asked| asked.quiet = true).await.unwrap();
    assert_eq!(
        (gym.cameras(), quiet(&gym)),
        (vec![false; 3], vec![true; 3])
    );
    assert!(gym.lesson.is_quiet(None), "no sound either");
    let over = ClassChange::Quiet { on: false };
    gym.lesson.change(over).await.unwrap();
    assert_eq!(
        (gym.cameras(), quiet(&gym)),
        (vec![true; 3], vec![false; 3])
    );
    assert!(!gym.lesson.is_quiet(None));
    gym.lesson
        .change(ClassChange::Quiet { on: true })
        .await
        .unwrap();
    // Whatever is pressed, none comes on.
    for press in [Press::Next, Press::Next, Press::Back] {
        gym.press(press).await;
        assert_eq!(gym.cameras(), [false; 3], "{press:?}");
    }
    gym.press(Press::End).await;
    assert_eq!(quiet(&gym), [false; 3], "it ends with the class");
    gym.start(|_| ()).await.unwrap();
    assert_eq!(gym.cameras(), [true; 3], "and is not the next one's");
}

#[tokio::test]
async fn one_station_is_quiet_by_itself_and_still_after_a_restart() {
    let mut gym = Gym::open(3);
    let second = ClassChange::StationQuiet {
        station: number(2),
        on: true,
    };
    assert_eq!(gym.lesson.change(second).await, Err(Refused::Over));
    gym.start(|_| ()).await.unwrap();
    gym.lesson.change(second).await.unwrap();
    // A press that came twice says the same.
    gym.lesson.change(second).await.unwrap();
    assert_eq!(gym.cameras(), [true, false, true]);
    assert!(gym.lesson.is_quiet(Some(number(2))) && !gym.lesson.is_quiet(None));
    gym.restart(5, "second");
    assert_eq!(
        (gym.cameras(), quiet(&gym)),
        (vec![true, false, true], vec![false, true, false])
    );
    let again = ClassChange::StationQuiet {
        station: number(2),
        on: false,
    };
    gym.lesson.change(again).await.unwrap();
    assert_eq!(gym.cameras(), [true; 3]);
}

#[tokio::test]
async fn the_refinement_of_the_day_is_on_every_screen_until_the_class_ends() {
    let mut gym = Gym::open(2);
    gym.start(|asked| asked.refine = Some(Refinement::HoldStill))
        .await
        .unwrap();
    let shown = |gym: &Gym| gym.lesson.screen(number(2)).refine;
    assert_eq!(shown(&gym), Some(Refinement::HoldStill));
    let other = ClassChange::Refine {
        cue: Some(Refinement::Tall),
    };
    gym.lesson.change(other).await.unwrap();
    gym.restart(5, "second");
    assert_eq!(shown(&gym), Some(Refinement::Tall));
    assert_eq!(gym.lesson.refinement(), Some(Refinement::Tall));
    gym.press(Press::End).await;
    assert_eq!(shown(&gym), None);
}
