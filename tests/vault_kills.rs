//! Pulls the plug on the vault: a process that imports, records, purges, keeps
//! and backs up is killed at random moments, and sometimes while it brings an
//! old file up to date. What it had reported done is there; what it was doing is
//! there whole or not at all; everything sealed opens.
//!
//! `VAULT_KILLS=300 cargo test --test vault_kills` pulls it oftener.

use std::{collections::BTreeSet, path::Path, time::Duration};

use afterturn::{
    portfolio::{About, Cost, Moment, NewChild, Portfolio, Said, import},
    store::atomic,
};
use afterturn_core::{
    consent::{Interval, Kind, Medium, Purpose, Request, Standing, ViewRule},
    kernel::{CaptureUs, ChildId, ClassId, Day, Name},
};

#[path = "vault_versions/dump.rs"]
mod dump;
#[path = "kills/harness.rs"]
mod kills;

use kills::{Random, killed, times, to_be_killed};

const TODAY: Day = Day(20_782);
const WORDS: &str = "wide mat, low beam";
/// Children in every list: what a class has, or none.
const LISTED: usize = 40;

fn at(day: Day) -> Moment {
    Moment {
        today: day,
        now: CaptureUs(day.0 as u64 * 86_400_000_000 + 36_000_000_000),
    }
}

fn open(folder: &Path) -> Portfolio {
    let portfolio = Portfolio::open(folder, Cost::LEAST, TODAY);
    portfolio
        .unlock(WORDS, at(TODAY))
        .expect("all that is sealed opens");
    portfolio
}

fn list(number: u64) -> import::List {
    let rows: Vec<String> = (0..LISTED)
        .map(|child| format!("Class {number},Child {number} {child}"))
        .collect();
    let rows = rows.join(
        "
",
    );
    let file = import::File {
        name: String::new(),
        bytes: format!("class,first name\n{rows}").into(),
    };
    import::read(vec![file], "", TODAY).expect("a good list")
}

fn listed_classes(portfolio: &Portfolio) -> Vec<(ClassId, Vec<ChildId>)> {
    let roster = portfolio.roster(at(TODAY)).expect("a roster");
    let classes = roster.classes.iter();
    classes
        .filter(|class| class.title.for_page().starts_with("Class "))
        .map(|class| (class.id, roster.of(class.id).map(|c| c.id).collect()))
        .collect()
}

fn said(kind: Kind, yes: bool) -> Said {
    Said {
        kind,
        yes,
        from: TODAY,
        until: None,
        recorder: Name::new("Ms Hall").expect("a name"),
    }
}

/// The process that is killed: it says what it has done, line by line.
#[test]
#[ignore = "started, and killed, by the other test"]
fn the_one_that_is_killed() {
    let Some((folder, mut random)) = to_be_killed() else {
        return;
    };
    let portfolio = open(&folder);
    println!("ready");
    let today = at(TODAY);
    portfolio
        .choose_rule(ViewRule::OptIn, today)
        .expect("chosen");
    for round in 0.. {
        let classes = listed_classes(&portfolio);
        match random.below(5) {
            0 => {
                let number = random.below(1_000_000);
                let token = portfolio.plan(list(number), today).expect("planned");
                portfolio.take(token, today).expect("taken");
                println!("imported Class {number}");
            }
            1 if !classes.is_empty() => {
                let (class, children) = &classes[random.below(classes.len() as u64) as usize];
                let yes = random.below(2) == 0;
                portfolio
                    .record(children, &said(Kind::Stills, yes), today)
                    .expect("recorded");
                println!("recorded {class} {yes}");
            }
            2 => {
                keep_one(&portfolio, round);
                portfolio.purge(TODAY).expect("purged");
            }
            3 => {
                let backup = portfolio.backup(today).expect("a backup");
                atomic::write(&folder.join("backup.vault"), &backup).expect("written");
                println!("backed up");
            }
            _ => {
                if let Some((class, _)) = classes.first().filter(|_| classes.len() > 4) {
                    portfolio.erase_class(*class, today).expect("erased");
                    println!("erased {class}");
                }
            }
        }
    }
}

/// Keeps something that is out of time at once, so that purging has work.
fn keep_one(portfolio: &Portfolio, round: u64) {
    let today = at(TODAY);
    let class = portfolio.add_class(
        Name::new(&format!("Keep {round}")).expect("a name"),
        None,
        today,
    );
    let new = NewChild {
        given: Name::new("Keep").expect("a name"),
        family: None,
        note: None,
        group: None,
    };
    let child = portfolio
        .add_child(class.expect("a class"), new, today)
        .expect("a child");
    let past = Said {
        from: TODAY.plus(-9),
        ..said(Kind::Stills, true)
    };
    portfolio.record(&[child], &past, today).expect("recorded");
    let from = at(TODAY.plus(-5)).now;
    let request = Request {
        children: vec![child],
        medium: Medium::Still,
        purpose: Purpose::Portfolio,
        interval: Interval {
            from,
            to: from,
            offset_s: 0,
        },
        term_days: 1,
    };
    let register = portfolio.roster(today).expect("a roster").register;
    let permit = register.permit(request, TODAY).expect("a permit");
    portfolio
        .keep(permit, About::default(), b"a still", today)
        .expect("kept");
}

/// What a killed process had reported.
#[derive(Default)]
struct Reported {
    imported: BTreeSet<String>,
    erased: BTreeSet<String>,
    recorded: Vec<(String, bool)>,
    backed_up: bool,
    /// What it did, all in all.
    done: usize,
}

impl Reported {
    fn read(said: &str) -> Self {
        let mut reported = Self::default();
        for line in said.lines() {
            let words: Vec<&str> = line.split(' ').collect();
            match words[..] {
                ["imported", _, number] => {
                    reported.imported.insert(format!("Class {number}"));
                }
                ["recorded", class, yes] => {
                    reported.recorded.retain(|(known, _)| known != class);
                    reported.recorded.push((class.to_owned(), yes == "true"));
                }
                ["erased", class] => {
                    reported.erased.insert(class.to_owned());
                }
                ["backed", "up"] => reported.backed_up = true,
                _ => continue,
            }
            reported.done += 1;
        }
        reported
    }
}

/// What must hold of the folder, whatever was going on.
fn check(folder: &Path, reported: &Reported) {
    let portfolio = open(folder);
    let roster = portfolio.roster(at(TODAY)).expect("a roster");
    for (class, children) in listed_classes(&portfolio) {
        assert_eq!(
            children.len(),
            LISTED,
            "a list is there whole or not at all"
        );
        let standing = |c: &ChildId| roster.register.standing(*c, Kind::Stills, TODAY);
        let yes: Vec<bool> = children
            .iter()
            .map(|c| matches!(standing(c), Standing::Given { .. }))
            .collect();
        assert!(
            yes.iter().all(|y| *y == yes[0]),
            "an answer of a class is recorded whole or not at all"
        );
        assert!(!reported.erased.contains(&class.to_string()), "erased");
    }
    let kept = portfolio.kept(at(TODAY)).expect("what is kept");
    assert!(kept.is_empty(), "what is out of time is gone");
    let titles: BTreeSet<&str> = roster.classes.iter().map(|c| c.title.for_page()).collect();
    let missing = reported
        .imported
        .iter()
        .filter(|t| !titles.contains(t.as_str()))
        .count();
    // The one that was being erased may be gone as well.
    assert!(
        missing <= reported.erased.len() + 1,
        "{missing} lists are gone"
    );
    if let Ok(backup) = std::fs::read(folder.join("backup.vault")) {
        let other = Portfolio::in_memory(Cost::LEAST, TODAY);
        other.unlock("another passphrase", at(TODAY)).expect("open");
        let restored = other.restore(&backup, WORDS, "another passphrase", at(TODAY));
        restored.expect("a backup is there whole or not at all");
    } else {
        assert!(!reported.backed_up);
    }
}

#[test]
fn a_vault_outlives_being_killed() {
    let kills = times("VAULT_KILLS");
    let mut random = Random::new();
    let mut folder = tempfile::tempdir().expect("a folder");
    let (mut done, mut upgrades) = (0, 0);
    for kill in 0..kills {
        let upgrade = kill % 5 == 4;
        if upgrade || kill % 20 == 0 {
            folder = tempfile::tempdir().expect("a folder");
        }
        if upgrade {
            dump::load(1, folder.path());
            upgrades += 1;
        }
        // An upgrade is over before the process is ready.
        let most_ms = if upgrade { 40 } else { 500 };
        let after = Duration::from_millis(random.below(most_ms));
        let seed = random.below(u64::MAX);
        let one = "the_one_that_is_killed";
        let said = killed(one, folder.path(), seed, after, !upgrade);
        let reported = Reported::read(&said);
        done += reported.done;
        check(folder.path(), &reported);
        if upgrade {
            dump::check_rows(folder.path(), 1);
        }
    }
    println!("{kills} kills, {upgrades} of them early in an upgrade; {done} things done before");
    assert!(done > 0, "something was really being done");
}
