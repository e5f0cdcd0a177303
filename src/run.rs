//! The wiring: settings in, a running server out.
//!
//! Not here: any rule. Each room has its own.

mod class;
pub mod https;
mod kept;
mod latencies;
mod network;
mod plan;
mod sound;
mod vault;

use std::{
    net::SocketAddr,
    path::{Path, PathBuf},
    sync::Arc,
    time::Duration,
};

use afterturn_core::{kernel::CaptureUs, scene::Size, wire::Part};
use tokio::{
    signal::unix::{SignalKind, signal},
    sync::{Semaphore, watch},
    task::spawn_blocking,
    time::{interval, sleep},
};

use crate::{
    av::{
        self,
        camera::{Camera, NowFn},
        encode::{Encoding, USUAL, steps},
        source::{
            demo::{DemoCamera, TruthSink},
            file::FileCamera,
            network::{NetworkCamera, NetworkSettings},
            usb::UsbCamera,
        },
        whip::{Publishing, camera::WhipCamera},
    },
    cli::Exit,
    host::{clock::BootClock, hygiene, parts::Parts, service},
    http::{self, App, Entrance, ThisMachine},
    lesson::{Lesson, LessonSettings, UnitInUse},
    settings::{CameraSettings, Settings, StationSettings, UsbSettings},
    station::{LOOK_EVERY, Memory, Station, StationConfig, supervise, watch_aim, watch_sight},
    store::{high_water, lines::Lines},
};

use latencies::{Latencies, Mark};
use plan::Plan;

/// Pictures a second of the built-in scene.
const DEMO_FPS: u32 = 30;

/// What a run is given beside its settings.
#[derive(Debug, Default)]
pub struct Extras {
    /// It is `afterturn demo`.
    pub demo: bool,
    /// Where the demo writes what its figures really did.
    pub truth: Option<PathBuf>,
}

/// Serves until a signal stops it.
pub async fn run(settings: Settings, extras: Extras) -> Exit {
    for warning in hygiene::settle() {
        tracing::warn!("{warning}");
    }
    if let Err(missing) = av::init() {
        tracing::error!("{missing}; install what is named and start again");
        return Exit::MissingPart;
    }
    let truth = match truth_sink(extras.truth) {
        Ok(truth) => truth,
        Err(exit) => return exit,
    };
    let listening = match listen(settings.listen).await {
        Ok(listening) => listening,
        Err(exit) => return exit,
    };
    let network = match network::open(&settings).await {
        Ok(network) => network,
        Err(exit) => return exit,
    };
    let publishing = match network::publishing(&settings).await {
        Ok(publishing) => publishing,
        Err(exit) => return exit,
    };
    let published = network::published(&settings).collect();
    let (clock, heard_of) = start_clock(settings.state_dir.as_deref());
    let now: NowFn = Arc::new(move || clock.now());
    let (stop, stopped) = watch::channel(false);
    let usb = settings.usb_devices();
    let clickers = settings.clickers();
    let plan = Plan::open(&settings, extras.demo);
    let mut parts = Parts::new(stopped.clone());
    let sound = sound::open(&settings, &mut parts);
    let encoding = settle_encoding(settings.encoder, &settings.stations).await;
    let memory = Arc::new(Memory::new(settings.memory_mb as usize * 1_000_000));
    let setups = class::setups(&settings.stations, &plan.sheets);
    let state_dir = settings.state_dir.as_deref();
    let mut latencies = state_dir.map_or_else(Latencies::default, Latencies::as_they_were);
    let cameras = Cameras {
        truth,
        encoding,
        publishing: publishing.clone(),
    };
    let looks = Arc::new(Semaphore::new(1));
    let mut stations = Vec::with_capacity(settings.stations.len());
    for station in settings.stations {
        let own = open(&station, &now, &memory);
        latencies.give(&own, Mark::of(&station.camera));
        stations.push(Arc::clone(&own));
        start_station(station, own, &cameras, &looks, &mut parts);
    }
    network::watch_publishing(publishing.as_ref(), &mut parts);
    let vault = settings.state_dir.as_deref().map(vault::open);
    let lesson = Lesson::open(LessonSettings {
        stations: stations.clone(),
        setups,
        in_words: class::in_words(&plan.sheets),
        unit: UnitInUse {
            sheets: Arc::clone(&plan.sheets),
            units: Arc::clone(&plan.units),
        },
        clocks: Arc::new(move || clock.readings()),
        state_dir: settings.state_dir.clone(),
        heard_of,
        demo: extras.demo,
        list: vault.as_ref().map(vault::list),
    });
    class::start(&lesson, &plan.sheets, &mut parts);
    let kept = settings.state_dir.as_deref().map(kept::door_as_it_was);
    let kept = kept.unwrap_or_default();
    if let Some(state_dir) = &settings.state_dir {
        keep_marks(state_dir, clock, latencies, &mut parts);
    }
    start_watches(&stations, &mut parts);
    let this_machine = this_machine(settings.this_machine_watches, extras.demo);
    let entrance = Entrance::new(kept, this_machine, Arc::clone(&now));
    announce(&listening, &entrance, extras.demo);
    if let Some(state_dir) = settings.state_dir {
        keep_door(state_dir, &entrance, &mut parts);
    }
    plan.start(&mut parts);
    let app = App::new(stations, lesson, entrance, extras.demo, stopped);
    let app = app
        .with_units(plan.units)
        .with_sheets(plan.sheets)
        .with_sound(sound)
        .with_usb(usb)
        .with_publishing(publishing, published)
        .with_clickers(clickers)
        .with_failures(parts.failures());
    let app = vault::attach(app, vault, now, &mut parts);
    let app = network.start(app, &mut parts);
    network::serve(listening, &app, &mut parts);
    service::ready();
    until_stopped(parts, stop).await
}

/// What cameras are made with.
struct Cameras {
    truth: Option<TruthSink>,
    encoding: Encoding,
    publishing: Option<Publishing>,
}

/// A station's camera, and who looks whether it was moved.
fn start_station(
    station: StationSettings,
    own: Arc<Station>,
    cameras: &Cameras,
    looks: &Arc<Semaphore>,
    parts: &mut Parts,
) {
    let part = Part::Station {
        number: station.number,
    };
    if can_be_moved(&station.camera) {
        let (own, looks) = (Arc::clone(&own), Arc::clone(looks));
        parts.run(part, move |stop| {
            watch_aim(Arc::clone(&own), Arc::clone(&looks), stop)
        });
    }
    let (truth, encoding) = (cameras.truth.clone(), cameras.encoding.clone());
    let publishing = cameras.publishing.clone();
    parts.run(part, move |stop| {
        let camera = camera(&station, truth.clone(), &encoding, publishing.as_ref());
        supervise(Arc::clone(&own), camera, stop)
    });
}

/// Keeps how far the clock has got, and what cameras are late by.
fn keep_marks(state_dir: &Path, clock: BootClock, latencies: Latencies, parts: &mut Parts) {
    let folder = state_dir.to_owned();
    parts.run(Part::Memory, move |stop| {
        kept::keep_mark(folder.clone(), clock, stop)
    });
    let (folder, latencies) = (state_dir.to_owned(), Arc::new(latencies));
    parts.run(Part::Memory, move |stop| {
        Arc::clone(&latencies).keep(folder.clone(), stop)
    });
}

/// Keeps who was let in.
fn keep_door(state_dir: PathBuf, entrance: &Arc<Entrance>, parts: &mut Parts) {
    let entrance = Arc::clone(entrance);
    parts.run(Part::Memory, move |stop| {
        kept::keep_door(state_dir.clone(), Arc::clone(&entrance), stop)
    });
}

/// Who looks at every picture from time to time, and who says that all is well.
fn start_watches(stations: &[Arc<Station>], parts: &mut Parts) {
    let seen = stations.to_vec();
    parts.run(Part::Sight, move |stop| {
        watch_sight(seen.clone(), LOOK_EVERY, stop)
    });
    if let Some(every) = service::watchdog_interval() {
        parts.run(Part::Service, move |stop| say_alive(every, stop));
    }
}

/// The address of the box's own browser.
async fn listen(address: SocketAddr) -> Result<http::Listening, Exit> {
    http::listen(address).await.map_err(|error| {
        tracing::error!("{address} cannot be used: {error}; is Afterturn running already?");
        Exit::Address
    })
}

/// What the box's own browser may.
const fn this_machine(watches: bool, demo: bool) -> ThisMachine {
    match watches {
        _ if demo => ThisMachine::IsTheTeacher,
        true => ThisMachine::Watches,
        false => ThisMachine::SignsIn,
    }
}

/// Lets everything run until a signal ends it.
async fn until_stopped(mut parts: Parts, stop: watch::Sender<bool>) -> Exit {
    asked_to_stop().await;
    service::stopping();
    tracing::info!("stopping");
    stop.send_replace(true);
    // The wiped memory is the process's own end; only replies are waited for.
    tokio::select! {
        () = async { while parts.one_is_over().await {} } => {}
        () = sleep(Duration::from_secs(4)) => tracing::warn!("some parts did not stop in time"),
    }
    Exit::Fine
}

fn announce(listening: &http::Listening, entrance: &Entrance, demo: bool) {
    let address = listening.address();
    if demo {
        println!("The demo is at http://{address}/  (Ctrl-C stops it)");
    } else if let Some(code) = entrance.first_code() {
        // To the console and never to the log: whoever reads a log later must
        // not find it there.
        println!("No passphrase is set. Open http://{address}/sign-in and type this code: {code}");
    }
    tracing::info!("serving at http://{address}/");
}

/// The clock, and when the box was last heard of.
fn start_clock(state_dir: Option<&Path>) -> (BootClock, Option<CaptureUs>) {
    let loaded = state_dir.map(high_water::load);
    if let Some(warning) = loaded.as_ref().and_then(|loaded| loaded.warning.as_ref()) {
        tracing::warn!("{warning}");
    }
    let mark = loaded.and_then(|loaded| loaded.mark);
    let clock = BootClock::start(mark);
    let ahead_s = clock.ahead_of_wall_us() / 1_000_000;
    if ahead_s > 60 {
        tracing::warn!("this machine's clock is {ahead_s} s behind an earlier run; check its date");
    }
    (clock, mark)
}

fn truth_sink(path: Option<PathBuf>) -> Result<Option<TruthSink>, Exit> {
    let Some(path) = path else { return Ok(None) };
    let lines = match Lines::append_to(&path) {
        Ok(lines) => std::sync::Mutex::new(lines),
        Err(error) => {
            tracing::error!("{}: cannot be written: {error}", path.display());
            return Err(Exit::Failed);
        }
    };
    Ok(Some(Arc::new(move |event| {
        let mut lines = lines
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        if let Err(error) = lines.add(event) {
            tracing::warn!("the ground truth cannot be written: {error}");
        }
    })))
}

/// Tries out the encoders before any camera waits for one, where one is sure to
/// be needed.
async fn settle_encoding(wish: Option<String>, stations: &[StationSettings]) -> Encoding {
    let sure = |station: &&StationSettings| {
        let camera = &station.camera;
        !matches!(camera, CameraSettings::Network(_) | CameraSettings::Whip)
    };
    let expected = stations.iter().filter(sure).count() as u32;
    let encoding = Encoding::new(wish, expected);
    if expected > 0 {
        let trial = encoding.clone();
        // Whatever comes of it, each camera that needs an encoder says.
        let _ = spawn_blocking(move || trial.afford(&steps(USUAL))).await;
    }
    encoding
}

/// Whether there is a device that somebody can knock or carry off.
const fn can_be_moved(camera: &CameraSettings) -> bool {
    !matches!(
        camera,
        CameraSettings::Demo { .. } | CameraSettings::File { .. }
    )
}

fn camera(
    station: &StationSettings,
    truth: Option<TruthSink>,
    encoding: &Encoding,
    publishing: Option<&Publishing>,
) -> Box<dyn Camera> {
    match &station.camera {
        CameraSettings::Whip => {
            let publishing = publishing.expect("opened where any station wants it");
            Box::new(WhipCamera::new(publishing.clone(), station.number))
        }
        CameraSettings::Demo { seed } => {
            Box::new(DemoCamera::new(*seed, Size::HD, DEMO_FPS, truth).encoded_by(encoding.clone()))
        }
        CameraSettings::File { path } => Box::new(FileCamera::new(path.clone(), encoding.clone())),
        CameraSettings::Usb(UsbSettings { device, wanted }) => {
            Box::new(UsbCamera::new(device.clone(), *wanted, encoding.clone()))
        }
        CameraSettings::Network(network) => {
            let password = network.password.as_ref();
            let settings = NetworkSettings {
                url: network.url.location().clone(),
                user: network.user.clone(),
                password: password.map(|secret| secret.expose().to_owned()),
            };
            Box::new(NetworkCamera::new(settings).encoded_by(encoding.clone()))
        }
    }
}

fn open(settings: &StationSettings, now: &NowFn, memory: &Arc<Memory>) -> Arc<Station> {
    let config = StationConfig {
        number: settings.number,
        title: settings.title.clone(),
        delay: settings.delay,
        window_ms: settings.window_ms,
        latency_ms: settings.latency_ms,
        demo: matches!(settings.camera, CameraSettings::Demo { .. }),
    };
    let station = Station::new(config, Arc::clone(now), memory);
    // It is an attempt's length already.
    let _ = station.set_attempt(u32::from(settings.attempt.get()));
    station
}

async fn say_alive(every: Duration, mut stop: watch::Receiver<bool>) {
    let mut tick = interval(every);
    loop {
        tokio::select! {
            _ = tick.tick() => service::alive(),
            _ = stop.wait_for(|stop| *stop) => return,
        }
    }
}

/// Ctrl-C, or the service manager.
async fn asked_to_stop() {
    let terminate = async {
        match signal(SignalKind::terminate()) {
            Ok(mut terminate) => {
                terminate.recv().await;
            }
            Err(_) => std::future::pending().await,
        }
    };
    tokio::select! {
        _ = tokio::signal::ctrl_c() => {}
        () = terminate => {}
    }
}
