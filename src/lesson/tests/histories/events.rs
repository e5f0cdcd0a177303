//! What happens to a school, done.

use afterturn_core::{consent::Kind, rotation::GroupNumber};

use super::super::*;
use super::{Event, school::*};
use crate::portfolio::{Said, State};

impl School {
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
