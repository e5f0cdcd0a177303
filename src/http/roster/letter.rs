//! `/roster/letter`: what families are told and asked, to be printed, in every
//! language.

use afterturn_core::consent::{Kind, Terms, ViewRule};
use askama::Template;
use warp::reply::Response;

use super::{Desk, answers::kind_label};
use crate::http::pages::{Frame, html, page};
use crate::http::words::{Language, Words};

/// The letter in one language.
struct Letter {
    lang: &'static str,
    words: &'static Words,
    kinds: Vec<&'static str>,
    media: String,
    roster: String,
    unasked: &'static str,
}

page!(
    /// The letter.
    LetterPage, "letter.html", { letters: Vec<Letter> }
);

pub(super) fn page(desk: &Desk) -> Response {
    let terms = desk.portfolio.terms().unwrap_or_default();
    let rule = desk.portfolio.rule().ok().flatten();
    // The reader's language first.
    let mut languages = Language::ALL;
    languages.sort_by_key(|language| *language != desk.language);
    let letters = languages
        .map(|language| letter(language, terms, rule))
        .into();
    html(&LetterPage::new(
        Frame::new(desk.language, desk.app.demo),
        letters,
    ))
}

fn letter(language: Language, terms: Terms, rule: Option<ViewRule>) -> Letter {
    let words = language.words();
    let days = |id, days: u16| words.get(id).replace("{days}", &days.to_string());
    Letter {
        lang: language.tag(),
        words,
        kinds: Kind::ALL.map(|kind| words.get(kind_label(kind))).into(),
        media: days("letter-long-media", terms.media_days),
        roster: days("letter-long-roster", terms.roster_days),
        unasked: match rule {
            Some(ViewRule::OptOut) => words.get("letter-opt-out"),
            Some(ViewRule::OptIn) | None => words.get("letter-opt-in"),
        },
    }
}
