//! What screens and remotes are told of the class.
//!
//! Not here: telling them.

use afterturn_core::{
    kernel::{CaptureUs, StationNumber},
    rotation::{Clock, GroupNumber, Hold, Phase, Stand, needs_three},
    wire::{
        AfterRestart, Applies, ClassInfo, ClassStation, ClassTime, GroupHere, GroupInfo,
        RunningClass, ScreenClass, Stay, Turn,
    },
};

use super::Lesson;
use super::book::Running;

impl Lesson {
    /// The class as one station's screen needs it.
    #[must_use]
    pub fn screen(&self, station: StationNumber) -> ScreenClass {
        let now = (self.settings.clocks)().capture;
        match &self.lock().class {
            Some(class) => class.screen(station, now),
            None => ScreenClass {
                applies: Applies::Live,
                time: None,
                closed: false,
                floor: false,
                groups: Vec::new(),
                coming: Vec::new(),
                stay: None,
                refine: None,
            },
        }
    }

    /// The class as a board of the hall needs it: its time, its stations and
    /// its groups.
    #[must_use]
    pub fn hall(&self) -> (Option<ClassTime>, Vec<ClassStation>, Vec<GroupInfo>) {
        let now = (self.settings.clocks)().capture;
        let inner = self.lock();
        inner.class.as_ref().map_or_else(Default::default, |class| {
            let RunningClass {
                time,
                stations,
                groups,
                ..
            } = class.info(now);
            (Some(time), stations, groups)
        })
    }

    /// The turn that runs, its last part included; nothing while none does, or
    /// while the class waits.
    #[must_use]
    pub fn turn(&self) -> Option<Turn> {
        let now = (self.settings.clocks)().capture;
        let inner = self.lock();
        let clock = &inner.class.as_ref()?.clock;
        let face = clock.face(now);
        let works = matches!(face.phase, Phase::Work | Phase::LastTurn);
        face.ends.filter(|_| works).map(|ends_us| Turn {
            began_us: ends_us.offset(-clock.whole_us()),
            ends_us,
        })
    }

    /// Which class runs, and its grade.
    #[must_use]
    pub fn runs(&self) -> Option<(String, Option<u8>)> {
        let inner = self.lock();
        let class = inner.class.as_ref()?;
        Some((class.title.clone(), class.grade))
    }

    /// The class as a remote needs it.
    #[must_use]
    pub fn info(&self) -> ClassInfo {
        let heard_of = self.settings.heard_of;
        let demo = self.settings.demo;
        let now = &(self.settings.clocks)();
        let inner = self.lock();
        ClassInfo {
            now_us: now.capture,
            class: inner.class.as_ref().map(|class| RunningClass {
                not_known: self.not_known(class),
                ..class.info(now.capture)
            }),
            asks: inner.asking.as_ref().map(|asking| {
                let stands = |away_us: i64| {
                    let mut class = asking.class.clone();
                    class.went_on(away_us, now);
                    time(&class.clock, now.capture)
                };
                AfterRestart {
                    title: asking.class.title.clone(),
                    why: asking.why,
                    going_on: stands(asking.away_us),
                    as_it_was: stands(asking.class.known_us(heard_of)),
                }
            }),
            demo,
        }
    }
}

fn time(clock: &Clock, now: CaptureUs) -> ClassTime {
    let face = clock.face(now);
    ClassTime {
        phase: face.phase,
        turn: face.turn + 1,
        turns: clock.plan().turns(),
        ends_us: face.ends,
        left_ms: ms(face.left_us),
        whole_ms: ms(clock.whole_us()),
        hold: face.hold,
    }
}

fn ms(us: i64) -> u32 {
    u32::try_from(us / 1000).unwrap_or(0)
}

impl Running {
    fn screen(&self, station: StationNumber, now: CaptureUs) -> ScreenClass {
        let clock = &self.clock;
        let plan = clock.plan();
        let in_pairs = plan.station(station).is_some_and(|s| s.in_pairs);
        let there = |group: &GroupNumber| plan.sizes()[group.index()] > 0;
        let groups = plan.groups().filter(there).filter_map(|group| {
            let stand = clock.stand(group);
            (stand.at == Some(station)).then(|| GroupHere {
                group,
                works: stand.works,
                three: in_pairs && needs_three(plan.sizes()[group.index()]),
                next: self.next(group),
            })
        });
        let coming = plan.groups().filter(there).filter(|group| {
            let next = clock.next_stand(*group);
            next.is_some_and(|stand| stand.at == Some(station))
        });
        ScreenClass {
            applies: Applies::Live,
            time: Some(time(clock, now)),
            closed: !plan.has_place(station) || clock.closed().contains(&station),
            floor: self.floor.contains(&station),
            groups: groups.collect(),
            coming: coming.collect(),
            stay: clock.stay().map(|span| Stay {
                from_us: span.from,
                to_us: span.to,
            }),
            refine: self.today.refine,
        }
    }

    fn next(&self, group: GroupNumber) -> Option<u8> {
        let stand = self.clock.next_stand(group)?;
        stand.at.map(StationNumber::get)
    }

    fn info(&self, now: CaptureUs) -> RunningClass {
        let clock = &self.clock;
        let plan = clock.plan();
        let groups = plan.groups().map(|group| {
            let children = plan.sizes()[group.index()];
            let stand = match children {
                0 => Stand::NOWHERE,
                _ => clock.stand(group),
            };
            GroupInfo {
                group,
                children,
                station: stand.at.map(StationNumber::get),
                works: stand.works,
                next: self.next(group).filter(|_| children > 0),
                covered: clock.is_hidden(group, now),
            }
        });
        let stations = plan.stations().iter().map(|station| ClassStation {
            number: station.number.get(),
            setup: station.setup.clone(),
            closed: !plan.has_place(station.number) || clock.closed().contains(&station.number),
            in_circuit: plan.has_place(station.number),
            floor: self.floor.contains(&station.number),
            quiet: self.today.is_quiet(station.number),
        });
        RunningClass {
            title: self.title.clone(),
            step: clock.step(),
            time: time(clock, now),
            holds: clock.holds().iter().copied().collect::<Vec<Hold>>(),
            groups: groups.collect(),
            stations: stations.collect(),
            accidents: clock.accidents().to_vec(),
            demo: self.demo,
            quiet: self.today.quiet,
            refine: self.today.refine,
            not_known: None,
            is_said: self.word.is_some(),
        }
    }
}
