//! Ids of what is kept: random, never used twice, and telling nothing. They
//! stand in addresses and logs where a name must not.
//!
//! Not here: making one (that takes random numbers).

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(i64);

        impl $name {
            /// An id from random bits. The sign bit is left out, so that it is
            /// a whole number everywhere; none is nothing.
            #[must_use]
            pub const fn from_random(bits: u64) -> Self {
                let number = (bits >> 1) as i64;
                Self(if number == 0 { 1 } else { number })
            }

            /// From its number, where it was kept.
            #[must_use]
            pub const fn from_kept(number: i64) -> Self {
                Self(number)
            }

            /// Its number, to be kept.
            #[must_use]
            pub const fn get(self) -> i64 {
                self.0
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                write!(f, "{:016x}", self.0)
            }
        }

        impl std::str::FromStr for $name {
            type Err = IdError;

            fn from_str(text: &str) -> Result<Self, IdError> {
                let hex = text.len() == 16 && text.bytes().all(|b| b.is_ascii_hexdigit());
                let number = i64::from_str_radix(text, 16).ok().filter(|_| hex);
                number.map(Self).ok_or(IdError)
            }
        }
    };
}

/// Not an id.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this is no id")]
pub struct IdError;

id!(
    /// A child.
    ChildId
);
id!(
    /// A class of children.
    ClassId
);
id!(
    /// One answer of a family, as it was recorded.
    RecordId
);
id!(
    /// Something kept of a child: a still, a clip, a note.
    ItemId
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_comes_back_from_its_text() {
        for bits in [0, 1, u64::MAX, 0x8000_0000_0000_0000] {
            let id = ChildId::from_random(bits);
            assert!(id.get() > 0);
            assert_eq!(id.to_string().parse(), Ok(id));
        }
        for wrong in [
            "",
            "1",
            "000000000000000g",
            "-000000000000001",
            "ffffffffffffffff",
        ] {
            assert_eq!(wrong.parse::<ChildId>(), Err(IdError), "{wrong}");
        }
    }
}
