//! The cameras that are plugged into the box, for whoever sets it up: a page
//! with a picture of each to tell them apart by, and the same for programs.
//!
//! Not here: finding cameras, or keeping a picture. One is taken when it is
//! asked for, goes out as it is, and is gone.

use std::sync::Arc;

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
use crate::av::{
    camera::CameraError,
    source::usb::{
        devices::{self, Device},
        modes::Mode,
    },
};

/// What is plugged in. Both may take a second.
pub trait Plugged: Send + Sync {
    /// The cameras, in order.
    fn list(&self) -> Vec<Device>;
    /// A JPEG of one; `None` where there is no such camera.
    fn picture(&self, id: &str) -> Option<Result<Bytes, CameraError>>;
}

/// What is plugged into this machine.
pub(super) struct ThisMachine;

impl Plugged for ThisMachine {
    fn list(&self) -> Vec<Device> {
        devices::list()
    }

    fn picture(&self, id: &str) -> Option<Result<Bytes, CameraError>> {
        devices::picture(id)
    }
}

/// `GET /api/devices`.
#[derive(Serialize)]
struct DeviceList {
    devices: Vec<DeviceInfo>,
}

#[derive(Serialize)]
struct DeviceInfo {
    /// For the address of its picture.
    id: String,
    /// What to write as `device` in the config file.
    device: String,
    name: String,
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

impl From<&Device> for DeviceInfo {
    fn from(device: &Device) -> Self {
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
        }
    }
}

pub(super) async fn list(app: &App) -> Result<Response, Problem> {
    let devices = plugged_in(app).await?;
    let devices = devices.iter().map(DeviceInfo::from).collect();
    Ok(warp::reply::json(&DeviceList { devices }).into_response())
}

pub(super) async fn page(app: &App, language: Language) -> Result<Response, Problem> {
    Ok(pages::cameras(app, language, &plugged_in(app).await?))
}

pub(super) async fn picture(app: &App, id: &str) -> Result<Response, Problem> {
    // One at a time: cameras share a cable, and a page asks for all at once.
    static ONE: Semaphore = Semaphore::const_new(1);
    let _turn = ONE.acquire().await.map_err(|_| broken())?;
    let (plugged, id) = (Arc::clone(&app.plugged), id.to_owned());
    let taken = spawn_blocking(move || plugged.picture(&id)).await;
    let jpeg = taken
        .map_err(|_| broken())?
        .ok_or_else(|| Problem::new(Kind::NotFound, "no such camera is plugged in"))?
        .map_err(|error| Problem::new(Kind::Impossible, error.detail))?;
    let mut response = Response::new(jpeg.into());
    let kind = HeaderValue::from_static("image/jpeg");
    response.headers_mut().insert(header::CONTENT_TYPE, kind);
    Ok(response)
}

async fn plugged_in(app: &App) -> Result<Vec<Device>, Problem> {
    let plugged = Arc::clone(&app.plugged);
    spawn_blocking(move || plugged.list())
        .await
        .map_err(|_| broken())
}

fn broken() -> Problem {
    Problem::new(Kind::Broken, "the cameras could not be looked at")
}
