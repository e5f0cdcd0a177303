//! The real parts: a camera and the server, from the folder this program stands
//! in, and what the server says when asked.
//!
//! Not here: screens.

use std::{
    io::{BufRead as _, BufReader, Read},
    net::SocketAddr,
    process::{Child, Command, Stdio},
    sync::mpsc,
    thread,
    time::Duration,
};

use serde_json::Value;
use tokio::{
    io::{AsyncReadExt as _, AsyncWriteExt as _},
    net::TcpStream,
    time::{Instant, sleep, timeout},
};

use crate::{options::Options, process::Process};

/// Longer than any of them takes to start on a busy machine.
const STARTS_WITHIN: Duration = Duration::from_secs(30);

/// A running program. Ends when dropped.
struct Program(Child);

impl Drop for Program {
    fn drop(&mut self) {
        // It may have ended by itself; then there is nothing to end.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// A camera and a server with one station.
pub(crate) struct Gym {
    server: Program,
    camera: Program,
    address: SocketAddr,
    /// The teacher's, for what only they may ask.
    cookie: String,
    _folder: tempfile::TempDir,
}

impl Gym {
    /// Starts both and waits until they say that they are ready.
    pub(crate) async fn open(options: &Options) -> Result<Self, String> {
        let rate = options.bitrate_kbps.to_string();
        // Grain makes the encoder use its whole rate.
        let camera_args = ["--bitrate-kbps", &rate, "--grain", "24"];
        let (camera, [url]) = start("rtsp-camera", &camera_args, ["listening "])?;
        let folder = tempfile::tempdir().map_err(|error| error.to_string())?;
        let file = folder.path().join("afterturn.toml");
        let (delay_ms, window_ms) = (options.delay_ms, options.window_ms);
        let config = format!(
            "this_machine = \"watch\"\n[[station]]\nnumber = 1\ntitle = \"Low beam\"\ndelay_ms = {delay_ms}\n\
             window_ms = {window_ms}\n[station.camera]\nkind = \"network\"\n\
             url = \"{url}\"\nlatency_ms = 0\n"
        );
        std::fs::write(&file, config).map_err(|error| error.to_string())?;
        let file = file.display().to_string();
        let server_args = ["serve", "--config", &file, "--port", "0"];
        let ready = ["serving at http://", "type this code: "];
        let (server, [address, code]) = start("afterturn", &server_args, ready)?;
        let address = address.trim_end_matches('/').parse();
        let address = address.map_err(|error| format!("the server's address: {error}"))?;
        let cookie = first_run(address, &code).await;
        let cookie = cookie.map_err(|error| format!("the passphrase cannot be set: {error}"))?;
        start_class(address, &cookie).await?;
        Ok(Self {
            server,
            camera,
            address,
            cookie,
            _folder: folder,
        })
    }

    pub(crate) const fn address(&self) -> SocketAddr {
        self.address
    }

    pub(crate) fn server(&self) -> Process {
        Process(self.server.0.id())
    }

    pub(crate) fn camera(&self) -> Process {
        Process(self.camera.0.id())
    }

    /// What `GET /api/stations/1` says.
    pub(crate) async fn station(&self) -> Result<Value, String> {
        let asked = timeout(
            Duration::from_secs(10),
            ask(self.address, "GET /api/stations/1", &self.cookie, ""),
        );
        let answer = asked.await.map_err(|_| "the server does not answer")?;
        let (_, body) = answer.map_err(|error| format!("the server does not answer: {error}"))?;
        serde_json::from_str(&body).map_err(|error| format!("the server says {body}: {error}"))
    }

    /// Waits until the ring is as full as it gets.
    pub(crate) async fn warm(&self, window_ms: u32) -> Result<(), String> {
        let full_us = f64::from(window_ms) * 1000.0 - 500_000.0;
        let until = Instant::now() + Duration::from_millis(window_ms.into()) + STARTS_WITHIN;
        while Instant::now() < until {
            let said = self.station().await?;
            let held_us = said["newest_us"].as_f64().zip(said["oldest_us"].as_f64());
            if held_us.is_some_and(|(newest, oldest)| newest - oldest >= full_us) {
                return Ok(());
            }
            sleep(Duration::from_millis(250)).await;
        }
        Err("the ring does not fill; is the camera's program built?".to_owned())
    }
}

/// Sets the teacher's passphrase with the code from the server's console; the
/// teacher's cookie.
async fn first_run(address: SocketAddr, code: &str) -> std::io::Result<String> {
    let words = "low+beam+wide+mat";
    let form = format!("code={code}&passphrase={words}&again={words}");
    let (head, _) = ask(address, "POST /sign-in", "", &form).await?;
    let cookies = head.lines().filter_map(|line| {
        let (name, value) = line.split_once(": ")?;
        name.eq_ignore_ascii_case("set-cookie").then_some(value)
    });
    let found = cookies.filter_map(|value| value.split(';').next());
    let session = found
        .into_iter()
        .find(|pair| pair.starts_with("afterturn="));
    session
        .map(ToOwned::to_owned)
        .ok_or_else(|| std::io::Error::other(head.clone()))
}

/// Without a class no camera is on. Its warm-up outlasts every measurement.
async fn start_class(address: SocketAddr, cookie: &str) -> Result<(), String> {
    let start = "{\"id\":\"s\",\"class\":\"3B\",\"children\":12,\"not_shown\":[],\"times\":{\"warm_up_s\":10800,\
        \"briefing_s\":0,\"work_s\":240,\"last_turn_s\":20,\"gather_s\":10,\"walk_s\":20,\"closing_s\":0}}";
    let asked = ask(address, "POST /api/class/start", cookie, start).await;
    let (head, body) = asked.map_err(|error| format!("no class starts: {error}"))?;
    if head.starts_with("HTTP/1.1 200") {
        Ok(())
    } else {
        Err(format!("no class starts: {body}"))
    }
}

/// A request of HTTP/1.1 (RFC 9112) on a connection of its own; head and body
/// of the answer.
async fn ask(
    address: SocketAddr,
    what: &str,
    cookie: &str,
    form: &str,
) -> std::io::Result<(String, String)> {
    let mut stream = TcpStream::connect(address).await?;
    let length = form.len();
    let request = format!(
        "{what} HTTP/1.1\r\nHost: {address}\r\nOrigin: http://{address}\r\nCookie: {cookie}\r\n\
         Content-Length: {length}\r\nConnection: close\r\n\r\n{form}"
    );
    stream.write_all(request.as_bytes()).await?;
    let mut answer = String::new();
    stream.read_to_string(&mut answer).await?;
    let parts = answer
        .split_once("\r\n\r\n")
        .map(|(head, body)| (head.to_owned(), body.to_owned()));
    parts.ok_or_else(|| std::io::Error::other(answer))
}

/// Starts a program that stands beside this one; gives back, for each of
/// `ready`, the word that follows it in what the program says.
fn start<const N: usize>(
    name: &str,
    args: &[&str],
    ready: [&str; N],
) -> Result<(Program, [String; N]), String> {
    let this = std::env::current_exe().map_err(|error| error.to_string())?;
    let program = this.with_file_name(name);
    let failed = |error: std::io::Error| {
        let program = program.display();
        format!("{program}: {error}; run cargo build --workspace first")
    };
    let mut child = Command::new(&program)
        .args(args)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(failed)?;
    let (sender, lines) = mpsc::channel();
    hear(child.stdout.take(), sender.clone());
    hear(child.stderr.take(), sender);
    let program = Program(child);
    let mut said = String::new();
    let mut words = [const { String::new() }; N];
    while let Ok(line) = lines.recv_timeout(STARTS_WITHIN) {
        for (word, ready) in words.iter_mut().zip(ready) {
            if let Some((_, rest)) = line.split_once(ready) {
                rest.split_whitespace()
                    .next()
                    .unwrap_or_default()
                    .clone_into(word);
            }
        }
        if words.iter().all(|word| !word.is_empty()) {
            return Ok((program, words));
        }
        said += &line;
        said.push('\n');
    }
    Err(format!("{name} is not ready:\n{said}"))
}

/// Reads what a program says to its end, so that it never waits for a reader.
fn hear(from: Option<impl Read + Send + 'static>, to: mpsc::Sender<String>) {
    let Some(from) = from else { return };
    thread::spawn(move || {
        for line in BufReader::new(from).lines().map_while(Result::ok) {
            // Nobody listens any more once it is ready.
            let _ = to.send(line);
        }
    });
}
