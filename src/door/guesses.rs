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
mod tests;
