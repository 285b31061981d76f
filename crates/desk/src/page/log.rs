//! The book as a page: every entry, filtered; corrections shown from both ends; whether it is whole; a copy to take along.

use crate::ctx::Ctx;
use crate::error::Answer;
use crate::owner_sheet::quantity;
use crate::page::address::Path;
use crate::page::things::{all, failed};
use crate::page::today::encoded;
use crate::page::tub::log::{Kits, figure};
use crate::page::{log_copy, shell};
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::unit::with_unit;
use crate::words::t;
use axum::Router;
use axum::extract::{Query, State};
use axum::http::Method;
use axum::response::IntoResponse;
use axum::routing::{get, post};
use book::{Entry, Filter, KINDS, Kind, Uuid};
use care::quantity::Quantity as Q;
use jiff::civil::Date;
use maud::{Markup, html};
use serde::Deserialize;
use serde_json::Value;
use std::collections::BTreeMap;

pub(crate) const RULES: &[Rule] = &[
    (Method::GET, "/book", Role::Viewer),
    (Method::GET, "/book/entries/{entry}", Role::Viewer),
    (Method::POST, "/book/verify", Role::Lead),
    (Method::POST, "/book/export", Role::Lead),
];

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/book", get(show))
        .route("/book/entries/{entry}", get(entry))
        .route("/book/verify", post(verify))
        .route("/book/export", post(log_copy::export))
}

/// How many entries a page shows.
const ON_A_PAGE: u32 = 50;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Asked {
    tub: Option<String>,
    kind: Option<String>,
    by: Option<String>,
    from: Option<String>,
    to: Option<String>,
    q: Option<String>,
    before: Option<i64>,
}

/// Names of tubs and people, to say who and what.
struct Names {
    tubs: Vec<(Uuid, String)>,
    people: Vec<(Uuid, String)>,
    by_id: BTreeMap<Uuid, String>,
    kits: Kits,
}

async fn names(app: &App, ctx: &Ctx) -> Result<Names, crate::error::Refusal> {
    let list = |things: Vec<book::Thing>| things.into_iter().map(|t| (t.id, t.name)).collect::<Vec<_>>();
    let tubs = list(all(app, ctx, Kind::Tub).await?);
    let people = list(all(app, ctx, Kind::Person).await?);
    let by_id = tubs.iter().chain(&people).cloned().collect();
    let kits = Kits::read(app, ctx).await?;
    Ok(Names { tubs, people, by_id, kits })
}

/// What an inspector may see is everything but who did what with the program, which is the lead's.
fn kinds(ctx: &Ctx, asked: &Asked) -> Vec<Kind> {
    let may = |k: &Kind| *k != Kind::Audit || ctx.who.role >= Role::Lead;
    match asked.kind.as_deref().and_then(Kind::from_id).filter(may) {
        Some(kind) => vec![kind],
        None => KINDS.into_iter().filter(may).collect(),
    }
}

/// The first moment of a day, or the last, in the server's time zone.
fn moment(ctx: &Ctx, day: Option<&str>, end: bool) -> Option<i64> {
    let date: Date = day?.parse().ok()?;
    let date = if end { date.tomorrow().ok()? } else { date };
    let at = date.to_zoned(ctx.zone.clone()).ok()?.timestamp().as_microsecond();
    Some(if end { at - 1 } else { at })
}

fn kind_name(ctx: &Ctx, kind: Kind) -> String {
    ctx.say(&format!("book-kind-{kind}"), None)
}

async fn show(State(app): State<App>, ctx: Ctx, Query(asked): Query<Asked>) -> Answer {
    let id = |text: &Option<String>| text.as_deref().and_then(|t| Uuid::try_parse(t).ok());
    let filter = Filter {
        subject: id(&asked.tub),
        by: id(&asked.by),
        kinds: kinds(&ctx, &asked),
        from_us: moment(&ctx, asked.from.as_deref(), false),
        to_us: moment(&ctx, asked.to.as_deref(), true),
        text: asked.q.clone().filter(|q| !q.trim().is_empty()),
        before_seq: asked.before,
        newest_first: true,
        limit: Some(ON_A_PAGE + 1),
        ..Filter::default()
    };
    let mut entries = app.book().entries(&filter).await.map_err(failed(&ctx))?;
    let more = entries.len() > ON_A_PAGE as usize;
    entries.truncate(ON_A_PAGE as usize);
    let names = names(&app, &ctx).await?;
    let title = t!(ctx, "book-title");
    let head = app.book().head().await.map_err(failed(&ctx))?;
    let body = html! {
        div.heading { h1 { (title) } p { (t!(ctx, "book-lead", n = ctx.number(head.count as f64, 0))) } }
        (filters(&ctx, &asked, &names))
        @if entries.is_empty() { p.lead { (t!(ctx, "book-none")) } }
        @for day in entries.chunk_by(|a, b| ctx.local(a.at_us).date() == ctx.local(b.at_us).date()) {
            @if let Some(first) = day.first() { h2.day { (ctx.day(first.at_us)) } }
            ol.log { @for e in day { (row(&ctx, e, &names)) } }
        }
        @if more || asked.before.is_some() {
            nav.pages aria-label=(t!(ctx, "book-pages")) {
                @if asked.before.is_some() { a href={ "/book?" (query(&asked)) } { (t!(ctx, "book-newest")) } }
                @if let Some(last) = entries.last().filter(|_| more) {
                    a href={ "/book?" (query(&asked)) "&before=" (last.seq) } { (t!(ctx, "book-older")) }
                }
            }
        }
        @if ctx.who.role >= Role::Lead { (copies(&ctx)) }
    };
    Ok(shell::page(&ctx, &title, &body).into_response())
}

fn query(asked: &Asked) -> String {
    let pairs = [
        ("tub", &asked.tub),
        ("kind", &asked.kind),
        ("by", &asked.by),
        ("from", &asked.from),
        ("to", &asked.to),
        ("q", &asked.q),
    ];
    let given = pairs.into_iter().filter_map(|(k, v)| Some((k, v.as_deref().filter(|v| !v.is_empty())?)));
    given.map(|(k, v)| format!("{k}={}", encoded(v))).collect::<Vec<_>>().join("&")
}

fn filters(ctx: &Ctx, asked: &Asked, names: &Names) -> Markup {
    let choice = |id: &str, label: String, list: &[(Uuid, String)], now: Option<&str>| {
        html! {
            div.field {
                label for=(id) { (label) }
                select id=(id) name=(id) {
                    option value="" { (t!(ctx, "book-all")) }
                    @for (uuid, name) in list { option value=(uuid) selected[now == Some(&uuid.to_string())] { (name) } }
                }
            }
        }
    };
    html! {
        @let narrowed = [&asked.tub, &asked.kind, &asked.by, &asked.from, &asked.to].iter().any(|f| f.as_deref().is_some_and(|f| !f.is_empty()));
        form role="search" method="get" action="/book" aria-label=(t!(ctx, "book-filter")) {
            div.search {
                label for="q" { (t!(ctx, "book-text")) }
                input #q type="search" name="q" value=[asked.q.as_deref()];
                button type="submit" { (t!(ctx, "book-filter")) }
            }
            details.filters open[narrowed] {
            summary { (t!(ctx, "book-narrow")) }
            div.fields {
            (choice("tub", t!(ctx, "book-tub"), &names.tubs, asked.tub.as_deref()))
            div.field {
                label for="kind" { (t!(ctx, "book-kind")) }
                select #kind name="kind" {
                    option value="" { (t!(ctx, "book-all")) }
                    @for kind in kinds(ctx, &Asked::default()) {
                        option value=(kind) selected[asked.kind.as_deref() == Some(kind.id())] { (kind_name(ctx, kind)) }
                    }
                }
            }
            (choice("by", t!(ctx, "book-by"), &names.people, asked.by.as_deref()))
            div.field { label for="from" { (t!(ctx, "book-from")) } input #from type="date" name="from" value=[asked.from.as_deref()]; }
            div.field { label for="to" { (t!(ctx, "book-to")) } input #to type="date" name="to" value=[asked.to.as_deref()]; }
            div.actions { button type="submit" { (t!(ctx, "book-filter")) } }
            }
            }
        }
    }
}

fn row(ctx: &Ctx, e: &Entry, names: &Names) -> Markup {
    let counts = e.is_effective();
    html! {
        li.out[!counts] {
            p.when { (ctx.time(e.at_us))
                @if let Some(name) = e.subject.and_then(|s| names.by_id.get(&s)) { " · " (name) } }
            p.said { a href={ "/book/entries/" (e.id) } { (kind_name(ctx, e.kind)) } (t!(ctx, "colon")) (said(ctx, e, &names.kits)) }
            p.soft { "№ " (e.seq)
                @if let Some(name) = e.by.and_then(|b| names.by_id.get(&b)) { " · " (name) }
                @if let Some(of) = e.corrects { " · " a href={ "/book/entries/" (of) } { (t!(ctx, "book-corrects")) } }
                @if let Some(by) = e.corrected_by { " · " a href={ "/book/entries/" (by) } { (t!(ctx, "book-corrected-by")) } }
            }
        }
    }
}

/// An entry in one line.
fn said(ctx: &Ctx, e: &Entry, kits: &Kits) -> String {
    let body = &e.body;
    let text = |field: &str| body[field].as_str().unwrap_or_default().to_owned();
    let plain = |field: &str| match &body[field] {
        Value::Number(n) => n.as_f64().map(|n| ctx.number(n, if n.fract() == 0.0 { 0 } else { 2 })),
        Value::String(s) => Some(s.clone()),
        _ => None,
    };
    if e.is_withdrawal() {
        return t!(ctx, "book-withdrawn", why = text("why"));
    }
    let mut parts: Vec<String> = Vec::new();
    match e.kind {
        Kind::Reading => {
            let q = Q::from_id(&text("quantity"));
            parts.push(q.map_or_else(|| text("quantity"), |q| quantity(ctx, q)));
            parts.push(figure(ctx, body));
            parts.extend(body["method"].as_str().map(|m| kits.name(ctx, m)));
        }
        Kind::Dose | Kind::StepDone => {
            parts.extend(plain("product").or_else(|| plain("chemical")));
            parts.extend(body["mass_g"].as_f64().map(|g| ctx.mass(g)));
            parts.extend(plain("volume_ml").map(|v| with_unit(&v, "mL")));
            parts.extend(plain("measures").map(|n| t!(ctx, "book-measures", n = n)));
            parts.extend(plain("share_percent").map(|n| with_unit(&n, "%")));
            parts.extend(plain("amount_text"));
            parts.extend(plain("text"));
        }
        Kind::Event => {
            parts.push(ctx.say(&format!("book-event-{}", text("kind")), None));
            parts.extend(plain("volume_l").map(|n| with_unit(&n, "L")));
            parts.extend(plain("share_percent").map(|n| with_unit(&n, "%")));
            parts.extend(body["people"].as_f64().map(|n| t!(ctx, "book-people", n = n)));
            parts.extend(plain("text"));
        }
        Kind::Note | Kind::Photo => parts.extend(plain("text")),
        Kind::Audit => {
            parts.extend(plain("what"));
            parts.extend(plain("who"));
        }
        _ => parts.extend(plain("name").or_else(|| plain("id"))),
    }
    parts.join(" · ")
}

async fn entry(State(app): State<App>, ctx: Ctx, Path(id): Path<Uuid>) -> Answer {
    let missing = || crate::error::PageError::Missing("entry").at(&ctx);
    let entry = app.book().entry(id).await.map_err(failed(&ctx))?.ok_or_else(missing)?;
    if entry.kind == Kind::Audit && ctx.who.role < Role::Lead {
        return Err(crate::error::PageError::Forbidden.at(&ctx));
    }
    let names = names(&app, &ctx).await?;
    let title = format!("№ {} · {}", entry.seq, kind_name(&ctx, entry.kind));
    let mut shown = entry.body.clone();
    if entry.kind == Kind::Photo && shown.get("base64").is_some() {
        shown["base64"] = Value::from("…");
    }
    let by = entry.by.and_then(|b| names.by_id.get(&b)).cloned();
    let body = html! {
        nav.crumbs aria-label=(t!(ctx, "crumbs")) { a href="/book" { (t!(ctx, "book-title")) } }
        div.heading { h1 { (title) } }
        p.lead { (said(&ctx, &entry, &names.kits)) }
        @if !entry.is_effective() { p { strong { (t!(ctx, "book-not-counted")) } } }
        dl {
            @if let Some(subject) = entry.subject {
                dt { (t!(ctx, "book-about")) } dd { (names.by_id.get(&subject).cloned().unwrap_or_else(|| subject.to_string())) }
            }
            dt { (t!(ctx, "book-happened")) } dd { (ctx.day_and_time(entry.at_us)) }
            dt { (t!(ctx, "book-received")) } dd { (ctx.day_and_time(entry.received_us)) }
            @if let Some(by) = by { dt { (t!(ctx, "book-by")) } dd { (by) } }
            @if let Some(of) = entry.corrects { dt { (t!(ctx, "book-corrects")) } dd { a href={ "/book/entries/" (of) } { (of) } } }
            @if let Some(by) = entry.corrected_by { dt { (t!(ctx, "book-corrected-by")) } dd { a href={ "/book/entries/" (by) } { (by) } } }
            dt { (t!(ctx, "book-id")) } dd.code { (entry.id) }
            dt { (t!(ctx, "book-hash")) } dd.code { (entry.hash) }
        }
        h2 { (t!(ctx, "book-body")) }
        pre.scroll tabindex="0" { code { (serde_json::to_string_pretty(&shown).unwrap_or_default()) } }
    };
    Ok(shell::page(&ctx, &title, &body).into_response())
}

fn copies(ctx: &Ctx) -> Markup {
    html! {
        section.copies {
            h2 { (t!(ctx, "book-whole")) }
            p { (t!(ctx, "book-whole-lead")) }
            form method="post" action="/book/verify" { button type="submit" { (t!(ctx, "book-verify")) } }
            h2 { (t!(ctx, "book-copy")) }
            p { (t!(ctx, "book-copy-lead")) }
            form.actions method="post" action="/book/export" {
                button type="submit" name="form" value="ndjson" { (t!(ctx, "book-ndjson")) }
                button type="submit" name="form" value="csv" { (t!(ctx, "book-csv")) }
            }
        }
    }
}

async fn verify(State(app): State<App>, ctx: Ctx) -> Answer {
    let verified = app.book().verify(None).await.map_err(failed(&ctx))?;
    let title = t!(ctx, "book-whole");
    let count = ctx.number(verified.count as f64, 0);
    let body = html! {
        nav.crumbs aria-label=(t!(ctx, "crumbs")) { a href="/book" { (t!(ctx, "book-title")) } }
        div.heading { h1 { (title) } }
        @if verified.is_sound() { p.lead role="status" { (t!(ctx, "book-sound", n = count)) } }
        @else {
            p.lead role="alert" { (t!(ctx, "book-unsound", n = count)) }
            ul lang="en" {
                @for fault in &verified.faults { li { @if let Some(seq) = fault.seq { "№ " (seq) ": " } (fault.what) } }
                @if verified.more > 0 { li { "+ " (verified.more) } }
            }
        }
        p { (t!(ctx, "book-head")) } p.code { (verified.hash) }
    };
    Ok(shell::page(&ctx, &title, &body).into_response())
}
