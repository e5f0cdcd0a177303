//! What went wrong, as an RFC 9457 problem: the one place where an error
//! becomes an HTTP status.
//!
//! Not here: deciding that something is wrong.

use afterturn_core::kernel::{AttemptError, DelayError, StationNumberError};
use serde::Serialize;
use warp::{
    Reply,
    http::{HeaderValue, StatusCode, header},
    reply::Response,
};

use crate::door::Refusal;
use crate::units::ShowingError;

/// The kinds of trouble a request can meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The request cannot be understood.
    BadRequest,
    /// The body is larger than anything we take.
    TooLarge,
    /// The body did not come in time.
    TooSlow,
    /// Whoever asks has to sign in or be let in first.
    Unknown,
    /// Too many tries; later.
    TooMany,
    /// Not allowed for this role, or not from this page.
    Forbidden,
    /// There is no such page or station.
    NotFound,
    /// There is such a page, but not for this method.
    NotAllowed,
    /// Somebody else was quicker.
    Conflict,
    /// Understood, and impossible.
    Impossible,
    /// Our fault.
    Broken,
}

impl Kind {
    const fn status(self) -> StatusCode {
        match self {
            Self::BadRequest => StatusCode::BAD_REQUEST,
            Self::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Self::TooSlow => StatusCode::REQUEST_TIMEOUT,
            Self::Unknown => StatusCode::UNAUTHORIZED,
            Self::TooMany => StatusCode::TOO_MANY_REQUESTS,
            Self::Forbidden => StatusCode::FORBIDDEN,
            Self::NotFound => StatusCode::NOT_FOUND,
            Self::NotAllowed => StatusCode::METHOD_NOT_ALLOWED,
            Self::Conflict => StatusCode::CONFLICT,
            Self::Impossible => StatusCode::UNPROCESSABLE_ENTITY,
            Self::Broken => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    /// What kind of trouble, in a few words.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::BadRequest => "The request cannot be understood",
            Self::TooLarge => "The request is too large",
            Self::TooSlow => "The request took too long",
            Self::Unknown => "Sign in first",
            Self::TooMany => "Too many tries",
            Self::Forbidden => "Not allowed",
            Self::NotFound => "There is nothing here",
            Self::NotAllowed => "Not with this method",
            Self::Conflict => "Somebody else was quicker",
            Self::Impossible => "That cannot be done",
            Self::Broken => "Something broke on this side",
        }
    }
}

/// One kind-tagged error at the edge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// What kind of trouble.
    pub kind: Kind,
    /// What happened and the one thing to try. Never holds a name or a secret.
    pub detail: String,
    /// For [`Kind::TooMany`]: seconds until the next try, as `Retry-After`.
    pub wait_s: Option<u64>,
    /// What else a program is told (RFC 9457 §3.2).
    pub members: serde_json::Map<String, serde_json::Value>,
}

/// RFC 9457 §3.1. `type` is left out: `about:blank` is its default.
#[derive(Serialize)]
struct Body<'a> {
    title: &'a str,
    status: u16,
    detail: &'a str,
    #[serde(flatten)]
    members: &'a serde_json::Map<String, serde_json::Value>,
}

impl Problem {
    /// A problem of a kind.
    pub fn new(kind: Kind, detail: impl Into<String>) -> Self {
        Self {
            kind,
            detail: detail.into(),
            wait_s: None,
            members: serde_json::Map::new(),
        }
    }

    /// This, with something else a program is told.
    #[must_use]
    pub fn with(mut self, name: &str, value: impl Into<serde_json::Value>) -> Self {
        self.members.insert(name.to_owned(), value.into());
        self
    }

    /// There is no such station.
    #[must_use]
    pub fn no_station(number: impl std::fmt::Display) -> Self {
        Self::new(Kind::NotFound, format!("there is no station {number}"))
    }

    /// Its status, for a page that shows it.
    #[must_use]
    pub const fn status(&self) -> StatusCode {
        self.kind.status()
    }
}

impl Reply for Problem {
    fn into_response(self) -> Response {
        let status = self.kind.status();
        let body = Body {
            title: self.kind.title(),
            status: status.as_u16(),
            detail: &self.detail,
            members: &self.members,
        };
        let text = serde_json::to_string(&body).expect("a problem is plain text and numbers");
        let mut response = text.into_response();
        *response.status_mut() = status;
        let json = HeaderValue::from_static("application/problem+json");
        response.headers_mut().insert(header::CONTENT_TYPE, json);
        if let Some(seconds) = self.wait_s {
            let seconds = HeaderValue::from(seconds);
            response.headers_mut().insert(header::RETRY_AFTER, seconds);
        }
        response
    }
}

impl From<DelayError> for Problem {
    fn from(error: DelayError) -> Self {
        Self::new(Kind::Impossible, error.to_string())
    }
}

impl From<AttemptError> for Problem {
    fn from(error: AttemptError) -> Self {
        Self::new(Kind::Impossible, error.to_string())
    }
}

impl From<ShowingError> for Problem {
    fn from(error: ShowingError) -> Self {
        Self::new(Kind::Impossible, error.to_string())
    }
}

impl From<StationNumberError> for Problem {
    fn from(error: StationNumberError) -> Self {
        Self::new(Kind::NotFound, error.to_string())
    }
}

impl From<Refusal> for Problem {
    fn from(refusal: Refusal) -> Self {
        let kind = match refusal {
            Refusal::Doubled => Kind::BadRequest,
            Refusal::Host | Refusal::Origin => Kind::Forbidden,
        };
        Self::new(kind, refusal.to_string())
    }
}
