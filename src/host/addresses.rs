//! The addresses other devices may reach this machine by.
//!
//! Not here: which of them may stand in a certificate.

use std::{io, net::IpAddr};

/// Those of all interfaces that are up, the machine's own loopback included.
pub fn all() -> io::Result<Vec<IpAddr>> {
    let interfaces = if_addrs::get_if_addrs()?;
    let up = interfaces.iter().filter(|interface| interface.is_oper_up());
    Ok(up.map(if_addrs::Interface::ip).collect())
}

/// Those of them that a listener at `bound` is reached by.
#[must_use]
pub fn reached_at(bound: IpAddr, all: &[IpAddr]) -> Vec<IpAddr> {
    if !bound.is_unspecified() {
        return vec![bound];
    }
    let reached = all.iter().copied().filter(|address| match address {
        IpAddr::V4(_) => true,
        // A link-local address is written with the name of the asking device's
        // own interface, which browsers do not take.
        IpAddr::V6(v6) => bound.is_ipv6() && !v6.is_unicast_link_local(),
    });
    reached.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_listener_is_reached_by_what_it_is_bound_to() {
        let all = ["127.0.0.1", "192.168.4.1", "::1", "fd12::7", "fe80::1"];
        let all: Vec<IpAddr> = all.iter().map(|a| a.parse().unwrap()).collect();
        let at = |bound: &str| {
            let reached = reached_at(bound.parse().unwrap(), &all);
            let reached: Vec<String> = reached.iter().map(IpAddr::to_string).collect();
            reached.join(" ")
        };
        assert_eq!(at("0.0.0.0"), "127.0.0.1 192.168.4.1");
        assert_eq!(at("::"), "127.0.0.1 192.168.4.1 ::1 fd12::7");
        assert_eq!(at("192.168.4.1"), "192.168.4.1");
    }

    #[test]
    fn this_machine_has_at_least_itself() {
        assert!(all().unwrap().iter().any(IpAddr::is_loopback));
    }
}
