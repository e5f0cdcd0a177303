//! Which day it is at the school, by the machine's clock and time zone.
//!
//! Not here: whether that can be right (`core/consent` judges it).

use afterturn_core::kernel::Day;
use jiff::ZonedDateTime;

/// Today.
#[must_use]
pub fn today() -> Day {
    let date = ZonedDateTime::now().date();
    // The machine's calendar is ours: it has no days that we have not.
    Day::new(
        date.year().into(),
        date.month().unsigned_abs().into(),
        date.day().unsigned_abs().into(),
    )
    .unwrap_or_default()
}

/// Seconds east of Greenwich, now.
#[must_use]
pub fn offset_s() -> i32 {
    ZonedDateTime::now().offset().seconds()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn today_is_the_day_of_this_moment() {
        let unix_s = std::time::SystemTime::now()
            .duration_since(std::time::UNIX_EPOCH)
            .expect("after 1970")
            .as_secs();
        let here = Day::of(unix_s as i64, offset_s());
        // Midnight may pass between the two.
        assert!((here.0 - today().0).abs() <= 1);
    }
}
