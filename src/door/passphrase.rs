//! The teacher's passphrase and the helpers' PIN, as something that can be
//! checked and not read: Argon2id with a salt of its own.
//!
//! Not here: how often one may be tried. Hashing takes a fifth of a second and
//! 64 MiB on purpose; whoever calls does so off the event loop, one at a time.

use afterturn_core::kernel::{HASH_MEMORY_KIB, HASH_PASSES};
use argon2::{
    Algorithm, Argon2, Params, PasswordHasher as _, PasswordVerifier as _, Version,
    password_hash::phc::PasswordHash,
};
use serde::{Deserialize, Serialize};

/// In PHC string form. Prints as dots, though it could be shown.
#[derive(Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Hash(String);

impl std::fmt::Debug for Hash {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Hash(•••)")
    }
}

impl Hash {
    /// Whether it was made at another cost than is usual now, as the first
    /// versions did (19 MiB, two passes).
    #[must_use]
    pub fn is_outdated(&self) -> bool {
        let usual = format!("$argon2id$v=19$m={HASH_MEMORY_KIB},t={HASH_PASSES},p={LANES}$");
        !self.0.starts_with(&usual)
    }
}

/// Why a new passphrase or PIN is not taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PassphraseError {
    /// Too short to hold.
    #[error("a passphrase has at least {LEAST_CHARACTERS} characters; four words are good")]
    Short,
    /// Longer than anything typed.
    #[error("a passphrase has at most {MOST_CHARACTERS} characters")]
    Long,
    /// Everybody tries these first.
    #[error("this is one of the first that anybody tries; take another")]
    Common,
    /// Not a PIN.
    #[error("a PIN has six digits")]
    NotAPin,
    /// 111111, 123456 and their like.
    #[error("these digits are easily guessed; take others")]
    PlainPin,
}

/// OWASP ASVS 4.0.3 V2.1.1 and V2.1.2: at least 12, and at least 64 allowed.
const LEAST_CHARACTERS: usize = 12;
const MOST_CHARACTERS: usize = 128;
const PIN_DIGITS: usize = 6;

/// Long enough and in every list of stolen passwords, or said of this very
/// program. ASVS V2.1.7 asks for the most common ones to be refused; of those
/// with twelve characters there are few.
const COMMON: &[&str] = &[
    "123456789012",
    "1234567890123",
    "12345678901234",
    "123456789abc",
    "qwertyuiop12",
    "qwertyuiop[]",
    "passwordpassword",
    "password1234",
    "password12345",
    "password123456",
    "administrator",
    "letmeinletmein",
    "iloveyou1234",
    "1q2w3e4r5t6y",
    "111111111111",
    "000000000000",
    "abcdefghijkl",
    "unbelievable",
    "contraseña12",
    "contrasena12",
    "afterturnafterturn",
    "gymnastics12",
    "gymnastics123",
    "physicaleducation",
];

const LANES: u32 = 1;

fn argon2() -> Argon2<'static> {
    let params =
        Params::new(HASH_MEMORY_KIB, HASH_PASSES, LANES, None).expect("constants that fit");
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
}

/// Whether this may be the passphrase.
pub fn check_passphrase(text: &str) -> Result<(), PassphraseError> {
    let count = text.chars().count();
    if count < LEAST_CHARACTERS {
        return Err(PassphraseError::Short);
    }
    if count > MOST_CHARACTERS {
        return Err(PassphraseError::Long);
    }
    let plain = text.to_lowercase();
    let first = plain.chars().next();
    let one_letter = plain.chars().all(|c| Some(c) == first);
    if one_letter || COMMON.contains(&plain.as_str()) {
        return Err(PassphraseError::Common);
    }
    Ok(())
}

/// Whether this may be the PIN.
pub fn check_pin(text: &str) -> Result<(), PassphraseError> {
    if text.len() != PIN_DIGITS || !text.bytes().all(|b| b.is_ascii_digit()) {
        return Err(PassphraseError::NotAPin);
    }
    let steps: Vec<i16> = text
        .as_bytes()
        .windows(2)
        .map(|two| i16::from(two[1]) - i16::from(two[0]))
        .collect();
    let even = steps.iter().all(|step| *step == steps[0]);
    if even && steps[0].abs() <= 1 {
        return Err(PassphraseError::PlainPin);
    }
    Ok(())
}

/// Hashes one. Slow on purpose.
///
/// # Panics
/// If the system has no random numbers for the salt.
#[must_use]
pub fn hash(text: &str) -> Hash {
    let hash = argon2()
        .hash_password(text.as_bytes())
        .expect("a salt can be made and the text is short");
    Hash(hash.to_string())
}

/// Whether this is the one that was hashed. Slow on purpose; a hash that cannot
/// be read matches nothing.
#[must_use]
pub fn verify(text: &str, hash: &Hash) -> bool {
    // Nobody typed more, and a megabyte would only cost time.
    text.chars().count() <= MOST_CHARACTERS
        && PasswordHash::new(&hash.0)
            .is_ok_and(|hash| argon2().verify_password(text.as_bytes(), &hash).is_ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_same_words_open() {
        let kept = hash("low beam, wide mat");
        assert!(verify("low beam, wide mat", &kept));
        assert!(!verify("low beam, wide mat ", &kept));
        assert!(!verify("", &kept));
        assert!(!verify("low beam, wide mat", &Hash("rubbish".to_owned())));
        assert_ne!(kept, hash("low beam, wide mat"), "each has its own salt");
        // The PHC string says how it was made.
        assert!(
            kept.0.starts_with("$argon2id$v=19$m=65536,t=3,p=1$"),
            "{}",
            kept.0
        );
        assert!(!kept.is_outdated());
    }

    #[test]
    fn a_cheaper_hash_still_opens_and_is_known_to_be_outdated() {
        let params = Params::new(19 * 1024, 2, 1, None).unwrap();
        let cheaper = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
        let cheaper = cheaper.hash_password(b"low beam, wide mat").unwrap();
        let cheaper = Hash(cheaper.to_string());
        assert!(verify("low beam, wide mat", &cheaper));
        assert!(!verify("low beam, wide bar", &cheaper));
        assert!(cheaper.is_outdated());
    }

    #[test]
    fn short_and_well_known_ones_are_not_taken() {
        assert_eq!(check_passphrase("elevenchars"), Err(PassphraseError::Short));
        assert_eq!(check_passphrase("twelve chars"), Ok(()));
        assert_eq!(
            check_passphrase("Password1234"),
            Err(PassphraseError::Common)
        );
        assert_eq!(
            check_passphrase("zzzzzzzzzzzzzz"),
            Err(PassphraseError::Common)
        );
        assert_eq!(
            check_passphrase("ñandú y caña"),
            Ok(()),
            "characters, not bytes"
        );
        assert_eq!(check_passphrase(&"ab".repeat(64)), Ok(()));
        assert_eq!(
            check_passphrase(&"ab".repeat(65)),
            Err(PassphraseError::Long)
        );
    }

    #[test]
    fn a_pin_has_six_digits_that_are_not_a_ladder() {
        assert_eq!(check_pin("493817"), Ok(()));
        for wrong in ["", "49381", "4938170", "49381a", "４９３８１７"] {
            assert_eq!(check_pin(wrong), Err(PassphraseError::NotAPin), "{wrong}");
        }
        for plain in ["000000", "123456", "987654", "777777"] {
            assert_eq!(check_pin(plain), Err(PassphraseError::PlainPin), "{plain}");
        }
    }
}
