//! A clicker at a screen: what it does, and what whoever is bored does not get.

use proptest::prelude::*;

use super::*;

/// A class with clickers at its screens.
struct Room {
    clock: Clock,
    clicks: Clicks,
    ids: u32,
}

const TV: ClickedAt = ClickedAt::Hall;

fn room(times: Times) -> Room {
    Room {
        clock: class(4, 4, times),
        clicks: Clicks::default(),
        ids: 0,
    }
}

fn tv(n: u8) -> ClickedAt {
    ClickedAt::Station(number(n))
}

impl Room {
    /// What was done of a press.
    fn click(&mut self, at: ClickedAt, click: Click, now: CaptureUs) -> Option<Press> {
        self.ids += 1;
        self.click_as(&format!("c{}", self.ids), at, click, now)
    }

    fn click_as(&mut self, id: &str, at: ClickedAt, click: Click, now: CaptureUs) -> Option<Press> {
        self.clock.advance(now);
        let press = self.clicks.means(id, at, click, &self.clock, now)?;
        let done = self.clock.press(id, press, None, now, WALL_MS);
        assert_eq!(done, Ok(Outcome::Done));
        Some(press)
    }

    fn remote(&mut self, press: Press, now: CaptureUs) {
        self.clicks.remote_pressed(press);
        super::press(&mut self.clock, press, now).expect("running");
    }

    fn phase(&self, now: CaptureUs) -> Phase {
        self.clock.face(now).phase
    }
}

const FREEZE: Press = Press::Hold { hold: Hold::Freeze };
const GO_ON: Press = Press::Resume { hold: Hold::Freeze };

#[test]
fn a_short_press_is_next_and_a_long_one_freezes_and_goes_on() {
    let mut room = room(CIRCUIT);
    assert_eq!(room.click(TV, Click::Short, s(60)), Some(Press::Next));
    assert_eq!(room.phase(s(60)), Phase::Gather);
    // At once: who freezes does not wait.
    assert_eq!(room.click(TV, Click::Long, s(61)), Some(FREEZE));
    assert_eq!(room.click(TV, Click::Long, s(62)), Some(GO_ON));
    assert_eq!(seen(&room.clock, s(62)), (Phase::Gather, 0, 9));
}

#[test]
fn who_mashes_it_gets_one_answer() {
    let mut room = room(CIRCUIT);
    let mut taken = 0;
    for tenth in 0..600 {
        let now = s(20).offset(tenth * 100_000);
        taken += i32::from(room.click(TV, Click::Short, now).is_some());
    }
    assert_eq!(taken, 1, "ten presses a second for a minute");
    // The class goes on by itself meanwhile, and whoever then waits is heard.
    assert_eq!(room.click(TV, Click::Short, s(86)), Some(Press::Next));
}

#[test]
fn next_is_not_for_what_has_just_begun() {
    let mut room = room(CIRCUIT);
    // Work ends by itself at 240 s.
    assert_eq!(room.click(tv(1), Click::Short, s(242)), None);
    assert_eq!(room.click(tv(2), Click::Short, s(243)), Some(Press::Next));
    // Another screen's press of the same moment meant the same.
    assert_eq!(room.click(tv(3), Click::Short, s(244)), None);
    assert_eq!(room.phase(s(244)), Phase::Walk);
}

#[test]
fn only_the_screen_that_froze_it_goes_on_and_a_remote_always_can() {
    let mut room = room(CIRCUIT);
    room.click(tv(1), Click::Long, s(20));
    assert_eq!(room.click(tv(2), Click::Long, s(25)), None);
    assert_eq!(room.click(tv(1), Click::Short, s(30)), None, "it waits");
    assert_eq!(room.click(tv(1), Click::Long, s(35)), Some(GO_ON));
    // A remote that presses freeze too means it.
    room.click(tv(1), Click::Long, s(40));
    room.remote(FREEZE, s(41));
    assert_eq!(room.click(tv(1), Click::Long, s(45)), None);
    room.remote(GO_ON, s(50));
    // And what waits for another reason is no clicker's.
    let accident = Press::Hold {
        hold: Hold::Accident,
    };
    room.remote(accident, s(60));
    assert_eq!(room.click(tv(1), Click::Long, s(62)), Some(FREEZE));
    assert_eq!(room.click(tv(1), Click::Long, s(64)), Some(GO_ON));
    assert_eq!(room.clock.face(s(64)).hold, Some(Hold::Accident));
}

#[test]
fn it_never_ends_a_class() {
    let times = Times {
        closing_s: 0,
        ..CIRCUIT
    };
    let mut room = room(times);
    let last = room.clock.plan().turns() - 1;
    let mut now = 10;
    while (room.phase(s(now)), room.clock.face(s(now)).turn) != (Phase::Work, last) {
        assert_eq!(room.click(TV, Click::Short, s(now)), Some(Press::Next));
        now += 4;
    }
    assert_eq!(room.click(TV, Click::Short, s(now)), None);
    let mut room = self::room(Times {
        closing_s: 60,
        ..CIRCUIT
    });
    room.remote(Press::Finish, s(10));
    assert_eq!(room.click(TV, Click::Short, s(20)), None);
    assert_eq!(room.phase(s(20)), Phase::Closing);
}

#[test]
fn a_press_that_comes_twice_counts_once() {
    let mut room = room(CIRCUIT);
    assert_eq!(room.click_as("a", TV, Click::Long, s(20)), Some(FREEZE));
    assert_eq!(room.click_as("a", TV, Click::Long, s(22)), None);
    assert_eq!(room.click_as("b", TV, Click::Long, s(24)), Some(GO_ON));
}

#[test]
fn whose_freeze_it_is_outlives_a_restart() {
    let mut room = room(CIRCUIT);
    room.click(tv(1), Click::Long, s(20));
    let kept = serde_json::to_string(&room.clicks).expect("plain data");
    room.clicks = serde_json::from_str(&kept).expect("as it was written");
    assert_eq!(room.click(tv(2), Click::Long, s(30)), None);
    assert_eq!(room.click(tv(1), Click::Long, s(31)), Some(GO_ON));
}

proptest! {
    /// However it is pressed, and wherever: no phase that a clicker began is
    /// shorter than three seconds, and nothing but next, freeze and its own way
    /// on is done.
    #[test]
    fn whatever_is_pressed_the_class_stays_whole(
        pressed in prop::collection::vec((0..4_u8, any::<bool>(), 1..8_000_i64), 0..200),
    ) {
        let mut room = room(CIRCUIT);
        let mut now = s(10);
        let mut began = START;
        let mut froze = None;
        for (screen, long, later_ms) in pressed {
            now = now.offset(later_ms * 1000);
            let at = if screen == 0 { ClickedAt::Hall } else { tv(screen) };
            let click = if long { Click::Long } else { Click::Short };
            match room.click(at, click, now) {
                Some(Press::Next) => {
                    prop_assert!(now.since(began) >= 3_000_000);
                    began = now;
                }
                Some(FREEZE) => froze = Some(at),
                Some(GO_ON) => prop_assert_eq!(froze.take(), Some(at)),
                Some(other) => prop_assert!(false, "{:?}", other),
                None => {}
            }
            prop_assert!(!room.clock.is_done() || room.clock.holds().is_empty());
        }
    }
}
