//! A unit file as a whole: its head, and the stations in order.
//!
//! Not here: what is in a station ([`super::station`]), and what holds between
//! stations ([`super::index`]).

use afterturn_core::plan::{AskFirst, Grades, Language, Permission, Unit};
use toml::de::DeTable;

use super::index::Index;
use super::station::station;
use super::words::{Limits, grades, id, one_of, text};
use crate::settings::diagnostic::{Diagnostic, Report, Source};
use crate::settings::read_as;
use crate::settings::reader::{Findings, Table, nearest};
use crate::settings::sentence::say;
use crate::settings::value::Entry;

/// The keys at the top that no other file of ours has.
const OWN_KEYS: [&str; 6] = [
    "id",
    "title",
    "languages",
    "grades",
    "permission",
    "last_id",
];

/// The greatest number an id of the editor's can end in.
pub(super) const MOST_LAST_ID: u32 = 999_999;

/// What the walk over a file carries along.
pub(super) struct Walk<'f> {
    /// What is wrong so far.
    pub(super) findings: &'f Findings,
    /// What texts have to be in; empty where the file does not say properly.
    pub(super) languages: Vec<Language>,
    /// Whom the unit is for.
    pub(super) grades: Grades,
    /// What was met so far.
    pub(super) index: Index,
}

/// Checks a file's bytes; `name` is how diagnostics call it. With the unit come
/// its warnings; a report that comes alone holds at least one mistake.
pub fn parse(name: &str, bytes: &[u8]) -> Result<(Unit, Report), Report> {
    let text = String::from_utf8_lossy(bytes).into_owned();
    let source = Source::without_secrets(name, text);
    read_as(source, bytes, "unit file", read)
}

/// Whether a file looks like a unit at all.
#[must_use]
pub fn recognises(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(bytes);
    let (root, _) = DeTable::parse_recoverable(&text);
    let mut keys = root.get_ref().keys();
    keys.any(|key| nearest(key.get_ref(), OWN_KEYS).is_some())
}

fn read(findings: &Findings, root: &DeTable<'_>) -> Option<Unit> {
    let mut top = Table::new(findings, root, 0..0, "this unit");
    let id = top.required("id", "id = \"our-circuit\"");
    let languages = top.required("languages", "languages = [\"en\"]");
    let title = top.required("title", "title = { en = \"…\" }");
    let run = top.optional("grades");
    let last = top.optional("last_id");
    let permissions = top.optional("permission");
    let rows = top.required("station", "a station: [[station]] with id = \"…\"");
    top.finish();

    let run = match &run {
        Some(entry) => grades(entry, Grades::ALL, "a school"),
        None => Some(Grades::ALL),
    };
    if let Some(last) = last {
        let _ = last.whole_within(0..=MOST_LAST_ID);
    }
    let mut walk = Walk {
        findings,
        languages: languages.as_ref().map(spoken).unwrap_or_default(),
        grades: run.unwrap_or(Grades::ALL),
        index: Index::default(),
    };
    let id = id.and_then(|entry| self::id(&entry));
    let title = title.and_then(|entry| text(findings, &walk.languages, &entry, Limits::TITLE));
    let permissions = match permissions {
        Some(rows) => permitted(findings, &rows),
        None => Some(Vec::new()),
    };
    let mut stations = Some(Vec::new());
    for table in rows
        .iter()
        .flat_map(|rows| rows.tables("this station", "[[station]]"))
    {
        let read = station(&mut walk, table);
        stations = stations.zip(read).map(|(mut all, one)| {
            all.push(one);
            all
        });
    }
    walk.index.check(findings, walk.grades);
    Some(Unit {
        id: id?,
        title: title?,
        languages: walk.languages,
        grades: run?,
        permissions: permissions?,
        stations: stations.filter(|all| !all.is_empty())?,
    })
}

fn spoken(entry: &Entry<'_>) -> Vec<Language> {
    let items = entry.list("write [\"en\"] or [\"en\", \"es\"]");
    let mut languages = Vec::new();
    for item in &items {
        let named = one_of(item, &Language::ALL, Language::tag, "language");
        let Some(language) = named else { continue };
        if languages.contains(&language) {
            item.refuse(
                say!(
                    "here-twice",
                    "\"{name}\" is here twice",
                    name = language.tag()
                ),
                say!("one-of-two", "keep one of the two"),
            );
        } else {
            languages.push(language);
        }
    }
    if items.is_empty() {
        entry.refuse(
            say!("no-language", "a unit is in at least one language"),
            say!("write", "write {example}", example = "[\"en\"]"),
        );
    }
    languages
}

fn permitted(findings: &Findings, rows: &Entry<'_>) -> Option<Vec<Permission>> {
    let mut all: Vec<Permission> = Vec::new();
    let mut whole = true;
    for mut table in rows.tables("this permission", "[[permission]]") {
        let what = table.required("what", "what = \"inversions\"");
        let place = table.required("place", "place = \"small gym\"");
        let by = table.required("by", "by = \"district office\"");
        let on = table.required("on", "on = \"2026-08-20\"");
        table.finish();
        let what = what.and_then(|what| {
            let named = one_of(&what, AskFirst::ALL, AskFirst::name, "thing to ask about")?;
            if all.iter().any(|one| one.what == named) {
                let message = say!(
                    "recorded-already",
                    "\"{name}\" is recorded already",
                    name = named.name()
                );
                findings.add(Diagnostic::mistake(
                    what.span,
                    message,
                    say!("one-of-two", "keep one of the two"),
                ));
                return None;
            }
            Some(named)
        });
        let plain = |entry: Option<Entry<'_>>| {
            let entry = entry?;
            let given = entry.text()?.trim();
            if given.is_empty() || given.chars().any(char::is_control) {
                entry.refuse(
                    say!(
                        "say-something",
                        "`{key}` has to say something, on one line",
                        key = entry.key
                    ),
                    say!(
                        "write-who",
                        "write who or where, so that it can be asked about later"
                    ),
                );
                return None;
            }
            Some(given.to_owned())
        };
        let (place, by) = (plain(place), plain(by));
        let on = on.and_then(|entry| date(&entry));
        let one = (|| {
            Some(Permission {
                what: what?,
                place: place?,
                by: by?,
                on: on?,
            })
        })();
        whole &= one.is_some();
        all.extend(one);
    }
    whole.then_some(all)
}

fn date(entry: &Entry<'_>) -> Option<String> {
    let given = entry.text()?;
    let parts: Vec<&str> = given.split('-').collect();
    let number = |part: &str, digits: usize, most: u32| {
        let plain = part.len() == digits && part.bytes().all(|b| b.is_ascii_digit());
        plain && part.parse().is_ok_and(|n: u32| (1..=most).contains(&n))
    };
    let good = matches!(parts[..], [year, month, day]
        if number(year, 4, 9999) && number(month, 2, 12) && number(day, 2, 31));
    if !good {
        entry.refuse(
            say!("no-date", "this is not a date: year, month and day"),
            say!("write", "write {example}", example = "2026-08-20"),
        );
    }
    good.then(|| given.to_owned())
}
