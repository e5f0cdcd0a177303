//! The rules of one station in the server's config file.
//!
//! Not here: its camera ([`super::camera`]) and its screen ([`super::screen`]).

use std::ops::{Range, RangeInclusive};

use afterturn_core::kernel::{AttemptS, DELAY_STEP_MS, DelayMs, StationNumber};

use super::diagnostic::Diagnostic;
use super::reader::{Findings, Table};
use super::value::Entry;
use super::{Environment, ScreenSettings, StationSettings, camera, screen};

/// A window holds any delay a class is likely to want, in 15 MB a station.
pub(super) const DEFAULT_WINDOW_MS: u32 = 30_000;
/// Long enough to walk from the mat to the line and look up.
const DEFAULT_DELAY_MS: u32 = 10_000;
/// Below, a keyframe may not fit beside the reserve; above, a camera at
/// 8 Mbit/s takes more than 120 MB.
const WINDOW_MS: RangeInclusive<u32> = 4_000..=120_000;
const ATTEMPT_S: RangeInclusive<u32> = AttemptS::LEAST.get() as u32..=AttemptS::MOST.get() as u32;
/// A sign's line.
const TITLE_CHARACTERS: usize = 60;

/// One `[[station]]`; `used` are the numbers before it.
pub(super) fn read(
    findings: &Findings,
    mut table: Table<'_>,
    used: &mut Vec<(StationNumber, Range<usize>)>,
    environment: Environment<'_>,
) -> Option<StationSettings> {
    let number = table.required("number", "number = 1");
    let title = table.required("title", "title = \"Beam walk\"");
    let delay = table.optional("delay_ms");
    let attempt = table.optional("attempt_s");
    let window = table.optional("window_ms");
    let camera = table.required(
        "camera",
        "[station.camera] with kind = \"network\", \"usb\", \"whip\", \"file\" or \"demo\"",
    );
    let screen = table.optional("screen");
    table.finish();

    let number = number.and_then(|entry| number_of(findings, &entry, used));
    let title = title.and_then(|entry| title_of(&entry));
    let window_ms = match &window {
        Some(entry) => entry.whole_within(WINDOW_MS),
        None => Some(DEFAULT_WINDOW_MS),
    };
    let delay = delay_of(delay.as_ref(), window.as_ref(), window_ms);
    let attempt = match attempt {
        Some(entry) => entry
            .whole_within(ATTEMPT_S)
            .and_then(|attempt_s| AttemptS::new(attempt_s).ok()),
        None => Some(AttemptS::USUAL),
    };
    let camera = camera
        .and_then(|entry| entry.table("this camera", "[station.camera]"))
        .and_then(|table| camera::read(findings, table, environment));
    let screen = match screen {
        Some(entry) => entry
            .table("this screen", "[station.screen]")
            .and_then(screen::read),
        None => Some(ScreenSettings::default()),
    };
    let (camera, latency_ms) = camera?;
    Some(StationSettings {
        number: number?,
        title: title?,
        delay: delay?,
        attempt: attempt?,
        window_ms: window_ms?,
        latency_ms,
        camera,
        screen: screen?,
    })
}

fn number_of(
    findings: &Findings,
    entry: &Entry<'_>,
    used: &mut Vec<(StationNumber, Range<usize>)>,
) -> Option<StationNumber> {
    let number = match StationNumber::try_from(entry.whole()?) {
        Ok(number) => number,
        Err(error) => {
            entry.refuse(error.to_string(), "write the number on the station's sign");
            return None;
        }
    };
    if let Some((_, first)) = used.iter().find(|(other, _)| *other == number) {
        let free = (1..=99).find(|n| used.iter().all(|(other, _)| i64::from(other.get()) != *n));
        let free = free.map_or_else(|| "another".to_owned(), |n| n.to_string());
        findings.add(
            Diagnostic::mistake(
                entry.span.clone(),
                format!("there is a station {number} already"),
                format!("give one of them another number; {free} is free so far"),
            )
            .with_also(first.clone(), "the first is here"),
        );
        return None;
    }
    used.push((number, entry.span.clone()));
    Some(number)
}

fn title_of(entry: &Entry<'_>) -> Option<String> {
    let title = entry.text()?.trim();
    let characters = title.chars().count();
    if characters == 0 || characters > TITLE_CHARACTERS {
        entry.refuse(
            format!("a title has 1 to {TITLE_CHARACTERS} characters, not {characters}"),
            "write what the station's sign says",
        );
        return None;
    }
    if title.chars().any(char::is_control) {
        entry.refuse("a title is one line", "take line breaks and tabs out");
        return None;
    }
    Some(title.to_owned())
}

/// The delay, against its window. Where the window itself is wrong, only the
/// step is checked, against the widest window there is.
fn delay_of(
    entry: Option<&Entry<'_>>,
    window: Option<&Entry<'_>>,
    window_ms: Option<u32>,
) -> Option<DelayMs> {
    let most_ms = DelayMs::most_ms(window_ms.unwrap_or(*WINDOW_MS.end()));
    let Some(entry) = entry else {
        let delay = DelayMs::new(DEFAULT_DELAY_MS, window_ms?).ok();
        if let (None, Some(window)) = (delay, window) {
            window.refuse(
                format!("this window reaches back {most_ms} ms, less than the usual delay"),
                format!("add  delay_ms = {most_ms}  or less, or make the window longer"),
            );
        }
        return delay;
    };
    let given = entry.whole()?;
    let clamped = given.clamp(0, i64::from(most_ms)) as u32;
    let near = ((clamped + DELAY_STEP_MS / 2) / DELAY_STEP_MS * DELAY_STEP_MS).min(most_ms);
    let mut fix = format!("the nearest possible is {near}");
    if (1..=120).contains(&given) {
        fix = format!("{fix}; for {given} seconds write {}", given * 1000);
    }
    let Ok(given_ms) = u32::try_from(given) else {
        entry.refuse(
            format!("a delay goes from 0 to {most_ms} ms here, not {given}"),
            fix,
        );
        return None;
    };
    DelayMs::new(given_ms, window_ms.unwrap_or(*WINDOW_MS.end()))
        .map_err(|error| entry.refuse(error.to_string(), fix))
        .ok()
}
