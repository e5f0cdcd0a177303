//! Pulls the plug while stills and clips are kept, deleted, handed out and taken
//! back by a no: a process that does so is killed at random moments. What it had
//! reported kept is there whole, what it had reported gone is gone, and no file
//! belongs to nothing.
//!
//! `KEEP_KILLS=300 cargo test --test keep_kills` pulls it oftener.

use std::{
    collections::{BTreeMap, BTreeSet},
    path::Path,
    time::Duration,
};

use afterturn::portfolio::{About, Archive, Cost, Moment, NewChild, Portfolio, Said};
use afterturn_core::{
    consent::{Interval, Kind, Medium, Purpose, Request, ViewRule},
    kernel::{CaptureUs, ChildId, Day, ItemId, Name},
};

#[path = "kills/harness.rs"]
mod kills;

use kills::{Random, killed, times, to_be_killed};

const TODAY: Day = Day(20_782);
const WORDS: &str = "wide mat, low beam";

fn now() -> Moment {
    Moment {
        today: TODAY,
        now: CaptureUs(TODAY.0 as u64 * 86_400_000_000 + 36_000_000_000),
    }
}

fn open(folder: &Path) -> Portfolio {
    let portfolio = Portfolio::open(folder, Cost::LEAST, TODAY);
    portfolio
        .unlock(WORDS, now())
        .expect("all that is sealed opens");
    portfolio
}

/// A film that can be told from every other, and from half of itself.
fn film(seed: u64) -> Vec<u8> {
    let length = 50_000 + (seed % 7) as usize * 90_000;
    let rest = (0..length).map(|at| ((at as u64 * 31) ^ seed) as u8);
    seed.to_be_bytes().into_iter().chain(rest).collect()
}

fn child(portfolio: &Portfolio) -> ChildId {
    if let Some(child) = portfolio.roster(now()).expect("a roster").children.first() {
        return child.id;
    }
    portfolio
        .choose_rule(ViewRule::OptIn, now())
        .expect("chosen");
    let name = |text| Name::new(text).expect("a name");
    let class = portfolio
        .add_class(name("2 Blue"), None, now())
        .expect("a class");
    let new = NewChild {
        given: name("Nora"),
        family: None,
        note: None,
        group: Some(1),
    };
    portfolio.add_child(class, new, now()).expect("a child")
}

fn say(portfolio: &Portfolio, child: ChildId, kind: Kind, yes: bool) {
    let said = Said {
        kind,
        yes,
        from: TODAY,
        until: None,
        recorder: Name::new("Ms Hall").expect("a name"),
    };
    portfolio.record(&[child], &said, now()).expect("recorded");
}

fn keep(portfolio: &Portfolio, child: ChildId, seed: u64) -> ItemId {
    let request = Request {
        children: vec![child],
        medium: Medium::Clip,
        purpose: Purpose::Portfolio,
        interval: Interval {
            from: now().now,
            to: now().now.offset(8_000_000),
            offset_s: 0,
        },
        term_days: 60,
    };
    let register = portfolio.roster(now()).expect("a roster").register;
    let permit = register.permit(request, TODAY).expect("a permit");
    let kept = portfolio.keep(permit, About::default(), &film(seed), now());
    kept.expect("kept")
}

/// The process that is killed: it says what it is about to do, and has done.
#[test]
#[ignore = "started, and killed, by the other test"]
fn the_keeper_that_is_killed() {
    let Some((folder, mut random)) = to_be_killed() else {
        return;
    };
    let portfolio = open(&folder);
    let child = child(&portfolio);
    for kind in [Kind::Clips, Kind::Shared] {
        say(&portfolio, child, kind, true);
    }
    println!("ready");
    loop {
        let there: Vec<ItemId> = portfolio
            .items(now())
            .expect("items")
            .iter()
            .map(|item| item.id)
            .collect();
        match random.below(12) {
            0..=5 => {
                let seed = random.below(u64::MAX);
                let id = keep(&portfolio, child, seed);
                println!("kept {id} {seed}");
            }
            6..=8 if !there.is_empty() => {
                let id = there[random.below(there.len() as u64) as usize];
                println!("deleting {id}");
                portfolio.delete(&[id], now()).expect("deleted");
                println!("deleted {id}");
            }
            9 | 10 => {
                let mut archive = Archive::new(None);
                for (number, id) in there.iter().enumerate() {
                    let shown = portfolio.show(*id, Purpose::Family, now());
                    let clip = shown.expect("may be shared").1;
                    archive
                        .add(&format!("clip-{number}.mp4"), &clip)
                        .expect("written");
                }
                let file = archive.finish().expect("written");
                println!("exported {} {}", there.len(), file.len());
            }
            11 if there.len() > 4 => {
                println!("no");
                say(&portfolio, child, Kind::Clips, false);
                println!("gone");
                say(&portfolio, child, Kind::Clips, true);
            }
            _ => {}
        }
    }
}

/// What a killed process had said.
#[derive(Default)]
struct Told {
    /// Kept and not touched since, with what is in it.
    there: BTreeMap<String, u64>,
    /// What may be there or not.
    either: BTreeMap<String, u64>,
    gone: BTreeSet<String>,
    done: usize,
}

impl Told {
    fn read(&mut self, said: &str) {
        for line in said.lines() {
            let words: Vec<&str> = line.split(' ').collect();
            match words[..] {
                ["kept", id, seed] => {
                    let seed = seed.parse().expect("a number");
                    self.there.insert(id.to_owned(), seed);
                }
                ["deleting", id] => {
                    let seed = self.there.remove(id).or(self.either.get(id).copied());
                    self.either.insert(id.to_owned(), seed.unwrap_or(0));
                }
                ["deleted", id] => {
                    self.either.remove(id);
                    self.gone.insert(id.to_owned());
                }
                ["no"] => self.either.append(&mut self.there),
                ["gone"] => {
                    let all = std::mem::take(&mut self.either);
                    self.gone.extend(all.into_keys());
                }
                ["exported", ..] => {}
                _ => continue,
            }
            self.done += 1;
        }
    }
}

/// What must hold of the folder, whatever was going on.
fn check(folder: &Path, said: &mut Told) {
    let portfolio = open(folder);
    let items = portfolio.items(now()).expect("items");
    let ids: BTreeSet<String> = items.iter().map(|item| item.id.to_string()).collect();
    for item in &items {
        assert!(item.whole, "an item is whole or absent");
        let (_, content) = portfolio
            .show(item.id, Purpose::Portfolio, now())
            .expect("it opens");
        let seed = u64::from_be_bytes(content[..8].try_into().expect("eight"));
        assert!(content[..] == film(seed), "an item is what was kept");
        let id = item.id.to_string();
        assert!(!said.gone.contains(&id), "what is gone stays gone");
        // One that was being kept when the plug was pulled.
        let known = said.there.get(&id).or(said.either.get(&id));
        assert!(known.is_none_or(|known| *known == seed || *known == 0));
    }
    for id in said.there.keys() {
        assert!(ids.contains(id), "what was reported kept is there");
    }
    let files = std::fs::read_dir(folder.join("kept")).into_iter().flatten();
    let names: BTreeSet<String> = files
        .map(|file| {
            file.expect("a file")
                .file_name()
                .into_string()
                .expect("a name")
        })
        .collect();
    let expected = ids.iter().map(|id| format!("{id}.sealed")).collect();
    assert_eq!(names, expected, "no file belongs to nothing");
    // What could have been either is now known.
    let either = std::mem::take(&mut said.either);
    for (id, seed) in either {
        if ids.contains(&id) {
            said.there.insert(id, seed);
        } else {
            said.gone.insert(id);
        }
    }
}

#[test]
fn what_is_kept_outlives_being_killed() {
    let kills = times("KEEP_KILLS");
    let mut random = Random::new();
    let mut folder = tempfile::tempdir().expect("a folder");
    let mut said = Told::default();
    let mut done = 0;
    for kill in 0..kills {
        if kill % 10 == 0 {
            folder = tempfile::tempdir().expect("a folder");
            said = Told::default();
        }
        let after = Duration::from_millis(random.below(500));
        let seed = random.below(u64::MAX);
        let keeper = "the_keeper_that_is_killed";
        said.read(&killed(keeper, folder.path(), seed, after, true));
        done += std::mem::take(&mut said.done);
        check(folder.path(), &mut said);
    }
    println!("{kills} kills; {done} things done before");
    assert!(done > 0, "something was really being done");
}
