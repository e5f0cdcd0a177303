//! The capture clock: the wall clock read once at start, plus the boot clock.
//!
//! The wall clock may be stepped by a time server in the middle of a class; the
//! boot clock is not, and unlike the monotonic clock it counts a suspend. So
//! differences of capture times are real time.
//!
//! Not here: persisting the mark ([`crate::store::high_water`]), and stamping
//! pictures (that is `core/media`).

use afterturn_core::{kernel::CaptureUs, rotation::Readings};
use rustix::time::{ClockId, Timespec, clock_gettime};

/// How far past an earlier run's mark a clock starts when the wall clock has
/// not reached it. The mark may be ten seconds old, and a stamp may differ from
/// its arrival by a second: no picture of this run can carry a time of the last.
pub const RESTART_GAP_US: i64 = 12_000_000;

/// A reading of the capture clock's two sources.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Anchor {
    capture: CaptureUs,
    boot_us: u64,
}

impl Anchor {
    fn new(wall_us: u64, boot_us: u64, high_water: Option<CaptureUs>) -> Self {
        let wall = CaptureUs(wall_us);
        let capture = match high_water {
            Some(mark) if wall <= mark => mark.offset(RESTART_GAP_US),
            _ => wall,
        };
        Self { capture, boot_us }
    }

    /// The capture time when the boot clock says `boot_us`.
    fn at(self, boot_us: u64) -> CaptureUs {
        let since_us = boot_us.saturating_sub(self.boot_us);
        CaptureUs(self.capture.0.saturating_add(since_us))
    }
}

/// The running capture clock. Small and copied freely; all copies agree.
#[derive(Clone, Copy, Debug)]
pub struct BootClock {
    anchor: Anchor,
    behind_mark_us: u64,
}

impl BootClock {
    /// Reads the wall clock, once and for all.
    #[must_use]
    pub fn start(high_water: Option<CaptureUs>) -> Self {
        let wall_us = as_us(clock_gettime(ClockId::Realtime));
        let anchor = Anchor::new(wall_us, as_us(clock_gettime(ClockId::Boottime)), high_water);
        Self {
            anchor,
            behind_mark_us: anchor.capture.0 - wall_us,
        }
    }

    /// The capture time now. Never less than it was.
    #[must_use]
    pub fn now(&self) -> CaptureUs {
        self.anchor.at(as_us(clock_gettime(ClockId::Boottime)))
    }

    /// All clocks at this moment.
    #[must_use]
    pub fn readings(&self) -> Readings {
        Readings {
            capture: self.now(),
            wall_us: as_us(clock_gettime(ClockId::Realtime)),
            boot_us: as_us(clock_gettime(ClockId::Boottime)),
            boot: boot(),
        }
    }

    /// How far this clock runs ahead of the wall clock it found at start,
    /// because an earlier run had got further. Worth a line in the log when it
    /// is more than seconds: the machine's clock is or was wrong.
    #[must_use]
    pub const fn ahead_of_wall_us(&self) -> u64 {
        self.behind_mark_us
    }
}

/// Which boot of the machine this is: a word that Linux makes up at each
/// (random(4)). Without one every start counts as another boot.
fn boot() -> String {
    let word = std::fs::read_to_string("/proc/sys/kernel/random/boot_id");
    word.map(|text| text.trim().to_owned()).unwrap_or_default()
}

/// The wall clock in whole seconds, for dates of certificates, which have to
/// agree with other devices' clocks. Never for pictures.
#[must_use]
pub fn wall_s() -> i64 {
    clock_gettime(ClockId::Realtime).tv_sec
}

/// Microseconds of a clock reading. A machine whose clock stands before 1970
/// starts at the epoch.
fn as_us(reading: Timespec) -> u64 {
    let seconds = u64::try_from(reading.tv_sec).unwrap_or(0);
    let below_us = u64::try_from(reading.tv_nsec).unwrap_or(0) / 1000;
    seconds.saturating_mul(1_000_000).saturating_add(below_us)
}

#[cfg(test)]
mod tests {
    use super::*;

    const WALL_US: u64 = 1_764_060_000_000_000;

    #[test]
    fn it_runs_with_the_boot_clock_alone() {
        let anchor = Anchor::new(WALL_US, 5_000, None);
        assert_eq!(anchor.at(5_000), CaptureUs(WALL_US));
        assert_eq!(anchor.at(3_600_005_000), CaptureUs(WALL_US + 3_600_000_000));
        assert_eq!(anchor.at(0), CaptureUs(WALL_US), "never before its start");
    }

    #[test]
    fn a_restart_goes_past_the_last_mark() {
        for behind_us in [0, 1, 86_400_000_000] {
            let mark = CaptureUs(WALL_US + behind_us);
            let anchor = Anchor::new(WALL_US, 0, Some(mark));
            assert_eq!(anchor.at(0).since(mark), RESTART_GAP_US);
        }
        let passed = Anchor::new(WALL_US, 0, Some(CaptureUs(WALL_US - 1)));
        assert_eq!(passed.at(0), CaptureUs(WALL_US));
    }

    #[test]
    fn the_ends_of_the_range_do_not_wrap() {
        let anchor = Anchor::new(0, 0, Some(CaptureUs(u64::MAX)));
        assert_eq!(anchor.at(u64::MAX), CaptureUs(u64::MAX));
        let before_1970 = Timespec {
            tv_sec: -5,
            tv_nsec: 999,
        };
        assert_eq!(as_us(before_1970), 0);
    }

    #[test]
    fn the_real_one_never_goes_back() {
        let mark = CaptureUs(WALL_US * 2);
        let clock = BootClock::start(Some(mark));
        let mut last = mark;
        for _ in 0..1_000 {
            let now = clock.now();
            assert!(now >= last);
            last = now;
        }
        assert!(clock.ahead_of_wall_us() > 0);
        assert_eq!(BootClock::start(None).ahead_of_wall_us(), 0);
    }
}
