//! A good plan: at each look reads with the same kits and follows `care`'s plan for a case built from its own readings.

use super::{Learner, Policy, round};
use crate::error::PracticeError;
use crate::game::most_at_once_g;
use crate::moves::{AIR_HOURS_MOST, Move};
use care::case::{BandOverride, Case};
use care::plan::{Snapshot, Step, StepKind};
use care::planner;
use care::quantity::Quantity as Q;

/// Follows the plan, and aims ahead: a plan knows the water of the moment, so its aims are set within the bands for where
/// the water went between the last looks (a little low where pH climbs, high where chlorine is used up).
#[derive(Debug, Clone, Default)]
pub struct ByPlan {
    cell: round::CellRule,
    ahead: bool,
    left: Option<Left>,
    /// Share of the free chlorine that is used between looks.
    used: f64,
}

/// How the water was left at a look.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Left {
    ph: f64,
    free_mg_l: f64,
}

impl ByPlan {
    /// With the aims of the plan as they stand.
    pub fn as_it_stands() -> Self {
        ByPlan::default()
    }

    /// With aims set for the days until the next look, by what this tub did since the last.
    pub fn ahead() -> Self {
        ByPlan { ahead: true, ..ByPlan::default() }
    }
}

/// Plans at one look: a plan may ask for a test and be made anew on it.
const PLANS_MOST: usize = 5;
/// What a dose already takes at the tub, hours.
const WITHIN_DOSE_H: f64 = 0.5;

impl Policy for ByPlan {
    fn id(&self) -> &'static str {
        if self.ahead { "plan" } else { "plan-as-it-stands" }
    }

    fn look(&mut self, at: &mut Learner<'_>) -> Result<(), PracticeError> {
        round::top_up(at)?;
        round::read_due(at)?;
        let found = round::last_figure(at, Q::FreeChlorine);
        let bands = if self.ahead { self.bands(at)? } else { Vec::new() };
        let mut confirmed = false;
        for _ in 0..PLANS_MOST {
            let case = Case { bands: bands.clone(), ..at.case().clone() };
            let plan = planner::plan(&case)?;
            // What asks for fresh water is read again before any is let out.
            if !confirmed && plan.steps.iter().any(|s| s.kind == StepKind::ReplaceWater) {
                confirmed = true;
                at.wait_hours(0.1)?;
                test(at, &SLOW)?;
                continue;
            }
            let again = follow(at, &plan.steps)?;
            self.left = plan.steps.last().map_or(&plan.before, |s| &s.water_after).left();
            if !again || at.is_over() {
                break;
            }
        }
        self.cell.set(at, found)
    }
}

impl ByPlan {
    /// Narrower bands than the tub's own. Free chlorine from so high that what was used since the last look leaves 3 mg/L;
    /// pH up to so low that the climb ends in the band; alkalinity low in its band where pH climbs. At the first look, as
    /// if two fifths were used and pH climbed by 0.3 (judgement).
    fn bands(&mut self, at: &Learner<'_>) -> Result<Vec<(Q, BandOverride)>, PracticeError> {
        let found = |q: Q| round::last_figure(at, q);
        let (stayed, climb) = match (self.left, found(Q::FreeChlorine), found(Q::Ph)) {
            (Some(left), Some(free), Some(ph)) => (free / left.free_mg_l.max(0.5), ph - left.ph),
            _ => (0.6, 0.3),
        };
        // Bathing comes in bursts: what was used lately is forgotten by a third a look, no faster.
        self.used = (1.0 - stayed).max(0.67 * self.used);
        let free = (3.0 / (1.0 - self.used).max(0.1)).clamp(3.5, 6.0);
        let ph = (7.8 - climb).clamp(7.4, 7.6);
        let mut bands = vec![
            own(Q::FreeChlorine, free, (free + 0.5, free + 1.5), 8.0),
            own(Q::Ph, 7.0, (ph - 0.3, ph - 0.1), ph),
        ];
        let (told, _) = planner::bands_of(at.case())?;
        if let Some((q, band)) = told.iter().find(|(q, _)| *q == Q::TotalAlkalinity).filter(|_| climb > 0.2) {
            bands.push(own(*q, band.low + 10.0, (band.low + 15.0, band.low + 30.0), band.high));
        }
        Ok(bands)
    }
}

fn own(quantity: Q, low: f64, (aim_low, aim_high): (f64, f64), high: f64) -> (Q, BandOverride) {
    let all = BandOverride {
        low: Some(low),
        aim_low: Some(aim_low),
        aim_high: Some(aim_high),
        high: Some(high),
        beyond_hard_limit: false,
    };
    (quantity, all)
}

trait LeftAs {
    fn left(&self) -> Option<Left>;
}

impl LeftAs for Snapshot {
    fn left(&self) -> Option<Left> {
        let value = |q: Q| self.quantities.iter().find(|e| e.quantity == q).map(|e| e.value);
        Some(Left { ph: value(Q::Ph)?, free_mg_l: value(Q::FreeChlorine)? })
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
