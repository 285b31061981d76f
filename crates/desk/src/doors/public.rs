//! The address that people use, where a proxy with the certificate stands in front of the server, or it has its own.

use axum::http::Uri;
use std::fmt;
use std::str::FromStr;

/// `https://water.example` or, without any protection, `http://…`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PublicUrl {
    /// Whether it is https.
    pub https: bool,
    /// Host, with the port if it is not the usual one.
    pub host: String,
    /// Whether a proxy of ours stands between, which tells where a request comes from.
    pub proxied: bool,
}

impl PublicUrl {
    /// The same, reached without a proxy.
    #[must_use]
    pub fn direct(self) -> PublicUrl {
        PublicUrl { proxied: false, ..self }
    }
}

impl FromStr for PublicUrl {
    type Err = String;

    fn from_str(text: &str) -> Result<PublicUrl, String> {
        let wrong =
            || format!("\"{text}\" cannot be used; https:// and a host name is accepted, without a path");
        let uri: Uri = text.parse().map_err(|_| wrong())?;
        let https = match uri.scheme_str() {
            Some("https") => true,
            Some("http") => false,
            _ => return Err(wrong()),
        };
        let authority = uri.authority().filter(|a| !a.as_str().contains('@')).ok_or_else(wrong)?;
        if !matches!(uri.path(), "" | "/") || uri.query().is_some() {
            return Err(wrong());
        }
        Ok(PublicUrl { https, host: authority.as_str().to_lowercase(), proxied: true })
    }
}

impl fmt::Display for PublicUrl {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}://{}", if self.https { "https" } else { "http" }, self.host)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_origin_is_accepted_and_nothing_else() {
        let url: PublicUrl = "https://Water.example/".parse().unwrap();
        assert_eq!((url.https, url.to_string().as_str()), (true, "https://water.example"));
        for wrong in ["water.example", "https://", "https://a/b", "ftp://a", "https://u:p@a", "https://a/?q"]
        {
            assert!(wrong.parse::<PublicUrl>().is_err(), "{wrong}");
        }
    }
}
