//! The addresses our authority may vouch for: those that only exist inside a
//! building.
//!
//! Not here: which of them the box has.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};

/// First address and prefix length. RFC 1918 (private), RFC 3927 (link-local),
/// RFC 1122 §3.2.1.3 (loopback); RFC 4193 (unique local), RFC 4291 §2.5.6 and
/// §2.5.3 (link-local, loopback).
pub const RANGES: [(IpAddr, u8); 8] = [
    (IpAddr::V4(Ipv4Addr::new(10, 0, 0, 0)), 8),
    (IpAddr::V4(Ipv4Addr::new(172, 16, 0, 0)), 12),
    (IpAddr::V4(Ipv4Addr::new(192, 168, 0, 0)), 16),
    (IpAddr::V4(Ipv4Addr::new(169, 254, 0, 0)), 16),
    (IpAddr::V4(Ipv4Addr::new(127, 0, 0, 0)), 8),
    (IpAddr::V6(Ipv6Addr::new(0xfc00, 0, 0, 0, 0, 0, 0, 0)), 7),
    (IpAddr::V6(Ipv6Addr::new(0xfe80, 0, 0, 0, 0, 0, 0, 0)), 10),
    (IpAddr::V6(Ipv6Addr::LOCALHOST), 128),
];

/// Whether an address lies in one of [`RANGES`].
#[must_use]
pub fn is_permitted(address: IpAddr) -> bool {
    RANGES.iter().any(|(first, prefix)| match (address, first) {
        (IpAddr::V4(address), IpAddr::V4(first)) => {
            let apart = address.to_bits() ^ first.to_bits();
            apart.leading_zeros() >= u32::from(*prefix)
        }
        (IpAddr::V6(address), IpAddr::V6(first)) => {
            let apart = address.to_bits() ^ first.to_bits();
            apart.leading_zeros() >= u32::from(*prefix)
        }
        _ => false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inside_the_building_is_permitted_and_nothing_else() {
        for inside in [
            "10.0.0.0",
            "10.255.255.255",
            "172.16.0.1",
            "172.31.255.255",
            "192.168.4.1",
            "169.254.7.7",
            "127.0.0.1",
            "fd12:3456::1",
            "fc00::",
            "fe80::1",
            "febf::1",
            "::1",
        ] {
            assert!(is_permitted(inside.parse().unwrap()), "{inside}");
        }
        for outside in [
            "9.255.255.255",
            "11.0.0.0",
            "172.15.255.255",
            "172.32.0.0",
            "192.167.255.255",
            "192.169.0.0",
            "169.253.0.1",
            "126.0.0.1",
            "128.0.0.1",
            "203.0.113.5",
            "0.0.0.0",
            "255.255.255.255",
            "::",
            "::2",
            "fec0::1",
            "fbff::1",
            "fe00::1",
            "2001:db8::1",
            "ff02::fb",
        ] {
            assert!(!is_permitted(outside.parse().unwrap()), "{outside}");
        }
    }
}
