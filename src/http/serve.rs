//! Listening: an accept loop of our own, because each socket needs a small send
//! buffer and every request, whatever its path, passes the door first.
//!
//! Not here: paths.

use std::{
    io,
    net::{IpAddr, SocketAddr},
    pin::pin,
    sync::Arc,
    time::Duration,
};

use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::{
    io::{AsyncRead, AsyncWrite},
    net::{TcpListener, TcpStream},
    sync::{mpsc, watch},
    time::{sleep, timeout},
};
use tower_service::Service;
use warp::{
    Reply,
    http::{HeaderMap, HeaderValue, Method, Request, header},
    hyper::{body::Incoming, server::conn::http1, service::service_fn},
    reply::Response,
};

use super::{
    App, Entrance, Problem,
    patience::Patient,
    places::{Full, Most, Places},
    refused::Refused,
    routes,
    tls::{Shown, Tls},
};
use crate::door::{self, Arrival, Headers, Listener, Pass, Refusal};

/// What the system may hold of a screen's pictures: a third of a second at
/// 4 Mbit/s. Left alone it grows to eight seconds, and a screen that stopped
/// reading would get all of them when it starts again.
const SEND_BUFFER_BYTES: usize = 64 * 1024;
/// A request's head has to be there within this.
const HEAD_WITHIN: Duration = Duration::from_secs(10);
/// More connections than a gym has screens, fewer than the machine has handles.
const MOST_CONNECTIONS: usize = 1024;
/// The same for the network, where fewer places leave handles for the box
/// itself.
const MOST_FROM_NETWORK: usize = 400;
/// A browser opens six connections and one socket a page; this is four pages.
const MOST_FROM_ONE_DEVICE: usize = 32;
/// Of one network of IPv6 (a /64): in a gym that may be all devices there are, each
/// by addresses it gave itself (RFC 4862), and it may be one that gives itself
/// hundreds. Twenty pages, and less than half of all places.
const MOST_FROM_ONE_NETWORK: usize = 160;
/// How long the other side may take nothing of what it is sent. Longer than a page's
/// socket is given (15 s), since a file to a phone that walks out of reach and back
/// must not begin anew.
const TAKES_WITHIN: Duration = Duration::from_secs(30);
/// How long the last replies may take when the server stops.
const LAST_WORDS: Duration = Duration::from_secs(2);

/// A listener that is bound.
pub struct Listening {
    socket: TcpListener,
    address: SocketAddr,
    way: Way,
}

/// What it is for, and what it needs for that.
enum Way {
    Here,
    Secure(Tls),
    PlainScreens(Option<Arc<str>>),
}

/// Binds an address of the box itself; port 0 picks one.
pub async fn listen(address: SocketAddr) -> io::Result<Listening> {
    Listening::bind(address, Way::Here).await
}

/// Binds an address for the network, to be served by HTTPS.
pub async fn listen_secure(
    address: SocketAddr,
    shown: watch::Receiver<Arc<Shown>>,
) -> io::Result<Listening> {
    Listening::bind(address, Way::Secure(Tls::new(shown))).await
}

/// Binds an address for screens on the network that take no certificate; `name`
/// is the box's.
pub async fn listen_plain_screens(
    address: SocketAddr,
    name: Option<&str>,
) -> io::Result<Listening> {
    Listening::bind(address, Way::PlainScreens(name.map(Into::into))).await
}

impl Listening {
    async fn bind(address: SocketAddr, way: Way) -> io::Result<Self> {
        let socket = TcpListener::bind(address).await?;
        let address = socket.local_addr()?;
        Ok(Self {
            socket,
            address,
            way,
        })
    }

    /// Where it listens.
    #[must_use]
    pub const fn address(&self) -> SocketAddr {
        self.address
    }

    /// Serves until `stop` turns true.
    pub async fn serve(&self, app: App, mut stop: watch::Receiver<bool>) {
        let door = Door {
            routes: warp::service(routes(&app)),
            entrance: Arc::clone(&app.entrance),
            refused: Refused::default(),
        };
        let http = http();
        let places = self.way.places();
        // Held by every connection; once nobody holds it, all have ended.
        let (open, mut all_ended) = mpsc::channel::<()>(1);
        loop {
            let accepted = tokio::select! {
                biased;
                _ = stop.wait_for(|stop| *stop) => break,
                accepted = self.socket.accept() => accepted,
            };
            let (stream, peer) = match accepted {
                Ok((stream, peer)) => (stream, peer.ip().to_canonical()),
                Err(error) => {
                    // Out of handles, usually: wait for some to come free.
                    tracing::warn!(%error, "cannot accept a connection");
                    sleep(Duration::from_millis(100)).await;
                    continue;
                }
            };
            let place = match places.take(peer) {
                Ok(place) => place,
                Err(full) => {
                    say_full(full, peer);
                    continue;
                }
            };
            let arrival = match prepare(&stream).and_then(|()| self.way.arrival(&stream, peer)) {
                Ok(arrival) => arrival,
                Err(error) => {
                    tracing::debug!(%error, "connection gone before it began");
                    continue;
                }
            };
            let connection = Connection {
                http: http.clone(),
                door: door.clone(),
                arrival,
                stop: stop.clone(),
            };
            let tls = match &self.way {
                Way::Secure(tls) => Some(tls.clone()),
                Way::Here | Way::PlainScreens(_) => None,
            };
            let open = open.clone();
            tokio::spawn(async move {
                match tls {
                    Some(tls) => connection.encrypted(stream, &tls).await,
                    None => connection.plain(stream).await,
                }
                drop((place, open));
            });
        }
        drop(open);
        let _ = timeout(LAST_WORDS, all_ended.recv()).await;
    }
}

impl Way {
    fn places(&self) -> Places {
        match self {
            // Whoever is on the box itself could stop the program anyway.
            Self::Here => Places::new(Most {
                in_all: MOST_CONNECTIONS,
                of_network: MOST_CONNECTIONS,
                of_device: MOST_CONNECTIONS,
            }),
            _ => Places::new(Most {
                in_all: MOST_FROM_NETWORK,
                of_network: MOST_FROM_ONE_NETWORK,
                of_device: MOST_FROM_ONE_DEVICE,
            }),
        }
    }

    fn arrival(&self, stream: &TcpStream, peer: IpAddr) -> io::Result<Arrival> {
        let (listener, name) = match self {
            Self::Here => (Listener::Here, None),
            Self::Secure(tls) => (Listener::Secure, Some(tls.name())),
            Self::PlainScreens(name) => (Listener::PlainScreens, name.clone()),
        };
        Ok(Arrival {
            listener,
            peer,
            reached: stream.local_addr()?,
            name,
        })
    }
}

fn say_full(full: Full, peer: IpAddr) {
    match full {
        Full::All => tracing::warn!("too many connections; one was turned away"),
        Full::OfOne { first: true } => {
            tracing::warn!(%peer, "too many connections from one device; it gets no more");
        }
        Full::OfOne { first: false } => {}
    }
}

/// HTTP/1.1 and nothing else: a WebSocket needs it, and whoever waits to see
/// whether a connection will be HTTP/2 waits for a silent one without end.
fn http() -> http1::Builder {
    let mut builder = http1::Builder::new();
    builder
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_WITHIN);
    builder
}

/// One connection, with what it needs.
struct Connection<S> {
    http: http1::Builder,
    door: Door<S>,
    arrival: Arrival,
    stop: watch::Receiver<bool>,
}

impl<S> Connection<S>
where
    S: Service<Request<Incoming>, Response = Response, Error = std::convert::Infallible>
        + Clone
        + Send
        + 'static,
    S::Future: Send,
{
    async fn plain<I>(self, stream: I)
    where
        I: AsyncRead + AsyncWrite + Unpin + Send + 'static,
    {
        self.serve(Patient::new(stream, TAKES_WITHIN)).await;
    }

    /// Shakes hands first.
    async fn encrypted(mut self, stream: TcpStream, tls: &Tls) {
        let shaken = tokio::select! {
            shaken = tls.shake(stream, TAKES_WITHIN) => shaken,
            _ = self.stop.wait_for(|stop| *stop) => None,
        };
        if let Some(stream) = shaken {
            self.serve(stream).await;
        }
    }

    /// Serves it to its end, or to the end of the answer it is giving when the
    /// server stops.
    async fn serve<I>(mut self, stream: I)
    where
        I: AsyncRead + AsyncWrite + Unpin + Send + 'static,
    {
        let (door, arrival) = (self.door, self.arrival);
        let service = service_fn(move |request| door.clone().pass(request, arrival.clone()));
        let connection = self.http.serve_connection(TokioIo::new(stream), service);
        let mut connection = pin!(connection.with_upgrades());
        let ended = tokio::select! {
            ended = connection.as_mut() => Some(ended),
            _ = self.stop.wait_for(|stop| *stop) => None,
        };
        let ended = if let Some(ended) = ended {
            ended
        } else {
            connection.as_mut().graceful_shutdown();
            connection.await
        };
        if let Err(error) = ended {
            tracing::debug!(%error, "connection ended badly");
        }
    }
}

fn prepare(stream: &TcpStream) -> io::Result<()> {
    stream.set_nodelay(true)?;
    socket2::SockRef::from(stream).set_send_buffer_size(SEND_BUFFER_BYTES)
}

/// What every request passes before any route sees it.
#[derive(Clone)]
struct Door<S> {
    routes: S,
    entrance: Arc<Entrance>,
    refused: Refused,
}

impl<S> Door<S>
where
    S: Service<Request<Incoming>, Response = Response, Error = std::convert::Infallible>,
{
    async fn pass(
        mut self,
        mut request: Request<Incoming>,
        arrival: Arrival,
    ) -> Result<Response, std::convert::Infallible> {
        let who = self.entrance.who(request.headers(), &arrival);
        let mut response = match check(&request, &arrival, who) {
            Ok(()) => {
                let by_key = || self.entrance.by_key(request.headers(), &arrival);
                // A key that is shown says more than that somebody is at the box.
                let signed_in = who.filter(|pass| pass.session.is_some());
                if let Some(pass) = signed_in.or_else(by_key).or(who) {
                    request.extensions_mut().insert(pass);
                }
                request.extensions_mut().insert(arrival);
                self.routes.call(request).await?
            }
            Err(refusal) => {
                self.refused.say(refusal, arrival.peer);
                Problem::from(refusal).into_response()
            }
        };
        guard(response.headers_mut());
        Ok(response)
    }
}

/// Whether the request is meant for us and comes from our own pages.
fn check(request: &Request<Incoming>, arrival: &Arrival, who: Option<Pass>) -> Result<(), Refusal> {
    let text = |name| {
        request
            .headers()
            .get(name)
            // What cannot be read is nobody's we know, not absent.
            .map(|value| value.to_str().unwrap_or("unreadable"))
    };
    // Who reads the first and who reads the last would not agree (RFC 9112 §3.2).
    for name in [header::HOST, header::ORIGIN] {
        if request.headers().get_all(name).iter().nth(1).is_some() {
            return Err(Refusal::Doubled);
        }
    }
    // A target with a host of its own outdoes the header (RFC 9112 §3.2.2).
    let authority = request
        .uri()
        .authority()
        .map(warp::http::uri::Authority::as_str);
    let headers = Headers {
        host: authority.or(text(header::HOST)),
        origin: text(header::ORIGIN),
        fetch_site: text(header::HeaderName::from_static("sec-fetch-site")),
    };
    door::check(&headers, arrival)?;
    // A session comes along by itself, whoever made the browser ask; so what
    // changes anything has to say which page asked. Browsers all do.
    let changes = !matches!(*request.method(), Method::GET | Method::HEAD);
    let says = headers.origin.is_some() || headers.fetch_site.is_some();
    if changes && !says && who.is_some_and(|pass| pass.session.is_some()) {
        return Err(Refusal::Origin);
    }
    Ok(())
}

/// What every response carries: nothing from elsewhere, nothing kept.
fn guard(headers: &mut HeaderMap) {
    const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; \
        img-src 'self' data:; media-src 'self' blob:; connect-src 'self'; font-src 'self'; \
        base-uri 'none'; form-action 'self'; frame-ancestors 'none'";
    let fixed = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        // Not "no-referrer": a form would then be sent with the origin "null",
        // which is nobody's.
        (header::REFERRER_POLICY, "same-origin"),
        (header::X_FRAME_OPTIONS, "DENY"),
    ];
    for (name, value) in fixed {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers
        .entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
}

#[cfg(test)]
mod tests;
