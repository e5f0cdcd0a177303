//! The task that holds the UDP socket: hands datagrams to the sessions they are
//! for, and pictures to the stations that want them.
//!
//! Not here: anything about one publisher ([`super::session`]).

use std::{
    collections::HashMap,
    net::{IpAddr, SocketAddr},
    panic::AssertUnwindSafe,
    sync::{Arc, PoisonError},
    time::{Duration, Instant},
};

use afterturn_core::kernel::{CaptureUs, StationNumber};
use futures_util::FutureExt as _;
use tokio::{
    net::UdpSocket,
    sync::{mpsc, watch},
    time::{sleep, sleep_until, timeout},
};

use super::{
    Current, Order, PublishError, Published, PublisherId, Wanted, nobody,
    session::{Session, Wish},
    stalled,
};

/// More than the largest datagram an Ethernet carries.
const DATAGRAM_BYTES: usize = 2048;
/// What the system may hold while we are busy: a keyframe of several cameras.
const RECEIVE_BUFFER_BYTES: usize = 2 * 1024 * 1024;
/// Sessions are looked at at least so often.
const LOOK: Duration = Duration::from_millis(100);
/// Said before the station itself finds that no picture came for two seconds and
/// opens the camera anew: there is nothing to open, and whoever comes back would
/// find it shut.
const STALLED: Duration = Duration::from_millis(1_500);
/// A camera that is opened anew wants them again sooner; after this the class is
/// over, and no device goes on sending.
const UNWANTED: Duration = Duration::from_secs(3);
/// A publisher that has sent nothing for so long may be replaced.
const SILENT: Duration = Duration::from_secs(2);

/// From a failure to the next start.
const AGAIN: Duration = Duration::from_secs(1);

struct Publisher {
    id: PublisherId,
    device: u64,
    session: Box<Session>,
    /// The station was told that its pictures have stopped.
    stalled: bool,
    /// Since when nobody wants its pictures.
    unwanted: Option<Instant>,
}

struct Task {
    socket: Arc<UdpSocket>,
    local: SocketAddr,
    wanted: HashMap<StationNumber, Wanted>,
    publishers: HashMap<StationNumber, Publisher>,
    next: u64,
    current: Current,
}

/// Serves until nobody can give orders any more. After a panic it begins anew: the
/// sinks it held are gone, so that each station opens its camera again, and a
/// publisher finds that it is not the one any more and offers itself.
pub(super) async fn run(
    socket: UdpSocket,
    mut orders: mpsc::UnboundedReceiver<Order>,
    current: Current,
    failed: watch::Sender<u32>,
) {
    // Smaller is no reason not to serve.
    let _ = socket2::SockRef::from(&socket).set_recv_buffer_size(RECEIVE_BUFFER_BYTES);
    let socket = Arc::new(socket);
    loop {
        let served = serve(Arc::clone(&socket), &mut orders, Arc::clone(&current));
        if AssertUnwindSafe(served).catch_unwind().await.is_ok() {
            return;
        }
        tracing::error!("what serves publishers failed; it is started again");
        current
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clear();
        failed.send_modify(|times| *times += 1);
        sleep(AGAIN).await;
    }
}

async fn serve(
    socket: Arc<UdpSocket>,
    orders: &mut mpsc::UnboundedReceiver<Order>,
    current: Current,
) {
    let Ok(local) = socket.local_addr() else {
        return;
    };
    let mut task = Task {
        socket,
        local,
        wanted: HashMap::new(),
        publishers: HashMap::new(),
        next: 1,
        current,
    };
    let mut buffer = vec![0; DATAGRAM_BYTES];
    let mut wake = Instant::now() + LOOK;
    loop {
        tokio::select! {
            order = orders.recv() => match order {
                Some(order) => task.order(order).await,
                None => return,
            },
            got = task.socket.recv_from(&mut buffer) => {
                // An error is of a datagram sent before (ICMP), not of the socket.
                if let Ok((length, source)) = got {
                    task.datagram(source, &buffer[..length]);
                }
            }
            () = sleep_until(wake.into()) => task.tick(),
        }
        wake = task.settle().await;
    }
}

impl Task {
    async fn order(&mut self, order: Order) {
        match order {
            Order::Publish {
                station,
                device,
                reached,
                offer,
                answer,
            } => {
                let published = self.publish(station, device, reached, &offer).await;
                let _ = answer.send(published);
            }
            Order::End { station, publisher } => {
                if self
                    .publishers
                    .get(&station)
                    .is_some_and(|p| p.id == publisher)
                {
                    self.part(station).await;
                }
            }
            Order::Cut { device } => {
                let all = self.publishers.iter();
                let theirs: Vec<_> = all
                    .filter(|(_, publisher)| publisher.device == device)
                    .map(|(station, _)| *station)
                    .collect();
                for station in theirs {
                    self.part(station).await;
                }
            }
            Order::Clock {
                station,
                publisher,
                ahead_us,
            } => {
                let theirs = self.publishers.get_mut(&station);
                if let Some(theirs) = theirs.filter(|p| p.id == publisher) {
                    theirs.session.compared(ahead_us);
                }
            }
            Order::Open { station, wanted } => {
                match self.publishers.get_mut(&station) {
                    Some(publisher) => publisher.session.begin_anew(Instant::now()),
                    None => (wanted.events)(nobody()),
                }
                self.wanted.insert(station, wanted);
            }
            Order::Close { station, turn } => {
                // It may have been opened again meanwhile.
                if self.wanted.get(&station).is_some_and(|w| w.turn == turn) {
                    self.wanted.remove(&station);
                }
            }
        }
    }

    async fn publish(
        &mut self,
        station: StationNumber,
        device: u64,
        reached: IpAddr,
        offer: &str,
    ) -> Result<Published, PublishError> {
        let now = Instant::now();
        let Some(wanted) = self.wanted.get(&station) else {
            return Err(PublishError::Off);
        };
        // The capture clock never goes back, not over a restart either.
        let number = (wanted.now)().0.max(self.next);
        let other = self.publishers.get(&station).filter(|p| p.device != device);
        let lively = |p: &Publisher| p.session.last.is_some_and(|at| now - at < SILENT);
        if other.is_some_and(lively) {
            return Err(PublishError::Taken);
        }
        let local = SocketAddr::new(reached.to_canonical(), self.local.port());
        let everywhere = self.local.ip().is_unspecified();
        let served = match (self.local.ip(), local.ip()) {
            // A socket for all addresses of IPv6 takes the older ones too.
            (IpAddr::V6(_), _) | (IpAddr::V4(_), IpAddr::V4(_)) if everywhere => true,
            (bound, reached) => bound == reached,
        };
        if !served {
            return Err(PublishError::Address);
        }
        let (session, answer) = Session::answer(offer, local, now)?;
        self.part(station).await;
        let id = PublisherId(number);
        self.next = number + 1;
        self.note(station, Some(id));
        tracing::info!(station = station.get(), "a device publishes");
        let publisher = Publisher {
            id,
            device,
            session: Box::new(session),
            stalled: false,
            unwanted: None,
        };
        self.publishers.insert(station, publisher);
        Ok(Published {
            publisher: id,
            answer,
        })
    }

    /// Says who publishes, to those who ask.
    fn note(&self, station: StationNumber, publisher: Option<PublisherId>) {
        let mut current = self.current.lock().unwrap_or_else(PoisonError::into_inner);
        match publisher {
            Some(publisher) => current.insert(station, publisher),
            None => current.remove(&station),
        };
    }

    fn datagram(&mut self, source: SocketAddr, bytes: &[u8]) {
        let now = Instant::now();
        let source = SocketAddr::new(source.ip().to_canonical(), source.port());
        for publisher in self.publishers.values_mut() {
            if publisher.session.receive(source, bytes, now) {
                return;
            }
        }
    }

    fn tick(&mut self) {
        let now = Instant::now();
        for publisher in self.publishers.values_mut() {
            publisher.session.tick(now);
        }
    }

    /// Does what every session wants; returns when to look again.
    async fn settle(&mut self) -> Instant {
        let now = Instant::now();
        let mut wake = now + LOOK;
        let mut over = Vec::new();
        for (station, publisher) in &mut self.publishers {
            let wanted = self.wanted.get(station);
            if let Some(at) = drain(&self.socket, publisher, wanted, now).await {
                wake = wake.min(at);
            }
            let silent = publisher.session.last.is_some_and(|at| now - at > STALLED);
            if silent
                && !publisher.stalled
                && let Some(wanted) = wanted
            {
                (wanted.events)(stalled());
            }
            publisher.stalled = silent;
            let unwanted = wanted.is_none();
            publisher.unwanted = unwanted.then(|| publisher.unwanted.unwrap_or(now));
            let unwanted = publisher
                .unwanted
                .is_some_and(|since| now - since > UNWANTED);
            if unwanted || publisher.session.is_over(now) {
                over.push(*station);
            }
        }
        for station in over {
            self.part(station).await;
        }
        wake
    }

    /// A publisher leaves, in whatever way.
    async fn part(&mut self, station: StationNumber) {
        let Some(mut publisher) = self.publishers.remove(&station) else {
            return;
        };
        self.note(station, None);
        publisher.session.close();
        drain(&self.socket, &mut publisher, None, Instant::now()).await;
        tracing::info!(station = station.get(), "a device publishes no more");
        if let Some(wanted) = self.wanted.get(&station) {
            (wanted.events)(nobody());
        }
    }
}

/// All that one session wants done now; returns when it wants to be woken.
async fn drain(
    socket: &UdpSocket,
    publisher: &mut Publisher,
    wanted: Option<&Wanted>,
    now: Instant,
) -> Option<Instant> {
    /// A full send buffer is the network's trouble, not a reason to wait.
    const SEND_WITHIN: Duration = Duration::from_millis(5);
    loop {
        let arrival = wanted.map_or(CaptureUs::ZERO, |wanted| (wanted.now)());
        for wish in publisher.session.wish(now, arrival) {
            match wish {
                Wish::Wake(at) => return Some(at),
                Wish::Send(to, bytes) => {
                    let to = as_bound(to, socket);
                    let _ = timeout(SEND_WITHIN, socket.send_to(&bytes, to)).await;
                }
                Wish::Tell(event) => {
                    if let Some(wanted) = wanted {
                        (wanted.events)(event);
                    }
                }
            }
        }
    }
}

/// A socket of IPv6 knows the older addresses in a form of its own (RFC 4291
/// §2.5.5.2).
fn as_bound(to: SocketAddr, socket: &UdpSocket) -> SocketAddr {
    match (to, socket.local_addr()) {
        (SocketAddr::V4(four), Ok(SocketAddr::V6(_))) => {
            SocketAddr::new(four.ip().to_ipv6_mapped().into(), four.port())
        }
        _ => to,
    }
}
