//! Backups of any bytes.
//!
//! Not here: what a whole backup brings back (`portfolio`).

use std::sync::OnceLock;

use afterturn::portfolio::{Cost, Moment, NewChild, Portfolio};
use afterturn_core::{
    consent::ViewRule,
    kernel::{CaptureUs, Day, Name},
};

const TODAY: Day = Day(20_782);
const WORDS_OF_THEN: &str = "wide mat, low beam";
const WORDS_OF_TODAY: &str = "box, rope and bench";
const SHEET: &str = "AAAAABBBBBCCCCC";

/// Parts of a header.
pub const WORDS: &[&[u8]] = &[
    b"AFTERTURN VAULT 1\n",
    b"AFTERTURN VAULT 2\n",
    b"passphrase",
    b"recovery",
    b"next",
    b"\0\x0a",
    b"\0\x04",
    b"\0\0\0\x08",
];

/// Whatever the bytes, by passphrase or by sheet:
///
/// - what was not written by us, to the last byte, is refused, and then nothing
///   here has changed;
/// - a whole backup is taken, and what was here is replaced by what it held.
pub fn backup(data: &[u8]) {
    let whole = seeds().iter().any(|seed| seed == data);
    for secret in [WORDS_OF_THEN, "aaaaa-bbbbb ccccc", "not the words"] {
        let here = here("Bo");
        let restored = here.restore(data, secret, WORDS_OF_TODAY, moment());
        let opens = whole && secret != "not the words";
        let expected = if opens {
            ["Ida", "Nora"]
        } else {
            ["Ada", "Bo"]
        };
        assert_eq!(restored.is_ok(), opens, "{:?}", restored.err());
        assert_eq!(names(&here), expected);
    }
}

fn moment() -> Moment {
    Moment {
        today: TODAY,
        now: CaptureUs(TODAY.0 as u64 * 86_400_000_000),
    }
}

fn names(portfolio: &Portfolio) -> Vec<String> {
    let roster = portfolio.roster(moment()).expect("it is open");
    let names = roster.children.iter();
    names
        .map(|child| child.given.for_page().to_owned())
        .collect()
}

/// A vault with Ada and another child.
fn here(other: &str) -> Portfolio {
    with(WORDS_OF_TODAY, ["Ada", other])
}

fn with(words: &str, children: [&str; 2]) -> Portfolio {
    let portfolio = Portfolio::in_memory(Cost::LEAST, TODAY);
    portfolio.unlock(words, moment()).expect("open");
    portfolio
        .choose_rule(ViewRule::OptIn, moment())
        .expect("chosen");
    let name = |text| Name::new(text).expect("a name");
    let class = portfolio
        .add_class(name("2 Blue"), None, moment())
        .expect("a class");
    for given in children {
        let new = NewChild {
            given: name(given),
            family: None,
            note: None,
            group: Some(1),
        };
        portfolio.add_child(class, new, moment()).expect("a child");
    }
    portfolio
}

/// One backup. Its salts and nonces are new in each run of the program; a
/// finding can be shown again all the same, since it brings its own along.
#[must_use]
pub fn seeds() -> Vec<Vec<u8>> {
    static SEEDS: OnceLock<Vec<Vec<u8>>> = OnceLock::new();
    let made = SEEDS.get_or_init(|| {
        let portfolio = with(WORDS_OF_THEN, ["Ida", "Nora"]);
        portfolio.set_recovery(SHEET, moment()).expect("a sheet");
        vec![portfolio.backup(moment()).expect("a backup")]
    });
    made.clone()
}
