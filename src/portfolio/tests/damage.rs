//! A stolen disk says no name, and a damaged one is found out.

use super::*;

const CANARY: &str = "Zyxwanda";

/// A day's work: everything that writes.
fn day_of_work(folder: &Path) -> Vec<u8> {
    let portfolio = vault(folder);
    let class = portfolio
        .add_class(name("Zyxwanda’s class"), None, at(TODAY))
        .unwrap();
    let new = || NewChild {
        note: Some(name("Zyxwanda likes the rope")),
        ..child(CANARY, None)
    };
    let canary = portfolio.add_child(class, new(), at(TODAY)).unwrap();
    let gone = portfolio.add_child(class, new(), at(TODAY)).unwrap();
    portfolio.choose_rule(ViewRule::OptIn, at(TODAY)).unwrap();
    let by = Said {
        recorder: name("Zyxwanda’s aunt"),
        ..yes(Kind::Stills)
    };
    portfolio.record(&[canary, gone], &by, at(TODAY)).unwrap();
    portfolio
        .change_child(canary, class, child(CANARY, Some(2)), at(TODAY))
        .unwrap();
    portfolio.set_recovery("AAAAABBBBB", at(TODAY)).unwrap();
    let backup = portfolio.backup(at(TODAY)).unwrap();
    portfolio.erase_child(gone, at(TODAY)).unwrap();
    portfolio.restore(&backup, WORDS, WORDS, at(TODAY)).unwrap();
    portfolio.purge(TODAY.plus(1)).unwrap();
    // Left open, as by a power cut: the journal is still there.
    std::mem::forget(portfolio);
    backup
}

fn contains(bytes: &[u8], text: &str) -> bool {
    let sixteen: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    [text.as_bytes(), &sixteen]
        .iter()
        .any(|part| bytes.windows(part.len()).any(|window| window == *part))
}

#[test]
fn no_file_holds_a_name() {
    let folder = tempfile::tempdir().unwrap();
    let backup = day_of_work(folder.path());
    let mut files = 0;
    for entry in std::fs::read_dir(folder.path()).unwrap() {
        let path = entry.unwrap().path();
        let bytes = std::fs::read(&path).unwrap();
        assert!(!contains(&bytes, CANARY), "{}", path.display());
        assert!(!contains(&bytes, WORDS), "{}", path.display());
        assert!(!contains(&bytes, "AAAAABBBBB"), "{}", path.display());
        files += 1;
    }
    assert!(files >= 2, "the vault and the list of what was erased");
    assert!(!contains(&backup, CANARY) && !contains(&backup, WORDS));
}

/// What is in a vault, or why it does not say; the file as `bytes` have it.
fn read(bytes: &[u8], ledger: &Path) -> Result<Vec<String>, VaultError> {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("vault.db"), bytes).unwrap();
    std::fs::copy(ledger, folder.path().join("erased")).unwrap();
    let portfolio = Portfolio::open(folder.path(), Cost::LEAST, TODAY.plus(1));
    let moment = at(TODAY.plus(1));
    portfolio.unlock(WORDS, moment)?;
    let roster = portfolio.roster(moment)?;
    let mut said = vec![format!("{:?} {:?}", portfolio.rule()?, portfolio.veils())];
    for child in &roster.children {
        said.push(format!("{} {:?}", child.given.for_page(), child.group));
        for answer in portfolio.answers_of(child.id, moment)? {
            said.push(format!(
                "{:?} {}",
                answer.record,
                answer.recorder.for_page()
            ));
        }
    }
    said.extend(roster.classes.iter().map(|c| c.title.for_page().to_owned()));
    Ok(said)
}

#[test]
fn a_flipped_or_missing_byte_of_the_vault_is_found() {
    let folder = tempfile::tempdir().unwrap();
    let portfolio = vault(folder.path());
    let (class, nora) = with_nora(&portfolio);
    for n in 0..12 {
        portfolio
            .add_child(class, child("Ida", Some(n % 3 + 1)), at(TODAY))
            .unwrap();
    }
    portfolio.choose_rule(ViewRule::OptOut, at(TODAY)).unwrap();
    portfolio
        .record(&[nora], &said(Kind::Seen, false, TODAY, None), at(TODAY))
        .unwrap();
    portfolio
        .record(&[nora], &yes(Kind::Stills), at(TODAY))
        .unwrap();
    drop(portfolio);
    let ledger = folder.path().join("erased");
    let whole = std::fs::read(folder.path().join("vault.db")).unwrap();
    let expected = read(&whole, &ledger).unwrap();
    let (mut found, mut harmless) = (0, 0);
    for at in (0..whole.len()).step_by(61) {
        let mut flipped = whole.clone();
        flipped[at] ^= 1 << (at % 8);
        match read(&flipped, &ledger) {
            Err(_) => found += 1,
            // An unused byte of a page, or a counter of no consequence.
            Ok(said) => {
                assert_eq!(said, expected, "byte {at}");
                harmless += 1;
            }
        }
    }
    assert!(found > 20, "{found} found, {harmless} harmless");
    let mut cuts_found = 0;
    for length in (1..whole.len()).step_by(4001) {
        match read(&whole[..length], &ledger) {
            Err(_) => cuts_found += 1,
            // The last page may be one that is not in use.
            Ok(said) => assert_eq!(said, expected, "cut at {length}"),
        }
    }
    assert!(cuts_found > 10, "{cuts_found}");
}

#[test]
fn a_flipped_or_missing_byte_of_a_backup_is_found() {
    let folder = tempfile::tempdir().unwrap();
    let backup = day_of_work(folder.path());
    let there = tempfile::tempdir().unwrap();
    let portfolio = vault(there.path());
    for at_byte in (0..backup.len()).step_by(997).chain(0..400) {
        let mut flipped = backup.clone();
        flipped[at_byte] ^= 1 << (at_byte % 8);
        let outcome = portfolio.restore(&flipped, WORDS, WORDS, at(TODAY));
        assert!(outcome.is_err(), "byte {at_byte}");
        let outcome = portfolio.restore(&backup[..at_byte], WORDS, WORDS, at(TODAY));
        assert!(outcome.is_err(), "cut at {at_byte}");
    }
    assert!(portfolio.roster(at(TODAY)).unwrap().children.is_empty());
    portfolio.restore(&backup, WORDS, WORDS, at(TODAY)).unwrap();
}

#[test]
fn a_vault_that_cannot_be_read_is_put_aside_and_erased_once_a_backup_is_back() {
    let folder = tempfile::tempdir().unwrap();
    let backup = day_of_work(folder.path());
    let path = folder.path().join("vault.db");
    for end in ["-wal", "-shm"] {
        let _ = std::fs::remove_file(folder.path().join(format!("vault.db{end}")));
    }
    std::fs::write(
        &path,
        b"this is no database, but it is longer than a header",
    )
    .unwrap();
    let portfolio = Portfolio::open(folder.path(), Cost::LEAST, TODAY);
    assert_eq!(portfolio.state(at(TODAY).now), State::Damaged);
    assert_eq!(portfolio.veils(), None);
    // What an earlier version left lying is gone too.
    for end in ["-wal", "-shm"] {
        let left = folder.path().join(format!("vault.db.damaged{end}"));
        std::fs::write(left, b"left").unwrap();
    }
    let wrong = portfolio.restore(&backup, "not it", WORDS, at(TODAY));
    assert!(wrong.is_err() && path.exists(), "nothing is erased before");
    portfolio.restore(&backup, WORDS, WORDS, at(TODAY)).unwrap();
    let roster = portfolio.roster(at(TODAY)).unwrap();
    assert_eq!(roster.children.len(), 1, "who was erased stays so");
    let child = roster.children[0].id;
    assert!(
        !permit(&portfolio, child, TODAY),
        "nothing here can vouch for it"
    );
    let left = std::fs::read_dir(folder.path()).unwrap();
    let left = left.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let left: Vec<_> = left.filter(|name| name.contains("damaged")).collect();
    assert!(left.is_empty(), "{left:?}");
}

#[test]
fn a_no_outlives_a_backup_from_before_the_child_and_one_with_its_yes() {
    let folder = tempfile::tempdir().unwrap();
    let portfolio = vault(folder.path());
    let class = portfolio
        .add_class(name("2 Blue"), None, at(TODAY))
        .unwrap();
    let without = portfolio.backup(at(TODAY)).unwrap();
    let nora = portfolio
        .add_child(class, child("Nora", None), at(TODAY))
        .unwrap();
    let unanswered = portfolio.backup(at(TODAY)).unwrap();
    portfolio
        .record(&[nora], &yes(Kind::Stills), at(TODAY))
        .unwrap();
    let agreed = portfolio.backup(at(TODAY)).unwrap();
    let back = |backup: &[u8]| portfolio.restore(backup, WORDS, WORDS, at(TODAY)).unwrap();
    back(&without);
    back(&unanswered);
    portfolio
        .record(&[nora], &said(Kind::Stills, false, TODAY, None), at(TODAY))
        .unwrap();
    back(&without);
    back(&agreed);
    assert!(!permit(&portfolio, nora, TODAY), "the no is gone");
}
