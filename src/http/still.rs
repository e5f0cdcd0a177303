//! What a station's camera sees now, small, on the remote: its newest keyframe,
//! made into a picture when somebody asks, sent, and gone.
//!
//! Not late like the screens, and through the same one read: what is covered,
//! wiped, paused or of a group that is hidden is not there. A remote asks several
//! times a second, so that what is hidden is gone from it at once; a picture is
//! made only where there is a newer one.
//!
//! Not here: decoding ([`crate::av::still`]), what may be seen (the station).

use std::{sync::Arc, time::Instant};

use afterturn_core::media::Fragment;
use tokio::{sync::Semaphore, task::spawn_blocking, time::sleep};
use warp::{
    Reply,
    http::{HeaderValue, StatusCode, header},
    reply::Response,
};

use super::{
    App, Kind, Problem,
    asked::{Asked, need_at, text},
};
use crate::av::still;
use crate::door::Action;

/// After each picture nobody gets one for so many times as long as it took: a
/// fifth of one core is all that is given, however many cards are open.
const REST: u32 = 4;

/// One at a time.
static TURN: Semaphore = Semaphore::const_new(1);

/// `GET /api/stations/{n}/still`; *no content* where there is nothing to be seen.
pub(super) async fn now(app: &App, asked: &Asked, number: &str) -> Result<Response, Problem> {
    need_at(asked, Action::SeeNow, number)?;
    let station = Arc::clone(app.station(number)?);
    let known = text(&asked.headers, &header::IF_NONE_MATCH);
    let Some((_, newest, _)) = station.newest_seen() else {
        return Ok(nothing());
    };
    if known == Some(&*tag(&newest)) {
        return Ok(StatusCode::NOT_MODIFIED.into_response());
    }
    let turn = TURN.acquire().await.map_err(|_| broken())?;
    let began = Instant::now();
    let Some((number, newest, chapter)) = station.newest_seen() else {
        return Ok(nothing());
    };
    let tag = tag(&newest);
    let made = spawn_blocking(move || still::of_keyframe(&chapter.params, newest.access_unit()));
    let made = made.await.map_err(|_| broken())?;
    let took = began.elapsed();
    tokio::spawn(async move {
        sleep(took * REST).await;
        drop(turn);
    });
    // Somebody may have hidden it meanwhile; and one that does not decode is none.
    let Some(jpeg) = made.ok().filter(|_| station.is_seen_still(number)) else {
        return Ok(nothing());
    };
    let mut response = Response::new(jpeg.into());
    let headers = response.headers_mut();
    let kind = HeaderValue::from_static("image/jpeg");
    headers.insert(header::CONTENT_TYPE, kind);
    let tag = HeaderValue::from_str(&tag).map_err(|_| broken())?;
    headers.insert(header::ETAG, tag);
    Ok(response)
}

/// What tells one picture from another: when it was taken (RFC 9110 §8.8.3).
fn tag(picture: &Fragment) -> String {
    format!("\"{}\"", picture.capture.0)
}

fn nothing() -> Response {
    StatusCode::NO_CONTENT.into_response()
}

fn broken() -> Problem {
    Problem::new(Kind::Broken, "the picture could not be made")
}
