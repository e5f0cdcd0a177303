//! Certificates: the box's own authority, which a technician lets each device
//! trust once, the leaf it issues for the box's name and addresses, when a new
//! leaf is due, and certificates that a school brings itself.
//!
//! An authority on a school's devices is a lot of trust, so ours is fenced in:
//! critical name constraints keep it to one `.local` name and to private
//! addresses, it may not make further authorities, and it vouches for servers
//! only, not for mail or programs.
//!
//! Not here: files ([`crate::store`]), the present (it is an argument), the TLS
//! handshake ([`crate::http`]).

mod authority;
mod decide;
mod facts;
mod own;
mod ranges;

use std::{collections::BTreeSet, fmt, net::IpAddr};

use rustls::pki_types::{CertificateDer, PrivateKeyDer};

pub use authority::{Authority, AuthorityError, Issued, PublicAuthority, Standing};
pub use decide::{Date, Verdict, Why, verdict};
pub use facts::Facts;
pub use own::{Own, OwnFile, OwnTrouble, read as read_own};
pub use ranges::{RANGES, is_permitted};

/// Seconds since the start of 1970, UTC.
pub type UnixSeconds = i64;

const DAY_S: UnixSeconds = 86_400;
/// Devices whose clock is behind the box's still take what it has just made.
const BACKDATED_S: UnixSeconds = DAY_S;

/// No clock of a running box is right before this: 1 November 2026, when this
/// was written. A machine without a clock battery may start in 1970, and what
/// it signed would have ended before the first device saw it.
pub const LEAST_NOW_S: UnixSeconds = 1_793_491_200;

/// The present as certificates take it: never before this program was written.
#[must_use]
pub fn plausible(now_s: UnixSeconds) -> UnixSeconds {
    now_s.max(LEAST_NOW_S)
}

/// What a certificate is for: the box's name and its addresses.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Names {
    /// `afterturn.local`, lower case.
    pub name: String,
    /// Those of its addresses that the authority may vouch for.
    pub addresses: BTreeSet<IpAddr>,
}

impl Names {
    /// A name with those of the addresses that the authority may vouch for:
    /// with one that it may not, no device would take the certificate at all.
    #[must_use]
    pub fn new(name: &str, addresses: impl IntoIterator<Item = IpAddr>) -> Self {
        Self {
            name: name.to_ascii_lowercase(),
            addresses: addresses
                .into_iter()
                .map(|address| address.to_canonical())
                .filter(|address| is_permitted(*address))
                .collect(),
        }
    }
}

/// A chain, the server's own first, and its private key.
pub struct Credential {
    /// The certificates, as they are sent.
    pub chain: Vec<CertificateDer<'static>>,
    /// The key of the first.
    pub key: PrivateKeyDer<'static>,
}

impl Clone for Credential {
    fn clone(&self) -> Self {
        Self {
            chain: self.chain.clone(),
            key: self.key.clone_key(),
        }
    }
}

impl fmt::Debug for Credential {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Credential({} certificates)", self.chain.len())
    }
}

#[cfg(test)]
mod tests;
