//! One request, taken apart: who asks, by which way, for what, with what; and
//! whether that is allowed.
//!
//! Not here: paths, bodies (`bodies`), and the rules themselves ([`crate::door`]).

use std::{collections::HashMap, net::Ipv4Addr};

use warp::{
    Filter,
    http::{HeaderMap, Method, header},
    hyper::body::Bytes,
};

use afterturn_core::kernel::StationNumber;

use super::{Kind, Problem, words::Language};
use crate::door::{Action, Arrival, Guesser, Listener, Pass};

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
    /// Empty where none is taken from whoever asks.
    pub(super) body: Bytes,
}

impl Asked {
    /// Whoever asks, where that is a guess at a secret.
    pub(super) fn guesser(&self) -> Guesser {
        Guesser::of(self.arrival.peer, self.pass)
    }

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

pub(super) fn text<'h>(headers: &'h HeaderMap, name: &header::HeaderName) -> Option<&'h str> {
    headers.get(name).and_then(|value| value.to_str().ok())
}
