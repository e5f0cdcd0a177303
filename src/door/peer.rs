//! Where something comes from, and who of many has taken the most.
//!
//! Not here: what anybody may take.

use std::{cmp::Reverse, collections::HashMap, hash::Hash, net::IpAddr};

use serde::{Deserialize, Serialize};

/// Where a guess comes from: an address, or the network of one where a device
/// has many (IPv6 gives each at least a /64, RFC 6177).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Peer(IpAddr);

impl Peer {
    /// The peer behind an address.
    #[must_use]
    pub fn of(address: IpAddr) -> Self {
        match address.to_canonical() {
            IpAddr::V6(six) => {
                let network = u128::from(six) >> 64 << 64;
                Self(IpAddr::V6(network.into()))
            }
            four @ IpAddr::V4(_) => Self(four),
        }
    }
}

/// Which one goes: the one least recently looked at of the device that has the
/// most, of the network that has the most. So whoever has little keeps it,
/// however much another asks for, and many addresses of one network are no way
/// around that.
pub(super) fn greediest<'a, T, S: Ord>(
    all: impl Iterator<Item = &'a T> + Clone,
    device: impl Fn(&T) -> Option<IpAddr>,
    looked_at: impl Fn(&T) -> S,
) -> Option<&'a T> {
    let by_network = counted(all.clone().map(|one| device(one).map(Peer::of)));
    let by_device = counted(all.clone().map(&device));
    all.min_by_key(|one| {
        let device = device(one);
        let network = device.map(Peer::of);
        (
            Reverse(by_network[&network]),
            Reverse(by_device[&device]),
            looked_at(one),
        )
    })
}

fn counted<K: Eq + Hash>(all: impl Iterator<Item = K>) -> HashMap<K, usize> {
    let mut counts = HashMap::new();
    for key in all {
        *counts.entry(key).or_default() += 1;
    }
    counts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_device_cannot_hide_among_its_own_addresses() {
        let of = |text: &str| Peer::of(text.parse().expect("an address"));
        assert_eq!(of("fd00::1:2:3:4"), of("fd00::9"));
        assert_ne!(of("fd00::1"), of("fd00:0:0:1::1"));
        assert_eq!(of("::ffff:192.168.1.7"), of("192.168.1.7"));
    }

    #[test]
    fn the_stalest_of_the_greediest_device_of_the_greediest_network_goes() {
        let all = [
            ("10.0.0.1", 0),
            ("10.0.0.2", 1),
            ("10.0.0.2", 2),
            ("fd00::1", 3),
            ("fd00::2", 6),
            ("fd00::2", 5),
        ];
        let device = |one: &(&str, i32)| Some(one.0.parse().expect("an address"));
        let gone = greediest(all.iter(), device, |one| one.1);
        assert_eq!(gone, Some(&("fd00::2", 5)));
        assert_eq!(greediest([].iter(), device, |one| one.1), None);
    }
}
