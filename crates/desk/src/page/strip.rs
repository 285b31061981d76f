//! A quantity drawn: its band as a bracket, the estimate as a dot, its interval as a whisker; and where it stands, in
//! words. Nothing is told by colour alone.

use crate::ctx::Ctx;
use crate::words::{Arguments, t};
use maud::{Markup, html};

/// Drawing units: the strip is so wide and so high; the band takes the middle.
const WIDTH: f64 = 320.0;
const HEIGHT: f64 = 44.0;
const EDGES: (f64, f64) = (90.0, 230.0);
const LINE: f64 = 26.0;

/// What is drawn.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Strip {
    pub(crate) value: f64,
    /// Where it is 9 times in 10.
    pub(crate) interval: (f64, f64),
    pub(crate) band: (f64, f64),
    pub(crate) decimals: usize,
}

impl Strip {
    fn x(&self, value: f64) -> f64 {
        let (low, high) = self.band;
        let span = if high > low { high - low } else { high.abs().max(1.0) };
        let x = EDGES.0 + (value - low) / span * (EDGES.1 - EDGES.0);
        if x.is_finite() { x.clamp(4.0, WIDTH - 4.0) } else { EDGES.0 }
    }

    /// The drawing, described for who cannot see it by the words beside it.
    pub(crate) fn draw(&self, ctx: &Ctx) -> Markup {
        let (low, high) = (self.x(self.band.0), self.x(self.band.1));
        let (from, to, at) = (self.x(self.interval.0), self.x(self.interval.1), self.x(self.value));
        html! {
            svg.strip viewBox={ "0 0 " (WIDTH) " " (HEIGHT) } aria-hidden="true" focusable="false" {
                line.axis x1="0" x2=(WIDTH) y1=(LINE) y2=(LINE) {}
                path.bracket d={ "M" (one(low)) " " (LINE) "v-8H" (one(high)) "v8" } {}
                text.edge x=(one(low)) y="13" text-anchor="middle" { (ctx.number(self.band.0, self.decimals)) }
                text.edge x=(one(high)) y="13" text-anchor="middle" { (ctx.number(self.band.1, self.decimals)) }
                line.whisker x1=(one(from)) x2=(one(to)) y1=(LINE) y2=(LINE) {}
                circle.dot cx=(one(at)) cy=(LINE) r="5.5" {}
            }
        }
    }

    /// Where the quantity stands, in words.
    pub(crate) fn status(&self, ctx: &Ctx) -> String {
        let Strip { value, interval, band: (low, high), decimals } = *self;
        let by = |distance: f64| {
            let mut arguments = Arguments::new();
            arguments.insert("by".into(), ctx.number(distance, decimals).into());
            arguments
        };
        // What rounds to nothing is at the edge, not beyond it.
        let shows = |distance: f64| distance * 10f64.powi(decimals as i32) >= 0.5;
        if value < low && shows(low - value) {
            ctx.say("status-below", Some(&by(low - value)))
        } else if value > high && shows(value - high) {
            ctx.say("status-above", Some(&by(value - high)))
        } else {
            match (interval.0 < low, interval.1 > high) {
                (true, true) => t!(ctx, "status-either"),
                (true, false) => t!(ctx, "status-perhaps-below"),
                (false, true) => t!(ctx, "status-perhaps-above"),
                (false, false) => t!(ctx, "status-inside"),
            }
        }
    }
}

fn one(x: f64) -> String {
    format!("{x:.1}")
}
