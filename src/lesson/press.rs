//! Presses: a remote's, and those of a clicker at a screen.
//!
//! Not here: what each does to the clock, or what a clicker's means (the core);
//! who may press (the door).

use afterturn_core::rotation::{Click, ClickedAt, Outcome, Press, Readings, Refused};

use super::{Inner, Lesson};

impl Lesson {
    /// Carries a press out, and has it written down before it says so.
    pub async fn press(
        &self,
        id: &str,
        press: Press,
        seen: Option<u64>,
    ) -> Result<Outcome, Refused> {
        let outcome = self.with(|inner, now| {
            if let Some(class) = &mut inner.class {
                class.clicks.remote_pressed(press);
            }
            inner.press(id, press, seen, now)
        });
        self.keep().await;
        outcome
    }

    /// Somebody pressed *next* on a clicker or keyboard at a screen that may. Nobody
    /// waits for an answer: it is written down by whoever lets the time pass.
    pub fn click(&self, id: &str, at: ClickedAt, click: Click) {
        self.with(|inner, now| {
            let Some(class) = &mut inner.class else {
                return;
            };
            let clicks = &mut class.clicks;
            if let Some(press) = clicks.means(id, at, click, &class.clock, now.capture) {
                tracing::info!(?at, ?click, "pressed at a screen");
                // Refused where there is no class, and there is one.
                let _ = inner.press(id, press, None, now);
            }
        });
    }
}

impl Inner {
    fn press(
        &mut self,
        id: &str,
        press: Press,
        seen: Option<u64>,
        now: &Readings,
    ) -> Result<Outcome, Refused> {
        let Some(class) = &mut self.class else {
            return match press {
                Press::End => Ok(Outcome::Already),
                _ => Err(Refused::Over),
            };
        };
        let wall_ms = now.wall_us / 1000;
        let outcome = class.clock.press(id, press, seen, now.capture, wall_ms);
        self.unkept_class = true;
        // Which group is covered is nobody's to read later.
        if !matches!(press, Press::CoverGroup { .. }) {
            tracing::info!(?press, ?outcome, "press");
        }
        outcome
    }
}
