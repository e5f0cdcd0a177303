//! Writes down what truly happens in the scene, as it happens, watched or not:
//! one JSON object a line, times in Unix microseconds as in the strip.

use std::fs::File;
use std::io::Write as _;
use std::path::Path;
use std::sync::mpsc;
use std::thread::JoinHandle;
use std::time::Duration;

use afterturn_core::kernel::CaptureUs;
use afterturn_core::scene::{Scene, Size};

use crate::feed::wall_now;

/// How often it looks; a test that waits for a line waits this much longer.
const EVERY: Duration = Duration::from_millis(200);

/// The thread that writes; dropping it writes the rest and ends it.
pub(crate) struct Writer {
    stop: Option<mpsc::Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

impl Writer {
    /// Makes the file anew and starts.
    pub(crate) fn start(path: &Path, seed: u64, start: CaptureUs) -> Result<Self, String> {
        let failed = |error: std::io::Error| format!("cannot write {}: {error}", path.display());
        let file = File::create(path).map_err(failed)?;
        let least = Size::new(64, 48).map_err(|error| error.to_string())?;
        let scene = Scene::new(seed, start, least);
        let (stop, stopped) = mpsc::channel();
        let thread = std::thread::Builder::new()
            .name("truth".to_owned())
            .spawn(move || {
                if let Err(error) = write(&scene, file, start, &stopped) {
                    eprintln!("rtsp-camera: the truth was not written: {error}");
                }
            })
            .map_err(failed)?;
        Ok(Self {
            stop: Some(stop),
            thread: Some(thread),
        })
    }
}

impl Drop for Writer {
    fn drop(&mut self) {
        drop(self.stop.take());
        if let Some(thread) = self.thread.take() {
            // It said so itself if it failed.
            let _ = thread.join();
        }
    }
}

fn write(
    scene: &Scene,
    mut file: File,
    mut from: CaptureUs,
    stopped: &mpsc::Receiver<()>,
) -> std::io::Result<()> {
    loop {
        let last = stopped.recv_timeout(EVERY) != Err(mpsc::RecvTimeoutError::Timeout);
        let to = wall_now();
        for event in scene.truth(from, to) {
            let mut line = serde_json::to_string(&event)?;
            line.push('\n');
            file.write_all(line.as_bytes())?;
        }
        from = from.max(to);
        if last {
            return file.flush();
        }
    }
}
