//! Stills and clips: whole or absent, shown with a basis, gone for good.

use std::path::PathBuf;

use afterturn_core::kernel::{ItemId, StationNumber};

use super::*;
use crate::portfolio::Deed;

/// A class of two, whose families said yes to clips, and one of them to sharing.
fn with_two(portfolio: &Portfolio) -> [ChildId; 2] {
    let (class, nora) = with_nora(portfolio);
    let ida = portfolio.add_child(class, child("Ida", Some(2)), at(TODAY));
    let both = [nora, ida.unwrap()];
    portfolio
        .record(&both, &yes(Kind::Clips), at(TODAY))
        .unwrap();
    portfolio
        .record(&both[..1], &yes(Kind::Shared), at(TODAY))
        .unwrap();
    both
}

fn keep(portfolio: &Portfolio, children: &[ChildId], content: &[u8]) -> ItemId {
    let register = portfolio.roster(at(TODAY)).unwrap().register;
    let permit = register.permit(request(children, Medium::Clip, TODAY), TODAY);
    let about = About {
        station: 4.try_into().ok(),
        covered: true,
    };
    portfolio
        .keep(permit.unwrap(), about, content, at(TODAY))
        .unwrap()
}

fn show(portfolio: &Portfolio, id: ItemId, purpose: Purpose) -> Result<Vec<u8>, VaultError> {
    let shown = portfolio.show(id, purpose, at(TODAY));
    shown.map(|(_, content)| content.to_vec())
}

fn deeds(portfolio: &Portfolio) -> Vec<Deed> {
    let rows = portfolio.log(at(TODAY)).unwrap();
    rows.iter().rev().map(|row| row.what).collect()
}

fn film(seed: u8) -> Vec<u8> {
    let head = b"\0\0\0\x18ftypisom\xff\xd8\xff\xe0".iter().copied();
    head.chain((0..150_000_u32).map(|n| (n % 253) as u8 ^ seed))
        .collect()
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder.join("kept"));
    let paths = entries
        .into_iter()
        .flatten()
        .map(|entry| entry.unwrap().path());
    let mut paths: Vec<PathBuf> = paths.collect();
    paths.sort();
    paths
}

#[test]
fn what_is_kept_is_found_and_shown_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let portfolio = vault(folder.path());
    let [nora, _] = with_two(&portfolio);
    let id = keep(&portfolio, &[nora], &film(1));
    let items = portfolio.items(at(TODAY)).unwrap();
    assert_eq!(items.len(), 1);
    let item = &items[0];
    assert_eq!(
        (item.id, &item.children[..], item.whole),
        (id, &[nora][..], true)
    );
    assert_eq!(item.about.station.map(StationNumber::get), Some(4));
    assert_eq!(
        item.interval,
        request(&[nora], Medium::Clip, TODAY).interval
    );
    assert_eq!(item.bytes, film(1).len() as u64);
    for _ in 0..3 {
        assert!(show(&portfolio, id, Purpose::Portfolio).unwrap() == film(1));
    }
    assert_eq!(deeds(&portfolio), [Deed::Kept, Deed::Shown], "once a day");
    drop(portfolio);
    let portfolio = vault(folder.path());
    assert!(show(&portfolio, id, Purpose::Portfolio).unwrap() == film(1));
}

#[test]
fn the_disk_holds_nothing_of_it_in_the_open() {
    let folder = tempfile::tempdir().unwrap();
    let portfolio = vault(folder.path());
    let [nora, _] = with_two(&portfolio);
    keep(&portfolio, &[nora], &film(9));
    std::mem::forget(portfolio);
    let all = std::fs::read_dir(folder.path()).unwrap();
    let all = all
        .map(|entry| entry.unwrap().path())
        .chain(files(folder.path()));
    let mut looked = 0;
    for path in all.filter(|path| path.is_file()) {
        let bytes = std::fs::read(&path).unwrap();
        let has = |part: &[u8]| bytes.windows(part.len()).any(|some| some == part);
        assert!(
            !has(b"ftypisom") && !has(&film(9)[5000..5016]),
            "{}",
            path.display()
        );
        looked += 1;
    }
    assert!(
        looked >= 3,
        "the vault, the list of what was erased, the film"
    );
}

#[test]
fn a_spoilt_file_loses_one_thing_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let portfolio = vault(folder.path());
    let [nora, ida] = with_two(&portfolio);
    let other = keep(&portfolio, &[ida], &film(2));
    let id = keep(&portfolio, &[nora], &film(1));
    let path = folder.path().join("kept").join(format!("{id}.sealed"));
    let whole = std::fs::read(&path).unwrap();
    let mut spoilt: Vec<Vec<u8>> = (0..whole.len())
        .step_by(17_003)
        .map(|at| {
            let mut flipped = whole.clone();
            flipped[at] ^= 0x10;
            flipped
        })
        .collect();
    spoilt.push(whole[..whole.len() - 1].to_vec());
    spoilt.push(whole[..100].to_vec());
    spoilt.push(Vec::new());
    for bytes in spoilt {
        std::fs::write(&path, &bytes).unwrap();
        let shown = show(&portfolio, id, Purpose::Portfolio);
        assert!(matches!(shown, Err(VaultError::Spoilt)));
        let items = portfolio.items(at(TODAY)).unwrap();
        let listed = items.iter().find(|item| item.id == id).unwrap();
        // A byte that is only another one is found when it is opened.
        assert_eq!(listed.whole, bytes.len() == whole.len());
        assert!(show(&portfolio, other, Purpose::Portfolio).unwrap() == film(2));
    }
    std::fs::remove_file(&path).unwrap();
    assert!(matches!(
        show(&portfolio, id, Purpose::Portfolio),
        Err(VaultError::Spoilt)
    ));
    // Another one's file in its place is no better than none.
    std::fs::copy(
        folder.path().join("kept").join(format!("{other}.sealed")),
        &path,
    )
    .unwrap();
    assert!(matches!(
        show(&portfolio, id, Purpose::Portfolio),
        Err(VaultError::Spoilt)
    ));
    assert_eq!(portfolio.delete(&[id], at(TODAY)).unwrap(), 1);
    assert_eq!(files(folder.path()).len(), 1);
}

#[test]
fn whatever_ends_it_the_file_goes_too_and_the_log_says_why() {
    for way in ["delete", "withdraw", "erase", "expire"] {
        let folder = tempfile::tempdir().unwrap();
        let portfolio = vault(folder.path());
        let [nora, ida] = with_two(&portfolio);
        let id = keep(&portfolio, &[nora, ida], &film(1));
        let stays = keep(&portfolio, &[ida], &film(2));
        let mut day = TODAY;
        let deed = match way {
            "delete" => {
                assert_eq!(portfolio.delete(&[id, id], at(TODAY)).unwrap(), 1);
                Deed::Deleted
            }
            "withdraw" => {
                let no = said(Kind::Clips, false, TODAY, None);
                assert_eq!(portfolio.record(&[nora], &no, at(TODAY)).unwrap(), 1);
                Deed::Withdrawn
            }
            "erase" => {
                portfolio.erase_child(nora, at(TODAY)).unwrap();
                Deed::Deleted
            }
            _ => {
                let until = Some(TODAY.plus(2));
                let short = said(Kind::Clips, true, TODAY.plus(-1), until);
                portfolio.record(&[nora], &short, at(TODAY)).unwrap();
                day = TODAY.plus(3);
                assert_eq!(portfolio.purge(day).unwrap().items, 1);
                portfolio.unlock(WORDS, at(day)).unwrap();
                Deed::Expired
            }
        };
        let left: Vec<_> = portfolio
            .items(at(day))
            .unwrap()
            .iter()
            .map(|i| i.id)
            .collect();
        assert_eq!(left, [stays], "{way}");
        assert_eq!(files(folder.path()).len(), 1, "{way}");
        let log = portfolio.log(at(day)).unwrap();
        assert_eq!((log[0].what, log[0].item), (deed, id), "{way}");
        assert!(matches!(
            show(&portfolio, id, Purpose::Portfolio),
            Err(VaultError::NotFound)
        ));
    }
}

#[test]
fn what_a_power_cut_left_half_done_is_gone_after_the_next_start() {
    let folder = tempfile::tempdir().unwrap();
    let portfolio = vault(folder.path());
    let [nora, _] = with_two(&portfolio);
    let id = keep(&portfolio, &[nora], &film(1));
    drop(portfolio);
    let kept = folder.path().join("kept");
    let orphan = kept.join(format!("{}.sealed", ItemId::from_random(7)));
    std::fs::write(&orphan, b"sealed, and its row never came").unwrap();
    std::fs::write(kept.join(".half.sealed.9-9.tmp"), b"sea").unwrap();
    let portfolio = vault(folder.path());
    assert_eq!(files(folder.path()), [kept.join(format!("{id}.sealed"))]);
    assert!(show(&portfolio, id, Purpose::Portfolio).is_ok());
}

#[test]
fn nothing_is_shown_or_handed_out_without_a_basis_today() {
    let portfolio = Portfolio::in_memory(Cost::LEAST, TODAY);
    portfolio.unlock(WORDS, at(TODAY)).unwrap();
    let [nora, ida] = with_two(&portfolio);
    let (own, both) = (
        keep(&portfolio, &[nora], &film(1)),
        keep(&portfolio, &[nora, ida], &film(2)),
    );
    let share = |id| show(&portfolio, id, Purpose::Family);
    assert!(share(own).is_ok());
    assert!(
        matches!(share(both), Err(VaultError::Refused(_))),
        "the other family has not agreed to sharing"
    );
    let item = |id| {
        portfolio
            .items(at(TODAY))
            .unwrap()
            .into_iter()
            .find(|i| i.id == id)
            .unwrap()
    };
    assert!(portfolio.may_be_shared(&item(own), at(TODAY)).unwrap());
    assert!(!portfolio.may_be_shared(&item(both), at(TODAY)).unwrap());
    // A no to sharing leaves what is kept for the child.
    let no = said(Kind::Shared, false, TODAY, None);
    assert_eq!(portfolio.record(&[nora], &no, at(TODAY)).unwrap(), 0);
    assert!(matches!(share(own), Err(VaultError::Refused(_))));
    assert!(show(&portfolio, own, Purpose::Portfolio).is_ok());
    // A yes that is renewed holds for what was kept before it.
    let later = at(TODAY.plus(5));
    portfolio.unlock(WORDS, later).unwrap();
    let again = said(Kind::Clips, true, TODAY.plus(5), None);
    portfolio.record(&[nora], &again, later).unwrap();
    assert!(portfolio.show(own, Purpose::Portfolio, later).is_ok());
}

#[test]
fn a_restored_backup_keeps_what_was_kept_since_and_brings_back_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let portfolio = vault(folder.path());
    let [nora, ida] = with_two(&portfolio);
    let (gone, stays) = (
        keep(&portfolio, &[nora], &film(1)),
        keep(&portfolio, &[nora], &film(2)),
    );
    let backup = portfolio.backup(at(TODAY)).unwrap();
    portfolio.delete(&[gone], at(TODAY)).unwrap();
    let (since, withdrawn) = (
        keep(&portfolio, &[nora], &film(3)),
        keep(&portfolio, &[ida], &film(4)),
    );
    let no = said(Kind::Clips, false, TODAY, None);
    portfolio.record(&[ida], &no, at(TODAY)).unwrap();
    let done = deeds(&portfolio);
    portfolio.restore(&backup, WORDS, WORDS, at(TODAY)).unwrap();
    let mut left: Vec<_> = portfolio
        .items(at(TODAY))
        .unwrap()
        .iter()
        .map(|i| i.id)
        .collect();
    left.sort_unstable();
    let mut expected = [stays, since];
    expected.sort_unstable();
    assert_eq!(left, expected, "not {gone} and not {withdrawn}");
    for (id, seed) in [(stays, 2), (since, 3)] {
        assert!(show(&portfolio, id, Purpose::Portfolio).unwrap() == film(seed));
    }
    assert_eq!(files(folder.path()).len(), 2);
    assert_eq!(
        deeds(&portfolio)[..done.len()],
        done,
        "what was done is not forgotten"
    );
    // Elsewhere there are no files, and so nothing is listed.
    let there = tempfile::tempdir().unwrap();
    let other = vault(there.path());
    other.restore(&backup, WORDS, WORDS, at(TODAY)).unwrap();
    assert!(other.items(at(TODAY)).unwrap().is_empty());
}

#[test]
fn the_mat_of_a_station_stays_until_another_is_drawn() {
    use afterturn_core::media::{Corner, Mat};
    let folder = tempfile::tempdir().unwrap();
    let portfolio = vault(folder.path());
    let station = 3.try_into().unwrap();
    assert_eq!(portfolio.mat(station).unwrap(), None);
    let corner = |x, y| Corner { x, y };
    let mat = Mat::new(vec![corner(0, 0), corner(9000, 0), corner(0, 9000)]).unwrap();
    portfolio.set_mat(station, &mat, at(TODAY)).unwrap();
    drop(portfolio);
    let portfolio = Portfolio::open(folder.path(), Cost::LEAST, TODAY);
    assert_eq!(
        portfolio.mat(station).unwrap(),
        Some(mat),
        "locked, too: it names nobody"
    );
    assert_eq!(portfolio.mat(4.try_into().unwrap()).unwrap(), None);
}
