//! What is plugged in: a list, a page and a picture, from cameras that are none.

use std::path::{Path, PathBuf};

use super::*;
use crate::av::{
    encode::Rate,
    source::usb::{
        devices::{Device, Why},
        modes::{Form, Offer, Rates, Span},
    },
};

/// Four cameras: one to look through, one that another program uses, one that
/// station 2 uses, and one that may not be opened.
pub(super) struct OnTheTable;

const JPEG: &[u8] = &[0xff, 0xd8, 0xff, 0xd9];

/// What the settings say: station 1's camera was left at home.
pub(super) fn used() -> Vec<(StationNumber, PathBuf)> {
    let number = |n: i64| n.try_into().expect("a good number");
    vec![
        (number(1), "/dev/v4l/by-id/left-at-home".into()),
        (number(2), "/dev/v4l/by-id/video4".into()),
    ]
}

impl Plugged for OnTheTable {
    fn list(&self, taken: &[PathBuf]) -> Vec<Device> {
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
            trouble: None,
        };
        let mut devices = vec![
            camera("video0", "Gym <b>Cam"),
            camera("video2", "Twin"),
            camera("video4", "Wall"),
            camera("video6", "Locked"),
        ];
        devices[3].trouble = Some(Why::Forbidden);
        for device in &mut devices {
            if device.trouble.is_some() || taken.iter().any(|name| device.is_at(name)) {
                device.offers.clear();
            }
        }
        devices
    }

    fn find(&self, id: &str, taken: &[PathBuf]) -> Option<Device> {
        self.list(taken).into_iter().find(|device| device.id == id)
    }

    fn picture(&self, device: &Device) -> Result<bytes::Bytes, Why> {
        assert_ne!(device.id, "video4", "a camera in use was opened again");
        match &*device.id {
            "video0" => Ok(bytes::Bytes::from_static(JPEG)),
            "video2" => Err(Why::Busy),
            _ => Err(device.trouble.expect("only that one is left")),
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
            "station": null,
            "why": null,
            "offers": [mode],
            "usual": mode,
        })
    );
    let devices = said["devices"].as_array().unwrap();
    let of = |field: &str| devices.iter().map(|d| d[field].clone()).collect::<Vec<_>>();
    assert_eq!(
        of("station"),
        [json!(null), json!(null), json!(2), json!(null)]
    );
    assert_eq!(
        of("why"),
        [json!(null), json!(null), json!(null), json!("forbidden")]
    );
    let left = json!([{ "station": 1, "device": "/dev/v4l/by-id/left-at-home" }]);
    assert_eq!(said["absent"], left);
}

async fn page(language: &str) -> String {
    let asked = ask("GET", &format!("/cameras?lang={language}"), Some("teacher"));
    let response = asked.reply(&routes(&app())).await;
    String::from_utf8(response.body().to_vec()).unwrap()
}

#[tokio::test]
async fn the_page_shows_each_with_its_picture_and_its_line() {
    let page = page("en").await;
    for part in [
        "data-picture=\"/api/devices/video0/picture\"",
        "data-picture=\"/api/devices/video2/picture\"",
        "data-picture=\"/api/devices/video4/picture\"",
        "device = \"/dev/v4l/by-id/video0\"",
        "Motion JPEG: 1280 × 720, 30/s",
    ] {
        assert!(page.contains(part), "{part}: {page}");
    }
    assert!(!page.contains("<b>"), "a camera's name became markup");
    // Nobody tries to open what may not be opened.
    assert!(!page.contains("/api/devices/video6/picture"));
}

#[tokio::test]
async fn the_page_says_which_station_uses_a_camera_and_what_is_wrong_with_others() {
    for (language, sentences) in [
        (
            "en",
            [
                "Station 2 uses this camera.",
                "The camera of station 1",
                "Not plugged in. Plug it in",
                "group “video”",
            ],
        ),
        (
            "es",
            [
                "La estación 2 usa esta cámara.",
                "La cámara de la estación 1",
                "No está conectada. Conéctela",
                "grupo «video»",
            ],
        ),
    ] {
        let page = page(language).await;
        // What scripts are given holds every sentence.
        let shown = page.split("<script").next().unwrap();
        for sentence in sentences {
            assert!(shown.contains(sentence), "{sentence}: {shown}");
        }
    }
}

#[tokio::test]
async fn a_picture_is_a_jpeg_or_the_reason_why_there_is_none() {
    let routes = routes(&app());
    let picture = |id| ask("GET", id, Some("teacher")).reply(&routes);
    let response = picture("/api/devices/video0/picture").await;
    assert_eq!(response.headers()["content-type"], "image/jpeg");
    assert_eq!(response.body(), JPEG);
    for (id, why) in [
        ("video2", "busy"),
        ("video4", "in-use"),
        ("video6", "forbidden"),
    ] {
        let path = format!("/api/devices/{id}/picture");
        let response = ask("GET", &path, Some("teacher")).reply(&routes).await;
        assert_eq!(response.status(), 422, "{id}");
        let said: Value = serde_json::from_slice(response.body()).unwrap();
        assert_eq!(said["why"], why, "{id}");
    }
}

#[tokio::test]
async fn without_a_class_a_stations_camera_is_nobodys_and_may_be_looked_through() {
    let app = app();
    app.stations[1].capture(false);
    assert!(app.taken().is_empty());
    app.stations[1].capture(true);
    assert_eq!(app.taken(), [PathBuf::from("/dev/v4l/by-id/video4")]);
}

#[test]
fn a_device_is_known_by_any_of_its_names() {
    let folder = tempfile::tempdir().unwrap();
    let node = folder.path().join("video0");
    std::fs::write(&node, b"").unwrap();
    let link = folder.path().join("by-id");
    std::os::unix::fs::symlink(&node, &link).unwrap();
    let mut device = OnTheTable.list(&[]).remove(0);
    device.device = link;
    assert!(device.is_at(&node));
    assert!(!device.is_at(Path::new("/dev/video0")));
}

/// Whoever sets up in an empty gym is told what to do: the camera is well, and
/// off.
#[tokio::test]
async fn calibrating_without_a_class_says_to_start_one() {
    let app = app();
    let start = || {
        let asked = ask("POST", "/api/stations/1/calibration", Some("teacher"));
        asked.body(r#"{"order": "start"}"#)
    };
    let why = async || {
        let answer = start().reply(&routes(&app)).await;
        let said: Value = serde_json::from_slice(answer.body()).unwrap();
        said["calibration"]["why"].clone()
    };
    assert_eq!(why().await, "camera_off");
    // With a class its camera is on, and sends nothing here.
    app.stations[0].capture(true);
    assert_eq!(why().await, "no_camera");
}
