//! `/roster/mat/…`: the mat of a station, drawn once on a picture of it.
//!
//! Not here: what a mat is (`core/media`), and drawing (`web/live/mat.js`).

use afterturn_core::media::{Corner, Mat};
use askama::Template;
use warp::reply::Response;

use super::{
    Desk, Faults, Outcome,
    answers::after,
    bytes,
    forms::{Form, Maker},
};
use crate::av::still;
use crate::http::pages::{Frame, html, page};
use crate::http::words::Words;
use crate::portfolio::VaultError;

page!(
    /// The mat of a station.
    MatPage, "mat.html", {
        station: u8, title: String, corners: String, picture: bool, form: Form, back: String
    }
);

/// Where somebody begins who has not drawn one: the middle of the picture.
const FIRST: [(u16, u16); 4] = [(2500, 3500), (7500, 3500), (8500, 8500), (1500, 8500)];

pub(super) fn answer(desk: &Desk, number: &str, posted: bool, faults: &mut Faults) -> Outcome {
    let station = desk.app.station(number).map_err(|_| VaultError::NotFound)?;
    let number = station.config().number;
    let mut done = None;
    if posted {
        let typed = serde_json::from_str::<Mat>(desk.typed.get("corners"));
        match typed {
            Ok(mat) => {
                desk.portfolio.set_mat(number, &mat, desk.moment)?;
                done = Some("mat");
            }
            Err(_) => faults.add("corners", "mat-fault"),
        }
        return after(desk, done, || show(desk, number, faults));
    }
    show(desk, number, faults)
}

fn show(desk: &Desk, number: afterturn_core::kernel::StationNumber, faults: &Faults) -> Outcome {
    let station = desk.app.station(&number.to_string());
    let station = station.map_err(|_| VaultError::NotFound)?;
    let first = FIRST.map(|(x, y)| Corner { x, y }).to_vec();
    let mat = desk.portfolio.mat(number)?;
    let corners = mat.map_or(first, Vec::from);
    let corners = match desk.typed.get("corners") {
        "" => serde_json::to_string(&corners).unwrap_or_default(),
        typed => typed.to_owned(),
    };
    let make = Maker {
        words: desk.language.words(),
        typed: &desk.typed,
        faults,
        done: desk.done.as_deref(),
    };
    let form = make
        .form("mat", "mat-save", "roster-saved")
        .text("corners", "mat-corners", &corners)
        .hint("mat-corners-hint")
        .done();
    Ok(html(&MatPage::new(
        Frame::new(desk.language, desk.app.demo),
        number.get(),
        station.config().title.clone(),
        corners,
        station.newest_keyframe().is_some(),
        form,
        format!("/roster/keep/{number}"),
    )))
}

/// `/roster/mat/…/picture`: what the camera sees now, small, to draw on.
pub(super) fn picture(desk: &Desk, number: &str) -> Outcome {
    let station = desk.app.station(number).map_err(|_| VaultError::NotFound)?;
    let (params, keyframe) = station.newest_keyframe().ok_or(VaultError::NotFound)?;
    let jpeg = still::of_keyframe(&params, keyframe).map_err(|_| VaultError::NotFound)?;
    let response: Response = bytes::media(afterturn_core::consent::Medium::Still, &jpeg, None);
    Ok(response)
}
