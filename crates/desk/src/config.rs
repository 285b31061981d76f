//! What `tubwright serve` is told.

use crate::certificate::Certificate;
use crate::doors::public::PublicUrl;
use book::Place;
use std::net::SocketAddr;

/// How to serve.
#[derive(Debug, Clone)]
pub struct Config {
    /// Where the book is.
    pub book: Place,
    /// Where to listen; port 0 picks a free one.
    pub listen: SocketAddr,
    /// Whether what is shown is the invented demonstration.
    pub demo: bool,
    /// The address that people use, where it is not this machine's own.
    pub public: Option<PublicUrl>,
    /// The server's own certificate; without one, a proxy with a certificate stands before `public`.
    pub certificate: Option<Certificate>,
}
