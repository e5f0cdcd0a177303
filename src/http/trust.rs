//! The page that walks a technician through trusting the box, and the
//! certificate to fetch from it. Open to everybody: nothing on it is secret,
//! and whoever needs it has not come in yet.
//!
//! Where the steps of each system come from: Apple, "Trust manually installed
//! certificate profiles in iOS and iPadOS" for the second switch; the rest is
//! common practice, from memory, and systems move their menus.
//!
//! Not here: its sentences.

use std::net::IpAddr;

use askama::Template;
use warp::{
    Reply,
    http::{HeaderValue, header},
    reply::Response,
};

use super::{App, BUILD, Kind, Problem, qr::qr_svg, tls::Shown, words::Language, words::Words};
use crate::door::{
    Arrival, Listener,
    certificate::{Facts, PublicAuthority},
};

/// A kind of device, by the ids of its sentences.
struct Device {
    name: &'static str,
    steps: &'static [&'static str],
    many: Option<&'static str>,
}

const DEVICES: [Device; 8] = [
    Device {
        name: "trust-windows",
        steps: &["trust-windows-1", "trust-windows-2", "trust-windows-3"],
        many: Some("trust-windows-many"),
    },
    Device {
        name: "trust-mac",
        steps: &["trust-mac-1", "trust-mac-2", "trust-mac-3"],
        many: Some("trust-mac-many"),
    },
    Device {
        name: "trust-ios",
        steps: &["trust-ios-1", "trust-ios-2", "trust-ios-3"],
        many: Some("trust-ios-many"),
    },
    Device {
        name: "trust-chromeos",
        steps: &["trust-chromeos-1", "trust-chromeos-2"],
        many: Some("trust-chromeos-many"),
    },
    Device {
        name: "trust-android",
        steps: &["trust-android-1", "trust-android-2", "trust-android-3"],
        many: Some("trust-android-many"),
    },
    Device {
        name: "trust-linux",
        steps: &["trust-linux-1", "trust-linux-2"],
        many: Some("trust-linux-many"),
    },
    Device {
        name: "trust-firefox",
        steps: &["trust-firefox-1", "trust-firefox-2"],
        many: Some("trust-firefox-many"),
    },
    Device {
        name: "trust-tv",
        steps: &["trust-tv-1"],
        many: None,
    },
];

/// Pairs of a fingerprint that stand together: as many as are read out in one
/// breath.
const PAIRS_TOGETHER: usize = 4;

#[derive(Template)]
#[template(path = "trust.html", config = "web/pages/askama.toml")]
struct TrustPage {
    lang: &'static str,
    build: &'static str,
    words: &'static Words,
    authority: Option<Authority>,
    devices: &'static [Device],
    by_name: String,
    numbers: Vec<Number>,
}

struct Authority {
    fingerprint: Vec<String>,
    limits: String,
}

/// Where the box can be opened by number.
pub(super) struct Number {
    pub(super) address: String,
    pub(super) qr: String,
}

/// All such addresses; none while the network is not served.
pub(super) fn numbers(app: &App) -> Vec<Number> {
    let Ok((shown, port)) = shown(app) else {
        return Vec::new();
    };
    let numbers = shown.addresses().map(|ip| {
        let address = at_number(ip, port);
        Number {
            qr: qr_svg(&address),
            address,
        }
    });
    numbers.collect()
}

/// The one of them that a phone beside this screen opens: where the screen
/// itself has reached the box, else the likeliest.
pub(super) fn by_number(app: &App, arrival: &Arrival) -> Option<String> {
    let (shown, port) = shown(app).ok()?;
    let reached = arrival.reached.ip().to_canonical();
    let likeliest = shown.addresses().min_by_key(|ip| match ip {
        _ if *ip == reached => 0,
        IpAddr::V4(four) if !four.is_link_local() => 1,
        IpAddr::V4(_) => 2,
        IpAddr::V6(_) => 3,
    });
    // Where the box has none for others, whoever came by the network came here.
    let own = (arrival.listener != Listener::Here).then_some(reached);
    Some(at_number(likeliest.or(own)?, port))
}

/// `GET /trust`.
pub(super) fn page(app: &App, language: Language) -> Result<Response, Problem> {
    let (shown, port) = shown(app)?;
    let words = language.words();
    let name = &shown.names.name;
    let authority = shown.authority.as_ref().map(|authority| Authority {
        fingerprint: in_groups(&authority.fingerprint),
        limits: words
            .get("trust-limits")
            .replace("{name}", name)
            .replace("{until}", &until(authority)),
    });
    let page = TrustPage {
        lang: language.tag(),
        build: &BUILD,
        words,
        authority,
        devices: &DEVICES,
        by_name: address(name, port),
        numbers: numbers(app),
    };
    let text = page
        .render()
        .expect("a template only fails when its sink does, and this is memory");
    Ok(warp::reply::html(text).into_response())
}

/// `GET /trust/afterturn.crt` and `.pem`.
pub(super) fn file(app: &App, name: &str) -> Result<Response, Problem> {
    let (shown, _) = shown(app)?;
    let nothing = || Problem::new(Kind::NotFound, "there is no such file");
    let authority = shown.authority.as_ref().ok_or_else(nothing)?;
    // The first starts the import on phones and in Firefox; neither is
    // registered, RFC 2585's application/pkix-cert starts nothing there.
    let (kind, bytes) = match name {
        "afterturn.crt" => ("application/x-x509-ca-cert", authority.der.clone()),
        "afterturn.pem" => ("application/x-pem-file", authority.pem.clone().into_bytes()),
        _ => return Err(nothing()),
    };
    let mut response = bytes.into_response();
    let kind = HeaderValue::from_static(kind);
    response.headers_mut().insert(header::CONTENT_TYPE, kind);
    Ok(response)
}

fn shown(app: &App) -> Result<(std::sync::Arc<Shown>, u16), Problem> {
    let network = app.network.as_ref().ok_or_else(|| {
        Problem::new(
            Kind::NotFound,
            "HTTPS is off; the table [https] of the settings file switches it on",
        )
    })?;
    let shown = std::sync::Arc::clone(&network.shown.borrow());
    Ok((shown, network.port))
}

fn at_number(ip: IpAddr, port: u16) -> String {
    // An address of IPv6 has colons of its own.
    match ip {
        IpAddr::V4(four) => address(&four.to_string(), port),
        IpAddr::V6(six) => address(&format!("[{six}]"), port),
    }
}

fn address(host: &str, port: u16) -> String {
    match port {
        443 => format!("https://{host}/"),
        _ => format!("https://{host}:{port}/"),
    }
}

fn in_groups(fingerprint: &str) -> Vec<String> {
    let pairs: Vec<&str> = fingerprint.split(':').collect();
    let groups = pairs.chunks(PAIRS_TOGETHER);
    groups.map(|group| group.join(":")).collect()
}

/// The authority's last day, as every language writes it alike (ISO 8601).
fn until(authority: &PublicAuthority) -> String {
    let facts = Facts::read(&authority.der);
    facts.map_or_else(String::new, |facts| facts.last_day())
}
