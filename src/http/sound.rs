//! What the gym hears: the remote's choice, the teacher's files for the page that
//! is the speaker, and what a socket says and hears of it.
//!
//! Not here: which page is the speaker, which files there are ([`crate::sound`]),
//! and when there is sound (the page).

use std::sync::Arc;

use afterturn_core::{
    kernel::StationNumber,
    wire::{FromServer, SoundPatch, SoundPlace, SoundState},
};
use tokio::sync::watch;
use tower_service::Service as _;
use warp::{
    Reply,
    http::{HeaderValue, Method, Request, StatusCode, header},
    hyper::body::Bytes,
    reply::Response,
};

use super::{
    App, Kind, Problem,
    asked::{Asked, allow, need},
    paths::unknown,
};
use crate::door::{Action, Pass};
use crate::lesson::Lesson;
use crate::sound::{MOST_TRACKS, NoPage, Said, Seat, Sound, Who};

/// What sends files would say in the log what they are called.
pub const NAMES_FILES: &str = "warp::filters::fs";

/// `/api/sound` and below; `parts` is what follows that.
pub(super) async fn programs(
    app: &App,
    asked: &Asked,
    parts: &[&str],
    get: bool,
) -> Result<Response, Problem> {
    match parts {
        [] if get => need(asked, Action::UseRemote).map(|()| info(app)),
        [] if asked.method == Method::PATCH => {
            need(asked, Action::ChooseSound)?;
            choose(app, &asked.body)
        }
        ["tone"] if asked.method == Method::POST => {
            need(asked, Action::ChooseSound)?;
            app.sound.tone();
            Ok(info(app))
        }
        ["files", listing, at] if get => file(app, asked, listing, at).await,
        _ => Err(unknown(asked)),
    }
}

fn info(app: &App) -> Response {
    let quiet = |place: SoundPlace| match place {
        SoundPlace::Hall => app.lesson.is_quiet(None),
        SoundPlace::Station { station } => {
            let station = StationNumber::try_from(i64::from(station)).ok();
            app.lesson.is_quiet(station)
        }
    };
    warp::reply::json(&app.sound.info(quiet)).into_response()
}

fn choose(app: &App, body: &Bytes) -> Result<Response, Problem> {
    let patch: SoundPatch = serde_json::from_slice(body).map_err(|error| {
        let detail = format!("expected {{\"mode\": \"rhythm\"}}: {error}");
        Problem::new(Kind::BadRequest, detail)
    })?;
    app.sound.choose(patch)?;
    tracing::info!(mode = ?patch.mode, speaker = patch.speaker.is_some(), "sound chosen");
    Ok(info(app))
}

/// One of the teacher's files, whole or in part, for the page that is the speaker
/// and nobody else.
async fn file(app: &App, asked: &Asked, listing: &str, at: &str) -> Result<Response, Problem> {
    // A station's screen may be the speaker too; the sound is no station's.
    let station = asked.pass.and_then(|pass| pass.grant.station());
    let pass = allow(asked.pass, Action::Sound, station)?;
    if !app.sound.is_speaker(pass.session) {
        let detail = "the files are for the speaker; this page is not";
        return Err(Problem::new(Kind::Forbidden, detail));
    }
    let missing = || Problem::new(Kind::NotFound, "there is no such file");
    let named = listing.parse().ok().zip(at.parse().ok());
    let (listing, at) = named.ok_or_else(missing)?;
    let track = app.sound.track(listing, at).ok_or_else(missing)?;
    let mut request = Request::new(String::new());
    for name in [header::RANGE, header::IF_RANGE] {
        if let Some(value) = asked.headers.get(&name) {
            request.headers_mut().insert(name, value.clone());
        }
    }
    // Not here and now: one filter does not run within another.
    let path = track.path;
    let sent = async move { warp::service(warp::fs::file(path)).call(request).await };
    let Ok(Ok(mut response)) = tokio::spawn(sent).await else {
        let detail = "the file could not be read";
        return Err(Problem::new(Kind::Broken, detail));
    };
    let plays = [
        StatusCode::OK,
        StatusCode::PARTIAL_CONTENT,
        StatusCode::RANGE_NOT_SATISFIABLE,
    ];
    if !plays.contains(&response.status()) {
        return Err(missing());
    }
    let kind = HeaderValue::from_static(track.kind.media_type());
    response.headers_mut().insert(header::CONTENT_TYPE, kind);
    Ok(response)
}

impl From<NoPage> for Problem {
    fn from(gone: NoPage) -> Self {
        Self::new(Kind::Impossible, gone.to_string())
    }
}

/// What a page's socket says and hears of the sound.
pub(super) struct Ear {
    seat: Seat,
    lesson: Arc<Lesson>,
    station: Option<StationNumber>,
    changed: watch::Receiver<()>,
    /// What the page was told last.
    told: Option<SoundState>,
}

impl Ear {
    /// Of a station's screen, or of a board of the hall.
    pub(super) fn new(
        sound: &Arc<Sound>,
        lesson: &Arc<Lesson>,
        pass: Pass,
        station: Option<StationNumber>,
    ) -> Self {
        let place = match station {
            Some(station) => SoundPlace::Station {
                station: station.get(),
            },
            None => SoundPlace::Hall,
        };
        let seat = sound.join(Who {
            session: pass.session,
            place,
        });
        Self {
            changed: seat.changes(),
            seat,
            lesson: Arc::clone(lesson),
            station,
            told: None,
        }
    }

    /// Waits for news; what has changed is still news afterwards.
    pub(super) async fn changed(&mut self) {
        if self.changed.changed().await.is_ok() {
            self.changed.mark_changed();
        } else {
            // Nobody is left who could change anything.
            std::future::pending::<()>().await;
        }
    }

    /// What there is to tell the page.
    pub(super) fn news(&mut self) -> Option<FromServer> {
        self.changed.mark_unchanged();
        let state = self.seat.state(self.lesson.is_quiet(self.station));
        let news = self.told.replace(state) != Some(state);
        news.then_some(FromServer::Sound(state))
    }

    /// Somebody pressed at the page that it be the speaker.
    pub(super) fn speak(&self) {
        self.seat.speak();
    }

    /// What the page says of itself.
    pub(super) fn heard(&self, ready: bool, plays: bool, failed: Vec<u16>) {
        if failed.len() <= MOST_TRACKS {
            self.seat.heard(Said {
                ready,
                plays,
                failed,
            });
        }
    }
}
