//! `/roster/kept` and below: what is kept, to be found, looked at and deleted;
//! and what was done with it.
//!
//! Not here: keeping something (`keep`), and handing it out (`export`).

use std::collections::BTreeSet;

use afterturn_core::{
    consent::{Medium, Purpose},
    kernel::{ChildId, ClassId, Day, ItemId, StationNumber},
};
use askama::Template;

use super::{
    Desk, Faults, Outcome,
    answers::after,
    bytes,
    class::full_name,
    forms::{Choice, Form, Maker},
};
use crate::http::pages::{Frame, html, page};
use crate::http::words::Words;
use crate::portfolio::{Deed, Item, Roster, VaultError};

/// One thing kept, in a list.
pub(super) struct Row {
    pub(super) id: String,
    pub(super) clip: bool,
    /// What, where and when.
    pub(super) what: String,
    pub(super) who: String,
    pub(super) until: String,
    pub(super) whole: bool,
}

/// One choice of the filter.
struct Filter {
    name: &'static str,
    label: &'static str,
    choices: Vec<Choice>,
}

/// A line of the log.
struct Line {
    on: String,
    what: &'static str,
    medium: &'static str,
    item: String,
}

page!(
    /// What is kept.
    KeptPage, "kept.html", { filters: Vec<Filter>, rows: Vec<Row>, more: usize, any: bool }
);
page!(
    /// One thing kept.
    ItemPage, "item.html", {
        row: Row, covered: bool, shared: bool, done: Option<&'static str>, erase: Form
    }
);
page!(
    /// What was done with what is kept.
    LogPage, "log.html", { lines: Vec<Line> }
);

/// As many as a page has room for.
const MOST_ROWS: usize = 60;
/// Lines of the log on its page.
const MOST_LINES: usize = 500;

pub(super) const fn medium_label(medium: Medium) -> &'static str {
    match medium {
        Medium::Still => "kept-still",
        Medium::Clip => "kept-clip",
    }
}

/// How something stands in a list.
pub(super) fn row(words: &Words, roster: &Roster, item: &Item) -> Row {
    let who = item.children.iter().filter_map(|id| roster.child(*id).ok());
    let who: Vec<String> = who.map(full_name).collect();
    let mut what = vec![words.get(medium_label(item.medium)).to_owned()];
    if item.medium == Medium::Clip {
        let tenths = (item.interval.to.since(item.interval.from) + 50_000) / 100_000;
        let seconds = format!("{}.{}", tenths / 10, tenths % 10);
        what.push(words.get("kept-seconds").replace("{s}", &seconds));
    }
    if let Some(station) = item.about.station {
        let station = station.to_string();
        what.push(words.get("kept-station").replace("{station}", &station));
    }
    what.push(item.interval.days().0.to_string());
    Row {
        id: item.id.to_string(),
        clip: item.medium == Medium::Clip,
        what: what.join(" · "),
        who: who.join(", "),
        until: words
            .get("kept-until")
            .replace("{day}", &item.until.to_string()),
        whole: item.whole,
    }
}

/// What somebody looks for.
struct Wanted {
    class: Option<ClassId>,
    child: Option<ChildId>,
    station: Option<u8>,
    day: Option<Day>,
}

impl Wanted {
    fn read(desk: &Desk) -> Self {
        let get = |name: &str| desk.query.get(name).map(String::as_str).unwrap_or_default();
        Self {
            class: get("class").parse().ok(),
            child: get("child").parse().ok(),
            station: get("station").parse().ok(),
            day: get("day").parse().ok(),
        }
    }

    fn has(&self, item: &Item, roster: &Roster) -> bool {
        let of_class = |class: &ClassId| {
            let mut children = item.children.iter().filter_map(|id| roster.child(*id).ok());
            children.any(|child| child.class == *class)
        };
        self.class.as_ref().is_none_or(of_class)
            && self
                .child
                .is_none_or(|child| item.children.contains(&child))
            && self
                .station
                .is_none_or(|n| item.about.station.is_some_and(|s| s.get() == n))
            && self.day.is_none_or(|day| item.interval.days().0 == day)
    }
}

/// `/roster/kept`.
pub(super) fn list(desk: &Desk) -> Outcome {
    let words = desk.language.words();
    let roster = desk.portfolio.roster(desk.moment)?;
    let items = desk.portfolio.items(desk.moment)?;
    let wanted = Wanted::read(desk);
    let found: Vec<&Item> = items
        .iter()
        .filter(|item| wanted.has(item, &roster))
        .collect();
    let rows = found
        .iter()
        .take(MOST_ROWS)
        .map(|item| row(words, &roster, item));
    Ok(html(&KeptPage::new(
        Frame::new(desk.language, desk.app.demo),
        filters(words, &roster, &items, &wanted),
        rows.collect(),
        found.len().saturating_sub(MOST_ROWS),
        !items.is_empty(),
    )))
}

fn filters(words: &'static Words, roster: &Roster, items: &[Item], wanted: &Wanted) -> Vec<Filter> {
    let in_any: BTreeSet<ChildId> = items.iter().flat_map(|i| i.children.clone()).collect();
    let children = roster
        .children
        .iter()
        .filter(|child| in_any.contains(&child.id));
    let stations: BTreeSet<u8> = items
        .iter()
        .filter_map(|item| item.about.station.map(StationNumber::get))
        .collect();
    let days: BTreeSet<Day> = items.iter().map(|item| item.interval.days().0).collect();
    let choose = |name, label, all: Vec<(String, String)>, now: Option<String>| {
        let choice = |(value, label): (String, String)| Choice {
            chosen: now.as_ref() == Some(&value),
            value,
            label,
            off: false,
        };
        let everything = (String::new(), words.get("kept-all").to_owned());
        Filter {
            name,
            label: words.get(label),
            choices: std::iter::once(everything).chain(all).map(choice).collect(),
        }
    };
    let classes = roster.classes.iter();
    let classes = classes.map(|class| (class.id.to_string(), class.title.for_page().to_owned()));
    let children = children.map(|child| (child.id.to_string(), full_name(child)));
    let plain = |text: String| (text.clone(), text);
    vec![
        choose(
            "class",
            "roster-class",
            classes.collect(),
            wanted.class.map(|id| id.to_string()),
        ),
        choose(
            "child",
            "kept-child",
            children.collect(),
            wanted.child.map(|id| id.to_string()),
        ),
        choose(
            "station",
            "kept-at",
            stations.into_iter().map(|n| plain(n.to_string())).collect(),
            wanted.station.map(|n| n.to_string()),
        ),
        choose(
            "day",
            "kept-day",
            days.into_iter()
                .rev()
                .map(|day| plain(day.to_string()))
                .collect(),
            wanted.day.map(|day| day.to_string()),
        ),
    ]
}

fn found(desk: &Desk, id: &str) -> Result<Item, VaultError> {
    let id: ItemId = id.parse().map_err(|_| VaultError::NotFound)?;
    let mut items = desk.portfolio.items(desk.moment)?.into_iter();
    items.find(|item| item.id == id).ok_or(VaultError::NotFound)
}

/// `/roster/kept/…`.
pub(super) fn one(desk: &Desk, id: &str, posted: bool, faults: &mut Faults) -> Outcome {
    if posted && desk.typed.is_for("erase") && desk.typed.sure(faults) {
        let item = found(desk, id)?;
        desk.portfolio.delete(&[item.id], desk.moment)?;
        return Ok(Desk::see("/roster/kept", ""));
    }
    let again = || show(desk, id, faults);
    if posted {
        after(desk, None, again)
    } else {
        again()
    }
}

fn show(desk: &Desk, id: &str, faults: &Faults) -> Outcome {
    let words = desk.language.words();
    let mut item = found(desk, id)?;
    let roster = desk.portfolio.roster(desk.moment)?;
    // A file can be as long as it was and not what it was.
    match desk
        .portfolio
        .show(item.id, Purpose::Portfolio, desk.moment)
    {
        Ok(_) => {}
        Err(VaultError::Spoilt) => item.whole = false,
        Err(other) => return Err(other),
    }
    let make = Maker {
        words,
        typed: &desk.typed,
        faults,
        done: desk.done.as_deref(),
    };
    let erase = make
        .form("erase", "kept-erase", "kept-erase")
        .sure("roster-sure")
        .apart()
        .done();
    Ok(html(&ItemPage::new(
        Frame::new(desk.language, desk.app.demo),
        row(words, &roster, &item),
        item.about.covered,
        desk.portfolio.may_be_shared(&item, desk.moment)?,
        (desk.done.as_deref() == Some("kept")).then(|| words.get("kept-done")),
        erase,
    )))
}

/// `/roster/kept/…/file`: its bytes; `?for=family` as they are handed out.
pub(super) fn file(desk: &Desk, id: &str) -> Outcome {
    let id: ItemId = id.parse().map_err(|_| VaultError::NotFound)?;
    let purpose = match desk.query.get("for").map(String::as_str) {
        Some("family") => Purpose::Family,
        _ => Purpose::Portfolio,
    };
    let (item, content) = desk.portfolio.show(id, purpose, desk.moment)?;
    Ok(bytes::media(item.medium, &content, desk.range.as_deref()))
}

/// `/roster/log`.
pub(super) fn log(desk: &Desk) -> Outcome {
    let words = desk.language.words();
    let what = |deed| match deed {
        Deed::Kept => "log-kept",
        Deed::Shown => "log-shown",
        Deed::Exported => "log-exported",
        Deed::Deleted => "log-deleted",
        Deed::Withdrawn => "log-withdrawn",
        Deed::Expired => "log-expired",
    };
    let rows = desk.portfolio.log(desk.moment)?;
    let lines = rows.into_iter().take(MOST_LINES).map(|row| Line {
        on: row.on.to_string(),
        what: words.get(what(row.what)),
        medium: words.get(medium_label(row.medium)),
        item: row.item.to_string(),
    });
    Ok(html(&LogPage::new(
        Frame::new(desk.language, desk.app.demo),
        lines.collect(),
    )))
}
