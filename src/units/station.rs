//! A station out of a unit file, with its bands.
//!
//! Not here: kit, levels, other ways and cues ([`super::parts`]).

use afterturn_core::plan::{
    Band, Changes, Colour, Details, Grades, MOST_REMINDER_WORDS, Mark, Shape, Station, Text,
};

use super::file::Walk;
use super::index::{Kind, Named, Said};
use super::parts::{Place, asked, cue, kit, level, other_way};
use super::words::{Limits, grades, id, one_of, text};
use crate::settings::diagnostic::Diagnostic;
use crate::settings::reader::Table;
use crate::settings::sentence::say;
use crate::settings::value::Entry;

mod checks;

use checks::{bare_on_board, delay, number, without_hands};

/// Wider than a gym.
const MOST_LANES: u32 = 8;
/// Longer than anything held in a circuit (common practice, no source).
const MOST_HOLD_S: u32 = 60;
/// More are not read (common practice, no source).
const MOST_REMINDERS: usize = 6;

/// The keys of a station that a band cannot change.
const NOT_IN_A_BAND: [&str; 5] = ["id", "ask_first", "level", "other_way", "cue"];

/// Reads one station.
pub(super) fn station(walk: &mut Walk<'_>, mut table: Table<'_>) -> Option<Station> {
    let at = table.span();
    let name = table.required("id", "id = \"beam\"");
    let run = table.optional("grades");
    let ask = table.optional("ask_first");
    let levels = table.required(
        "level",
        "a level: [[station.level]] with id = \"…\" and title",
    );
    let ways = table.required(
        "other_way",
        "another way: [[station.other_way]] with id, way = \"seated\" and title",
    );
    let cues = table.required("cue", "a cue: [[station.cue]] with id = \"…\" and text");
    let bands = table.optional("band");
    let run = match &run {
        Some(entry) => grades(entry, walk.grades, "this unit"),
        None => Some(walk.grades),
    };
    let place = Place {
        station: walk.index.station(at.clone(), run.unwrap_or(walk.grades)),
        grades: run.unwrap_or(walk.grades),
    };
    let details = changes(walk, &mut table, place, None);
    table.finish();

    let ask_first = asked(ask);
    let name = name.and_then(|entry| {
        let name = id(&entry)?;
        walk.index.add(Named {
            id: Some((name.clone(), entry.span)),
            ..Named::new(Kind::Station, place.station, place.grades)
        });
        Some(name)
    });
    let levels = rows(levels.as_ref(), "this level", "[[station.level]]", |one| {
        level(walk, one, place)
    });
    let other_ways = rows(ways.as_ref(), "this way", "[[station.other_way]]", |one| {
        other_way(walk, one, place)
    });
    let cues = rows(cues.as_ref(), "this cue", "[[station.cue]]", |one| {
        cue(walk, one, place)
    });
    let bands = rows(bands.as_ref(), "this band", "[[station.band]]", |one| {
        band(walk, one, place)
    });
    let station = Station {
        id: name?,
        grades: run?,
        ask_first: ask_first?,
        details: whole(details?)?,
        bands: bands?,
        levels: levels?,
        other_ways: other_ways?,
        cues: cues?,
    };
    without_hands(walk, at.clone(), &station);
    bare_on_board(walk, &at, &station);
    Some(station)
}

/// Each of a row of tables; nothing where one of them is wrong.
fn rows<'t, T>(
    entry: Option<&Entry<'t>>,
    what: &'static str,
    header: &str,
    mut read: impl FnMut(Table<'t>) -> Option<T>,
) -> Option<Vec<T>> {
    let Some(entry) = entry else {
        return Some(Vec::new());
    };
    let tables = entry.tables(what, header);
    let count = tables.len();
    let all: Vec<T> = tables.into_iter().filter_map(&mut read).collect();
    (all.len() == count).then_some(all)
}

/// Reads one band.
fn band(walk: &mut Walk<'_>, mut table: Table<'_>, place: Place) -> Option<Band> {
    let run = table.required("grades", "grades = \"K\"");
    table.not_here(
        &NOT_IN_A_BAND,
        "cannot differ from band to band",
        "give levels, ways and cues their own `grades`",
    );
    let run = run.and_then(|entry| grades(&entry, place.grades, "this station"));
    let span = table.span();
    let changes = changes(walk, &mut table, place, Some(run));
    table.finish();
    let changes = changes?;
    if changes == Changes::default() {
        walk.findings.add(Diagnostic::mistake(
            span,
            say!("band-empty", "this band changes nothing"),
            say!(
                "band-say",
                "say what differs for these grades, or take it out"
            ),
        ));
    }
    Some(Band {
        grades: run?,
        changes,
    })
}

/// What a station or band says of itself. `of_band` are the grades of a band,
/// as far as they are right; in a station itself everything has to be said.
#[expect(
    clippy::option_option,
    reason = "no band and a band with wrong grades are different"
)]
fn changes(
    walk: &mut Walk<'_>,
    table: &mut Table<'_>,
    place: Place,
    of_band: Option<Option<Grades>>,
) -> Option<Changes> {
    let base = of_band.is_none();
    let mut reader = Reader {
        run: of_band.unwrap_or(Some(place.grades)),
        walk,
        place,
        base,
        whole: true,
    };
    let changes = Changes {
        number: reader.take(table, "number", "number = 1", number),
        shape: reader.take(table, "shape", "shape = \"disc\"", |entry| {
            one_of(entry, Shape::ALL, Shape::name, "shape")
        }),
        colour: reader.take(table, "colour", "colour = \"blue\"", |entry| {
            one_of(entry, Colour::ALL, Colour::name, "colour")
        }),
        title: reader.text(table, "title", true, Limits::TITLE),
        task: reader.text(table, "task", true, Limits::SENTENCES),
        lanes: reader.may(table, "lanes", |entry| {
            entry.whole_within(1..=MOST_LANES).map(|n| n as u8)
        }),
        watch_from: reader.text(table, "watch_from", true, Limits::TITLE),
        hold_s: reader.may(table, "hold_s", |entry| {
            entry.whole_within(0..=MOST_HOLD_S).map(|n| n as u8)
        }),
        delay_ms: reader.may(table, "delay_ms", delay),
        one_way: reader.may(table, "one_way", flag),
        reset: reader.text(table, "reset", true, Limits::SENTENCES),
        reminders: reader.texts(table, "reminders", Limits::words(MOST_REMINDER_WORDS)),
        cautions: reader.texts(table, "cautions", Limits::SENTENCES),
        in_pairs: reader.may(table, "in_pairs", flag),
        adult_hands: reader.may(table, "adult_hands", flag),
        board: reader.may(table, "board", flag),
        no_spotter: reader.text(table, "no_spotter", false, Limits::SENTENCES),
        kit: reader.kit(table).unwrap_or_default(),
    };
    reader.whole.then_some(changes)
}

/// Takes the keys that a station and its bands share, and notes which of them
/// were there.
struct Reader<'w, 'f> {
    walk: &'w mut Walk<'f>,
    place: Place,
    run: Option<Grades>,
    base: bool,
    whole: bool,
}

impl Reader<'_, '_> {
    fn entry<'t>(
        &mut self,
        table: &mut Table<'t>,
        key: &'static str,
        example: Option<&str>,
    ) -> Option<Entry<'t>> {
        let entry = match example {
            Some(example) if self.base => {
                let entry = table.required(key, example);
                self.whole &= entry.is_some();
                entry
            }
            _ => table.optional(key),
        }?;
        self.said(key, &entry);
        Some(entry)
    }

    fn said(&mut self, key: &str, entry: &Entry<'_>) {
        if let (false, Some(grades)) = (self.base, self.run) {
            self.walk.index.band(Said {
                station: self.place.station,
                key: key.to_owned(),
                grades,
                span: entry.key_span.clone(),
            });
        }
    }

    fn keep<T>(&mut self, value: Option<T>) -> Option<T> {
        self.whole &= value.is_some();
        value
    }

    /// A key that a station has to have.
    fn take<T: Copy + Into<super::index::OfMark>>(
        &mut self,
        table: &mut Table<'_>,
        key: &'static str,
        example: &str,
        read: impl FnOnce(&Entry<'_>) -> Option<T>,
    ) -> Option<T> {
        let entry = self.entry(table, key, Some(example))?;
        let value = read(&entry);
        let value = self.keep(value)?;
        if let Some(run) = self.run {
            let station = self.place.station;
            self.walk.index.mark(station, run, value.into(), entry.span);
        }
        Some(value)
    }

    /// A key that may be left out.
    fn may<T>(
        &mut self,
        table: &mut Table<'_>,
        key: &'static str,
        read: impl FnOnce(&Entry<'_>) -> Option<T>,
    ) -> Option<T> {
        let entry = self.entry(table, key, None)?;
        let value = read(&entry);
        self.keep(value)
    }

    fn text(
        &mut self,
        table: &mut Table<'_>,
        key: &'static str,
        needed: bool,
        limits: Limits,
    ) -> Option<Text> {
        let example = format!("{key} = {{ en = \"…\" }}");
        let entry = self.entry(table, key, needed.then_some(example.as_str()))?;
        let value = text(self.walk.findings, &self.walk.languages, &entry, limits);
        self.keep(value)
    }

    fn texts(
        &mut self,
        table: &mut Table<'_>,
        key: &'static str,
        limits: Limits,
    ) -> Option<Vec<Text>> {
        let entry = self.entry(table, key, None)?;
        let items = entry.list("write a list: [{ en = \"…\" }, { en = \"…\" }]");
        if let Some(more) = items.get(MOST_REMINDERS) {
            more.refuse(
                say!(
                    "many-lines",
                    "`{key}` holds at most {most}; nobody keeps more in mind",
                    key = key,
                    most = MOST_REMINDERS
                ),
                say!("keep-most", "keep those that matter most"),
            );
            self.whole = false;
        }
        let all: Option<Vec<Text>> = {
            let read =
                |item: &Entry<'_>| text(self.walk.findings, &self.walk.languages, item, limits);
            // All of them are read, for what is wrong in each.
            items
                .iter()
                .map(read)
                .collect::<Vec<_>>()
                .into_iter()
                .collect()
        };
        self.keep(all)
    }

    fn kit(&mut self, table: &mut Table<'_>) -> Option<Vec<afterturn_core::plan::KitLine>> {
        let entry = table.optional("kit")?;
        let lines = kit(self.walk, &entry, !self.base);
        for line in lines.iter().flatten() {
            self.said(&format!("kit `{}`", line.id), &entry);
        }
        self.keep(lines)
    }
}

/// The details of a station that said all it has to.
fn whole(given: Changes) -> Option<Details> {
    Some(Details {
        mark: Mark {
            number: given.number?,
            shape: given.shape?,
            colour: given.colour?,
        },
        title: given.title?,
        task: given.task?,
        lanes: given.lanes.unwrap_or(1),
        watch_from: given.watch_from?,
        hold_s: given.hold_s.unwrap_or_default(),
        delay_ms: given.delay_ms.unwrap_or_default(),
        one_way: given.one_way.unwrap_or_default(),
        reset: given.reset?,
        reminders: given.reminders.unwrap_or_default(),
        cautions: given.cautions.unwrap_or_default(),
        in_pairs: given.in_pairs.unwrap_or_default(),
        adult_hands: given.adult_hands.unwrap_or_default(),
        board: given.board.unwrap_or_default(),
        no_spotter: given.no_spotter.unwrap_or_default(),
        kit: given.kit,
    })
}

fn flag(entry: &Entry<'_>) -> Option<bool> {
    entry.flag()
}
