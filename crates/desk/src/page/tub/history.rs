//! How a tub's water came to be so: readings through their methods, doses and events, over 30, 90 or 365 days.

use super::chart::{Chart, Mark};
use super::{Known, decimals, log, name};
use crate::ctx::Ctx;
use crate::error::PageError;
use crate::state::App;
use crate::words::t;
use book::{Entry, Kind, Uuid};
use care::case::{Case, Happening, Raw};
use care::method::{self, Context, Outcome};
use care::quantity::{ALL, Quantity as Q};
use care::wire::case::CaseText;
use maud::{Markup, html};
use serde_json::{Value, json};

const DAYS: [i64; 3] = [30, 90, 365];
/// A case holds everything that happened in so many days at least.
const CASE_DAYS: i64 = 90;
/// Readings this close were made on one visit.
const VISIT_US: i64 = 3600 * 1_000_000;
const DAY_US: i64 = 24 * 3600 * 1_000_000;
/// So many quantities are drawn if nobody chose.
const USUAL_CHARTS: usize = 3;
/// z of the 5 % and 95 % points.
const Z_90: f64 = 1.645;

/// A reading as its method has it.
pub(super) struct Read {
    at_us: i64,
    quantity: Q,
    outcome: Outcome,
    method: care::text::Text,
    entry: Uuid,
}

/// What happened in a span of days.
pub(super) struct History {
    days: i64,
    chosen: Vec<Q>,
    reads: Vec<Read>,
    /// Doses and events, oldest first.
    deeds: Vec<Entry>,
    now_us: i64,
}

impl History {
    pub(super) async fn read(
        app: &App,
        ctx: &Ctx,
        known: &Known,
        asked: &[(String, String)],
    ) -> Result<History, PageError> {
        let get =
            |field: &'static str| asked.iter().filter(move |(k, _)| k == field).map(|(_, v)| v.as_str());
        let days =
            get("days").next().and_then(|d| d.parse().ok()).filter(|d| DAYS.contains(d)).unwrap_or(DAYS[0]);
        let now_us = ctx.now.as_microsecond();
        let kinds = [Kind::Reading, Kind::Dose, Kind::StepDone, Kind::Event];
        let (from_us, to_us) = (now_us - days * DAY_US, now_us + DAY_US);
        let entries = if days <= CASE_DAYS {
            let within = |e: &&Entry| (from_us..=to_us).contains(&e.at_us);
            known.happened.iter().filter(within).cloned().collect()
        } else {
            app.book().history_of(known.thing.id, &kinds, from_us, to_us).await?
        };
        let (readings, deeds): (Vec<Entry>, Vec<Entry>) =
            entries.into_iter().partition(|e| e.kind == Kind::Reading);
        let reads = match &known.case {
            Ok(case) => interpreted(case, &known.json, &readings, known),
            Err(_) => Vec::new(),
        };
        let mut chosen: Vec<Q> = get("q").filter_map(Q::from_id).collect();
        if chosen.is_empty() {
            let read = |q: &Q| reads.iter().any(|r| r.quantity == *q);
            chosen = ALL.into_iter().filter(read).take(USUAL_CHARTS).collect();
        }
        Ok(History { days, chosen, reads, deeds, now_us })
    }

    pub(super) fn show(&self, ctx: &Ctx, known: &Known) -> Markup {
        let tub = known.thing.id;
        let bands = known.moment().as_ref().map(|p| p.bands.as_slice()).unwrap_or_default();
        let (from, to) = (self.now_us - self.days * DAY_US, self.now_us);
        let deeds: Vec<Mark> = self
            .deeds
            .iter()
            .enumerate()
            .map(|(i, e)| Mark { at_us: e.at_us, label: (i + 1).to_string() })
            .collect();
        html! {
            section aria-labelledby="history" {
                h2 #history { (t!(ctx, "history")) }
                form.choose method="get" action={ "/tubs/" (tub) "#history" } {
                    fieldset {
                        legend { (t!(ctx, "history-span")) }
                        @for d in DAYS {
                            label.tick { input type="radio" name="days" value=(d) checked[d == self.days]; span { (t!(ctx, "span-days", n = d)) } }
                        }
                    }
                    details {
                        summary { (t!(ctx, "history-quantities")) }
                        fieldset {
                            legend { (t!(ctx, "history-quantities")) }
                            @for q in ALL.into_iter().filter(|q| *q != Q::SaturationIndex) {
                                label.tick { input type="checkbox" name="q" value=(q.id()) checked[self.chosen.contains(&q)]; span { (name(ctx, q)) } }
                            }
                        }
                    }
                    button type="submit" { (t!(ctx, "history-show")) }
                }
                @if self.reads.is_empty() && self.deeds.is_empty() { p.soft { (t!(ctx, "history-nothing", n = self.days)) } }
                div.charts {
                    @for q in &self.chosen {
                        @let band = bands.iter().find(|(b, _)| b == q).map(|(_, b)| (b.low, b.high));
                        @let chart = Chart { from, to, band, decimals: decimals(*q), points: self.points(*q), marks: &deeds };
                        figure {
                            figcaption { (name(ctx, *q)) @if !q.unit().is_empty() { span.unit { " " (q.unit()) } } }
                            (chart.draw(ctx))
                        }
                    }
                }
                @if !self.deeds.is_empty() {
                    details open[self.deeds.len() <= 6] {
                        summary { (t!(ctx, "history-deeds", n = self.deeds.len() as i64)) }
                        ol.deeds { @for e in &self.deeds { li { (log::deed(ctx, e)) " " span.soft { (ctx.day_and_time(e.at_us)) } } } }
                    }
                }
                @if !self.reads.is_empty() { (self.table(ctx, tub)) }
            }
        }
    }

    fn points(&self, q: Q) -> Vec<(i64, Outcome)> {
        self.reads.iter().filter(|r| r.quantity == q).map(|r| (r.at_us, r.outcome)).collect()
    }

    /// The same for who reads rather than looks.
    fn table(&self, ctx: &Ctx, tub: Uuid) -> Markup {
        html! {
            details {
                summary { (t!(ctx, "history-table")) }
                div.scroll tabindex="0" role="region" aria-label=(t!(ctx, "history-table")) {
                    table {
                        thead { tr { th scope="col" { (t!(ctx, "col-when")) } th scope="col" { (t!(ctx, "col-quantity")) } th scope="col" { (t!(ctx, "col-figure")) } th scope="col" { (t!(ctx, "col-method")) } } }
                        tbody {
                            @for r in self.reads.iter().rev() {
                                tr {
                                    td { (ctx.day_and_time(r.at_us)) }
                                    th scope="row" { a href={ "/tubs/" (tub) "/entries/" (r.entry) } { (name(ctx, r.quantity)) } }
                                    td { (outcome(ctx, r.quantity, r.outcome)) }
                                    td { (ctx.care(&r.method)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What a reading says, with its error.
pub(crate) fn outcome(ctx: &Ctx, q: Q, outcome: Outcome) -> String {
    let figure = |v: f64| ctx.number(v, decimals(q));
    match outcome {
        Outcome::Value { value, standard_error } => {
            t!(ctx, "outcome-value", value = figure(value), error = figure(Z_90 * standard_error))
        }
        Outcome::Below { limit } => t!(ctx, "outcome-below", limit = figure(limit)),
        Outcome::Above { limit } => t!(ctx, "outcome-above", limit = figure(limit)),
        Outcome::Void => t!(ctx, "outcome-void"),
    }
}

/// Every reading through its method. What changes slowly is taken as it is now; pH and chlorine, which change from day to
/// day and disturb other readings, as they were read on the same visit.
fn interpreted(case: &Case, json: &Value, readings: &[Entry], known: &Known) -> Vec<Read> {
    let level = |q: Q| {
        let plan = known.moment().as_ref().ok()?;
        plan.before.quantities.iter().find(|e| e.quantity == q && e.known).map(|e| e.value)
    };
    let today = Context {
        cyanuric_acid_mg_l: level(Q::CyanuricAcid),
        salt_mg_l: level(Q::Salt),
        total_alkalinity_mg_l_caco3: level(Q::TotalAlkalinity),
        units: case.units,
        ..Context::at(level(Q::Temperature).or(case.tub.temperature_c).unwrap_or(38.0))
    };
    let beside = |entry: &Entry, q: Q| {
        let near = |e: &&Entry| (e.at_us - entry.at_us).abs() <= VISIT_US && e.body["quantity"] == q.id();
        readings.iter().filter(near).find_map(|e| e.body["value"].as_f64())
    };
    readings
        .iter()
        .filter_map(|entry| {
            let context = Context {
                ph: beside(entry, Q::Ph),
                free_chlorine_mg_l: beside(entry, Q::FreeChlorine),
                ..today
            };
            one(json, entry, &context)
        })
        .collect()
}

/// One reading as a case of its own; what cannot be understood is not drawn (the log still has it).
fn one(json: &Value, entry: &Entry, context: &Context) -> Option<Read> {
    let mut case = json!({ "tub": json["tub"], "reading": [entry.body] });
    if let Some(methods) = json.get("method") {
        case["method"] = methods.clone();
    }
    let case = CaseText::of_json(&case, "reading").finish(None).ok()?;
    let Happening::Reading(reading) = &case.entries.first()?.what else { return None };
    let found = method::find(&case.methods, &reading.method)?;
    let interpreted = method::interpret(found, reading, context).ok();
    let outcome = match (&interpreted, reading.raw) {
        (Some(i), _) => i.outcome,
        (None, Raw::Value(value)) => Outcome::Value { value, standard_error: 0.0 },
        _ => return None,
    };
    let quantity = interpreted.as_ref().map_or(reading.quantity, |i| i.quantity);
    Some(Read { at_us: entry.at_us, quantity, outcome, method: found.said(), entry: entry.id })
}
