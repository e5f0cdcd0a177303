//! The door itself: puts the passphrase, the PIN, sessions, waiting devices and
//! the counting of guesses together.
//!
//! Not here: hashing a passphrase (slow, so whoever calls does it aside), and
//! writing what is to be kept.

use std::net::IpAddr;

use afterturn_core::kernel::CaptureUs;
use serde::{Deserialize, Serialize};

use super::{
    Grant, Guesser, Guesses, Hash, Listed, Pairing, PairingError, PairingState, Pass, SessionId,
    Token, Wait, What,
    sessions::Sessions,
    token::{as_meant, same, spoken},
};

/// What outlives the program: nothing in it opens anything.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kept {
    passphrase: Option<Hash>,
    pin: Option<Hash>,
    sessions: Sessions,
    guesses: Guesses,
}

/// Letters in the code of the first run.
const FIRST_CODE_LENGTH: usize = 8;

/// See the module.
#[derive(Debug)]
pub struct Door {
    kept: Kept,
    /// What is to be kept has changed.
    unkept: bool,
    pairing: Pairing,
    /// Shown on the machine's own console until there is a passphrase.
    first_code: Option<String>,
}

impl Door {
    /// A door as it was left.
    #[must_use]
    pub fn new(kept: Kept) -> Self {
        let first_code = kept.passphrase.is_none().then(|| spoken(FIRST_CODE_LENGTH));
        Self {
            kept,
            unkept: false,
            pairing: Pairing::default(),
            first_code,
        }
    }

    /// What is to be kept, if that has changed since it was last asked.
    pub fn take_unkept(&mut self) -> Option<Kept> {
        std::mem::take(&mut self.unkept).then(|| self.kept.clone())
    }

    /// The code that sets the first passphrase, while there is none.
    #[must_use]
    pub fn first_code(&self) -> Option<&str> {
        self.first_code.as_deref()
    }

    /// What a guess at the passphrase or the PIN is to be compared with; an
    /// error while guessing has to wait. The guess counts as wrong until
    /// [`sign_in`](Self::sign_in).
    pub fn guess(
        &mut self,
        what: What,
        who: Guesser,
        now: CaptureUs,
    ) -> Result<Option<Hash>, Wait> {
        self.count(what, who, now)?;
        Ok(match what {
            What::Passphrase => self.kept.passphrase.clone(),
            What::Pin => self.kept.pin.clone(),
            What::FirstCode | What::PairingCode => None,
        })
    }

    /// Counts a guess. One that has to wait is not worth a write: whoever floods
    /// would wear out the disk. One that counts is, or a power cut would give it
    /// back; of those there are as few as may be made.
    fn count(&mut self, what: What, who: Guesser, now: CaptureUs) -> Result<(), Wait> {
        self.kept.guesses.guess(what, who, now)?;
        self.unkept = true;
        Ok(())
    }

    /// The guess was right: a session for the teacher or a helper.
    pub fn sign_in(&mut self, what: What, who: Guesser, now: CaptureUs) -> Token {
        self.kept.guesses.right(what, who);
        let grant = if what == What::Pin {
            Grant::Helper
        } else {
            Grant::Teacher
        };
        self.open_at(grant, Some(who.address()), now)
    }

    /// The guess was right, of somebody who is signed in already.
    pub fn was_right(&mut self, what: What, who: Guesser) {
        self.kept.guesses.right(what, who);
        self.unkept = true;
    }

    /// Whether this is the code of the first run; an error while guessing has to
    /// wait.
    pub fn is_first_code(
        &mut self,
        typed: &str,
        who: Guesser,
        now: CaptureUs,
    ) -> Result<bool, Wait> {
        self.count(What::FirstCode, who, now)?;
        let right = self
            .first_code
            .as_deref()
            .is_some_and(|code| same(code, &as_meant(typed)));
        if right {
            self.kept.guesses.right(What::FirstCode, who);
        }
        Ok(right)
    }

    /// The passphrase from now on. Whoever was signed in with the old one is
    /// not any more; screens stay.
    pub fn set_passphrase(&mut self, hash: Hash) {
        self.kept.passphrase = Some(hash);
        self.first_code = None;
        self.kept
            .sessions
            .close_all(|grant| grant == Grant::Teacher);
        self.unkept = true;
    }

    /// The same secret, hashed anew at today's cost. Nobody has to sign in again.
    pub fn rehash(&mut self, what: What, old: &Hash, new: Hash) {
        let kept = match what {
            What::Passphrase => &mut self.kept.passphrase,
            What::Pin => &mut self.kept.pin,
            What::FirstCode | What::PairingCode => return,
        };
        // Somebody may have set another one meanwhile.
        if kept.as_ref() == Some(old) {
            *kept = Some(new);
            self.unkept = true;
        }
    }

    /// The helpers' PIN from now on, or none. Helpers sign in again.
    pub fn set_pin(&mut self, hash: Option<Hash>) {
        self.kept.pin = hash;
        self.kept.sessions.close_all(|grant| grant == Grant::Helper);
        self.unkept = true;
    }

    /// Whether helpers can sign in.
    #[must_use]
    pub const fn has_pin(&self) -> bool {
        self.kept.pin.is_some()
    }

    /// Opens a session for somebody who is not asking now.
    pub fn open(&mut self, grant: Grant, now: CaptureUs) -> Token {
        self.open_at(grant, None, now)
    }

    /// Opens a session for the device at an address.
    pub fn open_at(&mut self, grant: Grant, device: Option<IpAddr>, now: CaptureUs) -> Token {
        self.unkept = true;
        self.kept.sessions.open(grant, device, now).1
    }

    /// Whether there is something to keep.
    #[must_use]
    pub const fn has_unkept(&self) -> bool {
        self.unkept
    }

    /// Who has this token.
    pub fn pass(&mut self, token: &Token, now: CaptureUs) -> Option<Pass> {
        let (pass, news) = self.kept.sessions.pass(token, now)?;
        self.unkept |= news;
        Some(pass)
    }

    /// What a session may still do; none when it is over.
    #[must_use]
    pub fn grant(&self, id: SessionId, now: CaptureUs) -> Option<Grant> {
        self.kept.sessions.grant(id, now)
    }

    /// Ends a session; says whether there was one.
    pub fn close(&mut self, id: SessionId) -> bool {
        self.unkept = true;
        self.kept.sessions.close(id)
    }

    /// Everybody who is let in.
    #[must_use]
    pub fn list(&self, now: CaptureUs) -> Vec<Listed> {
        self.kept.sessions.list(now)
    }

    /// A device asks to be let in.
    pub fn ask_to_pair(&mut self, device: IpAddr, now: CaptureUs) -> Result<Token, PairingError> {
        self.pairing.ask(device, now)
    }

    /// How it stands for a device that asked; when it was let in, with a session
    /// of its own. The token it waited with opens nothing.
    pub fn pairing(&mut self, token: &Token, now: CaptureUs) -> (PairingState, Option<Token>) {
        let state = self.pairing.state(token, now);
        let session = match state {
            PairingState::Approved(grant) => Some(self.open(grant, now)),
            _ => None,
        };
        (state, session)
    }

    /// The code that a waiting device shows now.
    pub fn waiting_code(&mut self, token: &Token, now: CaptureUs) -> Option<String> {
        self.pairing.code(token, now).map(ToOwned::to_owned)
    }

    /// A teacher lets in the device that shows this code; an error while
    /// guessing at codes has to wait.
    pub fn approve(
        &mut self,
        typed: &str,
        grant: Grant,
        who: Guesser,
        now: CaptureUs,
    ) -> Result<Result<(), PairingError>, Wait> {
        self.count(What::PairingCode, who, now)?;
        let approved = self.pairing.approve(typed, grant, now);
        if approved.is_ok() {
            self.kept.guesses.right(What::PairingCode, who);
        }
        Ok(approved)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: CaptureUs = CaptureUs(1_790_000_000_000_000);

    fn peer() -> Guesser {
        Guesser::of([127, 0, 0, 1].into(), None)
    }

    #[test]
    fn the_first_code_is_there_until_a_passphrase_is() {
        let mut door = Door::new(Kept::default());
        let code = door.first_code().expect("a code").to_owned();
        assert_eq!(door.is_first_code("WRONG999", peer(), NOW), Ok(false));
        assert_eq!(
            door.is_first_code(&code.to_lowercase(), peer(), NOW),
            Ok(true)
        );
        door.set_passphrase(super::super::hash("low beam, wide mat"));
        assert_eq!(door.first_code(), None);
        assert_eq!(door.is_first_code(&code, peer(), NOW), Ok(false), "used up");
        let kept = door.take_unkept().expect("something to keep");
        assert_eq!(Door::new(kept).first_code(), None, "nor after a restart");
    }

    #[test]
    fn what_is_kept_is_told_once_and_opens_nothing() {
        let mut door = Door::new(Kept::default());
        assert_eq!(door.take_unkept(), None);
        let token = door.open(Grant::Teacher, NOW);
        let kept = door.take_unkept().expect("a session");
        assert_eq!(door.take_unkept(), None);
        let text = serde_json::to_string(&kept).expect("plain data");
        assert!(!text.contains(token.expose()));
        let mut again = Door::new(serde_json::from_str(&text).expect("its own text"));
        assert_eq!(
            again.pass(&token, NOW).map(|pass| pass.grant),
            Some(Grant::Teacher)
        );
    }

    #[test]
    fn a_lock_out_survives_a_restart() {
        let mut door = Door::new(Kept::default());
        while door.guess(What::Pin, peer(), NOW).is_ok() {}
        let kept = door.take_unkept().expect("guesses");
        let mut again = Door::new(kept);
        assert!(again.guess(What::Pin, peer(), NOW).is_err());
    }

    fn at(last: u8) -> Guesser {
        Guesser::of([192, 168, 1, last].into(), None)
    }

    #[test]
    fn two_hundred_helpers_sign_in_and_no_screen_tablet_or_teacher_is_signed_out() {
        let mut door = Door::new(Kept::default());
        let station = 1_i64.try_into().expect("a good number");
        let others = [
            Grant::Teacher,
            Grant::Screen { station },
            Grant::HallBoard,
            Grant::Camera { station },
        ]
        .map(|grant| door.open(grant, NOW));
        for nth in 0..220_u8 {
            let now = NOW.offset(i64::from(nth) * 1_000_000);
            assert!(door.guess(What::Pin, at(nth), now).is_ok());
            door.sign_in(What::Pin, at(nth), now);
        }
        let now = NOW.offset(300_000_000);
        for token in others {
            assert!(door.pass(&token, now).is_some());
        }
    }

    #[test]
    fn a_guess_that_has_to_wait_leaves_nothing_to_keep() {
        let mut door = Door::new(Kept::default());
        while door.guess(What::Pin, peer(), NOW).is_ok() {}
        door.take_unkept().expect("those that counted");
        assert!(door.guess(What::Pin, peer(), NOW).is_err());
        assert_eq!(door.take_unkept(), None);
    }

    #[test]
    fn a_secret_is_hashed_anew_only_while_it_is_the_same() {
        use super::super::hash;
        let mut door = Door::new(Kept::default());
        let (old, new) = (hash("low beam, wide mat"), hash("low beam, wide mat"));
        door.set_passphrase(old.clone());
        let teacher = door.open(Grant::Teacher, NOW);
        door.rehash(What::Passphrase, &old, new.clone());
        let now_kept = |door: &mut Door| door.guess(What::Passphrase, peer(), NOW).unwrap();
        assert_eq!(now_kept(&mut door), Some(new.clone()));
        assert!(door.pass(&teacher, NOW).is_some(), "nobody is sent away");
        door.rehash(What::Passphrase, &old, hash("another four words"));
        assert_eq!(now_kept(&mut door), Some(new));
    }

    #[test]
    fn a_new_passphrase_ends_what_the_old_one_opened_and_leaves_the_screens() {
        let mut door = Door::new(Kept::default());
        let station = 1_i64.try_into().expect("a good number");
        let (teacher, screen) = (
            door.open(Grant::Teacher, NOW),
            door.open(Grant::Screen { station }, NOW),
        );
        door.set_passphrase(super::super::hash("another four words"));
        assert!(door.pass(&teacher, NOW).is_none());
        assert!(door.pass(&screen, NOW).is_some());
    }
}
