//! The server behind its own certificate, asked over TLS as a browser would.

use crate::house;

use book::{Book, Place};
use desk::{Certificate, Config, accounts};
use house::{PASSWORD, run};
use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio::sync::oneshot;
use tokio_rustls::TlsConnector;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{ClientConfig, RootCertStore};

/// The certificate's files, and what a client trusts.
fn certified(folder: &Path) -> (Certificate, CertificateDer<'static>) {
    let made = rcgen::generate_simple_self_signed(["tubs.example".to_owned()]).expect("a certificate");
    let at = Certificate { chain: folder.join("chain.pem"), key: folder.join("key.pem") };
    std::fs::write(&at.chain, made.cert.pem()).expect("written");
    std::fs::write(&at.key, made.signing_key.serialize_pem()).expect("written");
    (at, made.cert.der().clone())
}

/// One request by its text; the whole answer, and the protocol that was agreed on.
async fn ask(
    address: SocketAddr,
    trusted: &CertificateDer<'static>,
    request: &str,
) -> (String, Option<Vec<u8>>) {
    let mut roots = RootCertStore::empty();
    roots.add(trusted.clone()).expect("a root");
    let mut config = ClientConfig::builder().with_root_certificates(roots).with_no_client_auth();
    config.alpn_protocols = vec![b"h2".to_vec(), b"http/1.1".to_vec()];
    let name = ServerName::try_from("tubs.example").expect("a name");
    let tcp = TcpStream::connect(address).await.expect("reached");
    let mut tls = TlsConnector::from(Arc::new(config)).connect(name, tcp).await.expect("a sound certificate");
    let agreed = tls.get_ref().1.alpn_protocol().map(<[u8]>::to_vec);
    tls.write_all(request.as_bytes()).await.expect("sent");
    let mut answer = Vec::new();
    tls.read_to_end(&mut answer).await.expect("answered");
    (String::from_utf8_lossy(&answer).into_owned(), agreed)
}

#[test]
fn a_server_with_its_own_certificate_answers_over_tls_and_believes_no_forwarded_address() {
    run(async {
        let folder = tempfile::tempdir().expect("a folder");
        let (certificate, trusted) = certified(folder.path());
        let place = Place::file(&folder.path().join("t.book")).expect("a place");
        let book = Book::open(&place).await.expect("a book");
        accounts::add(&book, "ann", "Ann (invented)", "lead", PASSWORD, 0).await.expect("an account");
        book.close().await;

        let config = Config {
            book: place,
            listen: "127.0.0.1:0".parse().expect("an address"),
            demo: false,
            public: Some("https://tubs.example".parse().expect("an address")),
            certificate: Some(certificate),
        };
        let (tell, told) = oneshot::channel();
        let (stop, stopped) = oneshot::channel::<()>();
        let served =
            tokio::spawn(desk::serve(config, |address| tell.send(address).expect("awaited"), async {
                stopped.await.unwrap_or_default()
            }));
        let address = told.await.expect("it answers");

        let (page, agreed) =
            ask(address, &trusted, "GET /login HTTP/1.1\r\nhost: tubs.example\r\nconnection: close\r\n\r\n")
                .await;
        assert_eq!(agreed.as_deref(), Some(b"http/1.1".as_slice()));
        assert!(page.starts_with("HTTP/1.1 200"), "{page}");
        assert!(page.contains("strict-transport-security: max-age="), "{page}");

        // Ten tries an address: a header that names others does not make them another's.
        let mut last = String::new();
        for n in 0..12 {
            let form = format!("login=name{n}&password=wrong+wrong+wrong");
            let request = format!(
                "POST /login HTTP/1.1\r\nhost: tubs.example\r\norigin: https://tubs.example\r\n\
                 x-forwarded-for: 198.51.100.{n}\r\ncontent-type: application/x-www-form-urlencoded\r\n\
                 content-length: {}\r\nconnection: close\r\n\r\n{form}",
                form.len()
            );
            last = ask(address, &trusted, &request).await.0;
        }
        assert!(last.starts_with("HTTP/1.1 429"), "{last}");

        stop.send(()).expect("listening");
        served.await.expect("no panic").expect("a clean end");
    });
}
