//! A fault of the program while publishers are served.

use super::*;

/// Whoever wants the pictures of one station is a fault of the program.
#[tokio::test]
async fn a_fault_while_publishers_are_served_ends_neither_the_socket_nor_other_stations() {
    let publishing = publishing().await;
    let mut failed = publishing.failed();
    let faulty: EventSink = Arc::new(|_| panic!("as scripted"));
    let now: NowFn = Arc::new(|| CaptureUs(1));
    let mut camera = WhipCamera::new(publishing.clone(), station(1));
    let running = camera.start(now, faulty).expect("it only waits");
    let told = timeout(Duration::from_secs(20), failed.changed()).await;
    assert!(matches!(told, Ok(Ok(()))), "it is told, and goes on");
    drop(running);
    let other = Watched::start(&publishing, 2);
    other.until("served again", |all| !all.is_empty()).await;
    assert_eq!(other.words(), ["nobody"]);
}
