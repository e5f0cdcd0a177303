//! Is this request meant for us, and does it come from one of our own pages?
//!
//! A page elsewhere can point a name of its own at this machine (DNS
//! rebinding) or make a browser post here; both are told by headers a page
//! cannot forge: `Host`, `Origin`, `Sec-Fetch-Site`.
//!
//! Not here: who somebody is.

use std::net::IpAddr;

/// The headers that matter, as they came.
#[derive(Clone, Copy, Debug, Default)]
pub struct Headers<'a> {
    /// `Host`, or the authority of an HTTP/2 request.
    pub host: Option<&'a str>,
    /// `Origin`.
    pub origin: Option<&'a str>,
    /// `Sec-Fetch-Site`.
    pub fetch_site: Option<&'a str>,
}

/// Why a request is turned away.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// The name asked for is not one of this machine's.
    #[error("this is not a name of this machine; open it as localhost or by its address")]
    Host,
    /// The request comes from a page that is not ours.
    #[error("the request comes from a page of another site")]
    Origin,
}

/// Checks one request against the port the server listens on.
pub fn check(headers: &Headers<'_>, port: u16) -> Result<(), Refusal> {
    let host = headers.host.ok_or(Refusal::Host)?;
    if !is_ours(host, port) {
        return Err(Refusal::Host);
    }
    if let Some(origin) = headers.origin {
        let of_host = origin.strip_prefix("http://").ok_or(Refusal::Origin)?;
        if of_host != host {
            return Err(Refusal::Origin);
        }
    }
    match headers.fetch_site {
        None | Some("same-origin" | "none") => Ok(()),
        Some(_) => Err(Refusal::Origin),
    }
}

/// `localhost` or a loopback address, with our port.
fn is_ours(host: &str, port: u16) -> bool {
    let (name, given) = match host.rsplit_once(':') {
        Some((name, given)) if !given.ends_with(']') => (name, given.parse().ok()),
        _ => (host, Some(80)),
    };
    let bare = name
        .strip_prefix('[')
        .and_then(|n| n.strip_suffix(']'))
        .unwrap_or(name);
    let loopback = name == "localhost"
        || bare
            .parse::<IpAddr>()
            .is_ok_and(|address| address.is_loopback());
    loopback && given == Some(port)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hosts_and_origins() {
        let ours = |host| Headers {
            host: Some(host),
            ..Headers::default()
        };
        for host in [
            "localhost:8460",
            "127.0.0.1:8460",
            "[::1]:8460",
            "127.0.0.2:8460",
        ] {
            assert_eq!(check(&ours(host), 8460), Ok(()), "{host}");
        }
        for host in [
            "gym.example:8460",
            "localhost",
            "localhost:8461",
            "127.0.0.1.gym.example:8460",
            "",
            "192.168.1.4:8460",
            "[::1]",
            "localhost:8460:8460",
            "localhost.:8460",
            ":8460",
        ] {
            assert_eq!(check(&ours(host), 8460), Err(Refusal::Host), "{host}");
        }
        assert_eq!(check(&Headers::default(), 8460), Err(Refusal::Host));
        let from = |origin| Headers {
            origin: Some(origin),
            ..ours("localhost:8460")
        };
        assert_eq!(check(&from("http://localhost:8460"), 8460), Ok(()));
        for origin in [
            "http://gym.example",
            "null",
            "https://localhost:8460",
            "http://localhost:8461",
            "http://127.0.0.1:8460",
            "http://localhost:8460.gym.example",
            "",
        ] {
            assert_eq!(check(&from(origin), 8460), Err(Refusal::Origin), "{origin}");
        }
    }

    #[test]
    fn a_browser_that_says_cross_site_is_believed() {
        let asked = |site| Headers {
            host: Some("localhost:8460"),
            fetch_site: Some(site),
            ..Headers::default()
        };
        assert_eq!(check(&asked("none"), 8460), Ok(()));
        assert_eq!(check(&asked("same-origin"), 8460), Ok(()));
        assert_eq!(check(&asked("same-site"), 8460), Err(Refusal::Origin));
        assert_eq!(check(&asked("cross-site"), 8460), Err(Refusal::Origin));
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_judged_without_panic(host in "\\PC{0,40}", origin in "\\PC{0,40}") {
            let _ = check(&Headers { host: Some(&host), origin: Some(&origin), fetch_site: None }, 1);
        }
    }
}
