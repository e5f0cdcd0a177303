//! How often a secret may be guessed at.
//!
//! The first few wrong guesses cost nothing: thumbs slip. Then each costs twice
//! the wait of the one before. It is counted for each address and, more
//! patiently, for all together, so that many addresses are no way around it. A
//! restart forgets nothing. Whoever is signed in already is not touched by it.
//!
//! Not here: whether a guess was right.

use std::net::IpAddr;

use afterturn_core::kernel::CaptureUs;
use serde::{Deserialize, Serialize};

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

/// Where a guess comes from: an address, or the network of one where a device
/// has many (IPv6 gives each at least a /64, RFC 6177).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Peer(IpAddr);

impl Peer {
    /// The peer behind an address.
    #[must_use]
    pub fn of(address: IpAddr) -> Self {
        match address.to_canonical() {
            IpAddr::V6(six) => {
                let network = u128::from(six) >> 64 << 64;
                Self(IpAddr::V6(network.into()))
            }
            four @ IpAddr::V4(_) => Self(four),
        }
    }
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
    /// None: all together.
    peer: Option<Peer>,
    wrong: u32,
    last: CaptureUs,
}

impl Count {
    fn until(&self) -> CaptureUs {
        let (free, longest_s) = match self.peer {
            Some(_) => (FREE, LONGEST_WAIT_S),
            None => (FREE_OF_ALL, LONGEST_WAIT_OF_ALL_S),
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
    /// Whether this peer may guess now. Counts the guess as wrong until
    /// [`right`](Self::right) says otherwise, so that many at once are no way
    /// around it.
    pub fn guess(&mut self, what: What, peer: Peer, now: CaptureUs) -> Result<(), Wait> {
        self.0.retain(|count| now.since(count.last) < FORGIVEN_US);
        let of = |count: &&Count| count.what == what && count.peer.is_none_or(|p| p == peer);
        let until = self.0.iter().filter(of).map(Count::until).max();
        if let Some(until) = until.filter(|until| *until > now) {
            let seconds = (until.since(now) as u64).div_ceil(1_000_000);
            return Err(Wait { seconds });
        }
        for whose in [Some(peer), None] {
            let found = self
                .0
                .iter_mut()
                .find(|c| c.what == what && c.peer == whose);
            match found {
                Some(count) => (count.wrong, count.last) = (count.wrong.saturating_add(1), now),
                None => self.0.push(Count {
                    what,
                    peer: whose,
                    wrong: 1,
                    last: now,
                }),
            }
        }
        while self.0.iter().filter(|c| c.peer.is_some()).count() > MOST_PEERS {
            let peers = self.0.iter().enumerate().filter(|(_, c)| c.peer.is_some());
            if let Some((oldest, _)) = peers.min_by_key(|(_, c)| c.last) {
                self.0.remove(oldest);
            }
        }
        Ok(())
    }

    /// The guess was right: this peer starts afresh, and all together have one
    /// wrong guess less.
    pub fn right(&mut self, what: What, peer: Peer) {
        self.0
            .retain(|count| count.what != what || count.peer != Some(peer));
        let all = |count: &&mut Count| count.what == what && count.peer.is_none();
        if let Some(count) = self.0.iter_mut().find(all) {
            count.wrong = count.wrong.saturating_sub(1);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: CaptureUs = CaptureUs(1_790_000_000_000_000);

    fn peer(last: u8) -> Peer {
        Peer::of(IpAddr::from([192, 168, 1, last]))
    }

    /// How many wrong guesses get through in so many hours when each is made as
    /// soon as it may.
    fn tries(peers: &[Peer], hours: i64) -> u32 {
        let mut guesses = Guesses::default();
        let (mut now, mut through) = (NOW, 0);
        while now.since(NOW) < hours * 3_600_000_000 {
            for peer in peers {
                through += u32::from(guesses.guess(What::Pin, *peer, now).is_ok());
            }
            now = now.offset(1_000_000);
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
        let many: Vec<Peer> = (1..=250).map(peer).collect();
        let a_day = tries(&many, 24);
        assert!(
            a_day <= 24 * 100,
            "{a_day} tries in a day from 250 addresses"
        );
    }

    #[test]
    fn a_device_cannot_hide_among_its_own_addresses() {
        let six = |text: &str| Peer::of(text.parse().expect("an address"));
        assert_eq!(six("fd00::1:2:3:4"), six("fd00::9"));
        assert_ne!(six("fd00::1"), six("fd00:0:0:1::1"));
        assert_eq!(six("::ffff:192.168.1.7"), peer(7));
    }

    #[test]
    fn what_is_remembered_stays_small_and_survives_being_kept() {
        let mut guesses = Guesses::default();
        for a in 0..40 {
            for b in 0..40 {
                let peer = Peer::of(IpAddr::from([10, 0, a, b]));
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
}
