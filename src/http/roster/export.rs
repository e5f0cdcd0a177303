//! `/roster/export` and below: what may be shared, handed to the families: one
//! ZIP file a child with a page of its own, or a sheet to print.
//!
//! Not here: what may be shared (`core/consent`).

use afterturn_core::{
    consent::{Medium, Purpose},
    kernel::{ChildId, Day},
};
use askama::Template;
use warp::{
    http::{HeaderValue, header},
    reply::Reply,
};

use super::{
    Desk, Faults, Outcome,
    answers::after,
    class::full_name,
    forms::{Choice, Form, Maker},
    kept::medium_label,
};
use crate::http::pages::{Frame, html, page};
use crate::http::words::Words;
use crate::portfolio::{Archive, Item, LEAST_PASSPHRASE, VaultError};

/// One child whose things are handed out.
struct Row {
    name: String,
    file: String,
    sheet: String,
    stills: usize,
    clips: usize,
    /// Not for the family: somebody has not agreed to sharing.
    others: usize,
    large: bool,
}

/// One thing on a page for the family.
struct Thing {
    clip: bool,
    /// Where it lies.
    at: String,
    what: String,
}

page!(
    /// Who is handed what.
    ExportPage, "export.html", { form: Form, rows: Vec<Row> }
);
page!(
    /// A sheet to print.
    PrintedPage, "printed.html", { child: String, name: String, things: Vec<Thing>, day: String }
);

/// The page in the file: whole by itself, on a stick, without any network.
#[derive(Template)]
#[template(path = "family.html", config = "web/pages/askama.toml")]
struct FamilyPage {
    lang: &'static str,
    words: &'static Words,
    name: String,
    day: String,
    things: Vec<Thing>,
}

/// No file for a stick is larger; it is made in memory.
const MOST_BYTES: u64 = 400_000_000;

/// From which day to which.
#[derive(Clone, Copy)]
struct Period {
    from: Option<Day>,
    until: Option<Day>,
}

impl Period {
    fn has(self, item: &Item) -> bool {
        let day = item.interval.days().0;
        self.from.is_none_or(|from| from <= day) && self.until.is_none_or(|until| day <= until)
    }

    fn of(desk: &Desk) -> Self {
        let day = |name| {
            desk.query
                .get(name)
                .and_then(|day: &String| day.parse().ok())
        };
        Self {
            from: day("from"),
            until: day("until"),
        }
    }

    /// As it stands in an address.
    fn written(self) -> String {
        let day = |day: Option<Day>| day.map_or_else(String::new, |day| day.to_string());
        format!("from={}&until={}", day(self.from), day(self.until))
    }
}

pub(super) fn answer(desk: &Desk, posted: bool, faults: &mut Faults) -> Outcome {
    if !posted {
        return show(desk, faults);
    }
    let period = Period {
        from: desk.typed.optional_day("from", faults),
        until: desk.typed.optional_day("until", faults),
    };
    let children: Vec<&str> = desk.typed.all("child").collect();
    let ids = children.iter().filter(|id| id.parse::<ChildId>().is_ok());
    let ids: Vec<&str> = ids.copied().collect();
    if ids.is_empty() {
        faults.add("child", "keep-fault-nobody");
    }
    if !faults.is_empty() {
        return after(desk, None, || show(desk, faults));
    }
    let to = format!(
        "/roster/export?children={}&{}",
        ids.join(","),
        period.written()
    );
    Ok(Desk::see(&to, "files"))
}

/// What of a child is for the family, and how much is not.
fn shared(desk: &Desk, child: ChildId, period: Period) -> Result<(Vec<Item>, usize), VaultError> {
    let mut shared = Vec::new();
    let mut others = 0;
    for item in desk.portfolio.items(desk.moment)? {
        if !item.children.contains(&child) || !period.has(&item) || !item.whole {
            continue;
        }
        if desk.portfolio.may_be_shared(&item, desk.moment)? {
            shared.push(item);
        } else {
            others += 1;
        }
    }
    // As it was: the oldest first.
    shared.reverse();
    Ok((shared, others))
}

fn show(desk: &Desk, faults: &Faults) -> Outcome {
    let words = desk.language.words();
    let roster = desk.portfolio.roster(desk.moment)?;
    let period = Period::of(desk);
    let asked = desk
        .query
        .get("children")
        .map(String::as_str)
        .unwrap_or_default();
    let mut rows = Vec::new();
    for id in asked.split(',').filter_map(|id| id.parse::<ChildId>().ok()) {
        let Ok(child) = roster.child(id) else {
            continue;
        };
        let (things, others) = shared(desk, id, period)?;
        let of = |medium| things.iter().filter(|item| item.medium == medium).count();
        rows.push(Row {
            name: full_name(child),
            file: format!("/roster/export/{id}?{}", period.written()),
            sheet: format!("/roster/sheet/{id}?{}", period.written()),
            stills: of(Medium::Still),
            clips: of(Medium::Clip),
            others,
            large: things.iter().map(|item| item.bytes).sum::<u64>() > MOST_BYTES,
        });
    }
    let items = desk.portfolio.items(desk.moment)?;
    let has = |id: ChildId| items.iter().any(|item| item.children.contains(&id));
    let children = roster.children.iter().filter(|child| has(child.id));
    let choices = children.map(|child| Choice {
        value: child.id.to_string(),
        label: full_name(child),
        chosen: asked.split(',').any(|id| id == child.id.to_string()),
        off: false,
    });
    let make = Maker {
        words,
        typed: &desk.typed,
        faults,
        done: None,
    };
    let form = make
        .form("export", "export-go", "export-go")
        .choices("child", "export-who", choices)
        .date("from", "export-from", period.from)
        .date("until", "export-until", period.until)
        .done();
    Ok(html(&ExportPage::new(
        Frame::new(desk.language, desk.app.demo),
        form,
        rows,
    )))
}

fn what(words: &Words, item: &Item) -> String {
    let mut what = vec![words.get(medium_label(item.medium)).to_owned()];
    if let Some(station) = item.about.station {
        let station = station.to_string();
        what.push(words.get("kept-station").replace("{station}", &station));
    }
    what.push(item.interval.days().0.to_string());
    what.join(" · ")
}

/// `/roster/export/…`: the file of one child; locked, where a passphrase came
/// with the form. It is noted nowhere.
pub(super) fn archive(desk: &Desk, child: &str) -> Outcome {
    let passphrase = desk.typed.get("file-passphrase");
    let length = passphrase.chars().count();
    if (1..LEAST_PASSPHRASE).contains(&length) {
        return Err(VaultError::ShortPassphrase);
    }
    let id: ChildId = child.parse().map_err(|_| VaultError::NotFound)?;
    let words = desk.language.words();
    let roster = desk.portfolio.roster(desk.moment)?;
    let child = roster.child(id)?;
    let (items, _) = shared(desk, id, Period::of(desk))?;
    if items.iter().map(|item| item.bytes).sum::<u64>() > MOST_BYTES {
        return Err(VaultError::NotFound);
    }
    let mut archive = Archive::new((length > 0).then_some(passphrase));
    let mut things = Vec::new();
    for (number, item) in (1..).zip(&items) {
        // Asked once more, each by itself; one that is spoilt is left out.
        let content = match desk.portfolio.show(item.id, Purpose::Family, desk.moment) {
            Ok((_, content)) => content,
            Err(VaultError::Spoilt | VaultError::NotFound | VaultError::Refused(_)) => continue,
            Err(other) => return Err(other),
        };
        let at = match item.medium {
            Medium::Still => format!("still-{number}.jpg"),
            Medium::Clip => format!("clip-{number}.mp4"),
        };
        archive.add(&at, &content)?;
        things.push(Thing {
            clip: item.medium == Medium::Clip,
            at,
            what: what(words, item),
        });
    }
    let page = FamilyPage {
        lang: desk.language.tag(),
        words,
        name: child.given.for_page().to_owned(),
        day: desk.moment.today.to_string(),
        things,
    };
    let page = page.render().map_err(|_| VaultError::NotFound)?;
    archive.add("index.html", page.as_bytes())?;
    let mut response = archive.finish()?.into_response();
    let headers = response.headers_mut();
    headers.insert(
        header::CONTENT_TYPE,
        HeaderValue::from_static("application/zip"),
    );
    // No name in the name of a file.
    let called = id.to_string();
    let called = format!(
        "attachment; filename=\"afterturn-{}.zip\"",
        &called[called.len() - 6..]
    );
    if let Ok(called) = HeaderValue::from_str(&called) {
        headers.insert(header::CONTENT_DISPOSITION, called);
    }
    Ok(response)
}

/// `/roster/sheet/…`: a child's stills, to print.
pub(super) fn sheet(desk: &Desk, child: &str) -> Outcome {
    let id: ChildId = child.parse().map_err(|_| VaultError::NotFound)?;
    let words = desk.language.words();
    let roster = desk.portfolio.roster(desk.moment)?;
    let name = full_name(roster.child(id)?);
    let (items, _) = shared(desk, id, Period::of(desk))?;
    let stills = items.iter().filter(|item| item.medium == Medium::Still);
    let things = stills.map(|item| Thing {
        clip: false,
        at: format!("/roster/kept/{}/file?for=family", item.id),
        what: what(words, item),
    });
    Ok(html(&PrintedPage::new(
        Frame::new(desk.language, desk.app.demo),
        id.to_string(),
        name,
        things.collect(),
        desk.moment.today.to_string(),
    )))
}
