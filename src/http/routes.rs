//! Which path leads where, and what each asks of the door.
//!
//! Not here: the handlers.

use std::collections::HashMap;

use warp::{
    Filter, Reply,
    filters::{BoxedFilter, ws::Ws},
    http::{HeaderMap, HeaderValue, Method, StatusCode, header},
    hyper::body::Bytes,
    path::FullPath,
    reply::Response,
};

use afterturn_core::wire::{MOST_FROM_SCREEN_BYTES, Order};

use super::{App, Kind, Problem, api, assets, pages, socket, words::Language};
use crate::door::{Action, Role};

/// The largest body anything here takes; a delay needs forty bytes.
const MOST_BODY_BYTES: u64 = 16 * 1024;

/// One request, taken apart.
struct Asked {
    role: Option<Role>,
    method: Method,
    path: String,
    language: Language,
    headers: HeaderMap,
    body: Bytes,
}

/// Every route there is.
#[must_use]
pub fn routes(app: &App) -> BoxedFilter<(Response,)> {
    view(app.clone())
        .or(everything_else(app.clone()))
        .unify()
        .boxed()
}

/// The socket of a station's screen.
fn view(app: App) -> BoxedFilter<(Response,)> {
    warp::path!("api" / "stations" / String / "view")
        .and(warp::ws())
        .and(role())
        .map(move |number: String, ws: Ws, role: Option<Role>| {
            let seat = allow(role, Action::Watch).and_then(|()| app.station(&number).cloned());
            let station = match seat {
                Ok(station) => station,
                Err(problem) => return problem.into_response(),
            };
            let stop = app.stop.clone();
            ws.max_message_size(MOST_FROM_SCREEN_BYTES)
                .max_frame_size(MOST_FROM_SCREEN_BYTES)
                .on_upgrade(move |ws| socket::serve(ws, station, stop))
                .into_response()
        })
        .boxed()
}

/// One filter for all the rest, so that a path has one answer whatever its
/// method or body, and nothing falls through to another route.
fn everything_else(app: App) -> BoxedFilter<(Response,)> {
    warp::any()
        .and(role())
        .and(warp::method())
        .and(warp::path::full())
        .and(
            warp::query::<HashMap<String, String>>()
                .or(warp::any().map(HashMap::new))
                .unify(),
        )
        .and(warp::header::headers_cloned())
        .and(body())
        .map(
            move |role,
                  method,
                  path: FullPath,
                  query: HashMap<String, String>,
                  headers,
                  body: Result<Bytes, Problem>| {
                let language = Language::choose(
                    query.get("lang").map(String::as_str),
                    text(&headers, &header::ACCEPT_LANGUAGE),
                );
                let body = match body {
                    Ok(body) => body,
                    Err(problem) => return problem.into_response(),
                };
                let path = path.as_str().to_owned();
                answer(
                    &app,
                    &Asked {
                        role,
                        method,
                        path,
                        language,
                        headers,
                        body,
                    },
                )
            },
        )
        .boxed()
}

/// The table of paths.
fn answer(app: &App, asked: &Asked) -> Response {
    let parts: Vec<&str> = asked.path.trim_matches('/').split('/').collect();
    let get = asked.method == Method::GET || asked.method == Method::HEAD;
    let outcome = match (&parts[..], &asked.method) {
        ([""], _) if get => {
            need(asked, Action::SeeStations).map(|()| pages::home(app, asked.language))
        }
        (["remote"], _) if get => {
            need(asked, Action::UseRemote).map(|()| pages::remote(app, asked.language))
        }
        (["tv", number], _) if get => {
            need(asked, Action::Watch).and_then(|()| pages::tv(app, asked.language, number))
        }
        (["health"], _) if get => Ok(api::health(app)),
        (["assets", rest @ ..], _) if get => assets::get(
            &rest.join("/"),
            text(&asked.headers, &header::IF_NONE_MATCH),
        ),
        (["api", "stations"], _) if get => {
            need(asked, Action::SeeStations).and_then(|()| api::list(app))
        }
        (["api", "stations", number], _) if get => {
            need(asked, Action::SeeStations).and_then(|()| api::one(app, number))
        }
        (["api", "stations", number], &Method::PATCH) => {
            need(asked, Action::SetDelay).and_then(|()| api::patch(app, number, &asked.body))
        }
        (["api", "stations", number, "orders"], &Method::POST) => order(app, asked, number),
        (["api", "stations", _, "view"], _) => {
            Err(Problem::new(Kind::BadRequest, "this path is a WebSocket"))
        }
        (
            ["" | "remote" | "health"]
            | ["tv", _]
            | ["assets", ..]
            | ["api", "stations"]
            | ["api", "stations", _]
            | ["api", "stations", _, "orders"],
            _,
        ) => {
            let detail = format!("{} is not taken here", asked.method);
            Err(Problem::new(Kind::NotAllowed, detail))
        }
        _ => Err(Problem::new(Kind::NotFound, "there is no such page")),
    };
    let mut response = match outcome {
        Ok(response) => response,
        Err(problem) if wants_page(asked, &parts) => pages::problem(app, asked.language, problem),
        Err(problem) => problem.into_response(),
    };
    if response.status() == StatusCode::METHOD_NOT_ALLOWED {
        let taken = HeaderValue::from_static(taken(&parts));
        response.headers_mut().insert(header::ALLOW, taken);
    }
    response
}

/// Whoever may not hide pictures does not learn what can be asked; wiping asks
/// for more than hiding.
fn order(app: &App, asked: &Asked, number: &str) -> Result<Response, Problem> {
    need(asked, Action::Hide)?;
    let order = api::asked_order(&asked.body)?;
    if order == Order::Wipe {
        need(asked, Action::Wipe)?;
    }
    api::order(app, number, order)
}

/// The methods a path takes; a refusal of another has to say them (RFC 9110
/// §15.5.6).
fn taken(parts: &[&str]) -> &'static str {
    match parts {
        ["api", "stations", _] => "GET, HEAD, PATCH",
        ["api", "stations", _, "orders"] => "POST",
        _ => "GET, HEAD",
    }
}

/// A person in a browser gets a page; a program gets the problem itself.
fn wants_page(asked: &Asked, parts: &[&str]) -> bool {
    let page = !matches!(parts.first(), Some(&("api" | "assets" | "health")));
    page && text(&asked.headers, &header::ACCEPT).is_some_and(|kinds| kinds.contains("text/html"))
}

fn need(asked: &Asked, action: Action) -> Result<(), Problem> {
    allow(asked.role, action)
}

fn allow(role: Option<Role>, action: Action) -> Result<(), Problem> {
    if role.is_some_and(|role| role.may(action)) {
        return Ok(());
    }
    Err(Problem::new(
        Kind::Forbidden,
        "this is not for everybody; ask the teacher",
    ))
}

/// The role the door gave this request on its way in; none, if it came past
/// the door, and then nothing is allowed.
fn role() -> impl Filter<Extract = (Option<Role>,), Error = std::convert::Infallible> + Clone {
    warp::ext::optional::<Role>()
}

/// The body, or why it is refused. Methods without one have an empty one.
fn body() -> BoxedFilter<(Result<Bytes, Problem>,)> {
    let refused = || Problem::new(Kind::TooLarge, "no more than 16 KiB is taken here");
    warp::body::content_length_limit(MOST_BODY_BYTES)
        .and(warp::body::bytes())
        .map(Ok)
        .or(warp::header::optional::<u64>("content-length")
            .and(warp::header::optional::<String>("transfer-encoding"))
            .map(move |length: Option<u64>, chunks: Option<String>| {
                // A body of unknown length could go on for ever.
                if length.is_some_and(|bytes| bytes > 0) || chunks.is_some() {
                    Err(refused())
                } else {
                    Ok(Bytes::new())
                }
            }))
        .unify()
        .boxed()
}

fn text<'h>(headers: &'h HeaderMap, name: &header::HeaderName) -> Option<&'h str> {
    headers.get(name).and_then(|value| value.to_str().ok())
}
