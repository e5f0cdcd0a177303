//! The memory all rings share. Where it runs short, the oldest pictures of all
//! stations go first, so the longest windows shrink.
//!
//! Not here: the limit of one ring by itself, and what a ring is.

use std::sync::{
    Mutex, PoisonError, Weak,
    atomic::{AtomicUsize, Ordering},
};

use afterturn_core::kernel::CaptureUs;

use super::Station;

/// See the module.
#[derive(Debug)]
pub struct Memory {
    limit_bytes: usize,
    /// What all rings hold, by their own last word.
    held_bytes: AtomicUsize,
    rings: Mutex<Vec<Weak<Station>>>,
}

impl Memory {
    /// So much for all rings together.
    #[must_use]
    pub const fn new(limit_bytes: usize) -> Self {
        Self {
            limit_bytes,
            held_bytes: AtomicUsize::new(0),
            rings: Mutex::new(Vec::new()),
        }
    }

    /// What all rings may hold together.
    #[must_use]
    pub const fn limit_bytes(&self) -> usize {
        self.limit_bytes
    }

    /// What all rings hold together.
    #[must_use]
    pub fn held_bytes(&self) -> usize {
        self.held_bytes.load(Ordering::Relaxed)
    }

    pub(super) fn add(&self, station: Weak<Station>) {
        self.rings
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .push(station);
    }

    /// A ring that held `before` holds `after`.
    pub(super) fn account(&self, before: usize, after: usize) {
        // Each ring adds exactly what it takes off later, so this cannot wrap
        // for longer than between the two.
        if after >= before {
            self.held_bytes.fetch_add(after - before, Ordering::Relaxed);
        } else {
            self.held_bytes.fetch_sub(before - after, Ordering::Relaxed);
        }
    }

    /// Has the oldest pictures given away until the rest fits, or each ring is
    /// down to the group it is capturing.
    pub(super) fn relieve(&self) {
        if self.held_bytes() <= self.limit_bytes {
            return;
        }
        // One at a time: two would both give away for the same shortage.
        let rings = self.rings.lock().unwrap_or_else(PoisonError::into_inner);
        let mut able: Vec<_> = rings.iter().filter_map(Weak::upgrade).collect();
        while self.held_bytes() > self.limit_bytes {
            let oldest = (0..able.len())
                .filter_map(|at| able[at].oldest().map(|oldest| (oldest, at)))
                .min();
            let Some((_, at)) = oldest else { return };
            if !able[at].give_away() {
                able.swap_remove(at);
            }
        }
    }
}

impl Station {
    /// Capture time of the oldest picture it holds.
    pub(super) fn oldest(&self) -> Option<CaptureUs> {
        self.lock().ring.oldest()
    }

    /// Gives its oldest pictures away; says whether it had any to give.
    pub(super) fn give_away(&self) -> bool {
        let now = self.now();
        let mut inner = self.lock();
        let before = inner.ring.bytes();
        let gave = inner.ring.give_away();
        self.memory.account(before, inner.ring.bytes());
        let news = gave && inner.measure(true, now);
        drop(inner);
        if news {
            self.reach_changed();
        }
        gave
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use afterturn_core::{
        kernel::{CaptureUs, DelayMs},
        media::{Fragment, ParameterSets},
    };
    use bytes::Bytes;

    use super::{super::StationConfig, *};

    const START: CaptureUs = CaptureUs(1_790_000_000_000_000);

    struct Gym {
        memory: Arc<Memory>,
        stations: Vec<Arc<Station>>,
        now: Arc<Mutex<CaptureUs>>,
    }

    fn gym(limit_bytes: usize, windows_ms: &[u32]) -> Gym {
        let memory = Arc::new(Memory::new(limit_bytes));
        let now = Arc::new(Mutex::new(START));
        let stations = (1_i64..).zip(windows_ms).map(|(number, &window_ms)| {
            let config = StationConfig {
                number: number.try_into().unwrap(),
                title: "Low beam".to_owned(),
                delay: DelayMs::new(2_000, window_ms).unwrap(),
                window_ms,
                latency_ms: 0,
                demo: false,
            };
            let clock = Arc::clone(&now);
            let station = Station::new(config, Arc::new(move || *clock.lock().unwrap()), &memory);
            station.keep(|ring| {
                ring.open_chapter(ParameterSets {
                    mime: String::new(),
                    width_px: 2,
                    height_px: 2,
                    interlaced: false,
                    promises_order: true,
                    init: Bytes::new(),
                });
            });
            station
        });
        Gym {
            stations: stations.collect(),
            memory,
            now,
        }
    }

    impl Gym {
        /// Seconds of ten pictures at each station, a kilobyte each.
        fn run(&self, seconds: i64) {
            let from = *self.now.lock().unwrap();
            for i in 0..seconds * 10 {
                *self.now.lock().unwrap() = from.offset(i * 100_000);
                for station in &self.stations {
                    station.keep(|ring| {
                        ring.push(Fragment {
                            number: ring.end(),
                            capture: from.offset(i * 100_000),
                            duration_us: 100_000,
                            keyframe: i % 10 == 0,
                            bytes: Bytes::from(vec![0; 1000]),
                        });
                    });
                    assert!(self.memory.held_bytes() <= self.memory.limit_bytes() || self.bare());
                }
            }
            *self.now.lock().unwrap() = from.offset(seconds * 1_000_000);
        }

        fn bare(&self) -> bool {
            self.stations.iter().all(|s| s.info().ring_bytes <= 10_000)
        }

        fn spans_s(&self) -> Vec<i64> {
            let span = |s: &Arc<Station>| {
                let info = s.info();
                info.newest_us.unwrap().since(info.oldest_us.unwrap()) / 1_000_000
            };
            self.stations.iter().map(span).collect()
        }
    }

    #[test]
    fn the_longest_windows_shrink_first_and_say_so() {
        // Two of 30 s and one of 5 s want 650 kB and get 400.
        let gym = gym(400_000, &[30_000, 30_000, 5_000]);
        gym.run(60);
        let spans = gym.spans_s();
        assert!((4..=6).contains(&spans[2]), "{spans:?}");
        assert!(
            (16..=18).contains(&spans[0]) && (16..=18).contains(&spans[1]),
            "{spans:?}"
        );
        let info = gym.stations[0].info();
        assert!(
            (15_000..=17_500).contains(&info.reach_ms),
            "{}",
            info.reach_ms
        );
        assert_eq!(
            gym.stations[2].info().reach_ms,
            5_000,
            "nobody else's window is short"
        );
    }

    #[test]
    fn a_delay_beyond_reach_becomes_the_most_there_is_and_comes_back() {
        let gym = gym(100_000, &[30_000]);
        gym.stations[0].set_delay(20_000).unwrap();
        gym.run(40);
        let (info, state) = (gym.stations[0].info(), gym.stations[0].state());
        assert_eq!(info.delay_ms, 20_000, "what was set stays set");
        assert!(
            (6_000..=8_000).contains(&info.delay_now_ms),
            "{}",
            info.delay_now_ms
        );
        assert_eq!(
            state.delay_ms, info.delay_now_ms,
            "and the screens are told what can be kept"
        );
    }

    #[test]
    fn what_every_ring_is_capturing_stays_even_beyond_the_limit() {
        let gym = gym(1, &[30_000, 30_000]);
        gym.run(5);
        assert!(gym.stations.iter().all(|s| s.info().newest_us.is_some()));
        assert!(gym.bare());
    }

    #[test]
    fn memory_that_is_enough_is_never_short() {
        let gym = gym(1_000_000, &[30_000, 30_000]);
        gym.run(60);
        assert!(gym.stations.iter().all(|s| s.info().reach_ms == 30_000));
        assert_eq!(
            gym.memory.held_bytes() as u64,
            gym.stations
                .iter()
                .map(|s| s.info().ring_bytes)
                .sum::<u64>()
        );
    }
}
