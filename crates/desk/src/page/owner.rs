//! The owner's page behind a private link: one tub's sheet, and a reading sent. Nothing else can be reached from here.
//!
//! The link itself is what lets in, as a role of its own (`policy`): an address that is wrong, revoked or too old is no
//! page at all.

use crate::ctx::Ctx;
use crate::error::{Answer, PageError, Refusal};
use crate::owner_sheet::{self, owners, quantity};
use crate::page::address::Path;
use crate::page::fields::{Field, Input, Typed, inputs};
use crate::page::sheet::{Print, base, drawn, pdf, prints, private};
use crate::page::things::{all, entry_field, entry_id, failed};
use crate::page::tub::Known;
use crate::page::{shell, tub};
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::words::t;
use axum::extract::{Query, State};
use axum::http::{HeaderMap, Method, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Extension, Form, Router};
use book::{BookError, Kind, Link, NewEntry, Uuid};
use care::method;
use care::quantity::Quantity as Q;
use care::wire::Problem;
use maud::html;
use serde::Deserialize;
use serde_json::{Value, json};

pub(crate) const RULES: &[Rule] = &[
    (Method::GET, "/o/{link}", Role::OwnerLink),
    (Method::GET, "/o/{link}/sheet.pdf", Role::OwnerLink),
    (Method::POST, "/o/{link}/reading", Role::OwnerLink),
];

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/o/{link}", get(show))
        .route("/o/{link}/sheet.pdf", get(print))
        .route("/o/{link}/reading", post(send))
}

/// How many times an hour a link may send.
const SENDINGS_AN_HOUR: i64 = 12;
/// What an owner is asked for where the tub names no kit.
const USUAL: [Q; 2] = [Q::Ph, Q::FreeChlorine];

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Asked {
    sent: Option<String>,
}

/// The link of a path, if it opens its sheet now.
pub(crate) async fn opened(app: &App, path: &str) -> Result<Option<Link>, BookError> {
    let secret = path.strip_prefix("/o/").and_then(|rest| rest.split('/').next()).unwrap_or_default();
    let link = app.book().link(secret).await?;
    Ok(link.filter(|l| l.opens(app.now_us())))
}

async fn show(
    State(app): State<App>,
    ctx: Ctx,
    Extension(link): Extension<Link>,
    Path(secret): Path<String>,
    Query(asked): Query<Asked>,
) -> Answer {
    let known = tub::planned(&app, &ctx, link.tub).await?;
    let ctx = owners(&ctx, &known);
    let rows = rows(&app, &ctx, &known).await?;
    let page = page(&ctx, &secret, &known, &rows, &Typed::default(), &[], asked.sent.is_some());
    Ok(private(page.into_response()))
}

/// A link that opens nothing: said plainly, without the ways of the app.
pub(crate) fn gone(ctx: &Ctx) -> Response {
    let title = t!(ctx, "owner-gone");
    let body = html! { div.heading { h1 { (title) } } p.lead { (t!(ctx, "owner-gone-why")) } };
    private((StatusCode::NOT_FOUND, shell::alone(ctx, &title, &body)).into_response())
}

/// One quantity that the owner may read, with the fields of its kit.
struct Row {
    quantity: Q,
    method: Option<String>,
    fields: Vec<Field>,
}

async fn rows(app: &App, ctx: &Ctx, known: &Known) -> Result<Vec<Row>, Refusal> {
    let kit = known.thing.body["kit"].as_object().cloned().unwrap_or_default();
    let own = if kit.is_empty() { Vec::new() } else { all(app, ctx, Kind::Method).await? };
    let regime = known.case.as_ref().map(|c| c.tub.regime).ok();
    let mut quantities: Vec<Q> = kit.keys().filter_map(|id| Q::from_id(id)).collect();
    for usual in USUAL {
        let usual = match (usual, regime) {
            (Q::FreeChlorine, Some(care::band::Regime::Bromine)) => Q::TotalBromine,
            _ => usual,
        };
        if !quantities.contains(&usual) {
            quantities.push(usual);
        }
    }
    quantities.sort();
    Ok(quantities
        .into_iter()
        .map(|q| {
            let method = kit.get(q.id()).and_then(Value::as_str).map(str::to_owned);
            let kind = method.as_deref().and_then(|id| kind_of(id, own.iter().map(|t| &t.body)));
            Row { quantity: q, fields: fields(ctx, q, kind), method }
        })
        .collect())
}

/// What a reading by a method is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Raw {
    Drops,
    Scale,
    Value,
}

fn kind_of<'a>(id: &str, mut own: impl Iterator<Item = &'a Value>) -> Option<Raw> {
    if let Some(body) = own.find(|b| b["id"].as_str() == Some(id)) {
        return Some(match body["kind"].as_str() {
            Some("drop-titration") => Raw::Drops,
            Some("chloride-strip") => Raw::Scale,
            _ => Raw::Value,
        });
    }
    Some(match method::find(&[], id)?.kind {
        method::Kind::DropTitration { .. } => Raw::Drops,
        method::Kind::ChlorideStrip { .. } => Raw::Scale,
        _ => Raw::Value,
    })
}

fn fields(ctx: &Ctx, q: Q, raw: Option<Raw>) -> Vec<Field> {
    let (id, name) = (q.id(), quantity(ctx, q));
    let field = |part: &str, label: String, input| Field::new(&format!("{id}.{part}"), label, input);
    match raw.unwrap_or(Raw::Value) {
        Raw::Drops => vec![field("drops", t!(ctx, "owner-drops", quantity = name), Input::Number)],
        Raw::Scale => vec![
            field("scale_units", t!(ctx, "owner-scale", quantity = name), Input::Number),
            field("signal_band_changed", t!(ctx, "owner-signal"), Input::Tick),
        ],
        Raw::Value => {
            let unit = q.unit();
            let label = if unit.is_empty() { name } else { format!("{name}, {unit}") };
            vec![field("value", label, Input::Number)]
        }
    }
}

fn page(
    ctx: &Ctx,
    secret: &str,
    known: &Known,
    rows: &[Row],
    typed: &Typed,
    faults: &[Problem],
    sent: bool,
) -> maud::Markup {
    let sheet = owner_sheet::of(ctx, known, None);
    let body = html! {
        div.heading { h1 { (known.thing.name) } p { (t!(ctx, "sheet-title")) } }
        @if sent { p.lead role="status" { (t!(ctx, "owner-sent")) } }
        @match &sheet {
            Ok(sheet) => article.sheet { (drawn(ctx, sheet, 2)) }
            Err(why) => p.lead { (ctx.care(why)) }
        }
        h2 #send { (t!(ctx, "owner-send")) }
        p { (t!(ctx, "owner-send-lead")) }
        form.thing method="post" action={ "/o/" (secret) "/reading#send" } {
            (entry_field())
            @if !faults.is_empty() { p.fault role="alert" { (t!(ctx, "fields-faults")) } }
            @for row in rows { (inputs(&row.fields, typed, &of_row(row, faults))) }
            div.actions { button.first type="submit" { (t!(ctx, "owner-send-now")) } }
        }
        @if sheet.is_ok() { h2 { (t!(ctx, "sheet-print-title")) } (prints(ctx, &format!("/o/{secret}/sheet.pdf"))) }
    };
    shell::alone(ctx, &known.thing.name, &body)
}

fn of_row(row: &Row, faults: &[Problem]) -> Vec<Problem> {
    let own = format!("{}.", row.quantity.id());
    faults.iter().filter(|p| p.field.starts_with(&own)).cloned().collect()
}

async fn print(
    State(app): State<App>,
    ctx: Ctx,
    Extension(link): Extension<Link>,
    Path(secret): Path<String>,
    headers: HeaderMap,
    Query(print): Query<Print>,
) -> Answer {
    let known = tub::planned(&app, &ctx, link.tub).await?;
    let ctx = owners(&ctx, &known);
    let address = format!("{}/o/{secret}", base(&app, &headers));
    let sheet = owner_sheet::of(&ctx, &known, Some(address));
    let sheet = sheet.map_err(|why| PageError::Unusable(vec![ctx.care_plain(&why)]).at(&ctx))?;
    Ok(private(pdf(&app, &ctx, known, sheet, &print).await?))
}

async fn send(
    State(app): State<App>,
    ctx: Ctx,
    Extension(link): Extension<Link>,
    Path(secret): Path<String>,
    Form(typed): Form<Vec<(String, String)>>,
) -> Answer {
    let typed = Typed(typed);
    let known = crate::known::read(&app, &ctx, link.tub).await?;
    let ctx = owners(&ctx, &known);
    let done = || private(Redirect::to(&format!("/o/{secret}?sent=1")).into_response());
    let first = entry_id(&typed);
    if app.book().entry(first).await.map_err(failed(&ctx))?.is_some_and(|e| e.subject == Some(link.tub)) {
        return Ok(done());
    }
    let rows = rows(&app, &ctx, &known).await?;
    let mut read = Vec::new();
    for row in &rows {
        let body = typed.fill_body(&ctx, &row.fields, json!({}));
        if let Some(mut reading) = body.get(row.quantity.id()).cloned() {
            reading["quantity"] = Value::from(row.quantity.id());
            if let Some(method) = &row.method {
                reading["method"] = Value::from(method.as_str());
            }
            // A tick that was left out means that the band did not change.
            if reading.get("scale_units").is_some() && reading.get("signal_band_changed").is_none() {
                reading["signal_band_changed"] = Value::Bool(false);
            }
            read.push((row.quantity, reading));
        }
    }
    let again = async |faults: &[Problem], status| {
        let known = tub::planned(&app, &ctx, link.tub).await?;
        let page = page(&ctx, &secret, &known, &rows, &typed, faults, false);
        Ok(private((status, page).into_response()))
    };
    if read.is_empty() {
        let fault = Problem {
            file: String::new(),
            line: None,
            field: rows.first().and_then(|r| r.fields.first()).map(|f| f.path.clone()).unwrap_or_default(),
            what: "is empty, as all others are".into(),
            accepted: "at least one figure is needed".into(),
        };
        return again(&[fault], StatusCode::UNPROCESSABLE_ENTITY).await;
    }
    let now_us = ctx.now.as_microsecond();
    if !app.book().count_sending(link.id, now_us, SENDINGS_AN_HOUR).await.map_err(failed(&ctx))? {
        let title = t!(ctx, "owner-too-often");
        let body = html! { div.heading { h1 { (title) } } p.lead { (t!(ctx, "owner-too-often-why")) } };
        let page = shell::alone(&ctx, &title, &body);
        return Ok(private((StatusCode::TOO_MANY_REQUESTS, [("retry-after", "3600")], page).into_response()));
    }
    let entry = |index: usize, kind, body| NewEntry {
        id: Uuid::from_u128(first.as_u128().wrapping_add(index as u128)),
        kind,
        subject: Some(link.tub),
        at_us: now_us,
        by: None,
        corrects: None,
        body,
    };
    let mut entries: Vec<NewEntry> =
        read.iter().enumerate().map(|(i, (_, body))| entry(i, Kind::Reading, body.clone())).collect();
    entries.push(entry(read.len(), Kind::Note, json!({ "text": t!(ctx, "owner-note") })));
    match app.record(&entries).await {
        Ok(_) => Ok(done()),
        Err(BookError::Refused(refusals)) => {
            let faults: Vec<Problem> = refusals
                .into_iter()
                .filter_map(|r| Some((read.get(r.index)?.0, r.problems)))
                .flat_map(|(q, problems)| {
                    problems
                        .into_iter()
                        .map(move |p| Problem { field: format!("{}.{}", q.id(), p.field), ..p })
                })
                .collect();
            again(&faults, StatusCode::UNPROCESSABLE_ENTITY).await
        }
        Err(other) => Err(PageError::from(other).at(&ctx)),
    }
}
