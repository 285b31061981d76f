//! Why a figure is what it is: the readings it stands on, what was left out and why, the formula, the constants with their
//! sources, the band with its source.

mod formula;

use crate::ctx::Ctx;
use crate::error::{Answer, PageError};
use crate::page::address::Path;
use crate::page::shell;
use crate::page::strip::Strip;
use crate::page::tub::{self, Known, decimals, name};
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::unit::with_unit;
use crate::words::t;
use axum::Router;
use axum::extract::State;
use axum::http::Method;
use axum::response::IntoResponse;
use axum::routing::get;
use book::Uuid;
use care::band::also_said;
use care::case::{Case, Happening, Raw};
use care::estimate::{Stands, Told, readings_of};
use care::method::{self, Outcome, Standing};
use care::plan::Plan;
use care::quantity::Quantity as Q;
use care::text::Text;
use maud::{Markup, html};

pub(crate) const RULES: &[Rule] = &[(Method::GET, "/tubs/{tub}/why/{quantity}", Role::Viewer)];

pub(crate) fn routes() -> Router<App> {
    Router::new().route("/tubs/{tub}/why/{quantity}", get(show))
}

/// z of the 5 % and 95 % points.
const Z_90: f64 = 1.645;
/// Readings with less than this part of the weight are told in one line each.
const LIGHT: f64 = 0.01;

async fn show(State(app): State<App>, ctx: Ctx, Path((tub, quantity)): Path<(Uuid, String)>) -> Answer {
    let q = Q::from_id(&quantity).ok_or_else(|| PageError::Missing("quantity").at(&ctx))?;
    let known = tub::known(&app, &ctx, tub).await?;
    let title = t!(ctx, "why-title", quantity = name(&ctx, q), tub = known.thing.name.clone());
    let body = html! {
        p.back { a href={ "/tubs/" (tub) } { (known.thing.name) } " · " a href={ "/tubs/" (tub) "/plan" } { (t!(ctx, "tub-plan")) } }
        @match (&known.case, known.moment()) {
            (Ok(case), Ok(plan)) => (of_quantity(&ctx, &known, case, plan, q)),
            (Err(why), _) | (_, Err(why)) => { div.heading { h1 { (name(&ctx, q)) } } p.lead { (ctx.care(why)) } }
        }
    };
    Ok(shell::page(&ctx, &title, &body).into_response())
}

fn of_quantity(ctx: &Ctx, known: &Known, case: &Case, plan: &Plan, q: Q) -> Markup {
    let now = plan.before.quantities.iter().find(|e| e.quantity == q);
    let band = plan.bands.iter().find(|(b, _)| *b == q).map(|(_, b)| b);
    let d = decimals(q);
    html! {
        div.heading { h1 { (t!(ctx, "why-heading", quantity = name(ctx, q))) } }
        @if let Some(e) = now {
            p.lead {
                (t!(ctx, "why-figure", quantity = name(ctx, q), value = with_unit(&ctx.number(e.value, d), q.unit()), low = ctx.number(e.low, d), high = ctx.number(e.high, d)))
                @if !e.known { " " (t!(ctx, "why-assumed")) }
            }
            @if let Some(band) = band {
                @let strip = Strip { value: e.value, interval: (e.low, e.high), band: (band.low, band.high), decimals: d };
                (strip.draw(ctx)) p.status { (strip.status(ctx)) }
            }
        } @else { p.lead { (t!(ctx, "why-nothing", quantity = name(ctx, q))) } }
        h2 { (t!(ctx, "why-readings")) }
        (readings(ctx, case, plan, q))
        @let others: Vec<Q> = formula::from(q).to_vec();
        @if !others.is_empty() {
            p { (t!(ctx, "why-from")) " " @for (i, o) in others.iter().enumerate() { @if i > 0 { ", " } a href={ "/tubs/" (known.thing.id) "/why/" (o.id()) } { (name(ctx, *o)) } } "." }
        }
        (said(ctx, plan, q))
        h2 { (t!(ctx, "why-formula")) }
        p { (ctx.say(&format!("formula-{}", formula::key(q)), None)) }
        p { (t!(ctx, "why-interval")) }
        h2 #foretold { (t!(ctx, "why-foretold")) }
        p { (t!(ctx, "why-foretold-how", error = ctx.number(100.0 * case.tub.volume_error, 0))) }
        (steps(ctx, plan, q))
        (constants(ctx, plan, q))
        h2 { (t!(ctx, "why-band")) }
        (self::band(ctx, case, plan, q))
    }
}

fn readings(ctx: &Ctx, case: &Case, plan: &Plan, q: Q) -> Markup {
    let told = match readings_of(case, q) {
        Ok(told) => told,
        Err(why) => return html! { p { (ctx.care(&why.said().capital())) } },
    };
    if told.is_empty() {
        let about: Vec<&Text> =
            plan.assumptions.iter().filter(|a| a.to_lowercase().contains(&q.name().to_lowercase())).collect();
        return html! {
            p { (t!(ctx, "why-no-readings")) }
            @if !about.is_empty() { ul { @for a in about { li { (ctx.care(a)) } } } }
        };
    }
    // What stands or might have stood, the last first; what is too old is told in one line each.
    let (old, rest): (Vec<&Told<'_>>, Vec<&Told<'_>>) =
        told.iter().rev().partition(|t| t.stands == Stands::Superseded);
    let all: f64 = rest.iter().filter_map(|t| weight(t)).sum();
    let (light, told): (Vec<&Told<'_>>, Vec<&Told<'_>>) =
        rest.into_iter().partition(|t| weight(t).is_some_and(|w| w < LIGHT * all));
    html! {
        ol.told { @for t in told { li { (reading(ctx, case, q, t)) } } }
        @if !light.is_empty() {
            details {
                summary { (t!(ctx, "why-light", n = light.len() as i64)) }
                p { (t!(ctx, "why-light-how")) }
                ul { @for t in light { li { (read_as(ctx, q, t)) } } }
            }
        }
        @if !old.is_empty() {
            details {
                summary { (t!(ctx, "why-older", n = old.len() as i64)) }
                p { (t!(ctx, "stands-superseded")) }
                ul { @for t in old { li { (read_as(ctx, q, t)) } } }
            }
        }
        p.soft { (t!(ctx, "why-joined")) }
    }
}

/// What a reading that is used weighs beside the others.
fn weight(told: &Told<'_>) -> Option<f64> {
    match (told.stands, told.weighted.interpreted.outcome) {
        (Stands::Used, Outcome::Value { standard_error, .. }) => {
            Some(standard_error.hypot(told.weighted.extra_standard_error).powi(-2))
        }
        _ => None,
    }
}

/// What a reading says, and how it was entered.
fn read_as(ctx: &Ctx, q: Q, told: &Told<'_>) -> Markup {
    let Happening::Reading(raw) = &told.entry.what else { return html! {} };
    let w = &told.weighted.interpreted;
    html! {
        strong { (tub::outcome(ctx, q, w.outcome)) } (t!(ctx, "colon"))
        (t!(ctx, "why-read-by", when = ctx.day_and_time(told.at.0 * 1_000_000), figure = figure(ctx, q, raw.raw), method = ctx.care_plain(&w.method_name)))
    }
}

fn reading(ctx: &Ctx, case: &Case, q: Q, told: &Told<'_>) -> Markup {
    let Happening::Reading(raw) = &told.entry.what else { return html! {} };
    let found = method::find(&case.methods, &raw.method);
    let w = &told.weighted;
    let d = decimals(q);
    html! {
        p { (read_as(ctx, q, told)) }
        p { strong { (match told.stands {
            Stands::Used => t!(ctx, "stands-used"),
            Stands::Void => t!(ctx, "stands-void"),
            Stands::Contradicted => t!(ctx, "stands-contradicted"),
            Stands::Superseded => t!(ctx, "stands-superseded"),
        }) } }
        @if w.shift.abs() * 10f64.powi(d as i32) >= 0.5 { p { (t!(ctx, "why-shift", by = signed(ctx, w.shift, d))) } }
        @if q == Q::Ph && told.stands == Stands::Used && dosed_since(case, told) { p { (t!(ctx, "why-ph-since")) } }
        @if w.extra_standard_error * Z_90 * 10f64.powi(d as i32) >= 0.5 && told.stands != Stands::Void {
            p { (t!(ctx, "why-time", error = ctx.number(Z_90 * w.extra_standard_error, d))) }
        }
        @for f in &w.interpreted.findings { p { (ctx.care(&f.what)) " " (ctx.care(&f.advice)) } }
        @if let Some(m) = found {
            p.soft {
                @if let (Some(scale), false) = (m.scale(q), w.interpreted.outcome == Outcome::Void) {
                    (t!(ctx, "why-error", absolute = ctx.number(scale.absolute_error, d.max(2)), percent = ctx.number(100.0 * scale.relative_error, 0))) " "
                }
                (ctx.say_with("why-error-source", "source", &Text::from(&*m.error_source))) " "
                (match m.standing {
                    Standing::Published => t!(ctx, "standing-published"),
                    Standing::CommonPractice => t!(ctx, "standing-practice"),
                    Standing::FromMemory => t!(ctx, "standing-memory"),
                    Standing::User => t!(ctx, "standing-user"),
                })
            }
        }
    }
}

/// Whether anything was added or replaced after a reading.
fn dosed_since(case: &Case, told: &Told<'_>) -> bool {
    let changes = |h: &Happening| {
        matches!(h, Happening::Dose { .. } | Happening::TopUp { .. } | Happening::Replaced { .. })
    };
    case.entries.iter().any(|e| e.at.is_some_and(|at| at > told.at) && changes(&e.what))
}

/// The figure as the kit gave it.
fn figure(ctx: &Ctx, q: Q, raw: Raw) -> String {
    let plain = |v: f64| ctx.number(v, decimals(q).max(usize::from(v.fract() != 0.0)));
    match raw {
        Raw::Value(v) => plain(v),
        Raw::Drops(n) => t!(ctx, "raw-drops", n = ctx.number(n, 0)),
        Raw::ScaleUnits { units, .. } => t!(ctx, "raw-scale-units", n = ctx.number(units, 1)),
        Raw::Below(v) => format!("< {}", plain(v)),
        Raw::Above(v) => format!("> {}", plain(v)),
    }
}

fn signed(ctx: &Ctx, value: f64, decimals: usize) -> String {
    format!("{}{}", if value < 0.0 { "−" } else { "+" }, ctx.number(value.abs(), decimals))
}

/// Findings that touch the quantity.
fn said(ctx: &Ctx, plan: &Plan, q: Q) -> Markup {
    let mut found: Vec<&care::finding::Finding> = Vec::new();
    for f in plan.findings.iter().filter(|f| f.quantities.contains(&q)) {
        if !found.iter().any(|s| s.what == f.what) {
            found.push(f);
        }
    }
    html! {
        @if !found.is_empty() {
            h2 { (t!(ctx, "why-findings")) }
            ul { @for f in found { li { (ctx.care(&f.what)) " " (ctx.care(&f.advice)) } } }
        }
    }
}

/// The quantity after each step of the plan.
fn steps(ctx: &Ctx, plan: &Plan, q: Q) -> Markup {
    let d = decimals(q);
    let after: Vec<_> = plan
        .steps
        .iter()
        .filter(|s| s.mass_g.is_some() || s.share.is_some())
        .filter_map(|s| Some((s, s.water_after.quantities.iter().find(|e| e.quantity == q)?)))
        .collect();
    html! {
        @if !after.is_empty() {
            ol { @for (s, e) in after {
                li value=(s.order) { (s.product.clone().unwrap_or_default()) " " (ctx.care(&s.measure_text)) (t!(ctx, "colon")) (ctx.number(e.value, d)) " (" (ctx.range(e.low, e.high, d)) ")" }
            } }
        }
    }
}

fn constants(ctx: &Ctx, plan: &Plan, q: Q) -> Markup {
    let list = formula::constants(q);
    let t = plan.before.water.temperature;
    html! {
        @if !list.is_empty() {
            h2 { (t!(ctx, "why-constants")) }
            p { (t!(ctx, "why-constants-how", temperature = ctx.temperature(t.0))) }
            div.scroll tabindex="0" role="region" aria-label=(t!(ctx, "why-constants")) {
                table {
                    thead { tr { th scope="col" { (t!(ctx, "col-reaction")) } th scope="col" { (t!(ctx, "col-log-k-25")) } th scope="col" { (t!(ctx, "col-log-k-here")) } th scope="col" { (t!(ctx, "col-range")) } } }
                    tbody { @for k in list {
                        tr {
                            th scope="row" { (k.reaction) }
                            td { (ctx.number(k.printed_25_c, 3)) }
                            td { (ctx.number(k.at(t), 3)) }
                            td { (with_unit(&ctx.range(k.valid_c.0, k.valid_c.1, 0), "°C")) }
                        }
                        tr.source { td colspan="4" { span lang="en" { (k.source.cite) } " " span.soft { (formula::standing(ctx, k.source.standing)) } } }
                    } }
                }
            }
        }
    }
}

fn band(ctx: &Ctx, case: &Case, plan: &Plan, q: Q) -> Markup {
    let d = decimals(q);
    let n = |v: f64| ctx.number(v, d);
    let said = also_said(q, case.tub.regime, case.tub.place);
    html! {
        @match plan.bands.iter().find(|(b, _)| *b == q) {
            None => p { (t!(ctx, "why-no-band")) },
            Some((_, b)) => {
                p { (t!(ctx, "why-band-edges", low = n(b.low), high = n(b.high), aim_low = n(b.aim_low), aim_high = n(b.aim_high), unit = with_unit("", q.unit()))) }
                @if let Some(low) = b.hard_low { p { (t!(ctx, "why-hard-low", limit = n(low))) } }
                @if let Some(high) = b.hard_high { p { (t!(ctx, "why-hard-high", limit = n(high))) } }
                p { (ctx.say_with("why-band-source", "source", &b.source)) @if b.by_user { " " (t!(ctx, "why-band-own")) } }
            }
        }
        @if !said.is_empty() {
            h3 { (t!(ctx, "why-also-said")) }
            ul { @for s in said {
                li {
                    span lang="en" { (s.who) } (t!(ctx, "colon"))
                    @match (s.low, s.high) {
                        (Some(low), Some(high)) => (ctx.range(low, high, d)),
                        (Some(low), None) => (t!(ctx, "at-least", limit = n(low))),
                        (None, Some(high)) => (t!(ctx, "at-most", limit = n(high))),
                        (None, None) => "–",
                    }
                    (with_unit("", q.unit())) " (" span lang="en" { (s.source) } ")"
                }
            } }
        }
    }
}
