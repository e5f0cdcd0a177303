//! The school that a history happens to: who is where, who is refused, and what the
//! program shows of it.
//!
//! Where a child is, and whether it is refused, is reckoned here and not by the
//! program.

use std::sync::atomic::AtomicI32;

use afterturn_core::{
    consent::ViewRule,
    kernel::{ChildId, ClassId, Day, Name},
    rotation::Plan,
};

use super::super::*;
use crate::portfolio::{Cost, Moment, NewChild, Portfolio};

pub(super) const TODAY: Day = Day(20_782);
pub(super) const WORDS: &str = "wide mat, low beam";
/// Days ahead of the latest that the box believes without being told.
pub(super) const BELIEVED_DAYS: i32 = 8;
pub(super) const TICK_S: u64 = 4;
/// Short turns: what is looked for happens at changes.
pub(super) const TIMES: Times = Times {
    warm_up_s: 8,
    briefing_s: 4,
    work_s: 40,
    last_turn_s: 10,
    gather_s: 5,
    walk_s: 12,
    closing_s: 8,
};
/// A child who dawdles comes this much after the walk was to be over.
pub(super) const DAWDLE_US: i64 = 4_000_000;

/// What a family said last.
#[derive(Clone, Copy, Debug)]
pub(super) struct Heard {
    pub(super) yes: bool,
    pub(super) from: Day,
    pub(super) until: Option<Day>,
}

pub(super) struct Child {
    pub(super) id: ChildId,
    /// The group it is in by the list.
    pub(super) listed: Option<u8>,
    pub(super) heard: Option<Heard>,
    /// The groups it may stand with in the class that runs.
    pub(super) stands_with: BTreeSet<u8>,
}

#[derive(Clone, Copy, PartialEq)]
pub(super) enum Place {
    /// In view of every camera.
    Anywhere,
    At(StationNumber),
    /// It rests where no camera looks.
    Bench,
}

/// Where a group really is: at its place, or still on its way and in view of all.
#[derive(Clone, Copy)]
pub(super) struct Walker {
    pub(super) place: Place,
    pub(super) there: CaptureUs,
}

/// A picture that was taken, and who may be in it.
pub(super) struct Picture {
    pub(super) station: usize,
    pub(super) at: CaptureUs,
    pub(super) in_view: BTreeSet<usize>,
}

pub(super) struct School {
    pub(super) gym: Gym,
    pub(super) clock_off: i32,
    pub(super) date: Arc<AtomicI32>,
    pub(super) true_day: Day,
    pub(super) highest: Day,
    pub(super) opt_out: bool,
    pub(super) class: ClassId,
    pub(super) good: Arc<Portfolio>,
    /// For histories with a vault on the disk.
    pub(super) folder: Option<TempDir>,
    pub(super) spoiled: bool,
    /// Each with the groups of that time.
    pub(super) backups: Vec<(Vec<u8>, Vec<Option<u8>>)>,
    pub(super) children: Vec<Child>,
    pub(super) walkers: Vec<Walker>,
    /// The circuit as it would go with children in every group.
    pub(super) full: Option<Plan>,
    pub(super) pictures: Vec<Picture>,
    /// Since when the program runs.
    pub(super) back: CaptureUs,
    /// A refused child was in front of a camera that was on.
    pub(super) bitten: bool,
    pub(super) shown: usize,
}

pub(super) fn folder() -> TempDir {
    // In memory where there is such a place: nothing here is about the disk.
    let memory = std::path::Path::new("/dev/shm");
    tempfile::tempdir_in(memory).unwrap_or_else(|_| tempfile::tempdir().unwrap())
}

pub(super) fn rule(opt_out: bool) -> ViewRule {
    if opt_out {
        ViewRule::OptOut
    } else {
        ViewRule::OptIn
    }
}

pub(super) fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

impl School {
    pub(super) fn begin(stations: u8, in_pairs: bool, on_disk: bool, opt_out: bool) -> Self {
        let folder = on_disk.then(folder);
        let good = match &folder {
            Some(folder) => Portfolio::open(folder.path(), Cost::LEAST, TODAY),
            None => Portfolio::in_memory(Cost::LEAST, TODAY),
        };
        let moment = Moment {
            today: TODAY,
            now: CaptureUs(START_US),
        };
        good.unlock(WORDS, moment).unwrap();
        good.choose_rule(rule(opt_out), moment).unwrap();
        let class = good.add_class(name("3B"), None, moment).unwrap();
        let add = |index: u8| {
            let listed = Some(index % stations + 1);
            let new = NewChild {
                given: name("Nora"),
                family: None,
                note: None,
                group: listed,
            };
            Child {
                id: good.add_child(class, new, moment).unwrap(),
                listed,
                heard: None,
                stands_with: BTreeSet::new(),
            }
        };
        let children = (0..=stations).map(add).collect();
        let mut gym = Gym::open(stations);
        gym.folder = self::folder();
        gym.in_pairs = in_pairs;
        let mut school = Self {
            gym,
            clock_off: 0,
            date: Arc::new(AtomicI32::new(TODAY.0)),
            true_day: TODAY,
            highest: TODAY,
            opt_out,
            class,
            good: Arc::new(good),
            folder,
            spoiled: false,
            backups: Vec::new(),
            children,
            walkers: Vec::new(),
            full: None,
            pictures: Vec::new(),
            back: CaptureUs(START_US),
            bitten: false,
            shown: 0,
        };
        school.open(0);
        school
    }

    pub(super) fn now(&self) -> CaptureUs {
        (self.gym.lesson.settings.clocks)().capture
    }

    pub(super) fn date(&self) -> Day {
        Day(self.date.load(Ordering::Relaxed))
    }

    pub(super) fn moment(&self) -> Moment {
        Moment {
            today: self.date(),
            now: self.now(),
        }
    }

    /// The program starts, over whatever vault there is.
    pub(super) fn open(&mut self, away_s: u64) {
        let date = Arc::clone(&self.date);
        let today: Today = Arc::new(move || Day(date.load(Ordering::Relaxed)));
        self.gym.list = None;
        self.pictures.clear();
        if let Some(folder) = &self.folder {
            // The old ones go first, as a process does.
            self.gym.restart(0, "first");
            self.good = Arc::new(Portfolio::in_memory(Cost::LEAST, TODAY));
            self.good = Arc::new(Portfolio::open(folder.path(), Cost::LEAST, today()));
        } else {
            self.good.lock();
            let _ = self.good.purge(today());
        }
        let portfolio = if self.spoiled {
            let spoiled = folder();
            std::fs::write(spoiled.path().join("vault.db"), "no vault, and too long").unwrap();
            Arc::new(Portfolio::open(spoiled.path(), Cost::LEAST, today()))
        } else {
            Arc::clone(&self.good)
        };
        self.gym.list = Some(List { portfolio, today });
        self.gym.restart(away_s, "first");
        self.back = self.now();
    }

    /// Everybody goes where they are told; pictures are taken of who is there.
    pub(super) fn look(&mut self) {
        // No two pictures at one moment.
        self.gym.passed.fetch_add(50_000, Ordering::Relaxed);
        self.gym.wait(0);
        let now = self.now();
        let (told, began) = {
            let inner = self.gym.lesson.lock();
            let (Some(class), Some(full)) = (&inner.class, &self.full) else {
                return;
            };
            let face = class.clock.face(now);
            let turn = match face.phase {
                Phase::Work | Phase::LastTurn | Phase::Gather => Some(face.turn),
                Phase::Walk => Some(face.turn + 1),
                _ => None,
            };
            let turn = turn.filter(|_| class.clock.captures());
            let none = BTreeSet::new();
            let place = |group| match turn.map(|turn| full.stand(group, turn, &none).at) {
                None => Place::Anywhere,
                Some(at) => at.map_or(Place::Bench, Place::At),
            };
            let told: Vec<Place> = full.groups().map(place).collect();
            (told, class.clock.history().at(now).unwrap().from)
        };
        // Nobody hears a signal while the program is away.
        let heard = began.max(self.back);
        for (walker, to) in self.walkers.iter_mut().zip(told) {
            if walker.place != to {
                walker.place = to;
                walker.there = heard.offset(i64::from(TIMES.walk_s) * 1_000_000 + DAWDLE_US);
            }
        }
        for station in 0..self.gym.stations.len() {
            self.take_picture(station, now);
        }
    }

    fn take_picture(&mut self, index: usize, now: CaptureUs) {
        let station = &self.gym.stations[index];
        if !station.captures() {
            return;
        }
        let number = station.config().number;
        let in_view = |group: &u8| {
            let walker = self.walkers.get(usize::from(*group) - 1);
            walker.is_some_and(|w| {
                now < w.there || w.place == Place::Anywhere || w.place == Place::At(number)
            })
        };
        let children = self.children.iter().enumerate();
        let in_view: BTreeSet<usize> = children
            .filter(|(_, child)| child.stands_with.iter().any(in_view))
            .map(|(index, _)| index)
            .collect();
        let picture = Fragment {
            number: afterturn_core::kernel::FragmentNumber(0),
            capture: now,
            duration_us: 1_000_000,
            keyframe: true,
            bytes: Bytes::from_static(b"picture"),
        };
        let params = ParameterSets {
            mime: String::new(),
            width_px: 2,
            height_px: 2,
            interlaced: false,
            promises_order: true,
            init: Bytes::new(),
        };
        station.fill_for_a_test(vec![(params, picture)]);
        self.pictures.push(Picture {
            station: index,
            at: now,
            in_view,
        });
    }

    /// Every picture there still is, read as every reader reads it.
    pub(super) fn check(&mut self) {
        let refused: Vec<bool> = self.children.iter().map(|c| self.is_refused(c)).collect();
        let oldest = self.now().offset(-30_000_000);
        self.pictures.retain(|picture| picture.at >= oldest);
        for picture in &self.pictures {
            let of_refused = picture.in_view.iter().any(|child| refused[*child]);
            self.bitten |= of_refused;
            if self.gym.stations[picture.station]
                .cut_one(picture.at)
                .is_ok()
            {
                self.shown += 1;
                assert!(
                    !of_refused,
                    "station {} shows a refused child {} ms ago",
                    picture.station + 1,
                    self.now().since(picture.at) / 1000
                );
            }
        }
    }

    pub(super) async fn wait(&mut self, seconds: u64) {
        let mut left = seconds;
        while left > 0 {
            let step = left.min(TICK_S);
            self.gym.wait_and_keep(step).await;
            self.look();
            self.check();
            left -= step;
        }
    }
}
