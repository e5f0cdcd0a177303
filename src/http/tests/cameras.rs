//! What is plugged in: a list, a page and a picture, from cameras that are none.

use super::*;
use crate::av::{
    camera::CameraError,
    encode::Rate,
    source::usb::{
        devices::Device,
        modes::{Form, Offer, Rates, Span},
    },
};
use afterturn_core::wire::CameraState;

/// Two cameras: one to look through, one that a station uses.
pub(super) struct OnTheTable;

const JPEG: &[u8] = &[0xff, 0xd8, 0xff, 0xd9];

impl Plugged for OnTheTable {
    fn list(&self) -> Vec<Device> {
        let camera = |id: &str, name: &str| Device {
            id: id.to_owned(),
            device: format!("/dev/v4l/by-id/{id}").into(),
            name: name.to_owned(),
            offers: vec![Offer {
                form: Form::Jpeg,
                width: Span::one(1280),
                height: Span::one(720),
                rates: Rates::Some(Rate::new(30, 1).into_iter().collect()),
            }],
        };
        vec![camera("video0", "Gym <b>Cam"), camera("video2", "Twin")]
    }

    fn picture(&self, id: &str) -> Option<Result<bytes::Bytes, CameraError>> {
        let busy = || CameraError::new(CameraState::Unreachable, "another program uses it");
        match id {
            "video0" => Some(Ok(bytes::Bytes::from_static(JPEG))),
            "video2" => Some(Err(busy())),
            _ => None,
        }
    }
}

#[tokio::test]
async fn programs_are_told_what_is_plugged_in_and_what_would_be_asked_of_it() {
    let asked = ask("GET", "/api/devices", Some("teacher"));
    let response = asked.reply(&routes(&app())).await;
    let said: Value = serde_json::from_slice(response.body()).unwrap();
    let mode = json!({ "form": "Motion JPEG", "width_px": 1280, "height_px": 720, "fps": 30.0 });
    assert_eq!(
        said["devices"][0],
        json!({
            "id": "video0",
            "device": "/dev/v4l/by-id/video0",
            "name": "Gym <b>Cam",
            "offers": [mode],
            "usual": mode,
        })
    );
    assert_eq!(said["devices"].as_array().map(Vec::len), Some(2));
}

#[tokio::test]
async fn the_page_shows_each_with_its_picture_and_its_line() {
    let asked = ask("GET", "/cameras", Some("teacher"));
    let response = asked.reply(&routes(&app())).await;
    let page = String::from_utf8(response.body().to_vec()).unwrap();
    for part in [
        "src=\"/api/devices/video0/picture\"",
        "src=\"/api/devices/video2/picture\"",
        "device = \"/dev/v4l/by-id/video0\"",
        "Motion JPEG: 1280 × 720, 30/s",
    ] {
        assert!(page.contains(part), "{part}: {page}");
    }
    assert!(!page.contains("<b>"), "a camera's name became markup");
}

#[tokio::test]
async fn a_picture_is_a_jpeg_or_the_reason_why_there_is_none() {
    let routes = routes(&app());
    let picture = |id| ask("GET", id, Some("teacher")).reply(&routes);
    let response = picture("/api/devices/video0/picture").await;
    assert_eq!(response.headers()["content-type"], "image/jpeg");
    assert_eq!(response.body(), JPEG);
    let response = picture("/api/devices/video2/picture").await;
    assert_eq!(response.status(), 422);
    let said: Value = serde_json::from_slice(response.body()).unwrap();
    assert_eq!(said["detail"], "another program uses it");
}
