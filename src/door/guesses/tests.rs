//! How often one gets through, by each lane and by all.

use super::*;

const NOW: CaptureUs = CaptureUs(1_790_000_000_000_000);

fn peer(last: u8) -> Guesser {
    Guesser::of(IpAddr::from([192, 168, 1, last]), None)
}

/// How many wrong guesses get through in so many hours when each is made as
/// soon as it may.
fn tries(peers: &[Guesser], hours: i64) -> u32 {
    tries_at(What::Pin, peers, hours)
}

fn tries_at(what: What, peers: &[Guesser], hours: i64) -> u32 {
    let mut guesses = Guesses::default();
    let (mut now, mut through) = (NOW, 0);
    while now.since(NOW) < hours * 3_600_000_000 {
        for peer in peers {
            through += u32::from(guesses.guess(what, *peer, now).is_ok());
        }
        // Every wait is so many of these.
        now = now.offset(FIRST_WAIT_S as i64 * 1_000_000);
    }
    through
}

#[test]
fn a_slip_costs_nothing_and_guessing_costs_ever_more() {
    let mut guesses = Guesses::default();
    for _ in 0..FREE {
        assert_eq!(guesses.guess(What::Pin, peer(1), NOW), Ok(()));
    }
    assert_eq!(
        guesses.guess(What::Pin, peer(1), NOW),
        Err(Wait { seconds: 15 })
    );
    assert_eq!(
        guesses.guess(What::Pin, peer(2), NOW),
        Ok(()),
        "another device"
    );
    assert_eq!(
        guesses.guess(What::Passphrase, peer(1), NOW),
        Ok(()),
        "another secret"
    );
    let later = NOW.offset(15_000_000);
    assert_eq!(guesses.guess(What::Pin, peer(1), later), Ok(()));
    assert_eq!(
        guesses.guess(What::Pin, peer(1), later),
        Err(Wait { seconds: 30 })
    );
}

#[test]
fn a_right_guess_clears_the_peer() {
    let mut guesses = Guesses::default();
    for _ in 0..40 {
        assert_eq!(guesses.guess(What::Pin, peer(1), NOW), Ok(()));
        guesses.right(What::Pin, peer(1));
    }
}

#[test]
fn a_pin_of_six_digits_outlasts_any_school_year() {
    // OWASP ASVS 4.0.3 V2.2.1: no more than a hundred failed tries an hour
    // on one account.
    assert!(tries(&[peer(1)], 1) <= 100);
    let many: Vec<Guesser> = (1..=250).map(peer).collect();
    let a_day = tries(&many, 24);
    assert!(
        a_day <= 24 * 100,
        "{a_day} tries in a day from 250 addresses"
    );
}

#[test]
fn what_is_remembered_stays_small_and_survives_being_kept() {
    let mut guesses = Guesses::default();
    for a in 0..40 {
        for b in 0..40 {
            let peer = Guesser::of(IpAddr::from([10, 0, a, b]), None);
            let _ = guesses.guess(What::Pin, peer, NOW.offset(i64::from(a) * 200_000_000));
        }
    }
    assert!(guesses.0.len() <= MOST_PEERS + 1);
    let text = serde_json::to_string(&guesses).expect("plain data");
    assert_eq!(
        serde_json::from_str::<Guesses>(&text).expect("its own text"),
        guesses
    );
}

fn teacher(session: u64) -> Guesser {
    let pass = Pass {
        session: Some(SessionId(session)),
        grant: Grant::Teacher,
    };
    Guesser::of(IpAddr::from([192, 168, 1, 1]), Some(pass))
}

fn here() -> Guesser {
    Guesser::of(IpAddr::from([127, 0, 0, 1]), None)
}

/// Guesses by these until each has to wait.
fn until_all_wait(guesses: &mut Guesses, what: What, who: &[Guesser]) {
    for guesser in who {
        while guesses.guess(what, *guesser, NOW).is_ok() {}
    }
}

#[test]
fn thirty_wrong_guesses_of_six_devices_keep_no_signed_in_teacher_waiting() {
    let mut guesses = Guesses::default();
    let six: Vec<_> = (1..=6).map(peer).collect();
    for what in [What::Passphrase, What::PairingCode] {
        until_all_wait(&mut guesses, what, &six);
        assert!(guesses.guess(what, peer(77), NOW).is_err(), "the network");
        assert_eq!(guesses.guess(what, teacher(1), NOW), Ok(()));
        assert_eq!(guesses.guess(what, here(), NOW), Ok(()));
    }
}

#[test]
fn whoever_is_signed_in_or_at_the_box_guesses_no_more_than_a_device_may() {
    for who in [teacher(1), here()] {
        let mut guesses = Guesses::default();
        until_all_wait(&mut guesses, What::Passphrase, &[who]);
        let wait = guesses.guess(What::Passphrase, who, NOW);
        assert_eq!(wait, Err(Wait { seconds: 15 }));
        for other in [teacher(2), peer(1), peer(7)] {
            assert_eq!(guesses.guess(What::Passphrase, other, NOW), Ok(()));
        }
    }
}

#[test]
fn a_pin_is_guessed_at_in_one_lane_whoever_asks() {
    let mut guesses = Guesses::default();
    let six: Vec<_> = (1..=6).map(peer).collect();
    until_all_wait(&mut guesses, What::Pin, &six);
    for who in [teacher(1), teacher(2), here(), peer(77)] {
        assert!(guesses.guess(What::Pin, who, NOW).is_err(), "{who:?}");
    }
    let everybody: Vec<_> = (1..=20).map(teacher).chain([here()]).collect();
    let network: Vec<_> = (1..=60).map(peer).collect();
    let all: Vec<_> = network.iter().copied().chain(everybody).collect();
    let a_day = tries(&network, 24);
    assert_eq!(tries(&all, 24), a_day);
    assert!((700..=800).contains(&a_day), "as the module says: {a_day}");
    assert_eq!(tries(&[peer(1)], 1), 13, "and of one peer");
    assert_eq!(tries(&[peer(1)], 24), 13 + 23 * 4);
}

#[test]
fn what_each_lane_adds_at_the_passphrase_is_bounded() {
    let everybody: Vec<_> = (1..=20).map(teacher).chain([here()]).collect();
    let network: Vec<_> = (1..=60).map(peer).collect();
    let all: Vec<_> = network.into_iter().chain(everybody).collect();
    let a_day = tries_at(What::Passphrase, &all, 24);
    assert!((2_900..3_000).contains(&a_day), "{a_day}");
}

#[test]
fn a_clock_that_fell_back_makes_no_longer_wait() {
    let mut guesses = Guesses::default();
    until_all_wait(&mut guesses, What::Passphrase, &[peer(1)]);
    let back = NOW.offset(-365 * 24 * 3_600_000_000);
    let wait = guesses.guess(What::Passphrase, peer(1), back);
    assert_eq!(wait, Err(Wait { seconds: 15 }));
    let later = back.offset(15_000_000);
    assert_eq!(guesses.guess(What::Passphrase, peer(1), later), Ok(()));
}

#[test]
fn what_was_kept_before_there_were_lanes_still_counts() {
    let kept = r#"[
        {"what":"pin","peer":"192.168.1.1","wrong":5,"last":1790000000000000},
        {"what":"passphrase","peer":null,"wrong":30,"last":1790000000000000}
    ]"#;
    let mut guesses: Guesses = serde_json::from_str(kept).expect("as it was written");
    assert!(guesses.guess(What::Pin, peer(1), NOW).is_err());
    assert!(guesses.guess(What::Passphrase, peer(1), NOW).is_err());
    assert_eq!(guesses.guess(What::Pin, peer(2), NOW), Ok(()));
}
