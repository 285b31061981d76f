//! What a plan foresees: the water at the next look, the cell's duty, a new fill's looks.

use super::step;
use crate::ctx::Ctx;
use crate::page::tub;
use crate::words::t;
use care::ahead::{Ahead, AtLook, Duty, LEAST_HOURS, Look};
use care::plan::Plan;
use maud::{Markup, html};

/// A chance that is worth a word.
const WORTH_SAYING: f64 = 0.02;
/// So many looks of a new fill stand open: those of the days that somebody plans now.
const OPEN_LOOKS: usize = 2;

pub(super) fn show(ctx: &Ctx, plan: &Plan) -> Markup {
    let Some(ahead) = &plan.ahead else { return html! {} };
    let sooner = ahead.at_look_h < ahead.until_h;
    html! {
        h2 {
            @if ahead.aimed && sooner { (t!(ctx, "plan-ahead-sooner", ahead = step::hours(ctx, ahead.at_look_h))) }
            @else if ahead.aimed { (t!(ctx, "plan-ahead", ahead = step::hours(ctx, ahead.until_h))) }
            @else { (t!(ctx, "plan-ahead-moment")) }
        }
        p.soft {
            @if ahead.aimed && sooner { (t!(ctx, "plan-ahead-aimed-sooner")) }
            @else if ahead.aimed { (t!(ctx, "plan-ahead-aimed")) }
            @else { (t!(ctx, "plan-ahead-not-aimed")) }
        }
        @if let Some(litres) = ahead.volume_l { p { (t!(ctx, "plan-ahead-volume", volume = ctx.volume(litres))) } }
        @if let Some(duty) = &ahead.cell { p { strong { (cell(ctx, duty)) } } }
        // Of tubs in general it is too wide to be of use.
        @if ahead.aimed && !ahead.at_look.is_empty() { p.soft { (t!(ctx, "plan-ahead-stands-on")) } }
        @if ahead.aimed { dl.facts { @for there in &ahead.at_look { (found(ctx, there)) } } }
        (weeks(ctx, ahead))
    }
}

fn cell(ctx: &Ctx, duty: &Duty) -> String {
    let percent = |share: f64| ctx.number(100.0 * share, 0);
    let hours = ctx.number(duty.person_hours_per_day, 1);
    match duty.from {
        _ if duty.share <= 0.0 => t!(ctx, "plan-ahead-cell-off"),
        Some(from) if duty.person_hours_per_day < LEAST_HOURS => {
            t!(ctx, "plan-ahead-cell-from-used", to = percent(duty.share), from = percent(from))
        }
        None if duty.person_hours_per_day < LEAST_HOURS => {
            t!(ctx, "plan-ahead-cell-used", to = percent(duty.share))
        }
        Some(from) => {
            t!(ctx, "plan-ahead-cell-from", to = percent(duty.share), from = percent(from), hours = hours)
        }
        None => t!(ctx, "plan-ahead-cell", to = percent(duty.share), hours = hours),
    }
}

fn found(ctx: &Ctx, there: &AtLook) -> Markup {
    let [low, middle, high] = there.range.map(|v| ctx.number(v, there.quantity.decimals()));
    html! {
        dt { (tub::name(ctx, there.quantity)) }
        dd {
            @match there.outside {
                Some(chance) if chance >= WORTH_SAYING => (t!(ctx, "plan-ahead-found", middle = middle, low = low, high = high, chance = ctx.number(100.0 * chance, 0))),
                _ => (t!(ctx, "plan-ahead-found-plain", middle = middle, low = low, high = high)),
            }
        }
    }
}

fn weeks(ctx: &Ctx, ahead: &Ahead) -> Markup {
    html! {
        @if !ahead.schedule.is_empty() {
            h2 { (t!(ctx, "plan-weeks")) }
            p.caution { (t!(ctx, "plan-weeks-key")) }
            @let (first, later) = ahead.schedule.split_at(OPEN_LOOKS.min(ahead.schedule.len()));
            ol.steps.looks { @for look in first { li { (scheduled(ctx, look)) } } }
            @if !later.is_empty() {
                details {
                    summary { (t!(ctx, "plan-weeks-later", n = later.len() as i64)) }
                    ol.steps.looks.later { @for look in later { li { (scheduled(ctx, look)) } } }
                }
            }
        }
    }
}

fn scheduled(ctx: &Ctx, look: &Look) -> Markup {
    let quantities: Vec<String> = look.measure.iter().map(|q| ctx.care_plain(&q.said())).collect();
    html! {
        p {
            strong { (t!(ctx, "plan-weeks-in", ahead = step::hours(ctx, look.after_h))) } (t!(ctx, "colon"))
            (t!(ctx, "plan-weeks-measure", quantities = quantities.join(", ")))
        }
        dl.facts { @for there in &look.found { (found(ctx, there)) } }
        @if look.doses.is_empty() { p.soft { (t!(ctx, "plan-weeks-nothing")) } }
        @for need in &look.doses {
            @let [low, middle, high] = need.grams.map(|g| ctx.mass(g));
            p { (t!(ctx, "plan-weeks-dose", product = need.name.clone(), middle = middle, low = low, high = high, measure = ctx.care_plain(&need.measure_text))) }
        }
    }
}
