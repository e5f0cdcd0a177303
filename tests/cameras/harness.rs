//! What the camera tests stand on: real RTSP servers in processes of their own,
//! servers that are no cameras, and an ear for what a camera sends.
//!
//! Not here: any media library. The program is used as the rest of it uses a camera.

#![allow(
    dead_code,
    reason = "several test programs stand on it, and none uses all of it"
)]

use std::{
    io::{BufRead, BufReader, Read, Write},
    net::{TcpListener, TcpStream},
    path::PathBuf,
    process::{Child, Command, Output, Stdio},
    sync::{Arc, mpsc},
    thread,
    time::{Duration, SystemTime},
};

use afterturn::av::{
    self,
    camera::{Camera, CameraError, CameraEvent, Picture, Running},
    source::network::{NetworkCamera, NetworkSettings},
};
use afterturn_core::kernel::CaptureUs;

/// Longer than anything here takes on a busy machine; only a failure waits it out.
const PATIENCE: Duration = Duration::from_secs(20);

/// An `rtsp-camera` process; killed when dropped.
pub(crate) struct RtspCamera {
    process: Child,
    pub(crate) url: String,
}

impl RtspCamera {
    /// Starts one on a port the system chooses, small so that many fit.
    pub(crate) fn start(options: &[&str]) -> Self {
        let mut process = Command::new(binary())
            .args(["--size", "320x240", "--bitrate-kbps", "300"])
            .args(options)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(process.stdout.as_mut().unwrap())
            .read_line(&mut line)
            .unwrap();
        let url = line
            .trim()
            .strip_prefix("listening ")
            .expect("the camera says where")
            .to_owned();
        Self { process, url }
    }

    pub(crate) fn kill(&mut self) {
        self.process.kill().unwrap();
        self.process.wait().unwrap();
    }
}

impl Drop for RtspCamera {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// Cargo names the programs of this package to its tests, not those of another;
/// it puts them side by side.
fn binary() -> PathBuf {
    let test = std::env::current_exe().unwrap();
    let path = test
        .parent()
        .and_then(|deps| deps.parent())
        .unwrap()
        .join("rtsp-camera");
    assert!(
        path.exists(),
        "{} is missing; build it first: cargo build -p rtsp-camera",
        path.display()
    );
    path
}

/// A camera being listened to. Dropping `running` stops it.
pub(crate) struct Heard {
    pub(crate) running: Option<Box<dyn Running>>,
    pub(crate) events: mpsc::Receiver<CameraEvent>,
}

pub(crate) fn network(url: &str, user: Option<&str>, password: Option<&str>) -> NetworkCamera {
    let own = |text: Option<&str>| text.map(str::to_owned);
    NetworkCamera::new(NetworkSettings {
        url: url.to_owned(),
        user: own(user),
        password: own(password),
    })
}

pub(crate) fn listen(camera: &mut dyn Camera) -> Heard {
    av::init().unwrap();
    let (tx, events) = mpsc::channel();
    let now = || {
        let since_epoch = SystemTime::now()
            .duration_since(SystemTime::UNIX_EPOCH)
            .unwrap();
        CaptureUs(since_epoch.as_micros() as u64)
    };
    let running = camera.start(
        Arc::new(now),
        Arc::new(move |event| {
            // The listener may have heard enough.
            let _ = tx.send(event);
        }),
    );
    Heard {
        running: Some(running.unwrap()),
        events,
    }
}

impl Heard {
    pub(crate) fn next(&self) -> CameraEvent {
        self.next_within(PATIENCE)
    }

    pub(crate) fn next_within(&self, patience: Duration) -> CameraEvent {
        self.events
            .recv_timeout(patience)
            .expect("an event in time")
    }

    /// The next `count` pictures; formats on the way are passed over.
    pub(crate) fn pictures(&self, count: usize) -> Vec<Picture> {
        let mut pictures = Vec::new();
        while pictures.len() < count {
            match self.next() {
                CameraEvent::Picture(picture) => pictures.push(picture),
                CameraEvent::Format(_) | CameraEvent::Notes(_) => {}
                CameraEvent::Ended(error) => panic!("ended: {error:?}"),
            }
        }
        pictures
    }

    /// Stops it and waits until its last thread has let go of the listener;
    /// how many events came meanwhile.
    pub(crate) fn stop(mut self) -> usize {
        self.running = None;
        // Those sent before the drop.
        let _ = self.events.try_iter().count();
        let mut late = 0;
        loop {
            match self.events.recv_timeout(PATIENCE) {
                Ok(_) => late += 1,
                Err(mpsc::RecvTimeoutError::Disconnected) => return late,
                Err(mpsc::RecvTimeoutError::Timeout) => panic!("a camera that does not let go"),
            }
        }
    }

    /// Why it ended, whatever came before.
    pub(crate) fn end(&self) -> CameraError {
        self.end_within(PATIENCE)
    }

    pub(crate) fn end_within(&self, patience: Duration) -> CameraError {
        loop {
            if let CameraEvent::Ended(error) = self.next_within(patience) {
                return error;
            }
        }
    }
}

/// How a camera at `url` ends.
pub(crate) fn end_of(url: &str) -> CameraError {
    listen(&mut network(url, None, None)).end()
}

/// A server that says `reply` to whoever connects, then hangs up; with nothing
/// to say, it keeps the connection and stays silent. The address to reach it.
pub(crate) fn server_saying(reply: Option<&'static [u8]>) -> String {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let place = listener.local_addr().unwrap();
    thread::spawn(move || {
        let mut kept = Vec::new();
        for stream in listener.incoming() {
            let mut stream = stream.unwrap();
            match reply {
                None => kept.push(stream),
                Some(reply) => {
                    let _ = stream.read(&mut [0; 1024]);
                    let _ = stream.write_all(reply);
                }
            }
        }
    });
    format!("rtsp://{place}/cam")
}

/// A door nobody stands behind.
pub(crate) fn closed_door() -> String {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    format!("rtsp://{}/cam", listener.local_addr().unwrap())
}

/// A server that offers what its description (RFC 4566) says, agrees to all that
/// is asked of it, notes it, and never sends a picture.
pub(crate) struct Offering {
    pub(crate) url: String,
    asked: mpsc::Receiver<String>,
}

impl Offering {
    pub(crate) fn of(description: &'static str) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let url = format!("rtsp://{}/cam", listener.local_addr().unwrap());
        let (notes, asked) = mpsc::channel();
        thread::spawn(move || {
            for stream in listener.incoming() {
                agree(&stream.unwrap(), description, &notes);
            }
        });
        Self { url, asked }
    }

    /// The request lines up to and with the first that begins with `method`.
    pub(crate) fn asked_until(&self, method: &str) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        while !lines.last().is_some_and(|line| line.starts_with(method)) {
            lines.push(
                self.asked
                    .recv_timeout(PATIENCE)
                    .expect("a request in time"),
            );
        }
        lines
    }
}

/// Answers one connection's requests (RFC 2326 §10) until it closes.
fn agree(stream: &TcpStream, description: &str, notes: &mpsc::Sender<String>) {
    let mut lines = BufReader::new(stream).lines().map_while(Result::ok);
    while let Some(request) = lines.next() {
        let headers: Vec<_> = lines.by_ref().take_while(|line| !line.is_empty()).collect();
        let header = |name: &str| headers.iter().find(|line| line.starts_with(name)).cloned();
        let mut reply = format!(
            "RTSP/1.0 200 OK\r\n{}\r\n",
            header("CSeq:").unwrap_or_default()
        );
        let mut body = "";
        match request.split(' ').next() {
            Some("OPTIONS") => reply += "Public: DESCRIBE, SETUP, PLAY, TEARDOWN\r\n",
            Some("DESCRIBE") => {
                body = description;
                reply += "Content-Type: application/sdp\r\n";
            }
            Some("SETUP") => {
                let transport = header("Transport:").unwrap_or_default();
                reply.extend(["Session: 7\r\n", &transport, "\r\n"]);
            }
            _ => reply += "Session: 7\r\n",
        }
        reply.extend([
            "Content-Length: ",
            &body.len().to_string(),
            "\r\n\r\n",
            body,
        ]);
        if notes.send(request).is_err() || (&mut &*stream).write_all(reply.as_bytes()).is_err() {
            return;
        }
    }
}

/// Runs one ignored test of this file in a process of its own, with `url` for
/// it in the environment, and hands back all it printed.
pub(crate) fn in_own_process(test: &str, url: &str) -> Output {
    Command::new(std::env::current_exe().unwrap())
        .args([
            "--exact",
            test,
            "--ignored",
            "--nocapture",
            "--test-threads=1",
        ])
        .env("CAMERA_URL", url)
        .env("GST_DEBUG", "9")
        .env("GST_DEBUG_NO_COLOR", "1")
        .env("G_MESSAGES_DEBUG", "all")
        .output()
        .unwrap()
}

/// The address given to a test run by [`in_own_process`].
pub(crate) fn given_url() -> String {
    std::env::var("CAMERA_URL").expect("run by another test, with CAMERA_URL set")
}
