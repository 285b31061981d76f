//! One quantity through time: the band shaded, readings as points with whiskers, doses and events as numbered ticks.
//! Every chart of a page has the same time axis. The numbers are in the table below the charts.

use crate::ctx::Ctx;
use care::method::Outcome;
use maud::{Markup, html};

const WIDTH: f64 = 360.0;
const HEIGHT: f64 = 168.0;
const LEFT: f64 = 38.0;
const RIGHT: f64 = 352.0;
const TOP: f64 = 22.0;
const BOTTOM: f64 = 144.0;
/// z of the 5 % and 95 % points.
const Z_90: f64 = 1.645;
/// Labels closer than this would cover each other.
const LABEL_GAP: f64 = 13.0;

/// A dose or an event on the time axis.
pub(super) struct Mark {
    pub(super) at_us: i64,
    pub(super) label: String,
}

/// What is drawn.
pub(super) struct Chart<'a> {
    pub(super) from: i64,
    pub(super) to: i64,
    pub(super) band: Option<(f64, f64)>,
    pub(super) decimals: usize,
    pub(super) points: Vec<(i64, Outcome)>,
    pub(super) marks: &'a [Mark],
}

impl Chart<'_> {
    fn x(&self, at_us: i64) -> f64 {
        let share = (at_us - self.from) as f64 / (self.to - self.from).max(1) as f64;
        LEFT + share.clamp(0.0, 1.0) * (RIGHT - LEFT)
    }

    /// Lowest and highest figure that has to be on the paper.
    fn range(&self) -> (f64, f64) {
        let mut all: Vec<f64> = self.band.map_or(Vec::new(), |(low, high)| vec![low, high]);
        for (_, outcome) in &self.points {
            match *outcome {
                Outcome::Value { value, standard_error } => {
                    all.extend([value - Z_90 * standard_error, value + Z_90 * standard_error]);
                }
                Outcome::Below { limit } | Outcome::Above { limit } => all.push(limit),
                Outcome::Void => {}
            }
        }
        let low = all.iter().copied().filter(|v| v.is_finite()).fold(f64::INFINITY, f64::min);
        let high = all.iter().copied().filter(|v| v.is_finite()).fold(f64::NEG_INFINITY, f64::max);
        if low > high {
            return (0.0, 1.0);
        }
        let margin = 0.08 * (high - low).max(10f64.powi(-(self.decimals as i32)));
        (low - margin, high + margin)
    }

    pub(super) fn draw(&self, ctx: &Ctx) -> Markup {
        let (low, high) = self.range();
        let y = |value: f64| BOTTOM - (value - low) / (high - low) * (BOTTOM - TOP);
        let y = |value: f64| one(y(value).clamp(TOP, BOTTOM));
        html! {
            svg.chart viewBox={ "0 0 " (WIDTH) " " (HEIGHT) } aria-hidden="true" focusable="false" {
                @if let Some((from, to)) = self.band {
                    rect.band x=(LEFT) width=(RIGHT - LEFT) y=(y(to)) height=(one(((to - from) / (high - low) * (BOTTOM - TOP)).max(1.0))) {}
                    text.edge x=(LEFT - 4.0) y=(y(from)) dy="4" text-anchor="end" { (ctx.number(from, self.decimals)) }
                    text.edge x=(LEFT - 4.0) y=(y(to)) dy="4" text-anchor="end" { (ctx.number(to, self.decimals)) }
                }
                line.axis x1=(LEFT) x2=(RIGHT) y1=(BOTTOM) y2=(BOTTOM) {}
                (self.days(ctx))
                (self.ticks())
                @for (at, outcome) in &self.points {
                    @let x = one(self.x(*at));
                    @match *outcome {
                        Outcome::Value { value, standard_error } => {
                            line.whisker x1=(x) x2=(x) y1=(y(value - Z_90 * standard_error)) y2=(y(value + Z_90 * standard_error)) {}
                            circle.dot cx=(x) cy=(y(value)) r="3.5" {}
                        }
                        // A limit points to where the truth is.
                        Outcome::Below { limit } => path.limit d={ "M" (x) " " (y(limit)) "m-4 0h8m-4 0v9m-3 -3l3 3l3 -3" } {},
                        Outcome::Above { limit } => path.limit d={ "M" (x) " " (y(limit)) "m-4 0h8m-4 0v-9m-3 3l3 -3l3 3" } {},
                        Outcome::Void => path.void d={ "M" (x) " " (BOTTOM - 8.0) "m-3 -3l6 6m0 -6l-6 6" } {},
                    }
                }
            }
        }
    }

    /// First, middle and last day.
    fn days(&self, ctx: &Ctx) -> Markup {
        let middle = self.from + (self.to - self.from) / 2;
        html! {
            @for (at, anchor) in [(self.from, "start"), (middle, "middle"), (self.to, "end")] {
                @let x = one(self.x(at));
                line.axis x1=(x) x2=(x) y1=(BOTTOM) y2=(BOTTOM + 4.0) {}
                text.edge x=(x) y=(BOTTOM + 18.0) text-anchor=(anchor) { (ctx.day(at)) }
            }
        }
    }

    /// Doses and events, numbered as in the list below the charts, as far as there is room for the numbers.
    fn ticks(&self) -> Markup {
        let mut labelled_to = f64::NEG_INFINITY;
        let placed: Vec<(f64, Option<&str>)> = self
            .marks
            .iter()
            .map(|mark| {
                let at = self.x(mark.at_us);
                let room = at - labelled_to >= LABEL_GAP;
                if room {
                    labelled_to = at;
                }
                (at, room.then_some(mark.label.as_str()))
            })
            .collect();
        html! {
            @for (at, label) in placed {
                line.deed x1=(one(at)) x2=(one(at)) y1=(TOP - 6.0) y2=(BOTTOM) {}
                @if let Some(label) = label { text.edge x=(one(at)) y=(TOP - 9.0) text-anchor="middle" { (label) } }
            }
        }
    }
}

fn one(x: f64) -> String {
    format!("{x:.1}")
}
