//! The days before an outlook: how the water came here by the draws, what was read, what was put in.

use super::STEP_H;
use crate::case::{Case, Happening};
use crate::learn::{Learned, three};
use crate::method::Outcome;
use crate::planner::amount_text;
use crate::quantity::Quantity as Q;
use crate::text::{Text, figures, say};

/// Days looked back at for each day ahead, and days at least and at most (judgement: enough to see where it comes from,
/// and two thirds of a chart for what comes).
const BACK: f64 = 0.5;
const BACK_DAYS: (f64, f64) = (2.0, 14.0);
/// Draws that are followed.
const DRAWS: usize = 40;

/// The days before now.
#[derive(Debug, Clone, Default)]
pub struct Past {
    /// Hours from now at which there are figures: negative and rising, the last is 0. Before and after each dose there is one.
    pub hours: Vec<f64>,
    /// For each of the outlook's fans, at each hour: 5 %, 50 %, 95 %.
    pub quantiles: Vec<Vec<[f64; 3]>>,
    /// What was read.
    pub readings: Vec<PastReading>,
    /// What was done, in order of time.
    pub deeds: Vec<Deed>,
}

/// A reading; a probe's stream counts by its half days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PastReading {
    /// Hours from now; negative.
    pub hours: f64,
    /// Of what.
    pub quantity: Q,
    /// What it says, with its method's error.
    pub outcome: Outcome,
}

/// A dose, or water replaced.
#[derive(Debug, Clone, PartialEq)]
pub struct Deed {
    /// Hours from now; negative.
    pub hours: f64,
    /// What went in.
    pub what: Text,
    /// How much, in the owner's measure.
    pub amount: Text,
}

impl Past {
    pub(super) fn of(case: &Case, learned: &Learned, days_ahead: u32, fans: usize) -> Past {
        let now_h = learned.now_h();
        let (least_h, most_h) = (24.0 * BACK_DAYS.0, 24.0 * BACK_DAYS.1);
        // As far as the last reading where that is longer ago: it is what everything since hangs on.
        let last_read_h = learned.seen().map(|s| s.at_h).fold(0.0, f64::max);
        let wanted_h = (24.0 * BACK * f64::from(days_ahead)).max(now_h - last_read_h + STEP_H);
        let back_h = wanted_h.clamp(least_h, most_h).min(now_h);
        let deeds = deeds(case, learned, back_h);
        let steps = (back_h / STEP_H) as usize;
        let mut hours: Vec<f64> = (0..=steps).map(|i| -STEP_H * (steps - i) as f64).collect();
        // A dose is a leap: it has a figure at either side.
        hours.extend(deeds.iter().flat_map(|d| [d.hours, d.hours + 0.05]));
        hours.retain(|h| (-back_h..=0.0).contains(h));
        hours.sort_by(f64::total_cmp);
        hours.dedup();
        let at: Vec<f64> = hours.iter().map(|h| now_h + h).collect();
        let draws = learned.back(&at, DRAWS);
        let quantiles = (0..fans)
            .map(|fan| {
                let column = |hour: usize| {
                    let all = draws.iter().filter_map(|d| d.get(hour)?.figures.get(fan).copied());
                    three(&all.collect::<Vec<f64>>())
                };
                (0..hours.len()).map(column).collect()
            })
            .collect();
        let readings = learned
            .seen()
            .map(|s| PastReading { hours: s.at_h - now_h, quantity: s.quantity, outcome: s.outcome })
            .filter(|r| r.hours >= -back_h)
            .collect();
        Past { hours, quantiles, readings, deeds }
    }
}

fn deeds(case: &Case, learned: &Learned, back_h: f64) -> Vec<Deed> {
    let now = learned.until();
    let mut all: Vec<Deed> = case
        .entries
        .iter()
        .filter_map(|entry| {
            let hours = entry.at.map_or(0.0, |at| at.hours_since(now));
            let (what, amount) = match entry.what {
                Happening::Dose { product, mass_g } => {
                    let of = case.shelf.get(product)?;
                    (Text::name(of.name.clone()), amount_text(of, mass_g, case.units))
                }
                Happening::Replaced { share } => {
                    (say!("care-deed-replaced", "water replaced"), figures!("{:.0} %", 100.0 * share))
                }
                _ => return None,
            };
            (-back_h..=0.0).contains(&hours).then_some(Deed { hours, what, amount })
        })
        .collect();
    all.sort_by(|a, b| a.hours.total_cmp(&b.hours));
    all
}
