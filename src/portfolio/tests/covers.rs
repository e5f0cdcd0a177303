//! Who may be seen is known without a key.

use super::*;

#[test]
fn veils_hold_before_anybody_signs_in() {
    let folder = tempfile::tempdir().unwrap();
    let portfolio = vault(folder.path());
    let covered =
        |portfolio: &Portfolio, class| match portfolio.covered(Some(class), 1, None, TODAY) {
            Covered::Known(groups) => Some(groups.contains(&1)),
            Covered::Unknown(_) => None,
        };
    let (class, nora) = with_nora(&portfolio);
    assert_eq!(covered(&portfolio, class), Some(true), "nobody has chosen");
    portfolio.choose_rule(ViewRule::OptOut, at(TODAY)).unwrap();
    assert_eq!(covered(&portfolio, class), Some(false));
    portfolio
        .record(&[nora], &said(Kind::Seen, false, TODAY, None), at(TODAY))
        .unwrap();
    assert_eq!(covered(&portfolio, class), Some(true));
    drop(portfolio);
    let portfolio = Portfolio::open(folder.path(), Cost::LEAST, TODAY);
    assert_eq!(covered(&portfolio, class), Some(true));
    portfolio.unlock(WORDS, at(TODAY)).unwrap();
    portfolio
        .record(&[nora], &yes(Kind::Seen), at(TODAY))
        .unwrap();
    drop(portfolio);
    let portfolio = Portfolio::open(folder.path(), Cost::LEAST, TODAY);
    assert_eq!(covered(&portfolio, class), Some(false));
    let unknown = ClassId::from_kept(99);
    assert_eq!(covered(&portfolio, unknown), None);
}
