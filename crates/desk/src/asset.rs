//! Style and scripts, built into the program.

use crate::policy::{Role, Rule};
use crate::state::App;
use axum::Router;
use axum::extract::Path;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::http::{Method, StatusCode};
use axum::response::{IntoResponse, Response};
use axum::routing::get;

const STYLE: &str = concat!(
    include_str!("../assets/base.css"),
    include_str!("../assets/doors.css"),
    include_str!("../assets/plan.css"),
    include_str!("../assets/practice.css"),
    include_str!("../assets/reading.css"),
    include_str!("../assets/sheet.css"),
    include_str!("../assets/things.css"),
    include_str!("../assets/tub.css"),
);

const SCRIPT: &str = concat!(
    include_str!("../assets/store.js"),
    include_str!("../assets/queue.js"),
    include_str!("../assets/reading.js"),
);

/// The worker is one file with what it shares with the pages, so that it needs no other to start.
const WORKER: &str = concat!(include_str!("../assets/store.js"), include_str!("../assets/sw.js"));

/// File, media type, content. Addresses change with the content (`?v=`), so they may be kept for long.
const FILES: [(&str, &str, &str); 4] = [
    ("app.js", "text/javascript; charset=utf-8", SCRIPT),
    ("icon.svg", "image/svg+xml", include_str!("../assets/icon.svg")),
    ("style.css", "text/css; charset=utf-8", STYLE),
    ("what-if.js", "text/javascript; charset=utf-8", include_str!("../assets/what-if.js")),
];

pub(crate) const RULES: &[Rule] =
    &[(Method::GET, "/assets/{name}", Role::Nobody), (Method::GET, "/sw.js", Role::Nobody)];

pub(crate) fn routes() -> Router<App> {
    Router::new().route("/assets/{name}", get(file)).route("/sw.js", get(worker))
}

async fn file(Path(name): Path<String>) -> Response {
    match FILES.iter().find(|(file, ..)| *file == name) {
        Some((_, media, content)) => {
            ([(CONTENT_TYPE, *media), (CACHE_CONTROL, "public, max-age=31536000, immutable")], *content)
                .into_response()
        }
        None => StatusCode::NOT_FOUND.into_response(),
    }
}

/// The service worker, at the root so that it serves every page.
async fn worker() -> Response {
    let version = format!("{:016x}", fingerprint(STYLE) ^ fingerprint(SCRIPT) ^ fingerprint(WORKER));
    let text = WORKER
        .replace("__VERSION__", &version)
        .replace("__STYLE__", &address("style.css"))
        .replace("__SCRIPT__", &address("app.js"));
    let media = "text/javascript; charset=utf-8";
    ([(CONTENT_TYPE, media), (CACHE_CONTROL, "no-cache")], text).into_response()
}

/// The address of a file, with its content's fingerprint in it.
pub(crate) fn address(name: &str) -> String {
    let content = FILES.iter().find(|(file, ..)| *file == name).map_or("", |(.., content)| content);
    format!("/assets/{name}?v={:016x}", fingerprint(content))
}

/// FNV-1a, 64 bits: tells contents apart, no more (constants of the published algorithm).
fn fingerprint(content: &str) -> u64 {
    content
        .bytes()
        .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}
