//! What is plugged in: a list, a page and a picture, from cameras that are none.

use std::{
    path::{Path, PathBuf},
    sync::Mutex,
};

use super::*;
use crate::av::{
    encode::Rate,
    source::usb::{
        devices::{Device, Shut, Why},
        modes::{Form, Offer, Rates, Span},
    },
};

/// Four cameras: one to look through, one that another program uses, one that
/// station 2 uses, and one that may not be opened.
#[derive(Default)]
pub(super) struct OnTheTable {
    /// Those that were opened, be it to ask what they offer.
    opened: Mutex<Vec<String>>,
}

impl OnTheTable {
    fn open(&self, device: &Device) {
        self.opened.lock().unwrap().push(device.id.clone());
    }

    fn take_opened(&self) -> Vec<String> {
        std::mem::take(&mut self.opened.lock().unwrap())
    }
}

const JPEG: &[u8] = &[0xff, 0xd8, 0xff, 0xd9];

/// What the settings say: station 1's camera was left at home.
pub(super) fn used() -> Vec<(StationNumber, PathBuf)> {
    let number = |n: i64| n.try_into().expect("a good number");
    vec![
        (number(1), "/dev/v4l/by-id/left-at-home".into()),
        (number(2), "/dev/v4l/by-id/video4".into()),
    ]
}

impl OnTheTable {
    fn asked(&self, shut: &Shut, asked: impl Fn(&Device) -> bool) -> Vec<Device> {
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
        devices.retain(asked);
        for device in &mut devices {
            if device.trouble.is_some() || shut.holds(&device.device) {
                device.offers.clear();
            } else {
                self.open(device);
            }
        }
        devices
    }
}

impl Plugged for OnTheTable {
    fn list(&self, shut: &Shut) -> Vec<Device> {
        self.asked(shut, |_| true)
    }

    fn find(&self, id: &str, shut: &Shut) -> Option<Device> {
        self.asked(shut, |device| device.id == id).pop()
    }

    fn picture(&self, device: &Device, _: &dyn Fn() -> bool) -> Result<bytes::Bytes, Why> {
        self.open(device);
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
        "action=\"/api/devices/video0/picture\"",
        "action=\"/api/devices/video2/picture\"",
        "action=\"/api/devices/video4/picture\"",
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
    let press = async |id: &str| {
        let path = format!("/api/devices/{id}/picture");
        ask("POST", &path, Some("teacher")).reply(&routes).await
    };
    let response = press("video0").await;
    assert_eq!(response.headers()["content-type"], "image/jpeg");
    assert_eq!(response.body(), JPEG);
    for (id, why) in [
        ("video2", "busy"),
        ("video4", "in-use"),
        ("video6", "forbidden"),
    ] {
        let response = press(id).await;
        assert_eq!(response.status(), 422, "{id}");
        let said: Value = serde_json::from_slice(response.body()).unwrap();
        assert_eq!(said["why"], why, "{id}");
    }
}

#[test]
fn a_device_is_known_by_any_of_its_names() {
    let folder = tempfile::tempdir().unwrap();
    let node = folder.path().join("video0");
    std::fs::write(&node, b"").unwrap();
    let link = folder.path().join("by-id");
    std::os::unix::fs::symlink(&node, &link).unwrap();
    let mut device = OnTheTable::default().list(&Shut::All).remove(0);
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

/// An app, and the table to see what it opens.
fn watched() -> (App, Arc<OnTheTable>) {
    let table = Arc::new(OnTheTable::default());
    let app = app().with_plugged(Arc::clone(&table) as Arc<dyn Plugged>);
    (app, table)
}

/// Opens the page and asks for the list, then presses for a picture of a free
/// camera and of a station's: what was opened for either, and the two answers.
async fn look_at_all(app: &App, table: &OnTheTable) -> ([Vec<String>; 2], [Value; 2]) {
    table.take_opened();
    let routes = routes(app);
    for path in ["/cameras", "/api/devices"] {
        let answer = ask("GET", path, Some("teacher")).reply(&routes).await;
        assert_eq!(answer.status(), 200, "{path}");
    }
    let looked = table.take_opened();
    let press = async |id: &str| {
        let path = format!("/api/devices/{id}/picture");
        let answer = ask("POST", &path, Some("teacher")).reply(&routes).await;
        let said: Value = serde_json::from_slice(answer.body()).unwrap_or_default();
        said["why"].clone()
    };
    let whys = [press("video0").await, press("video4").await];
    ([looked, table.take_opened()], whys)
}

async fn hold(app: &App, hold: &str) {
    let press = json!({ "press": "hold", "hold": hold });
    let asked = ask("POST", "/api/class/presses", Some("teacher"));
    let asked = asked.json(&json!({ "id": "a", "press": press }));
    assert_eq!(asked.reply(&routes(app)).await.status(), 200);
}

async fn make_quiet(app: &App) {
    let quiet = json!({ "change": "quiet", "on": true });
    let asked = ask("POST", "/api/class/changes", Some("teacher")).json(&quiet);
    assert_eq!(asked.reply(&routes(app)).await.status(), 200);
}

/// Promise 1: without a class a station's camera is off, for this page too; with
/// one there is its station's picture of it, and nobody opens it twice.
#[tokio::test]
async fn a_stations_camera_is_never_opened_here() {
    let (app, table) = watched();
    for (on, why) in [(false, "off"), (true, "in-use")] {
        app.stations[1].capture(on);
        let (opened, whys) = look_at_all(&app, &table).await;
        let used = "video4".to_owned();
        assert!(!opened.concat().contains(&used), "{on}: {opened:?}");
        assert_eq!(whys[1], why);
    }
}

/// Whoever sets up in an empty gym presses for a picture; before that a free
/// camera is only asked what it offers.
#[tokio::test]
async fn without_a_class_a_free_camera_is_looked_through_when_somebody_presses() {
    let (app, table) = watched();
    let asked = ask("GET", "/api/devices/video0/picture", Some("teacher"));
    assert_eq!(asked.reply(&routes(&app)).await.status(), 405);
    assert!(table.take_opened().is_empty(), "to ask is not to press");
    let ([looked, pressed], whys) = look_at_all(&app, &table).await;
    // Each once for the page and once for the list.
    assert_eq!(looked, ["video0", "video2", "video0", "video2"]);
    assert_eq!(pressed, ["video0", "video0"], "what it offers, then it");
    assert_eq!(whys[0], Value::Null, "it gave a picture");
}

/// Promise 1: in an accident nothing is taken, by whatever camera the box has.
#[tokio::test]
async fn while_there_is_a_class_no_camera_of_the_box_is_opened_here() {
    for waits in ["", "accident", "leave", "pause", "freeze", "dark", "quiet"] {
        let (app, table) = watched();
        class::started(&routes(&app)).await;
        match waits {
            "" => {}
            "quiet" => make_quiet(&app).await,
            _ => hold(&app, waits).await,
        }
        let (opened, whys) = look_at_all(&app, &table).await;
        assert!(opened.concat().is_empty(), "{waits}: {opened:?}");
        assert_eq!(whys[0], "class", "{waits}");
        let off = ["accident", "leave", "quiet"].contains(&waits);
        assert_eq!(whys[1], if off { "off" } else { "in-use" }, "{waits}");
    }
}

/// A table at which a class begins while the camera warms up.
struct Surprised(OnTheTable, Mutex<Option<App>>);

impl Plugged for Surprised {
    fn list(&self, shut: &Shut) -> Vec<Device> {
        self.0.list(shut)
    }

    fn find(&self, id: &str, shut: &Shut) -> Option<Device> {
        self.0.find(id, shut)
    }

    fn picture(&self, device: &Device, may: &dyn Fn() -> bool) -> Result<bytes::Bytes, Why> {
        assert!(may(), "nobody is there yet");
        let app = self.1.lock().unwrap().take().unwrap();
        tokio::runtime::Handle::current().block_on(class::started(&routes(&app)));
        assert!(!may(), "and it is told to let go");
        self.0.picture(device, may)
    }
}

#[tokio::test]
async fn a_class_that_begins_meanwhile_is_not_looked_at() {
    let table = Arc::new(Surprised(OnTheTable::default(), Mutex::default()));
    let app = app().with_plugged(Arc::clone(&table) as Arc<dyn Plugged>);
    *table.1.lock().unwrap() = Some(app.clone());
    let asked = ask("POST", "/api/devices/video0/picture", Some("teacher"));
    let answer = asked.reply(&routes(&app)).await;
    assert_eq!(answer.status(), 422);
    let said: Value = serde_json::from_slice(answer.body()).unwrap();
    assert_eq!(said["why"], "class");
}

#[tokio::test]
async fn the_page_says_that_a_class_is_under_way() {
    let app = app();
    class::started(&routes(&app)).await;
    for (language, sentence) in [
        ("en", "A class is under way."),
        ("es", "Hay una clase en curso."),
    ] {
        let asked = ask("GET", &format!("/cameras?lang={language}"), Some("teacher"));
        let answer = asked.reply(&routes(&app)).await;
        let page = String::from_utf8(answer.body().to_vec()).unwrap();
        let shown = page.split("<script").next().unwrap();
        assert!(shown.contains(sentence), "{shown}");
        assert!(!shown.contains("/api/devices/video0/picture"), "{shown}");
        assert!(shown.contains("/api/devices/video4/picture"), "{shown}");
    }
}
