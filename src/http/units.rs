//! The units, for the teacher's editor: reading one, saving changes, what a
//! grade will see of it.
//!
//! Not here: what a unit may hold, and how its file is kept ([`crate::units`]).

use std::sync::Arc;

use afterturn_core::plan::{Allowed, Difference, Grade, Room, Setup, difference, resolve, setups};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use tokio::task::spawn_blocking;
use warp::{
    Reply,
    http::{Method, StatusCode},
    reply::Response,
};

use super::{
    App, Kind, Problem,
    asked::{Asked, need},
    pages,
    paths::unknown,
};
use crate::door::Action;
use crate::lesson::NotUsed;
use crate::units::{BeginError, Change, Copy, Edit, Note, SaveError, Shelf};

/// A unit in the list.
#[derive(Serialize)]
struct Listed {
    name: String,
    version: String,
    /// Nothing where the file holds mistakes.
    title: Option<Value>,
    grades: Option<String>,
    mistakes: usize,
}

/// What is to be done to a unit.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Asking {
    /// The version that was changed.
    version: String,
    /// The changes,
    #[serde(default)]
    edits: Vec<Edit>,
    /// or an earlier version to go back to.
    restore: Option<String>,
    /// For a trial: whose room to show.
    grade: Option<String>,
}

/// A unit to be made.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Beginning {
    name: String,
    copy_of: Option<String>,
}

/// What a trial shows.
#[derive(Serialize)]
struct Tried {
    document: Value,
    notes: Vec<Note>,
    room: Option<Room>,
}

/// A set-up, and what has to be changed to it from the one before.
#[derive(Serialize)]
struct Step {
    #[serde(flatten)]
    setup: Setup,
    from_the_one_before: Vec<Difference>,
}

/// Everything below `/api/units`; `parts` is what follows that.
pub(super) async fn programs(
    app: &App,
    asked: &Asked,
    parts: &[&str],
    get: bool,
) -> Result<Response, Problem> {
    let post = asked.method == Method::POST;
    let may = || need(asked, Action::EditUnits);
    match parts {
        [] if get => {
            may()?;
            let all = on_shelf(app, Shelf::all).await?;
            Ok(json_reply(
                &all.iter().map(|copy| listed(copy)).collect::<Vec<_>>(),
            ))
        }
        [] if post => {
            may()?;
            begin(app, asked).await
        }
        [name] if get => {
            may()?;
            Ok(json_reply(&document(app, &*one(app, name).await?)))
        }
        [name] if asked.method == Method::PUT => {
            may()?;
            save(app, name, asking(asked)?).await
        }
        [name, "trial"] if post => {
            may()?;
            trial(app, name, asking(asked)?).await
        }
        [name, "use"] if post => {
            may()?;
            app.lesson.use_unit(name).await?;
            tracing::info!(unit = name, "another unit is in use");
            Ok(super::api::showing(app))
        }
        [name, "grades", grade] if get => {
            may()?;
            let copy = one(app, name).await?;
            Ok(json_reply(&room(&copy, grade)?.ok_or_else(unusable)?))
        }
        [name, "setups"] if get => {
            may()?;
            let copy = one(app, name).await?;
            Ok(json_reply(&steps(&copy).ok_or_else(unusable)?))
        }
        _ => Err(unknown(asked)),
    }
}

/// The editor: of the unit that is named, else of the one in use, else of the
/// first.
pub(super) async fn page(app: &App, asked: &Asked, parts: &[&str]) -> Result<Response, Problem> {
    need(asked, Action::EditUnits)?;
    let names = on_shelf(app, |shelf| {
        let all = shelf.all().into_iter();
        all.map(|copy| copy.name.clone()).collect::<Vec<_>>()
    })
    .await?;
    let name = if let [name, ..] = parts {
        one(app, name).await?.name.clone()
    } else {
        let in_use = app.sheets.name().filter(|name| names.contains(name));
        in_use
            .or_else(|| names.first().cloned())
            .unwrap_or_default()
    };
    Ok(pages::unit(app, asked.language, &name, names))
}

/// The disk is waited for elsewhere, so that no picture waits for it.
async fn on_shelf<T: Send + 'static>(
    app: &App,
    what: impl FnOnce(&Shelf) -> T + Send + 'static,
) -> Result<T, Problem> {
    let shelf = Arc::clone(&app.units);
    spawn_blocking(move || what(&shelf))
        .await
        .map_err(|_| Problem::new(Kind::Broken, "the unit files could not be looked at"))
}

async fn one(app: &App, name: &str) -> Result<Arc<Copy>, Problem> {
    let name = name.to_owned();
    let copy = on_shelf(app, move |shelf| shelf.one(&name)).await?;
    copy.ok_or_else(|| Problem::new(Kind::NotFound, "there is no such unit"))
}

fn listed(copy: &Copy) -> Listed {
    let unit = copy.unit.as_ref();
    Listed {
        name: copy.name.clone(),
        version: copy.version.clone(),
        title: unit.map(|unit| json!(unit.title)),
        grades: unit.map(|unit| unit.grades.to_string()),
        mistakes: copy.notes.iter().filter(|note| !note.warning).count(),
    }
}

/// A version of a unit, as the editor has it.
fn document(app: &App, copy: &Copy) -> Value {
    json!({
        "name": copy.name,
        "version": copy.version,
        "document": copy.tree(),
        "notes": notes(app, copy),
        "earlier": app.units.versions(&copy.name),
    })
}

/// What is wrong with a version, and what of it has no room on the screens.
fn notes(app: &App, copy: &Copy) -> Vec<Note> {
    let mut notes = copy.notes.clone();
    notes.extend(app.units.missing_pictures(copy));
    notes.extend(app.sheets.without_room(copy));
    notes
}

fn asking(asked: &Asked) -> Result<Asking, Problem> {
    serde_json::from_slice(&asked.body).map_err(|error| {
        let detail = format!("expected {{\"version\": \"…\", \"edits\": [ … ]}}: {error}");
        Problem::new(Kind::BadRequest, detail)
    })
}

fn change(asking: &Asking) -> Change {
    match &asking.restore {
        Some(version) => Change::Restore(version.clone()),
        None => Change::Edits(asking.edits.clone()),
    }
}

/// Makes a new unit.
async fn begin(app: &App, asked: &Asked) -> Result<Response, Problem> {
    let Beginning { name, copy_of } = serde_json::from_slice(&asked.body).map_err(|error| {
        let detail = format!("expected {{\"name\": \"our-circuit\"}}: {error}");
        Problem::new(Kind::BadRequest, detail)
    })?;
    let language = asked.language.of_units();
    let begun = on_shelf(app, move |shelf| {
        shelf.begin(&name, copy_of.as_deref(), language)
    })
    .await?;
    let copy = begun.map_err(|error| {
        let kind = match error {
            BeginError::Taken => Kind::Conflict,
            BeginError::NoSuch => Kind::NotFound,
            BeginError::Write(_) => Kind::Broken,
            _ => Kind::Impossible,
        };
        Problem::new(kind, error.to_string())
    })?;
    tracing::info!(unit = copy.name, "unit begun");
    let reply = warp::reply::json(&document(app, &copy));
    Ok(warp::reply::with_status(reply, StatusCode::CREATED).into_response())
}

async fn save(app: &App, name: &str, asking: Asking) -> Result<Response, Problem> {
    let change = change(&asking);
    let file = name.to_owned();
    let saved = on_shelf(app, move |shelf| {
        shelf.save(&file, &asking.version, &change)
    })
    .await?;
    let saved = saved.map_err(|error| refused(app, error))?;
    tracing::info!(unit = name, "unit saved");
    let mut reply = document(app, &saved.copy);
    reply["ids"] = json!(saved.ids);
    Ok(json_reply(&reply))
}

async fn trial(app: &App, name: &str, asking: Asking) -> Result<Response, Problem> {
    let change = change(&asking);
    let file = name.to_owned();
    let tried = on_shelf(app, move |shelf| {
        shelf.trial(&file, &asking.version, &change)
    })
    .await?;
    let copy = tried.map_err(|error| refused(app, error))?;
    let room = match &asking.grade {
        Some(grade) => room(&copy, grade)?,
        None => None,
    };
    Ok(json_reply(&Tried {
        document: copy.tree(),
        notes: notes(app, &copy),
        room,
    }))
}

/// What a grade sees; nothing of a unit with mistakes.
fn room(copy: &Copy, grade: &str) -> Result<Option<Room>, Problem> {
    let grade: Grade = grade
        .parse()
        .map_err(|error| Problem::new(Kind::NotFound, format!("{error}")))?;
    let unit = copy.unit.as_ref();
    Ok(unit.map(|unit| resolve(unit, grade, &Allowed::recorded(unit))))
}

fn steps(copy: &Copy) -> Option<Vec<Step>> {
    let unit = copy.unit.as_ref()?;
    let mut before: Vec<_> = Vec::new();
    let all = setups(unit, &Allowed::recorded(unit)).into_iter();
    let step = |setup: Setup| {
        let from_the_one_before = difference(&before, &setup.stations);
        before.clone_from(&setup.stations);
        Step {
            setup,
            from_the_one_before,
        }
    };
    Some(all.map(step).collect())
}

fn unusable() -> Problem {
    let detail = "the unit file holds mistakes; mend them first";
    Problem::new(Kind::Impossible, detail)
}

pub(super) fn refused(app: &App, error: SaveError) -> Problem {
    let detail = error.to_string();
    let kind = match &error {
        SaveError::NoSuch => Kind::NotFound,
        SaveError::Stale { .. } => Kind::Conflict,
        SaveError::Write(_) => Kind::Broken,
        SaveError::Forgotten | SaveError::Edit(_) | SaveError::Mistakes(_) => Kind::Impossible,
    };
    let problem = Problem::new(kind, detail);
    match error {
        SaveError::Stale { theirs, yours } => problem.with("theirs", document(app, &theirs)).with(
            "yours",
            yours.map_or(Value::Null, |copy| document(app, &copy)),
        ),
        SaveError::Mistakes(notes) => problem.with("notes", json!(notes)),
        _ => problem,
    }
}

impl From<NotUsed> for Problem {
    fn from(why: NotUsed) -> Self {
        let kind = match why {
            NotUsed::Class => Kind::Conflict,
            NotUsed::NoSuch => Kind::NotFound,
            NotUsed::Mistakes => Kind::Impossible,
        };
        Self::new(kind, why.to_string())
    }
}

fn json_reply(value: &impl Serialize) -> Response {
    warp::reply::json(value).into_response()
}
