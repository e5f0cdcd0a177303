//! `/roster/classes/…`: one class, its children, its groups.

use std::collections::BTreeMap;

use afterturn_core::{
    consent::Kind,
    kernel::{ChildId, ClassId},
};
use askama::Template;
use warp::reply::Response;

use super::{
    Desk, Faults, Outcome, answers,
    answers::after,
    forms::{Form, Maker},
};
use crate::http::pages::{Frame, html, page};
use crate::http::words::Words;
use crate::portfolio::{Child, Class, NewChild, Roster, VaultError};

/// A child in the list.
struct Row {
    id: String,
    name: String,
    group: Option<u8>,
    unseen: bool,
    answers: Vec<(&'static str, String)>,
}

page!(
    /// One class.
    ClassPage, "class.html", {
        title: String, grade: String, rows: Vec<Row>, add: Form, groups: Form, balance: Form,
        record: Form, rename: Form, erase: Form, gone: Option<usize>
    }
);

/// What a child is called, in one line.
pub(super) fn full_name(child: &Child) -> String {
    let family = child.family.as_ref().map_or("", |name| name.for_page());
    format!("{} {family}", child.given.for_page())
        .trim_end()
        .to_owned()
}

pub(super) fn answer(desk: &Desk, id: &str, posted: bool, faults: &mut Faults) -> Outcome {
    let id: ClassId = id.parse().map_err(|_| VaultError::NotFound)?;
    if !posted {
        return show(desk, id, faults);
    }
    let done = match desk.typed.get("do") {
        "add-child" => add_child(desk, id, faults)?,
        "groups" => set_groups(desk, id)?,
        "balance" => balance(desk, id, faults)?,
        answers::RECORD => match record(desk, faults)? {
            Some(back) => return Ok(back),
            None => None,
        },
        "rename" => rename(desk, id, faults)?,
        "erase" => {
            if desk.typed.sure(faults) {
                desk.portfolio.erase_class(id, desk.moment)?;
                return Ok(Desk::see("/roster", ""));
            }
            None
        }
        _ => None,
    };
    after(desk, done, || show(desk, id, faults))
}

type Done = Result<Option<&'static str>, VaultError>;

/// A child as it was typed; none if something is wrong with it.
pub(super) fn typed_child(desk: &Desk, faults: &mut Faults) -> Option<NewChild> {
    let typed = &desk.typed;
    let given = typed.name("given", faults);
    let family = typed.optional_name("family", faults);
    let note = typed.optional_name("note", faults);
    let group = typed.group("group", faults);
    let given = given.filter(|_| faults.is_empty())?;
    Some(NewChild {
        given,
        family,
        note,
        group,
    })
}

fn add_child(desk: &Desk, id: ClassId, faults: &mut Faults) -> Done {
    let Some(child) = typed_child(desk, faults) else {
        return Ok(None);
    };
    desk.portfolio.add_child(id, child, desk.moment)?;
    Ok(Some("add-child"))
}

/// Fields are called after the child they are of.
fn group_field(child: ChildId) -> String {
    format!("group.{child}")
}

fn set_groups(desk: &Desk, id: ClassId) -> Done {
    let mut wanted = BTreeMap::new();
    for (name, value) in desk.typed.fields() {
        let child = name.strip_prefix("group.").and_then(|id| id.parse().ok());
        if let Some(child) = child {
            // Chosen from a list: anything else is no group.
            let group = value.parse().ok().filter(|g| (1..=99).contains(g));
            wanted.insert(child, group);
        }
    }
    desk.portfolio.set_groups(id, &wanted, desk.moment)?;
    Ok(Some("groups"))
}

fn balance(desk: &Desk, id: ClassId, faults: &mut Faults) -> Done {
    let Some(count) = desk.typed.group("count", faults) else {
        if faults.is_empty() {
            faults.add("count", "roster-fault-group");
        }
        return Ok(None);
    };
    desk.portfolio.balance_groups(id, count, desk.moment)?;
    Ok(Some("balance"))
}

fn record(desk: &Desk, faults: &mut Faults) -> Result<Option<Response>, VaultError> {
    let ids = desk.typed.all("child").map(str::parse);
    let children: Vec<ChildId> = ids.collect::<Result<_, _>>().unwrap_or_default();
    if children.is_empty() {
        faults.add("child", "roster-fault-choose");
    }
    answers::record(desk, &children, faults)
}

fn rename(desk: &Desk, id: ClassId, faults: &mut Faults) -> Done {
    let title = desk.typed.name("title", faults);
    let grade = desk.typed.optional_name("grade", faults);
    let Some(title) = title.filter(|_| faults.is_empty()) else {
        return Ok(None);
    };
    desk.portfolio.rename_class(id, title, grade, desk.moment)?;
    Ok(Some("rename"))
}

fn show(desk: &Desk, id: ClassId, faults: &Faults) -> Outcome {
    let roster = desk.portfolio.roster(desk.moment)?;
    let class = roster.class(id)?;
    let make = Maker {
        words: desk.language.words(),
        typed: &desk.typed,
        faults,
        done: desk.done.as_deref(),
    };
    let grade = class.grade.as_ref().map_or("", |g| g.for_page());
    let erase = make
        .form("erase", "roster-erase-class", "roster-erase-class")
        .sure("roster-sure")
        .apart()
        .done();
    Ok(html(&ClassPage::new(
        Frame::new(desk.language, desk.app.demo),
        class.title.for_page().to_owned(),
        grade.to_owned(),
        rows(desk, &roster, id),
        add_form(&make),
        groups_form(&make, &roster, id),
        balance_form(&make, &roster, id),
        record_form(desk, &make, &roster, id),
        rename_form(&make, class, grade),
        erase,
        answers::gone(desk),
    )))
}

fn rows(desk: &Desk, roster: &Roster, id: ClassId) -> Vec<Row> {
    let words = desk.language.words();
    let today = desk.days();
    let row = |child: &Child| Row {
        id: child.id.to_string(),
        name: full_name(child),
        group: child.group,
        unseen: !roster.register.may_be_seen(child.id, today),
        answers: Kind::ALL
            .into_iter()
            .map(|kind| {
                let standing = roster.register.standing(child.id, kind, today);
                let label = words.get(answers::kind_label(kind));
                (label, answers::standing(words, standing))
            })
            .collect(),
    };
    roster.of(id).map(row).collect()
}

fn add_form(make: &Maker<'_>) -> Form {
    make.form("add-child", "roster-add-child", "roster-child-added")
        .text("given", "roster-given", "")
        .text("family", "roster-family", "")
        .text("group", "roster-group", "")
        .text("note", "roster-note", "")
        .hint("roster-note-hint")
        .done()
}

fn groups_form(make: &Maker<'_>, roster: &Roster, id: ClassId) -> Form {
    let most = roster.of(id).filter_map(|child| child.group).max();
    let mut form = make.form("groups", "roster-groups-go", "roster-saved");
    for child in roster.of(id) {
        let none = make.words.get("roster-no-group").to_owned();
        let groups = 1..=most.unwrap_or(0).saturating_add(2).clamp(6, 99);
        let choices = groups.map(|g| (g.to_string(), g.to_string()));
        let now = child.group.map_or_else(String::new, |g| g.to_string());
        let choices = std::iter::once((String::new(), none)).chain(choices);
        form = form.choose(
            "select",
            &group_field(child.id),
            full_name(child),
            choices,
            &now,
        );
    }
    form.done()
}

fn balance_form(make: &Maker<'_>, roster: &Roster, id: ClassId) -> Form {
    let most = roster.of(id).filter_map(|child| child.group).max();
    let now = most.map_or_else(String::new, |most| most.to_string());
    make.form("balance", "roster-balance-go", "roster-saved")
        .number("count", "roster-balance-count", &now)
        .hint("roster-balance-hint")
        .done()
}

fn record_form(desk: &Desk, make: &Maker<'_>, roster: &Roster, id: ClassId) -> Form {
    let children = roster.of(id).map(|c| (c.id.to_string(), full_name(c)));
    answers::form(make, desk.moment.today, |form| {
        form.checks("child", "consent-children", children)
    })
}

fn rename_form(make: &Maker<'_>, class: &Class, grade: &str) -> Form {
    make.form("rename", "roster-rename", "roster-saved")
        .text("title", "roster-title", class.title.for_page())
        .text("grade", "roster-grade", grade)
        .done()
}
