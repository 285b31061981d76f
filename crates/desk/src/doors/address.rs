//! Where a request comes from.

use crate::state::App;
use axum::extract::ConnectInfo;
use axum::http::{Extensions, HeaderMap};
use std::net::{IpAddr, SocketAddr};

/// The asker's network address. Behind a proxy of ours it is the last that the proxy names; what others wrote into that
/// header before it is not believed.
pub(crate) fn of(app: &App, headers: &HeaderMap, extensions: &Extensions) -> Option<IpAddr> {
    let peer = extensions.get::<ConnectInfo<SocketAddr>>().map(|c| c.0.ip().to_canonical());
    let proxied = app.inner.doors.public.as_ref().is_some_and(|p| p.proxied);
    if !proxied || !peer.is_none_or(is_near) {
        return peer;
    }
    let last = headers.get_all("x-forwarded-for").iter().next_back().and_then(|h| h.to_str().ok());
    let named = last.and_then(|h| h.rsplit(',').next()).and_then(|a| a.trim().parse::<IpAddr>().ok());
    named.map(|a| a.to_canonical()).or(peer)
}

/// On this machine or in a private network, where a proxy of ours stands.
fn is_near(address: IpAddr) -> bool {
    match address {
        IpAddr::V4(v4) => v4.is_loopback() || v4.is_private(),
        IpAddr::V6(v6) => v6.is_loopback() || v6.is_unique_local(),
    }
}

/// Whom a limit counts together: an IPv4 address, or the /64 network that one household has.
pub(crate) fn asker(address: Option<IpAddr>) -> String {
    match address {
        None => "unknown".into(),
        Some(IpAddr::V4(v4)) => v4.to_string(),
        Some(IpAddr::V6(v6)) => {
            let [a, b, c, d, ..] = v6.segments();
            format!("{a:x}:{b:x}:{c:x}:{d:x}::/64")
        }
    }
}
