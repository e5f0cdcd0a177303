//! The teacher's own pictures over HTTP: who sends them, who sees them, and what
//! is said where one is not there.

use std::collections::BTreeMap;

use afterturn_core::{plan::lettering::Screen, wire::ShowingPatch};
use image::{ImageFormat, RgbImage};

use super::*;
use crate::units::{Sheets, Shelf};

const NAME: &str = "/api/units/larkfield-circuit";

type Routes = warp::filters::BoxedFilter<(warp::reply::Response,)>;

fn drawing(width: u32) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    let picture = RgbImage::new(width, 40);
    picture
        .write_to(&mut bytes, ImageFormat::Png)
        .expect("encoded");
    bytes.into_inner()
}

/// Two stations with the sample unit, the fourth grade in the gym.
fn gym() -> (Routes, Arc<Sheets>, Arc<Shelf>) {
    let units = Arc::new(Shelf::sample());
    let one = 1_i64.try_into().expect("a number");
    let sheets = Arc::new(Sheets::new(BTreeMap::from([(one, Screen::default())])));
    sheets.follow(&units);
    let patch = ShowingPatch {
        grade: Some(Some(4)),
        ..ShowingPatch::default()
    };
    sheets.choose(patch).expect("a grade there is");
    let app = app()
        .with_units(Arc::clone(&units))
        .with_sheets(Arc::clone(&sheets));
    (routes(&app), sheets, units)
}

async fn send(routes: &Routes, body: Vec<u8>) -> (u16, Value) {
    let asked = ask("POST", "/api/pictures", Some("teacher")).body(body);
    let reply = asked.reply(routes).await;
    let body = serde_json::from_slice(reply.body()).expect("JSON");
    (reply.status().as_u16(), body)
}

async fn status(routes: &Routes, path: &str, asker: &'static str) -> u16 {
    ask("GET", path, Some(asker))
        .reply(routes)
        .await
        .status()
        .as_u16()
}

/// Gives the first cue of the beam a picture instead of its figure.
async fn show(routes: &Routes, picture: &str) -> Value {
    let before = ask("GET", NAME, Some("teacher")).reply(routes).await;
    let before: Value = serde_json::from_slice(before.body()).expect("JSON");
    let at = |key: &str| json!(["station", "beam", "cue", "beam-eyes", key]);
    let edits = json!([
        { "set": { "at": at("figure"), "to": null } },
        { "set": { "at": at("picture"), "to": picture } },
    ]);
    let change = json!({ "version": before["version"], "edits": edits });
    let reply = ask("PUT", NAME, Some("teacher"))
        .json(&change)
        .reply(routes)
        .await;
    assert_eq!(reply.status(), 200, "{:?}", reply.body());
    serde_json::from_slice(reply.body()).expect("JSON")
}

#[tokio::test]
async fn a_picture_is_seen_by_whoever_may_see_the_sheet_it_is_on() {
    let (routes, sheets, units) = gym();
    let (sent, taken) = send(&routes, drawing(60)).await;
    assert_eq!(sent, 200, "{taken}");
    let name = taken["picture"].as_str().expect("a name").to_owned();
    let path = format!("/api/stations/1/pictures/{name}");
    // It is on no sheet yet: the teacher alone sees it.
    assert_eq!(status(&routes, &path, "screen").await, 404);
    assert_eq!(
        status(&routes, &format!("/api/pictures/{name}"), "teacher").await,
        200
    );
    assert_eq!(
        status(&routes, &format!("/api/pictures/{name}"), "screen").await,
        403
    );

    show(&routes, &name).await;
    sheets.follow(&units);
    let seen = ask("GET", &path, Some("screen")).reply(&routes).await;
    assert_eq!(seen.status(), 200);
    assert_eq!(seen.headers()["content-type"], "image/png");
    assert!(image::load_from_memory(seen.body()).is_ok());
    let other = format!("/api/stations/2/pictures/{name}");
    assert_eq!(status(&routes, &other, "screen").await, 403);
    assert_eq!(
        status(&routes, &other, "teacher").await,
        404,
        "it is not on that sheet"
    );
    assert_eq!(status(&routes, &path, "camera").await, 403);
    // And with no class it is on none.
    let none = ShowingPatch {
        grade: Some(None),
        ..ShowingPatch::default()
    };
    sheets.choose(none).expect("no class");
    assert_eq!(status(&routes, &path, "screen").await, 404);
}

#[tokio::test]
async fn a_picture_that_is_not_there_is_said_at_its_field_and_stops_nothing() {
    let (routes, ..) = gym();
    let name = "0123456789abcdef0123456789abcdef.jpg";
    let saved = show(&routes, name).await;
    let notes = saved["notes"].as_array().expect("notes");
    let note = notes
        .iter()
        .find(|note| note["message"]["id"] == "picture-missing");
    let note = note.expect("it is said");
    assert_eq!(
        note["at"],
        json!(["station", "beam", "cue", "beam-eyes", "picture"])
    );
    assert_eq!(note["warning"], true);
    assert_eq!(note["message"]["values"]["name"], name);
    assert!(note["line"].as_u64() > Some(1));
}

#[tokio::test]
async fn what_is_no_picture_is_refused_with_a_reason() {
    let (routes, ..) = gym();
    for body in [b"hello".to_vec(), Vec::new(), drawing(60)[..50].to_vec()] {
        let (status, problem) = send(&routes, body).await;
        assert_eq!(status, 422);
        let detail = problem["detail"].as_str().expect("a reason");
        assert!(detail.contains("no JPEG or PNG"), "{detail}");
    }
    let (status, _) = send(&routes, vec![0; 9 * 1024 * 1024]).await;
    assert_eq!(status, 413, "as RFC 9110 §15.5.14 has it");
}
