//! Keeps one station's camera going.
//!
//! Not here: what a camera is (see [`Camera`]), and what its pictures become
//! (that is the intake's).

use std::{sync::Arc, time::Duration};

use afterturn_core::{
    media::{Intake, IntakeSettings, Made, Picture, stamp::Break},
    wire::{CameraNote, CameraState},
};
use tokio::{
    net::TcpStream,
    sync::{mpsc, watch},
    time::{Instant, MissedTickBehavior, interval, sleep, timeout, timeout_at},
};

use super::{Backoff, Station};
use crate::av::camera::{Camera, CameraError, CameraEvent, EventSink, Knock, Note};

/// No picture for this long: the camera has stalled and is opened anew.
const STALLED: Duration = Duration::from_secs(2);
/// The same before its first picture: some cameras wake slowly and all start
/// with a keyframe that may be four seconds away.
const NEVER_BEGAN: Duration = Duration::from_secs(8);
/// After this much silence whatever was held back for the next picture goes on.
const IDLE: Duration = Duration::from_millis(500);
/// How often silence is looked for, and the ring pruned while nothing comes.
const TICK: Duration = Duration::from_millis(250);
/// How often a camera's door is tried while it is away…
const KNOCK: Duration = Duration::from_millis(500);
/// …and how long each time.
const KNOCK_TIMEOUT: Duration = Duration::from_millis(400);
/// Events on their way from the camera's threads: two seconds of pictures. What
/// does not fit is dropped by the camera's side and shows as a gap.
const EVENTS: usize = 64;

/// Runs a station's camera whenever it is to be on, until `stop` says otherwise.
pub async fn supervise(
    station: Arc<Station>,
    mut camera: Box<dyn Camera>,
    mut stop: watch::Receiver<bool>,
) {
    let latency = station.latency_changes();
    let latency_us = i64::from(*latency.borrow()) * 1000;
    // Nothing is in the ring yet, unless this was started again after a failure.
    let (after, next) = station.fed_up_to();
    let settings = IntakeSettings { latency_us, after };
    let _falls = SaysSo(Arc::clone(&station));
    let mut supervisor = Supervisor {
        intake: Intake::from_number(settings, next),
        latency,
        station,
        noted: Vec::new(),
    };
    let mut backoff = Backoff::default();
    let mut captures = supervisor.station.captures.subscribe();
    loop {
        if !*captures.borrow_and_update() {
            // Whatever came in until the camera let go.
            supervisor.station.went_off();
            backoff = Backoff::default();
            tokio::select! {
                biased;
                _ = stop.wait_for(|stop| *stop) => return,
                _ = captures.wait_for(|on| *on) => {}
            }
        }
        let began = Instant::now();
        let ended = tokio::select! {
            biased;
            _ = stop.wait_for(|stop| *stop) => return,
            _ = captures.wait_for(|on| !*on) => None,
            ended = supervisor.run_once(camera.as_mut()) => Some(ended),
        };
        supervisor.close();
        let Some(ended) = ended else { continue };
        supervisor.station.set_notes(Vec::new());
        supervisor
            .station
            .set_health(ended.error.state, &ended.error.detail);
        let ran = ended.shown_since.map_or(Duration::ZERO, |at| at.elapsed());
        let wait = backoff.after(ended.error.state, ran);
        tracing::debug!(
            station = supervisor.station.config().number.get(),
            tried_ms = began.elapsed().as_millis(),
            wait_ms = wait.as_millis(),
            "camera to be opened again"
        );
        tokio::select! {
            biased;
            _ = stop.wait_for(|stop| *stop) => return,
            _ = captures.wait_for(|on| !*on) => {}
            () = supervisor.wait_and_forget(wait) => {}
            () = door_opens(camera.knock(), ended.error.state) => {}
        }
    }
}

/// Says on the station's screens that there are no pictures, if what feeds it
/// fails.
struct SaysSo(Arc<Station>);

impl Drop for SaysSo {
    fn drop(&mut self) {
        if std::thread::panicking() {
            let detail = "a fault in the program; it is started again";
            self.0.set_health(CameraState::Ended, detail);
        }
    }
}

struct Supervisor {
    station: Arc<Station>,
    intake: Intake,
    /// What is taken off capture times, in milliseconds.
    latency: watch::Receiver<u32>,
    /// The notes logged last: a camera that is opened again and again says the
    /// same each time.
    noted: Vec<CameraNote>,
}

struct Ended {
    error: CameraError,
    shown_since: Option<Instant>,
}

impl Supervisor {
    /// Opens the camera and feeds the ring until it stops.
    async fn run_once(&mut self, camera: &mut dyn Camera) -> Ended {
        let (sender, mut events) = mpsc::channel(EVENTS);
        let sink: EventSink = Arc::new(move |event| {
            // The only sender that may wait is the last event, and it need not:
            // a full queue means two seconds unread, which a stall ends anyway.
            let _ = sender.try_send(event);
        });
        let mut ended = Ended {
            error: CameraError::new(CameraState::Stalled, "no picture for two seconds"),
            shown_since: None,
        };
        let _running = match camera.start(Arc::clone(&self.station.now), sink) {
            Ok(running) => running,
            Err(error) => {
                ended.error = error;
                return ended;
            }
        };
        let mut last = Instant::now();
        // Somebody has to begin; until then there is no hurry.
        let mut waits = false;
        let mut tick = interval(TICK);
        tick.set_missed_tick_behavior(MissedTickBehavior::Delay);
        loop {
            let most = if ended.shown_since.is_some() {
                STALLED
            } else {
                NEVER_BEGAN
            };
            let until = if waits {
                Instant::now() + NEVER_BEGAN
            } else {
                last + most
            };
            tokio::select! {
                event = timeout_at(until, events.recv()) => match event {
                    Ok(Some(CameraEvent::Picture(picture))) => {
                        last = Instant::now();
                        waits = false;
                        if self.picture(picture) {
                            ended.shown_since.get_or_insert(last);
                        }
                    }
                    Ok(Some(CameraEvent::Format(config))) => {
                        if let Err(error) = self.format(&config.0) {
                            ended.error = error;
                            return ended;
                        }
                    }
                    Ok(Some(CameraEvent::Notes(notes))) => self.notes(&notes),
                    Ok(Some(CameraEvent::Waiting(why))) => {
                        self.close();
                        self.station.set_health(why.state, &why.detail);
                        waits = true;
                    }
                    Ok(Some(CameraEvent::Ended(error))) => {
                        ended.error = error;
                        return ended;
                    }
                    // The camera let go of its sink without a word.
                    Ok(None) => {
                        ended.error = CameraError::new(CameraState::Ended, "the camera stopped");
                        return ended;
                    }
                    Err(_) if waits => {}
                    Err(_) => return ended,
                },
                _ = tick.tick() => {
                    if last.elapsed() >= IDLE {
                        let made = self.intake.idle();
                        self.keep(made);
                    }
                    self.forget();
                }
            }
        }
    }

    fn picture(&mut self, picture: Picture) -> bool {
        if self.latency.has_changed().unwrap_or(false) {
            let latency_us = i64::from(*self.latency.borrow_and_update()) * 1000;
            let made = self.intake.set_latency(latency_us);
            self.keep(made);
        }
        let made = self.intake.picture(picture);
        let kept = self.keep(made);
        if kept {
            self.station.set_health(CameraState::Showing, "");
        }
        kept
    }

    fn notes(&mut self, notes: &[Note]) {
        let words: Vec<_> = notes.iter().map(|note| note.word).collect();
        let station = self.station.config().number.get();
        for note in notes.iter().filter(|note| !self.noted.contains(&note.word)) {
            tracing::warn!(station, "{}", note.detail);
        }
        self.noted.clone_from(&words);
        self.station.set_notes(words);
    }

    /// New parameter sets; an error says why no picture under them can be shown.
    fn format(&mut self, avcc: &[u8]) -> Result<(), CameraError> {
        let unsuitable = |detail: String| CameraError::new(CameraState::Unsuitable, detail);
        let made = self
            .intake
            .format(avcc)
            .map_err(|error| unsuitable(error.to_string()))?;
        self.keep(made);
        if self.intake.params().is_some_and(|params| params.interlaced) {
            let detail = "the camera sends interlaced pictures; set it to progressive";
            return Err(unsuitable(detail.to_owned()));
        }
        Ok(())
    }

    /// Puts what was made into the ring; says whether there was a picture.
    fn keep(&self, made: Vec<Made>) -> bool {
        if made.is_empty() {
            return false;
        }
        let mut picture = false;
        let station = self.station.config().number.get();
        self.station.keep(|ring| {
            for made in made {
                match made {
                    Made::Break(why) => tracing::debug!(station, ?why, "break"),
                    Made::Chapter(params) => ring.open_chapter(params),
                    Made::Fragment(fragment) => {
                        ring.push(fragment);
                        picture = true;
                    }
                }
            }
        });
        self.station.grown.send_replace(());
        picture
    }

    /// What was held back for a next picture that will not come.
    fn close(&mut self) {
        let made = self.intake.end_chapter(Break::Format);
        self.keep(made);
    }

    fn forget(&self) {
        self.station.keep(|_| {});
    }

    /// Nothing outlives its time because its camera is away.
    async fn wait_and_forget(&self, wait: Duration) {
        let until = Instant::now() + wait;
        while Instant::now() < until {
            sleep(TICK.min(until - Instant::now())).await;
            self.forget();
        }
    }
}

/// Resolves when a camera that was away is there again where it can be looked
/// for; never for one that was there all along, or has no such place.
async fn door_opens(knock: Option<Knock>, why: CameraState) {
    let away = matches!(
        why,
        CameraState::Unreachable | CameraState::Ended | CameraState::Stalled
    );
    let Some(knock) = knock.filter(|_| away) else {
        return std::future::pending().await;
    };
    let mut was_shut = false;
    loop {
        match (answers(&knock).await, was_shut) {
            (true, true) => return,
            (true, false) => {}
            (false, _) => was_shut = true,
        }
        sleep(KNOCK).await;
    }
}

async fn answers(knock: &Knock) -> bool {
    match knock {
        Knock::Door(host, port) => {
            let connecting = TcpStream::connect((host.as_str(), *port));
            matches!(timeout(KNOCK_TIMEOUT, connecting).await, Ok(Ok(_)))
        }
        // A look at a folder in memory or on a disk of this machine.
        Knock::Path(path) => path.exists(),
    }
}
