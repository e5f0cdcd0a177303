//! A vault of every version there was becomes one of today: the same schema as
//! a fresh one, the same rows, and everything sealed opens.
//!
//! `fixtures/vault-N.sql` is such a file as text. The one of a new version is
//! written by `cargo test --test vault_versions -- --ignored`.

use afterturn::portfolio::{About, Cost, Moment, Portfolio};
use afterturn_core::{
    consent::{Interval, Kind, Medium, Purpose, Request, Standing},
    kernel::{CaptureUs, Day},
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
    drop(Portfolio::open(fresh.path(), Cost::LEAST, TODAY));
    let schema = dump::schema(fresh.path());
    for version in 1..=dump::NEWEST {
        let folder = tempfile::tempdir().unwrap();
        dump::load(version, folder.path());
        let portfolio = Portfolio::open(folder.path(), Cost::LEAST, TODAY);
        portfolio.unlock(WORDS, today()).unwrap();
        let roster = portfolio.roster(today()).unwrap();
        let names: Vec<&str> = roster.children.iter().map(|c| c.given.for_page()).collect();
        assert_eq!(names, ["Nora", "Ida"], "version {version}");
        let nora = roster.children[0].id;
        let standing = roster.register.standing(nora, Kind::Stills, TODAY);
        assert_eq!(standing, Standing::Given { until: None });
        assert_eq!(portfolio.answers_of(nora, today()).unwrap().len(), 2);
        // Since version 3 a still is kept; its file is none of the database's.
        let items = portfolio.items(today()).unwrap();
        let whole: Vec<bool> = items.iter().map(|item| item.whole).collect();
        assert_eq!(whole, vec![false; usize::from(version >= 3)]);
        let deeds = portfolio.log(today()).unwrap();
        assert_eq!(deeds.len(), items.len(), "version {version}");
        drop(portfolio);
        assert_eq!(dump::schema(folder.path()), schema, "version {version}");
        dump::check_rows(folder.path(), version);
    }
}

/// What the fixtures hold.
#[test]
#[ignore = "writes tests/fixtures/vault-N.sql for a new version"]
fn write_the_fixture_of_today() {
    // What the version before had, and what is new in this one.
    let folder = tempfile::tempdir().unwrap();
    dump::load(dump::NEWEST - 1, folder.path());
    let portfolio = Portfolio::open(folder.path(), Cost::LEAST, TODAY);
    portfolio.unlock(WORDS, today()).unwrap();
    let roster = portfolio.roster(today()).unwrap();
    let request = Request {
        children: vec![roster.children[0].id],
        medium: Medium::Still,
        purpose: Purpose::Portfolio,
        interval: Interval {
            from: today().now,
            to: today().now,
            offset_s: 0,
        },
        term_days: 60,
    };
    let permit = roster.register.permit(request, TODAY).unwrap();
    let about = About {
        station: 4.try_into().ok(),
        covered: true,
    };
    portfolio.keep(permit, about, b"a still", today()).unwrap();
    drop(portfolio);
    dump::write(folder.path());
}
