//! One screen: its socket, its clock, its habit, and what it got.
//!
//! It speaks as the page does: a greeting, a few exchanges of the clock, a wish,
//! reports. Not here: showing anything.

use std::{
    net::SocketAddr,
    sync::Arc,
    sync::atomic::{AtomicU8, Ordering},
    time::Duration,
};

use afterturn_core::kernel::CaptureUs;
use afterturn_core::wire::{FromScreen, FromServer};
use futures_util::{SinkExt as _, StreamExt as _};
use tokio::{
    net::{TcpSocket, TcpStream},
    time::{Instant, interval, sleep, sleep_until, timeout},
};
use tokio_tungstenite::{
    WebSocketStream, client_async_with_config,
    tungstenite::{Message, protocol::WebSocketConfig},
};

use crate::fragment::{self, Head};

/// How often the page reports.
const REPORT_EVERY: Duration = Duration::from_millis(250);
/// Exchanges of the clock at the start; the quickest counts.
const EXCHANGES: u32 = 8;
/// From one picture to the next for a screen that reads a quarter of thirty a second.
const SLOW_PICTURE: Duration = Duration::from_millis(133);
/// What the system may hold of a slow or stalled screen's pictures on its side.
const SMALL_BUFFER_BYTES: u32 = 4096;
/// A stalled screen's page is loaded anew after this: the server has closed its
/// socket by then, and there is to be one that stalls all the time.
const STALLS_FOR: Duration = Duration::from_secs(20);
/// What is due within this of a wish was late, or nearly, when it was asked for.
const SETTLED_US: i64 = 1_000_000;
/// Nothing is quiet for this long: a state comes every half second.
const PATIENCE: Duration = Duration::from_secs(20);

/// What a screen is like.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Habit {
    /// It reads all it is sent.
    Reads,
    /// It reads a quarter of it.
    Slow,
    /// It asks for pictures and never reads again.
    Stalls,
    /// It is cut off every few seconds, and comes back.
    Vanishes,
}

/// What is the same for all screens.
#[derive(Clone)]
pub(crate) struct Place {
    pub address: SocketAddr,
    pub delay_us: i64,
    /// When a screen's own clock stood at nothing.
    pub epoch: Instant,
    pub phase: Arc<Phase>,
}

/// Whether what happens counts.
#[derive(Default)]
pub(crate) struct Phase(AtomicU8);

impl Phase {
    const MEASURING: u8 = 1;
    const OVER: u8 = 2;

    pub(crate) fn measure(&self) {
        self.0.store(Self::MEASURING, Ordering::Relaxed);
    }

    pub(crate) fn end(&self) {
        self.0.store(Self::OVER, Ordering::Relaxed);
    }

    fn measuring(&self) -> bool {
        self.0.load(Ordering::Relaxed) == Self::MEASURING
    }

    fn over(&self) -> bool {
        self.0.load(Ordering::Relaxed) == Self::OVER
    }
}

/// What a screen got while it counted.
#[derive(Debug, Default)]
pub(crate) struct Tally {
    pub bytes: u64,
    /// How long before it was due each picture came; negative is late.
    pub leads_us: Vec<i64>,
    /// Pictures between two that came.
    pub missing: u64,
    /// Pictures that came again, or after a later one.
    pub out_of_order: u64,
    /// What the server said it left out.
    pub lost_said: u64,
    pub runs: u64,
    /// Sockets that the server closed.
    pub closed: u64,
    /// From a wish to the first picture, each time.
    pub first_after_us: Vec<i64>,
}

/// Why a screen stops reading.
enum End {
    Closed,
    Enough,
}

/// Watches until it is over.
pub(crate) async fn watch(habit: Habit, index: u32, place: Place) -> Result<Tally, String> {
    let mut tally = Tally::default();
    let phase = Arc::clone(&place.phase);
    let mut visit = 0;
    while !phase.over() {
        visit += 1;
        let small = matches!(habit, Habit::Slow | Habit::Stalls);
        let mut screen = Screen::open(&place, small).await?;
        match habit {
            Habit::Stalls => screen.stall().await?,
            Habit::Reads | Habit::Slow => {
                screen.tell_time().await?;
                screen.want().await?;
                let pause = (habit == Habit::Slow).then_some(SLOW_PICTURE);
                if let End::Closed = screen.read(&mut tally, pause, None).await? {
                    tally.closed += u64::from(phase.measuring());
                }
            }
            Habit::Vanishes => {
                screen.tell_time().await?;
                screen.want().await?;
                // Not all at the same moment.
                let stays = Duration::from_millis(2_500 + u64::from(index + visit) * 700 % 3_000);
                let until = Instant::now() + stays;
                screen.read(&mut tally, None, Some(until)).await?;
                screen.vanish()?;
                sleep(Duration::from_millis(500)).await;
            }
        }
    }
    Ok(tally)
}

struct Screen {
    socket: WebSocketStream<TcpStream>,
    place: Place,
    /// From its own clock to the server's.
    offset_us: i64,
    wanted_us: i64,
    last: Option<Head>,
}

impl Screen {
    async fn open(place: &Place, small: bool) -> Result<Self, String> {
        let failed = |error: &dyn std::fmt::Display| format!("no socket: {error}");
        let socket = TcpSocket::new_v4().map_err(|error| failed(&error))?;
        let mut config = WebSocketConfig::default();
        if small {
            // What it has in hand of its own is to be little, too.
            config = config.read_buffer_size(SMALL_BUFFER_BYTES as usize);
            socket
                .set_recv_buffer_size(SMALL_BUFFER_BYTES)
                .map_err(|error| failed(&error))?;
        }
        let url = format!("ws://{}/api/stations/1/view", place.address);
        let opening = async {
            let stream = socket.connect(place.address).await?;
            stream.set_nodelay(true)?;
            let opened = client_async_with_config(url, stream, Some(config)).await;
            opened.map_err(std::io::Error::other)
        };
        let opened = timeout(PATIENCE, opening).await;
        let opened = opened.map_err(|_| failed(&"no answer to the handshake"))?;
        let (socket, _) = opened.map_err(|error| failed(&error))?;
        let mut screen = Self {
            socket,
            place: place.clone(),
            offset_us: 0,
            wanted_us: 0,
            last: None,
        };
        match screen.heard().await? {
            FromServer::Hello { .. } => Ok(screen),
            other => Err(format!("a greeting comes first, not {other:?}")),
        }
    }

    fn local_us(&self) -> i64 {
        self.place.epoch.elapsed().as_micros() as i64
    }

    /// The server's clock, once it has been told.
    fn now_us(&self) -> i64 {
        self.local_us() + self.offset_us
    }

    async fn say(&mut self, said: &FromScreen) -> Result<(), String> {
        let text = serde_json::to_string(said).expect("a message is plain data");
        let sent = timeout(PATIENCE, self.socket.send(Message::text(text))).await;
        let sent = sent.map_err(|_| "the server takes nothing")?;
        sent.map_err(|error| format!("the server takes nothing: {error}"))
    }

    /// The next text.
    async fn heard(&mut self) -> Result<FromServer, String> {
        loop {
            let message = timeout(PATIENCE, self.socket.next()).await;
            match message.map_err(|_| "the server says nothing")? {
                Some(Ok(Message::Text(text))) => return read(&text),
                Some(Ok(_)) => {}
                Some(Err(error)) => return Err(format!("the socket broke: {error}")),
                None => return Err("the socket closed".to_owned()),
            }
        }
    }

    /// RFC 5905 §8: the offset from four timestamps; that of the quickest
    /// exchange is wrong by half its round trip at the most.
    async fn tell_time(&mut self) -> Result<(), String> {
        let mut quickest_us = i64::MAX;
        for _ in 0..EXCHANGES {
            let t1_us = self.local_us();
            self.say(&FromScreen::Clock { t1_us }).await?;
            let (t2_us, t3_us) = loop {
                if let FromServer::Clock { t2_us, t3_us, .. } = self.heard().await? {
                    break (t2_us.0 as i64, t3_us.0 as i64);
                }
            };
            let t4_us = self.local_us();
            let round_us = (t4_us - t1_us) - (t3_us - t2_us);
            if round_us < quickest_us {
                quickest_us = round_us;
                self.offset_us = i64::midpoint(t2_us - t1_us, t3_us - t4_us);
            }
        }
        Ok(())
    }

    async fn want(&mut self) -> Result<(), String> {
        self.wanted_us = self.now_us();
        self.say(&FromScreen::Want { from_us: None }).await
    }

    /// What it holds, and the picture that is due as the one on its glass. Its
    /// buffer ends a picture later than this says: no more is read than a time.
    async fn report(&mut self) -> Result<(), String> {
        let end = self.last.map(|last| CaptureUs(last.capture_us));
        let due_us = (self.now_us() - self.place.delay_us).max(0);
        let report = FromScreen::Report {
            buffer_end_us: end,
            glass_us: end.map(|end| end.min(CaptureUs(due_us as u64))),
            error_us: Some(0),
            dropped_pictures: 0,
        };
        self.say(&report).await
    }

    /// Asks for pictures and never reads again.
    async fn stall(&mut self) -> Result<(), String> {
        self.want().await?;
        let until = Instant::now() + STALLS_FOR;
        while Instant::now() < until && !self.place.phase.over() {
            sleep(Duration::from_millis(250)).await;
        }
        Ok(())
    }

    /// Reads, with a pause after each picture if it is a slow one.
    async fn read(
        &mut self,
        tally: &mut Tally,
        pause: Option<Duration>,
        until: Option<Instant>,
    ) -> Result<End, String> {
        let until = until.unwrap_or_else(|| Instant::now() + Duration::from_hours(24));
        let mut reports = interval(REPORT_EVERY);
        while !self.place.phase.over() {
            let message = tokio::select! {
                message = self.socket.next() => message,
                _ = reports.tick() => {
                    self.report().await?;
                    continue;
                }
                () = sleep_until(until) => return Ok(End::Enough),
            };
            match message {
                Some(Ok(Message::Binary(bytes))) if !fragment::is_init(&bytes) => {
                    self.picture(&bytes, tally)?;
                    if let Some(pause) = pause {
                        sleep(pause).await;
                    }
                }
                Some(Ok(Message::Text(text))) => self.told(read(&text)?, tally)?,
                Some(Ok(Message::Close(_)) | Err(_)) | None => return Ok(End::Closed),
                Some(Ok(_)) => {}
            }
        }
        Ok(End::Enough)
    }

    fn told(&self, said: FromServer, tally: &mut Tally) -> Result<(), String> {
        match said {
            FromServer::Refused { detail } => Err(format!("refused: {detail}")),
            FromServer::Lost { pictures } if self.place.phase.measuring() => {
                tally.lost_said += pictures;
                Ok(())
            }
            FromServer::Run { .. } if self.place.phase.measuring() => {
                tally.runs += 1;
                Ok(())
            }
            _ => Ok(()),
        }
    }

    fn picture(&mut self, bytes: &[u8], tally: &mut Tally) -> Result<(), String> {
        let head = fragment::head(bytes).ok_or("bytes that are no fragment")?;
        let now_us = self.now_us();
        let before = self.last.replace(head);
        if !self.place.phase.measuring() {
            return Ok(());
        }
        tally.bytes += bytes.len() as u64;
        match before.map(|before| head.number.wrapping_sub(before.number)) {
            None => tally.first_after_us.push(now_us - self.wanted_us),
            Some(1) => {}
            Some(on) if (2..1 << 31).contains(&on) => tally.missing += u64::from(on - 1),
            Some(_) => tally.out_of_order += 1,
        }
        let due_us = head.capture_us as i64 + self.place.delay_us;
        if due_us >= self.wanted_us + SETTLED_US {
            tally.leads_us.push(due_us - now_us);
        }
        Ok(())
    }

    /// Cuts the connection: no farewell, and a reset for whatever is under way.
    fn vanish(self) -> Result<(), String> {
        let socket = socket2::SockRef::from(self.socket.get_ref());
        let cut = socket.set_linger(Some(Duration::ZERO));
        cut.map_err(|error| error.to_string())
    }
}

fn read(text: &str) -> Result<FromServer, String> {
    serde_json::from_str(text).map_err(|error| format!("{error}: {text}"))
}
