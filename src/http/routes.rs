//! Which path leads where, and what each asks of the door.
//!
//! Not here: the handlers, taking requests apart (`asked`), and what is said where
//! nothing leads (`paths`).

use std::{collections::HashMap, sync::Arc};

use warp::{
    Filter, Reply,
    filters::{BoxedFilter, ws::Ws},
    http::{HeaderValue, Method, StatusCode, header},
    hyper::body::Bytes,
    path::FullPath,
    reply::Response,
};

use afterturn_core::wire::{MOST_FROM_SCREEN_BYTES, Part};

use super::{
    App, Kind, Problem, api,
    asked::{Asked, allow, arrival, need, need_at, pass, text},
    assets, bodies, cameras, class,
    doors::{self, Form, Said, To, see_other},
    hall, pages,
    paths::{taken, unknown},
    pictures, roster, socket,
    socket::Seat,
    sound, still, trust, units, whip,
    words::Language,
};
use crate::door::{Action, Pass};

/// Every route there is.
#[must_use]
pub fn routes(app: &App) -> BoxedFilter<(Response,)> {
    view(app.clone())
        .or(hall_view(app.clone()))
        .unify()
        .or(everything_else(app.clone()))
        .unify()
        .boxed()
}

/// The socket of a station's screen.
fn view(app: App) -> BoxedFilter<(Response,)> {
    warp::path!("api" / "stations" / String / "view")
        .and(warp::ws())
        .and(pass())
        .and(query())
        .map(
            move |number: String, ws: Ws, pass: Option<Pass>, query: Query| {
                let seat = allow(pass, Action::Watch, number.parse().ok())
                    .and_then(|pass| Ok((pass, app.station(&number).cloned()?)));
                let (pass, station) = match seat {
                    Ok(seat) => seat,
                    Err(problem) => return problem.into_response(),
                };
                // The page says which language it is in.
                let language = Language::choose(query.get("lang").map(String::as_str), None);
                let seat = Seat {
                    lesson: Arc::clone(&app.lesson),
                    entrance: Arc::clone(&app.entrance),
                    pass,
                    clicker: app.clickers.at(Some(station.config().number)),
                    sheets: Arc::clone(&app.sheets),
                    sound: Arc::clone(&app.sound),
                    language: language.on_wire(),
                };
                let (stop, failures) = (app.stop.clone(), Arc::clone(&app.failures));
                ws.max_message_size(MOST_FROM_SCREEN_BYTES)
                    .max_frame_size(MOST_FROM_SCREEN_BYTES)
                    .on_upgrade(async move |ws| {
                        let line = socket::serve(ws, station, seat, stop);
                        let _ = failures.noted(Part::Pages, line).await;
                    })
                    .into_response()
            },
        )
        .boxed()
}

/// The socket of a board of the hall.
fn hall_view(app: App) -> BoxedFilter<(Response,)> {
    warp::path!("api" / "hall" / "view")
        .and(warp::ws())
        .and(pass())
        .map(move |ws: Ws, pass: Option<Pass>| {
            let pass = match allow(pass, Action::SeeHall, None) {
                Ok(pass) => pass,
                Err(problem) => return problem.into_response(),
            };
            let (app, failures) = (app.clone(), Arc::clone(&app.failures));
            ws.max_message_size(MOST_FROM_SCREEN_BYTES)
                .max_frame_size(MOST_FROM_SCREEN_BYTES)
                .on_upgrade(async move |ws| {
                    let line = hall::serve(ws, app, pass);
                    let _ = failures.noted(Part::Pages, line).await;
                })
                .into_response()
        })
        .boxed()
}

/// One filter for all the rest, so that a path has one answer whatever its
/// method or body, and nothing falls through to another route.
fn everything_else(app: App) -> BoxedFilter<(Response,)> {
    warp::any()
        .and(pass())
        .and(arrival())
        .and(warp::method())
        .and(warp::path::full())
        .and(query())
        .and(warp::header::headers_cloned())
        .and(warp::body::stream())
        .then(
            move |pass, arrival, method, path: FullPath, query: Query, headers, parts| {
                let language = Language::choose(
                    query.get("lang").map(String::as_str),
                    text(&headers, &header::ACCEPT_LANGUAGE),
                );
                let path = path.as_str().to_owned();
                let to = query.get("to").cloned();
                let done = query.get("done").cloned();
                let mut asked = Asked {
                    pass,
                    arrival,
                    method,
                    path,
                    language,
                    to,
                    done,
                    query,
                    headers,
                    body: Bytes::new(),
                };
                let app = app.clone();
                async move {
                    match bodies::take(&asked, parts, &app.room).await {
                        Ok(taken) => {
                            asked.body = taken.body;
                            let answer = app.failures.noted(Part::Pages, answer(&app, &asked));
                            let answer = answer.await.unwrap_or_else(fault);
                            // Dealt with: whoever waits for room may have it.
                            drop(taken.room);
                            answer
                        }
                        Err(problem) => said(&app, &asked, problem),
                    }
                }
            },
        )
        .boxed()
}

/// What is answered where there is a fault in the program.
fn fault() -> Response {
    let detail = "a fault in the program kept this from being answered; the class goes on. \
                  Try once more";
    Problem::new(Kind::Broken, detail).into_response()
}

/// Every path there is, by its parts: what it answers to.
async fn answer(app: &App, asked: &Asked) -> Response {
    let parts = asked.parts();
    let get = asked.method == Method::GET || asked.method == Method::HEAD;
    let outcome = match (&parts[..], &asked.method) {
        (["cameras"] | ["api", "devices", ..], _) => plugged(app, asked, &parts, get).await,
        (["api", "class", ..], _) => class::programs(app, asked, &parts[2..], get).await,
        (["api", "units", ..], _) => units::programs(app, asked, &parts[2..], get).await,
        (["api", "stations", _, "whip" | "publisher"] | ["api", "stations", _, "whip", _], _) => {
            whip::answer(app, asked, &parts[2..]).await
        }
        (["api", "sound", ..], _) => sound::programs(app, asked, &parts[2..], get).await,
        (["api", "pictures", ..], _) => pictures::programs(app, asked, &parts[2..], get).await,
        (["api", "stations", number, "pictures", name], _) if get => {
            pictures::of_station(app, asked, number, name).await
        }
        (["api", "stations", number], &Method::PATCH) => {
            match need_at(asked, Action::SetDelay, number) {
                Ok(()) => api::patch(app, number, &asked.body).await,
                Err(problem) => Err(problem),
            }
        }
        (["api", "stations", number, "still"], _) if get => still::now(app, asked, number).await,
        (["api", ..], _) => programs(app, asked, &parts, get),
        (["unit"] | ["unit", _], _) if get => units::page(app, asked, &parts[1..]).await,
        (["sign-in" | "sign-out" | "screens" | "roster", ..], _) => {
            people(app, asked, &parts, get).await
        }
        _ if get => to_see(app, asked, &parts),
        _ => Err(unknown(asked)),
    };
    let mut response = outcome.unwrap_or_else(|problem| said(app, asked, problem));
    if response.status() == StatusCode::METHOD_NOT_ALLOWED {
        let taken = HeaderValue::from_static(taken(&parts));
        response.headers_mut().insert(header::ALLOW, taken);
    }
    response
}

/// A problem, to whoever has it: a page to a person, itself to a program.
fn said(app: &App, asked: &Asked, problem: Problem) -> Response {
    let parts = asked.parts();
    if wants_page(asked, &parts) {
        elsewhere(app, asked, &parts, problem)
    } else {
        problem.into_response()
    }
}

/// Pages and what they are made of.
fn to_see(app: &App, asked: &Asked, parts: &[&str]) -> Result<Response, Problem> {
    match parts {
        [""] => need(asked, Action::SeeStations).map(|()| pages::home(app, asked.language)),
        ["remote"] => need(asked, Action::UseRemote).map(|()| {
            let may = |action| need(asked, action).is_ok();
            let titles = if may(Action::KeepRoster) {
                roster::titles(app)
            } else {
                Vec::new()
            };
            pages::remote(app, asked.language, may, titles)
        }),
        ["tv", number] => need_at(asked, Action::Watch, number)
            .and_then(|()| pages::tv(app, asked.language, number)),
        ["camera"] => pages::which_camera(app, asked),
        ["camera", number] => need_at(asked, Action::Publish, number)
            .and_then(|()| pages::camera(app, asked.language, number)),
        ["camera", number, "tv"] => need_at(asked, Action::Publish, number)
            .and_then(|()| pages::camera_tv(app, asked.language, number)),
        ["hall"] => need(asked, Action::SeeHall).map(|()| pages::hall(app, asked.language)),
        ["figures"] => need(asked, Action::UseRemote).map(|()| pages::figures(app, asked.language)),
        ["pair"] => Ok(pages::pair(app, asked.language)),
        ["health"] => Ok(api::health(app)),
        ["trust"] => trust::page(app, asked.language),
        ["trust", file] => trust::file(app, file),
        ["assets", rest @ ..] => assets::get(
            &rest.join("/"),
            text(&asked.headers, &header::IF_NONE_MATCH),
        ),
        _ => Err(unknown(asked)),
    }
}

/// What people do with forms.
async fn people(app: &App, asked: &Asked, parts: &[&str], get: bool) -> Result<Response, Problem> {
    let post = asked.method == Method::POST;
    if !asked.arrival.listener.takes_secrets() {
        return Err(Problem::new(
            Kind::Forbidden,
            "this address is for screens only, since others on the network can read along; \
             open the box's https address",
        ));
    }
    match parts {
        ["sign-in"] if get => {
            let to = To::read(asked.to.as_deref());
            Ok(pages::sign_in(app, asked.language, Said::Nothing, to))
        }
        ["sign-in"] if post => {
            let form = Form::read(&asked.body);
            Ok(doors::sign_in(app, asked, form).await)
        }
        ["sign-out"] if post => Ok(doors::sign_out(app, asked.pass, &asked.arrival)),
        ["screens"] if get => need(asked, Action::KeepDoor)
            .map(|()| doors::screens(app, asked.language, asked.pass, "", None)),
        ["screens"] if post => {
            need(asked, Action::KeepDoor)?;
            let form = Form::read(&asked.body);
            doors::change(app, asked, form).await
        }
        ["roster", ..] if roster::is_page(parts) && (get || post) => {
            need(asked, Action::KeepRoster)?;
            roster::answer(app, asked, parts).await
        }
        _ => Err(unknown(asked)),
    }
}

/// What is plugged into the box.
async fn plugged(app: &App, asked: &Asked, parts: &[&str], get: bool) -> Result<Response, Problem> {
    match parts {
        ["cameras"] if get => {
            need(asked, Action::SetUpCameras)?;
            cameras::page(app, asked.language).await
        }
        ["api", "devices"] if get => {
            need(asked, Action::SetUpCameras)?;
            cameras::list(app).await
        }
        // Not to be got: it switches a camera on.
        ["api", "devices", id, "picture"] if asked.method == Method::POST => {
            need(asked, Action::SetUpCameras)?;
            cameras::picture(app, id).await
        }
        _ => Err(unknown(asked)),
    }
}

/// What pages and programs ask for.
fn programs(app: &App, asked: &Asked, parts: &[&str], get: bool) -> Result<Response, Problem> {
    match (parts, &asked.method) {
        (["api", "stations"], _) if get => {
            need(asked, Action::SeeStations).and_then(|()| api::list(app))
        }
        (["api", "stations", number], _) if get => {
            need_at(asked, Action::SeeStations, number).and_then(|()| api::one(app, number))
        }
        (["api", "stations", number, "orders"], &Method::POST) => order(app, asked, number),
        (["api", "stations", number, "again"], &Method::POST) => {
            need_at(asked, Action::ShowAgain, number)
                .and_then(|()| api::again(app, number, &asked.body))
        }
        (["api", "stations", number, "calibration"], &Method::POST) => {
            need_at(asked, Action::Calibrate, number)
                .and_then(|()| api::calibration(app, number, &asked.body))
        }
        (["api", "stations", _, "view"], _) => {
            Err(Problem::new(Kind::BadRequest, "this path is a WebSocket"))
        }
        (["api", "showing"], _) if get => {
            need(asked, Action::UseRemote).map(|()| api::showing(app))
        }
        (["api", "showing"], &Method::PATCH) => {
            need(asked, Action::ChooseSheet).and_then(|()| api::choose(app, &asked.body))
        }
        (["api", "pairing"], &Method::POST) => doors::ask_to_pair(app, &asked.arrival),
        (["api", "pairing"], _) if get => Ok(doors::pairing(app, &asked.headers, &asked.arrival)),
        (["api", "pairing", "qr"], _) if get => {
            doors::pairing_qr(app, &asked.headers, &asked.arrival)
        }
        _ => Err(unknown(asked)),
    }
}

/// Somebody with a browser whom nobody has let in yet is shown the way.
fn elsewhere(app: &App, asked: &Asked, parts: &[&str], problem: Problem) -> Response {
    // Whom the door lets watch without a session may want to come in further.
    let stranger = asked.pass.is_none_or(|pass| pass.session.is_none())
        && matches!(problem.kind, Kind::Unknown | Kind::Forbidden);
    let screens_only = !asked.arrival.listener.takes_secrets();
    match parts {
        ["tv" | "camera", ..] | ["hall"] if stranger => see_other("/pair"),
        [""] if stranger && screens_only => see_other("/pair"),
        _ if screens_only => pages::problem(app, asked.language, problem),
        ["screens"] if stranger => see_other("/sign-in?to=screens"),
        ["roster", ..] if stranger => see_other("/sign-in?to=roster"),
        [""] if stranger => pages::strangers(app, asked.language),
        _ if stranger => see_other("/sign-in"),
        _ => pages::problem(app, asked.language, problem),
    }
}

/// Whoever may not hide pictures does not learn what can be asked.
fn order(app: &App, asked: &Asked, number: &str) -> Result<Response, Problem> {
    need_at(asked, Action::Hide, number)?;
    api::order(app, number, api::asked_order(&asked.body)?)
}

/// A person in a browser gets a page; a program gets the problem itself.
fn wants_page(asked: &Asked, parts: &[&str]) -> bool {
    let page = !matches!(parts.first(), Some(&("api" | "assets" | "health")));
    page && text(&asked.headers, &header::ACCEPT).is_some_and(|kinds| kinds.contains("text/html"))
}

/// What stands after the path.
type Query = HashMap<String, String>;

/// The same; nothing where it makes no sense.
fn query() -> impl Filter<Extract = (Query,), Error = std::convert::Infallible> + Clone {
    warp::query::<Query>()
        .or(warp::any().map(Query::new))
        .unify()
}
