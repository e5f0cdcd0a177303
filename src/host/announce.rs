//! The box's name, called out on the network by multicast DNS (RFC 6762), so
//! that `afterturn.local` is found without anybody's name server.
//!
//! Only that name: the machine's own host name is its system's to announce, and
//! two that announce one name get in each other's way.
//!
//! Not here: which addresses. A network that lets no multicast through is none
//! of our business either: there the box is opened by number.

use std::{net::IpAddr, time::Duration};

use mdns_sd::{DaemonEvent, IfKind, Receiver, ServiceDaemon, ServiceInfo};

pub use mdns_sd::Error as AnnounceError;
use tokio::time::timeout;

/// What is announced beside the name (RFC 6763; IANA's registry of service
/// names has `https`).
const SERVICE: &str = "_https._tcp.local.";
const INSTANCE: &str = "Afterturn";
/// A farewell is one packet on each interface.
const FAREWELL_WITHIN: Duration = Duration::from_secs(1);

/// Announces one name at some addresses until it is told to stop. When they
/// change, a new one is started: what one has learnt of an interface does not
/// hold for its next address.
pub struct Announcer {
    daemon: ServiceDaemon,
    events: Receiver<DaemonEvent>,
    host: String,
    full_name: Option<String>,
}

impl Announcer {
    /// Announces `name`, which ends with `.local`.
    pub fn start(name: &str, port: u16, addresses: &[IpAddr]) -> Result<Self, AnnounceError> {
        let daemon = ServiceDaemon::new()?;
        let events = daemon.monitor()?;
        let host = format!("{name}.");
        let interfaces =
            || -> Vec<IfKind> { addresses.iter().copied().map(IfKind::Addr).collect() };
        // Only where the box is reached: not on a network it is not served to.
        daemon.disable_interface(IfKind::All)?;
        let mut full_name = None;
        if !addresses.is_empty() {
            daemon.enable_interface(interfaces())?;
            let more = &[("path", "/")][..];
            let mut service = ServiceInfo::new(SERVICE, INSTANCE, &host, addresses, port, more)?;
            service.set_interfaces(interfaces());
            full_name = Some(service.get_fullname().to_owned());
            daemon.register(service)?;
        }
        Ok(Self {
            daemon,
            events,
            host,
            full_name,
        })
    }

    /// Waits until another device turns out to have the name already. The
    /// certificate is for this name and no other, so there is no other to take.
    pub async fn taken(&self) {
        while let Ok(event) = self.events.recv_async().await {
            match event {
                DaemonEvent::NameChange(change) if change.original == self.host => return,
                DaemonEvent::Error(error) => tracing::debug!(%error, "multicast DNS"),
                _ => {}
            }
        }
        std::future::pending::<()>().await;
    }

    /// Takes the name back, so that nobody looks for the box here any more.
    pub async fn stop(self) {
        let farewell = async {
            if let Some(full_name) = &self.full_name
                && let Ok(done) = self.daemon.unregister(full_name)
            {
                let _ = done.recv_async().await;
            }
            if let Ok(done) = self.daemon.shutdown() {
                let _ = done.recv_async().await;
            }
        };
        let _ = timeout(FAREWELL_WITHIN, farewell).await;
    }
}

/// Whether this is what the machine itself is called.
#[must_use]
pub fn is_machines_own(name: &str) -> bool {
    let system = rustix::system::uname();
    let own = system.nodename().to_string_lossy().to_ascii_lowercase();
    let own = own.split('.').next().unwrap_or_default();
    name.strip_suffix(".local") == Some(own)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_machines_own_name_is_told_from_others() {
        let own = std::fs::read_to_string("/proc/sys/kernel/hostname").unwrap();
        let own = own.trim().to_ascii_lowercase();
        let first = own.split('.').next().unwrap();
        assert!(is_machines_own(&format!("{first}.local")));
        assert!(!is_machines_own(&format!("{first}-not.local")));
        assert!(!is_machines_own("gym.example"));
    }
}
