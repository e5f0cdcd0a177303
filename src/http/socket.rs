//! Carries one station's pictures to one screen: does the steps the station's
//! [`Watch`] decides on, passes on what the screen says.
//!
//! One task a screen, and no queue: the next step is asked for when the socket
//! has taken the last one. Not here: any rule about what is sent when.

use std::{sync::Arc, time::Duration};

use afterturn_core::{
    delay::{Step, Who},
    kernel::CaptureUs,
    rotation::{Click, ClickedAt},
    wire::{AgainAsk, FromScreen, FromServer, Language, PROTOCOL, Sheet, ViewerInfo},
};
use futures_util::{FutureExt, SinkExt, StreamExt, stream::SplitSink, stream::SplitStream};
use tokio::{sync::watch, time::Instant, time::timeout};
use warp::ws::{Message, WebSocket};

use super::{BUILD, Entrance, class::is_id, sound::Ear};
use crate::door::{Action, Pass};
use crate::lesson::Lesson;
use crate::settings::Clicker;
use crate::sound::Sound;
use crate::station::{Station, Watch};
use crate::units::Sheets;

/// At least this often a screen hears how its station is.
const HEARTBEAT: Duration = Duration::from_millis(500);
/// How often the server vouches for what it has said about what may be seen. A
/// screen bears several of these late or missing before it covers itself.
const VOUCH: Duration = Duration::from_millis(50);
/// A socket that takes nothing for this long is closed; its page comes back by
/// itself if it still lives.
const STUCK: Duration = Duration::from_secs(15);

/// What one screen may say in a second. A page says thirty things at most; one
/// whose line was stuck says what has gathered, and is still far below this.
const MOST_SAID_EACH_S: u32 = 300;

/// How long the last word to a screen may take.
const LAST_WORD: Duration = Duration::from_millis(300);

/// Why a socket's task ends.
enum End {
    /// The other side closed, vanished or stopped reading.
    Gone,
    /// It said something that makes no sense.
    Nonsense(String),
    /// It may not watch any more.
    Removed,
}

type Result<T> = std::result::Result<T, End>;

/// Serves one screen until it goes or the server stops.
pub(super) async fn serve(
    ws: WebSocket,
    station: Arc<Station>,
    seat: Seat,
    mut stop: watch::Receiver<bool>,
) {
    let (out, heard) = ws.split();
    let watch = Watch::new(&station);
    let number = Some(station.config().number);
    let ear = Ear::new(&seat.sound, &seat.lesson, seat.pass, number);
    let mut socket = Socket {
        out,
        heard,
        watch,
        station,
        let_in: seat.entrance.changes(),
        class: seat.lesson.changes(),
        sheets_changed: seat.sheets.changes(),
        sheet: None,
        ear,
        seat,
        beat: Instant::now(),
        vouch: Instant::now(),
        said: (Instant::now(), 0),
    };
    let ended = tokio::select! {
        biased;
        _ = stop.wait_for(|stop| *stop) => End::Gone,
        ended = socket.run() => ended,
    };
    if let End::Nonsense(detail) = ended {
        tracing::debug!(
            station = socket.station.config().number.get(),
            detail,
            "socket refused"
        );
        let _ = socket.say(&FromServer::Refused { detail }).await;
    } else if let End::Removed = ended {
        let _ = timeout(LAST_WORD, socket.say(&FromServer::Removed)).await;
    }
    let _ = timeout(Duration::from_secs(1), socket.out.close()).await;
}

/// Whose socket it is, asked again while it runs.
pub(super) struct Seat {
    pub(super) lesson: Arc<Lesson>,
    pub(super) entrance: Arc<Entrance>,
    pub(super) pass: Pass,
    /// What the keys of its screen may do.
    pub(super) clicker: Clicker,
    pub(super) sheets: Arc<Sheets>,
    pub(super) sound: Arc<Sound>,
    /// The language the page was opened in.
    pub(super) language: Language,
}

impl Seat {
    fn may_watch(&self, station: &Station) -> bool {
        self.may(Action::Watch, station)
    }

    fn may(&self, action: Action, station: &Station) -> bool {
        let number = Some(station.config().number);
        let grant = self.entrance.still(self.pass);
        grant.is_some_and(|grant| grant.may(action, number))
    }
}

struct Socket {
    seat: Seat,
    /// Told when somebody was let in or sent away.
    let_in: watch::Receiver<()>,
    /// Told when there is news of the class.
    class: watch::Receiver<()>,
    /// Told when other sheets were chosen.
    sheets_changed: watch::Receiver<()>,
    /// The one the screen has.
    sheet: Option<Sheet>,
    ear: Ear,
    out: SplitSink<WebSocket, Message>,
    heard: SplitStream<WebSocket>,
    watch: Watch,
    station: Arc<Station>,
    /// When the next state is due.
    beat: Instant,
    /// When the next word is due that all of it holds.
    vouch: Instant,
    /// What it has said in the second that began then.
    said: (Instant, u32),
}

impl Socket {
    async fn run(&mut self) -> End {
        match self.go().await {
            Ok(never) => match never {},
            Err(end) => end,
        }
    }

    async fn go(&mut self) -> Result<std::convert::Infallible> {
        let hello = FromServer::Hello {
            protocol: PROTOCOL,
            build: BUILD.to_owned(),
            station: self.station.config().number.get(),
            now_us: self.station.now(),
        };
        self.say(&hello).await?;
        self.sheets_changed.mark_changed();
        loop {
            // What the screen says comes first: a report or a new wish changes
            // which step is next.
            while let Some(message) = self.heard.next().now_or_never() {
                self.hear(message).await?;
            }
            // Every half second too: a session also ends by itself.
            if self.let_in.has_changed().unwrap_or(false) || Instant::now() >= self.beat {
                self.let_in.mark_unchanged();
                if !self.seat.may_watch(&self.station) {
                    return Err(End::Removed);
                }
            }
            let beat = Instant::now() >= self.beat;
            if beat || self.class.has_changed().unwrap_or(false) {
                self.class.mark_unchanged();
                let number = self.station.config().number;
                let class = self.seat.lesson.screen(number);
                self.say(&FromServer::Class(class)).await?;
            }
            if self.watch.take_news() || beat {
                self.beat = Instant::now() + HEARTBEAT;
                self.say(&FromServer::State(self.station.state())).await?;
            }
            if self.sheets_changed.has_changed().unwrap_or(false) {
                self.sheets_changed.mark_unchanged();
                self.show_sheet().await?;
            }
            if let Some(news) = self.ear.news() {
                self.say(&news).await?;
            }
            let at_us = self.station.now();
            let step = self.watch.step();
            // A step looks at what may be seen first of all. So unless it is to
            // cover something, there was nothing more to say at that moment.
            if !matches!(step, Step::Cover(..)) && Instant::now() >= self.vouch {
                self.vouch = Instant::now() + VOUCH;
                self.say(&FromServer::Holds { at_us }).await?;
            }
            match step {
                Step::Wait => self.pause(None).await?,
                Step::Until(until) => self.pause(Some(until)).await?,
                Step::Run { chapter, from } => {
                    let params = &chapter.params;
                    self.say(&FromServer::Run {
                        mime: params.mime.clone(),
                        width_px: params.width_px,
                        height_px: params.height_px,
                        from_us: from,
                    })
                    .await?;
                    self.put(Message::binary(params.init.clone())).await?;
                }
                Step::Send(fragment) => self.put(Message::binary(fragment.bytes)).await?,
                Step::Lost(pictures) => self.say(&FromServer::Lost { pictures }).await?,
                Step::Cover(applies, reason) => {
                    self.say(&FromServer::Cover { applies, reason }).await?;
                }
            }
        }
    }

    /// Waits for whatever comes first: the moment, news, something the server
    /// owes the screen, or the screen speaking.
    async fn pause(&mut self, until: Option<CaptureUs>) -> Result<()> {
        let more = async {
            match until {
                Some(until) => self.watch.wait_until(until).await,
                None => self.watch.wait_for_more().await,
            }
        };
        let message = tokio::select! {
            message = self.heard.next() => Some(message),
            () = more => None,
            _ = self.let_in.changed() => {
                self.let_in.mark_changed();
                None
            }
            _ = self.class.changed() => {
                self.class.mark_changed();
                None
            }
            _ = self.sheets_changed.changed() => {
                self.sheets_changed.mark_changed();
                None
            }
            () = self.ear.changed() => None,
            () = tokio::time::sleep_until(self.beat.min(self.vouch)) => None,
        };
        match message {
            Some(message) => self.hear(message).await,
            None => Ok(()),
        }
    }

    async fn hear(
        &mut self,
        message: Option<std::result::Result<Message, warp::Error>>,
    ) -> Result<()> {
        let message = match message {
            None => return Err(End::Gone),
            Some(Ok(message)) => message,
            // Too long or malformed; or the connection broke, and then the
            // refusal goes nowhere.
            Some(Err(error)) => return Err(End::Nonsense(error.to_string())),
        };
        if message.is_close() {
            return Err(End::Gone);
        }
        self.count()?;
        let Ok(text) = message.to_str() else {
            // Pings are answered below us; a screen has no pictures to send.
            return if message.is_binary() {
                Err(End::Nonsense("a screen sends text, not bytes".to_owned()))
            } else {
                Ok(())
            };
        };
        let arrived = self.station.now();
        let said = serde_json::from_str(text).map_err(|error| End::Nonsense(error.to_string()))?;
        match said {
            FromScreen::Clock { t1_us } => {
                let t3_us = self.station.now();
                self.say(&FromServer::Clock {
                    t1_us,
                    t2_us: arrived,
                    t3_us,
                })
                .await
            }
            FromScreen::Again {} => {
                if self.seat.clicker.asks_again() {
                    self.station.once_more(AgainAsk::Again, Who::Screen);
                }
                Ok(())
            }
            FromScreen::Click { id, click } => self.click(&id, click),
            FromScreen::Speak {} => {
                self.ear.speak();
                Ok(())
            }
            FromScreen::Sound {
                ready,
                plays,
                failed,
            } => {
                self.ear.heard(ready, plays, failed);
                Ok(())
            }
            FromScreen::Want { from_us } => {
                self.watch.want(from_us);
                Ok(())
            }
            FromScreen::Report {
                buffer_end_us,
                glass_us,
                error_us,
                dropped_pictures,
            } => {
                let info = ViewerInfo {
                    glass_us,
                    error_ms: error_us.map(|us| us as f64 / 1000.0),
                    dropped_pictures,
                    ..ViewerInfo::default()
                };
                self.watch.report(buffer_end_us, info);
                Ok(())
            }
        }
    }

    /// Somebody pressed *next* at the screen. Where that is not for them, nothing
    /// comes of it.
    fn click(&self, id: &str, click: Click) -> Result<()> {
        if !is_id(id) {
            return Err(End::Nonsense("a press has an id".to_owned()));
        }
        if self.seat.clicker.moves_class() && self.seat.may(Action::Click, &self.station) {
            let at = ClickedAt::Station(self.station.config().number);
            self.seat.lesson.click(id, at, click);
        }
        Ok(())
    }

    /// Sends the sheet, unless the screen has it.
    async fn show_sheet(&mut self) -> Result<()> {
        let number = self.station.config().number;
        let sheet = self.seat.sheets.sheet(number, self.seat.language);
        if self.sheet.as_ref() == Some(&sheet) {
            return Ok(());
        }
        self.say(&FromServer::Sheet(Box::new(sheet.clone())))
            .await?;
        self.sheet = Some(sheet);
        Ok(())
    }

    /// A screen that never stops talking would take the processor from others.
    fn count(&mut self) -> Result<()> {
        let (began, said) = &mut self.said;
        if began.elapsed() >= Duration::from_secs(1) {
            self.said = (Instant::now(), 1);
            return Ok(());
        }
        *said += 1;
        if *said > MOST_SAID_EACH_S {
            return Err(End::Nonsense("a screen has less to say".to_owned()));
        }
        Ok(())
    }

    async fn say(&mut self, message: &FromServer) -> Result<()> {
        let text = serde_json::to_string(message).expect("a message is plain data");
        self.put(Message::text(text)).await
    }

    async fn put(&mut self, message: Message) -> Result<()> {
        match timeout(STUCK, self.out.send(message)).await {
            Ok(Ok(())) => Ok(()),
            Ok(Err(_)) | Err(_) => Err(End::Gone),
        }
    }
}
