//! A strip's table as a curve: the rows as printed, and what lies between them as the method reads it.

use crate::ctx::Ctx;
use crate::words::t;
use care::method::{ChlorideBasis, LotTable};
use maud::{Markup, html};
use serde_json::Value;

const WIDTH: f64 = 420.0;
const HEIGHT: f64 = 240.0;
const LEFT: f64 = 52.0;
const BOTTOM: f64 = 34.0;
const POINTS: usize = 80;

/// The plot; nothing if the rows make no table.
pub(crate) fn draw(ctx: &Ctx, body: &Value) -> Markup {
    let rows: Vec<(f64, f64)> = body["table"]
        .as_array()
        .map(|rows| rows.iter().filter_map(|r| Some((r[0].as_f64()?, r[1].as_f64()?))).collect())
        .unwrap_or_default();
    let basis = match body["basis"].as_str() {
        Some("chloride") => ChlorideBasis::Chloride,
        _ => ChlorideBasis::SodiumChloride,
    };
    let Ok(table) = LotTable::new("", basis, &rows) else { return html! {} };
    let (first, last) = table.range_units();
    let salt = |u: f64| table.salt_mg_l(u).map(|(mg_l, _)| mg_l);
    let Some(most) = salt(last).filter(|m| *m > 0.0) else { return html! {} };
    let x = |u: f64| LEFT + (u - first) / (last - first) * (WIDTH - LEFT - 12.0);
    let y = |mg_l: f64| HEIGHT - BOTTOM - mg_l / most * (HEIGHT - BOTTOM - 14.0);
    let curve: String = (0..=POINTS)
        .filter_map(|i| {
            let u = first + (last - first) * i as f64 / POINTS as f64;
            let letter = if i == 0 { 'M' } else { 'L' };
            Some(format!("{letter}{:.1} {:.1}", x(u), y(salt(u.min(last))?)))
        })
        .collect();
    let floor = HEIGHT - BOTTOM;
    html! {
        figure.plot {
            svg viewBox={ "0 0 " (WIDTH) " " (HEIGHT) } role="img" aria-label=(t!(ctx, "method-plot")) {
                path.axis d={ "M" (LEFT) " 8V" (floor) "H" (WIDTH - 8.0) } {}
                @for (u, anchor) in [(first, "start"), (last, "end")] {
                    text x=(format!("{:.1}", x(u))) y=(floor + 16.0) text-anchor=(anchor) { (ctx.number(u, 1)) }
                }
                text x=(LEFT - 6.0) y=(floor) text-anchor="end" { "0" }
                text x=(LEFT - 6.0) y="18" text-anchor="end" { (ctx.number(most, 0)) }
                path.curve d=(curve) {}
                @for (u, _) in table.rows() {
                    @if let Some(mg_l) = salt(u) {
                        circle.row cx=(format!("{:.1}", x(u))) cy=(format!("{:.1}", y(mg_l))) r="3.5" {}
                    }
                }
            }
            figcaption { (t!(ctx, "method-plot-caption")) }
        }
    }
}
