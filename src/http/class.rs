//! The running class over JSON: start, presses, how it stands.
//!
//! Not here: what any of it does (the lesson), or who may (the door); only what
//! each asks of the door.

use afterturn_core::{
    kernel::StationNumber,
    rotation::{Hold, Outcome, Press, Refused},
    wire::{
        ClassAnswer, ClassChange, ClassPress, ClassStart, CuePick, KeepAsk, KeepFor, KeepOffers,
        MOST_PRESS_ID, PressAnswer, ShownAsk, StartAnswer,
    },
};
use serde::de::DeserializeOwned;
use warp::{Reply, http::Method, hyper::body::Bytes, reply::Response};

use super::{
    App, Kind, Problem,
    asked::{Asked, need},
    paths::unknown,
    units,
};
use crate::door::Action;
use crate::lesson::{By, NotKept, NotPinned, NotStarted};

/// Everything below `/api/class`; `parts` is what follows that.
pub(super) async fn programs(
    app: &App,
    asked: &Asked,
    parts: &[&str],
    get: bool,
) -> Result<Response, Problem> {
    let post = asked.method == Method::POST;
    match parts {
        [] if get => need(asked, Action::UseRemote).map(|()| info(app)),
        ["start"] if get => need(asked, Action::StartClass).map(|()| start_info(app)),
        ["start"] if post => {
            need(asked, Action::StartClass)?;
            let by = match need(asked, Action::ShowUnlisted) {
                Ok(()) => By::Teacher,
                Err(_) => By::Helper,
            };
            start(app, &asked.body, by).await
        }
        ["presses"] if post => {
            // Whoever may press nothing does not learn what can be pressed.
            need(asked, Action::RunClass)?;
            let pressed = pressed(&asked.body)?;
            need(asked, asks_for(pressed.press))?;
            press(app, pressed).await
        }
        ["changes"] if post => {
            need(asked, Action::RunClass)?;
            let wanted = asked_change(&asked.body)?;
            need(asked, changed_by(wanted))?;
            change(app, wanted).await
        }
        ["shown"] if post => {
            need(asked, Action::ShowUnlisted)?;
            show_all_but(app, &asked.body).await
        }
        ["answer"] if post => {
            need(asked, Action::LeadClass)?;
            answer(app, &asked.body).await
        }
        ["cue"] if post => {
            need(asked, Action::LeadClass)?;
            pin(app, &asked.body).await
        }
        ["kept"] if get => need(asked, Action::LeadClass).map(|()| offers(app)),
        ["kept"] if post => {
            need(asked, Action::LeadClass)?;
            let said = said_to_offer(&asked.body)?;
            if said.keep == KeepFor::Everybody {
                need(asked, Action::EditUnits)?;
            }
            settle_offer(app, &said).await
        }
        _ => Err(unknown(asked)),
    }
}

/// What a press asks of the door. Whoever holds a remote may stop everything and
/// say where an accident is: it is pressed by whoever sees it. Going on after it,
/// and after leaving, switches cameras on and is the teacher's, as is whatever
/// moves the plan. Whoever may start a class may end it, or cameras would stay on.
const fn asks_for(press: Press) -> Action {
    match press {
        Press::Next | Press::Hold { .. } | Press::AccidentAt { .. } => Action::RunClass,
        Press::Resume { hold } => match hold {
            Hold::Pause | Hold::Freeze | Hold::Dark => Action::RunClass,
            Hold::Leave | Hold::Accident => Action::LeadClass,
        },
        Press::End => Action::StartClass,
        Press::CoverGroup { .. } => Action::Hide,
        Press::Back | Press::More | Press::Close { .. } | Press::Open { .. } | Press::Finish => {
            Action::LeadClass
        }
    }
}

/// What a change asks of the door: a quiet class shows no picture, like one that
/// is covered; the refinement is what screens say.
const fn changed_by(change: ClassChange) -> Action {
    match change {
        ClassChange::Quiet { .. } | ClassChange::StationQuiet { .. } => Action::Hide,
        ClassChange::Refine { .. } => Action::ChooseSheet,
    }
}

/// `GET /api/class`.
fn info(app: &App) -> Response {
    warp::reply::json(&app.lesson.info()).into_response()
}

/// `GET /api/class/start`.
fn start_info(app: &App) -> Response {
    warp::reply::json(&app.lesson.start_info()).into_response()
}

/// `POST /api/class/start`.
async fn start(app: &App, body: &Bytes, by: By) -> Result<Response, Problem> {
    const EXAMPLE: &str = r#"{"id": "a1", "class": "3B", "children": 24, "not_shown": []}"#;
    let asked: ClassStart = read(body, EXAMPLE)?;
    check_id(&asked.id)?;
    let started = app.lesson.start(&asked, by).await?;
    let answer = StartAnswer {
        asks: started.asks,
        groups: started.groups,
        now: app.lesson.info(),
    };
    Ok(warp::reply::json(&answer).into_response())
}

/// What a body presses; the door is asked before it is done.
fn pressed(body: &Bytes) -> Result<ClassPress, Problem> {
    let pressed: ClassPress = read(body, r#"{"id": "a2", "press": {"press": "next"}}"#)?;
    check_id(&pressed.id)?;
    Ok(pressed)
}

/// `POST /api/class/presses`.
async fn press(app: &App, pressed: ClassPress) -> Result<Response, Problem> {
    let ClassPress { id, press, seen } = pressed;
    let outcome = app.lesson.press(&id, press, seen).await?;
    let answer = PressAnswer {
        already: outcome == Outcome::Already,
        now: app.lesson.info(),
    };
    Ok(warp::reply::json(&answer).into_response())
}

/// What a body changes; the door is asked before it is done.
fn asked_change(body: &Bytes) -> Result<ClassChange, Problem> {
    read(body, r#"{"change": "quiet", "on": true}"#)
}

/// `POST /api/class/changes`.
async fn change(app: &App, change: ClassChange) -> Result<Response, Problem> {
    if let ClassChange::StationQuiet { station, .. } = change
        && !app.has_station(station)
    {
        return Err(Problem::no_station(station));
    }
    app.lesson.change(change).await?;
    Ok(info(app))
}

/// `POST /api/class/shown`.
async fn show_all_but(app: &App, body: &Bytes) -> Result<Response, Problem> {
    let ShownAsk { not_shown } = read(body, r#"{"not_shown": [2]}"#)?;
    let not_shown = not_shown.into_iter().collect();
    app.lesson.show_all_but(not_shown).await?;
    Ok(info(app))
}

/// `POST /api/class/answer`.
async fn answer(app: &App, body: &Bytes) -> Result<Response, Problem> {
    let ClassAnswer { answer } = read(body, r#"{"answer": "go_on"}"#)?;
    // Nobody asks any more: the other remote was first.
    app.lesson.answer(answer).await;
    Ok(info(app))
}

/// `POST /api/class/cue`.
async fn pin(app: &App, body: &Bytes) -> Result<Response, Problem> {
    let picked: CuePick = read(body, r#"{"station": 1, "cue": "beam-eyes"}"#)?;
    let number = StationNumber::try_from(i64::from(picked.station))?;
    if !app.has_station(number) {
        return Err(Problem::no_station(number));
    }
    app.lesson.pin(number, picked.cue.as_deref()).await?;
    let (station, pinned) = (picked.station, picked.cue.is_some());
    tracing::info!(station, pinned, "cue chosen");
    Ok(super::api::showing(app))
}

/// `GET /api/class/kept`.
fn offers(app: &App) -> Response {
    let offers = app.lesson.offers();
    warp::reply::json(&KeepOffers { offers }).into_response()
}

/// What a body says to an offer; the door is asked before it is done.
fn said_to_offer(body: &Bytes) -> Result<KeepAsk, Problem> {
    const EXAMPLE: &str = r#"{"class": "3B", "station": 1, "what": "delay", "keep": "class"}"#;
    read(body, EXAMPLE)
}

/// `POST /api/class/kept`.
async fn settle_offer(app: &App, said: &KeepAsk) -> Result<Response, Problem> {
    let settled = app.lesson.settle_offer(said).await;
    settled.map_err(|why| match why {
        NotKept::Save(error) => units::refused(app, error),
        NotKept::Class => Problem::new(Kind::Impossible, why.to_string()),
        NotKept::Broken => Problem::new(Kind::Broken, why.to_string()),
    })?;
    Ok(offers(app))
}

fn read<T: DeserializeOwned>(body: &Bytes, example: &str) -> Result<T, Problem> {
    serde_json::from_slice(body)
        .map_err(|error| Problem::new(Kind::BadRequest, format!("expected {example}: {error}")))
}

/// Whether a page may call a press so.
pub(super) fn is_id(id: &str) -> bool {
    (1..=MOST_PRESS_ID).contains(&id.len())
}

fn check_id(id: &str) -> Result<(), Problem> {
    if is_id(id) {
        return Ok(());
    }
    let detail = format!("an id has 1 to {MOST_PRESS_ID} letters");
    Err(Problem::new(Kind::BadRequest, detail))
}

impl From<Refused> for Problem {
    fn from(refused: Refused) -> Self {
        Self::new(Kind::Impossible, refused.to_string())
    }
}

impl From<NotStarted> for Problem {
    fn from(why: NotStarted) -> Self {
        Self::new(Kind::Impossible, why.to_string())
    }
}

impl From<NotPinned> for Problem {
    fn from(why: NotPinned) -> Self {
        Self::new(Kind::Impossible, why.to_string())
    }
}
