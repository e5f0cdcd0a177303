//! The server with made-up cameras on the table, one for each thing that may be
//! said of one; station 3 uses one of them, and station 4's was left at home.
//! Prints `serving at …` when it can be looked at; ends when it is ended.
//!
//! Not here: a camera. The pictures are files, station 3's is the demo scene.

use std::{
    fs,
    path::{Path, PathBuf},
    sync::Arc,
    thread,
    time::Duration,
};

use afterturn::{
    av::{
        self,
        camera::NowFn,
        encode::Rate,
        source::{
            demo::DemoCamera,
            usb::{
                devices::{Device, Shut, Why},
                modes::{Form, Offer, Rates, Span},
            },
        },
    },
    door::Kept,
    host::clock::BootClock,
    http::{self, App, Entrance, Plugged, ThisMachine},
    lesson::{Lesson, LessonSettings, UnitInUse},
    station::{Memory, Station, StationConfig, supervise},
};
use afterturn_core::{
    kernel::{DelayMs, StationNumber},
    scene::Size,
    wire::InBoth,
};
use bytes::Bytes;
use clap::Parser;
use tokio::sync::watch;

/// Serves made-up cameras.
#[derive(Debug, Parser)]
struct Args {
    /// The JPEG that the cameras see.
    #[arg(long, value_name = "FILE")]
    picture: PathBuf,
}

/// As long as a real one takes, nearly.
const TAKES: Duration = Duration::from_millis(300);

/// How far back a ring reaches.
const WINDOW_MS: u32 = 10_000;

struct Table {
    picture: Bytes,
}

/// Id, name, what is wrong.
const CAMERAS: [(&str, &str, Option<Why>); 6] = [
    ("video0", "Gym Cam: HD USB camera", None),
    ("video2", "Wide angle 120°", None),
    ("video4", "Twin", Some(Why::Forbidden)),
    ("video6", "Old analogue grabber", Some(Why::NoForm)),
    ("video8", "Twin", Some(Why::Busy)),
    ("video10", "Sleeper", None),
];

/// The one that station 3 uses.
const USED: &str = "video2";
/// The one that opens and sends nothing.
const SILENT: &str = "video10";

fn name_of(id: &str) -> PathBuf {
    format!("/dev/v4l/by-id/usb-Example_Gym_Cam_{id}-video-index0").into()
}

fn offer(form: Form, width_px: u32, height_px: u32, fps: u32) -> Offer {
    Offer {
        form,
        width: Span::one(width_px),
        height: Span::one(height_px),
        rates: Rates::Some(Rate::new(fps, 1).into_iter().collect()),
    }
}

impl Plugged for Table {
    fn list(&self, shut: &Shut) -> Vec<Device> {
        let device = |(id, name, trouble): (&str, &str, Option<Why>)| {
            let device = name_of(id);
            let asked = trouble.is_none() && !shut.holds(&device);
            let offers = if asked {
                vec![
                    offer(Form::Jpeg, 1920, 1080, 30),
                    offer(Form::Raw("YUY2"), 640, 480, 30),
                ]
            } else {
                Vec::new()
            };
            Device {
                id: id.to_owned(),
                device,
                name: name.to_owned(),
                offers,
                trouble,
            }
        };
        CAMERAS.into_iter().map(device).collect()
    }

    fn find(&self, id: &str, shut: &Shut) -> Option<Device> {
        self.list(shut).into_iter().find(|device| device.id == id)
    }

    fn picture(&self, device: &Device, _: &dyn Fn() -> bool) -> Result<Bytes, Why> {
        thread::sleep(TAKES);
        if device.id == SILENT {
            return Err(Why::Silent);
        }
        device.trouble.map_or_else(|| Ok(self.picture.clone()), Err)
    }
}

fn station(number: StationNumber, now: &NowFn) -> Arc<Station> {
    let config = StationConfig {
        number,
        title: "Low beam".to_owned(),
        delay: DelayMs::new(2_000, WINDOW_MS).expect("the window allows it"),
        window_ms: WINDOW_MS,
        latency_ms: 0,
        demo: true,
    };
    Station::new(config, Arc::clone(now), &Arc::new(Memory::new(100_000_000)))
}

async fn serve(picture: &Path) -> Result<(), String> {
    av::init().map_err(|missing| missing.to_string())?;
    let picture = fs::read(picture).map_err(|error| format!("{}: {error}", picture.display()))?;
    let number = |n: i64| StationNumber::try_from(n).expect("3 and 4 are numbers of stations");
    let clock = BootClock::start(None);
    let now: NowFn = Arc::new(move || clock.now());
    // Held to the end of the process, which somebody else brings about.
    let (_stop, stopped) = watch::channel(false);
    let used = station(number(3), &now);
    let camera = Box::new(DemoCamera::new(3, Size::HD, 30, None));
    tokio::spawn(supervise(Arc::clone(&used), camera, stopped.clone()));
    let address = ([127, 0, 0, 1], 0).into();
    let listening = http::listen(address).await.map_err(|e| e.to_string())?;
    println!("serving at http://{}/", listening.address());
    let entrance = Entrance::new(Kept::default(), ThisMachine::IsTheTeacher, Arc::clone(&now));
    let stations = vec![used, station(number(4), &now)];
    let lesson = Lesson::open(LessonSettings {
        stations: stations.clone(),
        setups: Arc::new(|_, _| Vec::new()),
        in_words: Arc::new(|line| InBoth {
            en: line.to_owned(),
            es: line.to_owned(),
        }),
        unit: UnitInUse::default(),
        clocks: Arc::new(move || clock.readings()),
        state_dir: None,
        heard_of: None,
        demo: true,
        list: None,
    });
    let app = App::new(stations, lesson, entrance, false, stopped.clone())
        .with_plugged(Arc::new(Table {
            picture: picture.into(),
        }))
        .with_usb(vec![
            (number(3), name_of(USED)),
            (number(4), name_of("left_at_home")),
        ]);
    listening.serve(app, stopped).await;
    Ok(())
}

#[tokio::main]
async fn main() {
    if let Err(error) = serve(&Args::parse().picture).await {
        eprintln!("{error}");
        std::process::exit(1);
    }
}
