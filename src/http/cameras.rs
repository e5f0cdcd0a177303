//! The cameras that are plugged into the box, for whoever sets it up: a page
//! with a picture of each to tell them apart by, and the same for programs.
//!
//! Opening the page takes no picture. One is taken when somebody presses for it,
//! goes out as it is, and is gone; which cameras stay shut is one rule
//! ([`App::shut`]).
//!
//! Not here: finding cameras, or keeping a picture.

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use afterturn_core::kernel::StationNumber;
use bytes::Bytes;
use serde::Serialize;
use tokio::{sync::Semaphore, task::spawn_blocking};
use warp::{
    Reply,
    http::{HeaderValue, header},
    reply::Response,
};

use super::{App, Kind, Problem, pages, words::Language};
use crate::av::encode::Rate;
use crate::av::source::usb::{
    devices::{self, Device, Shut, Why},
    modes::Mode,
};
use crate::av::still;
use crate::station::Station;

/// What is plugged in. All of it may take a second.
pub trait Plugged: Send + Sync {
    /// The cameras, in order; those that are shut are not opened.
    fn list(&self, shut: &Shut) -> Vec<Device>;
    /// The one called `id`; not opened if it is shut.
    fn find(&self, id: &str, shut: &Shut) -> Option<Device>;
    /// A JPEG of one, which is let go of once it `may` not be open any more.
    fn picture(&self, device: &Device, may: &dyn Fn() -> bool) -> Result<Bytes, Why>;
}

/// What is plugged into this machine.
pub(super) struct ThisMachine;

impl Plugged for ThisMachine {
    fn list(&self, shut: &Shut) -> Vec<Device> {
        devices::list(shut)
    }

    fn find(&self, id: &str, shut: &Shut) -> Option<Device> {
        devices::find(id, shut)
    }

    fn picture(&self, device: &Device, may: &dyn Fn() -> bool) -> Result<Bytes, Why> {
        devices::picture(device, may)
    }
}

/// What there is to show: what is plugged in, and which station uses it.
pub(super) struct OnTheTable {
    pub(super) devices: Vec<(Device, Option<StationNumber>)>,
    /// Cameras of stations that are not plugged in.
    pub(super) absent: Vec<(StationNumber, PathBuf)>,
    /// A class is there, and no camera is opened.
    pub(super) class: bool,
}

/// `GET /api/devices`.
#[derive(Serialize)]
struct DeviceList {
    devices: Vec<DeviceInfo>,
    absent: Vec<Absent>,
}

/// A station's camera that is not plugged in.
#[derive(Serialize)]
struct Absent {
    station: u8,
    device: String,
}

#[derive(Serialize)]
struct DeviceInfo {
    /// For the address of its picture.
    id: String,
    /// What to write as `device` in the config file.
    device: String,
    name: String,
    /// The station that uses it; nobody else opens it, not even to ask what it
    /// offers.
    station: Option<u8>,
    /// Why there is no picture of it, where that is known already.
    why: Option<&'static str>,
    /// Each form, in its largest size.
    offers: Vec<ModeInfo>,
    /// What is asked of it where the config file wishes for nothing.
    usual: Option<ModeInfo>,
}

#[derive(Serialize)]
struct ModeInfo {
    form: String,
    width_px: u32,
    height_px: u32,
    fps: Option<f64>,
}

impl DeviceInfo {
    fn new(device: &Device, station: Option<StationNumber>) -> Self {
        let best = device.best();
        let offers = best.iter().map(|best| ModeInfo {
            form: best.form.to_string(),
            width_px: best.size.width_px,
            height_px: best.size.height_px,
            fps: best.fps,
        });
        let usual = |mode: Mode| ModeInfo {
            form: mode.form.to_string(),
            width_px: mode.size.width_px,
            height_px: mode.size.height_px,
            fps: mode.rate.map(Rate::per_s),
        };
        Self {
            offers: offers.collect(),
            usual: device.usual().map(usual),
            id: device.id.clone(),
            device: device.device.display().to_string(),
            name: device.name.clone(),
            station: station.map(StationNumber::get),
            why: device.trouble.map(pages::why_word),
        }
    }
}

pub(super) async fn list(app: &App) -> Result<Response, Problem> {
    let table = plugged_in(app).await?;
    let devices = table.devices.iter();
    let absent = table.absent.iter().map(|(station, device)| Absent {
        station: station.get(),
        device: device.display().to_string(),
    });
    Ok(warp::reply::json(&DeviceList {
        devices: devices
            .map(|(device, station)| DeviceInfo::new(device, *station))
            .collect(),
        absent: absent.collect(),
    })
    .into_response())
}

pub(super) async fn page(app: &App, language: Language) -> Result<Response, Problem> {
    Ok(pages::cameras(app, language, &plugged_in(app).await?))
}

/// `POST /api/devices/{id}/picture`: somebody pressed for one.
pub(super) async fn picture(app: &App, id: &str) -> Result<Response, Problem> {
    // One at a time: cameras share a cable.
    static ONE: Semaphore = Semaphore::const_new(1);
    let _turn = ONE.acquire().await.map_err(|_| broken())?;
    let (plugged, shut, id) = (Arc::clone(&app.plugged), app.shut(), id.to_owned());
    let found = spawn_blocking(move || plugged.find(&id, &shut)).await;
    let device = found
        .map_err(|_| broken())?
        .ok_or_else(|| Problem::new(Kind::NotFound, "no such camera is plugged in"))?;
    let jpeg = match app.user_of(&device) {
        Some(station) => seen_by(app, station).await?,
        None => taken_of(app, device).await?,
    };
    let mut response = Response::new(jpeg.into());
    let kind = HeaderValue::from_static("image/jpeg");
    response.headers_mut().insert(header::CONTENT_TYPE, kind);
    Ok(response)
}

async fn taken_of(app: &App, device: Device) -> Result<Bytes, Problem> {
    let asks = app.clone();
    let name = device.device.clone();
    let may = move || !asks.shut().holds(&name);
    if !may() {
        return Err(class_is_there());
    }
    let (plugged, still_may) = (Arc::clone(&app.plugged), may.clone());
    let taken = spawn_blocking(move || plugged.picture(&device, &still_may)).await;
    let taken = taken.map_err(|_| broken())?;
    // One that began meanwhile has not asked to be looked at.
    if !may() {
        return Err(class_is_there());
    }
    taken.map_err(|why| {
        Problem::new(Kind::Impossible, "this camera gives no picture now")
            .with("why", pages::why_word(why))
    })
}

/// What the station that uses a camera has of it, by the ring's one read like
/// everybody else's: two programs, or two parts of one, cannot read the same
/// camera, and without a class it is off.
async fn seen_by(app: &App, number: StationNumber) -> Result<Bytes, Problem> {
    let none = |why: &'static str, has: &str| {
        let detail = format!("station {number} uses this camera and {has}");
        Problem::new(Kind::Impossible, detail).with("why", why)
    };
    let hidden = || none("in-use", "has no picture to show");
    let station = Arc::clone(app.with_number(number).ok_or_else(hidden)?);
    if !station.captures() {
        return Err(none("off", "has it switched off"));
    }
    let (number, newest, chapter) = station.newest_seen().ok_or_else(hidden)?;
    let made = spawn_blocking(move || still::of_keyframe(&chapter.params, newest.access_unit()));
    let made = made.await.map_err(|_| broken())?;
    // Somebody may have hidden it meanwhile; and one that does not decode is none.
    made.ok()
        .filter(|_| station.is_seen_still(number))
        .ok_or_else(hidden)
}

async fn plugged_in(app: &App) -> Result<OnTheTable, Problem> {
    let (plugged, shut) = (Arc::clone(&app.plugged), app.shut());
    let class = shut == Shut::All;
    let devices = spawn_blocking(move || plugged.list(&shut)).await;
    let devices = devices.map_err(|_| broken())?;
    let used = app.usb.iter();
    let absent = used.filter(|(_, name)| !devices.iter().any(|device| device.is_at(name)));
    Ok(OnTheTable {
        absent: absent.cloned().collect(),
        class,
        devices: devices
            .into_iter()
            .map(|device| {
                let station = app.user_of(&device);
                (device, station)
            })
            .collect(),
    })
}

impl App {
    /// The cameras that are not to be opened here. A station's is its station's
    /// alone, which has it off without a class, in an accident, while leaving and
    /// where it is quiet. Any other has neither covers nor a station, and may look
    /// at children: while a class is there, or may be, it stays shut too.
    pub(super) fn shut(&self) -> Shut {
        let info = self.lesson.info();
        // In the demo's own class there is nobody.
        let class = info.class.is_some_and(|class| !class.demo);
        if class || info.asks.is_some() {
            return Shut::All;
        }
        let names = self.usb.iter().map(|(_, name)| name.clone());
        Shut::These(names.collect())
    }

    /// The station that uses a device.
    fn user_of(&self, device: &Device) -> Option<StationNumber> {
        let is_it = |name: &Path| device.is_at(name);
        let user = self.usb.iter().find(|(_, name)| is_it(name));
        user.map(|(number, _)| *number)
    }

    fn with_number(&self, number: StationNumber) -> Option<&Arc<Station>> {
        let mut stations = self.stations.iter();
        stations.find(|station| station.config().number == number)
    }
}

fn class_is_there() -> Problem {
    let detail = "a class is under way, and meanwhile only its stations take pictures; \
                  look through this camera when it is over";
    Problem::new(Kind::Impossible, detail).with("why", "class")
}

fn broken() -> Problem {
    Problem::new(Kind::Broken, "the cameras could not be looked at")
}
