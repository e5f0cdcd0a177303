//! Which path leads where, and what each asks of the door.
//!
//! Not here: the handlers.

use std::{collections::HashMap, net::Ipv4Addr, sync::Arc};

use warp::{
    Filter, Reply,
    filters::{BoxedFilter, ws::Ws},
    http::{HeaderMap, HeaderValue, Method, StatusCode, header},
    hyper::body::Bytes,
    path::FullPath,
    reply::Response,
};

use afterturn_core::{
    kernel::StationNumber,
    wire::{MOST_FROM_SCREEN_BYTES, Order},
};

use super::{
    App, Kind, Problem, api, assets,
    doors::{self, Form, see_other},
    pages, roster, socket,
    socket::Seat,
    trust,
    words::Language,
};
use crate::door::{Action, Arrival, Listener, Pass};

/// The largest body anything here takes; a delay needs forty bytes.
const MOST_BODY_BYTES: u64 = 16 * 1024;

/// A list of a district, or a backup, from a teacher.
const MOST_FILE_BYTES: u64 = 32 * 1024 * 1024;

/// One request, taken apart.
pub(super) struct Asked {
    pub(super) pass: Option<Pass>,
    pub(super) arrival: Arrival,
    pub(super) method: Method,
    pub(super) path: String,
    pub(super) language: Language,
    /// Which form was done, for a page to say so.
    pub(super) done: Option<String>,
    pub(super) headers: HeaderMap,
    pub(super) body: Bytes,
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
        .and(pass())
        .map(move |number: String, ws: Ws, pass: Option<Pass>| {
            let seat = allow(pass, Action::Watch, number.parse().ok())
                .and_then(|pass| Ok((pass, app.station(&number).cloned()?)));
            let (pass, station) = match seat {
                Ok(seat) => seat,
                Err(problem) => return problem.into_response(),
            };
            let seat = Seat {
                entrance: Arc::clone(&app.entrance),
                pass,
            };
            let stop = app.stop.clone();
            ws.max_message_size(MOST_FROM_SCREEN_BYTES)
                .max_frame_size(MOST_FROM_SCREEN_BYTES)
                .on_upgrade(move |ws| socket::serve(ws, station, seat, stop))
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
        .and(
            warp::query::<HashMap<String, String>>()
                .or(warp::any().map(HashMap::new))
                .unify(),
        )
        .and(warp::header::headers_cloned())
        .and(body())
        .then(
            move |pass,
                  arrival,
                  method,
                  path: FullPath,
                  query: HashMap<String, String>,
                  headers,
                  body: Result<Bytes, Problem>| {
                let language = Language::choose(
                    query.get("lang").map(String::as_str),
                    text(&headers, &header::ACCEPT_LANGUAGE),
                );
                let path = path.as_str().to_owned();
                let app = app.clone();
                async move {
                    match body {
                        Ok(body) => {
                            let asked = Asked {
                                pass,
                                arrival,
                                method,
                                path,
                                language,
                                done: query.get("done").cloned(),
                                headers,
                                body,
                            };
                            answer(&app, &asked).await
                        }
                        Err(problem) => problem.into_response(),
                    }
                }
            },
        )
        .boxed()
}

/// Every path there is, by its parts: what it answers to.
async fn answer(app: &App, asked: &Asked) -> Response {
    let parts: Vec<&str> = asked.path.trim_matches('/').split('/').collect();
    let get = asked.method == Method::GET || asked.method == Method::HEAD;
    let outcome = match (&parts[..], &asked.method) {
        (["api", ..], _) => programs(app, asked, &parts, get),
        (["sign-in" | "sign-out" | "screens" | "roster", ..], _) => {
            people(app, asked, &parts, get).await
        }
        _ if get => to_see(app, asked, &parts),
        _ => Err(unknown(asked, &parts)),
    };
    let mut response = match outcome {
        Ok(response) => response,
        Err(problem) if wants_page(asked, &parts) => elsewhere(app, asked, &parts, problem),
        Err(problem) => problem.into_response(),
    };
    if response.status() == StatusCode::METHOD_NOT_ALLOWED {
        let taken = HeaderValue::from_static(taken(&parts));
        response.headers_mut().insert(header::ALLOW, taken);
    }
    response
}

/// Pages and what they are made of.
fn to_see(app: &App, asked: &Asked, parts: &[&str]) -> Result<Response, Problem> {
    match parts {
        [""] => need(asked, Action::SeeStations).map(|()| pages::home(app, asked.language)),
        ["remote"] => need(asked, Action::UseRemote).map(|()| {
            let keeps = need(asked, Action::KeepDoor).is_ok();
            pages::remote(app, asked.language, keeps)
        }),
        ["tv", number] => need_at(asked, Action::Watch, number)
            .and_then(|()| pages::tv(app, asked.language, number)),
        ["pair"] => Ok(pages::pair(app, asked.language)),
        ["health"] => Ok(api::health(app)),
        ["trust"] => trust::page(app, asked.language),
        ["trust", file] => trust::file(app, file),
        ["assets", rest @ ..] => assets::get(
            &rest.join("/"),
            text(&asked.headers, &header::IF_NONE_MATCH),
        ),
        _ => Err(unknown(asked, parts)),
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
        ["sign-in"] if get => Ok(pages::sign_in_first(app, asked.language)),
        ["sign-in"] if post => {
            let form = Form::read(&asked.body);
            Ok(doors::sign_in(app, asked.language, form, &asked.arrival).await)
        }
        ["sign-out"] if post => Ok(doors::sign_out(app, asked.pass, &asked.arrival)),
        ["screens"] if get => need(asked, Action::KeepDoor)
            .map(|()| doors::screens(app, asked.language, asked.pass, "")),
        ["screens"] if post => {
            need(asked, Action::KeepDoor)?;
            let form = Form::read(&asked.body);
            doors::change(app, asked.language, form, asked.pass, asked.arrival.peer).await
        }
        ["roster", ..] if is_roster(parts) && (get || post) => {
            need(asked, Action::KeepRoster)?;
            roster::answer(app, asked, parts).await
        }
        _ => Err(unknown(asked, parts)),
    }
}

/// Which pages of the vault there are.
fn is_roster(parts: &[&str]) -> bool {
    matches!(
        parts,
        ["roster"]
            | ["roster", "import" | "letter" | "vault"]
            | ["roster", "classes" | "children", _]
    )
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
        (["api", "stations", number], &Method::PATCH) => need_at(asked, Action::SetDelay, number)
            .and_then(|()| api::patch(app, number, &asked.body)),
        (["api", "stations", number, "orders"], &Method::POST) => order(app, asked, number),
        (["api", "stations", _, "view"], _) => {
            Err(Problem::new(Kind::BadRequest, "this path is a WebSocket"))
        }
        (["api", "pairing"], &Method::POST) => doors::ask_to_pair(app, &asked.arrival),
        (["api", "pairing"], _) if get => Ok(doors::pairing(app, &asked.headers, &asked.arrival)),
        _ => Err(unknown(asked, parts)),
    }
}

/// Neither a path nor a method that anything here takes.
fn unknown(asked: &Asked, parts: &[&str]) -> Problem {
    let there = matches!(
        parts,
        ["" | "remote" | "health" | "pair" | "sign-in" | "sign-out" | "screens" | "trust"]
            | ["tv" | "trust", _]
            | ["assets", ..]
            | ["api", "stations" | "pairing"]
            | ["api", "stations", _]
            | ["api", "stations", _, "orders"]
    ) || is_roster(parts);
    if there {
        let detail = format!("{} is not taken here", asked.method);
        Problem::new(Kind::NotAllowed, detail)
    } else {
        Problem::new(Kind::NotFound, "there is no such page")
    }
}

/// Somebody with a browser whom nobody has let in yet is shown the way.
fn elsewhere(app: &App, asked: &Asked, parts: &[&str], problem: Problem) -> Response {
    // Whom the door lets watch without a session may want to come in further.
    let stranger = asked.pass.is_none_or(|pass| pass.session.is_none())
        && matches!(problem.kind, Kind::Unknown | Kind::Forbidden);
    let screens_only = !asked.arrival.listener.takes_secrets();
    match parts {
        ["tv", _] if stranger => see_other("/pair"),
        [""] if stranger && screens_only => see_other("/pair"),
        _ if screens_only => pages::problem(app, asked.language, problem),
        [""] if stranger => pages::strangers(app, asked.language),
        _ if stranger => see_other("/sign-in"),
        _ => pages::problem(app, asked.language, problem),
    }
}

/// Whoever may not hide pictures does not learn what can be asked; wiping asks
/// for more than hiding.
fn order(app: &App, asked: &Asked, number: &str) -> Result<Response, Problem> {
    need_at(asked, Action::Hide, number)?;
    let order = api::asked_order(&asked.body)?;
    if order == Order::Wipe {
        need_at(asked, Action::Wipe, number)?;
    }
    api::order(app, number, order)
}

/// The methods a path takes; a refusal of another has to say them (RFC 9110
/// §15.5.6).
fn taken(parts: &[&str]) -> &'static str {
    match parts {
        ["api", "stations", _] => "GET, HEAD, PATCH",
        ["api", "stations", _, "orders"] | ["sign-out"] => "POST",
        ["api", "pairing"] | ["sign-in" | "screens"] | ["roster", ..] => "GET, HEAD, POST",
        _ => "GET, HEAD",
    }
}

/// A person in a browser gets a page; a program gets the problem itself.
fn wants_page(asked: &Asked, parts: &[&str]) -> bool {
    let page = !matches!(parts.first(), Some(&("api" | "assets" | "health")));
    page && text(&asked.headers, &header::ACCEPT).is_some_and(|kinds| kinds.contains("text/html"))
}

fn need(asked: &Asked, action: Action) -> Result<(), Problem> {
    allow(asked.pass, action, None).map(|_| ())
}

/// The same at one station; who has a station of their own does not learn which
/// others there are.
fn need_at(asked: &Asked, action: Action, number: &str) -> Result<(), Problem> {
    allow(asked.pass, action, number.parse().ok()).map(|_| ())
}

fn allow(
    pass: Option<Pass>,
    action: Action,
    station: Option<StationNumber>,
) -> Result<Pass, Problem> {
    let Some(pass) = pass else {
        return Err(Problem::new(
            Kind::Unknown,
            "this is for those who were let in; sign in, or ask the teacher",
        ));
    };
    if pass.grant.may(action, station) {
        return Ok(pass);
    }
    Err(Problem::new(
        Kind::Forbidden,
        "this is not for everybody; ask the teacher",
    ))
}

/// Whom the door let in on the way here; nobody, if the request came past the
/// door, and then nothing is allowed.
fn pass() -> impl Filter<Extract = (Option<Pass>,), Error = std::convert::Infallible> + Clone {
    warp::ext::optional::<Pass>()
}

/// How a request arrived.
fn arrival() -> impl Filter<Extract = (Arrival,), Error = std::convert::Infallible> + Clone {
    warp::ext::optional::<Arrival>().map(|arrival: Option<Arrival>| {
        // Past the door there is nobody to be told apart, and the least is taken.
        arrival.unwrap_or_else(|| Arrival {
            listener: Listener::PlainScreens,
            peer: Ipv4Addr::UNSPECIFIED.into(),
            reached: (Ipv4Addr::UNSPECIFIED, 0).into(),
            name: None,
        })
    })
}

/// The body, or why it is refused. Methods without one have an empty one.
fn body() -> BoxedFilter<(Result<Bytes, Problem>,)> {
    let refused = || Problem::new(Kind::TooLarge, "this is more than is taken here");
    let small = warp::body::content_length_limit(MOST_BODY_BYTES).and(warp::body::bytes());
    // Nobody else makes the box hold so much.
    let large = files_are_taken()
        .and(warp::body::content_length_limit(MOST_FILE_BYTES))
        .and(warp::body::bytes());
    small
        .or(large)
        .unify()
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

/// Lets a teacher's forms with files pass, and nothing else.
fn files_are_taken() -> impl Filter<Extract = (), Error = warp::Rejection> + Clone {
    pass()
        .and(warp::path::full())
        .and_then(|pass: Option<Pass>, path: FullPath| {
            let may = allow(pass, Action::KeepRoster, None).is_ok();
            // A list may be pasted, and be carried past a locked vault.
            let taken = may && path.as_str().starts_with("/roster");
            std::future::ready(taken.then_some(()).ok_or_else(warp::reject::not_found))
        })
        .untuple_one()
}

fn text<'h>(headers: &'h HeaderMap, name: &header::HeaderName) -> Option<&'h str> {
    headers.get(name).and_then(|value| value.to_str().ok())
}
