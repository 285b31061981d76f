//! Set-up: what the firm works with. Shelves, source waters, methods, bands, people.

use crate::ctx::Ctx;
use crate::error::Answer;
use crate::page::shell;
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::words::t;
use axum::Router;
use axum::http::Method;
use axum::response::IntoResponse;
use axum::routing::get;
use maud::html;

pub(crate) const RULES: &[Rule] = &[(Method::GET, "/setup", Role::Viewer)];

pub(crate) fn routes() -> Router<App> {
    Router::new().route("/setup", get(show))
}

/// Path, title, what it is for.
const PLACES: [(&str, &str, &str); 6] = [
    ("/shelves", "shelves-title", "shelves-lead"),
    ("/methods", "methods-title", "methods-lead"),
    ("/bands", "bands-title", "bands-lead"),
    ("/waters", "waters-title", "waters-lead"),
    ("/people", "people-title", "people-lead"),
    ("/me", "me-title", "me-lead"),
];

async fn show(ctx: Ctx) -> Answer {
    let title = t!(ctx, "nav-setup");
    let body = html! {
        div.heading { h1 { (title) } }
        ul.things {
            @for (path, title, lead) in PLACES {
                li { a href=(path) { span.thing { (ctx.say(title, None)) } span.line { (ctx.say(lead, None)) } } }
            }
        }
        p { a href="/practice" { (t!(ctx, "practice-title")) } (t!(ctx, "colon")) (t!(ctx, "practice-what")) }
    };
    Ok(shell::page(&ctx, &title, &body).into_response())
}
