//! From raw pictures of any form to H.264 of ours: one row of elements, set by
//! the form of what comes in.
//!
//! ```text
//! queue ! deinterlace ! videoconvertscale ! capsfilter ! encoder ! capsfilter
//! ```
//!
//! Pictures keep the stamp they came with, to the nanosecond; one that is too
//! much for the encoder is left out, never made late.
//!
//! Not here: where they come from, and what is done with the stream.

use std::sync::{Arc, Mutex, PoisonError};

use afterturn_core::wire::{CameraNote, CameraState};
use gstreamer::{self as gst, prelude::*};

use super::{
    Encoding, Share, Target,
    overload::Overload,
    size::{Dimensions, KEPT_APART, Most, Rate, Raw, bitrate_kbps, fitted, one_in, steps},
};
use crate::av::{
    camera::{CameraError, Note},
    element,
};

/// Raw pictures that may wait for the encoder. One is being worked on while the
/// next comes; a third would only be late.
const MOST_WAITING: u32 = 2;

/// The rate of a source that does not say: the usual one.
const UNSAID: Rate = Rate {
    pictures: 30,
    seconds: 1,
};

/// What is to be made.
pub(in crate::av) struct Order<'o> {
    pub(in crate::av) encoding: &'o Encoding,
    /// What the pictures are fitted into.
    pub(in crate::av) wanted: Most,
    /// Steps down that were found to be needed.
    pub(in crate::av) lower: usize,
    /// Told once when the machine does not keep up, and whether there is no step
    /// left.
    pub(in crate::av) too_slow: Option<TooSlow>,
}

/// See [`Order::too_slow`].
pub(in crate::av) type TooSlow = Box<dyn Fn(bool) + Send + Sync>;

/// The end of the row, and what comes out there.
#[derive(Debug)]
pub(in crate::av) struct Attached {
    pub(in crate::av) last: gst::Element,
    /// The step it is: 0 is all that was wanted.
    pub(in crate::av) step: usize,
    /// No step below it is left.
    pub(in crate::av) lowest: bool,
    wanted: Most,
    most: Most,
}

impl Attached {
    /// What there is to say where it is less than was wanted.
    pub(in crate::av) fn note(&self) -> Option<Note> {
        let Dimensions {
            width_px,
            height_px,
        } = self.most.size;
        let fps = self.most.fps;
        let wanted = self.wanted;
        (self.step > 0).then(|| Note {
            word: CameraNote::Reduced {
                width_px,
                height_px,
                fps,
            },
            detail: format!(
                "this machine is too slow to encode {}×{} {} times a second; \
                 encoding {width_px}×{height_px} {fps} times a second",
                wanted.size.width_px, wanted.size.height_px, wanted.fps
            ),
        })
    }
}

/// Puts the row behind `source`, an element of `pipeline` with raw pictures
/// coming out of it.
pub(in crate::av) fn attach(
    pipeline: &gst::Pipeline,
    source: &gst::Element,
    order: Order<'_>,
) -> Result<Attached, CameraError> {
    let steps = steps(order.wanted);
    let share = order.encoding.share(&steps)?;
    let step = share.step.max(order.lower).min(steps.len() - 1);
    let most = steps[step];
    let encoder = share.encoder(target(most.size, f64::from(most.fps)))?;

    let queue = waiting_room()?;
    let deinterlace = element("deinterlace")?;
    deinterlace.set_property_from_str("mode", "auto");
    deinterlace.set_property_from_str("method", "linear");
    // One picture of each pair of fields: twice as many would cost twice.
    deinterlace.set_property_from_str("fields", "top");
    let convert = element("videoconvertscale")?;
    let form = element("capsfilter")?;
    form.set_property("caps", raw_form(share.raw()));
    let profile = element("capsfilter")?;
    profile.set_property("caps", &encoder.caps);

    let parts = [
        source,
        &queue,
        &deinterlace,
        &convert,
        &form,
        &encoder.element,
        &profile,
    ];
    pipeline
        .add_many(&parts[1..])
        .and_then(|()| gst::Element::link_many(parts))
        .map_err(|_| CameraError::new(CameraState::MissingPart, "the encoding parts do not fit"))?;
    let lowest = step + 1 == steps.len();
    let too_slow = order.too_slow.map(|told| move || told(lowest));
    thin_out(&queue, most.fps, too_slow);
    let fitting = Fitting {
        most,
        form,
        encoder: encoder.element,
        share,
    };
    fit(&convert, fitting);
    Ok(Attached {
        last: profile,
        step,
        lowest,
        wanted: order.wanted,
        most,
    })
}

fn target(size: Dimensions, fps: f64) -> Target {
    Target {
        bitrate_kbps: bitrate_kbps(size, fps),
        // Twice a second's: those a second apart are asked for.
        keyframe_every: (fps * 2.0).round().max(1.0) as u32,
    }
}

/// The queue between the source's thread and the encoder's.
fn waiting_room() -> Result<gst::Element, CameraError> {
    let queue = element("queue")?;
    // What does not fit is left out before it gets here; the bound is for what
    // comes between two looks.
    queue.set_property("max-size-buffers", MOST_WAITING * 2);
    queue.set_property("max-size-bytes", 0_u32);
    queue.set_property("max-size-time", 0_u64);
    Ok(queue)
}

fn raw_form(format: &str) -> gst::Caps {
    gst::Caps::builder("video/x-raw")
        .field("format", format)
        .field("pixel-aspect-ratio", gst::Fraction::new(1, 1))
        .field("interlace-mode", "progressive")
        .build()
}

/// Leaves out pictures before anything is done to them: those beyond the rate
/// wanted, and those the encoder has no time for.
fn thin_out(
    queue: &gst::Element,
    most_fps: u32,
    too_slow: Option<impl Fn() + Send + Sync + 'static>,
) {
    let Some(pad) = queue.static_pad("sink") else {
        return;
    };
    let least_apart_ns = (KEPT_APART * 1e9 / f64::from(most_fps)) as u64;
    let door = Mutex::new(Door {
        least_apart_ns,
        kept_ns: None,
        overload: Overload::default(),
    });
    let queue = queue.downgrade();
    pad.add_probe(gst::PadProbeType::BUFFER, move |_, info| {
        let pts = info.buffer().and_then(|buffer| buffer.pts());
        let waiting = queue
            .upgrade()
            .map_or(0, |queue| queue.property::<u32>("current-level-buffers"));
        let mut door = door.lock().unwrap_or_else(PoisonError::into_inner);
        let outcome = door.open_for(pts.map(gst::ClockTime::nseconds), waiting);
        drop(door);
        if outcome.too_slow
            && let Some(too_slow) = &too_slow
        {
            too_slow();
        }
        if outcome.kept {
            gst::PadProbeReturn::Ok
        } else {
            gst::PadProbeReturn::Drop
        }
    });
}

/// Who comes in.
struct Door {
    least_apart_ns: u64,
    kept_ns: Option<u64>,
    overload: Overload,
}

#[derive(Debug, PartialEq, Eq)]
struct Answer {
    kept: bool,
    too_slow: bool,
}

impl Door {
    fn open_for(&mut self, pts_ns: Option<u64>, waiting: u32) -> Answer {
        let refused = Answer {
            kept: false,
            too_slow: false,
        };
        let Some(pts_ns) = pts_ns else {
            // Nothing can be told of one without a time; the queue is the bound.
            return Answer {
                kept: waiting < MOST_WAITING,
                ..refused
            };
        };
        let too_near = self
            .kept_ns
            .is_some_and(|kept_ns| (kept_ns..kept_ns + self.least_apart_ns).contains(&pts_ns));
        if too_near {
            return refused;
        }
        // A picture that is left out keeps its place in the rhythm.
        self.kept_ns = Some(pts_ns);
        let kept = waiting < MOST_WAITING;
        Answer {
            kept,
            too_slow: self.overload.picture(pts_ns, kept),
        }
    }
}

/// Sets size and bit rate when the form of the pictures is known.
struct Fitting {
    most: Most,
    form: gst::Element,
    encoder: gst::Element,
    share: Share,
}

fn fit(convert: &gst::Element, fitting: Fitting) {
    let Some(pad) = convert.static_pad("sink") else {
        return;
    };
    // Shared with nobody: a pad's probes have to be able to move.
    let fitting = Arc::new(fitting);
    pad.add_probe(gst::PadProbeType::EVENT_DOWNSTREAM, move |_, info| {
        let caps = info.event().and_then(|event| match event.view() {
            gst::EventView::Caps(caps) => Some(caps.caps_owned()),
            _ => None,
        });
        if let Some(caps) = caps
            && let Some(thinner) = fitting.take_in(&caps)
        {
            info.data = Some(gst::PadProbeData::Event(gst::event::Caps::new(&thinner)));
        }
        gst::PadProbeReturn::Ok
    });
}

impl Fitting {
    /// Sets everything for pictures of this form. Where some are left out, the
    /// form with the rate of those that remain: encoders reckon with it.
    fn take_in(&self, caps: &gst::Caps) -> Option<gst::Caps> {
        let form = caps.structure(0)?;
        let (raw, rate) = (raw_size(form)?, rate_of(form));
        let among = one_in(rate.unwrap_or(UNSAID), self.most.fps);
        let left = rate.unwrap_or(UNSAID).one_in(among);
        let size = fitted(raw, self.most.size);
        let kbps = bitrate_kbps(size, left.per_s());
        self.share.set_bit_rate(&self.encoder, kbps);
        self.form.set_property("caps", self.to_encode(form, size));
        tracing::debug!(?size, fps = left.per_s(), kbps, "encoding");
        if rate == Some(left) {
            return None;
        }
        let mut thinner = caps.clone();
        let form = thinner.make_mut().structure_mut(0)?;
        let fraction = gst::Fraction::new(left.pictures as i32, left.seconds as i32);
        form.set("framerate", fraction);
        Some(thinner)
    }
}

impl Fitting {
    /// What the encoder is given of pictures in this form.
    fn to_encode(&self, form: &gst::StructureRef, size: Dimensions) -> gst::Caps {
        let mut caps = raw_form(self.share.raw());
        if let Some(fields) = caps.make_mut().structure_mut(0) {
            fields.set("width", size.width_px as i32);
            fields.set("height", size.height_px as i32);
            if full_range(form) && !self.share.takes_full_range() {
                // Said or not, it is what players take for granted in HD.
                fields.set("colorimetry", "bt709");
            }
        }
        caps
    }
}

/// Whether black is 0, as in JPEGs (JFIF 1.02), and not 16. `GStreamer` writes
/// the range as the first of four numbers.
fn full_range(form: &gst::StructureRef) -> bool {
    form.get::<&str>("colorimetry")
        .is_ok_and(|colours| colours.starts_with("1:"))
}

fn raw_size(form: &gst::StructureRef) -> Option<Raw> {
    let px = |name| {
        form.get::<i32>(name)
            .ok()
            .and_then(|px| u32::try_from(px).ok())
    };
    let aspect = form
        .get::<gst::Fraction>("pixel-aspect-ratio")
        .ok()
        .and_then(|aspect| {
            let wide = u32::try_from(aspect.numer()).ok()?;
            Some((wide, u32::try_from(aspect.denom()).ok()?))
        });
    Some(Raw {
        size: Dimensions::new(px("width")?, px("height")?),
        aspect: aspect.unwrap_or((1, 1)),
    })
}

fn rate_of(form: &gst::StructureRef) -> Option<Rate> {
    let rate = form.get::<gst::Fraction>("framerate").ok()?;
    Rate::new(
        u32::try_from(rate.numer()).ok()?,
        u32::try_from(rate.denom()).ok()?,
    )
}

#[cfg(test)]
#[path = "chain_tests.rs"]
mod tests;
