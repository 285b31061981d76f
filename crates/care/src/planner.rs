//! Decide: the cheapest safe plan from what is on the shelf.
//!
//! In: a [`Case`]. Out: a [`Plan`], or why there is none.
//!
//! **Decision**: for each role (raise chlorine, raise alkalinity, …) at most one product in whole measurable units; the
//! share of water replaced; whether to air, and to which pH.
//! **Objective**, lexicographic: bathing limits met at the end; then bands met, weighted by the consequence of missing;
//! then the expected miss under the readings' and the volume's errors; then effort (products, additions, rounds, tests);
//! then cost. Misses count in whole levels, so that nobody works for a gain below measurement.
//! **Safety** is a condition, not a term: only decisions with a safe path count (`path`).
//! **Method**: complete branch and bound (`search`); doing nothing is always a candidate.

mod bound;
mod caution;
mod coarse;
mod corners;
mod evaluate;
mod goal;
mod influence;
mod measure;
mod node;
mod other_readings;
mod path;
mod problem;
mod reach;
mod report;
mod search;
mod setup;
#[cfg(test)]
mod tests;
mod words;

use crate::amount::Units;
use crate::band::{self, Band, BandError, Regime, bathing_limits, default_band, salt_band};
use crate::case::{Bands, Case, Entry, Happening, PlanKind, Product};
use crate::estimate::{EstimateError, estimate};
use crate::finding::Finding;
use crate::plan::{Plan, StepKind};
use crate::quantity::{ALL, Quantity as Q};
use crate::text::{Text, figures, say};

use std::collections::BTreeSet;

pub(crate) use goal::Goal;
use path::Walks;
use problem::{Choice, Key, Problem};
use report::Report;
pub(crate) use report::interval;
use search::{Found, search};
use setup::Needs;

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PlanError {
    /// The water could not be estimated.
    #[error(transparent)]
    Estimate(#[from] EstimateError),
    /// A band is not usable.
    #[error(transparent)]
    Band(#[from] BandError),
    /// A band for a quantity that has none by default must be given whole.
    #[error("band.{quantity} has no default for this tub: give low and high")]
    BandIncomplete {
        /// The quantity's id.
        quantity: &'static str,
    },
}

/// The best safe plan for a case.
///
/// # Errors
/// [`PlanError`] if the readings or bands cannot be used.
pub fn plan(case: &Case) -> Result<Plan, PlanError> {
    plan_towards(case, &[])
}

/// The best safe plan towards narrower bands, in which some quantities are to be left so that they stay in their own until
/// the next look. What is said of the water, and what a miss is, goes by the tub's own bands.
pub(crate) fn plan_towards(case: &Case, narrower: &[(Q, Band)]) -> Result<Plan, PlanError> {
    let est = estimate(case)?;
    let (bands, band_findings) = bands_of(case)?;
    let limits = bathing_limits(case.tub.regime, case.tub.place);
    let mut towards = bands.clone();
    for (q, band) in &mut towards {
        if let Some((_, narrow)) = narrower.iter().find(|(of, _)| of == q) {
            *band = narrow.clone();
        }
    }
    let needs = Needs::of(&est, &towards, &bands);
    let (problem, mut not_done) = setup::problem(case, &est, &towards, &needs, &limits);
    let judged = setup::goals(case, &est, &bands, &needs, &limits);
    let found = decide(&problem, &needs);
    let report = Report {
        case,
        est: &est,
        bands: &bands,
        limits: &limits,
        problem: &problem,
        judged: &judged,
        needs: &needs,
        choice: &found.choice,
    };
    let drained = problem.starts[found.choice.start].share >= 1.0;
    let refill = if drained { refill_plan(case)? } else { None };

    let mut steps = report.steps(&found.path);
    let end = report.end(&found.path);
    not_done.extend(report.not_done());
    let mut findings: Vec<Finding> = est.findings.clone();
    findings.extend(band_findings);
    findings.extend(report.water_findings());
    findings.extend(report.other_readings());
    findings.sort_by_key(|f| std::cmp::Reverse(f.weight));
    // What is true of every old reading by one kit is said once.
    let mut said = BTreeSet::new();
    findings.retain(|f| said.insert((f.what.clone(), f.advice.clone())));
    let mut assumptions = report.assumptions();
    if !found.complete {
        assumptions.push(say!(
            "care-search-stopped",
            "The search stopped after {n} decisions: this is the best of them, not proven to be the best of all.",
            n = figures!("{}", found.nodes)
        ));
    }
    let mut plan = Plan {
        kind: est.kind,
        headline: Text::default(),
        volume_l: case.tub.volume_l,
        before: report.now(),
        out_of_band_after: report.misses(&end),
        cost: cost(case, &problem, &found.choice),
        not_done,
        look_again: report.look_again(&steps),
        assumptions,
        findings,
        risks: report.risks(&end),
        rules: report.rules(),
        steps: Vec::new(),
        bands: bands.clone(),
        search_nodes: found.nodes,
        ahead: None,
    };
    if let Some(refill) = refill {
        // What follows a drain is a new fill with a plan of its own; of this one only the drain is left.
        // A test that decides whether to drain stays before it.
        let first = steps.iter().position(|s| s.kind == StepKind::ReplaceWater).unwrap_or(0);
        let mut place = 0..;
        steps.retain(|s| {
            let before = place.next().is_some_and(|at: usize| at < first);
            let decides = before && s.kind == StepKind::Retest && report.tests_decide_on_water();
            decides || matches!(s.kind, StepKind::KeepOut | StepKind::ReplaceWater)
        });
        for step in steps.iter_mut().filter(|s| s.kind == StepKind::ReplaceWater) {
            step.water_after = refill.before.clone();
        }
        steps.extend(refill.steps.into_iter().filter(|s| s.kind != StepKind::KeepOut));
        plan.out_of_band_after = refill.out_of_band_after;
        plan.risks = refill.risks;
        plan.look_again = refill.look_again;
        plan.rules = refill.rules;
        plan.cost = refill.cost + case.tub.volume_l / 1000.0 * price_of_water(case);
        plan.search_nodes += refill.search_nodes;
        plan.not_done.retain(|n| !n.what.starts_with("Dose for"));
        let anew = refill.not_done.into_iter().filter(|n| !plan.not_done.contains(n)).collect::<Vec<_>>();
        plan.not_done.extend(anew);
        plan.assumptions.extend(
            refill.assumptions.into_iter().filter(|a| !plan.assumptions.contains(a)).collect::<Vec<_>>(),
        );
    }
    for (i, step) in steps.iter_mut().enumerate() {
        step.order = i + 1;
    }
    plan.headline = report.headline(&steps);
    plan.steps = steps;
    Ok(plan)
}

/// An amount of a product in the owner's own measure: "half a capful, level".
pub fn amount_text(product: &Product, mass_g: f64, units: Units) -> Text {
    measure::measure_text(product, mass_g, units)
}

/// The cautions that go with adding a product; they never replace its label, the local code, or licensed practice.
pub fn cautions_of(product: &Product, regime: Regime) -> Vec<Text> {
    let role = setup::role_of(product, regime == Regime::Bromine);
    // What has no role in a plan is treated as what it is most like: an addition with nothing special beside the label.
    caution::cautions(product, role.unwrap_or(problem::Role::Salt))
}

/// The best decision; to do nothing if nothing asks for more.
fn decide(problem: &Problem, needs: &Needs) -> Found {
    let found = if needs.act.is_empty() { None } else { search(problem, &Walks::of(problem)) };
    found.unwrap_or_else(|| Found {
        choice: problem.nothing(),
        key: Key::WORST,
        path: Vec::new(),
        nodes: 0,
        complete: true,
    })
}

/// What a plan is worth, best rank first, less is better: bathing limits broken, levels of band misses and of expected
/// misses, effort; then cost.
#[doc(hidden)]
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Worth {
    /// The whole ranks.
    pub ranks: [u32; 4],
    /// What it costs.
    pub cost: f64,
}

/// What the tests compare plans by.
#[doc(hidden)]
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// Of the plan.
    pub plan: Worth,
    /// Of doing nothing.
    pub nothing: Worth,
    /// What the plan acts for.
    pub act: Vec<Q>,
    /// What is tested before anything is dosed for it.
    pub test_first: Vec<Q>,
    /// The products that come into question, by place on the shelf.
    pub products: Vec<usize>,
}

/// The worth of a case's plan and of doing nothing; `None` if the water cannot be judged.
///
/// # Errors
/// As [`plan`].
#[doc(hidden)]
pub fn judged(case: &Case) -> Result<Option<Judged>, PlanError> {
    let est = estimate(case)?;
    let (bands, _) = bands_of(case)?;
    let limits = bathing_limits(case.tub.regime, case.tub.place);
    let needs = Needs::of(&est, &bands, &bands);
    let (problem, _) = setup::problem(case, &est, &bands, &needs, &limits);
    let worth =
        |key: Key| Worth { ranks: [key.unsafe_ends, key.band, key.expected, key.effort], cost: key.cost };
    let Some(nothing) = problem.judged(&problem.nothing()) else { return Ok(None) };
    let found = decide(&problem, &needs);
    let of_plan = if needs.act.is_empty() { nothing } else { found.key };
    let products = problem.roles.iter().flat_map(|(_, moves)| moves).map(|m| m.product).collect();
    let Needs { act, test_first, .. } = needs;
    Ok(Some(Judged { plan: worth(of_plan), nothing: worth(nothing), act, test_first, products }))
}

/// The plan of the fill that follows a drain.
fn refill_plan(case: &Case) -> Result<Option<Plan>, PlanError> {
    let fresh = Case {
        entries: vec![Entry { at: case.now, what: Happening::Fill }],
        kind: Some(PlanKind::StartUp),
        ..case.clone()
    };
    plan(&fresh).map(Some)
}

fn price_of_water(case: &Case) -> f64 {
    case.source_water.as_ref().and_then(|s| s.price_per_m3).unwrap_or(0.0)
}

/// What the chosen amounts cost at the shelf's own prices.
fn cost(case: &Case, problem: &Problem, choice: &Choice) -> f64 {
    let products: f64 = problem
        .used(choice)
        .filter_map(|(_, m, units)| {
            Some(case.shelf.get(m.product)?.price_per_kg? * m.unit_g * f64::from(units) / 1000.0)
        })
        .sum();
    let bank = problem.bank.as_ref().filter(|_| problem.used(choice).next().is_some());
    let bank =
        bank.and_then(|m| Some(case.shelf.get(m.product)?.price_per_kg? * m.unit_g / 1000.0)).unwrap_or(0.0);
    bank + products + problem.starts[choice.start].share * case.tub.volume_l / 1000.0 * price_of_water(case)
}

/// The bands of a tub: defaults, the cell's own window, the user's own.
///
/// # Errors
/// [`PlanError`] for an unusable band.
pub fn bands_of(case: &Case) -> Result<(Bands, Vec<Finding>), PlanError> {
    let tub = &case.tub;
    let mut bands = Bands::new();
    let mut findings = Vec::new();
    for q in ALL {
        let default = match (q, tub.cell_window_mg_l) {
            (Q::Salt, Some(window)) => Some(salt_band(window)),
            _ => default_band(q, tub.regime, tub.place),
        };
        let own = case.bands.iter().find(|(b, _)| *b == q).map(|(_, o)| o);
        let band = match (default, own) {
            (None, None) => continue,
            (Some(band), None) => band,
            (Some(band), Some(own)) => {
                let (band, more) = band::with_override(q, band, own, case.units)?;
                findings.extend(more);
                band
            }
            (None, Some(own)) => {
                let (Some(low), Some(high)) = (own.low, own.high) else {
                    return Err(PlanError::BandIncomplete { quantity: q.id() });
                };
                let whole = Band {
                    low,
                    aim_low: low,
                    aim_high: high,
                    high,
                    hard_low: None,
                    hard_high: None,
                    source: say!("care-band-own", "yours"),
                    by_user: true,
                };
                band::with_override(q, whole, own, case.units)?.0
            }
        };
        bands.push((q, band));
    }
    Ok((bands, findings))
}

impl Problem {
    /// The decision to do nothing.
    fn nothing(&self) -> Choice {
        Choice { start: 0, used: vec![(0, 0); self.roles.len()], stop: None }
    }
}
