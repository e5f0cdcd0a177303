//! A fault of the program in one station's task.

use afterturn_core::wire::{FailedPart, Part};

use super::*;
use crate::host::parts::Parts;

/// A station that is a part of the program.
fn run_as_part(parts: &mut Parts, number: i64, script: &[Act]) -> (Arc<Station>, Arc<AtomicUsize>) {
    let (station, starts) = (empty(number), Arc::new(AtomicUsize::new(0)));
    let script = Arc::new(Mutex::new(script.iter().cloned().collect()));
    station.capture(true);
    let part = Part::Station {
        number: station.config().number,
    };
    let own = (Arc::clone(&station), Arc::clone(&starts));
    parts.run(part, move |stop| {
        let camera = Box::new(Scripted {
            script: Arc::clone(&script),
            starts: Arc::clone(&own.1),
        });
        supervise(Arc::clone(&own.0), camera, stop)
    });
    (station, starts)
}

#[tokio::test(start_paused = true)]
async fn a_fault_in_one_stations_task_is_its_own_is_told_and_its_ring_goes_on() {
    let (_stop, stopped) = watch::channel(false);
    let mut parts = Parts::new(stopped);
    let failures = parts.failures();
    let script = [
        Act::PlayThenEnd(Duration::from_secs(5)),
        Act::Fault,
        Act::PlayThenEnd(Duration::from_mins(10)),
    ];
    let (bad, bad_starts) = run_as_part(&mut parts, 1, &script);
    let (good, good_starts) = run_as_part(&mut parts, 2, &script[2..]);
    // It ended after five seconds, and is opened again a quarter of one later.
    seconds(5.4).await;
    let fell = bad.state();
    assert_eq!(fell.camera, CameraState::Ended, "its screens say so");
    let part = Part::Station {
        number: bad.config().number,
    };
    assert_eq!(failures.said(), [FailedPart { part, runs: false }]);
    seconds(3.0).await;
    let now = bad.state();
    assert_eq!(now.camera, CameraState::Showing);
    assert_eq!(
        now.oldest_us, fell.oldest_us,
        "what was seen is still there"
    );
    assert!(now.newest_us > fell.newest_us);
    assert_eq!(failures.said(), [FailedPart { part, runs: true }]);
    assert_eq!(good.state().camera, CameraState::Showing);
    let starts = [bad_starts, good_starts].map(|starts| starts.load(Ordering::Relaxed));
    assert_eq!(starts, [3, 1]);
}
