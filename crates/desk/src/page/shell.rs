//! What every page has around it: head, way in, navigation, foot.

use crate::asset;
use crate::ctx::Ctx;
use crate::page::waiting;
use crate::policy::Role;
use crate::words::t;
use maud::{DOCTYPE, Markup, html};

/// Places of the navigation: path, message, and whether a narrow screen leaves it to the set-up page, which lists it.
const PLACES: [(&str, &str, bool); 7] = [
    ("/", "nav-today", false),
    ("/shelves", "shelves-title", true),
    ("/methods", "methods-title", true),
    ("/bands", "bands-title", true),
    ("/people", "people-title", true),
    ("/book", "nav-book", false),
    ("/setup", "nav-setup", false),
];

/// Whether the reader is at a place, or below it.
fn current(ctx: &Ctx, place: &str) -> Option<&'static str> {
    let below = |path: &str| ctx.path.strip_prefix(path).is_some_and(|rest| rest.starts_with('/'));
    match place {
        _ if ctx.path == place => Some("page"),
        "/" => below("/tubs").then_some("true"),
        "/setup" => (["/waters", "/me"].iter().any(|p| ctx.path == *p || below(p))).then_some("true"),
        _ => below(place).then_some("true"),
    }
}

/// The ways of the app, for those whom it lets in.
fn navigation(ctx: &Ctx) -> Markup {
    html! {
        @if ctx.who.role >= Role::Viewer {
            nav aria-label=(t!(ctx, "nav")) {
                @for (path, message, wide) in PLACES {
                    a.wide[wide] href=(path) aria-current=[current(ctx, path)] { (ctx.say(message, None)) }
                }
            }
        }
    }
}

/// A whole page.
pub(crate) fn page(ctx: &Ctx, title: &str, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang=(ctx.language) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) " · Tubwright" }
                link rel="icon" href=(asset::address("icon.svg"));
                link rel="stylesheet" href=(asset::address("style.css"));
                script type="module" src=(asset::address("app.js")) {}
            }
            body {
                a.skip href="#main" { (t!(ctx, "skip")) }
                header {
                    div.top {
                        a.name href="/" { "Tubwright" }
                        (navigation(ctx))
                        (crate::page::access::corner(ctx))
                    }
                    @if ctx.demo { p.invented { (t!(ctx, "invented")) } }
                    (waiting::lines(ctx))
                }
                main #main { (body) }
                footer { p { (t!(ctx, "label-first")) } (machine_made(ctx)) }
            }
        }
    }
}

/// Said in a language whose words nobody has reviewed yet.
fn machine_made(ctx: &Ctx) -> Markup {
    html! { @if ctx.language.language.as_str() != "en" { p { (t!(ctx, "machine-made")) } } }
}

/// A page for somebody who may see this page alone: without the ways of the app, and for no search engine.
pub(crate) fn alone(ctx: &Ctx, title: &str, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang=(ctx.language) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="robots" content="noindex, nofollow";
                title { (title) }
                link rel="stylesheet" href=(asset::address("style.css"));
            }
            body {
                a.skip href="#main" { (t!(ctx, "skip")) }
                @if ctx.demo { header { p.invented { (t!(ctx, "invented")) } } }
                main #main { (body) }
                footer { p { (t!(ctx, "label-first")) } (machine_made(ctx)) }
            }
        }
    }
}
