//! Is this request meant for us, and does it come from one of our own pages?
//!
//! A page elsewhere can point a name of its own at this machine (DNS
//! rebinding) or make a browser post here; both are told by headers a page
//! cannot forge: `Host`, `Origin`, `Sec-Fetch-Site`.
//!
//! Not here: who somebody is.

use super::Arrival;

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
    #[error("this is not a name of this box; open it by its name or its address")]
    Host,
    /// What says whom it is for, or from where, is there twice.
    #[error("the request says twice whom it is for")]
    Doubled,
    /// The request comes from a page that is not ours.
    #[error("the request comes from a page of another site")]
    Origin,
}

/// Checks one request against the way it came.
pub fn check(headers: &Headers<'_>, arrival: &Arrival) -> Result<(), Refusal> {
    let host = headers.host.ok_or(Refusal::Host)?;
    if !arrival.is_called(host) {
        return Err(Refusal::Host);
    }
    if let Some(origin) = headers.origin {
        let after_scheme = origin.strip_prefix(arrival.listener.scheme());
        let of_host = after_scheme.and_then(|rest| rest.strip_prefix("://"));
        if of_host != Some(host) {
            return Err(Refusal::Origin);
        }
    }
    match headers.fetch_site {
        None | Some("same-origin" | "none") => Ok(()),
        Some(_) => Err(Refusal::Origin),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::door::Listener;

    fn by(listener: Listener, reached: &str) -> Arrival {
        Arrival {
            listener,
            peer: "192.168.4.20".parse().unwrap(),
            reached: reached.parse().unwrap(),
            name: (listener != Listener::Here).then(|| "afterturn.local".into()),
        }
    }

    fn here() -> Arrival {
        by(Listener::Here, "127.0.0.1:8460")
    }

    fn asked(host: &str) -> Headers<'_> {
        Headers {
            host: Some(host),
            ..Headers::default()
        }
    }

    #[test]
    fn hosts_and_origins() {
        for host in [
            "localhost:8460",
            "127.0.0.1:8460",
            "[::1]:8460",
            "127.0.0.2:8460",
        ] {
            assert_eq!(check(&asked(host), &here()), Ok(()), "{host}");
        }
        for host in [
            "gym.example:8460",
            "afterturn.local:8460",
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
            assert_eq!(check(&asked(host), &here()), Err(Refusal::Host), "{host}");
        }
        assert_eq!(check(&Headers::default(), &here()), Err(Refusal::Host));
        let from = |origin| Headers {
            origin: Some(origin),
            ..asked("localhost:8460")
        };
        assert_eq!(check(&from("http://localhost:8460"), &here()), Ok(()));
        for origin in [
            "http://gym.example",
            "null",
            "https://localhost:8460",
            "http://localhost:8461",
            "http://127.0.0.1:8460",
            "http://localhost:8460.gym.example",
            "localhost:8460",
            "",
        ] {
            let refused = check(&from(origin), &here());
            assert_eq!(refused, Err(Refusal::Origin), "{origin}");
        }
    }

    #[test]
    fn on_the_network_the_box_is_its_name_or_the_address_that_was_reached() {
        let secure = by(Listener::Secure, "192.168.4.1:8443");
        for host in ["afterturn.local:8443", "192.168.4.1:8443"] {
            assert_eq!(check(&asked(host), &secure), Ok(()), "{host}");
            let own = format!("https://{host}");
            let from = |origin| Headers {
                origin: Some(origin),
                ..asked(host)
            };
            assert_eq!(check(&from(&own), &secure), Ok(()));
            for origin in [
                "http://afterturn.local:8443",
                "http://192.168.4.1:8443",
                "https://gym.example:8443",
                "https://afterturn.local",
                "https://",
                "null",
            ] {
                let refused = check(&from(origin), &secure);
                assert_eq!(refused, Err(Refusal::Origin), "{origin}");
            }
        }
        for host in [
            "localhost:8443",
            "127.0.0.1:8443",
            "192.168.4.2:8443",
            "afterturn.local",
            "afterturn.local:443",
            "gym.afterturn.local:8443",
            "afterturn.local.gym.example:8443",
            "afterturn.local.:8443",
            "gym.example:8443",
        ] {
            assert_eq!(check(&asked(host), &secure), Err(Refusal::Host), "{host}");
        }
    }

    #[test]
    fn the_usual_port_need_not_be_said() {
        let secure = by(Listener::Secure, "192.168.4.1:443");
        assert_eq!(check(&asked("afterturn.local"), &secure), Ok(()));
        let plain = by(Listener::PlainScreens, "192.168.4.1:80");
        assert_eq!(check(&asked("192.168.4.1"), &plain), Ok(()));
        assert_eq!(check(&asked("192.168.4.1:443"), &plain), Err(Refusal::Host));
    }

    #[test]
    fn addresses_are_compared_as_addresses() {
        let six = by(Listener::Secure, "[fd12::7]:8443");
        for host in ["[fd12::7]:8443", "[fd12:0:0::7]:8443"] {
            assert_eq!(check(&asked(host), &six), Ok(()), "{host}");
        }
        // A socket for both kinds of address shows the older one so.
        let mapped = by(Listener::Secure, "[::ffff:192.168.4.1]:8443");
        assert_eq!(check(&asked("192.168.4.1:8443"), &mapped), Ok(()));
    }

    #[test]
    fn without_a_name_only_the_address_is_known() {
        let plain = Arrival {
            name: None,
            ..by(Listener::PlainScreens, "192.168.4.1:8480")
        };
        assert_eq!(check(&asked("192.168.4.1:8480"), &plain), Ok(()));
        let named = check(&asked("afterturn.local:8480"), &plain);
        assert_eq!(named, Err(Refusal::Host));
    }

    #[test]
    fn a_browser_that_says_cross_site_is_believed() {
        let says = |site| Headers {
            fetch_site: Some(site),
            ..asked("localhost:8460")
        };
        assert_eq!(check(&says("none"), &here()), Ok(()));
        assert_eq!(check(&says("same-origin"), &here()), Ok(()));
        assert_eq!(check(&says("same-site"), &here()), Err(Refusal::Origin));
        assert_eq!(check(&says("cross-site"), &here()), Err(Refusal::Origin));
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_judged_without_panic(host in "\\PC{0,40}", origin in "\\PC{0,40}") {
            let headers = Headers { host: Some(&host), origin: Some(&origin), fetch_site: None };
            for arrival in [here(), by(Listener::Secure, "[::1]:1")] {
                let _ = check(&headers, &arrival);
            }
        }
    }
}
