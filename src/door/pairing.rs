//! Screens and cameras that wait to be let in. Each shows a short code; a
//! teacher types it and says what it is to be.
//!
//! Not here: guessing at codes. A code opens nothing by itself: it takes a
//! signed-in teacher to approve it, and only the device that shows it gets the
//! session.

use afterturn_core::kernel::CaptureUs;

use super::{
    Grant, Peer,
    token::{Token, TokenHash, as_meant, same, spoken},
};

/// Letters in a code.
const CODE_LENGTH: usize = 6;
/// A code is good for so long; then the device shows another.
const LASTS_US: i64 = 600_000_000;
/// Codes of one device that may be waiting: somebody reloads.
const MOST_OF_ONE: usize = 5;
/// Codes that may be waiting at all.
const MOST: usize = 60;

/// Why a device is not let in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PairingError {
    /// No waiting device shows this code.
    #[error("no screen shows this code now; read it again from the screen")]
    NoSuchCode,
    /// Too many wait already.
    #[error("too many screens wait to be let in; try again in ten minutes")]
    TooMany,
}

/// How it stands for a device that waits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PairingState {
    /// It shows this code.
    Waiting {
        /// The code.
        code: String,
        /// For so long.
        seconds: u64,
    },
    /// A teacher let it in as this.
    Approved(Grant),
    /// It does not wait, or for too long.
    Unknown,
}

/// A device that waits.
#[derive(Clone, Debug)]
struct Waiting {
    code: String,
    token: TokenHash,
    peer: Peer,
    since: CaptureUs,
    approved: Option<Grant>,
}

/// See the module. In memory only: after a restart a device asks again.
#[derive(Clone, Debug, Default)]
pub struct Pairing(Vec<Waiting>);

impl Pairing {
    /// A device asks; the token is for it alone.
    pub fn ask(&mut self, peer: Peer, now: CaptureUs) -> Result<Token, PairingError> {
        self.forget_old(now);
        let own = self.0.iter().filter(|w| w.peer == peer).count();
        if own >= MOST_OF_ONE
            && let Some(oldest) = self.0.iter().position(|w| w.peer == peer)
        {
            self.0.remove(oldest);
        }
        if self.0.len() >= MOST {
            return Err(PairingError::TooMany);
        }
        let mut code = spoken(CODE_LENGTH);
        while self.0.iter().any(|w| w.code == code) {
            code = spoken(CODE_LENGTH);
        }
        let token = Token::new();
        self.0.push(Waiting {
            code,
            token: token.hash(),
            peer,
            since: now,
            approved: None,
        });
        Ok(token)
    }

    /// How it stands for the device with this token. One that was approved is
    /// told once.
    pub fn state(&mut self, token: &Token, now: CaptureUs) -> PairingState {
        self.forget_old(now);
        let hash = token.hash();
        let Some(at) = self.0.iter().position(|w| w.token == hash) else {
            return PairingState::Unknown;
        };
        if let Some(grant) = self.0[at].approved {
            self.0.remove(at);
            return PairingState::Approved(grant);
        }
        let waiting = &self.0[at];
        let left_us = waiting.since.offset(LASTS_US).since(now).max(0);
        PairingState::Waiting {
            code: waiting.code.clone(),
            seconds: (left_us as u64).div_ceil(1_000_000),
        }
    }

    /// The code that the device with this token shows now. Nobody is told
    /// anything by it.
    pub fn code(&mut self, token: &Token, now: CaptureUs) -> Option<&str> {
        self.forget_old(now);
        let hash = token.hash();
        let waiting = self.0.iter().find(|w| w.token == hash)?;
        waiting.approved.is_none().then_some(waiting.code.as_str())
    }

    /// A teacher lets the device in that shows this code.
    pub fn approve(
        &mut self,
        typed: &str,
        grant: Grant,
        now: CaptureUs,
    ) -> Result<(), PairingError> {
        self.forget_old(now);
        let code = as_meant(typed);
        let waiting = self.0.iter_mut().find(|w| same(&w.code, &code));
        let waiting = waiting.filter(|w| w.approved.is_none());
        waiting.ok_or(PairingError::NoSuchCode)?.approved = Some(grant);
        Ok(())
    }

    fn forget_old(&mut self, now: CaptureUs) {
        self.0.retain(|w| now.since(w.since) < LASTS_US);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: CaptureUs = CaptureUs(1_790_000_000_000_000);

    fn peer(last: u8) -> Peer {
        Peer::of([10, 0, 0, last].into())
    }

    fn code(pairing: &mut Pairing, token: &Token) -> String {
        match pairing.state(token, NOW) {
            PairingState::Waiting { code, .. } => code,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn the_device_that_shows_the_code_is_let_in_once() {
        let mut pairing = Pairing::default();
        let (tv, other) = (
            pairing.ask(peer(1), NOW).expect("room"),
            pairing.ask(peer(2), NOW).expect("room"),
        );
        let shown = code(&mut pairing, &tv);
        assert_ne!(shown, code(&mut pairing, &other));
        let grant = Grant::Screen {
            station: 3_i64.try_into().expect("a good number"),
        };
        assert_eq!(pairing.code(&tv, NOW), Some(shown.as_str()));
        assert_eq!(pairing.code(&Token::new(), NOW), None);
        let typed = format!("{} {}", &shown[..3], shown[3..].to_lowercase());
        assert_eq!(pairing.approve(&typed, grant, NOW), Ok(()));
        // Asking for the code takes nothing from what the device is told next.
        assert_eq!(pairing.code(&tv, NOW), None);
        assert_eq!(
            pairing.approve(&typed, grant, NOW),
            Err(PairingError::NoSuchCode)
        );
        assert!(matches!(
            pairing.state(&other, NOW),
            PairingState::Waiting { .. }
        ));
        assert_eq!(pairing.state(&tv, NOW), PairingState::Approved(grant));
        assert_eq!(
            pairing.state(&tv, NOW),
            PairingState::Unknown,
            "a replay gets nothing"
        );
    }

    #[test]
    fn a_code_is_good_for_ten_minutes() {
        let mut pairing = Pairing::default();
        let tv = pairing.ask(peer(1), NOW).expect("room");
        let shown = code(&mut pairing, &tv);
        let late = NOW.offset(LASTS_US);
        assert_eq!(
            pairing.approve(&shown, Grant::Helper, late),
            Err(PairingError::NoSuchCode)
        );
        assert_eq!(pairing.state(&tv, late), PairingState::Unknown);
    }

    #[test]
    fn a_flood_of_one_device_leaves_room_for_the_others() {
        let mut pairing = Pairing::default();
        let tv = pairing.ask(peer(1), NOW).expect("room");
        for _ in 0..1000 {
            pairing.ask(peer(9), NOW).expect("its own oldest goes");
        }
        assert!(matches!(
            pairing.state(&tv, NOW),
            PairingState::Waiting { .. }
        ));
        for device in 10..200 {
            let _ = pairing.ask(peer(device), NOW);
        }
        assert!(pairing.0.len() <= MOST);
    }
}
