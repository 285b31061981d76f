//! A certificate of the server's own, for a house without a proxy: read at the start, and again when its file changes.

use axum_server::tls_rustls::RustlsConfig;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, SystemTime};

/// How often it is looked whether the certificate was renewed.
const LOOK_EVERY: Duration = Duration::from_secs(600);

/// Where a certificate is, both as PEM.
#[derive(Debug, Clone)]
pub struct Certificate {
    /// The certificate, and those that it stands on.
    pub chain: PathBuf,
    /// Its private key.
    pub key: PathBuf,
}

/// Why a certificate cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum CertificateError {
    /// A file cannot be read.
    #[error("{path} cannot be read: {why}")]
    Read {
        /// Which.
        path: PathBuf,
        /// What the system says.
        why: io::Error,
    },
    /// What stands in them is no certificate with its key.
    #[error(
        "{} and {} are no certificate with its key: {why}; PEM files are accepted, the server's own certificate first",
        at.chain.display(), at.key.display()
    )]
    Unusable {
        /// Where it is.
        at: Certificate,
        /// What is wrong.
        why: io::Error,
    },
}

impl Certificate {
    /// The certificate as it is now.
    pub(crate) async fn read(&self) -> Result<RustlsConfig, CertificateError> {
        let bytes = |path: &Path| {
            let path = path.to_owned();
            async move {
                tokio::fs::read(&path).await.map_err(|why| CertificateError::Read { path: path.clone(), why })
            }
        };
        let (chain, key) = (bytes(&self.chain).await?, bytes(&self.key).await?);
        let read = RustlsConfig::from_pem(chain, key);
        let read = read.await.map_err(|why| CertificateError::Unusable { at: self.clone(), why })?;
        // The app speaks HTTP/1.1: nothing else is offered.
        let mut offered = (*read.get_inner()).clone();
        offered.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(RustlsConfig::from_config(Arc::new(offered)))
    }

    fn changed(&self) -> Option<SystemTime> {
        let of = |path: &Path| std::fs::metadata(path).and_then(|m| m.modified()).ok();
        of(&self.chain).max(of(&self.key))
    }

    /// Takes renewed certificates into use, as long as the server runs.
    pub(crate) async fn follow(self, used: RustlsConfig) {
        let mut seen = self.changed();
        loop {
            tokio::time::sleep(LOOK_EVERY).await;
            seen = self.renewed(&used, seen).await;
        }
    }

    /// Takes the certificate into use if its files changed since. One that cannot be used changes nothing and is tried
    /// again.
    async fn renewed(&self, used: &RustlsConfig, seen: Option<SystemTime>) -> Option<SystemTime> {
        let now = self.changed();
        if now == seen {
            return seen;
        }
        match self.read().await {
            Ok(renewed) => {
                used.reload_from_config(renewed.get_inner());
                tracing::info!("the renewed certificate is in use");
                now
            }
            Err(why) => {
                tracing::warn!(%why, "the old certificate stays in use");
                seen
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn write(at: &Certificate, seconds: u64) {
        let made = rcgen::generate_simple_self_signed(["tubs.example".to_owned()]).unwrap();
        std::fs::write(&at.chain, made.cert.pem()).unwrap();
        std::fs::write(&at.key, made.signing_key.serialize_pem()).unwrap();
        stamp(at, seconds);
    }

    fn stamp(at: &Certificate, seconds: u64) {
        for path in [&at.chain, &at.key] {
            let file = std::fs::File::options().append(true).open(path).unwrap();
            file.set_modified(SystemTime::UNIX_EPOCH + Duration::from_secs(seconds)).unwrap();
        }
    }

    #[tokio::test]
    async fn a_renewed_certificate_is_used_and_a_broken_one_is_not() {
        let folder = tempfile::tempdir().unwrap();
        let at = Certificate { chain: folder.path().join("chain.pem"), key: folder.path().join("key.pem") };
        write(&at, 1000);
        let used = at.read().await.unwrap();
        let (first, seen) = (used.get_inner(), at.changed());
        assert_eq!(at.renewed(&used, seen).await, seen);
        assert!(Arc::ptr_eq(&first, &used.get_inner()), "nothing changed");

        std::fs::write(&at.chain, "half a file").unwrap();
        stamp(&at, 2000);
        assert_eq!(at.renewed(&used, seen).await, seen);
        assert!(Arc::ptr_eq(&first, &used.get_inner()), "the old one stays");

        write(&at, 3000);
        assert_eq!(at.renewed(&used, seen).await, at.changed());
        assert!(!Arc::ptr_eq(&first, &used.get_inner()), "the new one is in use");
    }

    #[tokio::test]
    async fn what_is_wrong_with_a_certificate_is_said_with_its_file() {
        let folder = tempfile::tempdir().unwrap();
        let at = Certificate { chain: folder.path().join("chain.pem"), key: folder.path().join("key.pem") };
        let said = at.read().await.unwrap_err().to_string();
        assert!(said.contains("chain.pem cannot be read"), "{said}");
        write(&at, 1000);
        std::fs::write(&at.key, "no key").unwrap();
        let said = at.read().await.unwrap_err().to_string();
        assert!(said.contains("key.pem are no certificate with its key"), "{said}");
    }
}
