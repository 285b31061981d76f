//! What waits on the device for a signal, and what is shown where there is none. Both pages hold nothing of the book:
//! the list is filled in on the device, and they may be kept there before anybody has signed in.

use crate::ctx::Ctx;
use crate::page::shell;
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::words::t;
use axum::Router;
use axum::http::Method;
use axum::routing::get;
use maud::{Markup, html};

pub(crate) const RULES: &[Rule] =
    &[(Method::GET, "/waiting", Role::Nobody), (Method::GET, "/offline", Role::Nobody)];

pub(crate) fn routes() -> Router<App> {
    Router::new().route("/waiting", get(waiting)).route("/offline", get(offline))
}

/// What every page carries for times without a signal: that it is an old copy, and how much waits. Both stay hidden
/// until the device says otherwise.
pub(crate) fn lines(ctx: &Ctx) -> Markup {
    let many = |id: &str| ctx.say(id, Some(&[("n".into(), "{n}".into())].into()));
    html! {
        p #stale hidden { (t!(ctx, "stale", when = ctx.day_and_time(ctx.now.as_microsecond()))) }
        p #waiting role="status" hidden data-writer=[ctx.who.person]
            data-one=(t!(ctx, "waiting-one")) data-many=(many("waiting-many"))
            data-refused-one=(t!(ctx, "waiting-refused-one")) data-refused-many=(many("waiting-refused-many"))
            data-saved=(t!(ctx, "waiting-saved")) {}
    }
}

async fn waiting(ctx: Ctx) -> Markup {
    let title = t!(ctx, "waiting-title");
    let body = html! {
        div.heading { h1 { (title) } }
        noscript { p.lead { (t!(ctx, "waiting-no-script")) } }
        div #queue
            data-waiting=(t!(ctx, "waiting-state-waiting")) data-sign-in=(t!(ctx, "waiting-state-sign-in"))
            data-refused=(t!(ctx, "waiting-state-refused")) data-edit=(t!(ctx, "waiting-edit"))
            data-drop=(t!(ctx, "waiting-drop")) data-drop-sure=(t!(ctx, "waiting-drop-sure")) {
            p.lead data-empty hidden { (t!(ctx, "waiting-none")) }
            div data-some hidden {
                p.lead { (t!(ctx, "waiting-lead")) }
                ul.queued {}
                div.actions { button.first type="button" data-send { (t!(ctx, "waiting-send")) } }
            }
        }
    };
    shell::page(&ctx, &title, &body)
}

async fn offline(ctx: Ctx) -> Markup {
    let title = t!(ctx, "offline-title");
    let body = html! {
        div.heading { h1 { (title) } }
        p.lead { (t!(ctx, "offline-lead")) }
        div.actions {
            a.button.first href="/" { (t!(ctx, "offline-back")) }
            a.button href="/waiting" { (t!(ctx, "waiting-title")) }
        }
    };
    shell::page(&ctx, &title, &body)
}
