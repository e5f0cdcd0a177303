//! `/roster`: the classes, and the choice the school makes first.

use afterturn_core::consent::ViewRule;
use askama::Template;

use super::{Desk, Faults, Outcome, answers::after, forms::Form, forms::Maker};
use crate::http::pages::{Frame, html, page};
use crate::http::words::Words;
use crate::portfolio::Roster;

/// A class in the list.
struct Row {
    id: String,
    title: String,
    grade: String,
    children: usize,
    /// How many may not be seen on the gym TV.
    unseen: usize,
    /// How many families have not answered to everything.
    open: usize,
}

page!(
    /// The classes.
    RosterPage, "roster.html", {
        rows: Vec<Row>, chosen: bool, choose: Form, add: Form, doubt: bool,
        taken: bool
    }
);

pub(super) fn answer(desk: &Desk, posted: bool, faults: &mut Faults) -> Outcome {
    if !posted {
        return show(desk, faults);
    }
    let done = if desk.typed.is_for("choose") {
        choose(desk, faults)?
    } else if desk.typed.is_for("add-class") {
        add_class(desk, faults)?
    } else if desk.typed.is_for("lock") {
        desk.portfolio.lock();
        return Ok(desk.back_to_here(""));
    } else {
        None
    };
    after(desk, done, || show(desk, faults))
}

fn choose(
    desk: &Desk,
    faults: &mut Faults,
) -> Result<Option<&'static str>, crate::portfolio::VaultError> {
    let rule = match desk.typed.get("rule") {
        "opt-in" => ViewRule::OptIn,
        "opt-out" => ViewRule::OptOut,
        _ => {
            faults.add("rule", "roster-fault-choose");
            return Ok(None);
        }
    };
    desk.portfolio.choose_rule(rule, desk.moment)?;
    Ok(Some("choose"))
}

fn add_class(
    desk: &Desk,
    faults: &mut Faults,
) -> Result<Option<&'static str>, crate::portfolio::VaultError> {
    let title = desk.typed.name("title", faults);
    let grade = desk.typed.optional_name("grade", faults);
    let Some(title) = title.filter(|_| faults.is_empty()) else {
        return Ok(None);
    };
    desk.portfolio.add_class(title, grade, desk.moment)?;
    Ok(Some("add-class"))
}

fn show(desk: &Desk, faults: &Faults) -> Outcome {
    let words = desk.language.words();
    let roster = desk.portfolio.roster(desk.moment)?;
    let rule = desk.portfolio.rule()?;
    let make = Maker {
        words,
        typed: &desk.typed,
        faults,
        done: desk.done.as_deref(),
    };
    let chosen = match rule {
        Some(ViewRule::OptIn) => "opt-in",
        Some(ViewRule::OptOut) => "opt-out",
        None => "",
    };
    let choices = [("opt-in", "rule-opt-in"), ("opt-out", "rule-opt-out")];
    let choices = choices.map(|(value, id)| (value.to_owned(), words.get(id).to_owned()));
    let choose = make
        .form("choose", "rule-go", "roster-saved")
        .choose(
            "radio",
            "rule",
            words.get("rule-legend").to_owned(),
            choices,
            chosen,
        )
        .done();
    let add = make
        .form("add-class", "roster-add-class", "roster-class-added")
        .text("title", "roster-title", "")
        .text("grade", "roster-grade", "")
        .done();
    Ok(html(&RosterPage::new(
        Frame::new(desk.language, desk.app.demo),
        rows(desk, &roster),
        rule.is_some(),
        choose,
        add,
        desk.portfolio.date_doubt(desk.moment.today).is_some(),
        desk.done.as_deref() == Some("take"),
    )))
}

fn rows(desk: &Desk, roster: &Roster) -> Vec<Row> {
    use afterturn_core::consent::{Kind, Standing};
    let today = desk.days();
    let row = |class: &crate::portfolio::Class| {
        let children: Vec<_> = roster.of(class.id).map(|child| child.id).collect();
        let open = |child: &&_| {
            Kind::ALL.into_iter().any(|kind| {
                let standing = roster.register.standing(**child, kind, today);
                matches!(standing, Standing::NotAsked | Standing::ToConfirm)
            })
        };
        let unseen = |child: &&_| !roster.register.may_be_seen(**child, today);
        Row {
            id: class.id.to_string(),
            title: class.title.for_page().to_owned(),
            grade: class.grade.as_ref().map_or("", |g| g.for_page()).to_owned(),
            unseen: children.iter().filter(unseen).count(),
            open: children.iter().filter(open).count(),
            children: children.len(),
        }
    };
    roster.classes.iter().map(row).collect()
}
