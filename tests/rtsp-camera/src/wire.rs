//! The bad habits that show only on the wire: encoded pictures are lost, stamps
//! step, parameter sets promise less than they could.
//!
//! All of them are done behind the encoder, which would not bear them or would
//! not notice. Not here: what is drawn and when it is sent (see `feed`).

use std::ops::ControlFlow;
use std::sync::Mutex;

use gst::prelude::*;
use gstreamer as gst;

use crate::launch;
use crate::quirk::Quirk;
use crate::sps;

/// Milliseconds in ticks of a video stream's RTP clock (RFC 6184 §8.2.1: 90 kHz).
const TICKS_PER_MS: i64 = 90;

/// Where the timestamp stands in a packet (RFC 3550 §5.1).
const TIMESTAMP: std::ops::Range<usize> = 4..8;

/// Gives a media that is being prepared the habits it was asked for.
pub(crate) fn apply(bin: &gst::Bin, quirks: &[Quirk]) -> Result<(), String> {
    let pad = |element: &str, name: &str| {
        bin.by_name(element)
            .and_then(|element| element.static_pad(name))
            .ok_or_else(|| format!("a media without its {element}"))
    };
    for quirk in quirks {
        match *quirk {
            Quirk::Drop { from_s, to_s } => lose(&pad(launch::PARSER, "src")?, from_s, to_s),
            Quirk::Step { by_ms, at_s } => step(&pad(launch::PACKETS, "src")?, by_ms, at_s),
            Quirk::NoRestriction => promise_nothing(&pad(launch::PARSER, "sink")?),
            _ => {}
        }
    }
    Ok(())
}

/// Counts from the first stamp that passes a pad.
#[derive(Default)]
struct Since(Mutex<Option<gst::ClockTime>>);

impl Since {
    fn seconds(&self, pts: Option<gst::ClockTime>) -> Option<f64> {
        // A thread that panicked while it held this plain value left it whole.
        let mut first = self
            .0
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        let pts = pts?;
        Some(pts.saturating_sub(*first.get_or_insert(pts)).nseconds() as f64 / 1e9)
    }
}

/// Where a habit stands that has a beginning and an end.
#[derive(Clone, Copy, PartialEq)]
enum Phase {
    Before,
    During,
    After,
}

/// Loses what is encoded between two moments.
fn lose(pad: &gst::Pad, from_s: f64, to_s: f64) {
    let (since, phase) = (Since::default(), Mutex::new(Phase::Before));
    pad.add_probe(gst::PadProbeType::BUFFER, move |_, info| {
        let at_s = since.seconds(info.buffer().and_then(|buffer| buffer.pts()));
        let (Some(at_s), Ok(mut phase)) = (at_s, phase.lock()) else {
            return gst::PadProbeReturn::Ok;
        };
        let lost = (from_s..to_s).contains(&at_s);
        match (*phase, lost) {
            (Phase::Before, true) => {
                crate::announce_quirk("drop", "begins");
                *phase = Phase::During;
            }
            (Phase::During, false) => {
                crate::announce_quirk("drop", "over");
                *phase = Phase::After;
            }
            _ => {}
        }
        if lost {
            gst::PadProbeReturn::Drop
        } else {
            gst::PadProbeReturn::Ok
        }
    });
}

/// Makes the stamps in the packets step from a moment on.
fn step(pad: &gst::Pad, by_ms: i64, at_s: f64) {
    let (since, phase) = (Since::default(), Mutex::new(Phase::Before));
    let by_ticks = (by_ms * TICKS_PER_MS) as u32;
    let name = if by_ms < 0 {
        "back-step"
    } else {
        "forward-step"
    };
    let both = gst::PadProbeType::BUFFER | gst::PadProbeType::BUFFER_LIST;
    pad.add_probe(both, move |_, info| {
        let first = match (info.buffer(), info.buffer_list()) {
            (Some(buffer), _) => buffer.pts(),
            (None, Some(list)) => list.get(0).and_then(gst::BufferRef::pts),
            (None, None) => None,
        };
        let due = since.seconds(first).is_some_and(|now_s| now_s >= at_s);
        let (true, Ok(mut phase)) = (due, phase.lock()) else {
            return gst::PadProbeReturn::Ok;
        };
        if *phase == Phase::Before {
            crate::announce_quirk(name, "begins");
            crate::announce_quirk(name, "over");
            *phase = Phase::After;
        }
        if let Some(packet) = info.buffer_mut() {
            move_stamp(packet.make_mut(), by_ticks);
        } else if let Some(packets) = info.buffer_list_mut() {
            packets.make_mut().foreach_mut(|mut packet, _| {
                move_stamp(packet.make_mut(), by_ticks);
                ControlFlow::Continue(Some(packet))
            });
        }
        gst::PadProbeReturn::Ok
    });
}

fn move_stamp(packet: &mut gst::BufferRef, by_ticks: u32) {
    let Ok(mut bytes) = packet.map_writable() else {
        return;
    };
    if let Some(Ok(stamp)) = bytes.get(TIMESTAMP).map(<[u8; 4]>::try_from) {
        let moved = u32::from_be_bytes(stamp).wrapping_add(by_ticks);
        bytes[TIMESTAMP].copy_from_slice(&moved.to_be_bytes());
    }
}

/// Takes the promises out of every sequence parameter set.
fn promise_nothing(pad: &gst::Pad) {
    pad.add_probe(gst::PadProbeType::BUFFER, |_, info| {
        let Some(buffer) = info.buffer_mut() else {
            return gst::PadProbeReturn::Ok;
        };
        let rewritten = buffer
            .map_readable()
            .ok()
            .and_then(|bytes| sps::stream_without_vui(&bytes));
        if let Some(bytes) = rewritten {
            let mut new = gst::Buffer::from_slice(bytes);
            if let Some(open) = new.get_mut() {
                let all = buffer.flags();
                open.set_flags(all);
                open.set_pts(buffer.pts());
                open.set_dts(buffer.dts());
                open.set_duration(buffer.duration());
            }
            *buffer = new;
        }
        gst::PadProbeReturn::Ok
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_packets_stamp_moves_and_goes_round_and_nothing_else_does() {
        gst::init().expect("GStreamer starts");
        for (stamp, by_ms, moved) in [(1000_u32, 50, 5_500_u32), (1000, -50, 4_294_963_796)] {
            let packet =
                |stamp: u32| [&[0x80, 96, 0, 7], &stamp.to_be_bytes()[..], &[1; 6]].concat();
            let mut buffer = gst::Buffer::from_slice(packet(stamp));
            let open = buffer.get_mut().expect("it is ours alone");
            move_stamp(open, (i64::from(by_ms) * TICKS_PER_MS) as u32);
            let bytes = buffer.map_readable().expect("it can be read");
            assert_eq!(bytes.as_slice(), packet(moved));
        }
        let mut short = gst::Buffer::from_slice([0x80, 96, 0]);
        move_stamp(short.get_mut().expect("it is ours alone"), 1);
    }

    #[test]
    fn seconds_count_from_the_first_stamp() {
        let since = Since::default();
        let at = |ms: Option<u64>| since.seconds(ms.map(gst::ClockTime::from_mseconds));
        assert_eq!(at(None), None);
        assert_eq!(at(Some(700)), Some(0.0));
        assert_eq!(at(Some(1_200)), Some(0.5));
        assert_eq!(at(Some(100)), Some(0.0));
    }
}
