//! `/roster/keep/…`: a still or a clip of a station, chosen, looked at, and only
//! then kept.
//!
//! Not here: whether it may be (`core/consent`), whose pictures they are (the
//! lesson), and making it (`av`).

use std::sync::Arc;

use afterturn_core::{
    consent::{Interval, Medium, Purpose, Refusal, Request},
    delay::{Cut, NoCut},
    kernel::{ChildId, StationNumber},
    media::Mat,
};
use askama::Template;

use super::{
    Desk, Faults, Outcome, answers, bytes,
    class::full_name,
    forms::{Choice, Form, Maker},
    made::{One, written},
    wish::{Wish, ways},
};
use crate::av::keep::{self, Seen, Source};
use crate::host::calendar;
use crate::http::pages::{Frame, html, page};
use crate::http::words::Words;
use crate::lesson::{Nobody, Whose};
use crate::portfolio::{About, Child, Roster, VaultError};
use crate::station::Station;

page!(
    /// What can be kept of a station now.
    KeepPage, "keep.html", {
        station: u8, title: String, clip: bool, length: String, came_of: Option<&'static str>,
        refused: Option<&'static str>, instead: Option<String>, ways: Vec<(String, &'static str)>,
        form: Option<Form>, mat: bool
    }
);
page!(
    /// What was made, to be looked at.
    MadePage, "made.html", {
        station: u8, clip: bool, file: String, keep: Form, discard: Form
    }
);

pub(super) fn answer(desk: &Desk, number: &str, posted: bool, faults: &mut Faults) -> Outcome {
    let station = desk.app.station(number).map_err(|_| VaultError::NotFound)?;
    if posted {
        match desk.typed.get("do") {
            "keep" => return keep_it(desk),
            "discard" => {
                drop(desk.made.take(desk.typed.get("made"), desk.moment.now));
                return Ok(desk.back_to_here(""));
            }
            _ => {}
        }
        let wish = Wish::read(|name| some(desk.typed.get(name)), station);
        if let Some(token) = prepare(desk, station, wish, faults)? {
            return Ok(Desk::see(
                &format!("/roster/keep/{number}?made={token}"),
                "",
            ));
        }
        return show(desk, station, wish, faults).map(Desk::refused);
    }
    if let Some(token) = desk.query.get("made") {
        return look(desk, number, token);
    }
    let wish = Wish::read(|name| desk.query.get(name).cloned(), station);
    if desk.query.contains_key("from") {
        return show(desk, station, wish, faults);
    }
    // The moment stays the one of the press, however long somebody chooses.
    Ok(Desk::see(&wish.path(station.config().number), ""))
}

fn some(text: &str) -> Option<String> {
    (!text.is_empty()).then(|| text.to_owned())
}

/// Whose pictures they are: the class's children who may be chosen.
fn children<'r>(roster: &'r Roster, whose: &Whose, wish: Wish) -> Vec<&'r Child> {
    let of_class = roster.of(whose.class);
    let there = |child: &&Child| {
        wish.whole
            || child
                .group
                .is_some_and(|g| whose.groups.iter().any(|w| w.get() == g))
    };
    of_class.filter(there).collect()
}

/// Whether the list says who is in the groups of the class that runs.
fn list_has_groups(roster: &Roster, whose: &Whose) -> bool {
    roster.of(whose.class).filter_map(|child| child.group).max() == Some(whose.of)
}

fn request(children: Vec<ChildId>, wish: Wish, term_days: u16) -> Request {
    Request {
        children,
        medium: wish.medium,
        purpose: Purpose::Portfolio,
        interval: Interval {
            from: wish.from,
            to: wish.to,
            offset_s: calendar::offset_s(),
        },
        term_days,
    }
}

/// The children somebody chose, if they may be chosen; none if something is wrong.
fn chosen(
    desk: &Desk,
    roster: &Roster,
    station: &Station,
    wish: Wish,
    faults: &mut Faults,
) -> Option<Vec<ChildId>> {
    let number = station.config().number;
    let seen_to = station.seen_to().max(station.on_glass());
    let whose = desk.app.lesson.whose(number, wish.from, wish.to, seen_to);
    let whose = whose.ok()?;
    let typed: Vec<&str> = desk.typed.all("child").collect();
    let offered = children(roster, &whose, wish).into_iter();
    let chosen: Vec<ChildId> = offered
        .filter(|child| typed.contains(&child.id.to_string().as_str()))
        .map(|child| child.id)
        .collect();
    if chosen.is_empty() {
        faults.add("child", "keep-fault-nobody");
    }
    if wish.whole {
        desk.typed.sure(faults);
    }
    let good = list_has_groups(roster, &whose) && wish.to <= seen_to && faults.is_empty();
    good.then_some(chosen)
}

/// Makes what was asked for; none if something is wrong with it.
fn prepare(
    desk: &Desk,
    station: &Arc<Station>,
    wish: Wish,
    faults: &mut Faults,
) -> Result<Option<String>, VaultError> {
    let number = station.config().number;
    let mat = desk.portfolio.mat(number)?;
    // All that was asked for is one group's, and not only what is left of it.
    let seen_to = station.seen_to().max(station.on_glass());
    let whose = desk.app.lesson.whose(number, wish.from, wish.to, seen_to);
    let (Ok(_), Ok(cut)) = (whose, cut(station, wish)) else {
        return Ok(None);
    };
    // Of the pictures there are, and of no moment more.
    let wish = Wish {
        from: cut.from,
        to: match wish.medium {
            Medium::Still => cut.from,
            Medium::Clip => cut.to.min(wish.to),
        },
        ..wish
    };
    let roster = desk.portfolio.roster(desk.moment)?;
    let chosen = chosen(desk, &roster, station, wish, faults);
    let Some(chosen) = chosen.filter(|_| mat.is_some() || wish.whole) else {
        return Ok(None);
    };
    let terms = desk.portfolio.terms()?;
    let asked = request(chosen, wish, terms.media_days);
    let permit = match roster.register.permit(asked, desk.days()) {
        Ok(permit) => permit,
        Err(refusal) => {
            faults.add("child", refused(refusal));
            return Ok(None);
        }
    };
    let source = Source {
        params: &cut.chapter.params,
        pictures: &cut.pictures,
        from: cut.from,
    };
    let seen = match (&mat, wish.whole) {
        (Some(mat), false) => Seen::Mat(mat),
        _ => Seen::Whole,
    };
    let made = match wish.medium {
        Medium::Still => keep::still(&permit, &source, seen),
        Medium::Clip => keep::clip(&permit, &source, seen),
    };
    let bytes = match made {
        Ok(bytes) => bytes.into(),
        Err(error) => {
            tracing::error!(
                station = number.get(),
                "nothing could be made to keep: {error}"
            );
            faults.add("child", "keep-fault-made");
            return Ok(None);
        }
    };
    let token = desk.made.put(One {
        permit,
        about: About {
            station: Some(number),
            covered: !wish.whole,
        },
        bytes,
        station: Arc::clone(station),
        cut,
        at: desk.moment.now,
    });
    Ok(Some(written(token)))
}

fn cut(station: &Station, wish: Wish) -> Result<Cut, NoCut> {
    match wish.medium {
        Medium::Still => station.cut_one(wish.from),
        Medium::Clip => station.cut(wish.from, wish.to),
    }
}

const fn refused(refusal: Refusal) -> &'static str {
    match refusal {
        Refusal::Nobody => "keep-fault-nobody",
        Refusal::NoInterval => "keep-fault-long",
        Refusal::Future => "keep-fault-future",
        Refusal::NotGiven { .. } => "keep-fault-not-given",
    }
}

fn keep_it(desk: &Desk) -> Outcome {
    let made = desk.made.take(desk.typed.get("made"), desk.moment.now);
    let Some(made) = made else {
        return Ok(desk.back_to_here("gone"));
    };
    let One {
        permit,
        about,
        bytes,
        ..
    } = made;
    match desk.portfolio.keep(permit, about, &bytes, desk.moment) {
        Ok(id) => Ok(Desk::see(&format!("/roster/kept/{id}"), "kept")),
        // Somebody wrote down a no while somebody else was looking at it.
        Err(VaultError::Refused(_)) => Ok(desk.back_to_here("no-basis")),
        Err(VaultError::Stale) => Ok(desk.back_to_here("gone")),
        Err(other) => Err(other),
    }
}

/// What was made, before it is kept.
fn look(desk: &Desk, number: &str, token: &str) -> Outcome {
    let Some((medium, _)) = desk.made.look(token, desk.moment.now) else {
        return Ok(Desk::see(&format!("/roster/keep/{number}"), "gone"));
    };
    let faults = Faults::default();
    let make = Maker {
        words: desk.language.words(),
        typed: &desk.typed,
        faults: &faults,
        done: None,
    };
    let form = |id, button| make.form(id, button, button).hidden("made", token).done();
    let station = number.parse::<StationNumber>();
    Ok(html(&MadePage::new(
        Frame::new(desk.language, desk.app.demo),
        station.map_err(|_| VaultError::NotFound)?.get(),
        medium == Medium::Clip,
        format!("/roster/made/{token}"),
        form("keep", "keep-keep"),
        form("discard", "keep-discard"),
    )))
}

/// `/roster/made/…`: its bytes.
pub(super) fn file(desk: &Desk, token: &str) -> Outcome {
    let made = desk.made.look(token, desk.moment.now);
    let (medium, content) = made.ok_or(VaultError::NotFound)?;
    Ok(bytes::media(medium, &content, desk.range.as_deref()))
}

/// What can be kept, and of whom.
fn show(desk: &Desk, station: &Arc<Station>, wish: Wish, faults: &Faults) -> Outcome {
    let words = desk.language.words();
    let number = station.config().number;
    let roster = desk.portfolio.roster(desk.moment)?;
    let mat: Option<Mat> = desk.portfolio.mat(number)?;
    let seen_to = station.seen_to().max(station.on_glass());
    let whose = desk.app.lesson.whose(number, wish.from, wish.to, seen_to);
    let mut instead = None;
    let refused = match &whose {
        Err(Nobody::NoClass) => Some("keep-no-class"),
        Err(Nobody::NotListed) => Some("keep-not-listed"),
        Err(Nobody::Crossing(crossing)) => {
            instead = crossing
                .nearest
                .map(|(from, to)| Wish { from, to, ..wish }.path(number));
            Some("keep-crossing")
        }
        Ok(whose) if !list_has_groups(&roster, whose) => Some("keep-other-groups"),
        Ok(_) if wish.to > seen_to => Some("keep-not-seen"),
        Ok(_) => match cut(station, wish) {
            Ok(_) => None,
            Err(NoCut::Gone) => Some("keep-gone"),
            Err(NoCut::Hidden) => Some("keep-hidden"),
            Err(NoCut::Hole) => Some("keep-hole"),
        },
    };
    let form = match (&whose, refused, mat.is_some() || wish.whole) {
        (Ok(whose), None, true) => Some(form(desk, &roster, whose, wish, faults)?),
        _ => None,
    };
    let came_of = match desk.done.as_deref() {
        Some("gone") => Some("keep-made-gone"),
        Some("no-basis") => Some("keep-no-basis"),
        _ => None,
    };
    let tenths = wish.length_us() / 100_000;
    Ok(html(&KeepPage::new(
        Frame::new(desk.language, desk.app.demo),
        number.get(),
        station.config().title.clone(),
        wish.medium == Medium::Clip,
        format!("{}.{}", tenths / 10, tenths % 10),
        came_of.map(|id| words.get(id)),
        refused.map(|id| words.get(id)),
        instead,
        ways(station, wish)
            .map(|(path, id)| (path, words.get(id)))
            .collect(),
        form,
        mat.is_some(),
    )))
}

fn form(
    desk: &Desk,
    roster: &Roster,
    whose: &Whose,
    wish: Wish,
    faults: &Faults,
) -> Result<Form, VaultError> {
    let words = desk.language.words();
    let today = desk.days();
    let terms = desk.portfolio.terms()?;
    let make = Maker {
        words,
        typed: &desk.typed,
        faults,
        done: desk.done.as_deref(),
    };
    let choices = children(roster, whose, wish).into_iter().map(|child| {
        let asked = request(vec![child.id], wish, terms.media_days);
        let name = full_name(child);
        let off = roster.register.permit(asked, today).is_err();
        let label = if off {
            let kind = wish.medium.kind();
            let standing = roster.register.standing(child.id, kind, today);
            format!("{name}: {}", answers::standing(words, standing))
        } else {
            name
        };
        Choice {
            value: child.id.to_string(),
            label,
            chosen: !off && desk.typed.all("child").any(|id| id == child.id.to_string()),
            off,
        }
    });
    let label = if wish.whole {
        "keep-everybody"
    } else {
        "keep-who"
    };
    let what = match wish.medium {
        Medium::Still => "still",
        Medium::Clip => "clip",
    };
    let form = make
        .form("prepare", "keep-prepare", "keep-prepare")
        .choices("child", label, choices)
        .hidden("what", what)
        .hidden("from", wish.from.0.to_string())
        .hidden("to", wish.to.0.to_string());
    Ok(if wish.whole {
        form.hidden("whole", "yes")
            .sure("keep-everybody-sure")
            .done()
    } else {
        form.done()
    })
}
