//! Real datagrams over loopback, from the same WebRTC library's other side.
//! Independent publishers (browsers and others) are tried in tests/.

use std::{
    net::{Ipv4Addr, UdpSocket},
    sync::{
        Arc, Mutex,
        atomic::{AtomicBool, Ordering},
    },
    thread::{self, JoinHandle},
    time::{Duration, Instant},
};

use afterturn_core::{
    kernel::{CaptureUs, StationNumber},
    wire::CameraState,
};
use str0m::{
    Candidate, Event, Input, Output, Rtc,
    media::{Direction, MediaKind, MediaTime, Mid},
    net::{Protocol, Receive},
};
use tokio::time::{sleep, timeout};

use super::{PublishError, Published, Publishing, camera::WhipCamera};
use crate::av::camera::{Camera, CameraEvent, EventSink, NowFn, Running};

const LOOPBACK: Ipv4Addr = Ipv4Addr::LOCALHOST;
const SPS: &[u8] = &[0, 0, 0, 1, 0x67, 0x42, 0xe0, 0x1f, 0x8c, 0x8d];
const PPS: &[u8] = &[0, 0, 0, 1, 0x68, 0xce, 0x3c, 0x80];

mod fault;
mod forms;

fn station(number: i64) -> StationNumber {
    number.try_into().expect("a good number")
}

/// A station's camera and all it said.
struct Watched {
    events: Arc<Mutex<Vec<CameraEvent>>>,
    _running: Box<dyn Running>,
}

impl Watched {
    fn start(publishing: &Publishing, number: i64) -> Self {
        let events: Arc<Mutex<Vec<CameraEvent>>> = Arc::default();
        let sink: EventSink = {
            let events = Arc::clone(&events);
            Arc::new(move |event| events.lock().unwrap().push(event))
        };
        let began = Instant::now();
        let now: NowFn = Arc::new(move || CaptureUs(began.elapsed().as_micros() as u64));
        let mut camera = WhipCamera::new(publishing.clone(), station(number));
        let running = camera.start(now, sink).expect("it only waits");
        Self {
            events,
            _running: running,
        }
    }

    async fn until(&self, what: &str, enough: impl Fn(&[CameraEvent]) -> bool) {
        let seen = timeout(Duration::from_secs(20), async {
            while !enough(&self.events.lock().unwrap()) {
                sleep(Duration::from_millis(10)).await;
            }
        });
        assert!(seen.await.is_ok(), "{what}: {:?}", self.words());
    }

    /// What was said, in a word each.
    fn words(&self) -> Vec<&'static str> {
        let events = self.events.lock().unwrap();
        events.iter().map(word).collect()
    }
}

fn word(event: &CameraEvent) -> &'static str {
    match event {
        CameraEvent::Format(_) => "format",
        CameraEvent::Picture(picture) if picture.keyframe => "keyframe",
        CameraEvent::Picture(_) => "picture",
        CameraEvent::Notes(_) => "notes",
        CameraEvent::Waiting(why) if why.state == CameraState::NoPublisher => "nobody",
        CameraEvent::Waiting(why) if why.state == CameraState::Stalled => "stalled",
        CameraEvent::Waiting(_) | CameraEvent::Ended(_) => "other",
    }
}

fn pictures(events: &[CameraEvent]) -> usize {
    let is = |event: &&CameraEvent| matches!(event, CameraEvent::Picture(_));
    events.iter().filter(is).count()
}

/// A device that publishes: thirty pictures a second, a keyframe when asked.
struct Device {
    rtc: Rtc,
    socket: UdpSocket,
    mid: Mid,
    pending: Option<str0m::change::SdpPendingOffer>,
    offer: String,
    draw: fn(u32, bool) -> Vec<u8>,
}

/// A picture, as far as anything here looks into it.
fn drawn(_: u32, keyframe: bool) -> Vec<u8> {
    let slice = if keyframe { 0x65 } else { 0x41 };
    // Several packets, so that losing one leaves a picture in pieces.
    let body = [&[0, 0, 0, 1, slice][..], &[0x9a; 5000]].concat();
    if keyframe {
        [SPS, PPS, &body].concat()
    } else {
        body
    }
}

impl Device {
    fn new(kind: MediaKind, h264: bool) -> Self {
        let socket = UdpSocket::bind((LOOPBACK, 0)).unwrap();
        let mut rtc = Rtc::builder()
            .clear_codecs()
            .enable_h264(h264)
            .enable_vp8(!h264)
            .enable_opus(true, false)
            // Nothing is kept to be sent again: what is lost stays lost.
            .set_send_buffer_video(1)
            .build(Instant::now());
        let candidate = Candidate::host(socket.local_addr().unwrap(), "udp").unwrap();
        rtc.add_local_candidate(candidate);
        let mut change = rtc.sdp_api();
        let mid = change.add_media(kind, Direction::SendOnly, None, None, None);
        let (offer, pending) = change.apply().unwrap();
        Self {
            offer: offer.to_sdp_string(),
            pending: Some(pending),
            rtc,
            socket,
            mid,
            draw: drawn,
        }
    }

    fn video() -> Self {
        Self::new(MediaKind::Video, true)
    }

    async fn ask(&self, publishing: &Publishing, device: u64) -> Result<Published, PublishError> {
        self.ask_at(1, publishing, device).await
    }

    async fn ask_at(
        &self,
        number: i64,
        publishing: &Publishing,
        device: u64,
    ) -> Result<Published, PublishError> {
        let offer = self.offer.clone();
        publishing
            .publish(station(number), device, LOOPBACK.into(), offer)
            .await
    }

    /// Publishes until dropped; `loses` a dozen of so many datagrams once connected.
    fn run(mut self, published: &Published, loses: Option<usize>) -> Sending {
        let answer = str0m::change::SdpAnswer::from_sdp_string(&published.answer).unwrap();
        let pending = self.pending.take().unwrap();
        self.rtc.sdp_api().accept_answer(pending, answer).unwrap();
        let stop = Arc::new(AtomicBool::new(false));
        let stopped = Arc::clone(&stop);
        let thread = thread::spawn(move || self.send(&stopped, loses));
        Sending {
            stop,
            thread: Some(thread),
        }
    }

    fn send(&mut self, stop: &AtomicBool, loses: Option<usize>) {
        const PICTURE: Duration = Duration::from_millis(33);
        let (mut number, mut sent, mut keyframe) = (0_u32, 0_usize, true);
        let mut next = Instant::now();
        while !stop.load(Ordering::Relaxed) {
            let until = loop {
                match self.rtc.poll_output().unwrap() {
                    Output::Timeout(at) => break at.min(next),
                    Output::Transmit(out) => {
                        sent += 1;
                        let lost = loses.is_some_and(|every| number > 30 && sent % every < 12);
                        if !lost {
                            self.socket.send_to(&out.contents, out.destination).unwrap();
                        }
                    }
                    Output::Event(Event::KeyframeRequest(_)) => keyframe = true,
                    Output::Event(_) => {}
                }
            };
            let now = Instant::now();
            if now >= next && self.rtc.is_connected() {
                self.write(number, std::mem::take(&mut keyframe), now);
                number += 1;
                next = now + PICTURE;
                continue;
            }
            self.receive(until.max(now + Duration::from_millis(1)));
        }
    }

    fn write(&mut self, number: u32, keyframe: bool, now: Instant) {
        let data = (self.draw)(number, keyframe);
        let writer = self.rtc.writer(self.mid).expect("it was agreed");
        let pt = writer.payload_params().next().expect("H.264").pt();
        let time = MediaTime::from_90khz(u64::from(number) * 3000);
        writer.write(pt, now, time, data).unwrap();
    }

    fn receive(&mut self, until: Instant) {
        let mut buffer = [0; 2048];
        let wait = until.saturating_duration_since(Instant::now());
        let wait = wait.max(Duration::from_millis(1));
        self.socket.set_read_timeout(Some(wait)).unwrap();
        let now = Instant::now();
        let input = match self.socket.recv_from(&mut buffer) {
            Ok((length, source)) => {
                let receive = Receive {
                    proto: Protocol::Udp,
                    source,
                    destination: self.socket.local_addr().unwrap(),
                    contents: buffer[..length].try_into().unwrap(),
                };
                Input::Receive(Instant::now(), receive)
            }
            Err(_) => Input::Timeout(now.max(until)),
        };
        self.rtc.handle_input(input).unwrap();
    }
}

/// Stops sending when dropped, without a goodbye: as a tablet out of reach.
struct Sending {
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Drop for Sending {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        let _ = self.thread.take().map(JoinHandle::join);
    }
}

async fn publishing() -> Publishing {
    Publishing::bind((LOOPBACK, 0).into()).await.unwrap()
}

#[tokio::test(flavor = "multi_thread")]
async fn pictures_arrive_after_their_parameter_sets_with_a_keyframe_a_second() {
    let publishing = publishing().await;
    let watched = Watched::start(&publishing, 1);
    watched.until("it waits", |events| !events.is_empty()).await;
    assert_eq!(watched.words(), ["nobody"]);
    let device = Device::video();
    let published = device.ask(&publishing, 7).await.unwrap();
    assert!(published.answer.contains("a=ice-lite"));
    let _sending = device.run(&published, None);
    watched.until("100 pictures", |e| pictures(e) >= 100).await;
    let words = watched.words();
    assert_eq!(words[..3], ["nobody", "format", "keyframe"]);
    // Unasked, the device sends one keyframe in all.
    let keyframes = words.iter().filter(|word| **word == "keyframe").count();
    assert!((3..=8).contains(&keyframes), "{keyframes}");
    // One format: the same parameter sets again are no news.
    assert_eq!(words.iter().filter(|word| **word == "format").count(), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_leans_on_something_lost_is_left_out() {
    let publishing = publishing().await;
    let watched = Watched::start(&publishing, 1);
    let device = Device::video();
    let published = device.ask(&publishing, 7).await.unwrap();
    let _sending = device.run(&published, Some(150));
    watched.until("100 pictures", |e| pictures(e) >= 100).await;
    let events = watched.events.lock().unwrap();
    let mut last = None;
    let mut holes = 0;
    for event in events.iter() {
        let CameraEvent::Picture(picture) = event else {
            continue;
        };
        let afterturn_core::media::stamp::SourceStamp::Rtp { ticks, .. } = picture.source else {
            panic!("publishers stamp in RTP time");
        };
        if last.is_some_and(|last| ticks - last != 3000) {
            holes += 1;
            assert!(
                picture.keyframe,
                "a picture after a hole leans on what is missing"
            );
        }
        last = Some(ticks);
    }
    assert!(holes > 0, "nothing was lost: this test tested nothing");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_device_that_falls_silent_is_replaced_and_one_that_sends_is_not() {
    let publishing = publishing().await;
    let watched = Watched::start(&publishing, 1);
    let first = Device::video();
    let published = first.ask(&publishing, 7).await.unwrap();
    let sending = first.run(&published, None);
    watched.until("pictures", |e| pictures(e) >= 10).await;
    let other = Device::video();
    assert_eq!(other.ask(&publishing, 8).await, Err(PublishError::Taken));
    // The same device again takes its own place: its page was opened anew.
    let again = Device::video();
    let published = again.ask(&publishing, 7).await.unwrap();
    drop(sending);
    let sending = again.run(&published, None);
    let before = pictures(&watched.events.lock().unwrap());
    watched.until("more", |e| pictures(e) >= before + 10).await;
    drop(sending);
    sleep(Duration::from_millis(2500)).await;
    // The camera is not opened anew for that.
    assert_eq!(watched.words().last(), Some(&"stalled"));
    let published = other.ask(&publishing, 8).await.unwrap();
    let _sending = other.run(&published, None);
    let before = pictures(&watched.events.lock().unwrap());
    watched
        .until("the other's", |e| pictures(e) >= before + 10)
        .await;
    // Whoever may no more is cut.
    publishing.cut(8);
    watched
        .until("cut", |e| word(e.last().unwrap()) == "nobody")
        .await;
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_class_nobody_publishes() {
    let publishing = publishing().await;
    let device = Device::video();
    assert_eq!(device.ask(&publishing, 7).await, Err(PublishError::Off));
    let watched = Watched::start(&publishing, 1);
    assert_eq!(device.ask(&publishing, 7).await.err(), None);
    drop(watched);
    let late = Device::video();
    assert_eq!(late.ask(&publishing, 7).await, Err(PublishError::Off));
}

#[tokio::test(flavor = "multi_thread")]
async fn rubbish_is_refused_and_harms_nobody() {
    let publishing = publishing().await;
    let watched = Watched::start(&publishing, 1);
    let device = Device::video();
    let published = device.ask(&publishing, 7).await.unwrap();
    let _sending = device.run(&published, None);
    watched.until("pictures", |e| pictures(e) >= 10).await;

    let offer = Device::video().offer;
    let rubbish = [
        "",
        "v=0",
        "{}",
        &offer[..offer.len() / 2],
        &offer.replace("a=ice-ufrag", "a=x"),
        &"v=0\r\n".repeat(500),
    ];
    for text in rubbish {
        let refused = publishing.publish(station(1), 7, LOOPBACK.into(), text.to_owned());
        assert!(
            matches!(refused.await, Err(PublishError::Offer(_))),
            "{text:?}"
        );
    }
    for (kind, h264) in [(MediaKind::Audio, true), (MediaKind::Video, false)] {
        let none = Device::new(kind, h264);
        assert_eq!(none.ask(&publishing, 7).await, Err(PublishError::NoVideo));
    }
    let socket = UdpSocket::bind((LOOPBACK, 0)).unwrap();
    for first in 0..=255_u8 {
        socket.send_to(&[first; 40], publishing.address()).unwrap();
        socket.send_to(&[first], publishing.address()).unwrap();
    }
    let before = pictures(&watched.events.lock().unwrap());
    watched
        .until("on it goes", |e| pictures(e) >= before + 30)
        .await;
}
