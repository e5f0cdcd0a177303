//! By which way a request came in, and what that way is for.
//!
//! Not here: opening any of them.

use std::{
    net::{IpAddr, SocketAddr},
    sync::Arc,
};

use super::Role;

/// What the program listens on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Listener {
    /// Browsers on the box itself, without encryption.
    Here,
    /// Everybody on the network, by HTTPS.
    Secure,
    /// Screens on the network, without encryption, where the config file says
    /// so: for TVs that take no certificate. Whoever listens in sees the
    /// pictures, so nothing but a screen's page goes this way.
    PlainScreens,
}

impl Listener {
    /// The scheme of its addresses.
    #[must_use]
    pub const fn scheme(self) -> &'static str {
        match self {
            Self::Secure => "https",
            Self::Here | Self::PlainScreens => "http",
        }
    }

    /// The port that its addresses need not say.
    #[must_use]
    pub const fn usual_port(self) -> u16 {
        match self {
            Self::Secure => 443,
            Self::Here | Self::PlainScreens => 80,
        }
    }

    /// Whether somebody with this role is let in this way.
    #[must_use]
    pub const fn lets_in(self, role: Role) -> bool {
        match self {
            Self::Here | Self::Secure => true,
            Self::PlainScreens => matches!(role, Role::Screen | Role::HallBoard),
        }
    }

    /// Whether a passphrase or PIN may be typed on this way.
    #[must_use]
    pub const fn takes_secrets(self) -> bool {
        !matches!(self, Self::PlainScreens)
    }
}

/// How one request arrived.
#[derive(Clone, Debug)]
pub struct Arrival {
    /// By which way.
    pub listener: Listener,
    /// From where.
    pub peer: IpAddr,
    /// At which of the box's own addresses.
    pub reached: SocketAddr,
    /// The box's name on the network, if it has one.
    pub name: Option<Arc<str>>,
}

impl Arrival {
    /// Whether this is what the box is called by this way: its name, or the
    /// very address that was reached; on the box itself any loopback address.
    #[must_use]
    pub(super) fn is_called(&self, host: &str) -> bool {
        let (name, port) = match host.rsplit_once(':') {
            Some((name, port)) if !port.ends_with(']') => (name, port.parse().ok()),
            _ => (host, Some(self.listener.usual_port())),
        };
        if port != Some(self.reached.port()) {
            return false;
        }
        let bare = name.strip_prefix('[').and_then(|n| n.strip_suffix(']'));
        let address = bare.unwrap_or(name).parse::<IpAddr>().ok();
        match (self.listener, address) {
            (Listener::Here, Some(address)) => address.is_loopback(),
            (Listener::Here, None) => name == "localhost",
            (_, Some(address)) => address == self.reached.ip().to_canonical(),
            (_, None) => self.name.as_deref() == Some(name),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn screens_alone_come_in_without_encryption() {
        for role in Role::ALL {
            assert!(Listener::Here.lets_in(role) && Listener::Secure.lets_in(role));
            let screen = matches!(role, Role::Screen | Role::HallBoard);
            assert_eq!(Listener::PlainScreens.lets_in(role), screen);
        }
        assert!(!Listener::PlainScreens.takes_secrets());
    }
}
