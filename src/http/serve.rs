//! Listening: an accept loop of our own, because each socket needs a small send
//! buffer and every request, whatever its path, passes the door first.
//!
//! Not here: paths.

use std::{
    io,
    net::{IpAddr, SocketAddr},
    sync::Arc,
    time::Duration,
};

use hyper_util::{
    rt::{TokioExecutor, TokioIo, TokioTimer},
    server::{conn::auto, graceful::GracefulShutdown},
};
use tokio::{
    net::{TcpListener, TcpStream},
    sync::{Semaphore, watch},
    time::{sleep, timeout},
};
use tower_service::Service;
use warp::{
    Reply,
    http::{HeaderMap, HeaderValue, Method, Request, header},
    hyper::{body::Incoming, service::service_fn},
    reply::Response,
};

use super::{App, Entrance, Problem, routes};
use crate::door::{self, Headers, Pass};

/// What the system may hold of a screen's pictures: a third of a second at
/// 4 Mbit/s. Left alone it grows to eight seconds, and a screen that stopped
/// reading would get all of them when it starts again.
const SEND_BUFFER_BYTES: usize = 64 * 1024;
/// A request's head has to be there within this.
const HEAD_WITHIN: Duration = Duration::from_secs(10);
/// More connections than a gym has screens, fewer than the machine has handles.
const MOST_CONNECTIONS: usize = 1024;
/// How long the last replies may take when the server stops.
const LAST_WORDS: Duration = Duration::from_secs(2);

/// A listener that is bound.
pub struct Listening {
    listener: TcpListener,
    address: SocketAddr,
}

/// Binds an address; port 0 picks one.
pub async fn listen(address: SocketAddr) -> io::Result<Listening> {
    let listener = TcpListener::bind(address).await?;
    let address = listener.local_addr()?;
    Ok(Listening { listener, address })
}

impl Listening {
    /// Where it listens.
    #[must_use]
    pub const fn address(&self) -> SocketAddr {
        self.address
    }

    /// Serves until `stop` turns true.
    pub async fn serve(self, app: App, mut stop: watch::Receiver<bool>) {
        let door = Door {
            routes: warp::service(routes(&app)),
            port: self.address.port(),
            entrance: Arc::clone(&app.entrance),
        };
        let graceful = GracefulShutdown::new();
        let places = Arc::new(Semaphore::new(MOST_CONNECTIONS));
        loop {
            let accepted = tokio::select! {
                biased;
                _ = stop.wait_for(|stop| *stop) => break,
                accepted = self.listener.accept() => accepted,
            };
            let (stream, peer) = match accepted {
                Ok((stream, peer)) => (stream, peer.ip()),
                Err(error) => {
                    // Out of handles, usually: wait for some to come free.
                    tracing::warn!(%error, "cannot accept a connection");
                    sleep(Duration::from_millis(100)).await;
                    continue;
                }
            };
            let Ok(place) = Arc::clone(&places).try_acquire_owned() else {
                tracing::warn!("too many connections; one was turned away");
                continue;
            };
            if let Err(error) = prepare(&stream) {
                tracing::debug!(%error, "connection gone before it began");
                continue;
            }
            let mut builder = auto::Builder::new(TokioExecutor::new());
            builder
                .http1()
                .timer(TokioTimer::new())
                .header_read_timeout(HEAD_WITHIN);
            let door = door.clone();
            let service = service_fn(move |request| door.clone().pass(request, peer));
            let connection = builder
                .serve_connection_with_upgrades(TokioIo::new(stream), service)
                .into_owned();
            let watched = graceful.watch(connection);
            tokio::spawn(async move {
                if let Err(error) = watched.await {
                    tracing::debug!(error, "connection ended badly");
                }
                drop(place);
            });
        }
        let _ = timeout(LAST_WORDS, graceful.shutdown()).await;
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
    port: u16,
    entrance: Arc<Entrance>,
}

impl<S> Door<S>
where
    S: Service<Request<Incoming>, Response = Response, Error = std::convert::Infallible>,
{
    async fn pass(
        mut self,
        mut request: Request<Incoming>,
        peer: IpAddr,
    ) -> Result<Response, std::convert::Infallible> {
        let who = self.entrance.who(request.headers(), peer);
        let mut response = match check(&request, self.port, who) {
            Ok(()) => {
                request.extensions_mut().insert(peer);
                if let Some(pass) = who {
                    request.extensions_mut().insert(pass);
                }
                self.routes.call(request).await?
            }
            Err(problem) => problem.into_response(),
        };
        guard(response.headers_mut());
        Ok(response)
    }
}

/// Whether the request is meant for us and comes from our own pages.
fn check(request: &Request<Incoming>, port: u16, who: Option<Pass>) -> Result<(), Problem> {
    let text = |name| {
        request
            .headers()
            .get(name)
            // What cannot be read is nobody's we know, not absent.
            .map(|value| value.to_str().unwrap_or("unreadable"))
    };
    let authority = request
        .uri()
        .authority()
        .map(warp::http::uri::Authority::as_str);
    let headers = Headers {
        host: text(header::HOST).or(authority),
        origin: text(header::ORIGIN),
        fetch_site: text(header::HeaderName::from_static("sec-fetch-site")),
    };
    door::check(&headers, port)?;
    // A session comes along by itself, whoever made the browser ask; so what
    // changes anything has to say which page asked. Browsers all do.
    let changes = !matches!(*request.method(), Method::GET | Method::HEAD);
    let says = headers.origin.is_some() || headers.fetch_site.is_some();
    if changes && !says && who.is_some_and(|pass| pass.session.is_some()) {
        return Err(door::Refusal::Origin.into());
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
