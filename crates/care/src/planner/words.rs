//! The sentences around the steps: what to do first, when to look again, what else the water tells.

use super::problem::Role;
use super::report::{Report, active_chlorine_mg_l, names, value};
use super::setup::carbon_dioxide_will_lift;
use crate::band::{Regime, also_said};
use crate::case::{MeasureKind, PlanKind, Substance};
use crate::estimate::capital;
use crate::finding::{Finding, Weight};
use crate::plan::{LookAgain, NotDone, RuleBeside, Snapshot, Step, StepKind};
use crate::quantity::Quantity as Q;
use water::Chemical;

impl Report<'_> {
    /// The one sentence that says what to do.
    pub(crate) fn headline(&self, steps: &[Step]) -> String {
        let adds: Vec<String> = steps
            .iter()
            .filter(|s| matches!(s.kind, StepKind::Add | StepKind::ReplaceWater))
            .map(|s| match (&s.product, s.share) {
                (Some(p), _) => p.clone(),
                (None, Some(share)) if share >= 1.0 => "a drain and refill".to_string(),
                (None, Some(share)) => format!("{:.0} % fresh water", 100.0 * share),
                _ => String::new(),
            })
            .fold(Vec::new(), |mut all, name| {
                if !all.contains(&name) {
                    all.push(name);
                }
                all
            });
        let airs = steps.iter().any(|s| s.kind == StepKind::LeaveOpen);
        if !adds.is_empty() {
            let first = match self.est.kind {
                PlanKind::StartUp => "Start the new fill with",
                PlanKind::Correction => "Correct with",
            };
            return format!(
                "{first} {}{}, in this order.",
                adds.join(", then "),
                if airs { ", with the cover open and air on where it says so" } else { "" }
            );
        }
        if airs {
            return "Add nothing: leave the cover open with the air on and let the pH rise by itself."
                .to_string();
        }
        let mut test = self.needs.test_first.clone();
        test.extend(&self.needs.unsure);
        if !test.is_empty() {
            return format!("Do nothing yet: test {} again first.", names(&test));
        }
        match self.needs.act.is_empty() {
            true => "Do nothing: everything that was read is inside its band, within its error.".to_string(),
            false => format!(
                "Do nothing yet: {} should come back by itself; look again as said below.",
                names(&self.needs.act)
            ),
        }
    }

    /// When to look again, and why.
    pub(crate) fn look_again(&self, steps: &[Step]) -> LookAgain {
        let disinfectant = if self.problem.bromine { Q::TotalBromine } else { Q::FreeChlorine };
        let dosed = |role: Role| self.problem.used(self.choice).any(|(r, ..)| r == role);
        let mut quantities = vec![Q::Ph, disinfectant];
        if self.est.kind == PlanKind::StartUp {
            if dosed(Role::Salt) {
                quantities.push(Q::Salt);
            }
            quantities.extend([Q::TotalAlkalinity, Q::CalciumHardness]);
            return LookAgain {
                after_hours: 24.0,
                quantities,
                why: "A new fill: salt and hardness read true after a day of mixing; the pH climbs for 7 to 10 days as carbon dioxide leaves, \
                      then settles (common practice), and is trimmed by reading. Cloudiness clears within about a day."
                    .to_string(),
                then_hours: vec![72.0, 168.0, 240.0],
            };
        }
        let mut first = self.needs.test_first.clone();
        first.extend(&self.needs.unsure);
        if steps.iter().all(|s| s.kind == StepKind::Retest) && !first.is_empty() {
            return LookAgain {
                after_hours: 0.5,
                quantities: first,
                why: "The plan waits for this test.".to_string(),
                then_hours: vec![24.0],
            };
        }
        if !self.needs.act.is_empty() {
            for (role, q) in [
                (Role::Alkalinity, Q::TotalAlkalinity),
                (Role::Calcium, Q::CalciumHardness),
                (Role::Salt, Q::Salt),
            ] {
                if dosed(role) {
                    quantities.push(q);
                }
            }
            return LookAgain {
                after_hours: 24.0,
                quantities,
                why: "One day shows what the doses did and how fast chlorine goes; a pH that carbon dioxide holds down mends itself in about \
                      that time (common practice)."
                    .to_string(),
                then_hours: vec![72.0],
            };
        }
        LookAgain {
            after_hours: 72.0,
            quantities,
            why: "Nothing presses; disinfectant and pH are looked at twice a week.".to_string(),
            then_hours: vec![168.0],
        }
    }

    /// What the water itself tells, beside the readings.
    pub(crate) fn water_findings(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        let est = self.est;
        let mut find = |weight, quantities: &[Q], what: String, advice: &str| {
            findings.push(Finding {
                weight,
                quantities: quantities.to_vec(),
                what,
                advice: advice.to_string(),
            });
        };
        let cyanuric = est.value(Q::CyanuricAcid);
        if self.active_chlorine_is_held_back() {
            find(
                Weight::Safety,
                &[Q::FreeChlorine, Q::CyanuricAcid],
                format!(
                    "Free chlorine reads {:.1} mg/L, but with {cyanuric:.0} mg/L of cyanuric acid only {:.3} mg/L of it is active (hypochlorous) \
                     chlorine: it hardly disinfects.",
                    est.value(Q::FreeChlorine),
                    active_chlorine_mg_l(&est.water)
                ),
                "Keep out; more dichlor makes it worse, only fresh water helps. An itchy rash days after bathing usually clears alone, but with \
                 fever, spreading, pregnancy, weak immunity or more than a week ask a doctor: this plan does not judge health.",
            );
        }
        let parts = est.water.alkalinity_parts();
        let carbonate = water::units::mg_l_caco3_from_eq_kg(parts.carbonate);
        let other = est.value(Q::TotalAlkalinity) - carbonate;
        if other > 15.0 {
            find(
                Weight::Note,
                &[Q::TotalAlkalinity],
                format!(
                    "Of the titrated {:.0} mg/L only {carbonate:.0} mg/L is carbonate alkalinity; the rest is cyanurate, borate and chlorine.",
                    est.value(Q::TotalAlkalinity)
                ),
                "Saturation and pH follow the carbonate part; do not raise the alkalinity by the titration's figure alone.",
            );
        }
        let index = est.value(Q::SaturationIndex);
        let scaling = self.problem.scaling_threshold;
        if index > scaling && est.level(Q::SaturationIndex).is_some() {
            let advice = if self.case.tub.regime == Regime::SaltCell {
                "Scale forms on the cell's cathode first: with the breaker off, inspect the cell; descale only by its maker's method."
            } else {
                "Scale can form on the heater first."
            };
            find(
                Weight::Note,
                &[Q::SaturationIndex],
                format!(
                    "The saturation index is {index:+.2}, above {scaling:+.1}: calcium carbonate can form."
                ),
                advice,
            );
        }
        let alkalinity_high = self.needs.act.contains(&Q::TotalAlkalinity)
            && self.bands.iter().any(|(q, b)| *q == Q::TotalAlkalinity && est.value(*q) > b.high);
        if alkalinity_high {
            find(
                Weight::Note,
                &[Q::Ph, Q::TotalAlkalinity],
                format!(
                    "The alkalinity of {:.0} mg/L is what drives the pH up: carbon dioxide keeps leaving until the pH is far above its band. It is \
                     not the cell, which makes no net base.",
                    est.value(Q::TotalAlkalinity)
                ),
                "Between baths keep air valves closed and the waterfall off; acid alone against the pH would go on for ever.",
            );
        }
        findings
    }

    /// Considered and not done, beyond what the set-up already left out.
    pub(crate) fn not_done(&self, end: &Snapshot) -> Vec<NotDone> {
        let mut not_done = Vec::new();
        let doses_acid = self.problem.used(self.choice).any(|(r, ..)| r == Role::AcidBase);
        for q in self.needs.unsure.iter().filter(|q| **q != Q::Ph || !doses_acid) {
            let Some(level) = self.est.level(*q) else { continue };
            not_done.push(NotDone {
                what: format!("Dose for {}", q.name()),
                why: format!(
                    "{} is outside its band by less than its own error (± {:.*}): a test is worth more than a dose.",
                    with_unit(*q, level.value),
                    q.decimals(),
                    level.standard_error
                ),
            });
        }
        let metal = self.est.value(Q::Iron) > 0.1 || self.est.value(Q::Copper) > 0.1;
        if metal
            && self.est.kind == PlanKind::StartUp
            && !self.case.shelf.iter().any(|p| p.substance == Substance::Sequestrant)
        {
            not_done.push(NotDone {
                what: "Bind the metals of the source water".to_string(),
                why: "No sequestrant is on the shelf: fill through a fine pre-filter and add no oxidiser before it.".to_string(),
            });
        }
        let salt = self.problem.used(self.choice).any(|(r, ..)| r == Role::Salt);
        let display =
            self.est.findings.iter().any(|f| f.quantities.contains(&Q::Salt) && f.weight >= Weight::Doubt);
        if display && !salt {
            not_done.push(NotDone {
                what: "Add salt on a display's word".to_string(),
                why: format!(
                    "Independent readings put the salt at {:.0} mg/L; the disagreement points to the display, sensor or cell.",
                    value(end, Q::Salt)
                ),
            });
        }
        let aim_low = self.bands.iter().find(|(q, _)| *q == Q::Ph).map_or(7.2, |(_, b)| b.aim_low);
        if self.needs.act.contains(&Q::Ph)
            && self.est.value(Q::Ph) < aim_low
            && self.choice.stop.is_none()
            && carbon_dioxide_will_lift(self.est, aim_low, self.est.value(Q::TotalAlkalinity))
        {
            not_done.push(NotDone {
                what: "Lift the pH today".to_string(),
                why: "Wait 24 hours: carbon dioxide leaves and the pH rises by itself; then look at the alkalinity.".to_string(),
            });
        }
        not_done
    }

    /// Rules of the trade beside the computation.
    pub(crate) fn rules(&self) -> Vec<RuleBeside> {
        let mut rules = Vec::new();
        let disinfectant = if self.problem.bromine { Q::TotalBromine } else { Q::FreeChlorine };
        for said in also_said(disinfectant, self.case.tub.regime, self.case.tub.place) {
            let range = match (said.low, said.high) {
                (Some(low), Some(high)) => format!("{low} to {high} mg/L"),
                (Some(low), None) => format!("at least {low} mg/L"),
                (None, Some(high)) => format!("at most {high} mg/L"),
                (None, None) => continue,
            };
            rules.push(RuleBeside {
                rule: format!("{}: {range} of {} ({})", said.who, disinfectant.name(), said.source),
                difference: match self.bands.iter().find(|(q, _)| *q == disinfectant) {
                    Some((_, b)) => format!("this plan uses {} to {} mg/L ({})", b.low, b.high, b.source),
                    None => continue,
                },
            });
        }
        for (role, a_move, units) in self.problem.used(self.choice) {
            let Some(product) = self.case.shelf.get(a_move.product) else { continue };
            let dry_acid =
                role == Role::AcidBase && product.substance == Substance::Chemical(Chemical::SodiumBisulfate);
            if dry_acid
                && product.measure.kind == MeasureKind::Capful
                && self.est.kind == PlanKind::Correction
            {
                let middle = self
                    .problem
                    .goal(Q::Ph)
                    .and_then(|i| self.problem.goals[i].aim)
                    .map_or(7.4, |a| 0.5 * (a.0 + a.1));
                let steps = ((self.est.value(Q::Ph) - middle) / 0.2).max(0.0).round();
                let computed = f64::from(units) * a_move.unit_g / product.measure.grams_each;
                rules.push(RuleBeside {
                    rule: "about one capful of dry acid for each visible step that the comparator reads high (common practice)".to_string(),
                    difference: format!(
                        "the rule would give about {steps:.0} capfuls; {computed:.2} are computed for {:.0} L at this alkalinity",
                        self.problem.volume_l
                    ),
                });
            }
            if role == Role::Salt && self.est.kind == PlanKind::StartUp {
                let mass_kg = f64::from(units) * a_move.unit_g / 1000.0;
                rules.push(RuleBeside {
                    rule: "one and a half 2 kg pails of salt for a mid-size tub (common practice)".to_string(),
                    difference: format!(
                        "3.0 kg against the computed {mass_kg:.2} kg for {:.0} L, what the water already holds and what other chlorides bring counted",
                        self.problem.volume_l
                    ),
                });
            }
        }
        rules
    }

    /// Assumptions that every plan makes.
    pub(crate) fn assumptions(&self) -> Vec<String> {
        let mut all = self.est.assumptions.clone();
        all.push("One litre counts as one kilogram of water.".to_string());
        for (_, a_move, _) in self.problem.used(self.choice) {
            if let Some(product) = self.case.shelf.get(a_move.product) {
                all.extend(product.assumed.iter().map(|a| format!("{}: {a}", capital(&product.name))));
            }
        }
        if self.case.shelf.iter().any(|p| p.price_per_kg.is_none()) {
            all.push("Products without a price count nothing in the cost.".to_string());
        }
        all.push(
            "Between steps nothing else changes: no chlorine is used up and no carbon dioxide leaves except where a step says so.".to_string(),
        );
        let mut unique: Vec<String> = Vec::new();
        for a in all {
            if !unique.contains(&a) {
                unique.push(a);
            }
        }
        unique
    }
}

fn with_unit(q: Q, value: f64) -> String {
    let unit = if q.unit().is_empty() { String::new() } else { format!(" {}", q.unit()) };
    format!("{} {value:.*}{unit}", q.name(), q.decimals())
}
