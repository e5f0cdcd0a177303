//! What holds of a station as a whole, and of its single numbers.
//!
//! Not here: reading it key by key.

use std::ops::Range;

use afterturn_core::kernel::{DELAY_STEP_MS, DelayMs, StationNumber};
use afterturn_core::plan::Station;

use crate::settings::diagnostic::Diagnostic;
use crate::settings::sentence::{Sentence, say};
use crate::settings::value::Entry;
use crate::units::file::Walk;

/// The longest window the server keeps.
const LONGEST_WINDOW_MS: u32 = 120_000;

/// Where hands are needed there is something to do without them, in every grade.
pub(super) fn without_hands(walk: &Walk<'_>, at: Range<usize>, station: &Station) {
    let bare = station.grades.iter().find(|grade| {
        let details = station.details_for(*grade);
        details.adult_hands && details.no_spotter.iter().next().is_none()
    });
    if let Some(grade) = bare {
        walk.findings.add(
            Diagnostic::mistake(
                at,
                say!(
                    "no-hands",
                    "grade {grade} needs an adult's hands here, and it is not said what is done when no adult is free",
                    grade = grade
                ),
                say!(
                    "add",
                    "add  {example}",
                    example = "no_spotter = { en = \"…\" }"
                ),
            )
            .about_absence(),
        );
    }
}

/// What is chosen from on a picture board has a picture.
pub(super) fn bare_on_board(walk: &Walk<'_>, at: &Range<usize>, station: &Station) {
    let boards = |grade| station.details_for(grade).board;
    if !station.grades.iter().any(boards) {
        return;
    }
    let levels = station.levels.iter();
    let levels = levels.map(|one| (&one.id, &one.figure, &one.picture));
    let ways = station.other_ways.iter();
    let ways = ways.map(|one| (&one.id, &one.figure, &one.picture));
    for (id, figure, picture) in levels.chain(ways) {
        if figure.is_none() && picture.is_none() {
            walk.findings.add(Diagnostic::warning(
                at.clone(),
                say!(
                    "bare-on-board",
                    "this station is a picture board, and `{id}` has neither figure nor picture",
                    id = id
                ),
                say!("draw-it", "give it a figure or a picture"),
            ));
        }
    }
}

pub(super) fn number(entry: &Entry<'_>) -> Option<StationNumber> {
    let number = StationNumber::try_from(entry.whole()?);
    if let Err(error) = &number {
        entry.refuse(
            Sentence::known_as(error.to_string(), "no-number", []),
            say!("number-on-sign", "write the number on the station's sign"),
        );
    }
    number.ok()
}

/// A delay the longest window could hold; which one a station has is the
/// server's to know.
pub(super) fn delay(entry: &Entry<'_>) -> Option<u32> {
    let most = DelayMs::most_ms(LONGEST_WINDOW_MS);
    let given = entry.whole_within(0..=most)?;
    if given.is_multiple_of(DELAY_STEP_MS) {
        return Some(given);
    }
    let fix = if given < DELAY_STEP_MS && given * 1000 <= most {
        say!(
            "for-seconds",
            "for {given} seconds write {ms}",
            given = given,
            ms = (given * 1000)
        )
    } else {
        let near = (given + DELAY_STEP_MS / 2) / DELAY_STEP_MS * DELAY_STEP_MS;
        say!("nearest", "the nearest possible is {near}", near = near)
    };
    entry.refuse(
        say!(
            "delay-steps",
            "a delay goes in steps of {step} ms; {given} lies between two",
            step = DELAY_STEP_MS,
            given = given
        ),
        fix,
    );
    None
}
