//! Long random histories, against a second reckoning: a permit exists only with
//! a basis at that moment, and nothing erased comes back.

use std::collections::{BTreeMap, BTreeSet};

use afterturn_core::kernel::ItemId;
use proptest::prelude::*;

use super::*;

/// What happens, to whichever of the children there are.
#[derive(Clone, Copy, Debug)]
enum Event {
    Add,
    Record {
        who: usize,
        kind: Kind,
        yes: bool,
        until: Option<i32>,
    },
    Erase {
        who: usize,
    },
    Keep {
        who: usize,
    },
    Days(i32),
    /// A day that cannot be right passes by.
    WrongDay(i32),
    Backup,
    Restore {
        which: usize,
    },
    Restart,
}

/// Few children and many backups, some from before there was a child: what goes
/// wrong, goes wrong on the way between copies.
fn event() -> impl Strategy<Value = Event> {
    let kinds = [Kind::Stills, Kind::Stills, Kind::Seen];
    let record = (
        0..2_usize,
        prop::sample::select(Vec::from(kinds)),
        any::<bool>(),
        prop::option::weighted(0.2, 0..9_i32),
    );
    prop_oneof![
        2 => Just(Event::Add),
        6 => record.prop_map(|(who, kind, yes, until)| Event::Record { who, kind, yes, until }),
        1 => (0..4_usize).prop_map(|who| Event::Erase { who }),
        3 => (0..2_usize).prop_map(|who| Event::Keep { who }),
        1 => (1..4_i32).prop_map(Event::Days),
        1 => prop_oneof![-40..-1_i32, 9..60_i32].prop_map(Event::WrongDay),
        4 => Just(Event::Backup),
        4 => (0..9_usize).prop_map(|which| Event::Restore { which }),
        1 => Just(Event::Restart),
    ]
}

#[derive(Clone, Copy)]
struct Yes {
    from: Day,
    until: Option<Day>,
}

/// What really happened, whatever the vault says.
struct Truth {
    today: Day,
    listed: BTreeMap<ChildId, Day>,
    erased: BTreeSet<ChildId>,
    last: BTreeMap<(ChildId, Kind), Option<Yes>>,
    kept: BTreeMap<ItemId, (ChildId, Day)>,
    gone: BTreeSet<ItemId>,
}

const ROSTER_DAYS: u16 = 20;
const MEDIA_DAYS: u16 = 6;

impl Truth {
    fn basis(&self, child: ChildId) -> bool {
        let yes = self.last.get(&(child, Kind::Stills)).copied().flatten();
        yes.is_some_and(|yes| {
            yes.from <= self.today && yes.until.is_none_or(|until| self.today <= until)
        })
    }

    fn unseen(&self, child: ChildId) -> bool {
        matches!(self.last.get(&(child, Kind::Seen)), Some(None))
    }

    fn pass(&mut self, days: i32) {
        self.today = self.today.plus(days);
        let today = self.today;
        for (child, listed) in &self.listed {
            if listed.plus(i32::from(ROSTER_DAYS)) < today {
                self.erased.insert(*child);
            }
        }
        let over = self.kept.iter().filter(|(_, (_, until))| *until < today);
        self.gone.extend(over.map(|(id, _)| *id));
    }
}

/// Something of each child's own, in more than one chunk.
fn picture(child: ChildId) -> Vec<u8> {
    let mut picture = child.to_string().into_bytes();
    picture.resize(70_000, 7);
    picture
}

struct History {
    folder: tempfile::TempDir,
    portfolio: Portfolio,
    class: ClassId,
    backups: Vec<Vec<u8>>,
    /// A backup was restored: a yes recorded since it was made may be lost with
    /// its child, and has to be recorded again. A no never is.
    restored: bool,
    truth: Truth,
}

impl History {
    fn begin() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let portfolio = vault(folder.path());
        let class = portfolio
            .add_class(name("2 Blue"), None, at(TODAY))
            .unwrap();
        portfolio.choose_rule(ViewRule::OptOut, at(TODAY)).unwrap();
        let terms = afterturn_core::consent::Terms::new(MEDIA_DAYS, 10, ROSTER_DAYS);
        portfolio.set_terms(terms.unwrap(), at(TODAY)).unwrap();
        Self {
            folder,
            portfolio,
            class,
            backups: Vec::new(),
            restored: false,
            truth: Truth {
                today: TODAY,
                listed: BTreeMap::new(),
                erased: BTreeSet::new(),
                last: BTreeMap::new(),
                kept: BTreeMap::new(),
                gone: BTreeSet::new(),
            },
        }
    }

    fn now(&self) -> Moment {
        at(self.truth.today)
    }

    fn there(&self) -> Vec<ChildId> {
        let roster = self.portfolio.roster(self.now()).unwrap();
        let mut there: Vec<ChildId> = roster.children.iter().map(|c| c.id).collect();
        there.sort_unstable();
        there
    }

    fn pick(&self, who: usize) -> Option<ChildId> {
        let there = self.there();
        (!there.is_empty()).then(|| there[who % there.len()])
    }

    fn apply(&mut self, event: Event) {
        let now = self.now();
        let today = self.truth.today;
        match event {
            Event::Add => {
                let new = child("Nora", Some(1));
                let id = self.portfolio.add_child(self.class, new, now).unwrap();
                self.truth.listed.insert(id, today);
            }
            Event::Record {
                who,
                kind,
                yes,
                until,
            } => {
                let Some(child) = self.pick(who) else { return };
                let until = until.map(|days| today.plus(days));
                let said = said(kind, yes, today, until);
                self.portfolio.record(&[child], &said, now).unwrap();
                let truth = &mut self.truth;
                truth
                    .last
                    .insert((child, kind), yes.then_some(Yes { from: today, until }));
                for (item, (of, last)) in &mut truth.kept {
                    if *of != child || kind != Kind::Stills {
                        continue;
                    }
                    match until {
                        _ if !yes => _ = truth.gone.insert(*item),
                        Some(until) => *last = (*last).min(until),
                        None => {}
                    }
                }
            }
            Event::Erase { who } => {
                let Some(child) = self.pick(who) else { return };
                self.portfolio.erase_child(child, now).unwrap();
                self.truth.erased.insert(child);
            }
            Event::Keep { who } => self.keep(who),
            Event::Days(days) => {
                self.truth.pass(days);
                self.portfolio.purge(self.truth.today).unwrap();
                self.unlock();
            }
            Event::WrongDay(days) => {
                self.portfolio.purge(today.plus(days)).unwrap();
                self.portfolio.purge(today).unwrap();
            }
            Event::Backup => self.backups.push(self.portfolio.backup(now).unwrap()),
            Event::Restore { which } => {
                if self.backups.is_empty() {
                    return;
                }
                let backup = &self.backups[which % self.backups.len()];
                self.portfolio.restore(backup, WORDS, WORDS, now).unwrap();
                self.restored = true;
            }
            Event::Restart => {
                self.portfolio = Portfolio::in_memory(Cost::LEAST, today);
                let folder = self.folder.path();
                self.portfolio = Portfolio::open(folder, Cost::LEAST, today);
                self.unlock();
            }
        }
    }

    fn unlock(&self) {
        self.portfolio.unlock(WORDS, self.now()).unwrap();
    }

    fn keep(&mut self, who: usize) {
        let Some(child) = self.pick(who) else { return };
        let today = self.truth.today;
        let register = self.portfolio.roster(self.now()).unwrap().register;
        let mut request = request(&[child], Medium::Still, today);
        request.term_days = MEDIA_DAYS;
        let permit = register.permit(request, today);
        self.judge(permit.is_ok(), child);
        if let Ok(permit) = permit {
            let until = permit.keep_until();
            let picture = picture(child);
            let kept = self
                .portfolio
                .keep(permit, About::default(), &picture, self.now());
            self.truth.kept.insert(kept.unwrap(), (child, until));
        }
    }

    fn judge(&self, permitted: bool, child: ChildId) {
        let basis = self.truth.basis(child);
        assert!(basis || !permitted, "a permit without a basis");
        assert!(
            self.restored || permitted == basis,
            "a basis, and no permit"
        );
    }

    /// Everything that must hold at any moment.
    fn check(&self) {
        let roster = self.portfolio.roster(self.now()).unwrap();
        let today = self.truth.today;
        let mut covered = false;
        for child in &roster.children {
            assert!(
                !self.truth.erased.contains(&child.id),
                "an erased child is back"
            );
            let made = roster
                .register
                .permit(request(&[child.id], Medium::Still, today), today);
            self.judge(made.is_ok(), child.id);
            covered |= self.truth.unseen(child.id);
        }
        let known = self.portfolio.covered(Some(self.class), 1, None, today);
        let shown = known == Covered::Known(BTreeSet::new());
        let may = !covered && !roster.children.is_empty();
        assert!(may || !shown, "a child who may not be seen is");
        assert!(
            self.restored || shown == may,
            "a group is covered for nobody"
        );
        let kept = self.portfolio.kept(self.now()).unwrap();
        for item in &kept {
            assert!(!self.truth.gone.contains(item), "an erased still is back");
            let (of, until) = self.truth.kept[item];
            assert!(until >= today && !self.truth.erased.contains(&of));
            self.check_shown(*item, of);
        }
        self.check_files();
    }

    /// What is shown has a basis at this moment, and is what was kept.
    fn check_shown(&self, item: ItemId, of: ChildId) {
        let basis = self.truth.basis(of);
        match self.portfolio.show(item, Purpose::Portfolio, self.now()) {
            Ok((_, content)) => {
                assert!(basis, "shown without a basis");
                assert!(content[..] == picture(of), "another picture");
            }
            Err(VaultError::Refused(_)) => assert!(self.restored || !basis, "a basis, not shown"),
            Err(other) => panic!("{other}"),
        }
        // Nobody was asked about sharing.
        let shared = self.portfolio.show(item, Purpose::Family, self.now());
        assert!(matches!(shared, Err(VaultError::Refused(_))));
    }

    /// There is a file for each thing in the vault, and no other.
    fn check_files(&self) {
        let Ok(files) = std::fs::read_dir(self.folder.path().join("kept")) else {
            return;
        };
        let inner = self.portfolio.lock_inner();
        let rows = inner.database().unwrap().read().expiries().unwrap();
        let mut rows: Vec<String> = rows.iter().map(|(id, _)| format!("{id}.sealed")).collect();
        let names = files.map(|file| file.unwrap().file_name().into_string().unwrap());
        let mut names: Vec<String> = names.collect();
        rows.sort();
        names.sort();
        assert_eq!(names, rows);
    }
}

/// As many as a test run has time for; `VAULT_HISTORIES=2000` for more.
fn how_many() -> u32 {
    let asked = std::env::var("VAULT_HISTORIES").ok();
    asked.and_then(|count| count.parse().ok()).unwrap_or(100)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(how_many()))]
    #[test]
    fn permits_have_a_basis_and_nothing_erased_comes_back(
        events in prop::collection::vec(event(), 1..60),
    ) {
        let mut history = History::begin();
        history.apply(Event::Backup);
        for event in events {
            history.apply(event);
            history.check();
        }
    }
}
