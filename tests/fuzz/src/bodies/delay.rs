//! The ring and its viewers, in any order of whatever can happen to them.
//!
//! Not here: sockets. A screen reads when the script says so: all there is, a
//! few messages, or nothing at all; it reports truly, wildly or never.

mod gym;
mod screen;

use afterturn_core::{
    kernel::{CaptureUs, DelayMs},
    wire::CoverReason,
};

use crate::script::Script;
use gym::{Gym, PICTURE_US, WINDOW_MS};
use screen::{Reads, Screen};

/// Whatever is pushed, pruned, veiled, wiped, paused, wanted, reported and read:
///
/// - no picture that is veiled, wiped or paused is sent, none before its lead,
///   none that the screen cannot decode, none out of order;
/// - of what a screen that reads still holds and has yet to show, nothing is
///   hidden by then;
/// - a screen is never sent more than a second beyond what it reported;
/// - what was left out for a screen is counted, and it is told exactly that;
/// - a screen that reads all there is comes to an end of it;
/// - the ring holds what it should, byte for byte, answers rightly about every
///   number, keeps its window and its limit of memory.
pub fn delay(data: &[u8]) {
    let mut script = Script::new(data);
    let mut gym = Gym::new();
    let mut screens = [
        Screen::new(Reads::Everything),
        Screen::new(Reads::WithoutReporting),
        Screen::new(Reads::NowAndThen),
    ];
    for screen in &mut screens {
        screen.want(None);
    }
    while let Some(act) = script.act() {
        happen(act, &mut script, &mut gym, &mut screens);
        for screen in &mut screens {
            screen.read(&gym, 0);
        }
        gym.check(script.u8());
    }
    // At the end everyone reads what there is.
    for screen in &mut screens {
        screen.reads = Reads::Everything;
        screen.read(&gym, 0);
    }
}

fn happen(act: u8, script: &mut Script<'_>, gym: &mut Gym, screens: &mut [Screen; 3]) {
    let which = usize::from(act / 16) % screens.len();
    match act % 16 {
        0..=4 => {
            for _ in 0..script.u8() % 64 {
                gym.push();
            }
        }
        5 => gym.hole(i64::from(script.u8()) * 3 * PICTURE_US),
        6 => gym.pass(i64::from(script.u8()) * 50_000),
        7 => gym.prune(),
        8 => {
            let delay_ms = u32::from(script.u8() % 57) * 500;
            gym.delay = DelayMs::new(delay_ms, WINDOW_MS).expect("within the window");
        }
        9 => {
            let back = script.u16();
            let from = (back != 0).then(|| gym.back(i64::from(back % 1200) - 60));
            screens[which].want(from);
        }
        10 => {
            let end = match script.u8() {
                0 => None,
                1 => Some(CaptureUs(script.u64())),
                _ => Some(gym.back(i64::from(script.i16() % 600))),
            };
            screens[which].report(end);
        }
        11 => {
            let from = gym.back(i64::from(script.u16() % 900) - 60);
            let length = script.u8();
            let to = (length != 0).then(|| from.offset(i64::from(length) * PICTURE_US));
            let reason = [CoverReason::DontShow, CoverReason::Covered][which % 2];
            gym.veil(from, to, reason);
        }
        12 => gym.unveil(),
        13 => gym.wipe(i64::from(script.u16() % 900) - 30),
        14 => gym.pause(which == 0),
        _ => screens[2].read(gym, usize::from(script.u8() % 40)),
    }
}

/// An afternoon in short, and each kind of trouble once.
#[must_use]
pub fn seeds() -> Vec<Vec<u8>> {
    let push = [0, 60, 5];
    let class = push.repeat(20);
    let with = |trouble: &[u8]| [&class[..], trouble, &class, &[15, 39, 0], &class].concat();
    vec![
        class.clone(),
        with(&[11, 0, 200, 30, 0]),
        with(&[11, 0, 20, 0, 0, 0, 60, 0, 12, 0]),
        with(&[13, 0, 100, 0]),
        with(&[14, 0, 0, 60, 0, 30, 0]),
        with(&[8, 40, 0, 8, 0, 0]),
        with(&[5, 30, 0, 6, 100, 0, 7, 0]),
        with(&[9, 1, 44, 0, 25, 0, 0, 0]),
        with(&[10, 1, 255, 255, 255, 255, 255, 255, 255, 255, 0]),
    ]
}
