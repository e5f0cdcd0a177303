//! What the server tests stand on: a whole server in this process on a port of
//! its own, cameras that follow a script, and screens that are real WebSocket
//! clients.
//!
//! Not here: what a screen should be told.

#![allow(
    dead_code,
    reason = "several test programs stand on it, and none uses all of it"
)]

use std::{net::SocketAddr, sync::Arc, time::Duration};

use afterturn::{
    av::{
        camera::{AvcConfig, Camera, CameraError, CameraEvent, EventSink, NowFn, Picture, Running},
        source::usb::devices::{Device, Shut, Why},
    },
    door::Kept,
    host::clock::BootClock,
    http::{self, App, Entrance, Plugged, ThisMachine},
    lesson::{By, Lesson, LessonSettings, Setups, UnitInUse},
    settings::Clickers,
    station::{Memory, Station, StationConfig, supervise},
};
use afterturn_core::{
    kernel::{CaptureUs, DelayMs},
    media::stamp::SourceStamp,
    rotation::{Hands, StationPlan},
    wire::{FromServer, ScreenClass, Sheet},
};
use bytes::Bytes;
use futures_util::{SinkExt, StreamExt};
use tokio::{
    net::TcpStream,
    sync::watch,
    task::JoinHandle,
    time::{Instant, MissedTickBehavior, interval, timeout_at},
};
use tokio_tungstenite::{
    MaybeTlsStream, WebSocketStream, connect_async,
    tungstenite::{self, Message, client::IntoClientRequest},
};

/// Longer than anything here takes on a busy machine; only a failure waits it out.
pub(crate) const PATIENCE: Duration = Duration::from_secs(20);

/// From one scripted picture to the next.
pub(crate) const PICTURE_US: i64 = 33_333;

/// 1280×720, Main profile, as x264 writes it.
const AVCC: &[u8] = &[
    0x01, 0x4d, 0x40, 0x1f, 0xff, 0xe1, 0x00, 0x19, 0x67, 0x4d, 0x40, 0x1f, 0xd9, 0x00, 0x50, 0x05,
    0xbb, 0x01, 0x10, 0x00, 0x00, 0x03, 0x00, 0x10, 0x00, 0x00, 0x03, 0x03, 0xc0, 0xf1, 0x83, 0x24,
    0x80, 0x01, 0x00, 0x05, 0x68, 0xeb, 0xc3, 0xcb, 0x20,
];

/// Thirty pictures a second, a keyframe a second; nobody here decodes them.
pub(crate) struct Scripted;

struct Playing(JoinHandle<()>);
impl Running for Playing {}
impl Drop for Playing {
    fn drop(&mut self) {
        self.0.abort();
    }
}

impl Camera for Scripted {
    fn kind(&self) -> &'static str {
        "scripted"
    }

    fn start(&mut self, now: NowFn, events: EventSink) -> Result<Box<dyn Running>, CameraError> {
        Ok(Box::new(Playing(tokio::spawn(async move {
            events(CameraEvent::Format(AvcConfig(Bytes::from_static(AVCC))));
            let mut tick = interval(Duration::from_micros(PICTURE_US as u64));
            // A busy machine makes pictures late, not fewer.
            tick.set_missed_tick_behavior(MissedTickBehavior::Burst);
            for number in 0_u64.. {
                tick.tick().await;
                events(CameraEvent::Picture(Picture {
                    source: SourceStamp::PipelineNs(number * PICTURE_US as u64 * 1000),
                    arrival: now(),
                    keyframe: number.is_multiple_of(30),
                    data: Bytes::from(vec![0; 100]),
                }));
            }
        }))))
    }
}

/// Two cameras beside the box: one that gives a picture and one that is busy.
struct Beside;
impl Plugged for Beside {
    fn list(&self, _: &Shut) -> Vec<Device> {
        let camera = |id: &str| Device {
            id: id.to_owned(),
            device: format!("/dev/{id}").into(),
            name: "Gym Cam".to_owned(),
            offers: Vec::new(),
            trouble: None,
        };
        vec![camera("video0"), camera("video2")]
    }

    fn find(&self, id: &str, shut: &Shut) -> Option<Device> {
        self.list(shut).into_iter().find(|device| device.id == id)
    }

    fn picture(&self, device: &Device, _: &dyn Fn() -> bool) -> Result<Bytes, Why> {
        match &*device.id {
            "video0" => Ok(Bytes::from_static(b"\xff\xd8\xff\xd9")),
            _ => Err(Why::Busy),
        }
    }
}

/// A running server. Stops when dropped.
pub(crate) struct Gym {
    pub(crate) address: SocketAddr,
    pub(crate) now: NowFn,
    pub(crate) client: reqwest::Client,
    pub(crate) entrance: Arc<Entrance>,
    #[allow(dead_code, reason = "for tests that reach behind the server")]
    pub(crate) stations: Vec<Arc<Station>>,
    stop: watch::Sender<bool>,
    serving: JoinHandle<()>,
}

impl Gym {
    /// A server with these cameras at stations 1, 2 and so on, at a delay of one
    /// second, so that pictures go out as they come.
    pub(crate) async fn open(cameras: Vec<Box<dyn Camera>>) -> Self {
        let teacher = ThisMachine::IsTheTeacher;
        Self::with_door(cameras, Kept::default(), teacher, Clickers::default()).await
    }

    /// The same with a door as it was left, and what the keys of its screens may do.
    pub(crate) async fn with_door(
        cameras: Vec<Box<dyn Camera>>,
        kept: Kept,
        this_machine: ThisMachine,
        clickers: Clickers,
    ) -> Self {
        let clock = BootClock::start(None);
        let now: NowFn = Arc::new(move || clock.now());
        let (stop, stopped) = watch::channel(false);
        let mut stations = Vec::new();
        let memory = Arc::new(Memory::new(1_000_000_000));
        for (number, camera) in (1_i64..).zip(cameras) {
            let config = StationConfig {
                number: number.try_into().unwrap(),
                title: format!("Low beam {number}"),
                delay: DelayMs::new(1_000, 30_000).unwrap(),
                window_ms: 30_000,
                latency_ms: 0,
                demo: false,
            };
            let station = Station::new(config, Arc::clone(&now), &memory);
            tokio::spawn(supervise(Arc::clone(&station), camera, stopped.clone()));
            stations.push(station);
        }
        let listening = http::listen("127.0.0.1:0".parse().unwrap()).await.unwrap();
        let address = listening.address();
        let visitors = Entrance::new(kept, this_machine, Arc::clone(&now));
        let lesson = lesson(&stations, clock).await;
        tokio::spawn(Arc::clone(&lesson).run(stopped.clone()));
        let app = App::new(
            stations.clone(),
            lesson,
            Arc::clone(&visitors),
            false,
            stopped.clone(),
        )
        .with_plugged(Arc::new(Beside))
        .with_clickers(clickers);
        Self {
            address,
            now,
            client: reqwest::Client::builder()
                .no_proxy()
                .redirect(reqwest::redirect::Policy::none())
                .build()
                .unwrap(),
            entrance: visitors,
            stations,
            stop,
            serving: tokio::spawn(async move { listening.serve(app, stopped).await }),
        }
    }

    pub(crate) async fn with_one() -> Self {
        Self::open(vec![Box::new(Scripted)]).await
    }

    pub(crate) fn url(&self, path: &str) -> String {
        format!("http://{}{path}", self.address)
    }

    /// What a JSON address says.
    pub(crate) async fn json(&self, path: &str) -> serde_json::Value {
        let response = self.client.get(self.url(path)).send().await.unwrap();
        assert!(
            response.status().is_success(),
            "{path}: {}",
            response.status()
        );
        serde_json::from_str(&response.text().await.unwrap()).unwrap()
    }

    /// Asks again until it is so.
    pub(crate) async fn json_until(
        &self,
        path: &str,
        is_so: impl Fn(&serde_json::Value) -> bool,
    ) -> serde_json::Value {
        let until = Instant::now() + PATIENCE;
        loop {
            let said = self.json(path).await;
            if is_so(&said) {
                return said;
            }
            assert!(Instant::now() < until, "{path} still says {said}");
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// A handshake with headers of its own; the status that refuses it.
    pub(crate) async fn knock(
        &self,
        station: u8,
        headers: &[(&'static str, &str)],
    ) -> Result<Screen, u16> {
        let path = format!("/api/stations/{station}/view");
        self.knock_at(&path, headers).await
    }

    /// The same at any path.
    pub(crate) async fn knock_at(
        &self,
        path: &str,
        headers: &[(&'static str, &str)],
    ) -> Result<Screen, u16> {
        let url = format!("ws://{}{path}", self.address);
        let mut request = url.into_client_request().unwrap();
        for (name, value) in headers {
            request.headers_mut().insert(*name, value.parse().unwrap());
        }
        match connect_async(request).await {
            Ok((socket, _)) => Ok(Screen {
                socket,
                vouched: Vec::new(),
                classes: Vec::new(),
                sheets: Vec::new(),
            }),
            Err(tungstenite::Error::Http(response)) => Err(response.status().as_u16()),
            Err(error) => panic!("no answer to the handshake: {error}"),
        }
    }

    pub(crate) async fn screen(&self, station: u8) -> Screen {
        self.knock(station, &[]).await.unwrap()
    }

    /// Tells it to stop; it has to within the time a run gives it.
    pub(crate) async fn close(self) {
        self.stop.send_replace(true);
        let within = Duration::from_secs(4);
        let ended = tokio::time::timeout(within, self.serving).await;
        ended.expect("the server stops in time").unwrap();
    }
}

/// A lesson over the stations that writes nothing down, in a long warm-up: cameras on.
async fn lesson(stations: &[Arc<Station>], clock: BootClock) -> Arc<Lesson> {
    let lesson = Lesson::open(LessonSettings {
        stations: stations.to_vec(),
        setups: setups(stations),
        in_words: Arc::new(|line| afterturn_core::wire::InBoth {
            en: line.to_owned(),
            es: line.to_owned(),
        }),
        unit: UnitInUse::default(),
        clocks: Arc::new(move || clock.readings()),
        state_dir: None,
        heard_of: None,
        demo: false,
        list: None,
    });
    let start = serde_json::json!({
        "id": "s", "class": "3B", "children": 12, "not_shown": [],
        "times": {
            "warm_up_s": 3600, "briefing_s": 0, "work_s": 240, "last_turn_s": 20,
            "gather_s": 10, "walk_s": 20, "closing_s": 0,
        },
    });
    let start = serde_json::from_value(start).unwrap();
    let started = lesson.start(&start, By::Teacher).await.unwrap();
    assert!(started.asks.is_empty());
    lesson
}

fn setups(stations: &[Arc<Station>]) -> Setups {
    let plan = |station: &Arc<Station>| StationPlan {
        number: station.config().number,
        setup: station.config().title.clone(),
        in_pairs: false,
        hands: Hands::None,
    };
    let plans: Vec<_> = stations.iter().map(plan).collect();
    Arc::new(move |_, _| plans.clone())
}

/// A station's screen, without a browser.
pub(crate) struct Screen {
    pub(crate) socket: WebSocketStream<MaybeTlsStream<TcpStream>>,
    /// Moments at which the server vouched for what it had said; they come all
    /// the time and are kept out of what the tests read in order.
    pub(crate) vouched: Vec<CaptureUs>,
    /// What it was told of the class, kept out likewise.
    pub(crate) classes: Vec<ScreenClass>,
    /// What it was to show beside the pictures; kept apart likewise.
    pub(crate) sheets: Vec<Sheet>,
}

/// What a screen heard.
#[derive(Debug)]
#[allow(clippy::large_enum_variant, reason = "each is looked at and gone")]
pub(crate) enum Heard {
    Said(FromServer),
    Bytes(Bytes),
    /// The socket closed or broke.
    Closed,
}

impl Screen {
    pub(crate) async fn say(&mut self, text: &str) {
        self.socket.send(Message::text(text)).await.unwrap();
    }

    pub(crate) async fn want(&mut self) {
        self.say(r#"{"type":"want","from_us":null}"#).await;
    }

    pub(crate) async fn report(&mut self, buffer_end: CaptureUs) {
        let end = buffer_end.0;
        self.say(&format!(
            r#"{{"type":"report","buffer_end_us":{end},"glass_us":null,"error_us":null,"dropped_pictures":0}}"#
        ))
        .await;
    }

    /// The next message, if one comes before `until`.
    pub(crate) async fn next_before(&mut self, until: Instant) -> Option<Heard> {
        loop {
            let message = timeout_at(until, self.socket.next()).await.ok()?;
            return Some(match message {
                None | Some(Err(_) | Ok(Message::Close(_))) => Heard::Closed,
                Some(Ok(Message::Text(text))) => {
                    let said = serde_json::from_str(&text);
                    match said.unwrap_or_else(|error| panic!("{error}: {text}")) {
                        FromServer::Holds { at_us } => {
                            self.vouched.push(at_us);
                            continue;
                        }
                        FromServer::Class(class) => {
                            self.classes.push(class);
                            continue;
                        }
                        FromServer::Sheet(sheet) => {
                            self.sheets.push(*sheet);
                            continue;
                        }
                        // Nothing of it is about pictures.
                        FromServer::Sound(_) => continue,
                        said => Heard::Said(said),
                    }
                }
                Some(Ok(Message::Binary(bytes))) => Heard::Bytes(bytes),
                Some(Ok(_)) => continue,
            });
        }
    }

    pub(crate) async fn next(&mut self) -> Heard {
        let until = Instant::now() + PATIENCE;
        self.next_before(until).await.expect("a message in time")
    }

    /// The next message that is no state: those come at any time.
    pub(crate) async fn next_but_state(&mut self) -> Heard {
        loop {
            match self.next().await {
                Heard::Said(FromServer::State(_)) => {}
                heard => return heard,
            }
        }
    }
}
