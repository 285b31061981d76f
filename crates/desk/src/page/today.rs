//! Today: which tubs need a look and why, the most urgent first.

use crate::ctx::Ctx;
use crate::error::{Answer, PageError};
use crate::page::shell;
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::summary::{Need, Short};
use crate::words::t;
use axum::Router;
use axum::extract::{Query, State};
use axum::http::Method;
use axum::response::IntoResponse;
use axum::routing::get;
use book::{Summarised, SummaryFilter, Uuid};
use care::text::{Form, Text};
use maud::{Markup, html};
use serde::Deserialize;

pub(crate) const RULES: &[Rule] = &[(Method::GET, "/", Role::Viewer)];

pub(crate) fn routes() -> Router<App> {
    Router::new().route("/", get(today))
}

/// How many tubs a page lists.
const ON_A_PAGE: u32 = 50;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Asked {
    /// Search.
    q: Option<String>,
    /// The last tub of the page before.
    after: Option<Uuid>,
}

async fn today(State(app): State<App>, ctx: Ctx, Query(asked): Query<Asked>) -> Answer {
    let text = asked.q.as_deref().map(str::trim).filter(|q| !q.is_empty()).map(str::to_string);
    let filter = SummaryFilter { text: text.clone(), limit: Some(ON_A_PAGE + 1), after: asked.after };
    let mut tubs = app.book().summaries(&filter).await.map_err(|e| PageError::from(e).at(&ctx))?;
    let more = tubs.len() > ON_A_PAGE as usize;
    tubs.truncate(ON_A_PAGE as usize);
    let next = if more { tubs.last().map(|t| t.summary.tub) } else { None };
    let title = t!(ctx, "today-title");
    Ok(shell::page(&ctx, &title, &body(&ctx, &title, text.as_deref(), &tubs, next)).into_response())
}

fn body(ctx: &Ctx, title: &str, text: Option<&str>, tubs: &[Summarised], next: Option<Uuid>) -> Markup {
    html! {
        div.heading { h1 { (title) } p.date { (ctx.day(ctx.now.as_microsecond())) } }
        @if tubs.is_empty() && text.is_none() { (first(ctx)) } @else { (list(ctx, text, tubs, next)) }
        p.soft { a href="/practice" { (t!(ctx, "practice-title")) } (t!(ctx, "colon")) (t!(ctx, "practice-what")) }
    }
}

/// A book without a tub: the way to begin.
fn first(ctx: &Ctx) -> Markup {
    html! {
        p.lead { (t!(ctx, "today-none")) }
        @if may_add(ctx) {
            p { (t!(ctx, "today-begin")) }
            div.actions { a.button.first href="/tubs/new" { (t!(ctx, "new-title")) } }
        }
    }
}

fn may_add(ctx: &Ctx) -> bool {
    ctx.who.role >= Role::Technician
}

fn list(ctx: &Ctx, text: Option<&str>, tubs: &[Summarised], next: Option<Uuid>) -> Markup {
    let shown: Vec<(Option<Short>, &Summarised)> =
        tubs.iter().map(|t| (serde_json::from_value(t.summary.body.clone()).ok(), t)).collect();
    let groups = shown.chunk_by(|(a, _), (b, _)| a.as_ref().map(|s| s.need) == b.as_ref().map(|s| s.need));
    html! {
        form.search role="search" method="get" action="/" {
            label for="q" { (t!(ctx, "today-search")) }
            input #q type="search" name="q" value=[text] autocomplete="off" enterkeyhint="search";
            button type="submit" { (t!(ctx, "today-search-go")) }
        }
        @if tubs.is_empty() { p.lead { (t!(ctx, "today-none-found")) } }
        @for group in groups {
            @let need = group.first().and_then(|(short, _)| Some(short.as_ref()?.need));
            section.need.grave[need == Some(Need::Safety)] {
                @if let Some(need) = need {
                    h2 { (named(ctx, need)) }
                    @if need == Need::Safety { p { (t!(ctx, "today-safety")) } }
                }
                ol.tubs { @for (short, tub) in group { (row(ctx, short.as_ref(), tub)) } }
            }
        }
        @if let Some(after) = next {
            p { a.more href={ "/?after=" (after) @if let Some(q) = text { "&q=" (encoded(q)) } } { (t!(ctx, "today-more")) } }
        }
        @if may_add(ctx) { div.actions { a.button href="/tubs/new" { (t!(ctx, "new-title")) } } }
    }
}

fn row(ctx: &Ctx, short: Option<&Short>, tub: &Summarised) -> Markup {
    let due = tub.summary.due_us;
    html! {
        li {
            a href={ "/tubs/" (tub.summary.tub) } {
                span.tub { (tub.name) }
                @if let Some(short) = short {
                    span.why {
                        @match &short.said {
                            // Of the moment: a plan that looks ahead may add something all the same.
                            Some(said) if is_all_inside(said) => (t!(ctx, "today-inside")),
                            Some(said) => (ctx.care(said)),
                            None => span lang="en" { (short.headline) },
                        }
                    }
                }
                span.when {
                    @if let Some(read) = short.and_then(|s| s.last_reading_us) {
                        span { (t!(ctx, "today-read", ago = ctx.ago(read))) } " "
                    }
                    @if let Some(due) = due {
                        span {
                            @if due < ctx.now.as_microsecond() { (t!(ctx, "today-due-since", ago = ctx.ago(due))) }
                            @else { (t!(ctx, "today-due", ahead = ctx.ago(due))) }
                        }
                    }
                }
            }
        }
    }
}

fn is_all_inside(said: &Text) -> bool {
    matches!(said.form(), Form::Message { id, .. } if id == "care-all-inside")
}

fn named(ctx: &Ctx, need: Need) -> String {
    match need {
        Need::Safety => t!(ctx, "need-safety"),
        Need::Act => t!(ctx, "need-act"),
        Need::Test => t!(ctx, "need-test"),
        Need::Rest => t!(ctx, "need-rest"),
        Need::Unknown => t!(ctx, "need-unknown"),
    }
}

/// Text for a query.
pub(crate) fn encoded(text: &str) -> String {
    let keep = |b: u8| b.is_ascii_alphanumeric() || b"-._~".contains(&b);
    text.bytes().map(|b| if keep(b) { char::from(b).to_string() } else { format!("%{b:02X}") }).collect()
}
