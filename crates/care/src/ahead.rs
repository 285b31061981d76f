//! The plan for where the water will go: doses aimed so that it stays in its bands until the next look.
//!
//! In: a [`Case`] and what its entries have taught ([`Learned`]). Out: a plan of [`crate::planner`] with its [`Ahead`]: what
//! the draws say of the water at the next look, the cell's duty, a new fill's looks.
//! Method: each draw is followed from every level at which pH, free chlorine or alkalinity might be left (`targets`); the
//! level that costs least until the next look, in the plan's own measure of a miss, becomes what the plan aims at. The
//! search, its safe path and its cautions stay as they are.
//! Left out: which look would be the best for a given effort; combined chlorine, scale.

mod duty;
mod schedule;
mod targets;

use crate::band::{Band, Regime};
use crate::case::{Bands, Case, Product};
use crate::chem::per_gram;
use crate::learn::{Act, Expected, FOLLOWED, Learned, Name, Path, figure_of, learn_roughly, quantile, three};
use crate::outlook::{NextLook, STEP_H, fans, next_look};
use crate::plan::{LookAgain, Plan, StepKind};
use crate::planner::{PlanError, bands_of, plan_towards};
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};
use water::Totals;

pub use duty::{Duty, LEAST_HOURS};
pub use schedule::Look;
pub use targets::Target;

/// Days until the next look where nobody has looked twice yet: with a cell, and dosed by hand (common practice: once or
/// twice a week, and every other day).
const RHYTHM_DAYS: (f64, f64) = (3.5, 2.0);
/// No rhythm is shorter or longer.
const RHYTHM_H: (f64, f64) = (12.0, 14.0 * 24.0);
/// How many of the last looks tell the rhythm.
const LAST_LOOKS: usize = 5;
/// Draws that are followed: what is asked of them are means, not tails.
const DRAWS: usize = 100;
/// A volume known this much better than it was told is planned with.
const BETTER_KNOWN: f64 = 0.8;
/// Nobody is sent back sooner, but for a test that a plan waits for.
const SOONEST_H: f64 = 24.0;
/// The next look is looked for within so many hours.
const LOOK_WITHIN_H: f64 = 7.0 * 24.0;
/// Looks after which the tub's own course is believed: before, what tubs in general do is all there is.
const LOOKS_LEAST: usize = 2;

/// A quantity at the next look: 5 %, 50 %, 95 %, and the chance of being outside its band.
#[derive(Debug, Clone, PartialEq)]
pub struct AtLook {
    /// Which.
    pub quantity: Q,
    /// Its figures.
    pub range: [f64; 3],
    /// Chance of lying outside its band; `None` without a band.
    pub outside: Option<f64>,
}

/// What was planned ahead, and for when.
#[derive(Debug, Clone, PartialEq)]
pub struct Ahead {
    /// Hours until the next look that the doses are made for.
    pub until_h: f64,
    /// Whether the doses are aimed at where the water will go. Not before somebody has looked twice: until then it is only
    /// known what tubs in general do.
    pub aimed: bool,
    /// Where the water is to be left, and why there.
    pub targets: Vec<Target>,
    /// The cell's duty until then.
    pub cell: Option<Duty>,
    /// Hours until the look that `at_look` is for: no later than the plan asks for one, unless it was told when.
    pub at_look_h: f64,
    /// The water at that look, if the plan is done.
    pub at_look: Vec<AtLook>,
    /// Litres, where the entries have taught better than the tub's own figure.
    pub volume_l: Option<f64>,
    /// The relative standard error of the volume that is planned with.
    pub volume_error: f64,
    /// When to look again if the plan is done.
    pub next_look: NextLook,
    /// The looks of a new fill's first two weeks; none later.
    pub schedule: Vec<Look>,
}

/// Plans for the days until the next look. `look_h`: hours until then, if that is settled; else the rhythm of the looks so
/// far.
///
/// # Errors
/// As [`crate::planner::plan`].
pub fn plan(case: &Case, learned: &Learned, look_h: Option<f64>, seed: u64) -> Result<Plan, PlanError> {
    let (bands, _) = bands_of(case)?;
    if case.tub.regime == Regime::Bromine {
        return plan_towards(case, &[]);
    }
    let gaps = learned.between_looks_h();
    let aimed = gaps.len() + 1 >= LOOKS_LEAST;
    let until_h = look_h.unwrap_or_else(|| rhythm_h(case, &gaps)).clamp(RHYTHM_H.0, RHYTHM_H.1);
    let volume_l = volume(case, learned).filter(|_| aimed);
    let case = &with_volume(case, volume_l);
    let few = &learned.thinned(DRAWS);
    let litres = case.tub.volume_l;
    let mut ways = Ways { learned: few, bands: &bands, expected: few.expected(), until_h, seed, litres };
    // Whoever cares for the tub will set the cell about so, told or not.
    let cell = duty::choose(case, &ways);
    ways.expected.cell_output = cell.as_ref().map(|d| d.share);
    let cell = cell.filter(|_| aimed);
    let targets = targets::choose(&ways);
    let mut plan = plan_towards(case, &narrower(aimed, &targets))?;
    let deeds = deeds(case, &plan);
    let hours = hours(LOOK_WITHIN_H);
    let paths = ways.learned.paths(&hours, &ways.expected, &deeds, seed);
    let next_look = next_look(case, &fans(&bands, &hours, &paths), &hours);
    let age_h = learned.hours_since_fill().filter(|age| *age < 24.0 * schedule::NEW_FILL_DAYS);
    // Before the tub's own course is known, the moment's plan may ask for an earlier look, to see what its doses did.
    let within_h = if aimed { LOOK_WITHIN_H } else { plan.look_again.after_hours.max(SOONEST_H) };
    let new_fill = |age| schedule::looks(case, &ways, &targets, &deeds, age, within_h);
    let mut schedule = age_h.map_or_else(Vec::new, new_fill);
    let volume_l = volume_l.map(|(litres, _)| litres);
    if plan.look_again.after_hours >= SOONEST_H {
        plan.look_again = match schedule.split_first_mut() {
            Some((first, later)) => scheduled(plan.look_again, first, later, aimed),
            None if aimed => look_again(&next_look),
            None => plan.look_again,
        };
    }
    // Nobody is told of a week where the plan itself asks for a look tomorrow.
    let asked_h = plan.look_again.after_hours;
    let sooner = look_h.is_none() && (SOONEST_H..until_h).contains(&asked_h);
    let at_look_h = if sooner { asked_h } else { until_h };
    let at_look = at_look(&ways, at_look_h, &deeds);
    plan.ahead = Some(Ahead {
        at_look_h,
        until_h,
        aimed,
        targets,
        cell,
        at_look,
        volume_l,
        volume_error: case.tub.volume_error,
        next_look,
        schedule,
    });
    Ok(plan)
}

/// The plan anew within a look, after some of it was done or read: towards the same targets, without learning again.
///
/// # Errors
/// As [`crate::planner::plan`].
pub fn plan_again(case: &Case, ahead: &Ahead) -> Result<Plan, PlanError> {
    let volume = ahead.volume_l.map(|litres| (litres, ahead.volume_error));
    let plan = plan_towards(&with_volume(case, volume), &narrower(ahead.aimed, &ahead.targets))?;
    Ok(Plan { ahead: Some(ahead.clone()), ..plan })
}

/// The bands that the doses go by.
fn narrower(aimed: bool, targets: &[Target]) -> Vec<(Q, Band)> {
    targets.iter().filter(|_| aimed).map(|t| (t.quantity, t.band.clone())).collect()
}

/// The same from a case alone, learnt from roughly ([`learn_roughly`]). Where nothing can be learnt it is the plan for the water of the moment.
///
/// # Errors
/// As [`crate::planner::plan`].
pub fn plan_case(case: &Case, look_h: Option<f64>, seed: u64) -> Result<Plan, PlanError> {
    match learn_roughly(case, seed) {
        Ok(learned) => plan(case, &learned, look_h, seed),
        Err(_) => plan_towards(case, &[]),
    }
}

/// The draws, and how to follow them until the next look.
pub(crate) struct Ways<'a> {
    pub(crate) learned: &'a Learned,
    pub(crate) bands: &'a Bands,
    pub(crate) expected: Expected,
    pub(crate) until_h: f64,
    seed: u64,
    litres: f64,
}

impl Ways<'_> {
    pub(crate) fn band(&self, q: Q) -> Option<&Band> {
        self.bands.iter().find(|(of, _)| *of == q).map(|(_, band)| band)
    }

    /// Follows every draw after a change of its water, per kg as if its volume were the planned one.
    pub(crate) fn follow(&self, change: &Totals, expected: &Expected, hours: &[f64]) -> Vec<Path> {
        let moles = Totals::default().plus(change, self.litres);
        let dose = (0.0, Act::Dose { moles, product: usize::MAX });
        self.learned.paths(hours, expected, &[dose], self.seed)
    }

    /// Hours until the next look, the first after an evening.
    pub(crate) fn hours(&self) -> Vec<f64> {
        hours(self.until_h)
    }
}

fn hours(until_h: f64) -> Vec<f64> {
    let steps = (until_h / STEP_H).floor().max(1.0) as usize;
    let mut all: Vec<f64> = (1..=steps).map(|i| STEP_H * i as f64).collect();
    if until_h - all.last().copied().unwrap_or(0.0) > 1e-6 {
        all.push(until_h);
    }
    all
}

/// The usual time between looks, hours.
fn rhythm_h(case: &Case, gaps: &[f64]) -> f64 {
    let mut last: Vec<f64> = gaps.iter().rev().take(LAST_LOOKS).copied().collect();
    last.sort_by(f64::total_cmp);
    let by_hand = case.tub.regime != Regime::SaltCell;
    let usual = 24.0 * if by_hand { RHYTHM_DAYS.1 } else { RHYTHM_DAYS.0 };
    if last.len() < 2 { usual } else { quantile(&last, 0.5) }
}

/// The volume as it was learnt, and its relative standard error, where that is better than what was told.
fn volume(case: &Case, learned: &Learned) -> Option<(f64, f64)> {
    let [low, middle, high] = learned.traits().iter().find(|t| t.name == Name::Volume)?.now;
    // 90 % of a normal lie within 3.29 standard deviations.
    let error = (high - low) / 3.29 / middle;
    (middle > 0.0 && error < BETTER_KNOWN * case.tub.volume_error).then_some((middle, error))
}

fn with_volume(case: &Case, volume: Option<(f64, f64)>) -> Case {
    let mut case = case.clone();
    if let Some((litres, error)) = volume {
        case.tub.volume_l = litres;
        case.tub.volume_error = error;
    }
    case
}

/// When to look again, by what this tub will do; a plan that waits for a test keeps its own word.
fn look_again(next: &NextLook) -> LookAgain {
    let why = match next.because {
        Some(quantity) => why_then(quantity, next.chance, true),
        None => {
            say!("care-look-ahead-calm", "By what this tub has done so far, nothing leaves its band before.")
        }
    };
    let after_hours = next.after_h.clamp(SOONEST_H, LOOK_WITHIN_H);
    LookAgain { after_hours, quantities: next.measure.clone(), why, then_hours: Vec::new() }
}

/// The same of a new fill, whose looks are laid out: the first of them. Where that is the look that the moment's plan asks
/// for by itself, what it wants measured and why stands.
fn scheduled(own: LookAgain, first: &mut Look, later: &[Look], aimed: bool) -> LookAgain {
    let then_hours = later.iter().map(|look| look.after_h).collect();
    if !aimed && own.after_hours <= first.after_h {
        first.measure.clone_from(&own.quantities);
        return LookAgain { then_hours, ..own };
    }
    let chances = first.found.iter().filter_map(|there| Some((there.quantity, there.outside?)));
    let likeliest = chances.max_by(|a, b| a.1.total_cmp(&b.1));
    let why = likeliest.map_or(own.why, |(q, chance)| why_then(q, chance, aimed));
    LookAgain { after_hours: first.after_h, quantities: first.measure.clone(), why, then_hours }
}

fn why_then(quantity: Q, chance: f64, aimed: bool) -> Text {
    let percent = Text::figures(format!("{:.0}", 100.0 * chance));
    if aimed {
        say!(
            "care-look-ahead",
            "By what this tub has done so far, {quantity} is then outside its band with a chance of {percent} %.",
            quantity = quantity.said(),
            percent = percent
        )
    } else {
        say!(
            "care-look-ahead-general",
            "By what tubs in general do, {quantity} is then outside its band with a chance of {percent} %.",
            quantity = quantity.said(),
            percent = percent
        )
    }
}

/// What a plan does to the tub and at how many hours from now, in the course's own terms.
fn deeds(case: &Case, plan: &Plan) -> Vec<(f64, Act)> {
    let mut before = plan.before.totals;
    let (mut deeds, mut at_h) = (Vec::new(), 0.0);
    for step in &plan.steps {
        match step.kind {
            StepKind::Add => {
                let product = step.product.as_ref().and_then(|name| shelved(case, name));
                if let (Some((place, product)), Some(grams)) = (product, step.mass_g) {
                    let moles = Totals::default().plus(&per_gram(product, false), grams);
                    deeds.push((at_h, Act::Dose { moles, product: place }));
                }
            }
            StepKind::ReplaceWater => deeds.push((at_h, Act::Replaced(step.share.unwrap_or(0.0)))),
            StepKind::LeaveOpen => {
                let left = before.carbon - step.water_after.totals.carbon;
                deeds.push((at_h, Act::LetOut(left * case.tub.volume_l)));
            }
            StepKind::Circulate | StepKind::Wait | StepKind::Retest | StepKind::KeepOut => {}
        }
        before = step.water_after.totals;
        at_h += step.wait_min / 60.0;
    }
    deeds
}

fn shelved<'a>(case: &'a Case, name: &str) -> Option<(usize, &'a Product)> {
    case.shelf.iter().enumerate().find(|(_, p)| p.name == name)
}

fn at_look(ways: &Ways<'_>, after_h: f64, deeds: &[(f64, Act)]) -> Vec<AtLook> {
    let paths = ways.learned.paths(&[after_h], &ways.expected, deeds, ways.seed);
    let figures: Vec<_> = paths.iter().filter_map(|p| p.first()).copied().collect();
    FOLLOWED.into_iter().filter_map(|q| at_hour(ways, q, &figures)).collect()
}

/// A quantity of the draws at one moment.
fn at_hour(ways: &Ways<'_>, q: Q, figures: &[[f64; FOLLOWED.len()]]) -> Option<AtLook> {
    let all: Vec<f64> = figures.iter().filter_map(|f| figure_of(q, f)).collect();
    let count = all.len() as f64;
    let outside = |b: &Band| all.iter().filter(|x| !b.contains(**x)).count() as f64 / count;
    (count > 0.0).then(|| AtLook { quantity: q, range: three(&all), outside: ways.band(q).map(outside) })
}

#[cfg(test)]
mod tests;
