//! Keys, and what they seal: XChaCha20-Poly1305 with a random nonce for each
//! value, bound to the place it stands in, so that a value moved to another row
//! does not open.
//!
//! One random master key seals everything. It is kept only in wrappings, each
//! opened by one secret by way of Argon2id: the teacher's passphrase, or the
//! code of the recovery sheet.
//!
//! Not here: where sealed values are kept. Deriving a key from a secret takes
//! a fraction of a second and 64 MiB on purpose; whoever calls does so aside.

use afterturn_core::kernel::{HASH_MEMORY_KIB, HASH_PASSES};
use argon2::{Algorithm, Argon2, Params, Version};
use chacha20poly1305::{
    XChaCha20Poly1305, XNonce,
    aead::{Aead as _, KeyInit as _, Payload},
};
use zeroize::Zeroizing;

use crate::store::vault::{SlotKind, SlotRow};

const KEY_BYTES: usize = 32;
const NONCE_BYTES: usize = 24;
const SALT_BYTES: usize = 16;

/// Lengths of names would tell something: values are filled up to whole blocks.
const BLOCK_BYTES: usize = 64;

/// A key. It does not print, and is overwritten when it goes.
pub struct Key(Zeroizing<[u8; KEY_BYTES]>);

/// A sealed value does not open: another key, another place, or damage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a sealed value does not open")]
pub struct DoesNotOpen;

/// What deriving a key from a secret costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cost {
    /// Memory it fills.
    pub memory_kib: u32,
    /// How often it passes over that.
    pub passes: u32,
}

impl Cost {
    /// The door's own.
    pub const USUAL: Self = Self {
        memory_kib: HASH_MEMORY_KIB,
        passes: HASH_PASSES,
    };

    /// For tests: it protects nothing.
    pub const LEAST: Self = Self {
        memory_kib: 8,
        passes: 1,
    };

    /// A damaged row must not take all memory there is.
    const fn is_bearable(self) -> bool {
        self.memory_kib <= 256 * 1024 && self.passes <= 10 && self.passes > 0
    }
}

/// Random bytes.
///
/// # Panics
/// If the system has none: then nothing here would be safe.
#[must_use]
pub(super) fn random<const N: usize>() -> [u8; N] {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).expect("the system gives random numbers");
    bytes
}

/// A random number, for an id.
#[must_use]
pub fn random_number() -> u64 {
    u64::from_be_bytes(random())
}

impl Key {
    /// A new one.
    #[must_use]
    pub fn random() -> Self {
        Self(Zeroizing::new(random()))
    }

    pub(super) fn cipher(&self) -> XChaCha20Poly1305 {
        XChaCha20Poly1305::new_from_slice(&self.0[..]).expect("a key is as long as it is")
    }

    /// Seals bytes for a place.
    ///
    /// # Panics
    /// Never: values here are short.
    #[must_use]
    pub fn seal(&self, place: &[u8], plain: &[u8]) -> Vec<u8> {
        let mut filled = Zeroizing::new((plain.len() as u32).to_le_bytes().to_vec());
        filled.extend_from_slice(plain);
        let blocks = filled.len().div_ceil(BLOCK_BYTES);
        filled.resize(blocks * BLOCK_BYTES, 0);
        let nonce = random::<NONCE_BYTES>();
        let payload = Payload {
            msg: &filled,
            aad: place,
        };
        let sealed = self.cipher().encrypt(&XNonce::from(nonce), payload);
        let mut out = nonce.to_vec();
        out.extend(sealed.expect("the value is shorter than the cipher's limit"));
        out
    }

    /// Opens what was sealed for a place.
    pub fn open(&self, place: &[u8], sealed: &[u8]) -> Result<Zeroizing<Vec<u8>>, DoesNotOpen> {
        let (nonce, sealed) = sealed
            .split_first_chunk::<NONCE_BYTES>()
            .ok_or(DoesNotOpen)?;
        let payload = Payload {
            msg: sealed,
            aad: place,
        };
        let filled = self.cipher().decrypt(&XNonce::from(*nonce), payload);
        let filled = Zeroizing::new(filled.map_err(|_| DoesNotOpen)?);
        let (length, rest) = filled.split_first_chunk::<4>().ok_or(DoesNotOpen)?;
        let plain = rest.get(..u32::from_le_bytes(*length) as usize);
        plain.map(|p| Zeroizing::new(p.to_vec())).ok_or(DoesNotOpen)
    }

    /// Wraps this key for a secret. Slow on purpose.
    #[must_use]
    pub fn wrap(&self, kind: SlotKind, secret: &str, cost: Cost) -> SlotRow {
        let salt = random::<SALT_BYTES>();
        let place = slot_place(kind, cost, &salt);
        SlotRow {
            kind,
            memory_kib: cost.memory_kib,
            passes: cost.passes,
            sealed: derive(secret, cost, &salt).seal(&place, &self.0[..]),
            salt: salt.to_vec(),
        }
    }

    /// The key in a wrapping, if this is its secret. Slow on purpose.
    pub fn unwrap(slot: &SlotRow, secret: &str) -> Result<Self, DoesNotOpen> {
        let cost = Cost {
            memory_kib: slot.memory_kib,
            passes: slot.passes,
        };
        if !cost.is_bearable() || slot.salt.len() != SALT_BYTES {
            return Err(DoesNotOpen);
        }
        let place = slot_place(slot.kind, cost, &slot.salt);
        let key = derive(secret, cost, &slot.salt).open(&place, &slot.sealed)?;
        let key: [u8; KEY_BYTES] = key[..].try_into().map_err(|_| DoesNotOpen)?;
        Ok(Self(Zeroizing::new(key)))
    }

    /// From its bytes, where they were sealed.
    pub(super) fn of(bytes: &[u8; KEY_BYTES]) -> Self {
        Self(Zeroizing::new(*bytes))
    }

    /// Its bytes, to be sealed by another and for nothing else.
    pub(super) fn bytes(&self) -> &[u8; KEY_BYTES] {
        &self.0
    }

    /// Another copy, for work that is done aside.
    pub(super) fn copied(&self) -> Self {
        Self(self.0.clone())
    }

    /// Whether two are the same, in a time that does not tell where they differ.
    #[must_use]
    pub fn is(&self, other: &Self) -> bool {
        let apart = self.0.iter().zip(other.0.iter());
        apart.fold(0, |apart, (a, b)| apart | (a ^ b)) == 0
    }
}

fn derive(secret: &str, cost: Cost, salt: &[u8]) -> Key {
    let params = Params::new(cost.memory_kib, cost.passes, 1, Some(KEY_BYTES));
    let params = params.expect("a bearable cost");
    let argon2 = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
    let mut key = Zeroizing::new([0; KEY_BYTES]);
    argon2
        .hash_password_into(secret.as_bytes(), salt, &mut key[..])
        .expect("the salt is long enough and the secret short enough");
    Key(key)
}

fn slot_place(kind: SlotKind, cost: Cost, salt: &[u8]) -> Vec<u8> {
    place(
        "key",
        &[
            kind.word().as_bytes(),
            &cost.memory_kib.to_be_bytes(),
            &cost.passes.to_be_bytes(),
            salt,
        ],
    )
}

/// Names a place by its parts, each with its length, so that no two places
/// have one name.
#[must_use]
pub(super) fn place(table: &str, parts: &[&[u8]]) -> Vec<u8> {
    let mut named = table.as_bytes().to_vec();
    for part in parts {
        named.extend((part.len() as u32).to_be_bytes());
        named.extend_from_slice(part);
    }
    named
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_opens_with_its_key_at_its_place_and_whole() {
        let key = Key::random();
        let here = place("child", &[b"1"]);
        let sealed = key.seal(&here, b"Nora");
        assert_eq!(&key.open(&here, &sealed).unwrap()[..], b"Nora");
        assert!(Key::random().open(&here, &sealed).is_err());
        assert!(key.open(&place("child", &[b"2"]), &sealed).is_err());
        assert_ne!(sealed, key.seal(&here, b"Nora"), "each has its own nonce");
        assert_eq!(sealed.len(), key.seal(&here, b"A longer name").len());
        for at in 0..sealed.len() {
            let mut flipped = sealed.clone();
            flipped[at] ^= 1;
            assert!(key.open(&here, &flipped).is_err(), "byte {at}");
            assert!(key.open(&here, &sealed[..at]).is_err(), "cut at {at}");
        }
    }

    #[test]
    fn a_wrong_secret_opens_nothing() {
        let key = Key::random();
        let slot = key.wrap(SlotKind::Passphrase, "wide mat, low beam", Cost::LEAST);
        assert!(Key::unwrap(&slot, "wide mat, low beam").unwrap().is(&key));
        for wrong in ["", "wide mat, low beam ", "Wide mat, low beam"] {
            assert!(Key::unwrap(&slot, wrong).is_err());
        }
        let moved = SlotRow {
            kind: SlotKind::Recovery,
            ..slot.clone()
        };
        assert!(Key::unwrap(&moved, "wide mat, low beam").is_err());
        let greedy = SlotRow {
            memory_kib: u32::MAX,
            ..slot
        };
        assert!(Key::unwrap(&greedy, "wide mat, low beam").is_err());
    }

    #[test]
    fn the_cipher_is_the_published_one() {
        // draft-irtf-cfrg-xchacha-03 §A.3.1, first block of the ciphertext.
        let key: Vec<u8> = (0x80..=0x9f).collect();
        let nonce: Vec<u8> = (0x40..=0x57).collect();
        let aad = [
            0x50, 0x51, 0x52, 0x53, 0xc0, 0xc1, 0xc2, 0xc3, 0xc4, 0xc5, 0xc6, 0xc7,
        ];
        let text = b"Ladies and Gentlemen of the class of '99: If I could offer you \
            only one tip for the future, sunscreen would be it.";
        let cipher = XChaCha20Poly1305::new_from_slice(&key).unwrap();
        let nonce: [u8; NONCE_BYTES] = nonce.try_into().unwrap();
        let payload = Payload {
            msg: text,
            aad: &aad,
        };
        let sealed = cipher.encrypt(&XNonce::from(nonce), payload).unwrap();
        let first = [0xbd, 0x6d, 0x17, 0x9d, 0x3e, 0x83, 0xd4, 0x3b];
        let tag = [0xc0, 0x87, 0x59, 0x24, 0xc1, 0xc7, 0x98, 0x79];
        assert_eq!(sealed[..8], first);
        assert_eq!(sealed[sealed.len() - 16..][..8], tag);
    }
}
