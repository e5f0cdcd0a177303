//! A class does not wait for the vault.

use std::collections::BTreeSet;
use std::sync::{Arc, mpsc};
use std::time::Duration;

use super::*;

#[test]
fn what_is_covered_is_known_while_the_vault_is_busy() {
    let portfolio = Portfolio::in_memory(Cost::LEAST, TODAY);
    portfolio.unlock(WORDS, at(TODAY)).unwrap();
    let (class, _) = with_nora(&portfolio);
    portfolio.choose_rule(ViewRule::OptOut, at(TODAY)).unwrap();
    let portfolio = Arc::new(portfolio);
    // As while a list is taken, or a backup made.
    let busy = portfolio.lock_inner();
    let (said, heard) = mpsc::channel();
    let asking = Arc::clone(&portfolio);
    std::thread::spawn(move || said.send(asking.covered(Some(class), 1, None, TODAY)));
    // Only a failure waits this out.
    let covered = heard.recv_timeout(Duration::from_secs(20));
    drop(busy);
    assert_eq!(covered, Ok(Covered::Known(BTreeSet::new())));
}
