//! What a station holds several of: kit, levels, other ways, cues.
//!
//! Not here: the station itself.

use afterturn_core::plan::{
    Amount, AskFirst, Cue, Grades, Id, KitLine, Level, MOST_CUE_WORDS, OtherWay, Way,
};

use super::file::Walk;
use super::index::{Kind, Named};
use super::words::{Limits, figure, grades, id, one_of, picture, text};
use crate::settings::diagnostic::Diagnostic;
use crate::settings::reader::Table;
use crate::settings::sentence::say;
use crate::settings::value::Entry;

/// More of one thing than a gym has.
const MOST_PIECES: u32 = 99;
/// Longer than a gym.
const MOST_CM: u32 = 5_000;

/// Where the parts are.
#[derive(Clone, Copy)]
pub(super) struct Place {
    /// The station's place in the file.
    pub(super) station: usize,
    /// Whom the station is for.
    pub(super) grades: Grades,
}

/// The lines of kit; in a band a count of 0 takes one away.
pub(super) fn kit(walk: &Walk<'_>, rows: &Entry<'_>, in_band: bool) -> Option<Vec<KitLine>> {
    let header = if in_band {
        "[[station.band.kit]]"
    } else {
        "[[station.kit]]"
    };
    let mut lines: Vec<KitLine> = Vec::new();
    let mut whole = true;
    for table in rows.tables("this line of kit", header) {
        let Some((line, at)) = kit_line(walk, table, in_band) else {
            whole = false;
            continue;
        };
        if lines.iter().any(|known| known.id == line.id) {
            walk.findings.add(Diagnostic::mistake(
                at,
                say!(
                    "kit-twice",
                    "there is a line `{id}` here already",
                    id = line.id
                ),
                say!(
                    "kit-other-id",
                    "give it another id, or change the amount in the line that is there"
                ),
            ));
            whole = false;
        }
        lines.push(line);
    }
    whole.then_some(lines)
}

fn kit_line(
    walk: &Walk<'_>,
    mut table: Table<'_>,
    in_band: bool,
) -> Option<(KitLine, std::ops::Range<usize>)> {
    let name = table.required("id", "id = \"mats\"");
    let item = table.required("item", "item = { en = \"folding mats\" }");
    let count = table.optional("count");
    let length = table.optional("length_cm");
    let ask = table.optional("ask_first");
    let span = table.span();
    table.finish();
    let at = name
        .as_ref()
        .map_or(span.clone(), |entry| entry.span.clone());
    let name = name.and_then(|entry| id(&entry));
    let item = item.and_then(|entry| text(walk.findings, &walk.languages, &entry, Limits::TITLE));
    let ask_first = asked(ask);
    let least = u32::from(!in_band);
    let amount = match (count, length) {
        (Some(count), None) => {
            let count = count.whole_within(least..=MOST_PIECES);
            count.map(|count| Amount::Count(count as u16))
        }
        (None, Some(length)) => {
            let length = length.whole_within(1..=MOST_CM);
            length.map(|length| Amount::LengthCm(length as u16))
        }
        (Some(_), Some(length)) => {
            walk.findings.add(Diagnostic::mistake(
                length.key_span,
                say!(
                    "count-and-length",
                    "a line of kit has a count or a length, not both"
                ),
                say!(
                    "two-lines",
                    "keep one, and make a second line for the other"
                ),
            ));
            None
        }
        (None, None) => {
            let missing = Diagnostic::mistake(
                span,
                say!("how-much", "this line of kit does not say how much"),
                say!("add-amount", "add  count = 2, or  length_cm = 60"),
            );
            walk.findings.add(missing.about_absence());
            None
        }
    };
    let line = KitLine {
        id: name?,
        item: item?,
        amount: amount?,
        ask_first: ask_first?,
    };
    Some((line, at))
}

/// What has to be asked about first: `None` for a mistake.
#[expect(
    clippy::option_option,
    reason = "wrong and nothing to ask are different answers"
)]
pub(super) fn asked(entry: Option<Entry<'_>>) -> Option<Option<AskFirst>> {
    let Some(entry) = entry else {
        return Some(None);
    };
    one_of(&entry, AskFirst::ALL, AskFirst::name, "thing to ask about").map(Some)
}

/// The grades of a part; those of its station where it does not say.
fn run_of(entry: Option<&Entry<'_>>, place: Place) -> Option<Grades> {
    match entry {
        Some(entry) => grades(entry, place.grades, "this station"),
        None => Some(place.grades),
    }
}

/// Notes a part, so that others may refer to it.
fn note(walk: &mut Walk<'_>, name: Option<&Entry<'_>>, named: Named) -> Option<Id> {
    let entry = name?;
    let name = id(entry)?;
    walk.index.add(Named {
        id: Some((name.clone(), entry.span.clone())),
        ..named
    });
    Some(name)
}

fn reference(entry: Option<&Entry<'_>>) -> Option<(Id, std::ops::Range<usize>)> {
    entry.and_then(|entry| Some((id(entry)?, entry.span.clone())))
}

/// A level.
pub(super) fn level(walk: &mut Walk<'_>, mut table: Table<'_>, place: Place) -> Option<Level> {
    let name = table.required("id", "id = \"walk-forwards\"");
    let title = table.required("title", "title = { en = \"Walk forwards\" }");
    let run = table.optional("grades");
    let after = table.optional("after");
    let ask = table.optional("ask_first");
    let drawn = Drawn::of(&mut table);
    table.finish();
    let grades = run_of(run.as_ref(), place);
    let first = reference(after.as_ref());
    let known = note(
        walk,
        name.as_ref(),
        Named {
            after: first.clone(),
            ..Named::new(Kind::Level, place.station, grades.unwrap_or(place.grades))
        },
    );
    let title = title.and_then(|entry| text(walk.findings, &walk.languages, &entry, Limits::TITLE));
    let drawn = drawn.read();
    let ask_first = asked(ask);
    Some(Level {
        id: known?,
        title: title?,
        grades: grades?,
        after: if after.is_some() {
            Some(first?.0)
        } else {
            None
        },
        ask_first: ask_first?,
        figure: drawn.figure?,
        picture: drawn.picture?,
    })
}

/// Another way to do the task.
pub(super) fn other_way(
    walk: &mut Walk<'_>,
    mut table: Table<'_>,
    place: Place,
) -> Option<OtherWay> {
    let name = table.required("id", "id = \"seated-balance\"");
    let way = table.required("way", "way = \"seated\"");
    let title = table.required("title", "title = { en = \"Reach up and hold, seated\" }");
    let run = table.optional("grades");
    let drawn = Drawn::of(&mut table);
    table.finish();
    let grades = run_of(run.as_ref(), place);
    let known = note(
        walk,
        name.as_ref(),
        Named::new(
            Kind::OtherWay,
            place.station,
            grades.unwrap_or(place.grades),
        ),
    );
    let way = way.and_then(|entry| one_of(&entry, Way::ALL, Way::name, "other way"));
    let title = title.and_then(|entry| text(walk.findings, &walk.languages, &entry, Limits::TITLE));
    let drawn = drawn.read();
    Some(OtherWay {
        id: known?,
        way: way?,
        title: title?,
        grades: grades?,
        figure: drawn.figure?,
        picture: drawn.picture?,
    })
}

/// A cue.
pub(super) fn cue(walk: &mut Walk<'_>, mut table: Table<'_>, place: Place) -> Option<Cue> {
    let name = table.required("id", "id = \"eyes\"");
    let words = table.required("text", "text = { en = \"Look at the end of the beam\" }");
    let run = table.optional("grades");
    let of = table.optional("of");
    let drawn = Drawn::of(&mut table);
    table.finish();
    let grades = run_of(run.as_ref(), place);
    let whose = reference(of.as_ref());
    let known = note(
        walk,
        name.as_ref(),
        Named {
            of: whose.clone(),
            ..Named::new(Kind::Cue, place.station, grades.unwrap_or(place.grades))
        },
    );
    let limits = Limits::words(MOST_CUE_WORDS);
    let words = words.and_then(|entry| text(walk.findings, &walk.languages, &entry, limits));
    let drawn = drawn.read();
    Some(Cue {
        id: known?,
        text: words?,
        grades: grades?,
        of: if of.is_some() { Some(whose?.0) } else { None },
        figure: drawn.figure?,
        picture: drawn.picture?,
    })
}

/// What shows something: a figure of ours or a picture of the teacher's.
struct Drawn<'t> {
    figure: Option<Entry<'t>>,
    picture: Option<Entry<'t>>,
}

/// The same, read; the inner is what may be left out, the outer what is wrong.
#[expect(
    clippy::option_option,
    reason = "wrong and left out are different answers"
)]
struct Read {
    figure: Option<Option<String>>,
    picture: Option<Option<String>>,
}

impl<'t> Drawn<'t> {
    fn of(table: &mut Table<'t>) -> Self {
        Self {
            figure: table.optional("figure"),
            picture: table.optional("picture"),
        }
    }

    fn read(&self) -> Read {
        if let (Some(_), Some(picture)) = (&self.figure, &self.picture) {
            picture.refuse(
                say!("figure-or-picture", "there is a figure already"),
                say!("one-of-two", "keep one of the two"),
            );
        }
        Read {
            figure: all_or_none(self.figure.as_ref().map(figure)),
            picture: all_or_none(self.picture.as_ref().map(picture)),
        }
    }
}

/// Something that may be left out but not be wrong.
#[expect(
    clippy::option_option,
    reason = "wrong and left out are different answers"
)]
fn all_or_none<T>(given: Option<Option<T>>) -> Option<Option<T>> {
    match given {
        Some(wrong_or_right) => wrong_or_right.map(Some),
        None => Some(None),
    }
}
