//! What else happened to a tub: a note, a fill, a top-up, water replaced, bathers, a service.

use super::{Around, known, page};
use crate::ctx::Ctx;
use crate::error::Answer;
use crate::page::address::Path;
use crate::page::typed::{Typed, hidden_id, record_typed};
use crate::state::App;
use crate::unit::Units;
use crate::words::t;
use axum::Form;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use book::{Kind, NewEntry, Uuid};
use maud::{Markup, html};
use serde_json::{Value, json};

/// The kinds of events that a form offers.
const KINDS: [(&str, &str); 7] = [
    ("fill", "event-fill"),
    ("top-up", "event-top-up-short"),
    ("drain", "event-drain-short"),
    ("bathers", "event-bathers-short"),
    ("cell", "event-cell-short"),
    ("cover", "event-cover"),
    ("service", "event-service"),
];

pub(super) fn forms(ctx: &Ctx, tub: Uuid, typed: &Typed) -> Markup {
    let of = |form: &str| typed.text("form") == Some(form);
    let empty = Typed::default();
    let (note, event) = (if of("note") { typed } else { &empty }, if of("event") { typed } else { &empty });
    let kinds: Vec<(String, String)> =
        KINDS.iter().map(|(k, m)| ((*k).to_string(), ctx.say(m, None))).collect();
    html! {
        section aria-labelledby="more" {
            h2 #more { (t!(ctx, "happened")) }
            form method="post" action={ "/tubs/" (tub) "/notes" } data-queue="note" {
                (hidden_id(Uuid::now_v7())) input type="hidden" name="form" value="note";
                label for="f-text" { (t!(ctx, "note-label")) }
                textarea #f-text name="text" rows="2" maxlength="4000" { (note.text("text").unwrap_or_default()) }
                (note.said("text"))
                div.actions { button type="submit" { (t!(ctx, "note-add")) } a.button href={ "/tubs/" (tub) "/photos" } { (t!(ctx, "photos")) } }
            }
            details open[of("event")] {
                summary { (t!(ctx, "event-other")) }
                form method="post" action={ "/tubs/" (tub) "/events" } data-queue="event" {
                    (hidden_id(Uuid::now_v7())) input type="hidden" name="form" value="event";
                    (event.choice("kind", &t!(ctx, "event-kind"), &kinds))
                    p.soft { (t!(ctx, "event-fields")) }
                    div.row {
                        div { (event.line("volume", &volume_label(ctx), "number")) }
                        div { (event.line("share_percent", &t!(ctx, "event-share"), "number")) }
                        div { (event.line("people", &t!(ctx, "event-people"), "number")) }
                        div { (event.line("minutes", &t!(ctx, "event-minutes"), "number")) }
                        div { (event.line("output_percent", &t!(ctx, "event-output"), "number")) }
                    }
                    (event.line("words", &t!(ctx, "event-words"), "text"))
                    (event.line("when", &t!(ctx, "form-when-or-now"), "datetime-local"))
                    div.actions { button type="submit" { (t!(ctx, "event-record")) } }
                }
            }
        }
    }
}

fn volume_label(ctx: &Ctx) -> String {
    match ctx.units {
        Units::Metric => t!(ctx, "event-litres"),
        Units::Us => t!(ctx, "event-gallons"),
    }
}

/// A note.
pub(super) async fn note(
    State(app): State<App>,
    ctx: Ctx,
    Path(tub): Path<Uuid>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Answer {
    let mut typed = Typed::from(sent);
    let body = typed.text("text").map(|text| json!({ "text": text }));
    if body.is_none() {
        typed.fault("text", t!(&ctx, "note-empty"));
    }
    record(app, ctx, tub, typed, Kind::Note, body).await
}

/// An event.
pub(super) async fn event(
    State(app): State<App>,
    ctx: Ctx,
    Path(tub): Path<Uuid>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Answer {
    let mut typed = Typed::from(sent);
    let body = event_body(&ctx, &mut typed);
    record(app, ctx, tub, typed, Kind::Event, Some(body)).await
}

/// Only what belongs to the kind: a figure left in another field is no fault.
fn event_body(ctx: &Ctx, typed: &mut Typed) -> Value {
    let kind = typed.text("kind").unwrap_or_default().to_string();
    let mut body = json!({ "kind": kind });
    let fields: &[&str] = match kind.as_str() {
        "top-up" => &["volume"],
        "drain" => &["share_percent", "volume"],
        "bathers" => &["people", "minutes"],
        "cell" => &["output_percent"],
        _ => &[],
    };
    for field in fields {
        let Some(number) = typed.number(ctx, field) else { continue };
        match (*field, ctx.units) {
            ("volume", Units::Us) => body["volume_l"] = (number * care::wire::case::LITRES_PER_GALLON).into(),
            ("volume", Units::Metric) => body["volume_l"] = number.into(),
            (field, _) => body[field] = number.into(),
        }
    }
    if let Some(words) = typed.text("words") {
        body["text"] = words.into();
    }
    body
}

async fn record(app: App, ctx: Ctx, tub: Uuid, mut typed: Typed, kind: Kind, body: Option<Value>) -> Answer {
    let at_us = typed.happened_us(&ctx);
    let back = Redirect::to(&format!("/tubs/{tub}#log"));
    if let (Some(body), false) = (body, typed.has_faults()) {
        let entry = NewEntry {
            id: typed.id(),
            kind,
            subject: Some(tub),
            at_us,
            by: ctx.who.person,
            corrects: None,
            body,
        };
        // That the tub is there is asked first: nothing is recorded of a tub that nobody knows.
        crate::known::read(&app, &ctx, tub).await?;
        if record_typed(&app, &mut typed, &[entry]).await.map_err(|e| e.at(&ctx))? {
            return Ok(back.into_response());
        }
    }
    let known = known(&app, &ctx, tub).await?;
    let around = Around::read(&app, &ctx, &known, &[]).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&ctx, &known, &around, &typed)).into_response())
}
