//! A fan: the band shaded, nine chances in ten as a pale field, half of them as a deeper one, the middle as a line.

use super::{numbers, when};
use crate::ctx::Ctx;
use care::outlook::{Fan, Outlook};
use maud::{Markup, html};

const WIDTH: f64 = 360.0;
const HEIGHT: f64 = 168.0;
const LEFT: f64 = 44.0;
const RIGHT: f64 = 352.0;
const TOP: f64 = 10.0;
const BOTTOM: f64 = 144.0;

/// A quantity with its fan, and in words.
pub(super) fn figure(ctx: &Ctx, fan: &Fan, outlook: &Outlook) -> Markup {
    html! {
        figure {
            figcaption {
                b { (ctx.care_plain(&fan.quantity.said()).to_owned()) }
                @if let Some(leaves) = &fan.leaves { ": " (when(ctx, leaves)) }
            }
            (drawn(ctx, fan, &outlook.hours, outlook.from.0.saturating_mul(1_000_000)))
            p.note { (numbers(ctx, fan)) }
        }
    }
}

fn drawn(ctx: &Ctx, fan: &Fan, hours: &[f64], from_us: i64) -> Markup {
    let band = fan.band.as_ref().map(|b| (b.low, b.high));
    let edges = band.map_or((f64::INFINITY, f64::NEG_INFINITY), |b| b);
    let (low, high) = fan.quantiles.iter().fold(edges, |(l, h), q| (l.min(q[0]), h.max(q[4])));
    let margin = 0.06 * (high - low).max(1e-6);
    let (low, high) = (low - margin, high + margin);
    let last = hours.last().copied().unwrap_or(1.0).max(1e-9);
    let x = |i: usize| LEFT + hours.get(i).copied().unwrap_or(0.0) / last * (RIGHT - LEFT);
    let y = |v: f64| BOTTOM - (v - low) / (high - low) * (BOTTOM - TOP);
    let line = |share: usize| {
        let points = fan.quantiles.iter().enumerate().map(|(i, q)| format!("{:.1} {:.1}", x(i), y(q[share])));
        points.collect::<Vec<_>>()
    };
    let field = |lower: usize, upper: usize| {
        let back = line(lower).into_iter().rev();
        format!("M{}Z", line(upper).into_iter().chain(back).collect::<Vec<_>>().join("L"))
    };
    let at = |hour: f64| from_us.saturating_add((hour * 3.6e9) as i64);
    html! {
        svg.chart viewBox={ "0 0 " (WIDTH) " " (HEIGHT) } aria-hidden="true" focusable="false" {
            @if let Some((from, to)) = band {
                rect.band x=(LEFT) width=(RIGHT - LEFT) y=(format!("{:.1}", y(to))) height=(format!("{:.1}", y(from) - y(to))) {}
                @for edge in [from, to] {
                    text.edge x=(LEFT - 4.0) y=(format!("{:.1}", y(edge))) dy="4" text-anchor="end" { (ctx.number(edge, fan.quantity.decimals())) }
                }
            }
            path.most d=(field(0, 4)) {}
            path.half d=(field(1, 3)) {}
            path.middle d={ "M" (line(2).join("L")) } {}
            line.axis x1=(LEFT) x2=(RIGHT) y1=(BOTTOM) y2=(BOTTOM) {}
            @for (share, anchor) in [(0.0, "start"), (0.5, "middle"), (1.0, "end")] {
                @let place = format!("{:.1}", LEFT + share * (RIGHT - LEFT));
                line.axis x1=(place) x2=(place) y1=(BOTTOM) y2=(BOTTOM + 4.0) {}
                text.edge x=(place) y=(BOTTOM + 18.0) text-anchor=(anchor) { (ctx.day(at(share * last))) }
            }
        }
    }
}
