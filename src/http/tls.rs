//! The TLS handshake: with a time limit, apart from the accept loop, and with
//! whatever certificate is the right one at that moment.
//!
//! Not here: making certificates ([`crate::door::certificate`]), and what is
//! said inside.

use std::{fmt, io, net::IpAddr, sync::Arc, time::Duration};

use rustls::{
    ServerConfig,
    crypto::ring::default_provider,
    server::{ClientHello, ResolvesServerCert},
    sign::CertifiedKey,
};
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::TcpStream,
    sync::watch,
    time::timeout,
};
use tokio_rustls::{TlsAcceptor, server::TlsStream};

use super::patience::Patient;
use crate::door::certificate::{Credential, Names, PublicAuthority};

/// A handshake takes two messages each way; a phone at the edge of the school's
/// wireless network may need some seconds for them.
const SHAKE_WITHIN: Duration = Duration::from_secs(10);

/// What the box shows of itself on the network. Replaced while it runs.
pub struct Shown {
    key: Arc<CertifiedKey>,
    /// The name and addresses it can be opened by.
    pub names: Names,
    /// The authority to trust; none where the school brought a certificate.
    pub authority: Option<PublicAuthority>,
}

impl fmt::Debug for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Shown({:?})", self.names)
    }
}

impl Shown {
    /// A credential, the names it is for, and who vouches for it.
    pub fn new(
        credential: Credential,
        names: Names,
        authority: Option<PublicAuthority>,
    ) -> Result<Self, rustls::Error> {
        let Credential { chain, key } = credential;
        let key = CertifiedKey::from_der(chain, key, &default_provider())?;
        Ok(Self {
            key: Arc::new(key),
            names,
            authority,
        })
    }

    /// Where it can be opened by number: addresses that other devices reach.
    pub fn addresses(&self) -> impl Iterator<Item = IpAddr> {
        let all = self.names.addresses.iter().copied();
        all.filter(|address| !address.is_loopback())
    }
}

/// The secure listener's half of the handshake.
#[derive(Clone)]
pub(super) struct Tls {
    acceptor: TlsAcceptor,
    shown: watch::Receiver<Arc<Shown>>,
}

#[derive(Debug)]
struct Current(watch::Receiver<Arc<Shown>>);

impl ResolvesServerCert for Current {
    fn resolve(&self, _: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        Some(Arc::clone(&self.0.borrow().key))
    }
}

impl Tls {
    pub(super) fn new(shown: watch::Receiver<Arc<Shown>>) -> Self {
        // The provider is named here, so that nothing hangs on what else is
        // linked or was installed before.
        let mut config = ServerConfig::builder_with_provider(Arc::new(default_provider()))
            .with_safe_default_protocol_versions()
            .expect("ring has the cipher suites of TLS 1.2 and 1.3")
            .with_no_client_auth()
            .with_cert_resolver(Arc::new(Current(shown.clone())));
        // A WebSocket needs HTTP/1.1, and a browser that was offered HTTP/2
        // would try it over that.
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Self {
            acceptor: TlsAcceptor::from(Arc::new(config)),
            shown,
        }
    }

    /// What the box is called now.
    pub(super) fn name(&self) -> Arc<str> {
        self.shown.borrow().names.name.as_str().into()
    }

    /// The encrypted stream, unless the peer is silent, too slow, or speaks
    /// something else; it takes what it is sent within so long.
    pub(super) async fn shake(
        &self,
        stream: TcpStream,
        takes_within: Duration,
    ) -> Option<TlsStream<Patient<TcpStream>>> {
        let shaken = timeout(SHAKE_WITHIN, async {
            if speaks_plain_http(&stream).await? {
                tell_to_write_https(stream).await?;
                return Err(io::Error::other("plain HTTP"));
            }
            let stream = Patient::new(stream, takes_within);
            self.acceptor.accept(stream).await
        });
        match shaken.await {
            Ok(Ok(stream)) => Some(stream),
            Ok(Err(error)) => {
                tracing::debug!(%error, "no handshake");
                None
            }
            Err(_) => {
                tracing::debug!("no handshake in time");
                None
            }
        }
    }
}

/// A record of TLS starts with its kind, 22 (RFC 8446 §5.1); a request with the
/// letters of its method.
async fn speaks_plain_http(stream: &TcpStream) -> io::Result<bool> {
    let mut first = [0];
    let read = stream.peek(&mut first).await?;
    Ok(read == 1 && first[0].is_ascii_uppercase())
}

/// The commonest mistake with an address that has a port: browsers then try
/// `http://`.
async fn tell_to_write_https(mut stream: TcpStream) -> io::Result<()> {
    const WORDS: &str = "Write https:// in front of this address.\n\
        Escriba https:// delante de esta dirección.\n";
    // A connection closed with something unread is reset, and the answer lost.
    let mut request = [0; 4096];
    let _ = stream.read(&mut request).await?;
    let answer = format!(
        "HTTP/1.1 400 Bad Request\r\ncontent-type: text/plain; charset=utf-8\r\n\
         content-length: {}\r\nconnection: close\r\n\r\n{WORDS}",
        WORDS.len()
    );
    stream.write_all(answer.as_bytes()).await?;
    stream.shutdown().await
}
