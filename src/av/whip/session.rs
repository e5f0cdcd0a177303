//! One publisher: its WebRTC session and what its pictures need before they can
//! go on. No socket and no clock: datagrams and the time come in.
//!
//! Not here: which datagram is whose, and where pictures go.

use std::{
    net::SocketAddr,
    time::{Duration, Instant, UNIX_EPOCH},
};

use afterturn_core::{
    kernel::CaptureUs,
    media::{Picture, annexb, report::SenderReport, stamp::SourceStamp},
};
use bytes::Bytes;
use str0m::{
    Candidate, Event, IceConnectionState, Input, Output, Rtc,
    change::SdpOffer,
    media::{KeyframeRequestKind, MediaAdded, MediaData, MediaKind, Mid},
    net::{Protocol, Receive},
    rtp::{Extension, ExtensionMap},
};

use super::PublishError;
use crate::av::camera::{AvcConfig, CameraEvent};

/// A viewer can only begin, and a hole only end, at a keyframe.
const KEYFRAME_EVERY: Duration = Duration::from_secs(1);
/// A request that was lost is made again.
const ASK_AGAIN: Duration = Duration::from_millis(250);
/// A picture so many times as large as they usually are shows something else
/// altogether: whoever has to notice that a camera was turned away looks at
/// keyframes, and one is due…
const JUMP: usize = 3;
/// …but no sooner after another.
const JUMPS_EVERY: Duration = Duration::from_millis(300);
/// Longer than a browser needs to connect over a bad network; then nobody comes.
const CONNECTS_WITHIN: Duration = Duration::from_secs(15);
/// Without a picture for this long the publisher is gone, whatever it says.
const GONE_AFTER: Duration = Duration::from_secs(5);
/// RTP clock of all video (RFC 6184 §8.2.1).
const CLOCK_HZ: u32 = 90_000;

/// See the module.
pub(super) struct Session {
    rtc: Rtc,
    local: SocketAddr,
    video: Option<Mid>,
    began: Instant,
    /// When the last picture came whole.
    pub(super) last: Option<Instant>,
    /// The parameter sets sent on last.
    avcc: Option<Bytes>,
    /// Nothing goes on before a keyframe.
    wants_keyframe: bool,
    keyframe_at: Option<Instant>,
    asked_at: Option<Instant>,
    /// How large a picture usually is that is no keyframe.
    usual_bytes: usize,
    /// One was far larger since the last keyframe.
    jumped: bool,
    /// How far our clock is ahead of the publisher's, once they were compared.
    ahead_us: Option<i64>,
    ended: bool,
}

/// What a session wants done.
pub(super) enum Wish {
    /// A datagram is to go out.
    Send(SocketAddr, Vec<u8>),
    /// Something for the station.
    Tell(CameraEvent),
    /// Nothing before this moment.
    Wake(Instant),
}

impl Session {
    /// Answers an offer; datagrams are to come to `local`.
    pub(super) fn answer(
        offer: &str,
        local: SocketAddr,
        now: Instant,
    ) -> Result<(Self, String), PublishError> {
        let unread = |error: String| PublishError::Offer(error);
        let offer = SdpOffer::from_sdp_string(offer).map_err(|error| unread(error.to_string()))?;
        // Left alone, a phone sends how it is held and leaves turning to us.
        let mut extensions = ExtensionMap::empty();
        for (id, extension) in ExtensionMap::standard().iter() {
            if *extension != Extension::VideoOrientation {
                extensions.set(id, extension.clone());
            }
        }
        let mut rtc = Rtc::builder()
            .set_ice_lite(true)
            .clear_codecs()
            .enable_h264(true)
            .set_extension_map(extensions)
            .build(now);
        let candidate = Candidate::host(local, "udp").map_err(|_| PublishError::Address)?;
        rtc.add_local_candidate(candidate);
        let answer = rtc.sdp_api().accept_offer(offer);
        let answer = answer
            .map_err(|error| unread(error.to_string()))?
            .to_sdp_string();
        if !takes_video(&answer) {
            return Err(PublishError::NoVideo);
        }
        let session = Self {
            rtc,
            local,
            video: None,
            began: now,
            last: None,
            avcc: None,
            wants_keyframe: true,
            keyframe_at: None,
            asked_at: None,
            usual_bytes: 0,
            jumped: false,
            ahead_us: None,
            ended: false,
        };
        Ok((session, answer))
    }

    /// Whether it is over.
    pub(super) fn is_over(&self, now: Instant) -> bool {
        let since = self.last.unwrap_or(self.began);
        let most = if self.last.is_some() {
            GONE_AFTER
        } else {
            CONNECTS_WITHIN
        };
        self.ended || !self.rtc.is_alive() || now.duration_since(since) > most
    }

    /// A datagram; says whether it was meant for this publisher.
    pub(super) fn receive(&mut self, source: SocketAddr, bytes: &[u8], now: Instant) -> bool {
        let Ok(contents) = bytes.try_into() else {
            return false;
        };
        let receive = Receive {
            proto: Protocol::Udp,
            source,
            destination: self.local,
            contents,
        };
        let input = Input::Receive(now, receive);
        if !self.rtc.accepts(&input) {
            return false;
        }
        if let Err(error) = self.rtc.handle_input(input) {
            self.end(&error);
        }
        true
    }

    /// The time goes on.
    pub(super) fn tick(&mut self, now: Instant) {
        if let Err(error) = self.rtc.handle_input(Input::Timeout(now)) {
            self.end(&error);
        }
        self.ask_for_keyframe(now);
    }

    /// Clocks were compared.
    pub(super) const fn compared(&mut self, ahead_us: i64) {
        self.ahead_us = Some(ahead_us);
    }

    /// A new reader: it begins with parameter sets and a keyframe.
    pub(super) fn begin_anew(&mut self, now: Instant) {
        self.avcc = None;
        self.wants_keyframe = true;
        self.asked_at = None;
        self.ask_for_keyframe(now);
    }

    /// Says goodbye; what is left to send comes as wishes.
    pub(super) fn close(&mut self) {
        self.rtc.disconnect();
        self.ended = true;
    }

    fn end(&mut self, error: &dyn std::error::Error) {
        tracing::debug!(%error, "a publisher's session ended");
        self.close();
    }

    /// The next thing it wants done; after a [`Wish::Wake`] there is no more.
    pub(super) fn wish(&mut self, now: Instant, arrival: CaptureUs) -> Vec<Wish> {
        match self.rtc.poll_output() {
            Ok(Output::Timeout(at)) => vec![Wish::Wake(at)],
            Ok(Output::Transmit(out)) => vec![Wish::Send(out.destination, out.contents.to_vec())],
            Ok(Output::Event(event)) => self.event(event, now, arrival),
            Err(error) => {
                self.end(&error);
                vec![Wish::Wake(now)]
            }
        }
    }

    fn event(&mut self, event: Event, now: Instant, arrival: CaptureUs) -> Vec<Wish> {
        match event {
            Event::MediaAdded(MediaAdded {
                mid,
                kind: MediaKind::Video,
                ..
            }) => {
                self.video.get_or_insert(mid);
            }
            Event::IceConnectionStateChange(IceConnectionState::Disconnected) | Event::Closed => {
                self.ended = true;
            }
            Event::MediaData(data) if Some(data.mid) == self.video => {
                let told = self.picture(&data, now, arrival);
                return told.into_iter().map(Wish::Tell).collect();
            }
            _ => {}
        }
        Vec::new()
    }

    /// A whole picture. After a loss nothing goes on until a keyframe: what
    /// leans on something missing shows a smeared child.
    fn picture(&mut self, data: &MediaData, now: Instant, arrival: CaptureUs) -> Vec<CameraEvent> {
        self.last = Some(now);
        let unit = annexb::unpack(&data.data);
        self.wants_keyframe |= !data.contiguous;
        if unit.keyframe {
            self.wants_keyframe = false;
            self.keyframe_at = Some(now);
            self.jumped = false;
        } else {
            self.weigh(unit.data.len());
        }
        if self.wants_keyframe {
            self.ask_for_keyframe(now);
            return Vec::new();
        }
        let mut told = Vec::with_capacity(2);
        if let Some(avcc) = unit.avcc.filter(|avcc| self.avcc.as_ref() != Some(avcc)) {
            self.avcc = Some(avcc.clone());
            told.push(CameraEvent::Format(AvcConfig(avcc)));
        }
        let ticks = data.time.numer() as u32;
        told.push(CameraEvent::Picture(Picture {
            source: SourceStamp::Rtp {
                ticks,
                clock_hz: CLOCK_HZ,
            },
            arrival: self.taken(data, ticks, arrival),
            keyframe: unit.keyframe,
            data: unit.data,
        }));
        told
    }

    fn weigh(&mut self, bytes: usize) {
        self.jumped |= self.usual_bytes > 0 && bytes > JUMP * self.usual_bytes;
        self.usual_bytes = match self.usual_bytes {
            0 => bytes,
            usual => (usual * 15 + bytes) / 16,
        };
    }

    /// When the picture was taken, as far as its sender has told; else when it
    /// arrived.
    fn taken(&self, data: &MediaData, ticks: u32, arrival: CaptureUs) -> CaptureUs {
        let said = self.ahead_us.zip(data.last_sender_info.as_ref());
        let taken = said.and_then(|(ahead_us, info)| {
            let sender = info.ntp_time.duration_since(UNIX_EPOCH).ok()?;
            let report = SenderReport {
                sender_us: i64::try_from(sender.as_micros()).ok()?,
                ticks: info.rtp_time.numer() as u32,
                clock_hz: CLOCK_HZ,
            };
            report.taken(ticks, ahead_us, arrival)
        });
        taken.unwrap_or(arrival)
    }

    /// Asks for a keyframe where one is due: a browser sends none by itself.
    fn ask_for_keyframe(&mut self, now: Instant) {
        let Some(mid) = self.video.filter(|_| self.last.is_some()) else {
            return;
        };
        let passed = |since: Option<Instant>, most| since.is_none_or(|at| now - at >= most);
        let jumped = self.jumped && passed(self.keyframe_at, JUMPS_EVERY);
        let due = self.wants_keyframe || jumped || passed(self.keyframe_at, KEYFRAME_EVERY);
        if !due || !passed(self.asked_at, ASK_AGAIN) {
            return;
        }
        self.asked_at = Some(now);
        if let Some(stream) = self.rtc.direct_api().stream_rx_by_mid(mid, None) {
            stream.request_keyframe(KeyframeRequestKind::Pli);
        }
    }
}

/// Whether an answer takes the video that was offered: a media line that is
/// refused has port 0 (RFC 3264 §6).
fn takes_video(answer: &str) -> bool {
    let mut lines = answer.lines();
    lines.any(|line| line.starts_with("m=video ") && !line.starts_with("m=video 0 "))
}
