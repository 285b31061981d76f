//! One entry: corrected by another one, or taken back. What was recorded stays in the book either way.

use super::{known, log};
use crate::ctx::Ctx;
use crate::error::{Answer, PageError, Refusal};
use crate::page::address::Path;
use crate::page::shell;
use crate::page::typed::{Typed, field_time, hidden_id, record_typed};
use crate::state::App;
use crate::words::t;
use axum::Form;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use book::{Entry, Kind, NewEntry, Uuid};
use maud::{Markup, html};
use serde_json::{Value, json};

/// The fields of a body that can be set right here, in the order of the form.
const NUMBERS: [&str; 11] = [
    "value",
    "drops",
    "scale_units",
    "minutes",
    "mass_g",
    "volume_ml",
    "measures",
    "share_percent",
    "volume_l",
    "people",
    "output_percent",
];

async fn found(app: &App, ctx: &Ctx, tub: Uuid, entry: Uuid) -> Result<Entry, Refusal> {
    let found = app.book().entry(entry).await.map_err(|e| PageError::from(e).at(ctx))?;
    let mine = |e: &Entry| e.subject == Some(tub) && e.kind.is_happening();
    found.filter(mine).ok_or_else(|| PageError::Missing("entry").at(ctx))
}

pub(super) async fn show(State(app): State<App>, ctx: Ctx, Path((tub, entry)): Path<(Uuid, Uuid)>) -> Answer {
    let known = known(&app, &ctx, tub).await?;
    let entry = found(&app, &ctx, tub, entry).await?;
    let mut typed = Typed::default();
    for field in NUMBERS {
        match entry.body.get(field) {
            Some(Value::Number(n)) => typed.set(field, plain(&ctx, n)),
            Some(Value::String(s)) => typed.set(field, s.as_str()),
            _ => {}
        }
    }
    if let Some(text) = entry.body["text"].as_str() {
        typed.set("text", text);
    }
    typed.set("when", field_time(&ctx, entry.at_us));
    let kits = log::Kits::read(&app, &ctx).await?;
    Ok(page(&ctx, &known.thing.name, tub, &entry, &kits, &typed).into_response())
}

/// A number as it was entered, in the reader's own marks.
fn plain(ctx: &Ctx, n: &serde_json::Number) -> String {
    let text = n.to_string();
    if ctx.language.language.as_str() == "en" { text } else { text.replace('.', ",") }
}

fn page(ctx: &Ctx, name: &str, tub: Uuid, entry: &Entry, kits: &log::Kits, typed: &Typed) -> Markup {
    let title = t!(ctx, "entry-title");
    let of = |field: &str| entry.body.get(field).is_some();
    let body = html! {
        p.back { a href={ "/tubs/" (tub) } { (name) } }
        div.heading { h1 { (title) } p { (ctx.day_and_time(entry.at_us)) } }
        p.lead { (log::said(ctx, entry, kits)) }
        @if entry.is_effective() {
            p { (t!(ctx, "entry-stays")) }
            (typed.summary(ctx))
            @if entry.kind != Kind::Photo {
                form.narrow method="post" action={ "/tubs/" (tub) "/entries/" (entry.id) } {
                    h2 { (t!(ctx, "entry-correct")) }
                    (hidden_id(Uuid::now_v7())) input type="hidden" name="do" value="correct";
                    @for field in NUMBERS.into_iter().filter(|f| of(f)) {
                        (typed.line(field, &ctx.say(&format!("field-{}", field.replace('_', "-")), None), if field == "value" { "text" } else { "number" }))
                    }
                    @if of("signal_band_changed") { (signal(ctx, entry)) }
                    @if entry.kind == Kind::Note || of("text") { (typed.line("text", &t!(ctx, "field-text"), "text")) }
                    (typed.line("when", &t!(ctx, "form-when"), "datetime-local"))
                    div.actions { button.first type="submit" { (t!(ctx, "entry-correct-do")) } }
                }
            }
            form.narrow method="post" action={ "/tubs/" (tub) "/entries/" (entry.id) } {
                h2 { (t!(ctx, "entry-withdraw")) }
                (hidden_id(Uuid::now_v7())) input type="hidden" name="do" value="withdraw";
                (typed.line("why", &t!(ctx, "entry-why"), "text"))
                div.actions { button type="submit" { (t!(ctx, "entry-withdraw-do")) } }
            }
        } @else {
            p { (t!(ctx, "entry-gone")) }
            @if let Some(other) = entry.corrected_by { p { a href={ "/tubs/" (tub) "/entries/" (other) } { (t!(ctx, "log-corrected")) } } }
        }
    };
    shell::page(ctx, &title, &body)
}

/// Whether a capillary strip's signal band had changed.
fn signal(ctx: &Ctx, entry: &Entry) -> Markup {
    let mut typed = Typed::default();
    if entry.body["signal_band_changed"] == true {
        typed.set("signal", "1");
    }
    typed.tick("signal", &t!(ctx, "field-signal"))
}

pub(super) async fn correct(
    State(app): State<App>,
    ctx: Ctx,
    Path((tub, entry)): Path<(Uuid, Uuid)>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Answer {
    let known = known(&app, &ctx, tub).await?;
    let entry = found(&app, &ctx, tub, entry).await?;
    let mut typed = Typed::from(sent);
    let (body, at_us) = if typed.text("do") == Some("withdraw") {
        let why = typed.text("why").map(str::to_string);
        if why.is_none() {
            typed.fault("why", t!(&ctx, "entry-why-wanted"));
        }
        (json!({ "withdrawn": true, "why": why }), entry.at_us)
    } else {
        let at_us = typed.when_us(&ctx, "when");
        // The field knows minutes; a time that was not touched keeps its seconds.
        let same = at_us.is_none_or(|at| field_time(&ctx, at) == field_time(&ctx, entry.at_us));
        (corrected(&ctx, &entry, &mut typed), if same { entry.at_us } else { at_us.unwrap_or(entry.at_us) })
    };
    if !typed.has_faults() {
        let new = NewEntry {
            id: typed.id(),
            kind: entry.kind,
            subject: entry.subject,
            at_us,
            by: ctx.who.person,
            corrects: Some(entry.id),
            body,
        };
        if record_typed(&app, &mut typed, &[new]).await.map_err(|e| e.at(&ctx))? {
            return Ok(Redirect::to(&format!("/tubs/{tub}#log")).into_response());
        }
    }
    let kits = log::Kits::read(&app, &ctx).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&ctx, &known.thing.name, tub, &entry, &kits, &typed))
        .into_response())
}

/// The body with what was typed in place of what stood there.
fn corrected(ctx: &Ctx, entry: &Entry, typed: &mut Typed) -> Value {
    let mut body = entry.body.clone();
    for field in NUMBERS.into_iter().filter(|f| entry.body.get(f).is_some()) {
        let limit =
            typed.text(field).filter(|t| field == "value" && t.starts_with(['<', '>'])).map(str::to_string);
        match limit {
            Some(limit) => body[field] = limit.replace(',', ".").into(),
            None => match typed.number(ctx, field) {
                Some(number) => body[field] = number.into(),
                None if typed.text(field).is_none() => typed.fault(field, t!(ctx, "form-wanted")),
                None => {}
            },
        }
    }
    if entry.body.get("signal_band_changed").is_some() {
        body["signal_band_changed"] = typed.ticked("signal").into();
    }
    // The amount in words was of the amount before.
    if body["mass_g"] != entry.body["mass_g"]
        && let Some(fields) = body.as_object_mut()
    {
        fields.remove("amount_text");
    }
    match (typed.text("text"), entry.kind) {
        (Some(text), _) => body["text"] = text.into(),
        (None, Kind::Note) => typed.fault("text", t!(ctx, "note-empty")),
        (None, _) => {
            if let Some(fields) = body.as_object_mut() {
                fields.remove("text");
            }
        }
    }
    body
}
