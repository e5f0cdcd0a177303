//! The teacher's pages of the vault: classes, children, consent, lists from
//! files, the letter, backups; what is kept, and handed to families. Forms that
//! post and redirect.
//!
//! A locked vault answers with a page that asks for the passphrase and carries
//! along what was typed. No address holds more than a bare id.
//!
//! Not here: the rules (`core/consent`, `portfolio`) and the sentences.

mod answers;
mod bytes;
mod child;
mod class;
mod export;
mod forms;
mod import;
mod keep;
mod kept;
mod letter;
mod locked;
mod made;
mod mat;
mod multipart;
mod overview;
mod typed;
mod vault;
mod wish;

use std::{collections::HashMap, sync::Arc};

use afterturn_core::{
    consent::DaySpan,
    kernel::{CaptureUs, Day},
};
use tokio::{sync::Mutex, task::spawn_blocking};
use warp::{
    Reply,
    http::{HeaderValue, StatusCode, header},
    reply::Response,
};

use self::{
    made::Made,
    typed::{Faults, Typed},
};
use super::{
    App, Entrance, Kind, Problem,
    asked::{Asked, text},
    pages,
    words::Language,
};
use crate::door::What;
use crate::portfolio::{Moment, Portfolio, State, VaultError};

/// Which day it is at the school.
pub type TodayFn = Arc<dyn Fn() -> Day + Send + Sync>;

/// The vault, and the day to reckon by.
#[derive(Clone)]
pub struct Vault {
    /// The vault.
    pub portfolio: Arc<Portfolio>,
    /// Which day it is.
    pub today: TodayFn,
    /// Held while it is being opened: its pages wait for that, and nothing else
    /// does.
    opening: Arc<Mutex<()>>,
    /// What was made and is not kept yet.
    made: Arc<Made>,
    /// Held while a list is read.
    importing: Arc<Mutex<()>>,
}

impl Vault {
    /// A vault, and which day it is.
    #[must_use]
    pub fn new(portfolio: Portfolio, today: TodayFn) -> Self {
        Self {
            portfolio: Arc::new(portfolio),
            today,
            opening: Arc::default(),
            made: Arc::default(),
            importing: Arc::default(),
        }
    }

    /// Forgets what was made and is not wanted, or must not be seen any more.
    pub fn tidy(&self, now: CaptureUs) {
        self.made.tidy(now);
    }

    pub(super) fn moment(&self, now: CaptureUs) -> Moment {
        Moment {
            today: (self.today)(),
            now,
        }
    }

    /// Opens it with the passphrase that the door has just taken. Signing in
    /// does not wait for it, and what goes wrong keeps nobody out.
    pub(super) fn unlock(&self, passphrase: String, now: CaptureUs) {
        let vault = self.clone();
        let place = Arc::clone(&self.opening).try_lock_owned();
        spawn_blocking(move || {
            // If two sign in at once, the pages wait for the first.
            let _place = place;
            let moment = vault.moment(now);
            if let Err(error) = vault.portfolio.unlock(&passphrase, moment) {
                tracing::warn!("the vault stays locked: {error}");
            }
        });
    }
}

/// What the door says of a passphrase that came with a form.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Checked {
    /// There was none.
    Absent,
    Right,
    Wrong,
    /// Guessing has to wait so many seconds.
    Wait(u64),
}

/// One request to these pages, with all it needs; worked on off the event loop,
/// since sealing and hashing take their time.
struct Desk {
    app: App,
    portfolio: Arc<Portfolio>,
    moment: Moment,
    language: Language,
    path: Vec<String>,
    typed: Typed,
    done: Option<String>,
    query: HashMap<String, String>,
    /// Which bytes of a file are asked for.
    range: Option<String>,
    made: Arc<Made>,
    importing: Arc<Mutex<()>>,
    checked: Checked,
}

/// The form field with the teacher's passphrase, where a form asks for it.
const PASSPHRASE: &str = "passphrase-now";

/// What comes of a request: a response, or why not.
type Outcome = Result<Response, VaultError>;

/// What the classes of the list are called, to be chosen from at a start, and how
/// many children each has; nothing while the list is locked.
pub(super) fn titles(app: &App) -> Vec<(String, usize)> {
    let now = app.entrance.now();
    let titles = app
        .vault
        .iter()
        .flat_map(|vault| vault.portfolio.titles(now));
    titles
        .map(|(title, children)| (title.for_page().to_owned(), children))
        .collect()
}

/// Which pages of the vault there are.
pub(super) fn is_page(parts: &[&str]) -> bool {
    matches!(
        parts,
        ["roster"]
            | [
                "roster",
                "import" | "letter" | "vault" | "kept" | "log" | "export"
            ]
            | [
                "roster",
                "classes" | "children" | "keep" | "made" | "kept" | "mat" | "export" | "sheet",
                _
            ]
            | ["roster", "kept", _, "file"]
            | ["roster", "mat", _, "picture"]
    )
}

/// Answers what is under `/roster`; the door has been asked.
pub(super) async fn answer(app: &App, asked: &Asked, parts: &[&str]) -> Result<Response, Problem> {
    let Some(vault) = app.vault.clone() else {
        return Ok(pages::no_vault(app, asked.language));
    };
    let posted = asked.method == warp::http::Method::POST;
    let typed = if posted {
        // Off the event loop: looking through 32 MiB takes a while.
        let (headers, body) = (asked.headers.clone(), asked.body.clone());
        let read = spawn_blocking(move || Typed::read(&headers, &body)).await;
        read.map_err(|_| Problem::new(Kind::Broken, "this form could not be read"))??
    } else {
        Typed::default()
    };
    drop(vault.opening.lock().await);
    let checked = check(&app.entrance, &typed, asked).await;
    let desk = Desk {
        app: app.clone(),
        moment: vault.moment(app.entrance.now()),
        portfolio: vault.portfolio,
        made: vault.made,
        importing: vault.importing,
        query: asked.query.clone(),
        range: text(&asked.headers, &header::RANGE).map(ToOwned::to_owned),
        language: asked.language,
        path: parts.iter().map(|part| (*part).to_owned()).collect(),
        typed,
        done: asked.done.clone(),
        checked,
    };
    let answered = spawn_blocking(move || desk.answer(posted)).await;
    answered.map_err(|_| Problem::new(Kind::Broken, "this page could not be made"))?
}

async fn check(entrance: &Entrance, typed: &Typed, asked: &Asked) -> Checked {
    let passphrase = typed.get(PASSPHRASE).to_owned();
    if passphrase.is_empty() {
        return Checked::Absent;
    }
    let who = asked.guesser();
    match entrance.is_right(What::Passphrase, passphrase, who).await {
        Ok(()) => Checked::Right,
        Err(problem) => problem.wait_s.map_or(Checked::Wrong, Checked::Wait),
    }
}

impl Desk {
    fn answer(mut self, posted: bool) -> Result<Response, Problem> {
        let mut faults = Faults::default();
        if posted && self.typed.is_for("unlock") {
            if let Err(fault) = locked::unlock(&self) {
                return Ok(locked::page(&self, &fault));
            }
            match self.typed.take_carried() {
                Some(carried) => self.typed = carried,
                None => return Ok(Self::see(&self.here_again(), "")),
            }
        }
        let state = self.portfolio.state(self.moment.now);
        let outcome = match state {
            State::Open => self.route(posted, &mut faults),
            // A vault that cannot be read can still be restored.
            State::Damaged if self.is_at(&["vault"]) => vault::answer(&self, posted, &mut faults),
            State::Damaged => return Ok(locked::damaged(&self)),
            State::Locked => Err(VaultError::Locked),
        };
        outcome.or_else(|error| match error {
            VaultError::Locked => Ok(locked::page(&self, &Faults::default())),
            other => Err(other.into()),
        })
    }

    /// The days that today may be: by what is over on the last of them, and has
    /// begun on the first, it is decided who may be seen and kept.
    fn days(&self) -> DaySpan {
        self.portfolio.days(self.moment.today)
    }

    fn is_at(&self, under_roster: &[&str]) -> bool {
        self.path.iter().skip(1).eq(under_roster.iter())
    }

    fn route(&self, posted: bool, faults: &mut Faults) -> Outcome {
        let parts: Vec<&str> = self.path.iter().skip(1).map(String::as_str).collect();
        match parts[..] {
            [] => overview::answer(self, posted, faults),
            ["import"] => import::answer(self, posted, faults),
            ["letter"] => Ok(letter::page(self)),
            ["vault"] => vault::answer(self, posted, faults),
            ["classes", id] => class::answer(self, id, posted, faults),
            ["children", id] => child::answer(self, id, posted, faults),
            ["keep", number] => keep::answer(self, number, posted, faults),
            ["made", token] => keep::file(self, token),
            ["kept"] => kept::list(self),
            ["log"] => kept::log(self),
            ["kept", id] => kept::one(self, id, posted, faults),
            ["kept", id, "file"] => kept::file(self, id),
            ["mat", number] => mat::answer(self, number, posted, faults),
            ["mat", number, "picture"] => mat::picture(self, number),
            ["export"] => export::answer(self, posted, faults),
            ["export", child] => export::archive(self, child),
            ["sheet", child] => export::sheet(self, child),
            _ => Err(VaultError::NotFound),
        }
    }

    /// The address that was asked for when the vault was found locked, with what
    /// it said.
    fn here_again(&self) -> String {
        let mut query = form_urlencoded::Serializer::new(String::new());
        let kept = self.query.iter().filter(|(name, _)| *name != "done");
        query.extend_pairs(kept);
        let (path, query) = (self.path.join("/"), query.finish());
        let and = if query.is_empty() { "" } else { "?" };
        format!("/{path}{and}{query}")
    }

    /// Sends the browser to the page it is on, which says what was done.
    fn back_to_here(&self, done: &str) -> Response {
        Self::see(&format!("/{}", self.path.join("/")), done)
    }

    /// Sends the browser on to a page that says what was done.
    fn see(path: &str, done: &str) -> Response {
        let to = if done.is_empty() {
            path.to_owned()
        } else {
            let and = if path.contains('?') { '&' } else { '?' };
            format!("{path}{and}done={done}#{done}")
        };
        let mut response = StatusCode::SEE_OTHER.into_response();
        // Parts of a path that was answered, and ids: nothing to escape.
        if let Ok(to) = HeaderValue::from_str(&to) {
            response.headers_mut().insert(header::LOCATION, to);
        }
        response
    }

    /// A page with a form that was not taken.
    fn refused(page: Response) -> Response {
        warp::reply::with_status(page, StatusCode::UNPROCESSABLE_ENTITY).into_response()
    }
}

impl From<VaultError> for Problem {
    fn from(error: VaultError) -> Self {
        let kind = match error {
            VaultError::NotFound => Kind::NotFound,
            VaultError::Locked | VaultError::Wrong => Kind::Forbidden,
            VaultError::Stale
            | VaultError::Refused(_)
            | VaultError::Days
            | VaultError::Spoilt
            | VaultError::ShortPassphrase
            | VaultError::NoBackup
            | VaultError::Ledger => Kind::Impossible,
            VaultError::Damaged(_)
            | VaultError::Leftover(_)
            | VaultError::Archive(_)
            | VaultError::Database(_)
            | VaultError::Disk(_) => {
                tracing::error!("{error}");
                Kind::Broken
            }
        };
        Self::new(kind, error.to_string())
    }
}

#[cfg(test)]
mod tests;
