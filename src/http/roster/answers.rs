//! What families said, as pages tell and ask it.

use afterturn_core::consent::{Answer, Kind, Standing};
use afterturn_core::kernel::{ChildId, Day};
use warp::reply::Response;

use super::{Desk, Faults, Outcome, forms::Form, forms::FormMaker, forms::Maker};
use crate::http::words::Words;
use crate::portfolio::{Said, VaultError};

/// The form's id.
pub(super) const RECORD: &str = "record";

/// What is asked, by the id of its sentence.
pub(super) const fn kind_label(kind: Kind) -> &'static str {
    match kind {
        Kind::Seen => "consent-seen",
        Kind::Stills => "consent-stills",
        Kind::Clips => "consent-clips",
        Kind::Shared => "consent-shared",
    }
}

const fn kind_word(kind: Kind) -> &'static str {
    match kind {
        Kind::Seen => "seen",
        Kind::Stills => "stills",
        Kind::Clips => "clips",
        Kind::Shared => "shared",
    }
}

/// How it stands, in a few words.
pub(super) fn standing(words: &Words, standing: Standing) -> String {
    let with = |id, day: Day| words.get(id).replace("{day}", &day.to_string());
    match standing {
        Standing::NotAsked => words.get("consent-not-asked").to_owned(),
        Standing::Given { until: None } => words.get("consent-given").to_owned(),
        Standing::Given { until: Some(day) } => with("consent-given-until", day),
        Standing::ToConfirm => words.get("consent-to-confirm").to_owned(),
        Standing::NotYet { from } => with("consent-not-yet", from),
        Standing::Ended { until } => with("consent-ended", until),
        Standing::Withheld => words.get("consent-withheld").to_owned(),
        Standing::Withdrawn => words.get("consent-withdrawn").to_owned(),
    }
}

/// One recorded answer in a history.
pub(super) fn told(words: &Words, kind: Kind, answer: Answer, until: Option<Day>) -> String {
    let said = match (answer, until) {
        (Answer::Given, Some(day)) => {
            let sentence = words.get("consent-given-until");
            sentence.replace("{day}", &day.to_string())
        }
        (Answer::Given, None) => words.get("consent-given").to_owned(),
        (Answer::Withheld, _) => words.get("consent-withheld").to_owned(),
        (Answer::Withdrawn, _) => words.get("consent-withdrawn").to_owned(),
    };
    format!("{}: {said}", words.get(kind_label(kind)))
}

/// The form that records an answer; `who` picks the children where there are
/// several.
pub(super) fn form(
    make: &Maker<'_>,
    today: Day,
    who: impl FnOnce(FormMaker<'_>) -> FormMaker<'_>,
) -> Form {
    let words = make.words;
    let kinds = Kind::ALL.map(|kind| {
        let label = words.get(kind_label(kind)).to_owned();
        (kind_word(kind).to_owned(), label)
    });
    let answers = [("yes", "consent-yes"), ("no", "consent-no")];
    let answers = answers.map(|(value, id)| (value.to_owned(), words.get(id).to_owned()));
    let form = make.form(RECORD, "consent-record", "consent-recorded");
    who(form)
        .choose(
            "select",
            "kind",
            words.get("consent-kind").to_owned(),
            kinds,
            "seen",
        )
        .choose(
            "radio",
            "answer",
            words.get("consent-answer").to_owned(),
            answers,
            "",
        )
        .date("from", "consent-from", Some(today))
        .date("until", "consent-until", None)
        .hint("consent-until-hint")
        .text("recorder", "consent-recorder", "")
        .hint("consent-recorder-hint")
        .done()
}

/// Records what was typed, and sends the browser back to the page, which says what
/// went with it; none if something is wrong.
pub(super) fn record(
    desk: &Desk,
    children: &[ChildId],
    faults: &mut Faults,
) -> Result<Option<Response>, VaultError> {
    let typed = &desk.typed;
    let kind = Kind::ALL
        .into_iter()
        .find(|kind| kind_word(*kind) == typed.get("kind"));
    if kind.is_none() {
        faults.add("kind", "roster-fault-choose");
    }
    let yes = match typed.get("answer") {
        "yes" => Some(true),
        "no" => Some(false),
        _ => {
            faults.add("answer", "roster-fault-choose");
            None
        }
    };
    let from = typed.day("from", faults);
    let until = typed.optional_day("until", faults);
    if yes == Some(false) && until.is_some() {
        faults.add("until", "consent-fault-no-until");
    }
    let recorder = typed.name("recorder", faults);
    if let (Some(from), Some(until)) = (from, until)
        && until < from
    {
        faults.add("until", "consent-fault-days");
    }
    let (Some(kind), Some(yes), Some(from), Some(recorder)) = (kind, yes, from, recorder) else {
        return Ok(None);
    };
    if !faults.is_empty() {
        return Ok(None);
    }
    let said = Said {
        kind,
        yes,
        from,
        until,
        recorder,
    };
    let gone = desk.portfolio.record(children, &said, desk.moment)?;
    let here = format!("/{}", desk.path.join("/"));
    Ok(Some(match gone {
        0 => Desk::see(&here, RECORD),
        gone => Desk::see(&format!("{here}?gone={gone}"), RECORD),
    }))
}

/// How much of what was kept went with an answer, for its page to say so.
pub(super) fn gone(desk: &Desk) -> Option<usize> {
    desk.query.get("gone").and_then(|gone| gone.parse().ok())
}

/// After a form: on to the page, or the page again with what is wrong.
pub(super) fn after(desk: &Desk, done: Option<&str>, again: impl FnOnce() -> Outcome) -> Outcome {
    match done {
        Some(done) => Ok(desk.back_to_here(done)),
        None => again().map(Desk::refused),
    }
}
