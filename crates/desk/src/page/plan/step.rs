//! One step: what, how, with which cautions, why, the water after it, and the form that ticks it.

use crate::ctx::Ctx;
use crate::page::today::encoded;
use crate::page::tub::{self, Known};
use crate::page::typed::{Typed, element, hidden_id};
use crate::unit::Units;
use crate::words::t;
use book::{Entry, Kind, Uuid};
use care::case::{MeasureKind, Product};
use care::plan::{Cover, Plan, Step, StepKind};
use care::quantity::Quantity as Q;
use maud::{Markup, html};

/// The word of a step's kind in the book; `None` for what is not ticked.
pub(super) fn word(kind: StepKind) -> Option<&'static str> {
    Some(match kind {
        StepKind::Add => "add",
        StepKind::ReplaceWater => "replace-water",
        StepKind::Circulate => "circulate",
        StepKind::Wait => "wait",
        StepKind::LeaveOpen => "leave-open",
        StepKind::Retest | StepKind::KeepOut => return None,
    })
}

/// The plan's amounts as a query, for "what if".
pub(super) fn amounts(plan: &Plan) -> String {
    let mut grams: Vec<(&str, f64)> = Vec::new();
    for (product, mass) in plan.steps.iter().filter_map(|s| Some((s.product.as_deref()?, s.mass_g?))) {
        match grams.iter_mut().find(|(p, _)| *p == product) {
            Some((_, sum)) => *sum += mass,
            None => grams.push((product, mass)),
        }
    }
    let query: Vec<String> = grams.iter().map(|(p, g)| format!("g.{}={g:.1}", encoded(p))).collect();
    if query.is_empty() { String::new() } else { format!("?{}", query.join("&")) }
}

/// A time span in words.
pub(super) fn hours(ctx: &Ctx, hours: f64) -> String {
    match hours {
        h if h < 1.5 => t!(ctx, "span-minutes", n = (h * 60.0).round() as i64),
        h if h < 71.0 => t!(ctx, "span-hours", n = h.round() as i64),
        h => t!(ctx, "span-days", n = (h / 24.0).round() as i64),
    }
}

/// Until when to wait after what was done, and why; `None` once it is over.
pub(super) fn waiting(ctx: &Ctx, done: &[Entry]) -> Option<(i64, String)> {
    let until = |e: &Entry| Some(e.at_us + (e.body.get("wait_min")?.as_f64()? * 6e7) as i64);
    let (until, entry) = done.iter().filter_map(|e| Some((until(e)?, e))).max_by_key(|(until, _)| *until)?;
    (until > ctx.now.as_microsecond()).then(|| (until, tub::log::deed(ctx, entry)))
}

pub(super) fn show(
    ctx: &Ctx,
    known: &Known,
    plan: &Plan,
    step: &Step,
    first: bool,
    done: &[Entry],
    typed: &Typed,
) -> Markup {
    let tub = known.thing.id;
    html! {
        h3 { (title(ctx, step)) }
        @if step.kind == StepKind::KeepOut { p.until { (ctx.care(&step.why)) } } @else { p { (ctx.care(&step.why)) } }
        @for caution in &step.cautions { p.caution { (ctx.care(caution)) } }
        (how(ctx, step))
        @if step.kind == StepKind::Retest {
            p { a.button.first[first] href={ "/tubs/" (tub) "/reading" } { (t!(ctx, "tub-read")) } }
        }
        @if matches!(step.kind, StepKind::Add | StepKind::ReplaceWater | StepKind::LeaveOpen) { (after(ctx, tub, step)) }
        @if let Some(kind) = word(step.kind) {
            @if let Some(before) = without_amount(step).then(|| done.iter().find(|e| e.kind == Kind::StepDone && e.body["kind"] == kind)).flatten() {
                p.soft { (t!(ctx, "step-done-at", when = ctx.ago(before.at_us))) }
            }
            (form(ctx, known, plan, step, kind, first, typed))
        }
    }
}

fn without_amount(step: &Step) -> bool {
    !matches!(step.kind, StepKind::Add | StepKind::ReplaceWater)
}

/// What is done, with its amount in the owner's measure.
fn title(ctx: &Ctx, step: &Step) -> String {
    match (step.kind, step.product.as_deref()) {
        (StepKind::Add, Some(product)) => match step.mass_g {
            Some(grams) => t!(
                ctx,
                "step-add",
                product = product.to_string(),
                amount = ctx.care_plain(&step.measure_text),
                mass = ctx.mass(grams)
            ),
            None => t!(
                ctx,
                "step-add-by-label",
                product = product.to_string(),
                amount = ctx.care_plain(&step.measure_text)
            ),
        },
        (StepKind::Add, None) => ctx.care_plain(&step.measure_text),
        (StepKind::ReplaceWater, _) => match step.share {
            Some(share) => t!(
                ctx,
                "step-replace",
                percent = ctx.number(100.0 * share, 0),
                amount = ctx.care_plain(&step.measure_text)
            ),
            None => ctx.care_plain(&step.measure_text),
        },
        (StepKind::Circulate, _) => t!(ctx, "step-circulate", how = ctx.care_plain(&step.measure_text)),
        (StepKind::Wait, _) => t!(ctx, "step-wait", how = ctx.care_plain(&step.measure_text)),
        (StepKind::Retest, _) => t!(ctx, "step-retest", what = ctx.care_plain(&step.measure_text)),
        (StepKind::LeaveOpen, _) => t!(ctx, "step-leave-open", how = ctx.care_plain(&step.measure_text)),
        (StepKind::KeepOut, _) => t!(ctx, "step-keep-out"),
    }
}

fn how(ctx: &Ctx, step: &Step) -> Markup {
    let mut parts = Vec::new();
    if step.pre_dissolve {
        parts.push(t!(ctx, "step-dissolve"));
    }
    if step.jets_on {
        parts.push(t!(ctx, "step-jets"));
    }
    if matches!(step.kind, StepKind::Add | StepKind::LeaveOpen | StepKind::Wait) {
        parts.push(match step.cover {
            Cover::Open => t!(ctx, "step-cover-off"),
            Cover::Closed => t!(ctx, "step-cover-on"),
        });
    }
    if let Some(ph) = step.until_ph {
        parts.push(t!(ctx, "step-until-ph", ph = ctx.number(ph, 2)));
    }
    if step.wait_min > 0.0 {
        parts.push(t!(ctx, "step-then-wait", time = hours(ctx, step.wait_min / 60.0)));
    }
    html! { @if !parts.is_empty() { p.how { (parts.join(" ")) } } }
}

/// The water after it in one line; each figure opens to its reasons.
fn after(ctx: &Ctx, tub: Uuid, step: &Step) -> Markup {
    let shown =
        [Q::Ph, Q::FreeChlorine, Q::TotalBromine, Q::TotalAlkalinity, Q::CalciumHardness, Q::SaturationIndex];
    html! {
        p.after {
            (t!(ctx, "step-after")) " "
            @for (i, e) in step.water_after.quantities.iter().filter(|e| shown.contains(&e.quantity)).enumerate() {
                @if i > 0 { ", " }
                (tub::name(ctx, e.quantity)) " "
                a href={ "/tubs/" (tub) "/why/" (e.quantity.id()) "#foretold" } { (ctx.number(e.value, tub::decimals(e.quantity))) }
            }
            "."
        }
    }
}

/// The form that ticks a step, with what was really added.
fn form(
    ctx: &Ctx,
    known: &Known,
    plan: &Plan,
    step: &Step,
    kind: &str,
    first: bool,
    typed: &Typed,
) -> Markup {
    let tub = known.thing.id;
    // What was sent and could not be used stands again in the step that it was sent for.
    let mine = typed.text("step") == Some(step.order.to_string().as_str());
    let product = known
        .case
        .as_ref()
        .ok()
        .and_then(|c| c.shelf.iter().find(|p| Some(&p.name) == step.product.as_ref()));
    let said = |field: &str, usual: String| {
        if mine { typed.text(field).map(str::to_string).unwrap_or_default() } else { usual }
    };
    let id = if mine { typed.id() } else { Uuid::now_v7() };
    let n = step.order;
    // A fault leads to the field by its name.
    let field = |name: &str| if mine { element(name) } else { format!("{name}-{n}") };
    html! {
        form.tick-step method="post" action={ "/tubs/" (tub) "/steps" } data-queue="step-done" {
            (hidden_id(id))
            input type="hidden" name="step" value=(n);
            input type="hidden" name="kind" value=(kind);
            input type="hidden" name="wait_min" value=(step.wait_min);
            @if let Some(product) = &step.product { input type="hidden" name="product" value=(product); }
            div.row {
                @if let (StepKind::Add, Some(product)) = (step.kind, product) {
                    @let (usual, unit) = usual_amount(ctx, product, step.mass_g);
                    div {
                        label for=(field("amount")) { (t!(ctx, "step-really-added")) }
                        input id=(field("amount")) name="amount" inputmode="decimal" autocomplete="off" value=(said("amount", usual));
                    }
                    div {
                        label for={ "unit-" (n) } { (t!(ctx, "step-unit")) }
                        select id={ "unit-" (n) } name="unit" {
                            @for (value, words) in units(ctx, product) {
                                option value=(value) selected[said("unit", unit.to_string()) == value] { (words) }
                            }
                        }
                    }
                }
                @if step.kind == StepKind::ReplaceWater {
                    div {
                        label for=(field("amount")) { (t!(ctx, "step-really-replaced")) }
                        input id=(field("amount")) name="amount" inputmode="decimal" autocomplete="off"
                            value=(said("amount", ctx.number(100.0 * step.share.unwrap_or(1.0), 0)));
                    }
                }
            }
            @if mine { (typed.said("amount")) (typed.said("when")) }
            details open[mine] {
                summary { (t!(ctx, "step-when-earlier")) }
                label for=(field("when")) { (t!(ctx, "form-when")) }
                input id=(field("when")) type="datetime-local" name="when" value=[mine.then(|| typed.text("when")).flatten()];
            }
            button.first[first && !plan.steps.is_empty()] type="submit" { (t!(ctx, "step-tick", n = n as i64)) }
        }
    }
}

/// The amount as the form shows it first, with its unit.
fn usual_amount(ctx: &Ctx, product: &Product, grams: Option<f64>) -> (String, &'static str) {
    let Some(grams) = grams else { return (String::new(), "g") };
    match product.measure.kind {
        MeasureKind::Capful | MeasureKind::Scoop | MeasureKind::Tablet => {
            (plain(grams / product.measure.grams_each, 2, ctx), "measure")
        }
        MeasureKind::Millilitres => (plain(grams / product.density_g_ml.unwrap_or(1.0), 0, ctx), "ml"),
        MeasureKind::Scale => (plain(grams, 1, ctx), "g"),
    }
}

/// A number without trailing zeros.
fn plain(value: f64, decimals: i32, ctx: &Ctx) -> String {
    let scale = 10f64.powi(decimals);
    let rounded = (value * scale).round() / scale;
    let needed =
        (0..=decimals).find(|d| ((rounded * 10f64.powi(*d)).round() / 10f64.powi(*d) - rounded).abs() < 1e-9);
    ctx.number(rounded, needed.unwrap_or(decimals) as usize)
}

fn units(ctx: &Ctx, product: &Product) -> Vec<(&'static str, String)> {
    let mut all = Vec::new();
    match product.measure.kind {
        MeasureKind::Capful => all.push(("measure", t!(ctx, "unit-capfuls"))),
        MeasureKind::Scoop => all.push(("measure", t!(ctx, "unit-scoops"))),
        MeasureKind::Tablet => all.push(("measure", t!(ctx, "unit-tablets"))),
        MeasureKind::Scale | MeasureKind::Millilitres => {}
    }
    if product.density_g_ml.is_some() {
        all.push(("ml", "mL".to_string()));
    }
    all.push(("g", t!(ctx, "unit-grams")));
    if ctx.units == Units::Us {
        all.push(("oz", t!(ctx, "unit-ounces")));
    }
    all
}
