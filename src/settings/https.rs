//! The rules of `[https]` and `[plain_screens]`: where the network is served,
//! under which name, with whose certificate.
//!
//! Not here: whether certificate and key are any good; their files are read by
//! the command line, which reports at the places kept here.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::ops::Range;
use std::path::{Path, PathBuf};

use super::reader::{Findings, Table};
use super::value::Entry;

/// What the box is called when nothing else is said.
pub const DEFAULT_NAME: &str = "afterturn.local";
const DEFAULT_LISTEN: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::UNSPECIFIED), 8443);
const DEFAULT_PLAIN: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::UNSPECIFIED), 8480);
/// A label of a host name (RFC 1035 §2.3.4).
const LABEL_CHARACTERS: usize = 63;
/// A whole name.
const NAME_CHARACTERS: usize = 253;

/// How the network is served.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HttpsSettings {
    /// Where.
    pub listen: SocketAddr,
    /// What the box is called.
    pub name: String,
    /// The school's own certificate; without one the box makes its own.
    pub own: Option<OwnFiles>,
}

/// The files of a certificate that the school brings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnFiles {
    /// The certificate and those that signed it, as PEM.
    pub certificate: PathBuf,
    /// Its private key, as PEM.
    pub key: PathBuf,
    /// Where the file names the certificate, for what is found out later.
    pub certificate_span: Range<usize>,
    /// Where it names the key.
    pub key_span: Range<usize>,
}

/// Reads `[https]`. `no_state` says that there is nowhere to keep a key.
pub(super) fn read(
    findings: &Findings,
    entry: &Entry<'_>,
    no_state: bool,
) -> Option<HttpsSettings> {
    let mut table = entry.table("[https]", "[https]")?;
    let listen = table.optional("listen");
    let name = table.optional("name");
    let certificate = table.optional("certificate");
    let key = table.optional("key");
    table.finish();
    let listen = match listen {
        Some(entry) => address(&entry, DEFAULT_LISTEN),
        None => Some(DEFAULT_LISTEN),
    };
    let own = own(certificate.as_ref(), key.as_ref());
    let brings = certificate.is_some() || key.is_some();
    let name = match name {
        Some(entry) => name_of(&entry, brings),
        None => Some(DEFAULT_NAME.to_owned()),
    };
    if no_state && !brings {
        findings.add(super::Diagnostic::mistake(
            entry.key_span.clone(),
            "HTTPS keeps its keys in `state_dir`, and there is none",
            "add  state_dir = \"/var/lib/afterturn\"  at the top, or `certificate` and `key` here",
        ));
        return None;
    }
    Some(HttpsSettings {
        listen: listen?,
        name: name?,
        own: own?,
    })
}

/// Reads `[plain_screens]`, and says each time what it means.
pub(super) fn read_plain(entry: &Entry<'_>) -> Option<SocketAddr> {
    let mut table: Table<'_> = entry.table("[plain_screens]", "[plain_screens]")?;
    let listen = table.optional("listen");
    table.finish();
    entry.warn(
        "pictures on their way to these screens can be watched by anybody on the same network",
        "have it only where nobody else is on the network, such as a cable to the TV; screens \
         that take a certificate need only [https]",
    );
    match listen {
        Some(entry) => address(&entry, DEFAULT_PLAIN),
        None => Some(DEFAULT_PLAIN),
    }
}

/// An address of the building.
fn address(entry: &Entry<'_>, usual: SocketAddr) -> Option<SocketAddr> {
    let example = format!("write \"{usual}\", or one of the box's own private addresses");
    let Ok(address) = entry.text()?.parse::<SocketAddr>() else {
        entry.refuse("this is not an address with a port", example);
        return None;
    };
    if !is_private(address.ip()) {
        entry.refuse(
            "this address is not a private one: the box is for one building, not for the internet",
            example,
        );
        return None;
    }
    if address.port() == 0 {
        entry.refuse("port 0 would be another port at each start", example);
        return None;
    }
    Some(address)
}

fn is_private(address: IpAddr) -> bool {
    match address {
        IpAddr::V4(v4) => {
            v4.is_unspecified() || v4.is_private() || v4.is_loopback() || v4.is_link_local()
        }
        IpAddr::V6(v6) => v6.is_unspecified() || v6.is_unique_local() || v6.is_loopback(),
    }
}

fn name_of(entry: &Entry<'_>, brings: bool) -> Option<String> {
    let name = entry.text()?;
    if !is_host_name(name) {
        entry.refuse(
            "this is not a host name",
            "use a to z, 0 to 9 and hyphens, with points between: \"afterturn.local\"",
        );
        return None;
    }
    let below_local = name.strip_suffix(".local");
    if !brings && below_local.is_none_or(|label| label.contains('.')) {
        entry.refuse(
            "the box's own certificate is for one name that ends with .local",
            format!(
                "write \"{DEFAULT_NAME}\"; for another name bring its certificate: `certificate` and `key`"
            ),
        );
        return None;
    }
    Some(name.to_owned())
}

fn is_host_name(name: &str) -> bool {
    let is_label = |label: &str| {
        (1..=LABEL_CHARACTERS).contains(&label.len())
            && !label.starts_with('-')
            && !label.ends_with('-')
            && label
                .bytes()
                .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
    };
    let labels: Vec<&str> = name.split('.').collect();
    // Four numbers are an address, and so is whatever ends with one.
    let ends_as_number = labels
        .last()
        .is_some_and(|last| last.bytes().all(|b| b.is_ascii_digit()));
    name.len() <= NAME_CHARACTERS
        && labels.len() > 1
        && !ends_as_number
        && labels.into_iter().all(is_label)
}

/// Both files or neither. The outer `None` is a mistake.
#[allow(clippy::option_option, reason = "a mistake is not the same as none")]
fn own(certificate: Option<&Entry<'_>>, key: Option<&Entry<'_>>) -> Option<Option<OwnFiles>> {
    let (certificate, key) = match (certificate, key) {
        (None, None) => return Some(None),
        (Some(certificate), Some(key)) => (certificate, key),
        (Some(alone), None) | (None, Some(alone)) => {
            let other = if alone.key == "key" {
                "certificate"
            } else {
                "key"
            };
            alone.refuse(
                format!("there is a `{}` and no `{other}`", alone.key),
                format!("add  {other} = \"/etc/afterturn/{other}.pem\"  or take this line out"),
            );
            return None;
        }
    };
    let paths = (path(certificate), path(key));
    Some(Some(OwnFiles {
        certificate: paths.0?,
        key: paths.1?,
        certificate_span: certificate.span.clone(),
        key_span: key.span.clone(),
    }))
}

fn path(entry: &Entry<'_>) -> Option<PathBuf> {
    let text = entry.text()?;
    if text.contains("-----BEGIN") {
        entry.hide();
        entry.refuse(
            "this is the text of the file, and has to be where the file is",
            format!("write  {0} = \"/etc/afterturn/{0}.pem\"", entry.key),
        );
        return None;
    }
    let path = Path::new(text);
    if !path.is_absolute() || text.contains('\0') {
        entry.refuse(
            format!("`{}` is a whole path", entry.key),
            format!("begin it with /: \"/etc/afterturn/{}.pem\"", entry.key),
        );
        return None;
    }
    Some(path.to_owned())
}

pub(super) type Network = (Option<HttpsSettings>, Option<SocketAddr>);

/// How the network is served, if at all. `None` where something is wrong.
pub(super) fn network(
    findings: &Findings,
    https: Option<&Entry<'_>>,
    plain_screens: Option<&Entry<'_>>,
    no_state: bool,
) -> Option<Network> {
    let secure = https.map(|entry| read(findings, entry, no_state));
    let plain = plain_screens.map(read_plain);
    // Both are read before either may end this.
    let good = secure.as_ref().is_none_or(Option::is_some) && plain.is_none_or(|p| p.is_some());
    good.then(|| (secure.flatten(), plain.flatten()))
}

/// No two listeners may want the same port of the same address.
pub(super) fn apart(
    listen: SocketAddr,
    (https, plain): &Network,
    https_entry: Option<&Entry<'_>>,
    plain_entry: Option<&Entry<'_>>,
) {
    let meet = |a: SocketAddr, b: SocketAddr| {
        let everywhere = a.ip().is_unspecified() || b.ip().is_unspecified();
        a.port() == b.port() && (a.ip() == b.ip() || everywhere)
    };
    let secure = https.as_ref().map(|https| https.listen);
    for (one, others, entry) in [
        (secure, [Some(listen), None], https_entry),
        (*plain, [Some(listen), secure], plain_entry),
    ] {
        let (Some(one), Some(entry)) = (one, entry) else {
            continue;
        };
        if others.into_iter().flatten().any(|other| meet(one, other)) {
            entry.refuse(
                format!("port {} is taken twice in this file", one.port()),
                "give each `listen` a port of its own",
            );
        }
    }
}
