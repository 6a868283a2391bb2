//! TLS to the database, as far as `sslmode` asks for it.

use super::super::Error;
use super::super::address::{Address, Tls};
use rustls::client::WebPkiServerVerifier;
use rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
use rustls::crypto::{CryptoProvider, ring, verify_tls12_signature, verify_tls13_signature};
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use rustls::{CertificateError, ClientConfig, DigitallySignedStruct, RootCertStore, SignatureScheme};
use std::sync::Arc;
use tokio_postgres_rustls::MakeRustlsConnect;

/// How far whoever answers is looked at.
#[derive(Debug)]
struct Watchful {
    provider: Arc<CryptoProvider>,
    /// None: anybody is believed, as `prefer` and `require` say.
    authorities: Option<Arc<WebPkiServerVerifier>>,
    /// Its name must be the one that was asked for.
    by_name: bool,
}

/// What connects.
///
/// # Errors
/// The file of authorities can't be read, or there is none where one is needed.
pub(super) fn connector(address: &Address) -> Result<MakeRustlsConnect, Error> {
    let wrong = |why: String| Error::Address { shown: address.shown.clone(), why };
    let provider = Arc::new(ring::default_provider());
    let verifies = matches!(address.tls, Tls::VerifyAuthority | Tls::VerifyFull);
    let authorities = match &address.authorities {
        // A file of authorities makes `require` look at them, as with every client.
        Some(path) if verifies || address.tls == Tls::Require => {
            let unreadable = |error: String| wrong(format!("{} is no file of authorities ({error})", path.display()));
            let mut store = RootCertStore::empty();
            for certificate in CertificateDer::pem_file_iter(path).map_err(|error| unreadable(error.to_string()))? {
                let certificate = certificate.map_err(|error| unreadable(error.to_string()))?;
                store.add(certificate).map_err(|error| unreadable(error.to_string()))?;
            }
            let verifier = WebPkiServerVerifier::builder_with_provider(Arc::new(store), provider.clone()).build();
            Some(verifier.map_err(|error| unreadable(error.to_string()))?)
        }
        None if verifies => {
            return Err(wrong(
                "sslmode asks for authorities, and neither sslrootcert nor ~/.postgresql/root.crt is there".to_owned(),
            ));
        }
        _ => None,
    };
    let watchful = Watchful { provider: provider.clone(), authorities, by_name: address.tls == Tls::VerifyFull };
    let config = ClientConfig::builder_with_provider(provider).with_safe_default_protocol_versions();
    let config = config.map_err(|error| wrong(error.to_string()))?;
    let config = config.dangerous().with_custom_certificate_verifier(Arc::new(watchful)).with_no_client_auth();
    Ok(MakeRustlsConnect::new(config))
}

impl ServerCertVerifier for Watchful {
    fn verify_server_cert(
        &self,
        certificate: &CertificateDer<'_>,
        between: &[CertificateDer<'_>],
        name: &ServerName<'_>,
        ocsp: &[u8],
        now: UnixTime,
    ) -> Result<ServerCertVerified, rustls::Error> {
        let Some(authorities) = &self.authorities else { return Ok(ServerCertVerified::assertion()) };
        match authorities.verify_server_cert(certificate, between, name, ocsp, now) {
            // The chain was looked at before the name.
            Err(rustls::Error::InvalidCertificate(
                CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. },
            )) if !self.by_name => Ok(ServerCertVerified::assertion()),
            other => other,
        }
    }

    fn verify_tls12_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, rustls::Error> {
        verify_tls12_signature(message, certificate, signed, &self.provider.signature_verification_algorithms)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, rustls::Error> {
        verify_tls13_signature(message, certificate, signed, &self.provider.signature_verification_algorithms)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.provider.signature_verification_algorithms.supported_schemes()
    }
}
