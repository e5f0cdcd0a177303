//! Pages, from the templates in `web/pages/`.
//!
//! Not here: what moves on them (`web/live/`), or any of their sentences.

use afterturn_core::{kernel::StationNumber, plan::Mark};
use askama::Template;
use warp::{Reply, reply::Response};

use super::{
    App, BUILD, Problem,
    doors::{Said, To},
    trust::{Number, numbers},
    words::{Language, Words},
};
use crate::door::{self, PassphraseError, Role};

/// What every page needs.
pub(super) struct Frame {
    pub(super) lang: &'static str,
    pub(super) build: &'static str,
    pub(super) words: &'static Words,
    pub(super) words_json: &'static str,
    pub(super) demo: bool,
}

impl Frame {
    pub(super) fn new(language: Language, demo: bool) -> Self {
        let words = language.words();
        Self {
            lang: language.tag(),
            build: &BUILD,
            words,
            words_json: words.live_json(),
            demo,
        }
    }
}

/// A station in a list.
struct Listed {
    mark: Mark,
    title: String,
}

macro_rules! page {
    ($(#[$doc:meta])* $name:ident, $path:literal, { $($field:ident: $type:ty),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Template)]
        // Not every page uses every part of the frame.
        #[allow(dead_code)]
        #[template(path = $path, config = "web/pages/askama.toml")]
        struct $name {
            lang: &'static str,
            build: &'static str,
            words: &'static Words,
            words_json: &'static str,
            demo: bool,
            $($field: $type),*
        }

        impl $name {
            // A page has as many parts as it shows.
            #[allow(clippy::too_many_arguments)]
            fn new(frame: Frame, $($field: $type),*) -> Self {
                let Frame { lang, build, words, words_json, demo } = frame;
                Self { lang, build, words, words_json, demo, $($field),* }
            }
        }
    };
}

pub(super) use page;

page!(
    /// A station's TV page.
    TvPage, "tv.html", { mark: Mark, title: String, words_en: &'static str, words_es: &'static str }
);
page!(
    /// The teacher's remote.
    RemotePage, "remote.html", { stations: Vec<Listed>, keeps_door: bool, calibrates: bool,
        titles: Vec<String> }
);
page!(
    /// Every figure a cue can be.
    FiguresPage, "figures.html", {}
);
page!(
    /// The front page.
    HomePage, "home.html", { stations: Vec<Listed>, numbers: Vec<Number>, trust: bool }
);
page!(
    /// The front page of somebody nobody has let in.
    StrangersPage, "strangers.html", { trust: bool }
);
page!(
    /// Signing in, or the first passphrase.
    SignInPage, "sign-in.html", { first: bool, said: Option<String>, to: &'static str }
);
page!(
    /// A screen that waits to be let in.
    PairPage, "pair.html", {}
);
page!(
    /// Who is let in.
    ScreensPage, "screens.html", {
        stations: Vec<Listed>, rows: Vec<Row>, has_pin: bool, said: Option<&'static str>, badly: bool
    }
);
page!(
    /// The editor of a unit; without a name there is none.
    UnitPage, "unit.html", { name: String, units: Vec<String> }
);
page!(
    /// A page that says what went wrong.
    ProblemPage, "problem.html", { title: &'static str, detail: String }
);

pub(super) fn home(app: &App, language: Language) -> Response {
    let frame = Frame::new(language, app.demo);
    let trust = app.network.is_some();
    html(&HomePage::new(frame, listed(app), numbers(app), trust))
}

/// `titles`: of the classes that can be started, for whoever may see them.
pub(super) fn remote(
    app: &App,
    language: Language,
    (keeps, calibrates): (bool, bool),
    titles: Vec<String>,
) -> Response {
    let frame = Frame::new(language, app.demo);
    html(&RemotePage::new(
        frame,
        listed(app),
        keeps,
        calibrates,
        titles,
    ))
}

pub(super) fn figures(app: &App, language: Language) -> Response {
    html(&FiguresPage::new(Frame::new(language, app.demo)))
}

pub(super) fn unit(app: &App, language: Language, name: &str, units: Vec<String>) -> Response {
    let frame = Frame::new(language, app.demo);
    html(&UnitPage::new(frame, name.to_owned(), units))
}

pub(super) fn strangers(app: &App, language: Language) -> Response {
    let frame = Frame::new(language, app.demo);
    html(&StrangersPage::new(frame, app.network.is_some()))
}

pub(super) fn pair(app: &App, language: Language) -> Response {
    html(&PairPage::new(Frame::new(language, app.demo)))
}

pub(super) fn sign_in(app: &App, language: Language, said: Said, to: To) -> Response {
    let first = app.entrance.first_code().is_some();
    let words = language.words();
    let said = match said {
        Said::Nothing => None,
        Said::Wrong if first => Some(words.get("sign-in-code-wrong").to_owned()),
        Said::Wrong => Some(words.get("sign-in-wrong").to_owned()),
        Said::Wait(seconds) => {
            let sentence = words.get("sign-in-wait");
            Some(sentence.replace("{seconds}", &seconds.to_string()))
        }
        Said::Refused(PassphraseError::Common) => Some(words.get("sign-in-common").to_owned()),
        Said::Refused(_) => Some(words.get("sign-in-short").to_owned()),
        Said::Differ => Some(words.get("sign-in-differ").to_owned()),
    };
    html(&SignInPage::new(
        Frame::new(language, app.demo),
        first,
        said,
        to.text(),
    ))
}

/// One who is let in, as the list shows it.
struct Row {
    id: u64,
    /// Which word says what it is.
    role: &'static str,
    number: Option<u8>,
    /// It is the browser that asks.
    own: bool,
}

pub(super) fn screens(
    app: &App,
    language: Language,
    all: &[(door::Listed, bool)],
    has_pin: bool,
    said: &'static str,
) -> Response {
    let row = |(one, own): &(door::Listed, bool)| Row {
        id: one.id.0,
        role: match one.grant.role() {
            Role::Teacher => "screens-teacher",
            Role::Helper => "screens-helper",
            Role::Screen => "screens-screen",
            Role::Camera => "screens-camera",
        },
        number: one.grant.station().map(StationNumber::get),
        own: *own,
    };
    let badly = matches!(
        said,
        "screens-no-code" | "screens-no-station" | "screens-pin-wrong" | "screens-pin-plain"
    );
    let said = (!said.is_empty()).then_some(said);
    html(&ScreensPage::new(
        Frame::new(language, app.demo),
        listed(app),
        all.iter().map(row).collect(),
        has_pin,
        said,
        badly,
    ))
}

pub(super) fn tv(app: &App, language: Language, number: &str) -> Result<Response, Problem> {
    let config = app.station(number)?.config();
    let frame = Frame::new(language, config.demo);
    Ok(html(&TvPage::new(
        frame,
        app.sheets.mark(config.number),
        config.title.clone(),
        // Both, because the teacher may choose another while it is open.
        Language::English.words().live_json(),
        Language::Spanish.words().live_json(),
    )))
}

/// A problem for a person: the same status, a page instead of JSON.
pub(super) fn problem(app: &App, language: Language, problem: Problem) -> Response {
    let status = problem.status();
    let frame = Frame::new(language, app.demo);
    let mut response = html(&ProblemPage::new(
        frame,
        problem.kind.title(),
        problem.detail,
    ));
    *response.status_mut() = status;
    response
}

/// There is no vault on this box.
pub(super) fn no_vault(app: &App, language: Language) -> Response {
    let words = language.words();
    html(&ProblemPage::new(
        Frame::new(language, app.demo),
        words.get("no-vault-title"),
        words.get("no-vault").to_owned(),
    ))
}

fn listed(app: &App) -> Vec<Listed> {
    let configs = app.stations.iter().map(|station| station.config());
    configs
        .map(|c| Listed {
            mark: app.sheets.mark(c.number),
            title: c.title.clone(),
        })
        .collect()
}

pub(super) fn html(page: &impl Template) -> Response {
    let text = page
        .render()
        .expect("a template only fails when its sink does, and this is memory");
    warp::reply::html(text).into_response()
}
