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

use crate::finding::{Finding, Weight};
use crate::method::{Interpreted, Outcome, Reagent};
use crate::quantity::Quantity;

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
/// given as anything from none to all of it.
pub fn fuse(readings: &[Weighted]) -> Fusion {
    let mut fusion = Fusion::default();
    for quantity in crate::quantity::ALL {
        let of_it: Vec<&Weighted> = readings.iter().filter(|w| w.interpreted.quantity == quantity).collect();
        if let Some(fused) = fuse_one(quantity, &of_it, &mut fusion.findings) {
            fusion.fused.push(fused);
        }
    }
    chlorine::free_from_total(&mut fusion);
    fusion
}

fn fuse_one(quantity: Quantity, readings: &[&Weighted], findings: &mut Vec<Finding>) -> Option<Fused> {
    let mut points = Vec::new();
    let mut bounds = Bounds::default();
    for w in readings {
        let extra = w.extra_standard_error.abs();
        let shift = w.shift;
        if !extra.is_finite() || !shift.is_finite() {
            continue;
        }
        match w.interpreted.outcome {
            Outcome::Value { value, standard_error } => points.push(Point {
                value: value + shift,
                standard_error: standard_error.hypot(extra).max(f64::MIN_POSITIVE.sqrt()),
                reading: &w.interpreted,
            }),
            Outcome::Below { limit } => bounds.at_most(limit + shift, extra, &w.interpreted),
            Outcome::Above { limit } => bounds.at_least(limit + shift, extra, &w.interpreted),
            Outcome::Void => {}
        }
    }
    if points.is_empty() {
        return bounds.alone(quantity, findings);
    }
    let (kept, rejected) = largest_agreement(points);
    let (value, mut standard_error) = weighted_mean(&kept);
    for r in &rejected {
        findings.push(contradiction(quantity, value, &kept, r));
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
        used: kept.len(),
        method_ids: names(kept.iter().map(|p| p.reading.method_id.as_str())),
        only_display: kept.iter().all(|p| p.reading.is_display),
        only_orthotolidine: kept.iter().all(|p| p.reading.reagent == Reagent::Orthotolidine),
    })
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
fn figure(quantity: Quantity, value: f64) -> String {
    let digits = quantity.decimals().max(usize::from(quantity == Quantity::Conductivity) * 2);
    let unit = quantity.unit();
    if unit.is_empty() { format!("{value:.digits$}") } else { format!("{value:.digits$} {unit}") }
}

fn by(points: &[Point<'_>]) -> String {
    names(points.iter().map(|p| p.reading.method_name.as_str())).join(" and ")
}

fn at_line(reading: &Interpreted) -> String {
    reading.line.map_or(String::new(), |l| format!(" (line {l})"))
}

fn contradiction(quantity: Quantity, value: f64, kept: &[Point<'_>], rejected: &Point<'_>) -> Finding {
    let name = crate::method::capital(quantity.name());
    let mut what = format!(
        "{name} is {} by {}, but {} by {}{}: they contradict each other and are not averaged; {} is kept.",
        figure(quantity, value),
        by(kept),
        figure(quantity, rejected.value),
        rejected.reading.method_name,
        at_line(rejected.reading),
        figure(quantity, value),
    );
    let mut advice = format!("Test {} again by a third way before a dose stands on it.", quantity.name());
    if rejected.reading.is_display && quantity == Quantity::Salt {
        what.push_str(" The display or its cell is suspect (scaled, worn, cold or wrongly set).");
        advice = "Do not add salt on the display's word: look at the cell, clean it by its label, and compare again.".to_string();
    } else if rejected.reading.is_display {
        what.push_str(" The display's sensor is suspect.");
    }
    Finding { weight: Weight::Doubt, quantities: vec![quantity], what, advice }
}
