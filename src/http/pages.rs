//! Pages, from the templates in `web/pages/`.
//!
//! Not here: what moves on them (`web/live/`), or any of their sentences.

use askama::Template;
use warp::{Reply, reply::Response};

use super::{
    App, BUILD, Problem,
    words::{Language, Words},
};

/// What every page needs.
struct Frame {
    lang: &'static str,
    build: &'static str,
    words: &'static Words,
    words_json: &'static str,
    demo: bool,
}

impl Frame {
    fn new(language: Language, demo: bool) -> Self {
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
    number: u8,
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
            fn new(frame: Frame, $($field: $type),*) -> Self {
                let Frame { lang, build, words, words_json, demo } = frame;
                Self { lang, build, words, words_json, demo, $($field),* }
            }
        }
    };
}

page!(
    /// A station's TV page.
    TvPage, "tv.html", { number: u8, title: String }
);
page!(
    /// The teacher's remote.
    RemotePage, "remote.html", { stations: Vec<Listed> }
);
page!(
    /// The front page.
    HomePage, "home.html", { stations: Vec<Listed> }
);
page!(
    /// A page that says what went wrong.
    ProblemPage, "problem.html", { title: &'static str, detail: String }
);

pub(super) fn home(app: &App, language: Language) -> Response {
    html(&HomePage::new(Frame::new(language, app.demo), listed(app)))
}

pub(super) fn remote(app: &App, language: Language) -> Response {
    html(&RemotePage::new(
        Frame::new(language, app.demo),
        listed(app),
    ))
}

pub(super) fn tv(app: &App, language: Language, number: &str) -> Result<Response, Problem> {
    let config = app.station(number)?.config();
    let frame = Frame::new(language, config.demo);
    Ok(html(&TvPage::new(
        frame,
        config.number.get(),
        config.title.clone(),
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

fn listed(app: &App) -> Vec<Listed> {
    let configs = app.stations.iter().map(|station| station.config());
    configs
        .map(|c| Listed {
            number: c.number.get(),
            title: c.title.clone(),
        })
        .collect()
}

fn html(page: &impl Template) -> Response {
    let text = page
        .render()
        .expect("a template only fails when its sink does, and this is memory");
    warp::reply::html(text).into_response()
}
