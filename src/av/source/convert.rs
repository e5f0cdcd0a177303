//! The end of every pipeline that has raw pictures: encoded, handed on, and
//! said so where that is less than was wanted.
//!
//! Not here: where the raw pictures come from, and the encoder.

use std::sync::{Arc, Mutex, PoisonError};

use afterturn_core::wire::CameraNote;
use gstreamer as gst;

use super::{
    arrivals::Arrivals,
    drive::Bench,
    gate::Gate,
    tail::{self, Wishes},
    verdict::{Verdict, Whistle},
};
use crate::av::{
    camera::{CameraError, CameraEvent, Note},
    encode::{Encoding, Most, Order, attach, steps},
};

/// What one source has encoded, over all the pipelines of one start.
pub(super) struct Converter {
    encoding: Encoding,
    wanted: Most,
    /// Steps down that were found to be needed.
    lower: usize,
}

/// Says that something before the encoder is too slow.
pub(super) struct Slowness {
    too_slow: TooSlow,
    lowest: bool,
}

impl Slowness {
    pub(super) fn say(&self) {
        self.too_slow.say(self.lowest);
    }
}

/// Says that the machine does not keep up with a pipeline.
#[derive(Clone)]
struct TooSlow {
    gate: Arc<Gate>,
    whistle: Whistle,
    notes: Arc<Mutex<Vec<Note>>>,
}

impl TooSlow {
    /// There is another step down, or there is none and nothing but to say so.
    fn say(&self, lowest: bool) {
        if !lowest {
            self.whistle.blow(Verdict::TooSlow);
            return;
        }
        let note = Note {
            word: CameraNote::TooSlow,
            detail: "this machine is too slow for this camera; some pictures are left out"
                .to_owned(),
        };
        let mut notes = self.notes.lock().unwrap_or_else(PoisonError::into_inner);
        if !notes.contains(&note) {
            notes.push(note);
            self.gate.pass(CameraEvent::Notes(notes.clone()));
        }
    }
}

impl Converter {
    pub(super) const fn new(encoding: Encoding, wanted: Most) -> Self {
        Self {
            encoding,
            wanted,
            lower: 0,
        }
    }

    /// Puts encoder and tail behind `raw`. What the source has to say of itself,
    /// `notes`, goes with what there is to say of the encoding. Gives back how to
    /// say that a part before the encoder is too slow.
    pub(super) fn attach(
        &mut self,
        bench: &Bench,
        raw: &gst::Element,
        arrivals: Option<Arrivals>,
        notes: Vec<Note>,
    ) -> Result<Slowness, CameraError> {
        let too_slow = TooSlow {
            gate: Arc::clone(&bench.gate),
            whistle: bench.whistle.clone(),
            notes: Arc::new(Mutex::new(notes)),
        };
        let said = too_slow.clone();
        let made = attach(
            &bench.pipeline,
            raw,
            Order {
                encoding: &self.encoding,
                wanted: self.wanted,
                lower: self.lower,
                too_slow: Some(Box::new(move |lowest| said.say(lowest))),
            },
        )?;
        self.lower = made.step;
        let notes = {
            let mut notes = too_slow
                .notes
                .lock()
                .unwrap_or_else(PoisonError::into_inner);
            notes.extend(made.note());
            notes.clone()
        };
        bench.say(notes);
        let wishes = Wishes {
            arrivals,
            ..Wishes::default()
        };
        tail::attach(bench, &made.last, wishes)?;
        Ok(Slowness {
            too_slow,
            lowest: made.lowest,
        })
    }

    /// The most that will be encoded, as far as is known before it is tried.
    pub(super) fn most(&self) -> Option<Most> {
        let steps = steps(self.wanted);
        let affordable = self.encoding.afford(&steps).ok()?;
        let step = self.lower.max(affordable).min(steps.len() - 1);
        steps.get(step).copied()
    }

    /// From the next pipeline on, less.
    pub(super) const fn step_down(&mut self) {
        self.lower += 1;
    }
}

#[cfg(test)]
#[path = "convert_tests.rs"]
mod tests;
