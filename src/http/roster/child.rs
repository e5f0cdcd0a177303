//! `/roster/children/…`: one child and what its family said.

use afterturn_core::{
    consent::{Kind, Standing},
    kernel::{ChildId, ClassId},
};
use askama::Template;

use super::{
    Desk, Faults, Outcome, answers,
    answers::after,
    class::{full_name, typed_child},
    forms::{Form, Maker},
    kept,
};
use crate::http::pages::{Frame, html, page};
use crate::http::words::Words;
use crate::portfolio::{Child, Recorded, Roster, VaultError};

/// An answer in the history.
struct Past {
    said: String,
    from: String,
    on: String,
    recorder: String,
}

page!(
    /// One child.
    ChildPage, "child.html", {
        name: String, class: String, class_title: String, now: Vec<(&'static str, String)>,
        past: Vec<Past>, confirm: Option<Form>, record: Form, change: Form, erase: Form,
        kept: Vec<kept::Row>, let_go: Form, gone: Option<usize>
    }
);

pub(super) fn answer(desk: &Desk, id: &str, posted: bool, faults: &mut Faults) -> Outcome {
    let id: ChildId = id.parse().map_err(|_| VaultError::NotFound)?;
    if !posted {
        return show(desk, id, faults);
    }
    let done = match desk.typed.get("do") {
        answers::RECORD => match answers::record(desk, &[id], faults)? {
            Some(back) => return Ok(back),
            None => None,
        },
        "confirm" => {
            desk.portfolio.confirm(id, desk.moment)?;
            Some("confirm")
        }
        "change" => change(desk, id, faults)?,
        "let-go" => {
            if desk.typed.sure(faults) {
                let all = desk.portfolio.items(desk.moment)?;
                let of_child = all.iter().filter(|item| item.children.contains(&id));
                let ids: Vec<_> = of_child.map(|item| item.id).collect();
                desk.portfolio.delete(&ids, desk.moment)?;
                Some("let-go")
            } else {
                None
            }
        }
        "erase" => {
            if desk.typed.sure(faults) {
                let class = desk.portfolio.roster(desk.moment)?.child(id)?.class;
                desk.portfolio.erase_child(id, desk.moment)?;
                return Ok(Desk::see(&format!("/roster/classes/{class}"), ""));
            }
            None
        }
        _ => None,
    };
    after(desk, done, || show(desk, id, faults))
}

fn change(
    desk: &Desk,
    id: ChildId,
    faults: &mut Faults,
) -> Result<Option<&'static str>, VaultError> {
    let class: Option<ClassId> = desk.typed.get("class").parse().ok();
    if class.is_none() {
        faults.add("class", "roster-fault-choose");
    }
    let child = typed_child(desk, faults);
    let (Some(class), Some(child)) = (class, child) else {
        return Ok(None);
    };
    desk.portfolio.change_child(id, class, child, desk.moment)?;
    Ok(Some("change"))
}

fn show(desk: &Desk, id: ChildId, faults: &Faults) -> Outcome {
    let words = desk.language.words();
    let today = desk.moment.today;
    let days = desk.days();
    let roster = desk.portfolio.roster(desk.moment)?;
    let child = roster.child(id)?;
    let past = desk.portfolio.answers_of(id, desk.moment)?;
    let make = Maker {
        words,
        typed: &desk.typed,
        faults,
        done: desk.done.as_deref(),
    };
    let standings = Kind::ALL.map(|kind| (kind, roster.register.standing(id, kind, days)));
    let waits = standings
        .iter()
        .any(|(_, standing)| *standing == Standing::ToConfirm);
    let confirm = make
        .form("confirm", "consent-confirm", "roster-saved")
        .done();
    let erase = make
        .form("erase", "roster-erase-child", "roster-erase-child")
        .sure("roster-sure")
        .apart()
        .done();
    let let_go = make
        .form("let-go", "child-let-go", "child-gone")
        .sure("roster-sure")
        .apart()
        .done();
    let items = desk.portfolio.items(desk.moment)?;
    let of_child = items.iter().filter(|item| item.children.contains(&id));
    let kept = of_child.map(|item| kept::row(words, &roster, item));
    Ok(html(&ChildPage::new(
        Frame::new(desk.language, desk.app.demo),
        full_name(child),
        child.class.to_string(),
        roster.class(child.class)?.title.for_page().to_owned(),
        standings
            .iter()
            .map(|(kind, standing)| {
                let label = words.get(answers::kind_label(*kind));
                (label, answers::standing(words, *standing))
            })
            .collect(),
        past.iter().rev().map(|one| told(words, one)).collect(),
        waits.then_some(confirm),
        answers::form(&make, today, |form| form),
        change_form(&make, &roster, child),
        erase,
        kept.collect(),
        let_go,
        answers::gone(desk),
    )))
}

fn told(words: &Words, one: &Recorded) -> Past {
    let record = &one.record;
    Past {
        said: answers::told(words, record.kind, record.answer, record.until),
        from: record.from.to_string(),
        on: one.on.to_string(),
        recorder: one.recorder.for_page().to_owned(),
    }
}

fn change_form(make: &Maker<'_>, roster: &Roster, child: &Child) -> Form {
    let classes = roster
        .classes
        .iter()
        .map(|class| (class.id.to_string(), class.title.for_page().to_owned()));
    let family = child.family.as_ref().map_or("", |name| name.for_page());
    let note = child.note.as_ref().map_or("", |name| name.for_page());
    let group = child.group.map_or_else(String::new, |g| g.to_string());
    let label = make.words.get("roster-class").to_owned();
    make.form("change", "roster-change", "roster-saved")
        .text("given", "roster-given", child.given.for_page())
        .text("family", "roster-family", family)
        .choose("select", "class", label, classes, &child.class.to_string())
        .text("group", "roster-group", &group)
        .text("note", "roster-note", note)
        .hint("roster-note-hint")
        .done()
}
