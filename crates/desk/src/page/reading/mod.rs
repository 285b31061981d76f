//! Reading: what the kits say, entered at the tub's side in their own raw units, checked while it is typed.

mod checked;
mod figure;
mod form;
mod kit;
mod view;

use crate::ctx::Ctx;
use crate::error::{Answer, PageError};
use crate::number::with_comma;
use crate::page::address::Path;
use crate::page::shell;
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::words::t;
use axum::Form;
use axum::Router;
use axum::extract::State;
use axum::http::{Method, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use book::{BookError, Kind, NewEntry, Uuid};
use care::quantity::Quantity as Q;
use checked::{Checked, Said, check, plain};
use form::{Row, Sent, Shape};
use jiff::Timestamp;
use kit::Kit;
use maud::Markup;
use serde_json::{Map, Value, json};

pub(crate) const RULES: &[Rule] = &[
    (Method::GET, "/tubs/{tub}/reading", Role::Technician),
    (Method::POST, "/tubs/{tub}/reading", Role::Technician),
    (Method::POST, "/tubs/{tub}/reading/check", Role::Technician),
];

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/tubs/{tub}/reading", get(show).post(save))
        .route("/tubs/{tub}/reading/check", post(results))
}

async fn show(State(app): State<App>, ctx: Ctx, Path(tub): Path<Uuid>) -> Answer {
    let kit = Kit::load(&app, &ctx, tub).await?;
    let shown = ctx.local(ctx.now.as_microsecond()).strftime("%Y-%m-%dT%H:%M").to_string();
    let rows =
        kit.quantities.iter().filter_map(|q| Some(Row::empty(Uuid::now_v7(), *q, kit.usual(*q)?))).collect();
    let moment = ctx.now.to_string();
    let sent = Sent { rows, at: shown.clone(), shown, moment, units: ctx.units, only_check: false };
    Ok(page(&ctx, &kit, &sent, None, &[]).into_response())
}

fn page(ctx: &Ctx, kit: &Kit, sent: &Sent, checked: Option<&Checked>, faults: &[String]) -> Markup {
    let title = format!("{}: {}", t!(ctx, "reading-title"), kit.thing.name);
    shell::page(ctx, &title, &view::body(ctx, kit, sent, checked, faults))
}

type Fields = Form<Vec<(String, String)>>;

/// What was sent, with its tub.
async fn received(
    app: &App,
    ctx: &Ctx,
    tub: Uuid,
    fields: &[(String, String)],
) -> Result<(Kit, Sent), crate::error::Refusal> {
    let mut kit = Kit::load(app, ctx, tub).await?;
    let mut sent = Sent::parse(fields, with_comma(&ctx.language))
        .map_err(|field| PageError::Unusable(vec![t!(ctx, "reading-field", field = field)]).at(ctx))?;
    let also = fields
        .iter()
        .find(|(n, v)| n == "do" && v == "also")
        .and_then(|_| fields.iter().find(|(n, _)| n == "also"));
    for row in &sent.rows {
        kit.also(row.quantity);
    }
    if let Some(q) =
        also.and_then(|(_, q)| Q::from_id(q)).filter(|q| sent.rows.iter().all(|r| r.quantity != *q))
    {
        sent.only_check = true;
        kit.also(q);
        sent.rows.extend(kit.usual(q).map(|m| Row::empty(Uuid::now_v7(), q, m)));
    }
    Ok((kit, sent))
}

/// Results while one types: a fragment.
async fn results(State(app): State<App>, ctx: Ctx, Path(tub): Path<Uuid>, Form(fields): Fields) -> Answer {
    let (kit, sent) = received(&app, &ctx, tub, &fields).await?;
    let checked = worked_out(&ctx, kit, sent).await?.2;
    Ok(view::results(&ctx, &checked).into_response())
}

/// The chemistry off the threads that answer.
async fn worked_out(ctx: &Ctx, kit: Kit, sent: Sent) -> Result<(Kit, Sent, Checked), crate::error::Refusal> {
    let at = sent
        .at_us(&ctx.zone)
        .and_then(|us| Timestamp::from_microsecond(us).ok())
        .unwrap_or(ctx.now)
        .to_string();
    let work = tokio::task::spawn_blocking(move || {
        let checked = check(&kit, &sent, &at);
        (kit, sent, checked)
    });
    work.await.map_err(|e| PageError::Unusable(vec![e.to_string()]).at(ctx))
}

/// Records a reading that is plainly one of the tub's own kit: what was read before is not read for it, so that whoever
/// stands at the tub hears at once that it is kept. `false`: nothing is recorded, and a closer look is needed.
async fn saved_at_once(
    app: &App,
    ctx: &Ctx,
    tub: Uuid,
    fields: &[(String, String)],
) -> Result<bool, BookError> {
    let Ok(sent) = Sent::parse(fields, with_comma(&ctx.language)) else { return Ok(false) };
    let only_to_be_saved =
        !sent.only_check && fields.iter().all(|(name, value)| name != "do" || value == "save");
    let Some(at_us) = sent.at_us(&ctx.zone).filter(|_| only_to_be_saved) else { return Ok(false) };
    let Some(kit) = Kit::named(app, tub).await?.filter(|kit| plain(kit, &sent)) else { return Ok(false) };
    match app.record(&entries(ctx, kit.thing.id, &sent, at_us)).await {
        Ok(_) => Ok(true),
        Err(BookError::Refused(_)) => Ok(false),
        Err(why) => Err(why),
    }
}

/// An entry for each row that is filled.
fn entries(ctx: &Ctx, tub: Uuid, sent: &Sent, at_us: i64) -> Vec<NewEntry> {
    let filled = sent.rows.iter().filter(|r| r.is_filled());
    let bodies = filled.filter_map(|r| Some((r.id, r.body(sent.units).ok()?)));
    let entry = |(id, body)| NewEntry {
        id,
        kind: Kind::Reading,
        subject: Some(tub),
        at_us,
        by: ctx.who.person,
        corrects: None,
        body,
    };
    bodies.map(entry).collect()
}

async fn save(State(app): State<App>, ctx: Ctx, Path(tub): Path<Uuid>, Form(fields): Fields) -> Answer {
    if saved_at_once(&app, &ctx, tub, &fields).await.map_err(|e| PageError::from(e).at(&ctx))? {
        return Ok(Redirect::to(&format!("/tubs/{tub}/plan")).into_response());
    }
    let (kit, sent) = received(&app, &ctx, tub, &fields).await?;
    let (kit, mut sent, mut checked) = worked_out(&ctx, kit, sent).await?;
    if sent.only_check {
        in_shape(&kit, &mut sent, &mut checked);
        return Ok(page(&ctx, &kit, &sent, Some(&checked), &[]).into_response());
    }
    let mut faults = Vec::new();
    let at_us = sent.at_us(&ctx.zone);
    if at_us.is_none() {
        faults.push(t!(ctx, "reading-no-time", at = sent.at.clone()));
    }
    if !sent.rows.iter().any(Row::is_filled) {
        faults.push(t!(ctx, "reading-nothing"));
    }
    if checked.has_mistakes() {
        for (row, (said, _)) in sent.rows.iter().zip(&checked.rows) {
            if let Some(Said::Mistake(mistake)) = said {
                faults.push(format!("{}: {}", view::name(&ctx, row.quantity), view::sentence(&ctx, mistake)));
            }
        }
    }
    let (Some(at_us), true) = (at_us, faults.is_empty()) else {
        return Ok(unusable(&ctx, &kit, &sent, &checked, &faults));
    };
    match app.record(&entries(&ctx, tub, &sent, at_us)).await {
        Ok(receipts) => {
            if receipts.iter().any(|r| !r.was_there) {
                remember(&app, &ctx, &kit, &sent).await;
            }
            Ok(Redirect::to(&format!("/tubs/{tub}/plan")).into_response())
        }
        Err(BookError::Refused(refused)) => {
            let filled: Vec<&Row> = sent.rows.iter().filter(|r| r.is_filled()).collect();
            let faults: Vec<String> = refused
                .iter()
                .flat_map(|r| r.problems.iter().map(move |p| (r.index, p.to_string())))
                .map(|(index, problem)| {
                    let of = filled.get(index).map(|r| view::name(&ctx, r.quantity));
                    of.map_or(problem.clone(), |of| format!("{of}: {problem}"))
                })
                .collect();
            Ok(unusable(&ctx, &kit, &sent, &checked, &faults))
        }
        Err(why) => Err(PageError::from(why).at(&ctx)),
    }
}

fn unusable(ctx: &Ctx, kit: &Kit, sent: &Sent, checked: &Checked, faults: &[String]) -> Response {
    (StatusCode::UNPROCESSABLE_ENTITY, page(ctx, kit, sent, Some(checked), faults)).into_response()
}

/// Rows whose method was changed ask in the new method's shape; what was typed in another unit is no longer meant.
fn in_shape(kit: &Kit, sent: &mut Sent, checked: &mut Checked) {
    for (row, checked) in sent.rows.iter_mut().zip(&mut checked.rows) {
        let Some(method) = kit.method(&row.method) else { continue };
        let shape = Shape::of(method);
        if shape != row.shape {
            *row = Row { method: row.method.clone(), ..Row::empty(row.id, row.quantity, method) };
            *checked = (None, Vec::new());
        }
    }
}

/// Another method than the usual one was chosen: it is the tub's kit from now on. The readings stand in any case.
async fn remember(app: &App, ctx: &Ctx, kit: &Kit, sent: &Sent) {
    let other = |r: &Row| kit.usual(r.quantity).is_some_and(|m| m.id != r.method);
    if !sent.rows.iter().any(|r| r.is_filled() && other(r)) {
        return;
    }
    let mut named: Map<String, Value> = kit.thing.body["kit"].as_object().cloned().unwrap_or_default();
    for row in &sent.rows {
        named.insert(row.quantity.id().to_owned(), row.method.as_str().into());
    }
    let mut body = kit.thing.body.clone();
    body["kit"] = json!(named);
    let entry = NewEntry {
        id: Uuid::now_v7(),
        kind: Kind::Tub,
        subject: Some(kit.thing.id),
        at_us: app.now_us().max(kit.thing.at_us + 1),
        by: ctx.who.person,
        corrects: None,
        body,
    };
    if let Err(why) = app.record(&[entry]).await {
        tracing::warn!(%why, "the tub's kit was not remembered");
    }
}
