//! Pages, from the templates in `web/pages/`.
//!
//! Not here: what moves on them (`web/live/`), or any of their sentences.

use afterturn_core::{kernel::StationNumber, plan::Mark};
use askama::Template;
use warp::{Reply, reply::Response};

use super::{
    App, BUILD, Problem,
    cameras::OnTheTable,
    doors::{Said, To},
    trust::{Number, numbers},
    words::{Language, Words},
};
use crate::av::{
    encode::Dimensions,
    source::usb::{
        devices::{Best, Why},
        modes::Form,
    },
};
use crate::door::{self, Action, PassphraseError, Role};

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

mod station;

pub(super) use station::{camera, camera_tv, tv, which_camera};

page!(
    /// The board of the hall.
    HallPage, "hall.html", {}
);
page!(
    /// The teacher's remote.
    RemotePage, "remote.html", {
        stations: Vec<Listed>, keeps_door: bool, calibrates: bool, leads: bool,
        titles: Vec<(String, usize)>
    }
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
        stations: Vec<Listed>, rows: Vec<Row>, has_pin: bool, said: Option<&'static str>, badly: bool,
        keys: Option<Keys>
    }
);
page!(
    /// What is plugged into the box.
    CamerasPage, "cameras.html", { cameras: Vec<Camera> }
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

/// The remote, with what whoever asks may do. `titles`: of the classes that can be
/// started, with how many children each has, for whoever may see them.
pub(super) fn remote(
    app: &App,
    language: Language,
    may: impl Fn(Action) -> bool,
    titles: Vec<(String, usize)>,
) -> Response {
    let frame = Frame::new(language, app.demo);
    html(&RemotePage::new(
        frame,
        listed(app),
        may(Action::KeepDoor),
        may(Action::Calibrate),
        may(Action::LeadClass),
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

/// Keys of publishers that are no browser, where there are such.
struct Keys {
    /// One that was made just now.
    made: Option<String>,
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
    key: Option<String>,
) -> Response {
    let row = |(one, own): &(door::Listed, bool)| Row {
        id: one.id.0,
        role: match one.grant.role() {
            Role::Teacher => "screens-teacher",
            Role::Helper => "screens-helper",
            Role::Screen => "screens-screen",
            Role::HallBoard => "screens-hall",
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
        app.whip.is_some().then_some(Keys { made: key }),
    ))
}

/// A camera, as the page shows it.
struct Camera {
    /// Empty for one that is not plugged in.
    id: String,
    device: String,
    name: String,
    /// Which station uses it.
    used: Option<String>,
    /// Why there is no picture.
    why: Option<String>,
    /// A station could use it: the lines for the settings file are of use.
    free: bool,
    /// A line each, in a technician's words.
    offers: Vec<String>,
}

pub(super) fn cameras(app: &App, language: Language, table: &OnTheTable) -> Response {
    let words = language.words();
    let of_station =
        |id: &str, number: StationNumber| words.get(id).replace("{number}", &number.to_string());
    let plugged = table.devices.iter().map(|(device, station)| Camera {
        id: device.id.clone(),
        device: device.device.display().to_string(),
        name: device.name.clone(),
        used: station.map(|number| of_station("cameras-used", number)),
        why: match device.trouble {
            Some(why) => Some(words.get(why_id(why)).to_owned()),
            None if table.class && station.is_none() => {
                Some(words.get("live-no-picture-class").to_owned())
            }
            None => None,
        },
        free: station.is_none() && device.trouble != Some(Why::NoForm),
        offers: device
            .best()
            .into_iter()
            .map(|best| offer(best, words))
            .collect(),
    });
    let absent = table.absent.iter().map(|(number, device)| Camera {
        id: String::new(),
        device: device.display().to_string(),
        name: of_station("cameras-of-station", *number),
        used: None,
        why: Some(words.get("live-no-picture-unplugged").to_owned()),
        free: false,
        offers: Vec::new(),
    });
    html(&CamerasPage::new(
        Frame::new(language, app.demo),
        plugged.chain(absent).collect(),
    ))
}

fn offer(best: Best, words: &Words) -> String {
    let Dimensions {
        width_px,
        height_px,
    } = best.size;
    let fps = best.fps.map(|fps| format!(", {fps:.0}/s"));
    let fps = fps.unwrap_or_default();
    let form = match best.form {
        Form::Raw(name) => words.get("cameras-uncompressed").replace("{form}", name),
        packed => packed.to_string(),
    };
    format!("{form}: {width_px} × {height_px}{fps}")
}

/// The sentence that says why a camera gives no picture, and what to do.
const fn why_id(why: Why) -> &'static str {
    match why {
        Why::Unplugged => "live-no-picture-unplugged",
        Why::Forbidden => "live-no-picture-forbidden",
        Why::Busy => "live-no-picture-busy",
        Why::NoRoom => "live-no-picture-no-room",
        Why::NoForm => "live-no-picture-no-form",
        Why::NoCamera => "live-no-picture-no-camera",
        Why::Shut | Why::Silent => "live-no-picture-silent",
        Why::MissingPart => "live-no-picture-missing-part",
    }
}

/// The same as a word for programs.
pub(super) fn why_word(why: Why) -> &'static str {
    why_id(why).trim_start_matches("live-no-picture-")
}

pub(super) fn hall(app: &App, language: Language) -> Response {
    html(&HallPage::new(Frame::new(language, app.demo)))
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
