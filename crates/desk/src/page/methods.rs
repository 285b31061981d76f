//! Methods: how each kit works, how far it is wrong and who says so; the firm's own kits with the tables of their lots.

use crate::ctx::Ctx;
use crate::error::{Answer, PageError};
use crate::number::with_comma;
use crate::owner_sheet::quantity;
use crate::page::address::Path;
use crate::page::fields::{Field, Input, Typed, draw, number};
use crate::page::things::{all, crumbs, entry_field, entry_id, failed, names, refused, save};
use crate::page::{lot_plot, shell};
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::unit::with_unit;
use crate::words::t;
use axum::extract::{Query, State};
use axum::http::Method;
use axum::response::{IntoResponse, Redirect};
use axum::routing::get;
use axum::{Form, Router};
use book::{Kind, Uuid};
use care::method::{self, Standing, Step};
use care::quantity::{ALL, Quantity as Q};
use care::wire::Problem;
use maud::{Markup, html};
use serde::Deserialize;
use serde_json::{Value, json};

pub(crate) const RULES: &[Rule] = &[
    (Method::GET, "/methods", Role::Viewer),
    (Method::GET, "/methods/new", Role::Lead),
    (Method::GET, "/methods/{id}", Role::Viewer),
    (Method::POST, "/methods/{id}", Role::Lead),
];

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/methods", get(list))
        .route("/methods/new", get(blank))
        .route("/methods/{id}", get(show).post(store))
}

const KINDS: [&str; 5] =
    ["chloride-strip", "drop-titration", "ph-electrode", "amperometric-probe", "redox-probe"];

fn kind_name(ctx: &Ctx, kind: &str) -> String {
    match kind {
        "chloride-strip" => t!(ctx, "kind-chloride-strip"),
        "drop-titration" => t!(ctx, "kind-drop-titration"),
        "ph-electrode" => t!(ctx, "kind-ph-electrode"),
        "amperometric-probe" => t!(ctx, "kind-amperometric-probe"),
        _ => t!(ctx, "kind-redox-probe"),
    }
}

fn line(ctx: &Ctx, body: &Value) -> String {
    let kind = kind_name(ctx, body["kind"].as_str().unwrap_or_default());
    match body["lot"].as_str() {
        Some(lot) => format!("{kind} · {}", t!(ctx, "methods-lot", lot = lot.to_owned())),
        None => kind,
    }
}

async fn list(State(app): State<App>, ctx: Ctx) -> Answer {
    let own = all(&app, &ctx, Kind::Method).await?;
    let title = t!(ctx, "methods-title");
    let body = html! {
        (crumbs(&ctx, &[]))
        div.heading { h1 { (title) } }
        p.lead { (t!(ctx, "methods-lead")) }
        h2 { (t!(ctx, "methods-own")) }
        (names(&ctx, &own, |t| format!("/methods/{}", t.id), line))
        @if ctx.who.role >= Role::Lead {
            ul.actions.plain {
                @for kind in KINDS {
                    li { a.button href={ "/methods/new?kind=" (kind) } { (t!(ctx, "methods-new", kind = kind_name(&ctx, kind))) } }
                }
            }
        }
        h2 { (t!(ctx, "methods-built-in")) }
        ul.things {
            @for m in method::BUILT_IN {
                li {
                    a href={ "/methods/" (m.id) } {
                        span.thing { (ctx.care(&m.said())) }
                        span.line { (m.quantities().map(|q| quantity(&ctx, q)).collect::<Vec<_>>().join(", ")) }
                    }
                }
            }
        }
    };
    Ok(shell::page(&ctx, &title, &body).into_response())
}

/// One built-in method: what it is, scale by scale.
fn built_in(ctx: &Ctx, m: &method::Method) -> Markup {
    let number = |v: f64| ctx.number(v, if v.abs() >= 10.0 { 0 } else { 2 });
    html! {
        (crumbs(ctx, &[("/methods".to_owned(), t!(ctx, "methods-title"))]))
        div.heading { h1 { (ctx.care(&m.said())) } p { (m.id) } }
        p.lead { (physics(ctx, &m.kind)) }
        p { (t!(ctx, "methods-error-from")) " " span lang="en" { (m.error_source) } ". " (standing(ctx, m.standing)) }
        h2 { (t!(ctx, "methods-scales")) }
        div.scroll tabindex="0" role="region" aria-label=(t!(ctx, "methods-scales")) {
            table {
                thead { tr {
                    th scope="col" { (t!(ctx, "methods-quantity")) } th scope="col" { (t!(ctx, "methods-range")) }
                    th scope="col" { (t!(ctx, "methods-marks")) } th scope="col" { (t!(ctx, "methods-error")) }
                } }
                tbody {
                    @for s in m.scales.iter() {
                        tr {
                            th scope="row" { (quantity(ctx, s.quantity)) }
                            td { (with_unit(&ctx.between(s.low, number(s.low), number(s.high)), s.quantity.unit())) }
                            td { (marks(ctx, &s.step)) }
                            td { "±" (with_unit(&number(s.absolute_error), s.quantity.unit())) @if s.relative_error > 0.0 { " + " (with_unit(&ctx.number(100.0 * s.relative_error, 0), "%")) } }
                        }
                    }
                }
            }
        }
    }
}

fn marks(ctx: &Ctx, step: &Step) -> String {
    match step {
        Step::Even(gap) if *gap > 0.0 => {
            t!(ctx, "methods-every", gap = ctx.number(*gap, if *gap >= 1.0 { 0 } else { 2 }))
        }
        Step::Even(_) => t!(ctx, "methods-smooth"),
        Step::Marks(marks) => marks
            .iter()
            .map(|m| ctx.number(*m, if m.fract() == 0.0 { 0 } else { 1 }))
            .collect::<Vec<_>>()
            .join(" · "),
    }
}

fn physics(ctx: &Ctx, kind: &method::Kind) -> String {
    match kind {
        method::Kind::DropTitration { sample_ml, per_drop } => t!(
            ctx,
            "physics-drops",
            sample = ctx.number(*sample_ml, 0),
            drop = ctx.number(*per_drop, if *per_drop < 1.0 { 1 } else { 0 })
        ),
        method::Kind::Comparator => t!(ctx, "physics-comparator"),
        method::Kind::Photometer => t!(ctx, "physics-photometer"),
        method::Kind::Strip => t!(ctx, "physics-strip"),
        method::Kind::ChlorideStrip { .. } => t!(ctx, "physics-chloride-strip"),
        method::Kind::TurbidityTube => t!(ctx, "physics-tube"),
        method::Kind::PhElectrode { .. } => t!(ctx, "physics-electrode"),
        method::Kind::ChlorineProbe { law: method::ProbeLaw::Amperometric, .. } => {
            t!(ctx, "physics-amperometric")
        }
        method::Kind::ChlorineProbe { law: method::ProbeLaw::Redox, .. } => t!(ctx, "physics-redox"),
        method::Kind::Conductivity { .. } => t!(ctx, "physics-conductivity"),
        method::Kind::Thermometer => t!(ctx, "physics-thermometer"),
        method::Kind::Stated => t!(ctx, "physics-stated"),
        method::Kind::Display => t!(ctx, "physics-display"),
    }
}

fn standing(ctx: &Ctx, standing: Standing) -> String {
    match standing {
        Standing::Published => t!(ctx, "methods-published"),
        Standing::CommonPractice => t!(ctx, "methods-practice"),
        Standing::FromMemory => t!(ctx, "methods-memory"),
        Standing::User => t!(ctx, "methods-user"),
    }
}

async fn show(State(app): State<App>, ctx: Ctx, Path(id): Path<String>) -> Answer {
    if let Some(m) = method::BUILT_IN.iter().find(|m| m.id == id) {
        return Ok(shell::page(&ctx, &m.name, &built_in(&ctx, m)).into_response());
    }
    let missing = || PageError::Missing("method").at(&ctx);
    let id = Uuid::try_parse(&id).map_err(|_| missing())?;
    let thing = app.book().thing(Kind::Method, id).await.map_err(failed(&ctx))?.ok_or_else(missing)?;
    let kind = thing.body["kind"].as_str().unwrap_or_default();
    let typed = typed_of(&ctx, kind, &thing.body);
    Ok(form(&ctx, id, kind, &thing.name, &typed, &[], &thing.body).into_response())
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Asked {
    kind: Option<String>,
}

async fn blank(ctx: Ctx, Query(asked): Query<Asked>) -> Answer {
    let kind = asked.kind.as_deref().filter(|k| KINDS.contains(k)).unwrap_or(KINDS[0]);
    let title = t!(ctx, "methods-new", kind = kind_name(&ctx, kind));
    Ok(form(&ctx, Uuid::now_v7(), kind, &title, &Typed::default(), &[], &Value::Null).into_response())
}

fn fields(ctx: &Ctx, kind: &str) -> Vec<Field> {
    let number = |path: &str, id: &str| Field::new(path, ctx.say(id, None), Input::Number);
    let mut fields = vec![
        Field::new("id", t!(ctx, "method-id"), Input::Text).hint(t!(ctx, "method-id-hint")),
        Field::new("name", t!(ctx, "things-name"), Input::Text),
    ];
    match kind {
        "chloride-strip" => {
            let basis = vec![
                ("sodium-chloride".to_owned(), t!(ctx, "method-basis-salt")),
                ("chloride".to_owned(), t!(ctx, "method-basis-chloride")),
            ];
            fields.push(Field::new("lot", t!(ctx, "method-lot"), Input::Text));
            fields.push(Field::new("basis", t!(ctx, "method-basis"), Input::Choice(basis)));
        }
        "drop-titration" => {
            let all = ALL.iter().filter(|q| **q != Q::SaturationIndex);
            let all = all.map(|q| (q.id().to_owned(), quantity(ctx, *q))).collect();
            fields.push(Field::new("quantity", t!(ctx, "methods-quantity"), Input::Choice(all)));
            fields.push(number("sample_ml", "method-sample"));
            fields.push(number("per_drop", "method-drop"));
        }
        "ph-electrode" => {
            fields.push(number("calibration_age_days", "method-age"));
            fields.push(number("offset_ph", "method-offset"));
            fields.push(number("slope_percent", "method-slope"));
        }
        _ => {
            fields.push(number("set_at_ph", "method-set-ph"));
            fields.push(number("set_at_temperature_c", "method-set-temperature"));
            fields.push(number("set_at_free_chlorine_mg_l", "method-set-chlorine"));
            fields.push(number("set_at_cyanuric_acid_mg_l", "method-set-cyanuric"));
        }
    }
    fields
}

fn typed_of(ctx: &Ctx, kind: &str, body: &Value) -> Typed {
    let mut typed = Typed::of_body(ctx, &fields(ctx, kind), body);
    let rows = body["table"].as_array().cloned().unwrap_or_default();
    let rows = rows.iter().map(|r| format!("{} {}", r[0], r[1])).collect::<Vec<_>>().join("\n");
    typed.0.push(("table".to_owned(), rows));
    typed
}

/// The table as typed: a row a line, scale unit and mg/L. What is no number stays as it is, for the record to refuse.
fn table(typed: &str, comma: bool) -> Value {
    let rows = typed.lines().filter(|l| !l.trim().is_empty());
    let cells = |l: &str| {
        let split = l.split([' ', '\t', ';', '=', ':']).map(str::trim).filter(|c| !c.is_empty());
        Value::Array(split.map(|t| number(t, comma)).collect())
    };
    Value::Array(rows.map(cells).collect())
}

async fn store(
    State(app): State<App>,
    ctx: Ctx,
    Path(id): Path<Uuid>,
    Form(typed): Form<Vec<(String, String)>>,
) -> Answer {
    let typed = Typed(typed);
    let before = app.book().thing(Kind::Method, id).await.map_err(failed(&ctx))?;
    let kind = match &before {
        Some(thing) => thing.body["kind"].as_str().unwrap_or_default().to_owned(),
        None => typed.get("kind").to_owned(),
    };
    let kind = KINDS.into_iter().find(|k| *k == kind).ok_or_else(|| PageError::Missing("method").at(&ctx))?;
    let base = before.as_ref().map_or_else(|| json!({}), |t| t.body.clone());
    let mut body = typed.fill_body(&ctx, &fields(&ctx, kind), base);
    body["kind"] = Value::from(kind);
    if kind == "chloride-strip" {
        body["table"] = table(typed.get("table"), with_comma(&ctx.language));
    }
    let faults = save(&app, &ctx, Kind::Method, id, entry_id(&typed), body.clone()).await?;
    if faults.is_empty() {
        return Ok(Redirect::to(&format!("/methods/{id}")).into_response());
    }
    let title = before.map_or_else(|| t!(ctx, "methods-new", kind = kind_name(&ctx, kind)), |t| t.name);
    Ok(refused(form(&ctx, id, kind, &title, &typed, &faults, &body)))
}

fn form(
    ctx: &Ctx,
    id: Uuid,
    kind: &str,
    title: &str,
    typed: &Typed,
    faults: &[Problem],
    body: &Value,
) -> Markup {
    let (of_table, others): (Vec<Problem>, Vec<Problem>) =
        faults.iter().cloned().partition(|p| p.field.starts_with("table"));
    let invalid = (!of_table.is_empty()).then_some("true");
    let page = html! {
        (crumbs(ctx, &[("/methods".to_owned(), t!(ctx, "methods-title"))]))
        div.heading { h1 { (title) } p { (kind_name(ctx, kind)) } }
        @if kind == "chloride-strip" { (lot_plot::draw(ctx, body)) }
        form.thing method="post" action={ "/methods/" (id) } {
            (entry_field())
            input type="hidden" name="kind" value=(kind);
            @if faults.is_empty() || !others.is_empty() { (draw(ctx, &fields(ctx, kind), typed, &others)) }
            @else { p.fault role="alert" { (t!(ctx, "fields-faults")) } (draw(ctx, &fields(ctx, kind), typed, &[])) }
            @if kind == "chloride-strip" {
                div.field {
                    label for="table" { (t!(ctx, "method-table")) }
                    p.hint #table-hint { (t!(ctx, "method-table-hint")) }
                    @for p in &of_table { p.fault lang="en" { (p.to_string()) } }
                    textarea #table name="table" rows="12" inputmode="text" aria-describedby="table-hint" aria-invalid=[invalid] { (typed.get("table")) }
                }
            }
            @if ctx.who.role >= Role::Lead {
                div.actions { button.first type="submit" { (t!(ctx, "fields-save")) } }
            }
        }
    };
    shell::page(ctx, title, &page)
}
