//! Publishing to a station over WHIP (RFC 9725): an offer is posted, the answer
//! comes back with the address that ends it. And what a publisher's page asks
//! once a second: whether it is still the one, and what the camera sees.
//!
//! Neither trickling candidates nor restarting ICE is taken (§4.3 leaves that to
//! the server): the answer has the one address there is, and whoever's network
//! has changed posts a new offer.
//!
//! Not here: WebRTC, and who may publish (the door says).

use std::{
    collections::BTreeSet,
    sync::{Arc, Mutex, PoisonError},
    time::Duration,
};

use afterturn_core::{
    kernel::StationNumber,
    wire::{PublisherNews, PublisherStanding},
};
use tokio::{sync::watch, time::sleep};
use warp::{
    Reply,
    http::{HeaderValue, Method, StatusCode, header},
    reply::Response,
};

use super::{
    App, Kind, Problem,
    asked::{Asked, need_at, text},
};
use crate::av::whip::{PublishError, PublisherId, Publishing};
use crate::door::{Action, Pass};

/// What an offer and its answer are.
const SDP: &str = "application/sdp";
/// A session ends by itself at some time, and nobody is told.
const LOOK_EVERY: Duration = Duration::from_secs(20);
/// Whoever has no session: the box's own browser.
const HERE: u64 = u64::MAX;

/// What the handlers need for publishers.
#[derive(Clone)]
pub(super) struct Whip {
    publishing: Publishing,
    stations: Arc<BTreeSet<StationNumber>>,
    /// Who was let in to publish.
    let_in: Arc<Mutex<Vec<Pass>>>,
}

impl Whip {
    pub(super) fn new(publishing: Publishing, stations: BTreeSet<StationNumber>) -> Self {
        Self {
            publishing,
            stations: Arc::new(stations),
            let_in: Arc::default(),
        }
    }

    /// Whether anybody publishes to this station.
    #[cfg(test)]
    pub(super) fn current(&self, station: StationNumber) -> bool {
        self.publishing.current(station).is_some()
    }

    pub(super) fn stations(&self) -> impl Iterator<Item = StationNumber> {
        self.stations.iter().copied()
    }
}

/// `/api/stations/{n}/whip…` and `/api/stations/{n}/publisher`.
pub(super) async fn answer(app: &App, asked: &Asked, parts: &[&str]) -> Result<Response, Problem> {
    match (parts, &asked.method) {
        ([_, "whip"] | [_, "whip", _], &Method::OPTIONS) => Ok(options()),
        ([number, "whip"], &Method::POST) => {
            need_at(asked, Action::Publish, number)?;
            publish(app, asked, number).await
        }
        ([number, "whip", id], &Method::DELETE) => {
            need_at(asked, Action::Publish, number)?;
            let (whip, station) = place(app, number)?;
            let id = id.parse().map(PublisherId);
            let id = id.map_err(|_| Problem::new(Kind::NotFound, "nobody publishes so"))?;
            whip.publishing.end(station, id);
            Ok(StatusCode::OK.into_response())
        }
        ([number, "publisher"], &Method::POST) => {
            need_at(asked, Action::Publish, number)?;
            standing(app, asked, number)
        }
        ([_, "whip", _], &Method::PATCH) => Err(Problem::new(
            Kind::NotAllowed,
            "neither trickled candidates nor an ICE restart is taken: post a new offer",
        )),
        _ => Err(Problem::new(
            Kind::NotAllowed,
            format!("{} is not taken here", asked.method),
        )),
    }
}

/// The station, if its camera is whoever publishes.
fn place<'a>(app: &'a App, number: &str) -> Result<(&'a Whip, StationNumber), Problem> {
    let station = app.station(number)?.config().number;
    let whip = app.whip.as_ref();
    let whip = whip.filter(|whip| whip.stations.contains(&station));
    let whip = whip.ok_or_else(|| {
        let detail = format!(
            "station {station} has another camera; write kind = \"whip\" for it in the config file"
        );
        Problem::new(Kind::Conflict, detail)
    })?;
    Ok((whip, station))
}

/// RFC 9725 §4.2: what may be posted.
fn options() -> Response {
    let mut response = StatusCode::NO_CONTENT.into_response();
    let headers = response.headers_mut();
    let accept_post = header::HeaderName::from_static("accept-post");
    headers.insert(accept_post, HeaderValue::from_static(SDP));
    response
}

async fn publish(app: &App, asked: &Asked, number: &str) -> Result<Response, Problem> {
    let (whip, station) = place(app, number)?;
    let kind = text(&asked.headers, &header::CONTENT_TYPE).unwrap_or_default();
    let kind = kind.split(';').next().unwrap_or_default().trim();
    if !kind.eq_ignore_ascii_case(SDP) {
        let detail = "an offer is posted as application/sdp";
        return Err(Problem::new(Kind::OtherForm, detail));
    }
    let offer = std::str::from_utf8(&asked.body)
        .map_err(|_| Problem::new(Kind::BadRequest, "an offer is text in UTF-8 (RFC 8866)"))?;
    let device = whip.device(asked.pass);
    let reached = asked.arrival.reached.ip();
    let publishing = &whip.publishing;
    let published = publishing
        .publish(station, device, reached, offer.to_owned())
        .await?;
    let mut response = published.answer.into_response();
    *response.status_mut() = StatusCode::CREATED;
    let at = format!("/api/stations/{station}/whip/{}", published.publisher.0);
    let at = HeaderValue::from_str(&at).expect("a path of numbers");
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(SDP));
    headers.insert(header::LOCATION, at);
    Ok(response)
}

/// What a publisher says of itself, and how it stands.
fn standing(app: &App, asked: &Asked, number: &str) -> Result<Response, Problem> {
    let (whip, station) = place(app, number)?;
    let news: PublisherNews = serde_json::from_slice(&asked.body).map_err(|error| {
        let detail = format!("expected {{\"publisher\": 7, \"ahead_us\": 0}}: {error}");
        Problem::new(Kind::BadRequest, detail)
    })?;
    if let (Some(publisher), Some(ahead_us)) = (news.publisher, news.ahead_us) {
        let publisher = PublisherId(publisher);
        whip.publishing.clock(station, publisher, ahead_us);
    }
    let station = app.station(number)?;
    let info = station.info();
    let current = whip.publishing.current(station.config().number);
    Ok(warp::reply::json(&PublisherStanding {
        now_us: station.now(),
        publisher: current.map(|id| id.0),
        camera: info.camera.state,
        sight: info.camera.sight,
        moved: info.camera.moved,
    })
    .into_response())
}

impl Whip {
    /// How a device is told from others; remembered, so that it is cut when it
    /// may no more.
    fn device(&self, pass: Option<Pass>) -> u64 {
        let session = pass.and_then(|pass| pass.session);
        if let (Some(pass), Some(_)) = (pass, session) {
            let mut let_in = self.let_in.lock().unwrap_or_else(PoisonError::into_inner);
            if !let_in.contains(&pass) {
                let_in.push(pass);
            }
        }
        session.map_or(HERE, |id| id.0)
    }

    /// Cuts whoever was sent away.
    fn cut(&self, still: impl Fn(Pass) -> bool) {
        let mut let_in = self.let_in.lock().unwrap_or_else(PoisonError::into_inner);
        let_in.retain(|pass| {
            let stays = still(*pass);
            if let (false, Some(id)) = (stays, pass.session) {
                self.publishing.cut(id.0);
            }
            stays
        });
    }
}

/// Ends what devices publish that are let in no more, until `stop` turns true.
pub async fn cut_leavers(app: App, mut stop: watch::Receiver<bool>) {
    let Some(whip) = app.whip.clone() else {
        let _ = stop.wait_for(|stop| *stop).await;
        return;
    };
    let mut changes = app.entrance.changes();
    loop {
        tokio::select! {
            biased;
            _ = stop.wait_for(|stop| *stop) => return,
            _ = changes.changed() => {}
            () = sleep(LOOK_EVERY) => {}
        }
        whip.cut(|pass| app.entrance.still(pass) == Some(pass.grant));
    }
}

impl From<PublishError> for Problem {
    fn from(error: PublishError) -> Self {
        let kind = match error {
            PublishError::Offer(_) => Kind::BadRequest,
            PublishError::NoVideo | PublishError::Address => Kind::Impossible,
            PublishError::Taken => Kind::Conflict,
            PublishError::Off | PublishError::Stopping => Kind::NotNow,
        };
        Self {
            // RFC 9725 §4.6: whoever is turned away for a while is told how long.
            wait_s: (kind == Kind::NotNow).then_some(2),
            ..Self::new(kind, error.to_string())
        }
    }
}
