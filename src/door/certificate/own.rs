//! A certificate that the school brings: is it one, does the key belong to it,
//! is it for the box's name, and is it in date?
//!
//! Not here: reading the files, and where in the config they are named.

use rustls::{
    Error, InconsistentKeys,
    crypto::ring::default_provider,
    pki_types::{CertificateDer, PrivateKeyDer, pem::PemObject as _},
    sign::CertifiedKey,
};

use super::{Credential, DAY_S, Facts, UnixSeconds};

/// A certificate that ends sooner is mentioned.
const REMIND_S: UnixSeconds = 30 * DAY_S;

/// A certificate that can be used.
#[derive(Debug)]
pub struct Own {
    /// Chain and key.
    pub credential: Credential,
    /// What the first of the chain says.
    pub facts: Facts,
    /// What somebody should look at; it is used all the same.
    pub remarks: Vec<OwnTrouble>,
}

/// Which of the two files.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OwnFile {
    /// `certificate`
    Certificate,
    /// `key`
    Key,
}

/// Something wrong with one of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnTrouble {
    /// With which.
    pub file: OwnFile,
    /// What.
    pub message: String,
    /// What to do.
    pub fix: String,
}

fn trouble(file: OwnFile, message: impl Into<String>, fix: impl Into<String>) -> OwnTrouble {
    OwnTrouble {
        file,
        message: message.into(),
        fix: fix.into(),
    }
}

/// Reads and checks the two files' bytes for a box called `name`.
pub fn read(
    certificate: &[u8],
    key: &[u8],
    name: &str,
    now_s: UnixSeconds,
) -> Result<Own, OwnTrouble> {
    let chain = chain(certificate)?;
    let key = private_key(key)?;
    let facts = Facts::read(&chain[0]).ok_or_else(|| unreadable(OwnFile::Certificate))?;
    belongs(chain.clone(), key.clone_key())?;
    fits(&facts, name)?;
    let remarks = remarks(&facts, now_s);
    Ok(Own {
        credential: Credential { chain, key },
        facts,
        remarks,
    })
}

fn chain(text: &[u8]) -> Result<Vec<CertificateDer<'static>>, OwnTrouble> {
    let chain: Result<Vec<_>, _> = CertificateDer::pem_slice_iter(text).collect();
    match chain {
        Ok(chain) if !chain.is_empty() => Ok(chain),
        Ok(_) if PrivateKeyDer::from_pem_slice(text).is_ok() => Err(trouble(
            OwnFile::Certificate,
            "this file holds a private key, not a certificate",
            "exchange `certificate` and `key`",
        )),
        _ => Err(unreadable(OwnFile::Certificate)),
    }
}

fn private_key(text: &[u8]) -> Result<PrivateKeyDer<'static>, OwnTrouble> {
    if let Ok(key) = PrivateKeyDer::from_pem_slice(text) {
        return Ok(key);
    }
    let text = String::from_utf8_lossy(text);
    if text.contains("ENCRYPTED") {
        return Err(trouble(
            OwnFile::Key,
            "this key is locked with a passphrase, and nobody types it when the box starts",
            "save it without one, for the service alone: openssl pkey -in locked.pem -out key.pem",
        ));
    }
    if text.contains("-----BEGIN CERTIFICATE-----") {
        return Err(trouble(
            OwnFile::Key,
            "this file holds a certificate, not its private key",
            "name the key that the certificate was asked for with",
        ));
    }
    Err(unreadable(OwnFile::Key))
}

fn unreadable(file: OwnFile) -> OwnTrouble {
    let (what, tag) = match file {
        OwnFile::Certificate => ("certificate", "CERTIFICATE"),
        OwnFile::Key => ("private key", "PRIVATE KEY"),
    };
    trouble(
        file,
        format!("this file holds no {what} that can be read"),
        format!("it has to be PEM: text that begins with -----BEGIN {tag}-----"),
    )
}

fn belongs(
    chain: Vec<CertificateDer<'static>>,
    key: PrivateKeyDer<'static>,
) -> Result<(), OwnTrouble> {
    match CertifiedKey::from_der(chain, key, &default_provider()) {
        Ok(_) => Ok(()),
        Err(Error::InconsistentKeys(InconsistentKeys::KeyMismatch)) => Err(trouble(
            OwnFile::Key,
            "this key does not belong to the certificate",
            "name the key that the certificate was asked for with",
        )),
        Err(_) => Err(trouble(
            OwnFile::Key,
            "this kind of key cannot be used",
            "use ECDSA P-256 or P-384, Ed25519, or RSA with 2048 bits or more",
        )),
    }
}

fn fits(facts: &Facts, name: &str) -> Result<(), OwnTrouble> {
    let refuse = |message: String, fix: &str| Err(trouble(OwnFile::Certificate, message, fix));
    if facts.is_authority {
        return refuse(
            "the first certificate in this file is an authority, not a server's own".to_owned(),
            "put the server's certificate first and those that signed it below",
        );
    }
    if !facts.for_servers {
        return refuse(
            "this certificate may not be used by a server".to_owned(),
            "ask for one with the extended key usage serverAuth",
        );
    }
    if !facts.covers(name) {
        let names: Vec<&str> = facts.names.iter().map(String::as_str).collect();
        let names = if names.is_empty() {
            "no name at all".to_owned()
        } else {
            names.join(", ")
        };
        return refuse(
            format!("this certificate is for {names}, not for {name}"),
            "set `name` to one of its names, or ask for a certificate with this one",
        );
    }
    Ok(())
}

fn remarks(facts: &Facts, now_s: UnixSeconds) -> Vec<OwnTrouble> {
    let left_s = facts.not_after_s - now_s;
    let message = if now_s < facts.not_before_s {
        "this certificate is not good yet; is the date of this machine right?".to_owned()
    } else if left_s <= 0 {
        "this certificate has ended: devices will warn of it".to_owned()
    } else if left_s < REMIND_S {
        format!("this certificate ends in {} days", left_s / DAY_S)
    } else {
        return Vec::new();
    };
    let fix = "put a newer one in its place";
    vec![trouble(OwnFile::Certificate, message, fix)]
}
