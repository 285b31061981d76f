//! The Reading page as it looks: one row for each quantity, in the raw unit of its method.

use crate::ctx::Ctx;
use crate::page::reading::checked::{Checked, Said};
use crate::page::reading::figure::Mistake;
use crate::page::reading::form::{Row, Sent, Shape};
use crate::page::reading::kit::Kit;
use crate::unit::{Units, with_unit};
use crate::words::t;
use care::finding::{Finding, Weight};
use care::method::{Kind, Method, Scale, Step};
use care::quantity::Quantity as Q;
use maud::{Markup, html};

/// A scale with more steps than this is typed, not tapped.
const STEPS_MOST: usize = 17;

/// The body of the page.
pub(crate) fn body(
    ctx: &Ctx,
    kit: &Kit,
    sent: &Sent,
    checked: Option<&Checked>,
    faults: &[String],
) -> Markup {
    let tub = kit.thing.id;
    let others = kit.others();
    html! {
        div.heading {
            h1 { (t!(ctx, "reading-title")) }
            p { a href={ "/tubs/" (tub) } { (kit.thing.name) } }
        }
        @if !faults.is_empty() {
            div.faults role="alert" {
                p { strong { (t!(ctx, "reading-not-saved")) } }
                ul { @for fault in faults { li { (fault) } } }
            }
        }
        form #reading method="post" action={ "/tubs/" (tub) "/reading" }
            data-queue="reading" data-queue-title=(t!(ctx, "reading-queued", tub = kit.thing.name.clone()))
            data-check={ "/tubs/" (tub) "/reading/check" } data-keep-time[checked.is_some()] {
            input type="hidden" name="units" value=(if ctx.units == Units::Us { "us" } else { "metric" });
            input type="hidden" name="shown" value=(sent.shown) data-shown;
            input type="hidden" name="moment" value=(sent.moment) data-moment;
            ol.readings {
                @for (n, row) in sent.rows.iter().enumerate() { li { (one(ctx, kit, n, row, checked)) } }
            }
            div #together aria-live="polite" { @if let Some(checked) = checked { (findings(&checked.together, ctx)) } }
            details.when {
                summary { (t!(ctx, "reading-time")) }
                label for="at" { (t!(ctx, "reading-at")) }
                input #at type="datetime-local" name="at" value=(sent.at) data-at;
            }
            @if !others.is_empty() {
                details.more {
                    summary { (t!(ctx, "reading-other")) }
                    label for="also" { (t!(ctx, "reading-other-which")) }
                    select #also name="also" {
                        @for q in others { option value=(q.id()) { (name(ctx, q)) } }
                    }
                    div.actions { button type="submit" name="do" value="also" data-no-queue { (t!(ctx, "reading-other-add")) } }
                }
            }
            p.soft { (t!(ctx, "reading-errors")) }
            div.actions.at-hand {
                button.first type="submit" name="do" value="save" { (t!(ctx, "reading-save")) }
                button.scriptless type="submit" name="do" value="check" data-no-queue { (t!(ctx, "reading-check")) }
            }
        }
    }
}

/// The results alone, for who types.
pub(crate) fn results(ctx: &Ctx, checked: &Checked) -> Markup {
    html! {
        @for (n, row) in checked.rows.iter().enumerate() { div data-for={ "result-" (n) } { (result(ctx, row)) } }
        div data-for="together" { (findings(&checked.together, ctx)) }
    }
}

fn one(ctx: &Ctx, kit: &Kit, n: usize, row: &Row, checked: Option<&Checked>) -> Markup {
    let q = row.quantity;
    let Some(method) = kit.method(&row.method).or_else(|| kit.usual(q)) else { return html! {} };
    let steps = method.scale(q).map_or_else(Vec::new, |s| steps(ctx, method, s));
    let said = checked.and_then(|c| c.rows.get(n));
    let faulty = matches!(said, Some((Some(Said::Mistake(_)), _)));
    let field = |name: &str| format!("{name}.{n}");
    html! {
        fieldset.reading {
            legend { (name(ctx, q)) }
            input type="hidden" name=(field("id")) value=(row.id) data-id;
            input type="hidden" name=(field("quantity")) value=(q.id());
            input type="hidden" name=(field("shape")) value=(row.shape.id());
            @if !steps.is_empty() {
                div.steps {
                    (step(&field("step"), &format!("step-{n}-none"), "", &t!(ctx, "reading-step-none"), row.step.is_empty()))
                    @for (i, (value, label)) in steps.iter().enumerate() {
                        (step(&field("step"), &format!("step-{n}-{i}"), value, label, row.step == *value))
                    }
                }
            }
            div.typed {
                label for={ "figure-" (n) } { (asked(ctx, method, row, !steps.is_empty())) }
                input id={ "figure-" (n) } name=(field("figure")) value=(row.typed) type="text" inputmode="decimal"
                    autocomplete="off" enterkeyhint="next" maxlength="20"
                    aria-describedby={ "result-" (n) } aria-invalid=[faulty.then_some("true")];
            }
            @if row.shape == Shape::ScaleUnits { (strip(ctx, n, row)) }
            div.result id={ "result-" (n) } aria-live="polite" { @if let Some(row) = said { (result(ctx, row)) } }
            details {
                summary { (t!(ctx, "reading-by", method = ctx.care_plain(&method.said()))) }
                label for={ "method-" (n) } { (t!(ctx, "reading-method")) }
                select id={ "method-" (n) } name=(field("method")) data-method {
                    @for m in kit.methods_for(q) { option value=(m.id) selected[m.id == method.id] { (ctx.care_plain(&m.said())) } }
                }
                button.scriptless type="submit" name="do" value="check" data-no-queue { (t!(ctx, "reading-method-use")) }
                @if row.shape == Shape::Value {
                    label for={ "sign-" (n) } { (t!(ctx, "reading-sign")) }
                    select id={ "sign-" (n) } name=(field("sign")) {
                        option value="" selected[row.sign.is_empty()] { (t!(ctx, "reading-sign-is")) }
                        option value="<" selected[row.sign == "<"] { (t!(ctx, "reading-sign-less")) }
                        option value=">" selected[row.sign == ">"] { (t!(ctx, "reading-sign-more")) }
                    }
                }
            }
        }
    }
}

fn step(name: &str, id: &str, value: &str, label: &str, checked: bool) -> Markup {
    html! {
        span.step {
            input type="radio" id=(id) name=(name) value=(value) checked[checked];
            label for=(id) { (label) }
        }
    }
}

/// What a capillary strip is asked beside its units: without the signal band it says nothing.
fn strip(ctx: &Ctx, n: usize, row: &Row) -> Markup {
    html! {
        fieldset.steps.signal {
            legend { (t!(ctx, "reading-signal")) }
            (step(&format!("changed.{n}"), &format!("changed-{n}-yes"), "yes", &t!(ctx, "reading-signal-yes"), row.changed == Some(true)))
            (step(&format!("changed.{n}"), &format!("changed-{n}-no"), "no", &t!(ctx, "reading-signal-no"), row.changed == Some(false)))
        }
        div.typed {
            label for={ "minutes-" (n) } { (t!(ctx, "reading-minutes")) }
            input id={ "minutes-" (n) } name={ "minutes." (n) } value=(row.minutes) type="text" inputmode="decimal" autocomplete="off" maxlength="6";
        }
    }
}

/// What the figure is to be: drops of so much, scale units, mg/L.
fn asked(ctx: &Ctx, method: &Method, row: &Row, or_between: bool) -> String {
    let unit = unit(ctx, row.quantity);
    if let (Shape::Drops, Some(each)) = (row.shape, method.drop_of(row.quantity)) {
        return t!(ctx, "reading-drops", each = plain(ctx, each), unit = unit);
    }
    match row.shape {
        Shape::Drops => t!(ctx, "reading-drops-plain"),
        Shape::ScaleUnits => t!(ctx, "reading-units"),
        Shape::Value if or_between && unit.is_empty() => t!(ctx, "reading-between-plain"),
        Shape::Value if or_between => t!(ctx, "reading-between", unit = unit),
        Shape::Value if unit.is_empty() => t!(ctx, "reading-figure-plain"),
        Shape::Value => t!(ctx, "reading-figure", unit = unit),
    }
}

/// The steps of a scale that is read by eye: the figure as it is sent, and as it is shown. Its ends where there is more
/// to say than the last colour says.
fn steps(ctx: &Ctx, method: &Method, scale: &Scale) -> Vec<(String, String)> {
    if !matches!(method.kind, Kind::Comparator | Kind::Strip | Kind::TurbidityTube) {
        return Vec::new();
    }
    let marks: Vec<f64> = match &scale.step {
        Step::Marks(marks) => marks.to_vec(),
        Step::Even(gap) if *gap > 0.0 && (scale.high - scale.low) / gap < STEPS_MOST as f64 - 1.5 => {
            let count = ((scale.high - scale.low) / gap).round() as usize;
            (0..=count).map(|i| ((scale.low + i as f64 * gap) * 1000.0).round() / 1000.0).collect()
        }
        Step::Even(_) => Vec::new(),
    };
    if marks.is_empty() || marks.len() > STEPS_MOST {
        return Vec::new();
    }
    let shown = |mark: f64| if scale.quantity == Q::Ph { ctx.number(mark, 1) } else { plain(ctx, mark) };
    let mut steps: Vec<(String, String)> = marks.iter().map(|m| (m.to_string(), shown(*m))).collect();
    if let Some(first) = marks.first().filter(|m| **m > 0.0) {
        steps.insert(0, (format!("<{first}"), format!("< {}", shown(*first))));
    }
    if let Some(last) = marks.last()
        && (scale.quantity == Q::Ph || matches!(method.kind, Kind::TurbidityTube))
    {
        steps.push((format!(">{last}"), format!("> {}", shown(*last))));
    }
    steps
}

/// What a row says, and what is to be known of it.
fn result(ctx: &Ctx, (said, found): &(Option<Said>, Vec<Finding>)) -> Markup {
    html! {
        @match said {
            None | Some(Said::Nothing) => {}
            Some(Said::Mistake(mistake)) => p.fault { (sentence(ctx, mistake)) }
            Some(Said::Void) => p.says { (t!(ctx, "reading-void")) }
            Some(Said::Below { quantity, limit }) => p.says { (t!(ctx, "reading-below", limit = amount(ctx, *quantity, *limit))) }
            Some(Said::Above { quantity, limit }) => p.says { (t!(ctx, "reading-above", limit = amount(ctx, *quantity, *limit))) }
            Some(Said::Value { quantity, value, off_by, counted }) => p.says {
                strong { (amount(ctx, *quantity, *value)) } " "
                (t!(ctx, "reading-off-by", off = difference(ctx, *quantity, *off_by)))
                @if *counted { " · " (t!(ctx, "reading-last-drop")) }
            }
        }
        (findings(found, ctx))
    }
}

fn findings(found: &[Finding], ctx: &Ctx) -> Markup {
    html! {
        @for f in found {
            p.finding.caution[f.weight >= Weight::Doubt] {
                @match f.weight {
                    Weight::Safety => strong { (t!(ctx, "reading-safety")) " " }
                    Weight::Doubt => strong { (t!(ctx, "reading-doubt")) " " }
                    Weight::Note => {}
                }
                (ctx.care(&f.what)) " " (ctx.care(&f.advice))
            }
        }
    }
}

/// Why a row is no reading.
pub(crate) fn sentence(ctx: &Ctx, mistake: &Mistake) -> String {
    match mistake {
        Mistake::NoNumber(typed) => t!(ctx, "reading-no-number", typed = typed.clone()),
        Mistake::TwoMeanings { typed, thousands, decimal } => t!(
            ctx,
            "reading-two-meanings",
            typed = typed.clone(),
            thousands = thousands.clone(),
            decimal = decimal.clone(),
        ),
        Mistake::SignNotHere(sign) => t!(ctx, "reading-sign-not-here", sign = sign.to_string()),
        Mistake::NoMethod(id) => t!(ctx, "reading-no-method", id = id.clone()),
        Mistake::Refused(why) => format!("{}.", ctx.care_plain(why)),
    }
}

/// A quantity's name.
pub(crate) fn name(ctx: &Ctx, q: Q) -> String {
    ctx.say(&q.id().replace('_', "-"), None)
}

fn unit(ctx: &Ctx, q: Q) -> &'static str {
    if q == Q::Temperature && ctx.units == Units::Us { "°F" } else { q.unit() }
}

/// A figure with its unit.
fn amount(ctx: &Ctx, q: Q, value: f64) -> String {
    if q == Q::Temperature {
        return ctx.temperature(value);
    }
    with_unit(&ctx.number(value, q.decimals()), q.unit())
}

/// By how much it may be off.
fn difference(ctx: &Ctx, q: Q, off_by: f64) -> String {
    match (q, ctx.units) {
        (Q::Temperature, Units::Us) => with_unit(&ctx.number(off_by * 1.8, 1), "°F"),
        _ => with_unit(&ctx.number(off_by, q.decimals()), q.unit()),
    }
}

/// A figure with no more decimals than it has.
fn plain(ctx: &Ctx, value: f64) -> String {
    let decimals = (0..3).find(|d| (value * 10f64.powi(*d) - (value * 10f64.powi(*d)).round()).abs() < 1e-6);
    ctx.number(value, decimals.map_or(3, |d| d as usize))
}
