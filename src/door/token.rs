//! Secrets that nobody can guess, and codes that somebody can read aloud.
//!
//! Not here: how often a code may be tried (that is what keeps a short one
//! safe).

use sha2::{Digest, Sha256};

/// What a browser keeps to show who it is: 256 random bits. Prints as dots.
#[derive(Clone, PartialEq, Eq)]
pub struct Token(String);

/// What is kept of a token: whoever reads the file cannot make the token of it.
pub(super) type TokenHash = String;

const TOKEN_BYTES: usize = 32;

/// Letters and digits that are not taken for each other when read from a TV or
/// heard across a hall: no 0 and O, 1 and I and L, 2 and Z, 5 and S, 8 and B, U
/// and V. Twenty-four are left.
const SPOKEN: &[u8] = b"ACDEFGHJKMNPQRTUWXY34679";

impl Token {
    /// A new one.
    ///
    /// # Panics
    /// If the system has no random numbers: then nothing here would be safe.
    #[must_use]
    pub fn new() -> Self {
        Self(hex(&random::<TOKEN_BYTES>()))
    }

    /// One that came with a request. Never fails: a wrong one matches nothing.
    #[must_use]
    pub fn from_text(text: &str) -> Self {
        Self(text.to_owned())
    }

    /// The text for the browser to keep, and for nothing else.
    #[must_use]
    pub fn expose(&self) -> &str {
        &self.0
    }

    pub(super) fn hash(&self) -> TokenHash {
        hex(&Sha256::digest(self.0.as_bytes()))
    }
}

impl Default for Token {
    fn default() -> Self {
        Self::new()
    }
}

impl std::fmt::Debug for Token {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Token(•••)")
    }
}

/// A code of so many letters and digits, to be read and typed by a person.
#[must_use]
pub fn spoken(length: usize) -> String {
    let mut code = String::with_capacity(length);
    while code.len() < length {
        for byte in random::<16>() {
            // Bytes beyond the last whole run of letters would favour the first.
            let whole = 256 - 256 % SPOKEN.len();
            if usize::from(byte) < whole && code.len() < length {
                code.push(char::from(SPOKEN[usize::from(byte) % SPOKEN.len()]));
            }
        }
    }
    code
}

/// A typed code as it was meant: capitals, and none of the spaces and dashes
/// that people put in.
pub(super) fn as_meant(typed: &str) -> String {
    typed
        .chars()
        .filter(char::is_ascii_alphanumeric)
        .map(|c| c.to_ascii_uppercase())
        .collect()
}

/// Whether two secrets are the same, in a time that does not tell where they
/// differ.
pub(super) fn same(a: &str, b: &str) -> bool {
    // Hashes are as long as each other, and a guess does not steer its hash.
    Sha256::digest(a.as_bytes()) == Sha256::digest(b.as_bytes())
}

fn random<const N: usize>() -> [u8; N] {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).expect("the system gives random numbers");
    bytes
}

fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tokens_differ_and_do_not_print() {
        let (a, b) = (Token::new(), Token::new());
        assert_ne!(a, b);
        // 256 bits: OWASP ASVS 4.0.3 V3.2.2 asks for 64 at least.
        assert_eq!(a.expose().len(), 64);
        assert_eq!(format!("{a:?}"), "Token(•••)");
        assert_ne!(a.hash(), a.expose());
    }

    #[test]
    fn the_hash_is_sha_256() {
        // FIPS 180-4's own example: SHA-256 of "abc".
        assert_eq!(
            Token::from_text("abc").hash(),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn a_code_is_read_as_it_is_meant() {
        let code = spoken(6);
        assert_eq!(code.len(), 6);
        let typed = format!(" {}-{} ", code[..3].to_lowercase(), &code[3..]);
        assert_eq!(as_meant(&typed), code);
        for confusing in "0O1IL2Z5S8BV".chars() {
            assert!(!SPOKEN.contains(&(confusing as u8)), "{confusing}");
        }
    }
}
