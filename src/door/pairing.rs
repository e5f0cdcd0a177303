//! Screens and cameras that wait to be let in. Each shows a short code; a
//! teacher types it and says what it is to be.
//!
//! Not here: guessing at codes. A code opens nothing by itself: it takes a
//! signed-in teacher to approve it, and only the device that shows it gets the
//! session.

use std::net::IpAddr;

use afterturn_core::kernel::CaptureUs;

use super::{
    Grant, Peer,
    peer::greediest,
    token::{Token, TokenHash, as_meant, same, spoken},
};

/// Letters in a code.
const CODE_LENGTH: usize = 6;
/// A code is good for so long; then the device shows another.
const LASTS_US: i64 = 600_000_000;
/// Codes of one device that may be waiting: somebody reloads.
const MOST_OF_DEVICE: usize = 5;
/// Codes of one network whose devices give themselves addresses (RFC 4862): all
/// screens of a gym, and no more than that.
const MOST_OF_NETWORK: usize = 60;
/// Codes that may be waiting at all: more than there are addresses in a network of
/// IPv4 such as schools have (a /24), so that whoever takes all of them has more
/// than one place at some of them, and these go first.
const MOST: usize = 600;

/// Why a device is not let in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PairingError {
    /// No waiting device shows this code.
    #[error("no screen shows this code now; read it again from the screen")]
    NoSuchCode,
    /// Too many were let in already and have not come for it.
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
    device: IpAddr,
    since: CaptureUs,
    /// When it last asked how it stands: nobody looks at a screen that does not.
    asked: CaptureUs,
    approved: Option<Grant>,
}

/// See the module. In memory only: after a restart a device asks again.
#[derive(Clone, Debug, Default)]
pub struct Pairing(Vec<Waiting>);

impl Pairing {
    /// A device asks; the token is for it alone. There is room for whoever has
    /// little, however much others have asked for.
    pub fn ask(&mut self, device: IpAddr, now: CaptureUs) -> Result<Token, PairingError> {
        self.forget_old(now);
        let device = device.to_canonical();
        let network = Peer::of(device);
        let of_device = |w: &Waiting| w.device == device;
        let of_network = |w: &Waiting| Peer::of(w.device) == network;
        self.make_room(MOST_OF_DEVICE, of_device)?;
        self.make_room(MOST_OF_NETWORK, of_network)?;
        self.make_room(MOST, |_| true)?;
        let mut code = spoken(CODE_LENGTH);
        while self.0.iter().any(|w| w.code == code) {
            code = spoken(CODE_LENGTH);
        }
        let token = Token::new();
        self.0.push(Waiting {
            code,
            token: token.hash(),
            device,
            since: now,
            asked: now,
            approved: None,
        });
        Ok(token)
    }

    /// Lets one of these go where there are so many: the one nobody has looked at
    /// for the longest, of whoever has the most. Never one that a teacher has let
    /// in: that device is about to be told.
    fn make_room(
        &mut self,
        most: usize,
        of: impl Fn(&Waiting) -> bool,
    ) -> Result<(), PairingError> {
        if self.0.iter().filter(|w| of(w)).count() < most {
            return Ok(());
        }
        let waiting = self.0.iter().filter(|w| of(w) && w.approved.is_none());
        let gone = greediest(waiting, |w| Some(w.device), |w| w.asked);
        let gone = gone.ok_or(PairingError::TooMany)?.token.clone();
        self.0.retain(|w| w.token != gone);
        Ok(())
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
        let waiting = &mut self.0[at];
        waiting.asked = now;
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

    fn peer(last: u8) -> IpAddr {
        [10, 0, 0, last].into()
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

    #[test]
    fn twelve_addresses_cannot_fill_the_row_of_waiting_screens() {
        let mut pairing = Pairing::default();
        for _ in 0..100 {
            for device in 1..=12 {
                pairing.ask(peer(device), NOW).expect("its own oldest goes");
            }
        }
        pairing.ask(peer(99), NOW).expect("room for a screen");
    }

    /// A screen with a teacher before it: it asks how it stands every few seconds.
    fn is_waiting(pairing: &mut Pairing, token: &Token, now: CaptureUs) -> bool {
        matches!(pairing.state(token, now), PairingState::Waiting { .. })
    }

    #[test]
    fn a_whole_network_that_asks_on_and_on_takes_no_screens_place() {
        let mut pairing = Pairing::default();
        let tv = pairing.ask(peer(250), NOW).expect("room");
        for nth in 0..2_000_u32 {
            let now = NOW.offset(i64::from(nth) * 10_000);
            if nth % 200 == 0 {
                assert!(is_waiting(&mut pairing, &tv, now), "after {nth}");
            }
            pairing.ask(peer((nth % 250) as u8), now).expect("room");
        }
        assert_eq!(pairing.0.len(), MOST);
    }

    #[test]
    fn many_addresses_of_one_network_take_no_place_that_somebody_looks_at() {
        let mut pairing = Pairing::default();
        let six = |n: u16| IpAddr::from([0xfd00, 0, 0, 1, 0, 0, 0, n]);
        let (four, tv) = (
            pairing.ask(peer(1), NOW).expect("room"),
            pairing.ask(six(1), NOW).expect("room"),
        );
        for nth in 0..2_000_u16 {
            let now = NOW.offset(i64::from(nth) * 100_000);
            if nth % 30 == 0 {
                assert!(is_waiting(&mut pairing, &tv, now), "after {nth}");
            }
            pairing.ask(six(100 + nth), now).expect("room");
        }
        assert!(is_waiting(&mut pairing, &four, NOW), "on another network");
        assert_eq!(pairing.0.len(), MOST_OF_NETWORK + 1);
    }

    #[test]
    fn who_was_let_in_is_told_however_many_ask() {
        let mut pairing = Pairing::default();
        let tv = pairing.ask(peer(1), NOW).expect("room");
        let shown = code(&mut pairing, &tv);
        assert_eq!(pairing.approve(&shown, Grant::HallBoard, NOW), Ok(()));
        for _ in 0..50 {
            for device in 1..=250 {
                pairing.ask(peer(device), NOW).expect("room");
            }
        }
        let state = pairing.state(&tv, NOW);
        assert_eq!(state, PairingState::Approved(Grant::HallBoard));
    }
}
