//! The plan: at each look reads with the same kits and follows `care`'s plan for a case built from its own readings.

use super::{Learner, Policy, round};
use crate::error::PracticeError;
use crate::game::most_at_once_g;
use crate::moves::{AIR_HOURS_MOST, Move};
use care::ahead::Ahead;
use care::plan::{Plan, Step, StepKind};
use care::quantity::Quantity as Q;
use care::{ahead, planner};

/// Follows the plan: for the water of the moment, or ahead for the days until the next look.
#[derive(Debug, Clone, Default)]
pub struct ByPlan {
    cell: round::CellRule,
    ahead: bool,
}

impl ByPlan {
    /// With the aims of the plan as they stand.
    pub fn as_it_stands() -> Self {
        ByPlan::default()
    }

    /// For the days until the next look, by what the entries have taught of this tub.
    pub fn ahead() -> Self {
        ByPlan { ahead: true, ..ByPlan::default() }
    }
}

/// Plans at one look: a plan may ask for a test and be made anew on it.
const PLANS_MOST: usize = 5;
/// What a dose already takes at the tub, hours.
const WITHIN_DOSE_H: f64 = 0.5;
/// The draws' seed: the estimator's own chance, nothing of the world's.
const SEED: u64 = 1;

impl Policy for ByPlan {
    fn id(&self) -> &'static str {
        if self.ahead { "plan" } else { "plan-as-it-stands" }
    }

    fn look(&mut self, at: &mut Learner<'_>) -> Result<(), PracticeError> {
        round::top_up(at)?;
        round::read_due(at)?;
        let found = round::last_figure(at, Q::FreeChlorine);
        let mut ahead = None;
        let mut confirmed = false;
        for _ in 0..PLANS_MOST {
            let plan = self.plan(at, ahead.as_ref())?;
            ahead = plan.ahead.clone().or(ahead);
            // What asks for fresh water is read again before any is let out.
            if !confirmed && plan.steps.iter().any(|s| s.kind == StepKind::ReplaceWater) {
                confirmed = true;
                at.wait_hours(0.1)?;
                test(at, &SLOW)?;
                continue;
            }
            let again = follow(at, &plan.steps)?;
            if !again || at.is_over() {
                break;
            }
        }
        match ahead.and_then(|a| a.cell) {
            Some(duty) => self.cell.set_to(at, duty.share),
            None => self.cell.set(at, found),
        }
    }
}

impl ByPlan {
    /// The plan of what is known; `before`: what an earlier plan of this look foresaw.
    fn plan(&self, at: &Learner<'_>, before: Option<&Ahead>) -> Result<Plan, PracticeError> {
        let case = at.case();
        let look_h = at.next_look_h().map(|next| next - at.at_h());
        Ok(match (self.ahead, before) {
            (false, _) => planner::plan(case)?,
            (true, Some(before)) => ahead::plan_again(case, before)?,
            (true, None) => ahead::plan_case(case, look_h, SEED)?,
        })
    }
}

/// What moves within hours, and what only doses and days move.
const FAST: [Q; 2] = [Q::Ph, Q::FreeChlorine];
const SLOW: [Q; 5] = [Q::CombinedChlorine, Q::TotalAlkalinity, Q::CalciumHardness, Q::CyanuricAcid, Q::Salt];

/// Does the steps up to a test, and the test. True if a new plan is to be made on it.
fn follow(at: &mut Learner<'_>, steps: &[Step]) -> Result<bool, PracticeError> {
    let mut done = false;
    for step in steps {
        match step.kind {
            StepKind::Add => {
                dose(at, step)?;
                round::top_up(at)?;
                at.wait_hours(step.wait_min / 60.0 - WITHIN_DOSE_H)?;
                done = true;
            }
            StepKind::ReplaceWater => {
                at.make(&Move::Replace { share: step.share.unwrap_or(1.0).clamp(0.05, 1.0) })?;
                done = true;
            }
            StepKind::LeaveOpen => {
                if !aired(at, step)? {
                    return Ok(true);
                }
                done = true;
            }
            StepKind::Circulate | StepKind::Wait => at.wait_hours(step.wait_min / 60.0)?,
            StepKind::KeepOut => {}
            StepKind::Retest => {
                // After doses what moves fast; before any, everything.
                test(at, &FAST)?;
                if !done {
                    test(at, &SLOW)?;
                }
                return Ok(true);
            }
        }
    }
    Ok(false)
}

fn test(at: &mut Learner<'_>, which: &[Q]) -> Result<(), PracticeError> {
    for quantity in which {
        let fresh = round::hours_since_read(at, *quantity).is_some_and(|h| h < 1e-6);
        let applies = *quantity != Q::Salt || round::has_cell(at);
        if applies && !fresh {
            round::read(at, *quantity)?;
        }
    }
    Ok(())
}

/// Airs for as long as the plan says, reads pH, and airs on until it is there. False if it does not get there: then a new
/// plan is due.
fn aired(at: &mut Learner<'_>, step: &Step) -> Result<bool, PracticeError> {
    const ROUNDS: usize = 4;
    /// As near as a comparator tells.
    const NEAR: f64 = 0.1;
    for _ in 0..ROUNDS {
        at.make(&Move::Air { hours: (step.wait_min / 60.0).clamp(0.25, AIR_HOURS_MOST) })?;
        round::read(at, Q::Ph)?;
        let Some(until) = step.until_ph else { return Ok(true) };
        if at.is_over() || round::last_figure(at, Q::Ph).is_some_and(|ph| ph >= until - NEAR - 1e-9) {
            return Ok(true);
        }
    }
    Ok(false)
}

fn dose(at: &mut Learner<'_>, step: &Step) -> Result<(), PracticeError> {
    let (Some(name), Some(mass_g)) = (&step.product, step.mass_g) else { return Ok(()) };
    let Some(product) = at.case().shelf.iter().find(|p| p.name == *name) else { return Ok(()) };
    let grams = mass_g.min(most_at_once_g(product, at.case().tub.volume_l));
    let measures = (grams / product.measure.grams_each * 1e6).round() / 1e6;
    let product = name.clone();
    at.wait_until_empty()?;
    at.make(&Move::Dose { product, measures })?;
    Ok(())
}
