//! Why a network camera is not sending, found out from what the RTSP exchange
//! came to, and in the last resort by knocking ourselves.
//!
//! Not here: any text of `GStreamer`'s; it can hold the camera's whole address.
//! Every sentence is written here, from numbers and words known beforehand.

use std::{
    io::{ErrorKind, Read, Write},
    net::{TcpStream, ToSocketAddrs},
    time::Duration,
};

use afterturn_core::wire::CameraState;
use gstreamer as gst;

use super::address::Host;
use crate::av::camera::CameraError;

/// How long a knock waits for the door, and then for a word. A camera in the
/// same building answers within milliseconds.
const KNOCK_TIMEOUT: Duration = Duration::from_secs(1);

/// Addresses of one name that are tried.
const MOST_ADDRESSES: usize = 3;

/// A stream the camera has on offer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Offer {
    pub(super) media: String,
    pub(super) encoding: String,
}

/// How far the exchange came.
#[derive(Clone, Debug, Default)]
pub(super) struct Progress {
    pub(super) offers: Vec<Offer>,
    pub(super) chosen: bool,
    pub(super) flowing: bool,
}

/// What `GStreamer` knew, without its words.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Failure {
    /// The RTSP status code (RFC 2326 §7.1.1).
    pub(super) status: Option<u32>,
    pub(super) unauthorized: bool,
    pub(super) not_found: bool,
}

impl Failure {
    pub(super) fn from_message(message: &gst::message::Error) -> Self {
        let error = message.error();
        let status = message
            .details()
            .and_then(|d| d.get::<u32>("rtsp-status-code").ok());
        Self {
            status,
            unauthorized: error.matches(gst::ResourceError::NotAuthorized),
            not_found: error.matches(gst::ResourceError::NotFound),
        }
    }
}

/// What came of knocking.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Answer {
    NoSuchName,
    Closed(ErrorKind),
    Silent,
    HangsUp,
    Rtsp,
    SomethingElse,
}

/// The one word and the technician's sentence. `knock` is asked only when the
/// exchange itself leaves the reason open.
pub(super) fn explain(
    failure: Failure,
    progress: &Progress,
    host: &Host,
    knock: impl FnOnce(&Host) -> Answer,
) -> CameraError {
    if let Some(error) = by_status(failure, host) {
        return error;
    }
    if !progress.offers.is_empty() && !progress.chosen {
        return no_h264(&progress.offers);
    }
    if progress.flowing {
        return CameraError::new(CameraState::Ended, format!("{host} ended the stream"));
    }
    by_knocking(knock(host), host)
}

fn by_status(failure: Failure, host: &Host) -> Option<CameraError> {
    let Failure {
        status,
        unauthorized,
        not_found,
    } = failure;
    let (state, detail) = match status {
        Some(401 | 403 | 407) => (
            CameraState::Refused,
            format!("{host} refuses the user name or password"),
        ),
        Some(404 | 410) => (
            CameraState::NotACamera,
            format!("{host} has no such stream; check the path in the camera's address"),
        ),
        Some(461) => (
            CameraState::Unsuitable,
            format!("{host} does not send over TCP; turn on RTSP over TCP (interleaved)"),
        ),
        Some(code @ (453 | 500..)) => (
            CameraState::Unreachable,
            format!(
                "{host} cannot serve us now (RTSP status {code}); it may have too many viewers"
            ),
        ),
        Some(code @ 300..) => (
            CameraState::NotACamera,
            format!("{host} refuses the stream (RTSP status {code})"),
        ),
        _ if unauthorized => (
            CameraState::Refused,
            format!("{host} refuses the user name or password"),
        ),
        _ if not_found && status.is_some() => (
            CameraState::NotACamera,
            format!("{host} has no such stream"),
        ),
        _ => return None,
    };
    Some(CameraError::new(state, detail))
}

fn no_h264(offers: &[Offer]) -> CameraError {
    let videos: Vec<_> = offers.iter().filter(|o| o.media == "video").collect();
    let detail = if videos.is_empty() {
        "This stream has no video; check the path in the camera's address".to_owned()
    } else {
        let found: Vec<_> = videos.iter().map(|o| readable(&o.encoding)).collect();
        format!(
            "This camera sends {}; set its video encoding to H.264",
            found.join(" and ")
        )
    };
    CameraError::new(CameraState::Unsuitable, detail)
}

/// An encoding's name as people write it. It came from the camera, so what is
/// not known is cut to letters and digits.
fn readable(encoding: &str) -> String {
    match encoding {
        "H265" => "H.265 (HEVC)".to_owned(),
        "JPEG" => "Motion JPEG".to_owned(),
        "MP4V-ES" => "MPEG-4 Part 2".to_owned(),
        other => other
            .chars()
            .filter(|c| c.is_ascii_alphanumeric() || *c == '-')
            .take(20)
            .collect(),
    }
}

fn by_knocking(answer: Answer, host: &Host) -> CameraError {
    let (state, detail) = match answer {
        Answer::NoSuchName => (
            CameraState::Unreachable,
            format!("no machine is known by the name in {host}"),
        ),
        Answer::Closed(ErrorKind::ConnectionRefused) => (
            CameraState::Unreachable,
            format!("{host} is closed; is the camera's RTSP server on?"),
        ),
        Answer::Closed(ErrorKind::TimedOut | ErrorKind::WouldBlock) => (
            CameraState::Unreachable,
            format!("nothing answers at {host}"),
        ),
        Answer::Closed(kind) => (
            CameraState::Unreachable,
            format!("{host} cannot be reached: {kind}"),
        ),
        Answer::Silent => (
            CameraState::Unreachable,
            format!("{host} takes the connection and then says nothing"),
        ),
        Answer::HangsUp => (
            CameraState::NotACamera,
            format!("{host} hangs up without a word; is it a camera's RTSP port?"),
        ),
        Answer::SomethingElse => (
            CameraState::NotACamera,
            format!("{host} answers, but not as a camera; is it the camera's RTSP port?"),
        ),
        Answer::Rtsp => (
            CameraState::Ended,
            format!("{host} is a camera, but the stream broke off while it was being opened"),
        ),
    };
    CameraError::new(state, detail)
}

/// Opens a connection, asks what an RTSP server must answer (RFC 2326 §10.1),
/// and tells from the first bytes who is there.
pub(super) fn knock(host: &Host) -> Answer {
    let Ok(addresses) = (host.host.as_str(), host.port).to_socket_addrs() else {
        return Answer::NoSuchName;
    };
    let mut answer = Answer::NoSuchName;
    for address in addresses.take(MOST_ADDRESSES) {
        match TcpStream::connect_timeout(&address, KNOCK_TIMEOUT) {
            Ok(stream) => return ask(stream),
            Err(error) => answer = Answer::Closed(error.kind()),
        }
    }
    answer
}

fn ask(mut stream: TcpStream) -> Answer {
    let mut first = [0; 5];
    let heard = stream
        .set_read_timeout(Some(KNOCK_TIMEOUT))
        .and_then(|()| stream.set_write_timeout(Some(KNOCK_TIMEOUT)))
        .and_then(|()| stream.write_all(b"OPTIONS * RTSP/1.0\r\nCSeq: 1\r\n\r\n"))
        .and_then(|()| stream.read_exact(&mut first));
    match heard {
        Ok(()) if &first == b"RTSP/" => Answer::Rtsp,
        Ok(()) => Answer::SomethingElse,
        Err(error) if matches!(error.kind(), ErrorKind::WouldBlock | ErrorKind::TimedOut) => {
            Answer::Silent
        }
        Err(_) => Answer::HangsUp,
    }
}

#[cfg(test)]
#[path = "fault_tests.rs"]
mod tests;
