//! `/roster/import`: a list from a file, looked at before it is taken.

use askama::Template;
use warp::{
    Reply,
    http::{HeaderValue, StatusCode, header},
    reply::Response,
};

use super::{Desk, Faults, Outcome, class::full_name, forms::Form, forms::Maker};
use crate::http::pages::{Frame, html, page};
use crate::http::words::Words;
use crate::portfolio::import::{self, File, Issue, Planned};

/// Longer than reading the largest list takes.
const BUSY_S: u64 = 5;

/// What a list would change, in numbers and names.
struct Preview {
    counts: Vec<(&'static str, usize)>,
    classes: Vec<(String, &'static str)>,
    children: Vec<(String, &'static str)>,
    missing: Vec<String>,
    take: Form,
}

page!(
    /// A list from a file.
    ImportPage, "import.html", {
        read: Form, issues: Vec<String>, stale: bool, preview: Option<Preview>
    }
);

pub(super) fn answer(desk: &Desk, posted: bool, faults: &mut Faults) -> Outcome {
    if posted && desk.typed.is_for("read") {
        return read(desk, faults);
    }
    if posted && desk.typed.is_for("take") {
        let token = desk.typed.get("token").parse().unwrap_or_default();
        return match desk.portfolio.take(token, desk.moment) {
            Ok(()) => Ok(Desk::see("/roster", "take")),
            // Something changed meanwhile, or it was taken already.
            Err(crate::portfolio::VaultError::Stale | crate::portfolio::VaultError::NotFound) => {
                Ok(Desk::refused(show(desk, faults, &[], true, None)))
            }
            Err(other) => Err(other),
        };
    }
    Ok(show(desk, faults, &[], false, None))
}

fn read(desk: &Desk, faults: &mut Faults) -> Outcome {
    let mut files: Vec<File> = desk
        .typed
        .files
        .iter()
        .map(|(_, file)| File {
            name: file.name.clone(),
            bytes: file.bytes.clone(),
        })
        .collect();
    let pasted = desk.typed.get("list");
    let pasted_only = files.is_empty();
    if files.is_empty() && !pasted.trim().is_empty() {
        files.push(File {
            name: String::new(),
            bytes: pasted.to_owned().into(),
        });
    }
    if files.is_empty() {
        faults.add("file", "import-fault-nothing");
        return Ok(Desk::refused(show(desk, faults, &[], false, None)));
    }
    // One at a time: each may hold some tens of megabytes.
    let Ok(_place) = desk.importing.try_lock() else {
        faults.add(
            if pasted_only { "list" } else { "file" },
            "import-fault-busy",
        );
        return Ok(busy(show(desk, faults, &[], false, None)));
    };
    let list = match import::read(files, desk.typed.get("only"), desk.moment.today) {
        Ok(list) => list,
        Err(issues) => {
            let at = if pasted_only { "list" } else { "file" };
            faults.add(at, "import-fault-issues");
            return Ok(Desk::refused(show(desk, faults, &issues, false, None)));
        }
    };
    let token = desk.portfolio.plan(list, desk.moment)?;
    Ok(show(desk, faults, &[], false, Some(preview(desk, token)?)))
}

/// The page, with the form as it was: the same works in a moment.
fn busy(page: Response) -> Response {
    let mut page = warp::reply::with_status(page, StatusCode::SERVICE_UNAVAILABLE).into_response();
    let seconds = HeaderValue::from(BUSY_S);
    page.headers_mut().insert(header::RETRY_AFTER, seconds);
    page
}

const fn what(planned: Planned) -> &'static str {
    match planned {
        Planned::New => "import-new",
        Planned::Renamed => "import-renamed",
        Planned::Moved => "import-moved",
        Planned::Same => "import-same",
    }
}

fn preview(desk: &Desk, token: u64) -> Result<Preview, crate::portfolio::VaultError> {
    let words = desk.language.words();
    let plan = desk.portfolio.planned(token, desk.moment)?;
    let roster = desk.portfolio.roster(desk.moment)?;
    let make = Maker {
        words,
        typed: &desk.typed,
        faults: &Faults::default(),
        done: None,
    };
    let all = [
        Planned::New,
        Planned::Renamed,
        Planned::Moved,
        Planned::Same,
    ];
    let changed = plan.children.iter().filter(|(_, p)| *p != Planned::Same);
    Ok(Preview {
        counts: all.map(|of| (words.get(what(of)), plan.count(of))).into(),
        classes: plan
            .classes
            .iter()
            .map(|(class, p)| (class.title.for_page().to_owned(), words.get(what(*p))))
            .collect(),
        children: changed
            .map(|(child, p)| (full_name(child), words.get(what(*p))))
            .collect(),
        missing: plan
            .missing
            .iter()
            .filter_map(|id| roster.child(*id).ok().map(full_name))
            .collect(),
        take: make
            .form("take", "import-take", "import-take")
            .hidden("token", token.to_string())
            .done(),
    })
}

/// What a column is for. Those of the exchange are called as they are there.
fn column_title<'w>(words: &'w Words, title: &'static str) -> &'w str {
    match title {
        "class" => words.get("roster-class"),
        "grade" => words.get("roster-grade"),
        "first name" => words.get("roster-given"),
        "last name" => words.get("roster-family"),
        "number" => words.get("import-number"),
        "group" => words.get("roster-group"),
        as_it_is => as_it_is,
    }
}

/// One issue as a sentence: where, and what is wrong there.
fn told(words: &Words, issue: &Issue) -> String {
    let mut place = words
        .get("import-line")
        .replace("{line}", &issue.line.to_string());
    if let Some(column) = issue.column {
        let column = words
            .get("import-column")
            .replace("{column}", &column.to_string());
        place = format!("{place}, {column}");
    }
    if let Some(title) = issue.title {
        place = format!("{place} ({})", column_title(words, title));
    }
    if !issue.file.is_empty() {
        place = format!("{}: {place}", issue.file);
    }
    let mut what = words.get(issue.what.sentence()).to_owned();
    if let Some(most) = issue.what.most() {
        what = what.replace("{most}", &most.to_string());
    }
    format!("{place}: {what}")
}

fn show(
    desk: &Desk,
    faults: &Faults,
    issues: &[Issue],
    stale: bool,
    preview: Option<Preview>,
) -> Response {
    let words = desk.language.words();
    let make = Maker {
        words,
        typed: &desk.typed,
        faults,
        done: None,
    };
    let read = make
        .form("read", "import-read", "import-read")
        .file("file", "import-file")
        .hint("import-file-hint")
        .long("list", "import-list")
        .hint("import-list-hint")
        .text("only", "import-only", "")
        .hint("import-only-hint")
        .done();
    html(&ImportPage::new(
        Frame::new(desk.language, desk.app.demo),
        read,
        issues.iter().map(|issue| told(words, issue)).collect(),
        stale,
        preview,
    ))
}
