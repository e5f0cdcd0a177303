//! The measurement: who comes when, and what is looked at meanwhile.
//!
//! Not here: judging or printing it.

use std::{sync::Arc, time::Duration};

use serde_json::Value;
use tokio::{
    task::JoinHandle,
    time::{Instant, sleep, timeout},
};

use crate::{
    gym::Gym,
    options::Options,
    process::{Process, tcp_bytes},
    screen::{Habit, Phase, Place, Tally, watch},
};

/// Screens do not all come in the same moment.
const APART: Duration = Duration::from_millis(20);
/// From the last that comes to the first that counts.
const SETTLES_IN: Duration = Duration::from_secs(3);
/// From the last that leaves to the last look at the memory.
const FORGETS_IN: Duration = Duration::from_secs(3);
/// A screen that has taken nothing for this long is stuck.
const STUCK_MS: u64 = 2_000;

/// What was found.
pub(crate) struct Measured {
    pub screens: Vec<(Habit, Tally)>,
    pub memory: Memory,
    pub tcp: Memory,
    pub ring_bytes: u64,
    pub shares: Shares,
    pub said: Said,
}

/// Bytes at some moments; `None` where this system does not say.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Memory {
    /// The ring is full, nobody watches.
    pub before: Option<u64>,
    /// All have come and settled.
    pub settled: Option<u64>,
    /// In the middle of the stretch, when every socket has met a large keyframe.
    pub middle: Option<u64>,
    /// The most of any second from then on.
    pub most: Option<u64>,
    /// At the end of the stretch.
    pub end: Option<u64>,
    /// All have left.
    pub after: Option<u64>,
}

/// Per cent of one core over the stretch.
pub(crate) struct Shares {
    pub server: Option<f64>,
    pub camera: Option<f64>,
    pub this: Option<f64>,
}

/// What the server said of its screens, asked once a second.
#[derive(Clone, Debug, Default)]
pub(crate) struct Said {
    /// Screens at the most.
    pub screens: usize,
    /// Of them stuck, at the most.
    pub stuck: usize,
    /// The longest that one was stuck.
    pub stuck_ms: u64,
    /// The most pictures that a stuck one had missed.
    pub stuck_lost: u64,
    /// At the end: the pictures each screen lost that lost any, stuck ones marked.
    pub lost: Vec<(u64, bool)>,
}

pub(crate) async fn measure(options: &Options) -> Result<Measured, String> {
    let gym = Gym::open(options).await?;
    eprintln!("filling a ring of {} s …", options.window_ms / 1000);
    gym.warm(options.window_ms).await?;
    let server = gym.server();
    let (mut memory, mut tcp) = (Memory::default(), Memory::default());
    (memory.before, tcp.before) = (server.resident_bytes(), tcp_bytes());

    let phase = Arc::new(Phase::default());
    let place = Place {
        address: gym.address(),
        delay_us: i64::from(options.delay_ms) * 1000,
        epoch: Instant::now(),
        phase: Arc::clone(&phase),
    };
    eprintln!("{} screens come …", options.viewers);
    let screens = come(options, &place).await;
    sleep(SETTLES_IN).await;
    (memory.settled, tcp.settled) = (server.resident_bytes(), tcp_bytes());
    (memory.most, tcp.most) = (memory.settled, tcp.settled);

    eprintln!("measuring for {} s …", options.seconds);
    let shares = [server, gym.camera(), Process::this()].map(Process::share);
    phase.measure();
    let stretch = Duration::from_secs(options.seconds);
    let until = Instant::now() + stretch;
    let mut said = Said::default();
    let mut ring_bytes = 0;
    while Instant::now() < until {
        sleep(Duration::from_secs(1).min(until - Instant::now())).await;
        let station = gym.station().await?;
        ring_bytes = station["ring_bytes"].as_u64().unwrap_or(0);
        said.hear(&station);
        memory.most = memory.most.max(server.resident_bytes());
        tcp.most = tcp.most.max(tcp_bytes());
        if until - Instant::now() > stretch / 2 || memory.middle.is_none() {
            (memory.middle, tcp.middle) = (server.resident_bytes(), tcp_bytes());
        }
    }
    phase.end();
    let [server_share, camera_share, this_share] = shares.map(|share| share.percent());
    (memory.end, tcp.end) = (server.resident_bytes(), tcp_bytes());
    let mut tallies = Vec::with_capacity(screens.len());
    for (habit, screen) in screens {
        let ended = timeout(Duration::from_secs(30), screen).await;
        let ended = ended.map_err(|_| "a screen does not end")?;
        let tally = ended.map_err(|error| error.to_string())?;
        tallies.push((habit, tally.map_err(|error| format!("{habit:?}: {error}"))?));
    }
    sleep(FORGETS_IN).await;
    (memory.after, tcp.after) = (server.resident_bytes(), tcp_bytes());
    Ok(Measured {
        screens: tallies,
        memory,
        tcp,
        ring_bytes,
        shares: Shares {
            server: server_share,
            camera: camera_share,
            this: this_share,
        },
        said,
    })
}

type Watching = JoinHandle<Result<Tally, String>>;

/// Those with habits come first: what they do is there from the start.
async fn come(options: &Options, place: &Place) -> Vec<(Habit, Watching)> {
    let habits = [
        (Habit::Stalls, options.stalled),
        (Habit::Slow, options.slow),
        (Habit::Vanishes, options.vanishing),
        (Habit::Reads, options.reading()),
    ];
    let mut screens = Vec::new();
    for (habit, count) in habits {
        for index in 0..count {
            let screen = tokio::spawn(watch(habit, index, place.clone()));
            screens.push((habit, screen));
            sleep(APART).await;
        }
    }
    screens
}

impl Said {
    fn hear(&mut self, station: &Value) {
        let none = Vec::new();
        let viewers = station["viewers"].as_array().unwrap_or(&none);
        let of = |viewer: &Value, what: &str| viewer[what].as_u64().unwrap_or(0);
        let is_stuck = |viewer: &&Value| of(viewer, "stuck_ms") >= STUCK_MS;
        let stuck: Vec<&Value> = viewers.iter().filter(is_stuck).collect();
        self.screens = self.screens.max(viewers.len());
        self.stuck = self.stuck.max(stuck.len());
        for viewer in stuck {
            self.stuck_ms = self.stuck_ms.max(of(viewer, "stuck_ms"));
            self.stuck_lost = self.stuck_lost.max(of(viewer, "lost_pictures"));
        }
        let lost = viewers
            .iter()
            .map(|viewer| (of(viewer, "lost_pictures"), is_stuck(&viewer)));
        self.lost = lost.filter(|(lost, _)| *lost > 0).collect();
    }
}
