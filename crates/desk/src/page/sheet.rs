//! The owner's sheet of a tub: on screen, as PDF, and the private links that open it.

use crate::ctx::Ctx;
use crate::error::{Answer, PageError};
use crate::known;
use crate::owner_sheet::{self, owners};
use crate::page::address::Path;
use crate::page::fields::Typed;
use crate::page::things::{entry_field, entry_id, failed};
use crate::page::tub::Known;
use crate::page::{qr, shell, tub};
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::words::t;
use axum::extract::{Query, State};
use axum::http::header::{CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_TYPE, HOST};
use axum::http::{HeaderMap, Method, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Form, Router};
use base64::Engine as _;
use base64::prelude::BASE64_URL_SAFE_NO_PAD;
use book::{Link, Uuid};
use maud::{Markup, html};
use serde::Deserialize;
use sheet::{OwnerSheet, Paper};
use std::sync::Arc;

pub(crate) const RULES: &[Rule] = &[
    (Method::GET, "/tubs/{tub}/sheet", Role::Viewer),
    (Method::GET, "/tubs/{tub}/sheet.pdf", Role::Viewer),
    (Method::POST, "/tubs/{tub}/links", Role::Technician),
    (Method::POST, "/tubs/{tub}/links/{link}/revoke", Role::Technician),
];

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/tubs/{tub}/sheet", get(show))
        .route("/tubs/{tub}/sheet.pdf", get(print))
        .route("/tubs/{tub}/links", post(make))
        .route("/tubs/{tub}/links/{link}/revoke", post(revoke))
}

/// How long a link opens the sheet if nothing else is chosen, and the choices, days.
const DAYS: i64 = 90;
const DAYS_CHOICES: [i64; 4] = [7, 30, 90, 365];
const DAY_US: i64 = 24 * 3_600_000_000;

/// Which print is asked for.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Print {
    paper: Option<String>,
    large: Option<String>,
}

async fn show(State(app): State<App>, ctx: Ctx, Path(id): Path<Uuid>) -> Answer {
    page(&app, &ctx, id, None).await
}

async fn page(app: &App, ctx: &Ctx, id: Uuid, made: Option<&str>) -> Answer {
    let known = tub::planned(app, ctx, id).await?;
    let owner = owners(ctx, &known);
    let sheet = owner_sheet::of(&owner, &known, None);
    let links = app.book().links(id).await.map_err(failed(ctx))?;
    let title = t!(ctx, "sheet-of", tub = known.thing.name.clone());
    let path = format!("/tubs/{id}");
    let body = html! {
        nav.crumbs aria-label=(t!(ctx, "crumbs")) { a href=(path) { (known.thing.name) } }
        div.heading { h1 { (title) } }
        @if let Some(address) = made { (shown_once(ctx, address)) }
        @match &sheet {
            Ok(sheet) => {
                (prints(ctx, &format!("{path}/sheet.pdf")))
                article.sheet lang=(owner.language) { (drawn(&owner, sheet, 2)) }
            }
            Err(why) => p.lead { (ctx.care(why)) }
        }
        @if ctx.who.role >= Role::Technician { (link_part(ctx, &path, &links)) }
    };
    Ok(shell::page(ctx, &title, &body).into_response())
}

/// The ways to print, as forms without script.
pub(crate) fn prints(ctx: &Ctx, address: &str) -> Markup {
    html! {
        form.prints method="get" action=(address) {
            div.field {
                label for="paper" { (t!(ctx, "sheet-paper")) }
                select #paper name="paper" {
                    option value="a4" { (t!(ctx, "sheet-a4")) }
                    option value="letter" { (t!(ctx, "sheet-letter")) }
                }
            }
            label.tick { input type="checkbox" name="large" value="1"; span { (t!(ctx, "sheet-large")) } }
            div.actions { button type="submit" { (t!(ctx, "sheet-print")) } }
        }
    }
}

/// The sheet on a page; its headings begin at this level.
pub(crate) fn drawn(ctx: &Ctx, s: &OwnerSheet, level: u8) -> Markup {
    let heading = |text: &str| {
        html! { @if level == 2 { h2 { (text) } } @else { h3 { (text) } } }
    };
    html! {
        p.lead { (s.headline) }
        p.soft { (s.date_text) }
        @if let Some(why) = &s.do_not_bathe {
            div.keepout { p.title { (s.labels.do_not_bathe) } p { (why) } }
        }
        (heading(&s.labels.steps))
        @if s.steps.is_empty() { p { (t!(ctx, "sheet-nothing")) } }
        @if !s.general_cautions.is_empty() {
            div.caution {
                p { strong { (s.labels.general_cautions) } }
                @for caution in &s.general_cautions { p { (caution) } }
            }
        }
        ol.steps {
            @for step in &s.steps {
                li {
                    p.what { strong { (step.what) } @if !step.amount_text.is_empty() { (t!(ctx, "colon")) (step.amount_text) } }
                    @for caution in &step.cautions {
                        p.caution { strong { (s.labels.caution) (t!(ctx, "colon")) } (caution) }
                    }
                    @if !step.how.is_empty() { p { (step.how) } }
                    @if !step.wait_text.is_empty() { p { (s.labels.wait) " " (step.wait_text) "." } }
                    @if !step.after_text.is_empty() { p.soft { (s.labels.after) (t!(ctx, "colon")) (step.after_text) } }
                }
            }
        }
        (heading(&s.labels.next_look))
        p { (s.next_look) }
        (heading(&s.labels.water))
        p.soft { (s.labels.strip) }
        ul.water {
            @for line in &s.quantities {
                li {
                    div.figure { span.name { (line.name) } span.value { (line.value_text) } }
                    (strip(ctx, line))
                    p.status { (line.words) }
                }
            }
        }
        p.caution { (s.labels.precedence) }
    }
}

fn strip(ctx: &Ctx, line: &sheet::Line) -> Markup {
    let decimals = line.band_text.1.rsplit(['.', ',']).next().filter(|d| d.len() < line.band_text.1.len());
    let strip = crate::page::strip::Strip {
        value: line.value,
        interval: line.interval,
        band: line.band,
        decimals: decimals.map_or(0, |d| if d.len() < 3 { d.len() } else { 0 }),
    };
    strip.draw(ctx)
}

async fn print(State(app): State<App>, ctx: Ctx, Path(id): Path<Uuid>, Query(print): Query<Print>) -> Answer {
    let known = tub::planned(&app, &ctx, id).await?;
    let owner = owners(&ctx, &known);
    let sheet = owner_sheet::of(&owner, &known, None)
        .map_err(|why| PageError::Unusable(vec![ctx.care_plain(&why)]).at(&ctx))?;
    pdf(&app, &owner, known, sheet, &print).await
}

/// The sheet as PDF, with the days ahead drawn.
pub(crate) async fn pdf(app: &App, ctx: &Ctx, known: Arc<Known>, sheet: OwnerSheet, print: &Print) -> Answer {
    let letter = print.paper.as_deref() == Some("letter");
    let large = print.large.as_deref().is_some_and(|l| l != "0" && !l.is_empty());
    let owner = ctx.clone();
    let made = known::in_turn(app, ctx, &known, move |known| {
        let sheet = owner_sheet::with_charts(&owner, known, sheet);
        sheet::pdf(&sheet, if letter { Paper::Letter } else { Paper::A4 }, large)
    });
    let bytes = made.await?.map_err(|why| PageError::Unusable(vec![why.to_string()]).at(ctx))?;
    let headers = [
        (CONTENT_TYPE, "application/pdf"),
        (CONTENT_DISPOSITION, "inline; filename=\"sheet.pdf\""),
        (CACHE_CONTROL, "no-store"),
    ];
    Ok((headers, bytes).into_response())
}

async fn make(
    State(app): State<App>,
    ctx: Ctx,
    Path(id): Path<Uuid>,
    headers: HeaderMap,
    Form(typed): Form<Vec<(String, String)>>,
) -> Answer {
    let typed = Typed(typed);
    let thing = crate::page::things::one(&app, &ctx, book::Kind::Tub, id).await?;
    let days = typed.get("days").parse().unwrap_or(DAYS).clamp(1, 365);
    let secret = secret().map_err(|e| PageError::Unusable(vec![e.to_string()]).at(&ctx))?;
    let now_us = ctx.now.as_microsecond();
    let link = Link {
        id: entry_id(&typed),
        tub: thing.id,
        made_us: now_us,
        made_by: ctx.who.person,
        expires_us: now_us + days * DAY_US,
        revoked_us: None,
    };
    let new = app.book().add_link(&link, &secret).await.map_err(failed(&ctx))?;
    if !new {
        // The same form once more: its link is there, and was shown.
        return Ok(Redirect::to(&format!("/tubs/{id}/sheet")).into_response());
    }
    let address = format!("{}/o/{secret}", base(&app, &headers));
    let mut response = page(&app, &ctx, id, Some(&address)).await?;
    // The one page with the secret stays out of every cache.
    response.headers_mut().insert(CACHE_CONTROL, axum::http::HeaderValue::from_static("no-store"));
    *response.status_mut() = StatusCode::CREATED;
    Ok(response)
}

/// 256 random bits as text for an address.
fn secret() -> Result<String, getrandom::Error> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes)?;
    Ok(BASE64_URL_SAFE_NO_PAD.encode(bytes))
}

/// The address that people reach this server at: the public one, else the one that this request came to.
pub(crate) fn base(app: &App, headers: &HeaderMap) -> String {
    match &app.inner.doors.public {
        Some(public) => format!("{}://{}", if public.https { "https" } else { "http" }, public.host),
        None => {
            let host = headers.get(HOST).and_then(|h| h.to_str().ok()).unwrap_or("127.0.0.1");
            format!("http://{host}")
        }
    }
}

async fn revoke(State(app): State<App>, ctx: Ctx, Path((tub, link)): Path<(Uuid, Uuid)>) -> Answer {
    // One that is revoked already stays so: the form may come twice.
    app.book().revoke_link(tub, link, ctx.now.as_microsecond()).await.map_err(failed(&ctx))?;
    Ok(Redirect::to(&format!("/tubs/{tub}/sheet#links")).into_response())
}

fn shown_once(ctx: &Ctx, address: &str) -> Markup {
    html! {
        section.once role="status" {
            h2 { (t!(ctx, "link-made")) }
            p { (t!(ctx, "link-once")) }
            p.address { a href=(address) rel="noreferrer" { (address) } }
            (qr::draw(address, &t!(ctx, "sheet-qr")))
            p { (t!(ctx, "link-print")) }
            (prints_again(ctx, &format!("{address}/sheet.pdf")))
        }
    }
}

fn prints_again(ctx: &Ctx, address: &str) -> Markup {
    html! {
        ul {
            li { a href={ (address) "?paper=a4" } { (t!(ctx, "sheet-a4")) } }
            li { a href={ (address) "?paper=letter" } { (t!(ctx, "sheet-letter")) } }
            li { a href={ (address) "?paper=a4&large=1" } { (t!(ctx, "sheet-a4")) ", " (t!(ctx, "sheet-large")) } }
            li { a href={ (address) "?paper=letter&large=1" } { (t!(ctx, "sheet-letter")) ", " (t!(ctx, "sheet-large")) } }
        }
    }
}

fn link_part(ctx: &Ctx, path: &str, links: &[Link]) -> Markup {
    let now_us = ctx.now.as_microsecond();
    html! {
        h2 #links { (t!(ctx, "link-title")) }
        p { (t!(ctx, "link-lead")) }
        form.prints method="post" action={ (path) "/links" } {
            (entry_field())
            div.field {
                label for="days" { (t!(ctx, "link-days")) }
                select #days name="days" {
                    @for days in DAYS_CHOICES {
                        option value=(days) selected[days == DAYS] { (t!(ctx, "link-n-days", n = days)) }
                    }
                }
            }
            div.actions { button type="submit" { (t!(ctx, "link-make")) } }
        }
        @if !links.is_empty() {
            ul.things {
                @for link in links {
                    li.link {
                        span { (t!(ctx, "link-since", at = ctx.day_and_time(link.made_us))) " · " (state(ctx, link)) }
                        @if link.opens(now_us) {
                            form method="post" action={ (path) "/links/" (link.id) "/revoke" } {
                                button type="submit" aria-label=(t!(ctx, "link-revoke-that", at = ctx.day_and_time(link.made_us))) {
                                    (t!(ctx, "link-revoke"))
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn state(ctx: &Ctx, link: &Link) -> String {
    match link.revoked_us {
        Some(at) => t!(ctx, "link-revoked", at = ctx.day_and_time(at)),
        None if link.opens(ctx.now.as_microsecond()) => t!(ctx, "link-until", at = ctx.day(link.expires_us)),
        None => t!(ctx, "link-expired", at = ctx.day(link.expires_us)),
    }
}

/// The answer with what keeps a private address private. Its address goes to no other site: that is said with every page
/// (not "no-referrer", with which browsers send the origin "null" with the form).
pub(crate) fn private(mut response: Response) -> Response {
    for (name, value) in [("x-robots-tag", "noindex, nofollow"), ("cache-control", "no-store")] {
        response.headers_mut().insert(name, axum::http::HeaderValue::from_static(value));
    }
    response
}
