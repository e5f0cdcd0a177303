//! Signing in and out, letting screens in and sending them away: plain forms
//! that post and redirect, so that they work on anything.
//!
//! Not here: the rules (the door's) and the pages' words.

use std::collections::HashMap;

use afterturn_core::kernel::StationNumber;
use serde::Serialize;
use warp::{
    Reply,
    http::{HeaderValue, StatusCode, header},
    hyper::body::Bytes,
    reply::Response,
};

use super::{
    App, Entrance, Kind, Problem, asked::Asked, entrance, pages, qr::qr_svg, trust, words::Language,
};
use crate::door::{
    Arrival, Grant, Guesser, Listed, PairingState, Pass, PassphraseError, SessionId, Token, What,
    check_passphrase, check_pin,
};

/// A form, taken apart.
pub(super) struct Form(HashMap<String, String>);

impl Form {
    pub(super) fn read(body: &Bytes) -> Self {
        Self(form_urlencoded::parse(body).into_owned().collect())
    }

    fn get(&self, name: &str) -> &str {
        self.0.get(name).map_or("", String::as_str)
    }
}

/// What the sign-in page has to say about the last try.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Said {
    Nothing,
    Wrong,
    Wait(u64),
    Refused(PassphraseError),
    Differ,
}

/// Where somebody goes who has signed in: one of these and nowhere else.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum To {
    Remote,
    Screens,
    Roster,
}

impl To {
    pub(super) fn read(text: Option<&str>) -> Self {
        match text {
            Some("screens") => Self::Screens,
            Some("roster") => Self::Roster,
            _ => Self::Remote,
        }
    }

    /// As a form carries it on.
    pub(super) const fn text(self) -> &'static str {
        match self {
            Self::Remote => "remote",
            Self::Screens => "screens",
            Self::Roster => "roster",
        }
    }

    const fn path(self) -> &'static str {
        match self {
            Self::Remote => "/remote",
            Self::Screens => "/screens",
            Self::Roster => "/roster",
        }
    }
}

/// `POST /sign-in`.
pub(super) async fn sign_in(app: &App, asked: &Asked, form: Form) -> Response {
    let (arrival, who) = (&asked.arrival, asked.guesser());
    let to = To::read(Some(form.get("to")));
    let first = app.entrance.first_code().is_some();
    let outcome = if first {
        first_passphrase(app, &form, who).await
    } else {
        let (what, typed) = match form.get("pin").trim() {
            "" => (What::Passphrase, form.get("passphrase")),
            pin => (What::Pin, pin),
        };
        let signed_in = app.entrance.sign_in(what, typed.to_owned(), who).await;
        if let (Ok(_), What::Passphrase, Some(vault)) = (&signed_in, what, &app.vault) {
            vault.unlock(typed.to_owned(), app.entrance.now());
        }
        signed_in.map_err(|problem| said(&problem))
    };
    match outcome {
        Ok(token) => {
            let cookies = entrance::session_cookies(&token, arrival.listener);
            with_cookies(see_other(to.path()), &cookies)
        }
        Err(said) => {
            let status = match said {
                Said::Wait(_) => StatusCode::TOO_MANY_REQUESTS,
                Said::Wrong => StatusCode::UNAUTHORIZED,
                _ => StatusCode::UNPROCESSABLE_ENTITY,
            };
            let page = pages::sign_in(app, asked.language, said, to);
            let mut response = warp::reply::with_status(page, status).into_response();
            if let Said::Wait(seconds) = said {
                let value = HeaderValue::from(seconds);
                response.headers_mut().insert(header::RETRY_AFTER, value);
            }
            response
        }
    }
}

fn said(problem: &Problem) -> Said {
    problem.wait_s.map_or(Said::Wrong, Said::Wait)
}

/// The first run: the console's code, and the passphrase from now on.
async fn first_passphrase(app: &App, form: &Form, who: Guesser) -> Result<Token, Said> {
    let passphrase = form.get("passphrase");
    // Before the code is used: a short passphrase is no guess at it.
    check_passphrase(passphrase).map_err(Said::Refused)?;
    if passphrase != form.get("again") {
        return Err(Said::Differ);
    }
    let code = form.get("code").to_owned();
    let right = app
        .entrance
        .with(|door, now| door.is_first_code(&code, who, now))
        .map_err(|wait| Said::Wait(wait.seconds))?;
    if !right {
        return Err(Said::Wrong);
    }
    let hash = app.entrance.hash(passphrase.to_owned()).await;
    let hash = hash.map_err(|_| Said::Wrong)?;
    tracing::info!("the teacher's passphrase was set");
    if let Some(vault) = &app.vault {
        vault.unlock(passphrase.to_owned(), app.entrance.now());
    }
    Ok(app.entrance.with(|door, now| {
        door.set_passphrase(hash);
        door.open_at(Grant::Teacher, Some(who.address()), now)
    }))
}

/// `POST /sign-out`.
pub(super) fn sign_out(app: &App, pass: Option<Pass>, arrival: &Arrival) -> Response {
    if let Some(id) = pass.and_then(|pass| pass.session) {
        app.entrance.with(|door, _| door.close(id));
    }
    let teacher = pass.is_some_and(|pass| pass.grant == Grant::Teacher);
    if let Some(vault) = app.vault.as_ref().filter(|_| teacher) {
        vault.portfolio.lock();
    }
    let cookies = entrance::no_session_cookies(arrival.listener);
    with_cookies(see_other("/sign-in"), &cookies)
}

/// `/api/pairing`: how it stands for a screen that waits.
#[derive(Serialize)]
#[serde(rename_all = "snake_case", tag = "state")]
enum Standing {
    Waiting {
        code: String,
        seconds: u64,
        /// Where the teacher opens the page that lets it in, by number; none
        /// while the box is not on the network.
        opens: Option<String>,
    },
    /// Let in; the page goes there.
    Approved {
        go: String,
    },
    Unknown,
}

/// `POST /api/pairing`: a screen asks to be let in.
pub(super) fn ask_to_pair(app: &App, arrival: &Arrival) -> Result<Response, Problem> {
    let asked = app.entrance.with(|door, now| {
        let token = door.ask_to_pair(arrival.peer, now)?;
        let (state, _) = door.pairing(&token, now);
        Ok::<_, Problem>((token, state))
    });
    let (token, state) = asked?;
    let reply = warp::reply::json(&standing(app, state, arrival)).into_response();
    let cookie = entrance::waiting_cookie(&token, arrival.listener);
    Ok(with_cookies(reply, &[cookie]))
}

/// `GET /api/pairing`.
pub(super) fn pairing(app: &App, headers: &warp::http::HeaderMap, arrival: &Arrival) -> Response {
    let Some(token) = Entrance::waiting(headers, arrival.listener) else {
        return warp::reply::json(&Standing::Unknown).into_response();
    };
    let (state, session) = app.entrance.with(|door, now| door.pairing(&token, now));
    let reply = warp::reply::json(&standing(app, state, arrival)).into_response();
    match session {
        Some(session) => {
            let cookies = entrance::session_cookies(&session, arrival.listener);
            with_cookies(reply, &cookies)
        }
        None => reply,
    }
}

/// `GET /api/pairing/qr`: what a teacher's phone opens the page with that lets
/// this screen in. The code is behind the `#`: a browser keeps it to itself (RFC
/// 9110 §4.2.5 and RFC 3986 §3.5), so no server and no log on the way has it.
pub(super) fn pairing_qr(
    app: &App,
    headers: &warp::http::HeaderMap,
    arrival: &Arrival,
) -> Result<Response, Problem> {
    let nothing = || Problem::new(Kind::NotFound, "no screen waits here");
    let token = Entrance::waiting(headers, arrival.listener).ok_or_else(nothing)?;
    let page = screens_address(app, arrival).ok_or_else(nothing)?;
    let code = app
        .entrance
        .with(|door, now| door.waiting_code(&token, now));
    let code = code.ok_or_else(nothing)?;
    let mut response = qr_svg(&format!("{page}#{code}")).into_response();
    let kind = HeaderValue::from_static("image/svg+xml");
    response.headers_mut().insert(header::CONTENT_TYPE, kind);
    Ok(response)
}

/// Where a teacher's phone finds the page that lets screens in.
fn screens_address(app: &App, arrival: &Arrival) -> Option<String> {
    Some(format!("{}screens", trust::by_number(app, arrival)?))
}

fn standing(app: &App, state: PairingState, arrival: &Arrival) -> Standing {
    match state {
        PairingState::Waiting { code, seconds } => Standing::Waiting {
            code,
            seconds,
            opens: screens_address(app, arrival),
        },
        PairingState::Approved(grant) => Standing::Approved {
            go: match grant {
                Grant::Screen { station } => format!("/tv/{station}"),
                Grant::HallBoard => "/hall".to_owned(),
                Grant::Teacher | Grant::Helper => "/remote".to_owned(),
                Grant::Camera { station } => format!("/camera/{station}"),
                Grant::ThisMachine => "/".to_owned(),
            },
        },
        PairingState::Unknown => Standing::Unknown,
    }
}

/// `GET /screens`: who is let in.
pub(super) fn screens(
    app: &App,
    language: Language,
    own: Option<Pass>,
    said: &'static str,
    key: Option<String>,
) -> Response {
    let (all, has_pin) = app
        .entrance
        .with(|door, now| (door.list(now), door.has_pin()));
    let own = own.and_then(|pass| pass.session);
    let all: Vec<(Listed, bool)> = all
        .into_iter()
        .map(|one| (one, Some(one.id) == own))
        .collect();
    pages::screens(app, language, &all, has_pin, said, key)
}

/// `POST /screens`: one of its forms.
pub(super) async fn change(app: &App, asked: &Asked, form: Form) -> Result<Response, Problem> {
    let mut key = None;
    let said = match form.get("do") {
        // For a publisher that is no browser: told once, kept as a hash.
        "key" => match station_of(app, &form) {
            Some(station) => {
                let grant = Grant::Camera { station };
                let token = app.entrance.with(|door, now| door.open(grant, now));
                key = Some(token.expose().to_owned());
                "screens-key-made"
            }
            None => "screens-no-station",
        },
        "let-in" => let_in(app, &form, asked.guesser())?,
        "remove" => {
            let id = form.get("id").parse().map(SessionId);
            let id = id.map_err(|_| Problem::new(Kind::BadRequest, "no screen was named"))?;
            let gone = app.entrance.with(|door, _| door.close(id));
            if gone {
                "screens-removed"
            } else {
                "screens-gone"
            }
        }
        "set-pin" => match check_pin(form.get("pin")) {
            Ok(()) => {
                let hash = app.entrance.hash(form.get("pin").to_owned()).await?;
                app.entrance.with(|door, _| door.set_pin(Some(hash)));
                "screens-pin-set"
            }
            Err(PassphraseError::PlainPin) => "screens-pin-plain",
            Err(_) => "screens-pin-wrong",
        },
        "no-pin" => {
            app.entrance.with(|door, _| door.set_pin(None));
            "screens-pin-none"
        }
        _ => return Err(Problem::new(Kind::BadRequest, "nothing was asked for")),
    };
    tracing::info!(outcome = said, "door");
    Ok(screens(app, asked.language, asked.pass, said, key))
}

fn let_in(app: &App, form: &Form, who: Guesser) -> Result<&'static str, Problem> {
    let grant = match (form.get("station"), station_of(app, form)) {
        ("hall", _) => Grant::HallBoard,
        (_, Some(station)) if form.get("as") == "camera" => Grant::Camera { station },
        (_, Some(station)) => Grant::Screen { station },
        _ => return Ok("screens-no-station"),
    };
    let approved = app
        .entrance
        .with(|door, now| door.approve(form.get("code"), grant, who, now))?;
    Ok(match approved {
        Ok(()) => "screens-let-in",
        Err(_) => "screens-no-code",
    })
}

/// The station that a form names, if there is one.
fn station_of(app: &App, form: &Form) -> Option<StationNumber> {
    let station = form.get("station").parse().ok()?;
    app.has_station(station).then_some(station)
}

/// Sends a browser on by GET (RFC 9110 §15.4.4).
pub(super) fn see_other(to: &'static str) -> Response {
    let mut response = StatusCode::SEE_OTHER.into_response();
    let to = HeaderValue::from_static(to);
    response.headers_mut().insert(header::LOCATION, to);
    response
}

/// The same, to a path that was put together.
pub(super) fn see_other_owned(to: &str) -> Response {
    let mut response = StatusCode::SEE_OTHER.into_response();
    let to = HeaderValue::from_str(to).expect("a path of ours");
    response.headers_mut().insert(header::LOCATION, to);
    response
}

fn with_cookies(mut response: Response, cookies: &[String]) -> Response {
    for cookie in cookies {
        let value = HeaderValue::from_str(cookie).expect("tokens are hexadecimal");
        response.headers_mut().append(header::SET_COOKIE, value);
    }
    response
}

impl From<crate::door::PairingError> for Problem {
    fn from(error: crate::door::PairingError) -> Self {
        Self::new(Kind::TooMany, error.to_string())
    }
}
