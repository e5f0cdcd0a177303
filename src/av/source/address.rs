//! A network camera's address, taken apart as far as we need it: where to
//! knock, and what of it may be told.
//!
//! Not here: paths and queries. They belong to the camera, may hold a password,
//! and are never shown.

use std::fmt;

/// The port of RTSP where an address names none (RFC 2326 §3.2).
const RTSP_PORT: u16 = 554;

/// The part of an address that may stand in a log.
#[derive(Clone, PartialEq, Eq)]
pub(super) struct Host {
    pub(super) host: String,
    pub(super) port: u16,
}

impl fmt::Display for Host {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.host.contains(':') {
            write!(f, "[{}]:{}", self.host, self.port)
        } else {
            write!(f, "{}:{}", self.host, self.port)
        }
    }
}

/// Finds host and port. `None` for anything but `rtsp://host[:port][/...]`.
pub(super) fn host_of(url: &str) -> Option<Host> {
    let (scheme, rest) = url.split_once("://")?;
    if !scheme.eq_ignore_ascii_case("rtsp") {
        return None;
    }
    let authority = rest.split(['/', '?', '#']).next()?;
    let place = authority
        .rsplit_once('@')
        .map_or(authority, |(_, place)| place);
    let (host, port) = if let Some(bracketed) = place.strip_prefix('[') {
        let (host, after) = bracketed.split_once(']')?;
        (
            host,
            if after.is_empty() {
                None
            } else {
                Some(after.strip_prefix(':')?)
            },
        )
    } else {
        place
            .split_once(':')
            .map_or((place, None), |(host, port)| (host, Some(port)))
    };
    let port = match port {
        None => RTSP_PORT,
        Some(digits) => digits.parse().ok().filter(|port| *port != 0)?,
    };
    let plain = |c: char| !c.is_whitespace() && !c.is_control();
    (!host.is_empty() && host.chars().all(plain)).then(|| Host {
        host: host.to_owned(),
        port,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn host_and_port_are_found_and_nothing_else_is_told() {
        for (url, told) in [
            ("rtsp://beam.gym/live", "beam.gym:554"),
            ("RTSP://10.0.0.7:8554", "10.0.0.7:8554"),
            (
                "rtsp://coach:p@ss@10.0.0.7:8554/a?key=s3cret",
                "10.0.0.7:8554",
            ),
            ("rtsp://[fd00::7]/x", "[fd00::7]:554"),
            ("rtsp://coach:pw@[fd00::7]:99/x", "[fd00::7]:99"),
        ] {
            assert_eq!(
                host_of(url).map(|h| h.to_string()).as_deref(),
                Some(told),
                "{url}"
            );
        }
    }

    #[test]
    fn other_addresses_are_none() {
        for url in [
            "",
            "beam.gym/live",
            "http://beam.gym/",
            "rtsp://",
            "rtsp:///x",
            "rtsp://a:0/",
            "rtsp://a:b/",
            "rtsp://[::1",
            "rtsp://[::1]8/",
            "rtsp://a b/",
        ] {
            assert!(host_of(url).is_none(), "{url}");
        }
    }
}
