//! A child's name, which cannot get anywhere by accident: no `Display`, no
//! `Debug`, no `Serialize`. A page shows it by [`Name::for_page`], the vault
//! seals it by [`Name::for_seal`]; the house rules hold both to their rooms.
//!
//! Not here: whose name it is.

use std::cmp::Ordering;

use unicode_normalization::UnicodeNormalization as _;
use zeroize::Zeroize;

/// A given name, a family name, or whatever else would tell a child: the
/// number a school knows it by, the title of its class, a note.
///
/// ```
/// let name = afterturn_core::kernel::Name::new("Nora").unwrap();
/// println!("{}", name.for_page());
/// ```
/// ```compile_fail
/// let name = afterturn_core::kernel::Name::new("Nora").unwrap();
/// println!("{name}");
/// ```
/// ```compile_fail
/// let name = afterturn_core::kernel::Name::new("Nora").unwrap();
/// println!("{name:?}");
/// ```
/// ```compile_fail
/// fn sent(_: impl serde::Serialize) {}
/// sent(afterturn_core::kernel::Name::new("Nora").unwrap());
/// ```
#[derive(Clone, PartialEq, Eq)]
pub struct Name(String);

/// Why a text is no name. Never quotes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NameError {
    /// Nothing but space.
    #[error("this is empty")]
    Empty,
    /// Longer than any name.
    #[error("this is longer than {} characters", Name::MOST_CHARACTERS)]
    Long,
    /// Control characters, or the sign of a wrong encoding.
    #[error("this has a sign in it that cannot be shown; is the file's encoding right?")]
    Sign,
}

impl Name {
    /// The longest taken: a few words.
    pub const MOST_CHARACTERS: usize = 120;

    /// Reads a name: outer space goes, inner space becomes one blank, and an
    /// accent becomes one with its letter (UAX #15, form C), since systems write
    /// either way and mean the same child.
    pub fn new(text: &str) -> Result<Self, NameError> {
        let words: Vec<&str> = text.split_whitespace().collect();
        let name: String = words.join(" ").nfc().collect();
        let odd = |c: char| c.is_control() || c == '\u{fffd}';
        match name.chars().count() {
            0 => Err(NameError::Empty),
            n if n > Self::MOST_CHARACTERS => Err(NameError::Long),
            _ if name.chars().any(odd) => Err(NameError::Sign),
            _ => Ok(Self(name)),
        }
    }

    /// The one way to show it: on a page, to somebody who may read it.
    #[must_use]
    pub fn for_page(&self) -> &str {
        &self.0
    }

    /// Its bytes, for the seal and for nothing else.
    #[must_use]
    pub fn for_seal(&self) -> &[u8] {
        self.0.as_bytes()
    }

    /// The same name whatever its capitals: what two lists agree by.
    #[must_use]
    pub fn folded(&self) -> Self {
        Self(self.0.to_lowercase())
    }
}

impl Ord for Name {
    /// As in a class list: capitals do not matter.
    fn cmp(&self, other: &Self) -> Ordering {
        let folded = self.0.to_lowercase().cmp(&other.0.to_lowercase());
        folded.then_with(|| self.0.cmp(&other.0))
    }
}

impl PartialOrd for Name {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Drop for Name {
    fn drop(&mut self) {
        self.0.zeroize();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str) -> Result<String, NameError> {
        Name::new(text).map(|name| name.for_page().to_owned())
    }

    #[test]
    fn a_name_is_tidied_and_kept_as_it_is_written() {
        assert_eq!(shown("  Zoë   Ann "), Ok("Zoë Ann".to_owned()));
        assert_eq!(shown("O’Hara-Ñandú"), Ok("O’Hara-Ñandú".to_owned()));
        assert_eq!(shown("Nun\u{303}ez"), Ok("Nu\u{f1}ez".to_owned()));
        assert_eq!(shown(" \t"), Err(NameError::Empty));
        assert_eq!(shown(&"a".repeat(121)), Err(NameError::Long));
        assert_eq!(shown("No\u{7}ra"), Err(NameError::Sign));
        assert_eq!(shown("No\u{fffd}ra"), Err(NameError::Sign));
    }

    #[test]
    fn two_lists_agree_whatever_the_capitals() {
        let name = |text| Name::new(text).expect("a name");
        assert!(name("NORA ÖZ").folded() == name("Nora öz").folded());
        assert!(name("ada") < name("Bela") && name("Bela") < name("cara"));
    }
}
