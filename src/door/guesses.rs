//! How often a secret may be guessed at.
//!
//! The first few wrong guesses cost nothing: thumbs slip. Then each costs twice
//! the wait of the one before. What comes over the network is counted for each
//! peer and, more patiently, for all together, so that many addresses are no way
//! around it. A restart forgets nothing that counted.
//!
//! A teacher who is signed in and is asked for the passphrase again, and whoever
//! sits at the box itself, are counted by themselves ([`Lane`]): however many
//! guess over the network, these two can always write down a refusal.
//!
//! How many guesses that makes in a day, each made as soon as it may: one peer 13
//! in the first hour and 4 in each after it, the whole network together about 750,
//! as it always was. That is one in 1,300 of the PIN's million, and nothing else
//! is counted apart for the PIN. At the passphrase and the first run's code the
//! box's own keyboard adds some hundred, and at the passphrase each teacher's
//! session as many, which only the passphrase opens: below 3,000 with all twenty.
//! The code is one of 24^8; a passphrase of twelve characters has more.
//!
//! Not here: whether a guess was right.

use std::net::IpAddr;

use afterturn_core::kernel::CaptureUs;
use serde::{Deserialize, Serialize};

use super::{Grant, Pass, Peer, SessionId};

/// Which secret.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum What {
    /// The teacher's passphrase.
    Passphrase,
    /// The helpers' PIN.
    Pin,
    /// The code of the first run.
    FirstCode,
    /// A screen's code, typed by a teacher.
    PairingCode,
}

/// Who guesses: an address, and who was let in from there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Guesser {
    address: IpAddr,
    teacher: Option<SessionId>,
}

impl Guesser {
    /// Whoever asks from an address, with what they were let in by.
    #[must_use]
    pub fn of(address: IpAddr, pass: Option<Pass>) -> Self {
        let teacher = pass.filter(|pass| pass.grant == Grant::Teacher);
        Self {
            address: address.to_canonical(),
            teacher: teacher.and_then(|pass| pass.session),
        }
    }

    /// From where.
    #[must_use]
    pub const fn address(self) -> IpAddr {
        self.address
    }

    /// Where a guess of theirs at this secret is counted. The PIN opens less and
    /// is the shorter by far, so all guesses at it are counted together.
    fn lane(self, what: What) -> Lane {
        match (what, self.teacher) {
            (What::Pin, _) => Lane::Network(Peer::of(self.address)),
            (_, Some(session)) => Lane::SignedIn(session),
            (_, None) if self.address.is_loopback() => Lane::Here,
            (_, None) => Lane::Network(Peer::of(self.address)),
        }
    }
}

/// What is counted by itself, so that nobody in one is kept waiting by another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Lane {
    /// A peer on the network, which is counted with all others there too.
    Network(Peer),
    /// All of the network together.
    Together,
    /// The box's own keyboard.
    Here,
    /// A teacher who is signed in. A session of its own each: who found a phone
    /// that is signed in must not keep the teacher's other one waiting.
    SignedIn(SessionId),
}

/// Guessing has to wait.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("too many wrong tries; wait {seconds} s")]
pub struct Wait {
    /// For so long.
    pub seconds: u64,
}

/// Wrong guesses of one peer that cost nothing.
const FREE: u32 = 5;
/// Wrong guesses of all together that cost nothing: a class of helpers.
const FREE_OF_ALL: u32 = 30;
/// The first wait, and the longest.
const FIRST_WAIT_S: u64 = 15;
const LONGEST_WAIT_S: u64 = 900;
/// All together never wait longer, or one mischief-maker could keep everybody
/// out. Even so a PIN of six digits lasts for years.
const LONGEST_WAIT_OF_ALL_S: u64 = 120;
/// A wrong guess is forgiven after so long without another.
const FORGIVEN_US: i64 = 3_600_000_000;
/// Peers remembered; the longest ago goes first.
const MOST_PEERS: usize = 200;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Count {
    what: What,
    /// As it was kept before there were lanes: a peer, or none for all together.
    #[serde(default, skip_serializing)]
    peer: Option<Peer>,
    #[serde(default)]
    lane: Option<Lane>,
    wrong: u32,
    last: CaptureUs,
}

impl Count {
    fn lane(&self) -> Lane {
        let before = || self.peer.map_or(Lane::Together, Lane::Network);
        self.lane.unwrap_or_else(before)
    }

    fn until(&self) -> CaptureUs {
        let (free, longest_s) = match self.lane() {
            Lane::Together => (FREE_OF_ALL, LONGEST_WAIT_OF_ALL_S),
            Lane::Network(_) | Lane::Here | Lane::SignedIn(_) => (FREE, LONGEST_WAIT_S),
        };
        let Some(over) = self.wrong.checked_sub(free) else {
            return CaptureUs::ZERO;
        };
        let wait_s = FIRST_WAIT_S
            .saturating_mul(1 << over.min(16))
            .min(longest_s);
        self.last.offset(wait_s as i64 * 1_000_000)
    }
}

/// See the module.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Guesses(Vec<Count>);

impl Guesses {
    /// Whether this one may guess now. Counts the guess as wrong until
    /// [`right`](Self::right) says otherwise, so that many at once are no way
    /// around it. A guess that has to wait changes nothing.
    pub fn guess(&mut self, what: What, who: Guesser, now: CaptureUs) -> Result<(), Wait> {
        self.0.retain(|count| now.since(count.last) < FORGIVEN_US);
        for count in &mut self.0 {
            // A clock that fell back by a year must not make a wait of it.
            count.last = count.last.min(now);
        }
        let lane = who.lane(what);
        let together = matches!(lane, Lane::Network(_)).then_some(Lane::Together);
        let lanes = [Some(lane), together];
        let counted = |count: &&Count| count.what == what && lanes.contains(&Some(count.lane()));
        let until = self.0.iter().filter(counted).map(Count::until).max();
        if let Some(until) = until.filter(|until| *until > now) {
            let seconds = (until.since(now) as u64).div_ceil(1_000_000);
            return Err(Wait { seconds });
        }
        for lane in lanes.into_iter().flatten() {
            self.count(what, lane, now);
        }
        self.stay_small();
        Ok(())
    }

    fn count(&mut self, what: What, lane: Lane, now: CaptureUs) {
        let found = |count: &&mut Count| count.what == what && count.lane() == lane;
        match self.0.iter_mut().find(found) {
            Some(count) => (count.wrong, count.last) = (count.wrong.saturating_add(1), now),
            None => self.0.push(Count {
                what,
                peer: None,
                lane: Some(lane),
                wrong: 1,
                last: now,
            }),
        }
    }

    fn stay_small(&mut self) {
        let peer = |count: &Count| matches!(count.lane(), Lane::Network(_));
        while self.0.iter().filter(|count| peer(count)).count() > MOST_PEERS {
            let peers = self.0.iter().enumerate().filter(|(_, count)| peer(count));
            if let Some((oldest, _)) = peers.min_by_key(|(_, count)| count.last) {
                self.0.remove(oldest);
            }
        }
    }

    /// The guess was right: this one starts afresh, and all together have one
    /// wrong guess less.
    pub fn right(&mut self, what: What, who: Guesser) {
        let lane = who.lane(what);
        self.0
            .retain(|count| count.what != what || count.lane() != lane);
        if !matches!(lane, Lane::Network(_)) {
            return;
        }
        let all = |count: &&mut Count| count.what == what && count.lane() == Lane::Together;
        if let Some(count) = self.0.iter_mut().find(all) {
            count.wrong = count.wrong.saturating_sub(1);
        }
    }
}

#[cfg(test)]
mod tests {
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
}
