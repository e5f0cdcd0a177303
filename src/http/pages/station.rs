//! The pages of one station: its TV's, and those of a tablet or phone that is its
//! camera.
//!
//! Not here: publishing itself (`whip`, `web/live/publisher.js`).

use afterturn_core::plan::Mark;
use askama::Template;
use warp::reply::Response;

use super::{App, Frame, Language, Listed, Problem, Words, html, listed};
use crate::door::Action;
use crate::http::{
    asked::{Asked, need, need_at},
    doors::see_other_owned,
};

page!(
    /// A station's TV page.
    TvPage, "tv.html", {
        mark: Mark, title: String, words_en: &'static str, words_es: &'static str,
        publishes: bool,
    }
);
page!(
    /// A station's camera, on the device that is it.
    CameraPage, "camera.html", { mark: Mark, title: String, taken: bool }
);
page!(
    /// Which station this device is the camera of.
    WhichCameraPage, "which-camera.html", { stations: Vec<Listed> }
);

/// `/camera`: for a camera its station's page; for a teacher, which there are.
pub(in crate::http) fn which_camera(app: &App, asked: &Asked) -> Result<Response, Problem> {
    if let Some(station) = asked.pass.and_then(|pass| pass.grant.station()) {
        need_at(asked, Action::Publish, &station.to_string())?;
        return Ok(see_other_owned(&format!("/camera/{station}")));
    }
    need(asked, Action::Publish)?;
    let whip = app.whip.as_ref();
    let published: Vec<_> = whip.map_or_else(Vec::new, |whip| whip.stations().collect());
    let mut stations = listed(app);
    stations.retain(|station| published.contains(&station.mark.number));
    let frame = Frame::new(asked.language, app.demo);
    Ok(html(&WhichCameraPage::new(frame, stations)))
}

/// The page of a station's camera.
pub(in crate::http) fn camera(
    app: &App,
    language: Language,
    number: &str,
) -> Result<Response, Problem> {
    let config = app.station(number)?.config();
    let whip = app.whip.as_ref();
    let publishes = whip.is_some_and(|whip| whip.stations().any(|one| one == config.number));
    let frame = Frame::new(language, config.demo);
    let mark = app.sheets.mark(config.number);
    Ok(html(&CameraPage::new(
        frame,
        mark,
        config.title.clone(),
        !publishes,
    )))
}

pub(in crate::http) fn tv(
    app: &App,
    language: Language,
    number: &str,
) -> Result<Response, Problem> {
    tv_page(app, language, number, false)
}

/// The TV page of a device that is the station's camera too.
pub(in crate::http) fn camera_tv(
    app: &App,
    language: Language,
    number: &str,
) -> Result<Response, Problem> {
    tv_page(app, language, number, true)
}

fn tv_page(
    app: &App,
    language: Language,
    number: &str,
    publishes: bool,
) -> Result<Response, Problem> {
    let config = app.station(number)?.config();
    let frame = Frame::new(language, config.demo);
    Ok(html(&TvPage::new(
        frame,
        app.sheets.mark(config.number),
        config.title.clone(),
        // Both, because the teacher may choose another while it is open.
        Language::English.words().live_json(),
        Language::Spanish.words().live_json(),
        publishes,
    )))
}
