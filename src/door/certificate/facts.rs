//! What a certificate says, as far as we ask: names, addresses, dates.
//!
//! Not here: judging by it.

use std::{collections::BTreeSet, net::IpAddr};

use time::OffsetDateTime;
use x509_parser::{certificate::X509Certificate, extensions::GeneralName, parse_x509_certificate};

use super::{BACKDATED_S, UnixSeconds};

/// The facts of one certificate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Facts {
    /// Names of hosts, lower case, as they stand (`*.` included).
    pub names: BTreeSet<String>,
    /// Addresses.
    pub addresses: BTreeSet<IpAddr>,
    /// Good from here on.
    pub not_before_s: UnixSeconds,
    /// Good up to here.
    pub not_after_s: UnixSeconds,
    /// It may sign others.
    pub is_authority: bool,
    /// Servers may use it: it says so, or says nothing about use.
    pub for_servers: bool,
}

impl Facts {
    /// Reads them; `None` where it is no certificate.
    #[must_use]
    pub fn read(der: &[u8]) -> Option<Self> {
        let (rest, certificate) = parse_x509_certificate(der).ok()?;
        rest.is_empty().then(|| Self::of(&certificate))
    }

    pub(super) fn of(certificate: &X509Certificate<'_>) -> Self {
        let mut names = BTreeSet::new();
        let mut addresses = BTreeSet::new();
        let alternatives = certificate.subject_alternative_name().ok().flatten();
        for name in alternatives.iter().flat_map(|all| &all.value.general_names) {
            match name {
                GeneralName::DNSName(name) => {
                    names.insert(name.to_ascii_lowercase());
                }
                GeneralName::IPAddress(bytes) => addresses.extend(address(bytes)),
                _ => {}
            }
        }
        let usage = certificate.extended_key_usage().ok().flatten();
        Self {
            names,
            addresses,
            not_before_s: certificate.validity().not_before.timestamp(),
            not_after_s: certificate.validity().not_after.timestamp(),
            is_authority: certificate.is_ca(),
            for_servers: usage.is_none_or(|usage| usage.value.server_auth || usage.value.any),
        }
    }

    /// When a leaf of ours was signed, by the box's date of then.
    #[must_use]
    pub const fn signed_s(&self) -> UnixSeconds {
        self.not_before_s.saturating_add(BACKDATED_S)
    }

    /// Its last day: `2036-11-22`.
    #[must_use]
    pub fn last_day(&self) -> String {
        OffsetDateTime::from_unix_timestamp(self.not_after_s)
            .map_or_else(|_| String::new(), |at| at.date().to_string())
    }

    /// Whether one of its names is this host's (RFC 6125 §6.4.3: a star stands
    /// for exactly one label, the first).
    #[must_use]
    pub fn covers(&self, host: &str) -> bool {
        let host = host.to_ascii_lowercase();
        let above = host.split_once('.').map(|(_, above)| above);
        self.names.iter().any(|name| {
            *name == host
                || name
                    .strip_prefix("*.")
                    .is_some_and(|rest| above == Some(rest))
        })
    }
}

fn address(bytes: &[u8]) -> Option<IpAddr> {
    let four = <[u8; 4]>::try_from(bytes).map(IpAddr::from);
    let sixteen = <[u8; 16]>::try_from(bytes).map(IpAddr::from);
    four.or(sixteen).ok()
}
