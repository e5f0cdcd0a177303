//! The school's own certificate: its files read and looked over, with what is
//! wrong reported at the place of the config file that names them.
//!
//! Not here: judging it ([`crate::door::certificate`]).

use std::{fs::File, io::Read as _, path::Path};

use crate::door::certificate::{Own, OwnFile, OwnTrouble, UnixSeconds, plausible, read_own};
use crate::host::clock;
use crate::settings::diagnostic::{Diagnostic, Report};
use crate::settings::{Environment, LoadError, OwnFiles, Settings};

/// A chain is a few kilobytes; a video named by mistake is not.
const MOST_BYTES: u64 = 1024 * 1024;

/// Reads and checks a config file and the certificate it names. With the
/// settings come its warnings.
pub fn load(path: &Path, environment: Environment<'_>) -> Result<(Settings, Report), LoadError> {
    let (settings, report) = Settings::load(path, environment)?;
    look_over(settings, report, false).map_err(LoadError::Mistakes)
}

/// Where the service manager lays what it hands over, while the service runs
/// (`LoadCredential=`, systemd.exec(5)).
const HANDED_OVER: &str = "/run/credentials";

/// Adds what the certificate's files say to what the config file says.
/// `elsewhere`: this is not the service, which may be given files that are not
/// there for anybody else.
pub(super) fn look_over(
    settings: Settings,
    mut report: Report,
    elsewhere: bool,
) -> Result<(Settings, Report), Report> {
    let https = settings.https.as_ref();
    let Some((own, name)) = https.and_then(|https| Some((https.own.as_ref()?, &https.name))) else {
        return Ok((settings, report));
    };
    if elsewhere && own.certificate.starts_with(HANDED_OVER) && !own.certificate.exists() {
        report.add(Diagnostic::warning(
            own.certificate_span.clone(),
            "the certificate is handed over when the service starts, and cannot be looked at now",
            "check a copy of this file that names the certificate where it is kept",
        ));
        return Ok((settings, report));
    }
    let place = |trouble: &OwnTrouble| match trouble.file {
        OwnFile::Certificate => own.certificate_span.clone(),
        OwnFile::Key => own.key_span.clone(),
    };
    match read(own, name, clock::wall_s()) {
        Ok(read) => {
            for remark in read.remarks {
                let span = place(&remark);
                report.add(Diagnostic::warning(span, remark.message, remark.fix));
            }
            Ok((settings, report))
        }
        Err(trouble) => {
            let span = place(&trouble);
            report.add(Diagnostic::mistake(span, trouble.message, trouble.fix));
            Err(report)
        }
    }
}

/// Reads the two files and looks them over.
pub(crate) fn read(own: &OwnFiles, name: &str, now_s: UnixSeconds) -> Result<Own, OwnTrouble> {
    let certificate = bytes(&own.certificate, OwnFile::Certificate)?;
    let key = bytes(&own.key, OwnFile::Key)?;
    read_own(&certificate, &key, name, plausible(now_s))
}

fn bytes(path: &Path, file: OwnFile) -> Result<Vec<u8>, OwnTrouble> {
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|opened| opened.take(MOST_BYTES).read_to_end(&mut bytes))
        .map_err(|error| OwnTrouble {
            file,
            message: format!("{} cannot be read: {error}", path.display()),
            fix: "put it there, readable by the program".to_owned(),
        })?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::door::certificate::{Authority, Names};

    /// A config file that names a certificate for `afterturn.local`, and what
    /// is made of it.
    fn page(name: &str, key_of_another: bool, age_days: i64) -> Result<String, String> {
        let dir = tempfile::tempdir().unwrap();
        let made_s = plausible(clock::wall_s()) - age_days * 86_400;
        let leaf = || {
            let authority = Authority::make("afterturn.local", made_s).unwrap();
            let names = Names::new("afterturn.local", []);
            authority.issue(&names, made_s).unwrap().to_pem()
        };
        let certificate = leaf();
        let key = if key_of_another {
            leaf()
        } else {
            certificate.clone()
        };
        let at = |file: &str| dir.path().join(file).display().to_string();
        std::fs::write(at("c.pem"), &certificate).unwrap();
        std::fs::write(at("k.pem"), &key[key.find("-----BEGIN PRIVATE").unwrap()..]).unwrap();
        let text = format!(
            "[https]\nname = \"{name}\"\ncertificate = \"{}\"\nkey = \"{}\"\n\
             [[station]]\nnumber = 1\ntitle = \"Rings\"\n[station.camera]\nkind = \"demo\"\n",
            at("c.pem"),
            at("k.pem")
        );
        let config = dir.path().join("a.toml");
        std::fs::write(&config, text).unwrap();
        let here = format!("{}/", dir.path().display());
        match load(&config, &|_| None) {
            Ok((_, report)) => Ok(report.to_string().replace(&here, "")),
            Err(error) => Err(error.to_string().replace(&here, "")),
        }
    }

    #[test]
    fn a_good_certificate_needs_no_words() {
        assert_eq!(page("afterturn.local", false, 0).unwrap(), "a.toml: fine\n");
    }

    #[test]
    fn what_is_wrong_is_shown_where_the_file_is_named() {
        let said = page("gym.school.example", false, 0).unwrap_err();
        assert!(
            said.starts_with("a.toml:3:15: this certificate is for afterturn.local, not"),
            "{said}"
        );
        assert!(said.contains("fix: set `name`"), "{said}");
        let said = page("afterturn.local", true, 0).unwrap_err();
        assert!(
            said.starts_with("a.toml:4:7: this key does not belong"),
            "{said}"
        );
    }

    #[test]
    fn one_that_has_ended_is_a_warning() {
        let said = page("afterturn.local", false, 900).unwrap();
        assert!(
            said.contains("a.toml:3:15: warning: this certificate has ended"),
            "{said}"
        );
    }

    #[test]
    fn a_file_that_is_not_there_is_named() {
        let text = b"[https]\ncertificate = \"/no/such.pem\"\nkey = \"/no/key.pem\"\n\
            [[station]]\nnumber = 1\ntitle = \"Rings\"\n[station.camera]\nkind = \"demo\"\n";
        let (settings, report) = Settings::from_bytes("a.toml", text, &|_| None).unwrap();
        let said = look_over(settings, report, false).unwrap_err().to_string();
        assert!(
            said.starts_with("a.toml:2:15: /no/such.pem cannot be read"),
            "{said}"
        );
    }

    #[test]
    fn what_the_service_is_handed_is_not_missed_by_others() {
        let text = b"[https]\ncertificate = \"/run/credentials/x.service/c.pem\"\n\
            key = \"/run/credentials/x.service/k.pem\"\n\
            [[station]]\nnumber = 1\ntitle = \"Rings\"\n[station.camera]\nkind = \"demo\"\n";
        let read = || Settings::from_bytes("a.toml", text, &|_| None).unwrap();
        let (settings, report) = read();
        let (_, report) = look_over(settings, report, true).unwrap();
        assert_eq!((report.mistakes(), report.diagnostics().len()), (0, 1));
        let (settings, report) = read();
        assert!(look_over(settings, report, false).is_err());
    }
}
