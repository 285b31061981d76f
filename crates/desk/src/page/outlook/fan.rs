//! A fan: the days behind, now, what may come, drawn by crate `chart` in this reader's words.

use super::{numbers, when};
use crate::ctx::Ctx;
use crate::words::{Arguments, t};
use care::outlook::{Fan, Outlook, PastReading};
use chart::{Chart, Look, Words};
use maud::{Markup, PreEscaped, html};

/// A quantity with its fan, and in words.
pub(super) fn figure(ctx: &Ctx, number: usize, fan: &Fan, outlook: &Outlook) -> Markup {
    html! {
        figure {
            figcaption {
                b { (quantity(ctx, fan)) }
                @if let Some(leaves) = &fan.leaves { (t!(ctx, "colon")) (when(ctx, leaves)) }
            }
            (PreEscaped(svg(ctx, number, fan, outlook, Look::Page)))
            p.note { (numbers(ctx, fan)) }
        }
    }
}

/// The letters of the doses, "a: quick chlorine, b: dry acid"; nothing if nothing went in.
pub(crate) fn letters(ctx: &Ctx, outlook: &Outlook) -> Option<String> {
    let all: Vec<String> = chart::keys(outlook)
        .into_iter()
        .map(|(letter, what)| format!("{letter}{}{}", t!(ctx, "colon"), ctx.care_plain(what)))
        .collect();
    (!all.is_empty()).then(|| t!(ctx, "outlook-letters", letters = all.join(", ")))
}

/// The chart of a fan, which carries its own description.
pub(crate) fn svg(ctx: &Ctx, number: usize, fan: &Fan, outlook: &Outlook, look: Look) -> String {
    let from_us = outlook.from.0.saturating_mul(1_000_000);
    let figure = |v: f64, decimals: usize| ctx.number(v, decimals);
    let day = |hours: f64| ctx.day(from_us.saturating_add((hours * 3.6e9) as i64));
    let words = Words { number: &figure, day: &day, now: t!(ctx, "chart-today") };
    let chart = Chart {
        outlook,
        fan: number,
        description: described(ctx, fan, outlook),
        title: String::new(),
        below: Vec::new(),
    };
    chart::svg(&chart, &words, look)
}

fn quantity(ctx: &Ctx, fan: &Fan) -> String {
    ctx.care_plain(&fan.quantity.said().capital())
}

/// What the chart shows, for who does not see it.
pub(crate) fn described(ctx: &Ctx, fan: &Fan, outlook: &Outlook) -> String {
    let n = |v: f64| ctx.number(v, fan.quantity.decimals());
    let of = |r: &&PastReading| r.quantity == fan.quantity;
    let read: Vec<&PastReading> = outlook.past.readings.iter().filter(of).collect();
    let begin = outlook.past.hours.first().copied().unwrap_or(0.0);
    let mut said = Arguments::new();
    said.insert("quantity".into(), quantity(ctx, fan).into());
    said.insert("days".into(), ctx.number(-begin / 24.0, 0).into());
    said.insert("count".into(), read.len().into());
    said.insert("doses".into(), outlook.past.deeds.len().into());
    let mut all = vec![ctx.say("chart-past", Some(&said))];
    if let Some(last) = read.last().and_then(|r| r.outcome.figure()) {
        all.push(t!(ctx, "chart-last-read", value = n(last)));
    }
    all.push(numbers(ctx, fan));
    if let Some(band) = &fan.band {
        all.push(t!(ctx, "chart-band", low = n(band.low), high = n(band.high)));
    }
    all.join(" ")
}
