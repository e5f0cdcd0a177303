//! The vault as a whole: locks, backups, damage, and long random histories.

use std::path::Path;

use afterturn_core::{
    consent::{Covered, Interval, Kind, Medium, Purpose, Request, Veil, ViewRule},
    kernel::{CaptureUs, ChildId, ClassId, Day, Name},
};

use super::*;

mod covers;
mod damage;
mod histories;
mod items;
mod waiting;

const TODAY: Day = Day(20_782);
const WORDS: &str = "wide mat, low beam";
const MINUTE_US: i64 = 60_000_000;

fn at(day: Day) -> Moment {
    Moment {
        today: day,
        now: CaptureUs(day.0 as u64 * 86_400_000_000 + 36_000_000_000),
    }
}

fn name(text: &str) -> Name {
    Name::new(text).expect("a name")
}

impl Portfolio {
    fn veils(&self) -> Option<Vec<Veil>> {
        self.answers().map(|known| known.veils.clone())
    }
}

/// A vault in a folder, open.
fn vault(folder: &Path) -> Portfolio {
    let portfolio = Portfolio::open(folder, Cost::LEAST, TODAY);
    portfolio.unlock(WORDS, at(TODAY)).unwrap();
    portfolio
}

fn child(given: &str, group: Option<u8>) -> NewChild {
    NewChild {
        given: name(given),
        family: Some(name("Winter")),
        note: None,
        group,
    }
}

fn said(kind: Kind, yes: bool, from: Day, until: Option<Day>) -> Said {
    Said {
        kind,
        yes,
        from,
        until,
        recorder: name("Ms Hall"),
    }
}

fn yes(kind: Kind) -> Said {
    said(kind, true, TODAY, None)
}

fn request(children: &[ChildId], medium: Medium, day: Day) -> Request {
    let from = at(day).now;
    Request {
        children: children.to_vec(),
        medium,
        purpose: Purpose::Portfolio,
        interval: Interval {
            from,
            to: from.offset(5_000_000),
            offset_s: 0,
        },
        term_days: 60,
    }
}

/// A class of one child.
fn with_nora(portfolio: &Portfolio) -> (ClassId, ChildId) {
    let class = portfolio
        .add_class(name("2 Blue"), None, at(TODAY))
        .unwrap();
    let nora = portfolio.add_child(class, child("Nora", Some(1)), at(TODAY));
    (class, nora.unwrap())
}

fn permit(portfolio: &Portfolio, child: ChildId, day: Day) -> bool {
    let register = portfolio.roster(at(day)).unwrap().register;
    register
        .permit(request(&[child], Medium::Still, day), day)
        .is_ok()
}

#[test]
fn a_locked_vault_says_nothing_and_a_wrong_passphrase_opens_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let portfolio = vault(folder.path());
    with_nora(&portfolio);
    portfolio.lock();
    assert_eq!(portfolio.state(at(TODAY).now), State::Locked);
    assert!(matches!(
        portfolio.roster(at(TODAY)),
        Err(VaultError::Locked)
    ));
    for wrong in ["", "wide mat low beam", "Wide mat, low beam"] {
        let outcome = portfolio.unlock(wrong, at(TODAY));
        assert!(matches!(outcome, Err(VaultError::Wrong)), "{wrong}");
        assert_eq!(portfolio.state(at(TODAY).now), State::Locked);
    }
    drop(portfolio);
    let portfolio = vault(folder.path());
    let roster = portfolio.roster(at(TODAY)).unwrap();
    assert_eq!(roster.children[0].given.for_page(), "Nora");
}

#[test]
fn it_locks_itself_when_nobody_looks_into_it() {
    let portfolio = Portfolio::in_memory(Cost::LEAST, TODAY);
    portfolio.unlock(WORDS, at(TODAY)).unwrap();
    let mut moment = at(TODAY);
    for _ in 0..3 {
        moment.now = moment.now.offset(14 * MINUTE_US);
        assert!(portfolio.roster(moment).is_ok(), "used, so open");
    }
    moment.now = moment.now.offset(16 * MINUTE_US);
    assert!(matches!(portfolio.roster(moment), Err(VaultError::Locked)));
}

#[test]
fn a_change_of_passphrase_holds_when_the_door_has_taken_it() {
    const NEW: &str = "box, rope and bench";
    for taken in [false, true] {
        let folder = tempfile::tempdir().unwrap();
        let portfolio = vault(folder.path());
        portfolio.prepare_passphrase(NEW, at(TODAY)).unwrap();
        drop(portfolio);
        let portfolio = Portfolio::open(folder.path(), Cost::LEAST, TODAY);
        let (holds, gone) = if taken { (NEW, WORDS) } else { (WORDS, NEW) };
        portfolio.unlock(holds, at(TODAY)).unwrap();
        portfolio.lock();
        let outcome = portfolio.unlock(gone, at(TODAY));
        assert!(matches!(outcome, Err(VaultError::Wrong)));
        portfolio.unlock(holds, at(TODAY)).unwrap();
    }
}

#[test]
fn the_recovery_sheet_opens_it_and_an_older_one_does_not() {
    let portfolio = Portfolio::in_memory(Cost::LEAST, TODAY);
    portfolio.unlock(WORDS, at(TODAY)).unwrap();
    with_nora(&portfolio);
    portfolio.set_recovery("AAAAA-BBBBB", at(TODAY)).unwrap();
    portfolio.set_recovery("CCCCC-DDDDD", at(TODAY)).unwrap();
    portfolio.lock();
    let new = "box, rope and bench";
    let older = portfolio.unlock_by_sheet("AAAAA-BBBBB", new, at(TODAY));
    assert!(matches!(older, Err(VaultError::Wrong)));
    portfolio
        .unlock_by_sheet("ccccc ddddd", new, at(TODAY))
        .unwrap();
    assert_eq!(portfolio.roster(at(TODAY)).unwrap().children.len(), 1);
    portfolio.lock();
    portfolio.unlock(new, at(TODAY)).unwrap();
    portfolio.lock();
    assert!(portfolio.unlock(WORDS, at(TODAY)).is_err());
}

#[test]
fn a_backup_brings_back_what_was_lost_and_nothing_that_was_erased() {
    let folder = tempfile::tempdir().unwrap();
    let portfolio = vault(folder.path());
    let (class, nora) = with_nora(&portfolio);
    let ida = portfolio
        .add_child(class, child("Ida", None), at(TODAY))
        .unwrap();
    portfolio
        .record(&[nora, ida], &yes(Kind::Stills), at(TODAY))
        .unwrap();
    let other = portfolio
        .add_class(name("4 Gold"), None, at(TODAY))
        .unwrap();
    let backup = portfolio.backup(at(TODAY)).unwrap();
    portfolio.erase_child(nora, at(TODAY)).unwrap();
    portfolio.erase_class(other, at(TODAY)).unwrap();
    portfolio
        .record(&[ida], &said(Kind::Stills, false, TODAY, None), at(TODAY))
        .unwrap();
    portfolio
        .rename_class(class, name("Spoilt"), None, at(TODAY))
        .unwrap();
    let wrong = portfolio.restore(&backup, "not the passphrase", WORDS, at(TODAY));
    assert!(matches!(wrong, Err(VaultError::Wrong)));
    portfolio.restore(&backup, WORDS, WORDS, at(TODAY)).unwrap();
    let roster = portfolio.roster(at(TODAY)).unwrap();
    let classes: Vec<&str> = roster.classes.iter().map(|c| c.title.for_page()).collect();
    assert_eq!(classes, ["2 Blue"]);
    let children: Vec<&str> = roster.children.iter().map(|c| c.given.for_page()).collect();
    assert_eq!(children, ["Ida"]);
    assert!(!permit(&portfolio, ida, TODAY), "withdrawn stays withdrawn");
}

#[test]
fn on_another_box_every_yes_waits_to_be_confirmed() {
    let here = tempfile::tempdir().unwrap();
    let portfolio = vault(here.path());
    let (_, nora) = with_nora(&portfolio);
    portfolio.choose_rule(ViewRule::OptIn, at(TODAY)).unwrap();
    for kind in [Kind::Stills, Kind::Seen] {
        portfolio.record(&[nora], &yes(kind), at(TODAY)).unwrap();
    }
    let backup = portfolio.backup(at(TODAY)).unwrap();
    drop(portfolio);
    // As a file that is restored, and as a disk that is carried over.
    for carried in [false, true] {
        let there = tempfile::tempdir().unwrap();
        let portfolio = if carried {
            let copy = there.path().join("vault.db");
            std::fs::copy(here.path().join("vault.db"), copy).unwrap();
            let portfolio = Portfolio::open(there.path(), Cost::LEAST, TODAY);
            assert_eq!(
                portfolio.veils(),
                None,
                "not known before somebody signs in"
            );
            portfolio.unlock(WORDS, at(TODAY)).unwrap();
            portfolio
        } else {
            let portfolio = Portfolio::open(there.path(), Cost::LEAST, TODAY);
            portfolio.unlock("another passphrase", at(TODAY)).unwrap();
            let done = portfolio.restore(&backup, WORDS, "another passphrase", at(TODAY));
            done.unwrap();
            portfolio
        };
        assert!(!permit(&portfolio, nora, TODAY), "carried: {carried}");
        let veils = portfolio.veils().expect("known");
        assert_eq!(veils[0].from, Some(Day(i32::MIN)));
        portfolio.confirm(nora, at(TODAY)).unwrap();
        assert!(permit(&portfolio, nora, TODAY));
        assert_eq!(portfolio.veils().expect("known")[0].from, None);
    }
}

#[test]
fn what_is_out_of_time_goes_and_in_doubt_is_only_hidden() {
    let folder = tempfile::tempdir().unwrap();
    let portfolio = vault(folder.path());
    let (_, nora) = with_nora(&portfolio);
    let until = Some(TODAY.plus(3));
    portfolio
        .record(&[nora], &said(Kind::Stills, true, TODAY, until), at(TODAY))
        .unwrap();
    let keep = |portfolio: &Portfolio| {
        let register = portfolio.roster(at(TODAY)).unwrap().register;
        let permit = register.permit(request(&[nora], Medium::Still, TODAY), TODAY);
        portfolio
            .keep(permit.unwrap(), About::default(), b"a still", at(TODAY))
            .unwrap()
    };
    let item = keep(&portfolio);
    let kept = |portfolio: &Portfolio, day| {
        portfolio.unlock(WORDS, at(day)).unwrap();
        portfolio.kept(at(day)).unwrap()
    };
    assert_eq!(kept(&portfolio, TODAY.plus(3)), [item], "on its last day");
    // Twenty days on: somebody has to look first.
    let far = TODAY.plus(20);
    assert_eq!(portfolio.purge(far).unwrap(), Purged::default());
    assert_eq!(kept(&portfolio, far), []);
    assert!(portfolio.date_doubt(far).is_some());
    assert_eq!(portfolio.purge(TODAY.plus(1)).unwrap(), Purged::default());
    assert_eq!(kept(&portfolio, TODAY.plus(1)), [item], "it was the clock");
    portfolio.unlock(WORDS, at(far)).unwrap();
    let purged = portfolio.confirm_date(at(far)).unwrap();
    assert_eq!(
        purged,
        Purged {
            items: 1,
            children: 0
        }
    );
    // The date falls back: what was over stays over.
    drop(portfolio);
    let portfolio = Portfolio::open(folder.path(), Cost::LEAST, TODAY);
    assert!(portfolio.date_doubt(TODAY).is_some());
    assert_eq!(kept(&portfolio, TODAY), []);
}

#[test]
fn a_child_that_no_list_names_any_more_goes_in_time() {
    let portfolio = Portfolio::in_memory(Cost::LEAST, TODAY);
    portfolio.unlock(WORDS, at(TODAY)).unwrap();
    with_nora(&portfolio);
    let mut day = TODAY;
    let mut last_there = None;
    while day < TODAY.plus(370) {
        day = day.plus(5);
        let purged = portfolio.purge(day).unwrap();
        portfolio.unlock(WORDS, at(day)).unwrap();
        let there = !portfolio.roster(at(day)).unwrap().children.is_empty();
        assert!(purged.children == 0 || !there);
        last_there = there.then_some(day).or(last_there);
    }
    assert_eq!(last_there, Some(TODAY.plus(365)));
}

#[test]
fn a_list_is_taken_into_the_roster_it_was_compared_with() {
    let portfolio = Portfolio::in_memory(Cost::LEAST, TODAY);
    portfolio.unlock(WORDS, at(TODAY)).unwrap();
    let list = || {
        let file = import::File {
            name: String::new(),
            bytes: b"class,first name\n2 Blue,Ada\n2 Blue,Bo\n"
                .as_slice()
                .into(),
        };
        import::read(vec![file], "", TODAY).expect("a list")
    };
    let token = portfolio.plan(list(), at(TODAY)).unwrap();
    with_nora(&portfolio);
    assert!(matches!(
        portfolio.take(token, at(TODAY)),
        Err(VaultError::Stale)
    ));
    let token = portfolio.plan(list(), at(TODAY)).unwrap();
    portfolio.take(token, at(TODAY)).unwrap();
    let roster = portfolio.roster(at(TODAY)).unwrap();
    assert_eq!((roster.classes.len(), roster.children.len()), (1, 3));
    assert!(matches!(
        portfolio.take(token, at(TODAY)),
        Err(VaultError::NotFound)
    ));
    portfolio
        .balance_groups(roster.classes[0].id, 3, at(TODAY))
        .unwrap();
    let roster = portfolio.roster(at(TODAY)).unwrap();
    let groups: Vec<_> = roster.children.iter().map(|c| c.group).collect();
    assert_eq!(groups, [Some(1), Some(2), Some(3)]);
}

#[test]
fn a_permit_of_yesterday_is_not_taken() {
    let portfolio = Portfolio::in_memory(Cost::LEAST, TODAY);
    portfolio.unlock(WORDS, at(TODAY)).unwrap();
    let (_, nora) = with_nora(&portfolio);
    portfolio
        .record(&[nora], &yes(Kind::Stills), at(TODAY))
        .unwrap();
    let register = portfolio.roster(at(TODAY)).unwrap().register;
    let permit = || {
        register
            .permit(request(&[nora], Medium::Still, TODAY), TODAY)
            .unwrap()
    };
    let (today, old) = (permit(), permit());
    portfolio.unlock(WORDS, at(TODAY.plus(1))).unwrap();
    assert!(
        portfolio
            .keep(old, About::default(), b"", at(TODAY.plus(1)))
            .is_err()
    );
    // Withdrawn in between: the database itself says no.
    portfolio.unlock(WORDS, at(TODAY)).unwrap();
    portfolio
        .record(&[nora], &said(Kind::Stills, false, TODAY, None), at(TODAY))
        .unwrap();
    assert!(
        portfolio
            .keep(today, About::default(), b"", at(TODAY))
            .is_err()
    );
}
