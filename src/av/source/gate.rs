//! The gate between a pipeline's threads and whoever listens. Once shut, no
//! event passes, and one that was passing has passed before `shut` returns.
//!
//! Not here: what an event means.

use std::{
    sync::{
        Mutex, PoisonError,
        atomic::{AtomicBool, Ordering},
    },
    thread::{self, ThreadId},
};

use crate::av::camera::{CameraError, CameraEvent, EventSink};

pub(super) struct Gate {
    sink: EventSink,
    shut: AtomicBool,
    /// Held while an event passes: events come one at a time.
    passing: Mutex<()>,
    /// Who holds `passing`. A listener may drop its camera from inside an
    /// event; that thread must not wait for itself.
    passer: Mutex<Option<ThreadId>>,
}

impl Gate {
    pub(super) fn new(sink: EventSink) -> Self {
        Self {
            sink,
            shut: AtomicBool::new(false),
            passing: Mutex::new(()),
            passer: Mutex::new(None),
        }
    }

    /// Whether nothing passes any more.
    pub(super) fn is_shut(&self) -> bool {
        self.shut.load(Ordering::Acquire)
    }

    /// Hands an event on; false once the gate is shut.
    pub(super) fn pass(&self, event: CameraEvent) -> bool {
        // A listener that panicked has no more to say about the next event.
        let _held = self.passing.lock().unwrap_or_else(PoisonError::into_inner);
        if self.is_shut() {
            return false;
        }
        let last = matches!(event, CameraEvent::Ended(_));
        if last {
            self.shut.store(true, Ordering::Release);
        }
        self.set_passer(Some(thread::current().id()));
        (self.sink)(event);
        self.set_passer(None);
        !last
    }

    /// The last event: says why, then shuts.
    pub(super) fn end(&self, error: CameraError) {
        self.pass(CameraEvent::Ended(error));
    }

    /// Shuts, and waits for an event on its way.
    pub(super) fn shut(&self) {
        self.shut.store(true, Ordering::Release);
        let passer = *self.passer.lock().unwrap_or_else(PoisonError::into_inner);
        if passer != Some(thread::current().id()) {
            drop(self.passing.lock().unwrap_or_else(PoisonError::into_inner));
        }
    }

    fn set_passer(&self, passer: Option<ThreadId>) {
        *self.passer.lock().unwrap_or_else(PoisonError::into_inner) = passer;
    }
}

#[cfg(test)]
mod tests {
    use std::sync::{Arc, OnceLock, mpsc};

    use afterturn_core::wire::CameraState;

    use super::*;

    fn ended() -> CameraEvent {
        CameraEvent::Ended(CameraError::new(CameraState::Ended, "over"))
    }

    #[test]
    fn nothing_follows_the_end() {
        let (tx, rx) = mpsc::channel();
        let gate = Gate::new(Arc::new(move |event| tx.send(event).unwrap()));
        gate.end(CameraError::new(CameraState::Refused, "first"));
        assert!(!gate.pass(ended()));
        assert!(matches!(rx.try_recv(), Ok(CameraEvent::Ended(e)) if e.detail == "first"));
        assert!(rx.try_recv().is_err());
    }

    #[test]
    fn shutting_waits_for_the_event_on_its_way() {
        let (entered_tx, entered) = mpsc::channel();
        let (go, go_rx) = mpsc::channel::<()>();
        let (log_tx, log) = mpsc::channel();
        let go_rx = Mutex::new(go_rx);
        let in_sink = log_tx.clone();
        let gate = Arc::new(Gate::new(Arc::new(move |_| {
            entered_tx.send(()).unwrap();
            go_rx.lock().unwrap().recv().unwrap();
            in_sink.send("passed").unwrap();
        })));
        let passing = thread::spawn({
            let gate = Arc::clone(&gate);
            move || gate.pass(ended())
        });
        entered.recv().unwrap();
        let shutting = thread::spawn(move || {
            gate.shut();
            log_tx.send("shut").unwrap();
        });
        go.send(()).unwrap();
        passing.join().unwrap();
        shutting.join().unwrap();
        assert_eq!(log.iter().collect::<Vec<_>>(), ["passed", "shut"]);
    }

    #[test]
    fn a_listener_may_shut_from_inside_an_event() {
        let own: Arc<OnceLock<Arc<Gate>>> = Arc::default();
        let inside = Arc::clone(&own);
        let gate = Arc::new(Gate::new(Arc::new(move |_| {
            if let Some(gate) = inside.get() {
                gate.shut();
            }
        })));
        own.set(Arc::clone(&gate)).ok();
        gate.pass(ended());
        assert!(!gate.pass(ended()));
    }
}
