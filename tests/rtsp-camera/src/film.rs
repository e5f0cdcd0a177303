//! A screen to be filmed instead of the scene: the bars that a station's screen
//! shows while its camera is calibrated, by the wall clock, as a camera that
//! stands a little aside would see them.
//!
//! Not here: how bars look in a picture (`afterturn_core::scene`), and how late
//! the picture is sent (see `feed`).

use afterturn_core::kernel::CaptureUs;
use afterturn_core::media::bars::HOLD_MS;
use afterturn_core::scene::{FilmedScreen, Filming, Size};

/// How long light is let in for one picture.
const EXPOSURE_US: i64 = 8_000;

/// A screen's refreshes a second.
const REFRESH_HZ: u64 = 60;

/// The screen, and who films it.
pub(crate) struct Film {
    screen: FilmedScreen,
}

impl Film {
    pub(crate) fn new(size: Size, seed: u64) -> Self {
        let filming = Filming {
            middle: (0.46, 0.53),
            across: 0.66,
            tilt_deg: 2.0,
            aside_deg: 14.0,
            levels: (30, 190),
            noise: 8,
            ..Filming::well(size.width_px() as usize, size.height_px() as usize)
        };
        Self {
            screen: FilmedScreen::new(filming, seed),
        }
    }

    /// The picture in the middle of whose exposure this moment is, as I420 without
    /// colour.
    pub(crate) fn draw(&mut self, at: CaptureUs, picture: &mut [u8]) {
        let (begin, end) = (at.offset(-EXPOSURE_US / 2), at.offset(EXPOSURE_US / 2));
        let (before, now) = (shown_at(begin), shown_at(end));
        let since_us = end.since(CaptureUs(now * 1000)).clamp(0, EXPOSURE_US);
        let lit = since_us as f32 / EXPOSURE_US as f32;
        let luma = self.screen.film(before, now, lit);
        let (over, chroma) = picture.split_at_mut(luma.len());
        over.copy_from_slice(&luma);
        chroma.fill(128);
    }
}

/// The time that a screen shows at some moment: that of its last change. Changes
/// come at a refresh, at least [`HOLD_MS`] apart, and not evenly.
fn shown_at(at: CaptureUs) -> u64 {
    let changed_ms = |number: u64| {
        let due_ms = number * (HOLD_MS + 50) + (number * 618_034 % 1_000_000) / 10_000;
        // Rounded up to a refresh, as far as milliseconds go.
        (due_ms * REFRESH_HZ).div_ceil(1000) * 1000 / REFRESH_HZ
    };
    // The number that is surely over, and those that may be.
    let first = at.as_ms().saturating_sub(200) / (HOLD_MS + 50);
    let over = (first..first + 3)
        .map(changed_ms)
        .filter(|ms| *ms <= at.as_ms());
    over.max()
        .unwrap_or_else(|| changed_ms(first.saturating_sub(1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_screen_shows_its_last_change_and_changes_seldom() {
        let start_ms = 1_790_000_000_000;
        let mut last = shown_at(CaptureUs(start_ms * 1000));
        let mut changes = 0;
        for ms in start_ms..start_ms + 60_000 {
            let shown = shown_at(CaptureUs(ms * 1000));
            assert!(shown <= ms && ms - shown <= 700, "{shown} at {ms}");
            if shown != last {
                assert_eq!(shown, ms, "a time is that of its change");
                assert!(shown - last >= HOLD_MS, "{} ms", shown - last);
                last = shown;
                changes += 1;
            }
        }
        assert!((100..=112).contains(&changes), "{changes} in a minute");
    }
}
