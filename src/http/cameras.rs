//! The cameras that are plugged into the box, for whoever sets it up: a page
//! with a picture of each to tell them apart by, and the same for programs.
//!
//! Not here: finding cameras, or keeping a picture. One is taken when it is
//! asked for, goes out as it is, and is gone.

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
    devices::{self, Device, Why},
    modes::Mode,
};
use crate::av::still;
use crate::station::Station;

/// What is plugged in. All of it may take a second.
pub trait Plugged: Send + Sync {
    /// The cameras, in order; those of these names are not opened.
    fn list(&self, taken: &[PathBuf]) -> Vec<Device>;
    /// The one called `id`; not opened if it has one of these names.
    fn find(&self, id: &str, taken: &[PathBuf]) -> Option<Device>;
    /// A JPEG of one.
    fn picture(&self, device: &Device) -> Result<Bytes, Why>;
}

/// What is plugged into this machine.
pub(super) struct ThisMachine;

impl Plugged for ThisMachine {
    fn list(&self, taken: &[PathBuf]) -> Vec<Device> {
        devices::list(taken)
    }

    fn find(&self, id: &str, taken: &[PathBuf]) -> Option<Device> {
        devices::find(id, taken)
    }

    fn picture(&self, device: &Device) -> Result<Bytes, Why> {
        devices::picture(device)
    }
}

/// What there is to show: what is plugged in, and which station uses it.
pub(super) struct OnTheTable {
    pub(super) devices: Vec<(Device, Option<StationNumber>)>,
    /// Cameras of stations that are not plugged in.
    pub(super) absent: Vec<(StationNumber, PathBuf)>,
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
    /// The station that uses it. While that is on, it is not asked what it offers.
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

pub(super) async fn picture(app: &App, id: &str) -> Result<Response, Problem> {
    // One at a time: cameras share a cable, and a page asks for all at once.
    static ONE: Semaphore = Semaphore::const_new(1);
    let _turn = ONE.acquire().await.map_err(|_| broken())?;
    let (plugged, taken, id) = (Arc::clone(&app.plugged), app.taken(), id.to_owned());
    let found = spawn_blocking(move || plugged.find(&id, &taken)).await;
    let device = found
        .map_err(|_| broken())?
        .ok_or_else(|| Problem::new(Kind::NotFound, "no such camera is plugged in"))?;
    let user = app.user_of(&device).filter(|number| app.runs(*number));
    let jpeg = if let Some(station) = user {
        seen_by(app, station).await?
    } else {
        taken_of(app, device).await?
    };
    let mut response = Response::new(jpeg.into());
    let kind = HeaderValue::from_static("image/jpeg");
    response.headers_mut().insert(header::CONTENT_TYPE, kind);
    Ok(response)
}

async fn taken_of(app: &App, device: Device) -> Result<Bytes, Problem> {
    let plugged = Arc::clone(&app.plugged);
    let taken = spawn_blocking(move || plugged.picture(&device)).await;
    taken.map_err(|_| broken())?.map_err(|why| {
        Problem::new(Kind::Impossible, "this camera gives no picture now")
            .with("why", pages::why_word(why))
    })
}

/// What the station that uses a camera has of it: two programs, or two parts of
/// one, cannot read the same camera.
async fn seen_by(app: &App, number: StationNumber) -> Result<Bytes, Problem> {
    let none = || {
        let detail = format!("station {number} uses this camera and has no picture to show");
        Problem::new(Kind::Impossible, detail).with("why", "in-use")
    };
    let station = app.with_number(number).ok_or_else(none)?;
    let (params, keyframe) = station.seen_now().ok_or_else(none)?;
    let jpeg = spawn_blocking(move || still::of_keyframe(&params.params, keyframe)).await;
    jpeg.map_err(|_| broken())?.map_err(|_| none())
}

async fn plugged_in(app: &App) -> Result<OnTheTable, Problem> {
    let (plugged, taken) = (Arc::clone(&app.plugged), app.taken());
    let devices = spawn_blocking(move || plugged.list(&taken)).await;
    let devices = devices.map_err(|_| broken())?;
    let used = app.usb.iter();
    let absent = used.filter(|(_, name)| !devices.iter().any(|device| device.is_at(name)));
    Ok(OnTheTable {
        absent: absent.cloned().collect(),
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
    /// The devices that stations have open, or are about to, by the names the
    /// settings have for them.
    pub(super) fn taken(&self) -> Vec<PathBuf> {
        let open = self.usb.iter().filter(|(number, _)| self.runs(*number));
        open.map(|(_, name)| name.clone()).collect()
    }

    /// Whether a station's camera is on. Without a class it is nobody's.
    fn runs(&self, number: StationNumber) -> bool {
        self.with_number(number)
            .is_none_or(|station| station.captures())
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

fn broken() -> Problem {
    Problem::new(Kind::Broken, "the cameras could not be looked at")
}
