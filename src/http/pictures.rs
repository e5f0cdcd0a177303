//! The teacher's own pictures: taken in for the editor, shown to whoever may see
//! the sheet that they are on.
//!
//! Not here: what a picture has to be, and where it is kept ([`crate::units`]).

use std::sync::Arc;

use serde_json::json;
use tokio::task::spawn_blocking;
use warp::{
    Reply,
    http::{HeaderValue, Method, header},
    reply::Response,
};

use super::{
    App, Kind, Problem,
    asked::{Asked, need, need_at},
    paths::unknown,
};
use crate::door::Action;
use crate::units::{PictureError, Shelf};

/// `/api/pictures` and below; `parts` is what follows that.
pub(super) async fn programs(
    app: &App,
    asked: &Asked,
    parts: &[&str],
    get: bool,
) -> Result<Response, Problem> {
    match parts {
        [] if asked.method == Method::POST => {
            need(asked, Action::EditUnits)?;
            let sent = asked.body.clone();
            let taken = aside(app, move |shelf| shelf.take_picture(&sent)).await??;
            tracing::info!("a picture for the units was taken in");
            Ok(warp::reply::json(&json!({ "picture": taken })).into_response())
        }
        [name] if get => {
            need(asked, Action::EditUnits)?;
            picture(app, name).await
        }
        _ => Err(unknown(asked)),
    }
}

/// A picture on the sheet of a station, for its screens.
pub(super) async fn of_station(
    app: &App,
    asked: &Asked,
    number: &str,
    name: &str,
) -> Result<Response, Problem> {
    need_at(asked, Action::Watch, number)?;
    let station = app.station(number)?.config().number;
    if !app.sheets.shows_picture(station, name) {
        return Err(missing());
    }
    picture(app, name).await
}

async fn picture(app: &App, name: &str) -> Result<Response, Problem> {
    let kind = match name.rsplit_once('.') {
        Some((_, "png")) => "image/png",
        _ => "image/jpeg",
    };
    let name = name.to_owned();
    let bytes = aside(app, move |shelf| shelf.picture(&name)).await?;
    let mut response = bytes.ok_or_else(missing)?.to_vec().into_response();
    let kind = HeaderValue::from_static(kind);
    response.headers_mut().insert(header::CONTENT_TYPE, kind);
    Ok(response)
}

/// Disk and decoding are waited for elsewhere, so that no late picture waits.
async fn aside<T: Send + 'static>(
    app: &App,
    what: impl FnOnce(&Shelf) -> T + Send + 'static,
) -> Result<T, Problem> {
    let shelf = Arc::clone(&app.units);
    let done = spawn_blocking(move || what(&shelf)).await;
    done.map_err(|_| Problem::new(Kind::Broken, "the pictures could not be looked at"))
}

fn missing() -> Problem {
    Problem::new(Kind::NotFound, "there is no such picture")
}

impl From<PictureError> for Problem {
    fn from(error: PictureError) -> Self {
        let kind = match error {
            PictureError::TooLarge => Kind::TooLarge,
            PictureError::Write => Kind::Broken,
            _ => Kind::Impossible,
        };
        Self::new(kind, error.to_string())
    }
}
