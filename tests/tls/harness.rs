//! A whole box in this process: its own listener, HTTPS and plain screens on
//! ports of their own, a certificate made on the spot, and devices that trust
//! it or do not.
//!
//! Loopback stands in for the network: any address of 127.0.0.0/8 is this
//! machine, and the certificate says which are the box's own.

use std::{
    future::Future,
    net::{IpAddr, SocketAddr},
    sync::{Arc, Mutex},
    time::Duration,
};

use afterturn::{
    av::camera::{Camera, CameraError, EventSink, NowFn, Running},
    door::{Door, Grant, Kept, certificate::UnixSeconds},
    host::clock::{self, BootClock},
    http::{self, App, Entrance, Shown, ThisMachine},
    lesson::{Lesson, LessonSettings, UnitInUse},
    run::https::{Certificates, Machine},
    settings::HttpsSettings,
    station::{Memory, Station, StationConfig, supervise},
};
use afterturn_core::kernel::DelayMs;
use rustls::{
    ClientConfig, Error, RootCertStore, SupportedProtocolVersion,
    crypto::ring::default_provider,
    pki_types::{CertificateDer, ServerName},
};
use tokio::{
    io::{AsyncRead, AsyncReadExt as _, AsyncWrite, AsyncWriteExt as _},
    net::TcpStream,
    sync::watch,
    task::JoinSet,
    time::{Instant, sleep, timeout},
};
use tokio_rustls::{TlsConnector, client::TlsStream};

/// Longer than anything here takes on a busy machine; only a failure waits it out.
pub(crate) const PATIENCE: Duration = Duration::from_secs(30);
pub(crate) const NAME: &str = "afterturn.local";
/// The box's address on the network, as far as these tests go.
pub(crate) const LAN: &str = "127.0.0.20";
/// How often certificates are looked at here.
const LOOK_EVERY: Duration = Duration::from_millis(50);

/// Addresses that a test changes.
pub(crate) struct Cables(Mutex<Vec<IpAddr>>);

impl Cables {
    pub(crate) fn set(&self, addresses: &[&str]) {
        *self.0.lock().unwrap() = addresses.iter().map(|a| a.parse().unwrap()).collect();
    }
}

impl Machine for Cables {
    fn addresses(&self) -> Vec<IpAddr> {
        self.0.lock().unwrap().clone()
    }

    fn now_s(&self) -> UnixSeconds {
        clock::wall_s()
    }
}

/// A camera that is never there.
struct Away;

impl Camera for Away {
    fn kind(&self) -> &'static str {
        "away"
    }

    fn start(&mut self, _: NowFn, _: EventSink) -> Result<Box<dyn Running>, CameraError> {
        struct Nothing;
        impl Running for Nothing {}
        Ok(Box::new(Nothing))
    }
}

pub(crate) struct Box_ {
    pub(crate) here: SocketAddr,
    pub(crate) secure: SocketAddr,
    pub(crate) plain: SocketAddr,
    pub(crate) machine: Arc<Cables>,
    pub(crate) shown: watch::Receiver<Arc<Shown>>,
    /// Tokens of sessions that were open when the box was started.
    pub(crate) teacher: String,
    pub(crate) screen: String,
    stop: watch::Sender<bool>,
    tasks: JoinSet<()>,
    _keys: tempfile::TempDir,
}

impl Box_ {
    pub(crate) async fn open() -> Self {
        let clock = BootClock::start(None);
        let now: NowFn = Arc::new(move || clock.now());
        let (stop, stopped) = watch::channel(false);
        let mut tasks = JoinSet::new();
        let config = StationConfig {
            number: 1_i64.try_into().unwrap(),
            title: "Low beam".to_owned(),
            delay: DelayMs::new(1_000, 30_000).unwrap(),
            window_ms: 30_000,
            latency_ms: 0,
            demo: false,
        };
        let memory = Arc::new(Memory::new(100_000_000));
        let station = Station::new(config, Arc::clone(&now), &memory);
        let camera = Box::new(Away);
        tokio::spawn(supervise(Arc::clone(&station), camera, stopped.clone()));
        let machine = Arc::new(Cables(Mutex::default()));
        machine.set(&["127.0.0.1", LAN]);
        let keys = tempfile::tempdir().unwrap();
        let https = HttpsSettings {
            listen: "0.0.0.0:0".parse().unwrap(),
            name: NAME.to_owned(),
            own: None,
        };
        let seen: Arc<dyn Machine> = Arc::clone(&machine) as _;
        let mut certificates = Certificates::open(&https, Some(keys.path()), seen).unwrap();
        let shown = certificates.shown();
        let any = "127.0.0.1:0".parse().unwrap();
        let here = http::listen(any).await.unwrap();
        // Reached by any loopback address, and by nobody else.
        let secure = http::listen_secure("0.0.0.0:0".parse().unwrap(), shown.clone());
        let secure = secure.await.unwrap();
        let plain = http::listen_plain_screens(any, Some(NAME)).await.unwrap();
        let mut door = Door::new(Kept::default());
        let station_1 = 1_i64.try_into().unwrap();
        let [teacher, screen] = [Grant::Teacher, Grant::Screen { station: station_1 }]
            .map(|grant| door.open(grant, now()).expose().to_owned());
        let kept = door.take_unkept().unwrap();
        let entrance = Entrance::new(kept, ThisMachine::IsTheTeacher, now);
        let addresses = [here.address(), secure.address(), plain.address()];
        let port = addresses[1].port();
        let lesson = Lesson::open(LessonSettings {
            stations: vec![Arc::clone(&station)],
            setups: Arc::new(|_, _| Vec::new()),
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
        let app = App::new(vec![station], lesson, entrance, false, stopped.clone());
        let app = app.on_network(shown.clone(), port);
        for listening in [here, secure, plain] {
            let (app, stop) = (app.clone(), stopped.clone());
            tasks.spawn(async move { listening.serve(app, stop).await });
        }
        tasks.spawn(async move { certificates.keep(LOOK_EVERY, stopped).await });
        Self {
            here: addresses[0],
            secure: SocketAddr::from(([127, 0, 0, 1], port)),
            plain: addresses[2],
            machine,
            shown,
            teacher,
            screen,
            stop,
            tasks,
            _keys: keys,
        }
    }

    /// A handshake with the box at this address, called by this name, by a
    /// device that trusts its authority.
    pub(crate) async fn shake(
        &self,
        reached: &str,
        called: &str,
    ) -> Result<TlsStream<TcpStream>, Error> {
        self.shake_with_trust_of(self, reached, called).await
    }

    /// The same by a device that trusts another box's authority.
    pub(crate) async fn shake_with_trust_of(
        &self,
        trusted: &Self,
        reached: &str,
        called: &str,
    ) -> Result<TlsStream<TcpStream>, Error> {
        let versions = rustls::ALL_VERSIONS;
        self.shake_as(trusted, versions, reached, called).await
    }

    pub(crate) async fn shake_by(
        &self,
        version: &'static SupportedProtocolVersion,
        reached: &str,
        called: &str,
    ) -> Result<TlsStream<TcpStream>, Error> {
        self.shake_as(self, &[version], reached, called).await
    }

    async fn shake_as(
        &self,
        trusted: &Self,
        versions: &[&'static SupportedProtocolVersion],
        reached: &str,
        called: &str,
    ) -> Result<TlsStream<TcpStream>, Error> {
        let ip: IpAddr = reached.parse().unwrap();
        let stream = TcpStream::connect((ip, self.secure.port())).await.unwrap();
        Self::shake_hands(trusted, versions, stream, called).await
    }

    /// A handshake over a connection that is there already.
    pub(crate) async fn shake_over(
        &self,
        stream: TcpStream,
        called: &str,
    ) -> Result<TlsStream<TcpStream>, Error> {
        Self::shake_hands(self, rustls::ALL_VERSIONS, stream, called).await
    }

    async fn shake_hands(
        trusted: &Self,
        versions: &[&'static SupportedProtocolVersion],
        stream: TcpStream,
        called: &str,
    ) -> Result<TlsStream<TcpStream>, Error> {
        let mut roots = RootCertStore::empty();
        let der = trusted
            .shown
            .borrow()
            .authority
            .as_ref()
            .unwrap()
            .der
            .clone();
        roots.add(CertificateDer::from(der)).unwrap();
        let mut config = ClientConfig::builder_with_provider(Arc::new(default_provider()))
            .with_protocol_versions(versions)
            .unwrap()
            .with_root_certificates(roots)
            .with_no_client_auth();
        // As a browser offers them.
        config.alpn_protocols = vec![b"h2".to_vec(), b"http/1.1".to_vec()];
        let name = ServerName::try_from(called.to_owned()).unwrap();
        let connector = TlsConnector::from(Arc::new(config));
        let shaken = timeout(PATIENCE, connector.connect(name, stream)).await;
        shaken.expect("an answer in time").map_err(|error| {
            let said = error.to_string();
            let inner = error.into_inner().and_then(|e| e.downcast().ok());
            // A line that was closed is no reason of rustls'.
            inner.map_or(Error::General(said), |reason| *reason)
        })
    }

    /// The certificate that is shown now.
    pub(crate) async fn certificate(&self) -> Vec<u8> {
        let line = self.shake("127.0.0.1", NAME).await.unwrap();
        line.get_ref().1.peer_certificates().unwrap()[0].to_vec()
    }

    /// A request without encryption, to one of the box's addresses.
    pub(crate) async fn plain_get(&self, to: SocketAddr, path: &'static str, more: &str) -> Said {
        let asked = Asked {
            method: "GET",
            path,
            host: to.to_string(),
            more: more.to_owned(),
        };
        asked.to(to).await
    }

    /// Tells it to stop; it has to within the time a run gives it.
    pub(crate) async fn close(mut self) {
        self.stop.send_replace(true);
        let ended = timeout(Duration::from_secs(4), async {
            while let Some(ended) = self.tasks.join_next().await {
                ended.unwrap();
            }
        });
        ended.await.expect("it stops in time");
    }
}

/// A request.
pub(crate) struct Asked {
    pub(crate) method: &'static str,
    pub(crate) path: &'static str,
    pub(crate) host: String,
    pub(crate) more: String,
}

/// What was answered.
#[derive(Debug)]
pub(crate) struct Said {
    pub(crate) status: u16,
    head: String,
    pub(crate) body: String,
}

impl Said {
    pub(crate) fn header(&self, name: &str) -> &str {
        let mut lines = self.head.lines();
        let line = lines.find_map(|line| line.strip_prefix(name)?.strip_prefix(": "));
        line.unwrap_or_else(|| panic!("{name} in {}", self.head))
    }
}

impl Asked {
    pub(crate) async fn to(&self, address: SocketAddr) -> Said {
        let mut stream = TcpStream::connect(address).await.unwrap();
        self.over(&mut stream).await
    }

    /// Asks over a line that is open, and leaves it open.
    pub(crate) async fn over<S: AsyncRead + AsyncWrite + Unpin>(&self, line: &mut S) -> Said {
        let text = format!(
            "{} {} HTTP/1.1\r\nHost: {}\r\nContent-Length: 0\r\n{}\r\n",
            self.method, self.path, self.host, self.more
        );
        line.write_all(text.as_bytes()).await.unwrap();
        let mut read = Vec::new();
        let answered = async {
            loop {
                if let Some(said) = whole(&read) {
                    return said;
                }
                let mut more = [0; 4096];
                let count = line.read(&mut more).await.unwrap();
                assert!(
                    count > 0,
                    "the line was closed: {}",
                    String::from_utf8_lossy(&read)
                );
                read.extend(&more[..count]);
            }
        };
        timeout(PATIENCE, answered)
            .await
            .expect("an answer in time")
    }
}

pub(crate) async fn get<S: AsyncRead + AsyncWrite + Unpin>(
    line: &mut S,
    host: &str,
    path: &'static str,
    more: &str,
) -> Said {
    let asked = Asked {
        method: "GET",
        path,
        host: host.to_owned(),
        more: more.to_owned(),
    };
    asked.over(line).await
}

/// An answer, once all of it is there.
fn whole(read: &[u8]) -> Option<Said> {
    let text = String::from_utf8_lossy(read);
    let (head, body) = text.split_once("\r\n\r\n")?;
    let status = head.split(' ').nth(1)?.parse().ok()?;
    let head = head.to_ascii_lowercase();
    let length = head
        .lines()
        .find_map(|line| line.strip_prefix("content-length: "));
    let length: usize = length.map_or(0, |length| length.parse().unwrap());
    (body.len() >= length).then(|| Said {
        status,
        // Names of headers in lower case, values as they came.
        head: text
            .lines()
            .take_while(|line| !line.is_empty())
            .map(|line| match line.split_once(": ") {
                Some((name, value)) => format!("{}: {value}\n", name.to_ascii_lowercase()),
                None => format!("{line}\n"),
            })
            .collect(),
        body: body.to_owned(),
    })
}

/// Tries again until there is something.
pub(crate) async fn until<T, F: Future<Output = Option<T>>>(
    what: &str,
    mut ask: impl FnMut() -> F,
) -> T {
    let until = Instant::now() + PATIENCE;
    loop {
        if let Some(found) = ask().await {
            return found;
        }
        assert!(Instant::now() < until, "still no {what}");
        sleep(Duration::from_millis(30)).await;
    }
}
