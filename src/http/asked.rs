//! One request, taken apart: who asks, by which way, for what, with what; and
//! whether that is allowed.
//!
//! Not here: paths, and the rules themselves ([`crate::door`]).

use std::{collections::HashMap, net::Ipv4Addr, pin::pin, time::Duration};

use bytes::{Buf, BufMut, BytesMut};
use futures_util::{Stream, StreamExt};
use tokio::time::timeout;
use warp::{
    Filter,
    filters::BoxedFilter,
    http::{HeaderMap, Method, header},
    hyper::body::Bytes,
    path::FullPath,
};

use afterturn_core::kernel::StationNumber;

use super::{Kind, Problem, words::Language};
use crate::door::{Action, Arrival, Listener, Pass};
use crate::units::MOST_PICTURE_BYTES;

/// The largest body anything here takes; a delay needs forty bytes.
const MOST_BODY_BYTES: u64 = 16 * 1024;

/// An afternoon's changes to a unit that nobody saved meanwhile.
const MOST_UNIT_BYTES: u64 = 256 * 1024;

/// A list of a district, or a backup, from a teacher.
const MOST_FILE_BYTES: u64 = 32 * 1024 * 1024;

/// And this long it may take: a phone at the edge of the wireless network needs
/// seconds, and whoever sends a byte now and then is not waited for.
const BODY_WITHIN: Duration = Duration::from_secs(10);

/// A file of a teacher's: a backup of some megabytes over a weak wireless link.
const FILE_WITHIN: Duration = Duration::from_mins(2);

/// One request, taken apart.
pub(super) struct Asked {
    pub(super) pass: Option<Pass>,
    pub(super) arrival: Arrival,
    pub(super) method: Method,
    pub(super) path: String,
    pub(super) language: Language,
    /// The page somebody was on their way to when asked to sign in.
    pub(super) to: Option<String>,
    /// Which form was done, for a page to say so.
    pub(super) done: Option<String>,
    /// What stands behind the path.
    pub(super) query: HashMap<String, String>,
    pub(super) headers: HeaderMap,
    pub(super) body: Bytes,
}

impl Asked {
    /// The path, taken apart.
    pub(super) fn parts(&self) -> Vec<&str> {
        self.path.trim_matches('/').split('/').collect()
    }
}

/// Whether the one who asks may do this.
pub(super) fn need(asked: &Asked, action: Action) -> Result<(), Problem> {
    allow(asked.pass, action, None).map(|_| ())
}

/// The same at one station; who has a station of their own does not learn which
/// others there are.
pub(super) fn need_at(asked: &Asked, action: Action, number: &str) -> Result<(), Problem> {
    allow(asked.pass, action, number.parse().ok()).map(|_| ())
}

pub(super) fn allow(
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
pub(super) fn pass()
-> impl Filter<Extract = (Option<Pass>,), Error = std::convert::Infallible> + Clone {
    warp::ext::optional::<Pass>()
}

/// How a request arrived.
pub(super) fn arrival()
-> impl Filter<Extract = (Arrival,), Error = std::convert::Infallible> + Clone {
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
pub(super) fn body() -> BoxedFilter<(Result<Bytes, Problem>,)> {
    let refused = || Problem::new(Kind::TooLarge, "this is more than is taken here");
    let unit = warp::path!("api" / "units" / ..)
        .and(warp::body::content_length_limit(MOST_UNIT_BYTES))
        .and(warp::body::stream())
        .then(|parts| read(parts, BODY_WITHIN));
    let picture = warp::path!("api" / "pictures")
        .and(warp::body::content_length_limit(MOST_PICTURE_BYTES as u64))
        .and(warp::body::stream())
        .then(|parts| read(parts, BODY_WITHIN));
    let other = warp::body::content_length_limit(MOST_BODY_BYTES)
        .and(warp::body::stream())
        .then(|parts| read(parts, BODY_WITHIN));
    // Nobody else makes the box hold so much.
    let file = files_are_taken()
        .and(warp::body::content_length_limit(MOST_FILE_BYTES))
        .and(warp::body::stream())
        .then(|parts| read(parts, FILE_WITHIN));
    file.or(unit)
        .unify()
        .or(picture)
        .unify()
        .or(other)
        .unify()
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

/// A body, if it comes in time.
async fn read<P, B>(parts: P, within: Duration) -> Result<Bytes, Problem>
where
    P: Stream<Item = Result<B, warp::Error>> + Send,
    B: Buf,
{
    let read = timeout(within, gathered(parts)).await;
    read.unwrap_or_else(|_| Err(Problem::new(Kind::TooSlow, "the rest did not come")))
}

/// A body, from its parts.
async fn gathered<P, B>(parts: P) -> Result<Bytes, Problem>
where
    P: Stream<Item = Result<B, warp::Error>> + Send,
    B: Buf,
{
    let mut parts = pin!(parts);
    let mut whole = BytesMut::new();
    while let Some(part) = parts.next().await {
        let part = part.map_err(|_| Problem::new(Kind::BadRequest, "the rest did not come"))?;
        whole.put(part);
    }
    Ok(whole.freeze())
}

pub(super) fn text<'h>(headers: &'h HeaderMap, name: &header::HeaderName) -> Option<&'h str> {
    headers.get(name).and_then(|value| value.to_str().ok())
}
