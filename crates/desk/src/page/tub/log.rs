//! What happened to a tub, entry by entry, in words. A correction is an entry of its own; what was corrected stays.

use super::name;
use crate::ctx::Ctx;
use crate::error::{PageError, Refusal};
use crate::page::things::all;
use crate::state::App;
use crate::unit::with_unit;
use crate::words::t;
use book::{Entry, Filter, KINDS, Kind, Uuid};
use care::quantity::Quantity as Q;
use maud::{Markup, html};
use serde_json::Value;
use std::collections::BTreeMap;

/// So many entries stand on a tub's page.
const LAST: u32 = 20;

/// The last entries about a tub. Pictures are on a page of their own.
pub(super) async fn last(app: &App, tub: Uuid) -> Result<Vec<Entry>, PageError> {
    let kinds = KINDS.into_iter().filter(|k| k.is_happening() && *k != Kind::Photo).collect();
    let filter =
        Filter { subject: Some(tub), kinds, newest_first: true, limit: Some(LAST), ..Filter::default() };
    let mut last = app.book().entries(&filter).await?;
    last.sort_by_key(|e| std::cmp::Reverse((e.at_us, e.seq)));
    Ok(last)
}

pub(super) fn show(ctx: &Ctx, tub: Uuid, last: &[Entry], kits: &Kits) -> Markup {
    html! {
        section aria-labelledby="log" {
            h2 #log { (t!(ctx, "log")) }
            @if last.is_empty() { p.soft { (t!(ctx, "log-nothing")) } }
            ul.log {
                @for e in last {
                    li.gone[!e.is_effective()] #{ "e-" (e.id) } {
                        span.what { (said(ctx, e, kits)) }
                        span.soft {
                            (ctx.day_and_time(e.at_us))
                            @if let Some(other) = e.corrected_by { " · " a href={ "#e-" (other) } { (t!(ctx, "log-corrected")) } }
                            @if e.corrects.is_some() && !e.is_withdrawal() { " · " (t!(ctx, "log-corrects")) }
                        }
                        @if e.is_effective() { a.small href={ "/tubs/" (tub) "/entries/" (e.id) } { (t!(ctx, "log-correct")) } }
                    }
                }
            }
            @if last.len() >= LAST as usize { p { a href={ "/book?tub=" (tub) } { (t!(ctx, "log-all")) } } }
        }
    }
}

/// An entry in words.
pub(crate) fn said(ctx: &Ctx, e: &Entry, kits: &Kits) -> String {
    if e.is_withdrawal() {
        return t!(ctx, "log-withdrawn", why = text(&e.body, "why"));
    }
    match e.kind {
        Kind::Reading => reading(ctx, &e.body, kits),
        Kind::Dose => dose(ctx, &e.body),
        Kind::StepDone => step(ctx, &e.body),
        Kind::Event => event(ctx, &e.body),
        Kind::Note => text(&e.body, "text"),
        Kind::Photo => t!(ctx, "log-photo", text = text(&e.body, "text")),
        _ => e.kind.id().to_string(),
    }
}

/// A deed in words: only readings name a kit.
pub(crate) fn deed(ctx: &Ctx, e: &Entry) -> String {
    said(ctx, e, &Kits::default())
}

fn text(body: &Value, field: &str) -> String {
    body[field].as_str().unwrap_or_default().to_string()
}

/// A number as it was entered: not rounded.
fn raw(ctx: &Ctx, value: &Value) -> String {
    match value {
        Value::Number(n) => {
            let plain = n.to_string();
            let decimals = plain.split_once('.').map_or(0, |(_, d)| if d == "0" { 0 } else { d.len() });
            ctx.number(n.as_f64().unwrap_or(f64::NAN), decimals)
        }
        Value::String(s) => s.clone(),
        _ => "–".to_string(),
    }
}

/// What the kit showed, in its own way.
pub(crate) fn figure(ctx: &Ctx, body: &Value) -> String {
    if let Some(drops) = body.get("drops") {
        return t!(ctx, "raw-drops", n = raw(ctx, drops));
    }
    if let Some(units) = body.get("scale_units") {
        return t!(ctx, "raw-scale-units", n = raw(ctx, units));
    }
    let unit = body["quantity"].as_str().and_then(Q::from_id).map_or("", Q::unit);
    with_unit(&raw(ctx, &body["value"]), unit)
}

fn reading(ctx: &Ctx, body: &Value, kits: &Kits) -> String {
    let quantity = body["quantity"].as_str().and_then(Q::from_id).map_or_else(String::new, |q| name(ctx, q));
    match body["method"].as_str() {
        Some(method) => {
            let method = kits.name(ctx, method);
            t!(ctx, "log-reading-by", quantity = quantity, figure = figure(ctx, body), method = method)
        }
        None => t!(ctx, "log-reading", quantity = quantity, figure = figure(ctx, body)),
    }
}

/// The names of the firm's own kits, by their ids, whether still in use or put away.
#[derive(Debug, Default)]
pub(crate) struct Kits(BTreeMap<String, String>);

impl Kits {
    pub(crate) async fn read(app: &App, ctx: &Ctx) -> Result<Kits, Refusal> {
        let own = all(app, ctx, Kind::Method).await?;
        Ok(Kits(own.into_iter().filter_map(|t| Some((t.body["id"].as_str()?.to_owned(), t.name))).collect()))
    }

    /// A kit's name: the firm's own, a built-in one in the reader's language, or the id if nobody knows it any more.
    pub(crate) fn name(&self, ctx: &Ctx, id: &str) -> String {
        let built_in = || care::method::find(&[], id).map(|m| ctx.care_plain(&m.said()));
        self.0.get(id).cloned().or_else(built_in).unwrap_or_else(|| id.to_owned())
    }
}

fn product(body: &Value) -> String {
    let named = body["product"].as_str().map(str::to_string);
    named.unwrap_or_else(|| body["chemical"].as_str().unwrap_or("?").replace('-', " "))
}

fn dose(ctx: &Ctx, body: &Value) -> String {
    let amount = if let Some(grams) = body["mass_g"].as_f64() {
        ctx.mass(grams)
    } else if let Some(ml) = body.get("volume_ml") {
        with_unit(&raw(ctx, ml), "mL")
    } else {
        t!(ctx, "raw-measures", n = raw(ctx, &body["measures"]))
    };
    t!(ctx, "log-dose", product = product(body), amount = amount)
}

fn step(ctx: &Ctx, body: &Value) -> String {
    match body["kind"].as_str().unwrap_or("add") {
        "add" => {
            let grams = body["mass_g"].as_f64().map(|g| ctx.mass(g)).unwrap_or_default();
            let amount = match body["amount_text"].as_str() {
                Some(text) if !grams.is_empty() => format!("{text} ({grams})"),
                Some(text) => text.to_string(),
                None => grams,
            };
            t!(ctx, "log-dose", product = product(body), amount = amount)
        }
        "replace-water" => t!(ctx, "log-replaced", percent = raw(ctx, &body["share_percent"])),
        "circulate" => t!(ctx, "log-circulated"),
        "wait" => t!(ctx, "log-waited"),
        "retest" => t!(ctx, "log-retested"),
        _ => t!(ctx, "log-left-open"),
    }
}

fn event(ctx: &Ctx, body: &Value) -> String {
    let what = match body["kind"].as_str().unwrap_or_default() {
        "fill" => t!(ctx, "event-fill"),
        "top-up" => t!(
            ctx,
            "event-top-up",
            volume = body["volume_l"].as_f64().map(|l| ctx.volume(l)).unwrap_or_default()
        ),
        "drain" => match (body["share_percent"].as_f64(), body["volume_l"].as_f64()) {
            (Some(percent), _) => t!(ctx, "log-replaced", percent = ctx.number(percent, 0)),
            (None, Some(litres)) => t!(ctx, "event-drained", volume = ctx.volume(litres)),
            (None, None) => t!(ctx, "event-drained-all"),
        },
        "bathers" => {
            t!(
                ctx,
                "event-bathers",
                people = body["people"].as_f64().unwrap_or_default(),
                minutes = raw(ctx, &body["minutes"])
            )
        }
        "cell" => t!(ctx, "event-cell", percent = raw(ctx, &body["output_percent"])),
        "cover" => t!(ctx, "event-cover"),
        "jets" => t!(ctx, "event-jets"),
        "service" => t!(ctx, "event-service"),
        other => other.to_string(),
    };
    match body["text"].as_str() {
        Some(text) if !text.is_empty() => format!("{what}: {text}"),
        _ => what,
    }
}
