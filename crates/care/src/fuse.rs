//! Several readings of one quantity made into one, and quantities held against each other.
//!
//! Consistent readings are weighted by the inverse of their variances. Readings that contradict each other are not
//! averaged: the larger body of independent evidence is kept, the rest named in a finding.
//! Left out: how a quantity moved between two readings (that is the tub in time; its share comes in as `shift` and
//! `extra_standard_error`).

mod agree;
mod bounds;
mod chlorine;
mod cross_check;

use crate::amount::Units;
use crate::case::When;
use crate::finding::{Finding, Weight};
use crate::method::{Interpreted, Outcome, Reagent};
use crate::quantity::Quantity;
use crate::text::{Text, say};

use agree::{Point, largest_agreement};
use bounds::Bounds;

pub use chlorine::derive_combined_chlorine;
pub use cross_check::{charge_balance, cross_check};

/// Two figures differ if they are further apart than so many of their combined standard errors.
pub const CONTRADICTION: f64 = 2.5;
/// Readings by one method share its bias: together they are never surer than this share of the best one's variance.
const SHARED_VARIANCE: f64 = 0.5;
/// A kept figure's standard error is multiplied by this when another reading contradicts it.
const DOUBT_FACTOR: f64 = 1.5;

/// A reading with what time did to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighted {
    /// What it said.
    pub interpreted: Interpreted,
    /// Standard error that came with the time since, in the quantity's unit.
    pub extra_standard_error: f64,
    /// What doses and replaced water have changed since, in the quantity's unit.
    pub shift: f64,
    /// When it was read, if that is known.
    pub read: Option<When>,
}

/// One quantity after all its readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Fused {
    /// Which.
    pub quantity: Quantity,
    /// Best figure.
    pub value: f64,
    /// Standard error.
    pub standard_error: f64,
    /// What readings beyond a method's range say: at least, at most.
    pub bounds: (Option<f64>, Option<f64>),
    /// Whether all that is known is "more than": the figure is a guess above that.
    pub over_scale: bool,
    /// Whether all that is known is "less than": the figure is the middle of what is possible.
    pub under_scale: bool,
    /// How many readings stand in it.
    pub used: usize,
    /// The methods that stand in it, each once.
    pub method_ids: Vec<String>,
    /// Whether only a controller's display stands in it.
    pub only_display: bool,
    /// Whether only o-tolidine stands in it, which cannot tell combined chlorine.
    pub only_orthotolidine: bool,
}

/// All quantities, and what their readings have against each other.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Fusion {
    /// One for each quantity that was read.
    pub fused: Vec<Fused>,
    /// What the comparison found; the readings' own findings stay with them.
    pub findings: Vec<Finding>,
}

impl Fusion {
    /// The figure of a quantity.
    pub fn get(&self, quantity: Quantity) -> Option<&Fused> {
        self.fused.iter().find(|f| f.quantity == quantity)
    }
}

/// Fuses readings, quantity by quantity. Void ones take no part. Where free chlorine was not read but total was, it is
/// given as anything from none to all of it. Findings are said in `units`.
pub fn fuse(readings: &[Weighted], units: Units) -> Fusion {
    let mut fusion = Fusion::default();
    for quantity in crate::quantity::ALL {
        let of_it: Vec<&Weighted> = readings.iter().filter(|w| w.interpreted.quantity == quantity).collect();
        if let Some(fused) = fuse_one(quantity, &of_it, units, &mut fusion.findings) {
            fusion.fused.push(fused);
        }
    }
    chlorine::free_from_total(&mut fusion);
    fusion
}

fn fuse_one(
    quantity: Quantity,
    readings: &[&Weighted],
    units: Units,
    findings: &mut Vec<Finding>,
) -> Option<Fused> {
    let mut bounds = Bounds::said_in(units);
    for w in readings.iter().filter(|w| is_sound(w)) {
        let extra = w.extra_standard_error.abs();
        match w.interpreted.outcome {
            Outcome::Below { limit } => bounds.at_most(limit + w.shift, extra, w),
            Outcome::Above { limit } => bounds.at_least(limit + w.shift, extra, w),
            Outcome::Value { .. } | Outcome::Void => {}
        }
    }
    let points: Vec<Point<'_>> = readings.iter().filter_map(|w| point(w)).collect();
    if points.is_empty() {
        return bounds.alone(quantity, findings);
    }
    let (kept, rejected) = largest_agreement(points);
    let (value, mut standard_error) = weighted_mean(&kept);
    for r in &rejected {
        findings.push(contradiction(units, quantity, value, &kept, r));
    }
    if !rejected.is_empty() {
        standard_error = doubted(value, standard_error, &kept, &rejected);
    }
    if bounds.against(quantity, value, standard_error, &kept, findings) {
        standard_error *= DOUBT_FACTOR;
    }
    Some(Fused {
        quantity,
        value,
        standard_error,
        bounds: bounds.limits(),
        over_scale: false,
        under_scale: false,
        used: kept.len(),
        method_ids: names(kept.iter().map(|p| p.reading.method_id.as_str())),
        only_display: kept.iter().all(|p| p.reading.is_display),
        only_orthotolidine: kept.iter().all(|p| p.reading.reagent == Reagent::Orthotolidine),
    })
}

/// Whether what time did to a reading is a number.
fn is_sound(w: &Weighted) -> bool {
    w.extra_standard_error.is_finite() && w.shift.is_finite()
}

/// A reading that gives a figure, as a point.
fn point(w: &Weighted) -> Option<Point<'_>> {
    match w.interpreted.outcome {
        Outcome::Value { value, standard_error } if is_sound(w) => Some(Point {
            value: value + w.shift,
            standard_error: standard_error.hypot(w.extra_standard_error).max(f64::MIN_POSITIVE.sqrt()),
            shift: w.shift,
            read: w.read,
            reading: &w.interpreted,
        }),
        _ => None,
    }
}

/// Which readings of one quantity stand in its figure: all but the void ones and those that the rest contradicts. A limit
/// stands.
pub fn kept(readings: &[&Weighted]) -> Vec<bool> {
    let (kept, _) = largest_agreement(readings.iter().filter_map(|w| point(w)).collect());
    readings
        .iter()
        .map(|w| match w.interpreted.outcome {
            Outcome::Value { .. } => kept.iter().any(|p| std::ptr::eq(p.reading, &w.interpreted)),
            Outcome::Below { .. } | Outcome::Above { .. } => is_sound(w),
            Outcome::Void => false,
        })
        .collect()
}

/// Inverse-variance mean; readings by one method are joined first, with the bias that they share.
fn weighted_mean(points: &[Point<'_>]) -> (f64, f64) {
    let ids = names(points.iter().map(|p| p.reading.method_id.as_str()));
    let (mut weights, mut sum) = (0.0, 0.0);
    for id in &ids {
        let of_method = points.iter().filter(|p| p.reading.method_id == *id);
        let (mut w, mut s, mut best) = (0.0, 0.0, f64::INFINITY);
        for p in of_method {
            let variance = p.standard_error * p.standard_error;
            w += 1.0 / variance;
            s += p.value / variance;
            best = best.min(variance);
        }
        let variance = (1.0 / w).max(SHARED_VARIANCE * best);
        weights += 1.0 / variance;
        sum += s / w / variance;
    }
    (sum / weights, weights.recip().sqrt())
}

/// The kept figure's error when others contradict it: wider, and one method against another leaves both possible.
fn doubted(value: f64, standard_error: f64, kept: &[Point<'_>], rejected: &[Point<'_>]) -> f64 {
    let alone = names(kept.iter().map(|p| p.reading.method_id.as_str())).len() == 1;
    let farthest = rejected
        .iter()
        .filter(|p| alone && !p.reading.is_display)
        .map(|p| (p.value - value).abs() / 3.0)
        .fold(0.0, f64::max);
    (DOUBT_FACTOR * standard_error).max(farthest)
}

fn names<'a>(ids: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut seen: Vec<String> = Vec::new();
    for id in ids {
        if !seen.iter().any(|s| s == id) {
            seen.push(id.to_string());
        }
    }
    seen
}

/// A figure with its unit, as a sentence needs it.
fn figure(units: Units, quantity: Quantity, value: f64) -> String {
    match quantity {
        // Two meters are compared to a tenth of what one is read to.
        Quantity::Conductivity => format!("{value:.2} {}", quantity.unit()),
        _ => units.figure(quantity, value),
    }
}

/// A figure as it stands now; where what was dosed since is counted in it, with what was read and when: nobody finds the
/// counted one in the log.
fn as_read(units: Units, quantity: Quantity, now: f64, shift: f64, read: Option<When>) -> Text {
    let said = Text::figures(figure(units, quantity, now));
    let Some(at) = read else { return said };
    let read = Text::figures(figure(units, quantity, now - shift));
    if read == said {
        return said;
    }
    say!(
        "care-carried-reading",
        "{now} (read as {read} on {date}; doses and water since then are counted)",
        now = said,
        read = read,
        date = Text::name(at.to_the_minute())
    )
}

fn by(points: &[Point<'_>]) -> Text {
    let mut each: Vec<Text> = Vec::new();
    for p in points {
        if !each.contains(&p.reading.method_name) {
            each.push(p.reading.method_name.clone());
        }
    }
    Text::joined(each, " and ")
}

fn at_line(reading: &Interpreted) -> Text {
    match reading.line {
        Some(line) => say!("care-at-line", " (line {n})", n = Text::name(line.to_string())),
        None => Text::default(),
    }
}

fn contradiction(
    units: Units,
    quantity: Quantity,
    value: f64,
    kept: &[Point<'_>],
    rejected: &Point<'_>,
) -> Finding {
    let line = at_line(rejected.reading);
    let mut what = vec![say!(
        "care-contradict",
        "{quantity} is {value} by {method}, but {other} by {other_method}{line}: they contradict each other and are not averaged; {kept} is kept.",
        quantity = quantity.said().capital(),
        kept = Text::figures(figure(units, quantity, value)),
        value = match kept {
            [only] => as_read(units, quantity, value, only.shift, only.read),
            _ => Text::figures(figure(units, quantity, value)),
        },
        method = by(kept),
        other = as_read(units, quantity, rejected.value, rejected.shift, rejected.read),
        other_method = rejected.reading.method_name.clone(),
        line = line
    )];
    let mut advice = say!(
        "care-test-third-way",
        "Test {quantity} again by a third way before a dose stands on it.",
        quantity = quantity.said()
    );
    if rejected.reading.is_display && quantity == Quantity::Salt {
        what.push(say!(
            "care-display-suspect",
            "The display or its cell is suspect (scaled, worn, cold or wrongly set)."
        ));
        advice = say!(
            "care-look-at-cell",
            "Do not add salt on the display's word: look at the cell, clean it by its label, and compare again."
        );
    } else if rejected.reading.is_display {
        what.push(say!("care-sensor-suspect", "The display's sensor is suspect."));
    }
    Finding { weight: Weight::Doubt, quantities: vec![quantity], what: Text::joined(what, " "), advice }
}
