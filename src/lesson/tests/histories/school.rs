//! The school that a history happens to: who is where, who is refused, and what the
//! program shows of it.
//!
//! Where a child is, and whether it is refused, is reckoned here and not by the
//! program.

use std::sync::atomic::AtomicI32;

use afterturn_core::{
    consent::{Kind, ViewRule},
    kernel::{ChildId, ClassId, Day, Name},
    rotation::{GroupNumber, Plan},
};

use super::super::*;
use super::Event;
use crate::portfolio::{Cost, Moment, NewChild, Portfolio, Said, State};

const TODAY: Day = Day(20_782);
const WORDS: &str = "wide mat, low beam";
/// Days ahead of the latest that the box believes without being told.
const BELIEVED_DAYS: i32 = 8;
const TICK_S: u64 = 4;
/// Short turns: what is looked for happens at changes.
const TIMES: Times = Times {
    warm_up_s: 8,
    briefing_s: 4,
    work_s: 40,
    last_turn_s: 10,
    gather_s: 5,
    walk_s: 12,
    closing_s: 8,
};
/// A child who dawdles comes this much after the walk was to be over.
const DAWDLE_US: i64 = 4_000_000;

/// What a family said last.
#[derive(Clone, Copy, Debug)]
struct Heard {
    yes: bool,
    from: Day,
    until: Option<Day>,
}

struct Child {
    id: ChildId,
    /// The group it is in by the list.
    listed: Option<u8>,
    heard: Option<Heard>,
    /// The groups it may stand with in the class that runs.
    stands_with: BTreeSet<u8>,
}

#[derive(Clone, Copy, PartialEq)]
enum Place {
    /// In view of every camera.
    Anywhere,
    At(StationNumber),
    /// It rests where no camera looks.
    Bench,
}

/// Where a group really is: at its place, or still on its way and in view of all.
#[derive(Clone, Copy)]
struct Walker {
    place: Place,
    there: CaptureUs,
}

/// A picture that was taken, and who may be in it.
struct Picture {
    station: usize,
    at: CaptureUs,
    in_view: BTreeSet<usize>,
}

pub(super) struct School {
    gym: Gym,
    clock_off: i32,
    date: Arc<AtomicI32>,
    true_day: Day,
    highest: Day,
    opt_out: bool,
    class: ClassId,
    good: Arc<Portfolio>,
    /// For histories with a vault on the disk.
    folder: Option<TempDir>,
    spoiled: bool,
    /// Each with the groups of that time.
    backups: Vec<(Vec<u8>, Vec<Option<u8>>)>,
    children: Vec<Child>,
    walkers: Vec<Walker>,
    /// The circuit as it would go with children in every group.
    full: Option<Plan>,
    pictures: Vec<Picture>,
    /// Since when the program runs.
    back: CaptureUs,
    /// A refused child was in front of a camera that was on.
    pub(super) bitten: bool,
    pub(super) shown: usize,
}

fn folder() -> TempDir {
    // In memory where there is such a place: nothing here is about the disk.
    let memory = std::path::Path::new("/dev/shm");
    tempfile::tempdir_in(memory).unwrap_or_else(|_| tempfile::tempdir().unwrap())
}

fn rule(opt_out: bool) -> ViewRule {
    if opt_out {
        ViewRule::OptOut
    } else {
        ViewRule::OptIn
    }
}

fn name(text: &str) -> Name {
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

    fn now(&self) -> CaptureUs {
        (self.gym.lesson.settings.clocks)().capture
    }

    fn date(&self) -> Day {
        Day(self.date.load(Ordering::Relaxed))
    }

    fn moment(&self) -> Moment {
        Moment {
            today: self.date(),
            now: self.now(),
        }
    }

    /// The program starts, over whatever vault there is.
    fn open(&mut self, away_s: u64) {
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

    fn group_count(&self) -> Option<u8> {
        let inner = self.gym.lesson.lock();
        inner.class.as_ref().map(Running::groups)
    }

    /// Whether a child may not be seen, by everything that the date may be.
    fn is_refused(&self, child: &Child) -> bool {
        let Some(heard) = child.heard else {
            return !self.opt_out;
        };
        if !heard.yes {
            return true;
        }
        let (clock, highest) = (self.date().0, self.highest.0);
        // A date further back than that is a clock that lost its time.
        let clock_counts = clock + BELIEVED_DAYS >= highest;
        let in_doubt = clock < highest || clock > highest + BELIEVED_DAYS;
        let mut days = Vec::new();
        if clock_counts {
            days.push(clock);
        }
        if in_doubt {
            days.push(highest);
        }
        let holds =
            |day: &i32| heard.from.0 <= *day && heard.until.is_none_or(|until| *day <= until.0);
        !days.iter().all(holds) && !self.opt_out
    }

    /// Where everybody is, now that a class has begun. What the teacher said of
    /// groups that the list cannot place is true.
    fn line_up(&mut self) {
        let (groups, title, word) = {
            let inner = self.gym.lesson.lock();
            let Some(class) = &inner.class else { return };
            let word = class
                .word
                .is_some()
                .then(|| class.clock.not_shown().clone());
            (class.groups(), class.title.clone(), word)
        };
        let in_list = title == "3B" && self.listed_groups() == Some(groups);
        let refused: Vec<bool> = self.children.iter().map(|c| self.is_refused(c)).collect();
        for (child, refused) in self.children.iter_mut().zip(refused) {
            let placed = child.listed.filter(|_| in_list);
            let said: Option<BTreeSet<u8>> = word
                .as_ref()
                .filter(|_| refused)
                .map(|word| word.iter().map(|group| group.get()).collect());
            child.stands_with = match (placed, said) {
                (Some(group), None) => [group].into(),
                // Where her word leaves no room, the child is not here today.
                (Some(group), Some(said)) => said.into_iter().filter(|g| *g == group).collect(),
                (None, Some(said)) => said,
                (None, None) => (1..=groups).collect(),
            };
        }
    }

    /// The class has begun: the ring of places as it would be with children in
    /// every group.
    fn set_out(&mut self) {
        let inner = self.gym.lesson.lock();
        let Some(class) = &inner.class else { return };
        let plan = class.clock.plan();
        let circuit = plan.left(plan.first_turn()).unwrap();
        let stations = plan.stations().to_vec();
        self.full = Some(Plan::going_on(circuit, stations, 200, plan.times).unwrap());
        let walker = Walker {
            place: Place::Anywhere,
            there: class.clock.history().all()[0].from,
        };
        self.walkers = vec![walker; plan.sizes().len()];
    }

    fn listed_groups(&self) -> Option<u8> {
        self.children.iter().filter_map(|child| child.listed).max()
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

    async fn wait(&mut self, seconds: u64) {
        let mut left = seconds;
        while left > 0 {
            let step = left.min(TICK_S);
            self.gym.wait_and_keep(step).await;
            self.look();
            self.check();
            left -= step;
        }
    }

    /// Somebody signs in as the teacher, if the vault can be opened.
    fn unlocks(&self) -> bool {
        let open = || self.good.state(self.now()) == State::Open;
        !self.spoiled && (open() || self.good.unlock(WORDS, self.moment()).is_ok())
    }

    /// What the running program does when it hears of a change of the list.
    async fn heard(&mut self) {
        self.gym.lesson.list_changed().await;
    }

    fn set_date(&mut self) {
        let date = self.true_day.plus(self.clock_off);
        self.date.store(date.0, Ordering::Relaxed);
        if date >= self.highest && date.0 <= self.highest.0 + BELIEVED_DAYS && !self.spoiled {
            self.highest = date;
        }
        if !self.spoiled {
            self.good.purge(date).unwrap();
        }
    }

    async fn answer(&mut self, who: usize, yes: bool, from: i32, until: Option<i32>) {
        if !self.unlocks() {
            return;
        }
        let from = self.date().plus(if yes { from } else { 0 });
        let until = until.filter(|_| yes).map(|days| from.plus(days));
        let who = who % self.children.len();
        let said = Said {
            kind: Kind::Seen,
            yes,
            from,
            until,
            recorder: name("Ms Hall"),
        };
        let child = self.children[who].id;
        self.good.record(&[child], &said, self.moment()).unwrap();
        self.children[who].heard = Some(Heard { yes, from, until });
        self.heard().await;
    }

    /// A child is in another group in the list; it may have walked over, or not.
    fn moved_in_list(&mut self, who: usize, group: Option<u8>) {
        let running = self.group_count();
        let child = &mut self.children[who];
        let before = std::mem::replace(&mut child.listed, group);
        // Of no group now, it stays where it is.
        if let (Some(_), Some(group)) = (running, group)
            && before != Some(group)
        {
            child.stands_with.insert(group);
        }
    }

    async fn start(&mut self, asked: ClassStart, by: By) {
        let none_yet = self.group_count().is_none();
        let Ok(started) = self.gym.lesson.start(&asked, by).await else {
            return;
        };
        if none_yet && started.asks.is_empty() {
            self.set_out();
            self.line_up();
        }
    }

    pub(super) async fn apply(&mut self, event: Event) {
        match event {
            Event::Answer {
                who,
                yes,
                from,
                until,
            } => self.answer(who, yes, from, until).await,
            Event::Rule(opt_out) => {
                if self.unlocks() {
                    self.good.choose_rule(rule(opt_out), self.moment()).unwrap();
                    self.opt_out = opt_out;
                    self.heard().await;
                }
            }
            Event::Regroup { who, group } => {
                if self.unlocks() {
                    let who = who % self.children.len();
                    let wanted = [(self.children[who].id, group)].into();
                    self.good
                        .set_groups(self.class, &wanted, self.moment())
                        .unwrap();
                    self.moved_in_list(who, group);
                    self.heard().await;
                }
            }
            Event::Date(days) => {
                self.clock_off = days;
                self.set_date();
                self.heard().await;
            }
            Event::Midnight => {
                self.true_day = self.true_day.plus(1);
                self.set_date();
                self.heard().await;
            }
            Event::Start { .. } => self.start_as(event).await,
            Event::Press(press) => {
                let id = format!("p{}", self.gym.presses.fetch_add(1, Ordering::Relaxed));
                let _ = self.gym.lesson.press(&id, press, None).await;
            }
            Event::Order(station, order) => {
                let stations = &self.gym.stations;
                stations[usize::from(station) % stations.len()].order(order);
            }
            Event::TeacherSays(groups) => {
                let groups = groups.iter().map(|g| GroupNumber::try_from(*g).unwrap());
                if self.gym.lesson.show_all_but(groups.collect()).await.is_ok() {
                    self.line_up();
                }
            }
            Event::Wait(seconds) => self.wait(seconds).await,
            Event::Restart { kept, away_s } => {
                if kept {
                    self.gym.lesson.keep().await;
                }
                self.open(away_s);
            }
            Event::Lock => self.good.lock(),
            Event::Unlock => {
                self.unlocks();
                self.heard().await;
            }
            Event::Spoil(spoiled) => {
                self.spoiled = spoiled;
                self.open(1);
                // A day that passed meanwhile is looked at when it can be.
                self.set_date();
            }
            Event::Backup => {
                if self.unlocks() {
                    let groups = self.children.iter().map(|child| child.listed).collect();
                    let backup = self.good.backup(self.moment()).unwrap();
                    self.backups.push((backup, groups));
                }
            }
            Event::Restore(which) => self.restore(which).await,
            Event::ConfirmDate => {
                // Nobody confirms a date a year off, at which the list is erased.
                if self.clock_off.abs() <= 30 && self.unlocks() {
                    self.good.confirm_date(self.moment()).unwrap();
                    self.highest = self.date();
                    self.heard().await;
                }
            }
        }
    }

    async fn restore(&mut self, which: usize) {
        if self.backups.is_empty() || !self.unlocks() {
            return;
        }
        let (backup, groups) = self.backups[which % self.backups.len()].clone();
        self.good
            .restore(&backup, WORDS, WORDS, self.moment())
            .unwrap();
        for (who, group) in groups.into_iter().enumerate() {
            self.moved_in_list(who, group);
        }
        self.heard().await;
    }

    async fn start_as(&mut self, event: Event) {
        let Event::Start {
            by,
            children,
            groups,
            said,
            other_title,
            share,
            anew,
        } = event
        else {
            return;
        };
        let said = said.map(|said| {
            let numbers = said.into_iter().map(GroupNumber::try_from);
            numbers.map(Result::unwrap).collect()
        });
        let asked = ClassStart {
            id: format!("s{}", self.gym.presses.fetch_add(1, Ordering::Relaxed)),
            class: if other_title { "Rainy day" } else { "3B" }.to_owned(),
            grade: None,
            children,
            groups,
            not_shown: said,
            ticked: vec![2],
            as_it_stands: Vec::new(),
            camera_briefing: false,
            closed: Vec::new(),
            no_spotter: false,
            crowd: if share { Crowd::Share } else { Crowd::Rest },
            anew,
            times: Some(TIMES),
            lesson_s: None,
            quiet: false,
            refine: None,
        };
        self.start(asked, by).await;
    }
}
