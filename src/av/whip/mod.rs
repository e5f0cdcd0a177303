//! Tablets, phones and anything else that publishes over WHIP (RFC 9725): an
//! offer comes in over HTTP, an answer goes out, pictures follow over WebRTC and
//! go to the ring as they are.
//!
//! - [`Publishing`]: the one UDP socket and all who publish over it.
//! - [`camera`]: a station's camera that waits for whoever publishes to it.
//!
//! Video only: what an offer has of sound is refused in the answer. Not here:
//! who may publish (that is the door's), HTTP, and what time a picture was taken.

pub mod camera;
mod session;
mod task;

use std::{
    collections::HashMap,
    io,
    net::{IpAddr, SocketAddr},
    sync::{Arc, Mutex, PoisonError},
};

use afterturn_core::{kernel::StationNumber, wire::CameraState};
use tokio::{
    net::UdpSocket,
    sync::{mpsc, oneshot, watch},
};

use super::camera::{CameraError, CameraEvent, EventSink, NowFn};

/// Who publishes: a number that is never given twice, over restarts neither.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PublisherId(pub u64);

/// Why somebody cannot publish.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PublishError {
    /// The offer cannot be read, or asks for what there is not.
    #[error("this offer cannot be answered: {0}")]
    Offer(String),
    /// It has no H.264 video to send.
    #[error("the offer has no H.264 video to send; allow H.264 where it is made")]
    NoVideo,
    /// Somebody else publishes to this station.
    #[error("another device is this station's camera; stop it first")]
    Taken,
    /// The station does not want pictures now.
    #[error("this station's camera is off; it goes on when a class begins")]
    Off,
    /// Reached over an address that the socket does not serve.
    #[error("pictures cannot be sent to this address; open the box by its number")]
    Address,
    /// The program is stopping.
    #[error("the box is stopping; try again in a moment")]
    Stopping,
}

/// A station that wants pictures: where they go.
#[derive(Clone)]
struct Wanted {
    /// One for each time the camera was started.
    turn: u64,
    events: EventSink,
    now: NowFn,
}

impl std::fmt::Debug for Wanted {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Wanted({})", self.turn)
    }
}

/// Something for the task that holds the socket.
#[derive(Debug)]
enum Order {
    Publish {
        station: StationNumber,
        device: u64,
        reached: IpAddr,
        offer: String,
        answer: oneshot::Sender<Result<Published, PublishError>>,
    },
    End {
        station: StationNumber,
        publisher: PublisherId,
    },
    /// Whoever holds this device's grant no more.
    Cut {
        device: u64,
    },
    Open {
        station: StationNumber,
        wanted: Wanted,
    },
    Close {
        station: StationNumber,
        turn: u64,
    },
    /// How far our clock is ahead of the publisher's.
    Clock {
        station: StationNumber,
        publisher: PublisherId,
        ahead_us: i64,
    },
}

/// An answer to an offer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Published {
    /// What ends it.
    pub publisher: PublisherId,
    /// The answer, as SDP (RFC 8866).
    pub answer: String,
}

/// See the module. Cheap to clone.
#[derive(Clone, Debug)]
pub struct Publishing {
    orders: mpsc::UnboundedSender<Order>,
    address: SocketAddr,
    turns: Arc<Mutex<HashMap<StationNumber, u64>>>,
    current: Current,
    failed: watch::Sender<u32>,
}

/// Who publishes to which station now.
type Current = Arc<Mutex<HashMap<StationNumber, PublisherId>>>;

impl Publishing {
    /// Binds the socket and serves it for as long as a clone is held. Port 0
    /// picks one.
    pub async fn bind(address: SocketAddr) -> io::Result<Self> {
        let socket = UdpSocket::bind(address).await?;
        let address = socket.local_addr()?;
        let (orders, taken) = mpsc::unbounded_channel();
        let current = Current::default();
        let failed = watch::Sender::new(0);
        tokio::spawn(task::run(
            socket,
            taken,
            Arc::clone(&current),
            failed.clone(),
        ));
        Ok(Self {
            orders,
            address,
            turns: Arc::default(),
            current,
            failed,
        })
    }

    /// Where it listens.
    #[must_use]
    pub const fn address(&self) -> SocketAddr {
        self.address
    }

    /// How often what serves the socket has failed, and was started again.
    #[must_use]
    pub fn failed(&self) -> watch::Receiver<u32> {
        self.failed.subscribe()
    }

    /// Answers a publisher's offer. `device` is who asks: the same device may
    /// come again in its own place. `reached` is the address of the box that the
    /// offer came in by; pictures are to come to the same.
    pub async fn publish(
        &self,
        station: StationNumber,
        device: u64,
        reached: IpAddr,
        offer: String,
    ) -> Result<Published, PublishError> {
        let (answer, answered) = oneshot::channel();
        let order = Order::Publish {
            station,
            device,
            reached,
            offer,
            answer,
        };
        let stopping = PublishError::Stopping;
        self.orders.send(order).map_err(|_| stopping.clone())?;
        answered.await.unwrap_or(Err(stopping))
    }

    /// Ends what was begun by [`Publishing::publish`]; again does no harm.
    pub fn end(&self, station: StationNumber, publisher: PublisherId) {
        let _ = self.orders.send(Order::End { station, publisher });
    }

    /// Who publishes to this station now.
    #[must_use]
    pub fn current(&self, station: StationNumber) -> Option<PublisherId> {
        let current = self.current.lock().unwrap_or_else(PoisonError::into_inner);
        current.get(&station).copied()
    }

    /// A publisher has compared clocks: ours is so far ahead of its own. With its
    /// sender reports, pictures then have the time they were taken.
    pub fn clock(&self, station: StationNumber, publisher: PublisherId, ahead_us: i64) {
        let _ = self.orders.send(Order::Clock {
            station,
            publisher,
            ahead_us,
        });
    }

    /// Ends whatever this device publishes: it may no more.
    pub fn cut(&self, device: u64) {
        let _ = self.orders.send(Order::Cut { device });
    }

    /// From now on this station's pictures go there.
    fn open(&self, station: StationNumber, events: EventSink, now: NowFn) -> u64 {
        let mut turns = self.turns.lock().unwrap_or_else(PoisonError::into_inner);
        let turn = turns.entry(station).or_default();
        *turn += 1;
        let wanted = Wanted {
            turn: *turn,
            events,
            now,
        };
        let _ = self.orders.send(Order::Open { station, wanted });
        *turn
    }

    fn close(&self, station: StationNumber, turn: u64) {
        let _ = self.orders.send(Order::Close { station, turn });
    }
}

/// What a station says while nobody publishes to it.
fn nobody() -> CameraEvent {
    CameraEvent::Waiting(CameraError::new(
        CameraState::NoPublisher,
        "nobody publishes to this station",
    ))
}

/// What it says while whoever publishes sends nothing.
fn stalled() -> CameraEvent {
    CameraEvent::Waiting(CameraError::new(
        CameraState::Stalled,
        "whoever publishes sends no pictures",
    ))
}

#[cfg(test)]
mod tests;
