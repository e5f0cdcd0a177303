//! A vault of every version there was becomes one of today: the same schema as
//! a fresh one, the same rows, and everything sealed opens.
//!
//! `fixtures/vault-N.sql` is such a file as text. The one of a new version is
//! written by `cargo test --test vault_versions -- --ignored`.

use afterturn::portfolio::{Cost, Moment, NewChild, Portfolio, Said};
use afterturn_core::{
    consent::{Kind, Standing, ViewRule},
    kernel::{CaptureUs, Day, Name},
};

#[path = "vault_versions/dump.rs"]
mod dump;

const TODAY: Day = Day(20_782);
const WORDS: &str = "wide mat, low beam";

fn today() -> Moment {
    Moment {
        today: TODAY,
        now: CaptureUs(TODAY.0 as u64 * 86_400_000_000),
    }
}

#[test]
fn every_version_becomes_one_of_today() {
    let fresh = tempfile::tempdir().unwrap();
    drop(Portfolio::open(fresh.path(), Cost::LEAST, TODAY).unwrap());
    let schema = dump::schema(fresh.path());
    for version in 1..=dump::NEWEST {
        let folder = tempfile::tempdir().unwrap();
        dump::load(version, folder.path());
        let portfolio = Portfolio::open(folder.path(), Cost::LEAST, TODAY).unwrap();
        portfolio.unlock(WORDS, today()).unwrap();
        let roster = portfolio.roster(today()).unwrap();
        let names: Vec<&str> = roster.children.iter().map(|c| c.given.for_page()).collect();
        assert_eq!(names, ["Nora", "Ida"], "version {version}");
        let nora = roster.children[0].id;
        let standing = roster.register.standing(nora, Kind::Stills, TODAY);
        assert_eq!(standing, Standing::Given { until: None });
        assert_eq!(portfolio.answers_of(nora, today()).unwrap().len(), 2);
        drop(portfolio);
        assert_eq!(dump::schema(folder.path()), schema, "version {version}");
        dump::check_rows(folder.path());
    }
}

/// What the fixtures hold.
#[test]
#[ignore = "writes tests/fixtures/vault-N.sql for a new version"]
fn write_the_fixture_of_today() {
    let folder = tempfile::tempdir().unwrap();
    let portfolio = Portfolio::open(folder.path(), Cost::LEAST, TODAY).unwrap();
    portfolio.unlock(WORDS, today()).unwrap();
    portfolio.choose_rule(ViewRule::OptIn, today()).unwrap();
    let name = |text| Name::new(text).unwrap();
    let class = portfolio
        .add_class(name("2 Blue"), Some(name("2")), today())
        .unwrap();
    let mut children = Vec::new();
    for (given, group) in [("Nora", 1), ("Ida", 2)] {
        let new = NewChild {
            given: name(given),
            family: Some(name("Winter")),
            note: Some(name("likes the rope")),
            group: Some(group),
        };
        children.push(portfolio.add_child(class, new, today()).unwrap());
    }
    let said = |kind, yes, until| Said {
        kind,
        yes,
        from: TODAY,
        until,
        recorder: name("Ms Hall"),
    };
    portfolio
        .record(&children, &said(Kind::Stills, true, None), today())
        .unwrap();
    let until = Some(TODAY.plus(30));
    portfolio
        .record(&children[..1], &said(Kind::Seen, true, until), today())
        .unwrap();
    portfolio
        .record(&children[1..], &said(Kind::Seen, false, None), today())
        .unwrap();
    portfolio.set_recovery("AAAAABBBBBCCCCC", today()).unwrap();
    drop(portfolio);
    dump::write(folder.path());
}
