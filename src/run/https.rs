//! What the box shows of itself on the network, kept right while it runs: the
//! authority and its leaf from the disk or newly made, the school's own files
//! where it brought some, and a new leaf when the addresses change.
//!
//! Not here: making or judging certificates ([`crate::door::certificate`]), and
//! listening.

use std::{
    net::IpAddr,
    path::{Path, PathBuf},
    sync::Arc,
    time::Duration,
};

use tokio::{sync::watch, time::sleep};

use crate::cli::certificate;
use crate::door::certificate::{
    Authority, Date, Facts, Issued, Names, Own, Standing, UnixSeconds, Verdict, plausible, verdict,
};
use crate::http::Shown;
use crate::settings::{HttpsSettings, OwnFiles};
use crate::store::secrets;

/// How often addresses, dates and files are looked at.
pub const LOOK_EVERY: Duration = Duration::from_secs(30);

/// The machine, as far as certificates go: its addresses and its date.
pub trait Machine: Send + Sync {
    /// The addresses the box is reached by now.
    fn addresses(&self) -> Vec<IpAddr>;
    /// The date now.
    fn now_s(&self) -> UnixSeconds;
}

/// See the module.
pub struct Certificates {
    name: String,
    source: Source,
    machine: Arc<dyn Machine>,
    shown: watch::Sender<Arc<Shown>>,
}

#[allow(
    clippy::large_enum_variant,
    reason = "there is one of it in the program"
)]
enum Source {
    Box {
        state_dir: PathBuf,
        authority: Authority,
        issued: Issued,
    },
    School {
        files: OwnFiles,
        own: Own,
    },
}

impl Certificates {
    /// Reads or makes what is needed; the error is for the log.
    pub fn open(
        https: &HttpsSettings,
        state_dir: Option<&Path>,
        machine: Arc<dyn Machine>,
    ) -> Result<Self, String> {
        let name = https.name.clone();
        let now_s = machine.now_s();
        let names = Names::new(&name, machine.addresses());
        let source = match (&https.own, state_dir) {
            (Some(files), _) => Source::School {
                own: school(files, &name, plausible(now_s))?,
                files: files.clone(),
            },
            (None, Some(state_dir)) => {
                let authority = authority(state_dir, &name, now_s)?;
                let issued = leaf(state_dir, &authority, &names, now_s)?;
                Source::Box {
                    state_dir: state_dir.to_owned(),
                    authority,
                    issued,
                }
            }
            (None, None) => {
                return Err("there is no state_dir to keep the keys in".to_owned());
            }
        };
        let shown = watch::Sender::new(Arc::new(source.shown(names)?));
        Ok(Self {
            name,
            source,
            machine,
            shown,
        })
    }

    /// What is shown, as it changes.
    #[must_use]
    pub fn shown(&self) -> watch::Receiver<Arc<Shown>> {
        self.shown.subscribe()
    }

    /// Looks whether anything has changed, and shows what is right now.
    pub fn look(&mut self) -> Result<(), String> {
        let now_s = self.machine.now_s();
        let names = Names::new(&self.name, self.machine.addresses());
        let changed = match &mut self.source {
            Source::Box {
                state_dir,
                authority,
                issued,
            } => {
                let due = due(now_s, authority, Some(&issued.facts), &names);
                if let Verdict::Issue(_) = due {
                    *issued = leaf(state_dir, authority, &names, now_s)?;
                }
                due != Verdict::Keep
            }
            Source::School { files, own } => {
                let again = school(files, &self.name, plausible(now_s))?;
                let changed = again.credential.chain != own.credential.chain;
                *own = again;
                changed
            }
        };
        if changed || self.shown.borrow().names != names {
            self.shown.send_replace(Arc::new(self.source.shown(names)?));
        }
        Ok(())
    }

    /// Looks again and again, until `stop` turns true.
    pub async fn keep(&mut self, every: Duration, mut stop: watch::Receiver<bool>) {
        let mut last = Ok(());
        loop {
            tokio::select! {
                () = sleep(every) => {}
                _ = stop.wait_for(|stop| *stop) => return,
            }
            // A few signatures and a small file: not worth a thread of its own.
            let now = self.look();
            if let Err(error) = &now
                && now != last
            {
                tracing::error!("{error}; the last certificate stays in use");
            }
            last = now;
        }
    }
}

impl Source {
    fn shown(&self, names: Names) -> Result<Shown, String> {
        let (credential, authority) = match self {
            Self::Box {
                authority, issued, ..
            } => (&issued.credential, Some(authority.public())),
            Self::School { own, .. } => (&own.credential, None),
        };
        Shown::new(credential.clone(), names, authority).map_err(|error| error.to_string())
    }
}

fn school(files: &OwnFiles, name: &str, now_s: UnixSeconds) -> Result<Own, String> {
    let own = certificate::read(files, name, now_s);
    own.map_err(|trouble| format!("{}; {}", trouble.message, trouble.fix))
}

/// One file for each name: who tries another name and comes back finds the
/// authority that the devices trust. It is kept and used whatever the date; what
/// cannot be used at all is put aside.
fn authority(state_dir: &Path, name: &str, now_s: UnixSeconds) -> Result<Authority, String> {
    let file = format!("authority-{name}.pem");
    if let Some(text) = load(state_dir, &file)? {
        match fit(&text, &file, name, now_s) {
            Ok(authority) => return Ok(authority),
            Err(unfit) => {
                let aside = secrets::put_aside(state_dir, &file)
                    .map_err(|error| said(state_dir, &file, "put aside", &error))?;
                tracing::warn!(
                    "{file} cannot be used: {unfit}. It is kept as {aside}; a new authority is made, \
                     and every device has to trust it"
                );
            }
        }
    }
    let made = Authority::make(name, plausible(now_s)).map_err(|error| error.to_string())?;
    save(state_dir, &file, &made.to_pem())?;
    Ok(made)
}

/// The authority of a text, with a word in the log about its dates; or why it is
/// none for this name.
fn fit(text: &str, file: &str, name: &str, now_s: UnixSeconds) -> Result<Authority, String> {
    let authority = Authority::read(text).map_err(|error| error.to_string())?;
    match authority.standing(name, now_s) {
        Standing::Good => {}
        Standing::EndsIn(days) => tracing::warn!(
            "the box's certificate authority ends in {days} days; by then put {file} away and start \
             again: a new one is made, and every device has to trust that"
        ),
        Standing::OutOfDate(why) => tracing::warn!(
            "by this box's date its certificate authority cannot be used: {why}. It stays in use; \
             look whether the date is right. If the authority has really ended, put {file} away and \
             start again: a new one is made, and every device has to trust that"
        ),
        Standing::Unfit(why) => return Err(why.to_owned()),
    }
    Ok(authority)
}

fn due(
    now_s: UnixSeconds,
    authority: &Authority,
    stored: Option<&Facts>,
    names: &Names,
) -> Verdict {
    let date = Date::of(now_s, authority, stored);
    verdict(date, stored, names, authority.ends_s())
}

fn leaf(
    state_dir: &Path,
    authority: &Authority,
    names: &Names,
    now_s: UnixSeconds,
) -> Result<Issued, String> {
    let file = format!("leaf-{}.pem", names.name);
    let kept = load(state_dir, &file)?.and_then(|text| authority.read_issued(&text));
    let facts = kept.as_ref().map(|issued| &issued.facts);
    let date = Date::of(now_s, authority, facts);
    match (due(now_s, authority, facts, names), kept) {
        (Verdict::Keep, Some(issued)) => Ok(issued),
        (due, _) => {
            let issued = authority.issue(names, date.seconds());
            let issued = issued.map_err(|error| error.to_string())?;
            if let Verdict::Issue(why) = due {
                tracing::info!("a new certificate: {}", why.words());
            }
            save(state_dir, &file, &issued.to_pem())?;
            Ok(issued)
        }
    }
}

fn load(state_dir: &Path, file: &str) -> Result<Option<String>, String> {
    secrets::load(state_dir, file).map_err(|error| said(state_dir, file, "read", &error))
}

fn save(state_dir: &Path, file: &str, text: &str) -> Result<(), String> {
    secrets::save(state_dir, file, text).map_err(|error| said(state_dir, file, "kept", &error))
}

fn said(state_dir: &Path, file: &str, done: &str, error: &std::io::Error) -> String {
    let path = state_dir.join(file);
    format!("{} cannot be {done}: {error}", path.display())
}

#[cfg(test)]
mod tests;
