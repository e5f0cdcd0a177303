//! The box's own authority: made once, kept with its key, signs the leaves.
//!
//! Its key is kept rather than forgotten after the first leaf: a leaf names the
//! box's addresses, and when those change a technician would have to visit
//! every device again. What a thief of the key can do is held down by the
//! constraints in the certificate itself.
//!
//! Not here: where it is kept, and when a leaf is due.

use std::fmt;

use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DistinguishedName, DnType,
    ExtendedKeyUsagePurpose, GeneralSubtree, IsCa, Issuer, KeyPair, KeyUsagePurpose,
    NameConstraints, PublicKeyData as _, SanType,
};
use rustls::pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer, pem::PemObject as _};
use sha2::{Digest as _, Sha256};
use time::OffsetDateTime;
use x509_parser::{certificate::X509Certificate, extensions::GeneralName, parse_x509_certificate};

use super::{BACKDATED_S, Credential, DAY_S, Facts, LEAST_NOW_S, Names, RANGES, UnixSeconds};

/// Longer than the devices that trust it last.
const AUTHORITY_S: UnixSeconds = 3_650 * DAY_S;
/// A school year's notice before every device has to trust a new authority.
const REMIND_S: UnixSeconds = 365 * DAY_S;
/// Apple's systems take a certificate of at most 825 days under an authority
/// that somebody added (Apple, "Requirements for trusted certificates in iOS 13
/// and macOS 10.15"); the day less is for those who count the ends differently.
/// As long as that, because a box without a clock battery and without a network
/// falls behind, and would renew too late.
const LEAF_S: UnixSeconds = 824 * DAY_S;

/// Why an authority could not be had or did not sign.
#[derive(Debug, thiserror::Error)]
pub enum AuthorityError {
    /// The text is not what we write.
    #[error("it does not hold an authority of ours and its key")]
    Unreadable,
    /// Making or signing failed.
    #[error("the certificate could not be made: {0}")]
    Making(#[from] rcgen::Error),
}

/// The box's authority with its private key.
pub struct Authority {
    certificate: CertificateDer<'static>,
    key: KeyPair,
}

/// What of an authority may be shown to anybody: its certificate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PublicAuthority {
    /// The certificate as bytes.
    pub der: Vec<u8>,
    /// The same as text (RFC 7468).
    pub pem: String,
    /// SHA-256 over `der`, as operating systems show it: `AB:CD:…`.
    pub fingerprint: String,
}

/// How an authority stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Devices that trust it take what it signs.
    Good,
    /// They do for so many days more.
    EndsIn(i64),
    /// They would not if this is the date; the words are for the log.
    OutOfDate(&'static str),
    /// They do not, whatever the date; likewise.
    Unfit(&'static str),
}

/// A leaf with its key.
#[derive(Clone, Debug)]
pub struct Issued {
    /// What the server shows and signs with.
    pub credential: Credential,
    /// What it says.
    pub facts: Facts,
}

impl fmt::Debug for Authority {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Authority")
    }
}

impl Authority {
    /// Makes one for a name. It is good from when this program was written: one
    /// that was made while the clock was ahead is, too, once the clock is right.
    pub fn make(name: &str, now_s: UnixSeconds) -> Result<Self, AuthorityError> {
        let key = KeyPair::generate()?;
        let mark = hex(&Sha256::digest(key.der_bytes())[..2], "");
        let name_and_mark = format!("Afterturn box {name} {mark}");
        let mut params = params(&name_and_mark, LEAST_NOW_S, now_s + AUTHORITY_S)?;
        params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
        params.key_usages = vec![KeyUsagePurpose::KeyCertSign];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.name_constraints = Some(NameConstraints {
            permitted_subtrees: permitted(name),
            excluded_subtrees: Vec::new(),
        });
        let certificate = params.self_signed(&key)?.der().clone();
        Ok(Self { certificate, key })
    }

    /// Reads what [`Self::to_pem`] wrote.
    pub fn read(text: &str) -> Result<Self, AuthorityError> {
        let (certificate, key) = bundle(text).ok_or(AuthorityError::Unreadable)?;
        let key = KeyPair::try_from(&key).map_err(|_| AuthorityError::Unreadable)?;
        let authority = Self { certificate, key };
        let fits = authority
            .parsed()
            .is_some_and(|parsed| parsed.is_ca() && is_key_of(&authority.key, &parsed));
        fits.then_some(authority).ok_or(AuthorityError::Unreadable)
    }

    /// Certificate and key as one text, to be kept where only we read it.
    #[must_use]
    pub fn to_pem(&self) -> String {
        pem("CERTIFICATE", &self.certificate) + &pem("PRIVATE KEY", self.key.serialized_der())
    }

    /// What may be shown to anybody.
    #[must_use]
    pub fn public(&self) -> PublicAuthority {
        PublicAuthority {
            der: self.certificate.to_vec(),
            pem: pem("CERTIFICATE", &self.certificate),
            fingerprint: hex(&Sha256::digest(&self.certificate), ":"),
        }
    }

    /// Whether devices would take what it signs for this name now.
    #[must_use]
    pub fn standing(&self, name: &str, now_s: UnixSeconds) -> Standing {
        let Some(certificate) = self.parsed() else {
            return Standing::Unfit("it cannot be read");
        };
        let facts = Facts::of(&certificate);
        let constraints = certificate.name_constraints().ok().flatten();
        let subtrees = constraints.and_then(|all| all.value.permitted_subtrees.as_ref());
        let for_name = subtrees.into_iter().flatten().any(
            |subtree| matches!(subtree.base, GeneralName::DNSName(permitted) if permitted == name),
        );
        let left_s = facts.not_after_s.saturating_sub(now_s);
        if !for_name {
            Standing::Unfit("it is for another name")
        } else if now_s < facts.not_before_s {
            Standing::OutOfDate("it is not good yet")
        } else if left_s <= 0 {
            Standing::OutOfDate("its time is over")
        } else if left_s < REMIND_S {
            Standing::EndsIn(left_s / DAY_S)
        } else {
            Standing::Good
        }
    }

    /// The end of its life, and so of every leaf's.
    #[must_use]
    pub fn ends_s(&self) -> UnixSeconds {
        self.parsed()
            .map_or(0, |parsed| parsed.validity().not_after.timestamp())
    }

    /// When it was made, by the box's date of then.
    #[must_use]
    pub fn made_s(&self) -> UnixSeconds {
        self.ends_s().saturating_sub(AUTHORITY_S)
    }

    /// Signs a leaf with a key of its own. It ends no later than the authority.
    pub fn issue(&self, names: &Names, now_s: UnixSeconds) -> Result<Issued, AuthorityError> {
        let key = KeyPair::generate()?;
        let ends_s = self.ends_s().min(now_s - BACKDATED_S + LEAF_S);
        let mut params = params(&names.name, now_s, ends_s)?;
        params.is_ca = IsCa::ExplicitNoCa;
        params.use_authority_key_identifier_extension = true;
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.subject_alt_names = vec![SanType::DnsName(names.name.as_str().try_into()?)];
        let addresses = names.addresses.iter().copied().map(SanType::IpAddress);
        params.subject_alt_names.extend(addresses);
        let issuer = Issuer::from_ca_cert_der(&self.certificate, &self.key)?;
        let certificate = params.signed_by(&key, &issuer)?.der().clone();
        let facts = Facts::read(&certificate).ok_or(AuthorityError::Unreadable)?;
        let key = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(key.serialize_der()));
        let credential = Credential {
            chain: vec![certificate],
            key,
        };
        Ok(Issued { credential, facts })
    }

    /// Reads a leaf that [`Issued::to_pem`] wrote, if this authority signed it
    /// and the key is its own.
    #[must_use]
    pub fn read_issued(&self, text: &str) -> Option<Issued> {
        let (leaf, key) = bundle(text)?;
        let pair = KeyPair::try_from(&key).ok()?;
        let facts = {
            let (_, parsed) = parse_x509_certificate(&leaf).ok()?;
            let signed = parsed.verify_signature(Some(self.parsed()?.public_key()));
            if !is_key_of(&pair, &parsed) || signed.is_err() {
                return None;
            }
            Facts::of(&parsed)
        };
        let credential = Credential {
            chain: vec![leaf],
            key: PrivateKeyDer::Pkcs8(key),
        };
        Some(Issued { credential, facts })
    }

    fn parsed(&self) -> Option<X509Certificate<'_>> {
        Some(parse_x509_certificate(&self.certificate).ok()?.1)
    }
}

impl Issued {
    /// Certificate and key as one text, to be kept where only we read it.
    #[must_use]
    pub fn to_pem(&self) -> String {
        let chain = self.credential.chain.iter();
        let chain: String = chain.map(|der| pem("CERTIFICATE", der)).collect();
        chain + &pem("PRIVATE KEY", self.credential.key.secret_der())
    }
}

fn params(
    common_name: &str,
    now_s: UnixSeconds,
    ends_s: UnixSeconds,
) -> Result<CertificateParams, rcgen::Error> {
    // A year beyond 9999 cannot be written (RFC 5280 §4.1.2.5).
    let at = |s| OffsetDateTime::from_unix_timestamp(s).map_err(|_| rcgen::Error::Time);
    let mut params = CertificateParams::default();
    params.not_before = at(now_s - BACKDATED_S)?;
    params.not_after = at(ends_s)?;
    let mut name = DistinguishedName::new();
    name.push(DnType::OrganizationName, "Afterturn");
    name.push(DnType::CommonName, common_name);
    params.distinguished_name = name;
    Ok(params)
}

/// The fence: the one name (and names below it) and private addresses.
fn permitted(name: &str) -> Vec<GeneralSubtree> {
    let ranges = RANGES
        .iter()
        .map(|(first, prefix)| CidrSubnet::from_addr_prefix(*first, *prefix));
    std::iter::once(GeneralSubtree::DnsName(name.to_owned()))
        .chain(ranges.map(GeneralSubtree::IpAddress))
        .collect()
}

fn is_key_of(key: &KeyPair, certificate: &X509Certificate<'_>) -> bool {
    *certificate.public_key().subject_public_key.data == *key.der_bytes()
}

/// The first certificate and the key of a text.
fn bundle(text: &str) -> Option<(CertificateDer<'static>, PrivatePkcs8KeyDer<'static>)> {
    let certificate = CertificateDer::from_pem_slice(text.as_bytes()).ok()?;
    let key = PrivatePkcs8KeyDer::from_pem_slice(text.as_bytes()).ok()?;
    Some((certificate, key))
}

fn pem(tag: &str, der: &[u8]) -> String {
    let lines = pem::EncodeConfig::new().set_line_ending(pem::LineEnding::LF);
    pem::encode_config(&pem::Pem::new(tag, der), lines)
}

fn hex(bytes: &[u8], between: &str) -> String {
    let pairs: Vec<String> = bytes.iter().map(|byte| format!("{byte:02X}")).collect();
    pairs.join(between)
}
