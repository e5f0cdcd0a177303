//! The ways in from the network, as far as the config file opens any: HTTPS,
//! with its certificates and its name called out, and screens without
//! encryption.
//!
//! Not here: any rule about who may do what there.

use std::{
    net::{IpAddr, SocketAddr},
    sync::Arc,
};

use afterturn_core::{kernel::StationNumber, wire::Part};
use tokio::sync::{Mutex, watch};

use super::https::{Certificates, LOOK_EVERY, Machine};
use crate::av::whip::Publishing;
use crate::cli::Exit;
use crate::door::certificate::UnixSeconds;
use crate::host::{
    addresses,
    announce::{AnnounceError, Announcer, is_machines_own},
    clock,
    parts::Parts,
};
use crate::http::{self, App, Listening, Shown};
use crate::settings::{CameraSettings, Settings};

/// Opens the port that publishers send to, where any station's camera is one:
/// on the network where that is served, else on the box itself.
pub(super) async fn publishing(settings: &Settings) -> Result<Option<Publishing>, Exit> {
    if published(settings).next().is_none() {
        return Ok(None);
    }
    let secure = settings.https.as_ref().map(|https| https.listen.ip());
    let address = SocketAddr::new(secure.unwrap_or(settings.listen.ip()), settings.whip_port);
    match Publishing::bind(address).await {
        Ok(publishing) => {
            tracing::info!(
                "publishers send to UDP port {}",
                publishing.address().port()
            );
            Ok(Some(publishing))
        }
        Err(error) => Err(taken(address, &error)),
    }
}

/// The stations whose camera is whoever publishes.
pub(super) fn published(settings: &Settings) -> impl Iterator<Item = StationNumber> {
    let stations = settings.stations.iter();
    let published = stations.filter(|station| station.camera == CameraSettings::Whip);
    published.map(|station| station.number)
}

/// What is open to the network, before anything is served.
pub(super) struct Network {
    secure: Option<Secure>,
    plain_screens: Option<Listening>,
}

struct Secure {
    listening: Listening,
    certificates: Certificates,
    name: String,
}

/// This machine, seen from a listener.
struct Here {
    bound: IpAddr,
}

impl Machine for Here {
    fn addresses(&self) -> Vec<IpAddr> {
        let all = addresses::all().unwrap_or_else(|error| {
            tracing::warn!("this machine's addresses cannot be listed: {error}");
            Vec::new()
        });
        addresses::reached_at(self.bound, &all)
    }

    fn now_s(&self) -> UnixSeconds {
        clock::wall_s()
    }
}

/// Binds what the config file opens. An address that cannot be had ends the
/// program, as for the box's own; keys that cannot be kept do not, since the
/// box's own screen needs none.
pub(super) async fn open(settings: &Settings) -> Result<Network, Exit> {
    let mut network = Network {
        secure: None,
        plain_screens: None,
    };
    if let Some(https) = &settings.https {
        let machine = Arc::new(Here {
            bound: https.listen.ip(),
        });
        match Certificates::open(https, settings.state_dir.as_deref(), machine) {
            Ok(certificates) => {
                let bound = http::listen_secure(https.listen, certificates.shown()).await;
                let listening = bound.map_err(|error| taken(https.listen, &error))?;
                network.secure = Some(Secure {
                    listening,
                    certificates,
                    name: https.name.clone(),
                });
            }
            Err(error) => tracing::error!("HTTPS stays off: {error}"),
        }
    }
    if let Some(address) = settings.plain_screens {
        let name = network.secure.as_ref().map(|secure| secure.name.as_str());
        let bound = http::listen_plain_screens(address, name).await;
        network.plain_screens = Some(bound.map_err(|error| taken(address, &error))?);
    }
    Ok(network)
}

fn taken(address: SocketAddr, error: &std::io::Error) -> Exit {
    tracing::error!("{address} cannot be used: {error}; is something else listening there?");
    Exit::Address
}

impl Network {
    /// Serves it all until told to stop.
    pub(super) fn start(self, app: App, parts: &mut Parts) -> App {
        let leave = app.clone();
        parts.run(Part::Publishing, move |stop| {
            http::cut_leavers(leave.clone(), stop)
        });
        let mut app = app;
        if let Some(secure) = self.secure {
            let shown = secure.certificates.shown();
            let port = secure.listening.address().port();
            app = app.on_network(shown.clone(), port);
            say_secure(&shown.borrow(), port);
            let certificates = Arc::new(Mutex::new(secure.certificates));
            parts.run(Part::Network, move |stop| {
                let certificates = Arc::clone(&certificates);
                async move { certificates.lock().await.keep(LOOK_EVERY, stop).await }
            });
            let name = secure.name;
            parts.run(Part::Network, move |stop| {
                announce(name.clone(), port, shown.clone(), stop)
            });
            serve(secure.listening, &app, parts);
        } else {
            tracing::info!(
                "this machine only; the table [https] of the config file opens the network"
            );
        }
        if let Some(listening) = self.plain_screens {
            let address = listening.address();
            tracing::warn!(
                "screens without encryption at http://{address}/: anybody on that network can watch \
                 the pictures on their way"
            );
            serve(listening, &app, parts);
        }
        app
    }
}

/// Notes that publishers were not served for a moment.
pub(super) fn watch_publishing(publishing: Option<&Publishing>, parts: &mut Parts) {
    let Some(publishing) = publishing.cloned() else {
        return;
    };
    let failures = parts.failures();
    parts.run(Part::Publishing, move |mut stop| {
        let (mut failed, failures) = (publishing.failed(), Arc::clone(&failures));
        async move {
            loop {
                tokio::select! {
                    biased;
                    _ = stop.wait_for(|stop| *stop) => return,
                    Ok(()) = failed.changed() => failures.happened(Part::Publishing),
                }
            }
        }
    });
}

/// Serves what is bound, until told to stop.
pub(super) fn serve(listening: Listening, app: &App, parts: &mut Parts) {
    let (listening, app) = (Arc::new(listening), app.clone());
    parts.run(Part::Network, move |stop| {
        let (listening, app) = (Arc::clone(&listening), app.clone());
        async move { listening.serve(app, stop).await }
    });
}

fn say_secure(shown: &Shown, port: u16) {
    let name = &shown.names.name;
    tracing::info!("serving the network at https://{name}:{port}/");
    for address in shown.addresses() {
        tracing::info!("and at https://{}/", SocketAddr::new(address, port));
    }
    if shown.addresses().next().is_none() {
        tracing::warn!("no private address yet: nobody on the network reaches the box");
    }
    if let Some(authority) = &shown.authority {
        let fingerprint = &authority.fingerprint;
        // On the console too: it is compared there with what a device shows.
        println!("To trust this box: https://{name}:{port}/trust");
        println!("SHA-256 fingerprint: {fingerprint}");
        tracing::info!("fingerprint of its authority (SHA-256): {fingerprint}");
    }
}

/// Calls the name out where it can be, until `stop` turns true. Whatever goes
/// wrong here, the box can be opened by number.
async fn announce(
    name: String,
    port: u16,
    shown: watch::Receiver<Arc<Shown>>,
    mut stop: watch::Receiver<bool>,
) {
    // Names that end otherwise are known to the school's name servers.
    if name.strip_suffix(".local").is_some()
        && let Err(why) = call_out(&name, port, shown, stop.clone()).await
    {
        tracing::warn!("{name} is not announced: {why}; the box can be opened by number");
    }
    let _ = stop.wait_for(|stop| *stop).await;
}

/// What happens next to somebody who announces a name.
enum Next {
    Stop,
    Addresses,
    Taken,
}

async fn call_out(
    name: &str,
    port: u16,
    mut shown: watch::Receiver<Arc<Shown>>,
    mut stop: watch::Receiver<bool>,
) -> Result<(), String> {
    if is_machines_own(name) {
        return Err(
            "it is this machine's own name, which its system announces if anything does. \
             Better give the box another `name` in [https]"
                .to_owned(),
        );
    }
    let said = |error: AnnounceError| error.to_string();
    let now: Vec<IpAddr> = shown.borrow_and_update().addresses().collect();
    let mut announcer = Announcer::start(name, port, &now).map_err(said)?;
    let end = loop {
        let next = tokio::select! {
            _ = stop.wait_for(|stop| *stop) => Next::Stop,
            Ok(()) = shown.changed() => Next::Addresses,
            () = announcer.taken() => Next::Taken,
        };
        match next {
            Next::Stop => break Ok(()),
            Next::Addresses => {
                announcer.stop().await;
                let now: Vec<IpAddr> = shown.borrow_and_update().addresses().collect();
                announcer = Announcer::start(name, port, &now).map_err(said)?;
            }
            Next::Taken => {
                break Err(
                    "another device on the network is called so already. Give this box another \
                     `name` in [https]"
                        .to_owned(),
                );
            }
        }
    };
    announcer.stop().await;
    end
}
