//! What every answer carries, so that a browser helps to keep the doors shut; and the look at where a request was sent.

use crate::state::App;
use axum::extract::{Request, State};
use axum::http::header::{CACHE_CONTROL, HOST};
use axum::http::{HeaderName, HeaderValue, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

const ALWAYS: [(&str, &str); 8] = [
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; \
         font-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; \
         frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    // Not "no-referrer": browsers would then send the origin "null" with forms, and their origin is what we check.
    ("referrer-policy", "same-origin"),
    ("permissions-policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("x-robots-tag", "noindex, nofollow"),
];

/// Puts the headers on whatever is answered; what a handler chose itself stays.
pub(crate) async fn put(State(app): State<App>, request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    for (name, value) in ALWAYS {
        let name = HeaderName::from_static(name);
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    }
    headers.entry(CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    if app.inner.doors.public.as_ref().is_some_and(|p| p.https) {
        let value = HeaderValue::from_static("max-age=31536000");
        headers.insert(HeaderName::from_static("strict-transport-security"), value);
    }
    response
}

/// A server without login answers to the names of this machine alone: a page elsewhere whose name was made to point here
/// would count as of the same origin.
pub(crate) async fn host(State(app): State<App>, request: Request, next: Next) -> Response {
    let host = request.headers().get(HOST).map(|h| h.to_str().unwrap_or("?").to_owned());
    let open = match (&host, app.inner.loopback) {
        (Some(host), true) => !is_this_machine(host) && !app.needs_login().await.unwrap_or(true),
        _ => false,
    };
    if open {
        let host = host.unwrap_or_default();
        let what = format!("This server answers to localhost alone, not to {host}.");
        return (StatusCode::MISDIRECTED_REQUEST, what).into_response();
    }
    next.run(request).await
}

fn is_this_machine(host: &str) -> bool {
    let name = match host.rsplit_once(':') {
        Some((name, port)) if port.bytes().all(|b| b.is_ascii_digit()) => name,
        _ => host,
    };
    let name = name.trim_start_matches('[').trim_end_matches(']');
    name.eq_ignore_ascii_case("localhost")
        || name.parse::<std::net::IpAddr>().is_ok_and(|a| a.to_canonical().is_loopback())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_names_of_this_machine_are_known() {
        for here in ["localhost", "LOCALHOST:8080", "127.0.0.1:1", "127.0.0.1", "[::1]:8080", "[::1]"] {
            assert!(is_this_machine(here), "{here}");
        }
        for elsewhere in ["localhost.example", "example:80", "10.0.0.1", "127.0.0.1.example", ""] {
            assert!(!is_this_machine(elsewhere), "{elsewhere}");
        }
    }
}
