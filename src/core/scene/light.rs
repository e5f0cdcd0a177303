//! The daylight, and the empty room in it.
//!
//! Clouds drift: the panes brighten and dim by some luma steps over a minute,
//! the room by a few. The room is kept drawn in the light last asked for, so a
//! picture costs a copy; a change of one step costs one pass over the luma.

use std::f32::consts::TAU;

use super::paint::Canvas;
use super::{Size, room};

/// Two slow waves without a common beat, in seconds, and their luma steps.
const WAVES: [(f32, f32); 2] = [(61.0, 3.0), (23.0, 1.4)];
/// The panes change this many times as much.
const PANE_FACTOR: f32 = 2.6;

/// The room in the light of some moment.
pub(super) struct Light {
    size: Size,
    /// In middling light.
    plain: Vec<u8>,
    /// In the light of `steps`.
    lit: Vec<u8>,
    steps: (i16, i16),
}

impl Light {
    pub(super) fn new(size: Size) -> Self {
        let mut plain = vec![128; size.i420_bytes()];
        if let Some(mut canvas) = Canvas::new(&mut plain, size) {
            room::draw(&mut canvas, room::View::of(size));
        }
        Self {
            size,
            lit: plain.clone(),
            plain,
            steps: (0, 0),
        }
    }

    /// The empty room so many microseconds after the scene's start.
    pub(super) fn room_at(&mut self, us: i64) -> &[u8] {
        let drift: f32 = WAVES
            .iter()
            .map(|&(period_s, steps)| {
                // In whole periods first: an f32 cannot hold a day in microseconds.
                let period_us = (period_s * 1e6) as i64;
                let turn = us.rem_euclid(period_us) as f32 / period_us as f32;
                (turn * TAU).sin() * steps
            })
            .sum();
        let steps = (drift.round() as i16, (drift * PANE_FACTOR).round() as i16);
        if steps != self.steps {
            self.relight(steps);
        }
        &self.lit
    }

    fn relight(&mut self, steps: (i16, i16)) {
        let width = self.size.width_px() as usize;
        let luma = width * self.size.height_px() as usize;
        shift(&self.plain[..luma], &mut self.lit[..luma], steps.0);
        let (rows, panes) = room::panes(self.size);
        for row in rows {
            for pane in &panes {
                let here = row * width + pane.start..row * width + pane.end;
                shift(&self.plain[here.clone()], &mut self.lit[here], steps.1);
            }
        }
        self.steps = steps;
    }
}

/// Copies luma, so many steps brighter, within studio range.
fn shift(from: &[u8], to: &mut [u8], steps: i16) {
    for (from, to) in from.iter().zip(to) {
        *to = (i16::from(*from) + steps).clamp(16, 235) as u8;
    }
}
