//! The JSON interface.
//!
//! Not here: what a value may be (the station says), or who may (the door says).

use afterturn_core::{
    delay::Who,
    kernel::AttemptS,
    wire::{
        AgainSaid, CalibrationAsk, CameraState, Order, ShowingPatch, StationAgain, StationInfo,
        StationList, StationOrder, StationPatch,
    },
};
use serde::Serialize;
use warp::{Reply, hyper::body::Bytes, reply::Response};

use super::{App, BUILD, Kind, Problem};

/// `GET /health`.
#[derive(Serialize)]
struct Health {
    /// `ok`, or `degraded` while any camera is away that should be on.
    status: &'static str,
    build: &'static str,
    stations: usize,
    stations_showing: usize,
}

pub(super) fn health(app: &App) -> Response {
    let states = app.stations.iter().map(|station| station.camera_state());
    let states: Vec<_> = states.collect();
    let count = |state| states.iter().filter(|s| **s == state).count();
    let (showing, off) = (count(CameraState::Showing), count(CameraState::Off));
    let stations = states.len();
    warp::reply::json(&Health {
        status: if showing + off == stations {
            "ok"
        } else {
            "degraded"
        },
        build: &BUILD,
        stations,
        stations_showing: showing,
    })
    .into_response()
}

pub(super) fn list(app: &App) -> Result<Response, Problem> {
    let first = app
        .stations
        .first()
        .ok_or_else(|| Problem::new(Kind::Broken, "the server has no stations"))?;
    let stations = app.stations.iter().map(|station| station.info()).collect();
    Ok(warp::reply::json(&StationList {
        now_us: first.now(),
        stations,
        failed: app.failures.said(),
    })
    .into_response())
}

pub(super) fn one(app: &App, number: &str) -> Result<Response, Problem> {
    Ok(reply(&app.station(number)?.info()))
}

pub(super) async fn patch(app: &App, number: &str, body: &Bytes) -> Result<Response, Problem> {
    let station = app.station(number)?;
    let patch: StationPatch = serde_json::from_slice(body).map_err(|error| {
        let detail = format!("expected {{\"delay_ms\": 5000}}: {error}");
        Problem::new(Kind::BadRequest, detail)
    })?;
    let number = station.config().number.get();
    if patch.delay_ms.is_none() && patch.attempt_s.is_none() {
        let detail = "expected {\"delay_ms\": 5000} or {\"attempt_s\": 8}";
        return Err(Problem::new(Kind::BadRequest, detail));
    }
    // Looked at first, so that a patch is taken whole or not at all.
    if let Some(attempt_s) = patch.attempt_s {
        AttemptS::new(attempt_s)?;
    }
    if let Some(delay_ms) = patch.delay_ms {
        // For the class that runs, if one does.
        let delay = app.lesson.set_delay(station, delay_ms).await?;
        tracing::info!(station = number, delay_ms = delay.ms(), "delay set");
    }
    if let Some(attempt_s) = patch.attempt_s {
        let attempt = station.set_attempt(attempt_s)?;
        let attempt_s = attempt.get();
        tracing::info!(station = number, attempt_s, "attempt set");
    }
    Ok(reply(&station.info()))
}

/// Pictures once more, from a remote.
pub(super) fn again(app: &App, number: &str, body: &Bytes) -> Result<Response, Problem> {
    let station = app.station(number)?;
    let asked: StationAgain = serde_json::from_slice(body).map_err(|error| {
        let detail = format!("expected {{\"ask\": \"again\"}}: {error}");
        Problem::new(Kind::BadRequest, detail)
    })?;
    let answer = station.once_more(asked.ask, Who::Remote);
    let number = station.config().number.get();
    tracing::info!(station = number, ask = ?asked.ask, ?answer, "once more");
    let station = station.info();
    Ok(warp::reply::json(&AgainSaid { answer, station }).into_response())
}

/// What a body asks for; the door is asked before it is done.
pub(super) fn asked_order(body: &Bytes) -> Result<Order, Problem> {
    let asked: StationOrder = serde_json::from_slice(body).map_err(|error| {
        let detail = format!("expected {{\"order\": \"dont_show\"}}: {error}");
        Problem::new(Kind::BadRequest, detail)
    })?;
    Ok(asked.order)
}

pub(super) fn order(app: &App, number: &str, order: Order) -> Result<Response, Problem> {
    let station = app.station(number)?;
    station.order(order);
    let number = station.config().number.get();
    tracing::info!(station = number, ?order, "order");
    Ok(reply(&station.info()))
}

pub(super) fn showing(app: &App) -> Response {
    warp::reply::json(&app.sheets.showing()).into_response()
}

pub(super) fn choose(app: &App, body: &Bytes) -> Result<Response, Problem> {
    let patch: ShowingPatch = serde_json::from_slice(body).map_err(|error| {
        let detail = format!("expected {{\"grade\": 3}}: {error}");
        Problem::new(Kind::BadRequest, detail)
    })?;
    let showing = app.sheets.choose(patch)?;
    tracing::info!(grade = showing.grade, view = ?showing.view, "sheets chosen");
    Ok(warp::reply::json(&showing).into_response())
}

pub(super) fn calibration(app: &App, number: &str, body: &Bytes) -> Result<Response, Problem> {
    let station = app.station(number)?;
    let asked: CalibrationAsk = serde_json::from_slice(body).map_err(|error| {
        let detail = format!("expected {{\"order\": \"start\"}}: {error}");
        Problem::new(Kind::BadRequest, detail)
    })?;
    station.calibration(asked.order);
    let number = station.config().number.get();
    tracing::info!(station = number, order = ?asked.order, "calibration");
    Ok(reply(&station.info()))
}

fn reply(info: &StationInfo) -> Response {
    warp::reply::json(info).into_response()
}
