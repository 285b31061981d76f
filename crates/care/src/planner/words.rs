//! The sentences around the steps: what to do first, when to look again, what else the water tells.

use super::problem::Role;
use super::report::{Report, active_chlorine_mg_l, and_names};
use crate::band::{Regime, also_said};
use crate::case::{Happening, MeasureKind, PlanKind, Substance};
use crate::estimate::capital;
use crate::finding::{Finding, Weight};
use crate::plan::{LookAgain, NotDone, RuleBeside, Step, StepKind};
use crate::quantity::Quantity as Q;
use water::conductivity::specific_conductance_25c_us_cm;
use water::{Celsius, Chemical, Equilibria};

impl Report<'_> {
    /// The one sentence that says what to do.
    pub(crate) fn headline(&self, steps: &[Step]) -> String {
        let mut deeds: Vec<String> = Vec::new();
        let mut last_product: Option<&str> = None;
        for step in steps {
            match (step.kind, step.product.as_deref(), step.share) {
                (StepKind::Add, Some(name), _) if last_product == Some(name) => {}
                (StepKind::Add, Some(name), _) => {
                    let verb = if last_product.is_none() { "add " } else { "" };
                    deeds.push(format!("{verb}{name}"));
                    last_product = Some(name);
                }
                (StepKind::ReplaceWater, _, Some(share)) if share >= 1.0 => {
                    deeds.push("drain and refill".to_string());
                }
                (StepKind::ReplaceWater, _, Some(share)) => {
                    deeds.push(format!("replace {:.0} % of the water", 100.0 * share));
                }
                _ => {}
            }
        }
        let airings = steps.iter().filter(|s| s.kind == StepKind::LeaveOpen).count();
        let test = self.to_test(deeds.is_empty() && airings == 0);
        let test_first = format!("test {} again", and_names(&test));
        if deeds.is_empty() {
            return match (airings, test.is_empty()) {
                (0, false) => format!("Do nothing yet: {test_first} first."),
                (0, true) => self.headline_without_deeds(),
                _ => "Add nothing: leave the cover open with the air on and let the pH rise by itself."
                    .to_string(),
            };
        }
        if !test.is_empty() {
            deeds.insert(0, test_first);
        }
        let order = if deeds.len() > 1 { ", in this order" } else { "" };
        let air = match airings {
            0 => "",
            1 => ", with the cover open and the air on where it says so",
            _ => ", in rounds with the cover open and the air on between them",
        };
        let start = if self.est.kind == PlanKind::StartUp { "new fill: " } else { "" };
        capital(&format!("{start}{}{order}{air}.", deeds.join(", then ")))
    }

    /// Nothing to add and nothing to test: all well, it mends itself, or it cannot be mended from this shelf.
    fn headline_without_deeds(&self) -> String {
        if self.needs.act.is_empty() {
            return "Do nothing: everything that was read is inside its band, within its error.".to_string();
        }
        let mends_itself = |q: Q| {
            let band = self.bands.iter().find(|(b, _)| *b == q).map(|(_, b)| b);
            match q {
                Q::Ph => band.is_some_and(|b| self.est.value(q) < b.low) && self.ph_mends_itself(),
                Q::FreeChlorine | Q::TotalBromine => band.is_some_and(|b| self.est.value(q) > b.high),
                _ => false,
            }
        };
        let (by_itself, not): (Vec<Q>, Vec<Q>) = self.needs.act.iter().partition(|q| mends_itself(**q));
        let mut parts = Vec::new();
        if !by_itself.is_empty() {
            parts.push(format!("{} should come back without a dose", and_names(&by_itself)));
        }
        if not.contains(&Q::Temperature) {
            parts.push("set the heater".to_string());
        }
        let not: Vec<Q> = not.into_iter().filter(|q| *q != Q::Temperature).collect();
        if !not.is_empty() {
            parts.push(format!("nothing here corrects {}, see below why", and_names(&not)));
        }
        format!("Add nothing: {}; look again as said below.", parts.join("; "))
    }

    fn ph_aim_low(&self) -> f64 {
        self.bands.iter().find(|(q, _)| *q == Q::Ph).map_or(7.2, |(_, b)| b.aim_low)
    }

    fn disinfectant_low(&self) -> f64 {
        let disinfectant = if self.problem.bromine { Q::TotalBromine } else { Q::FreeChlorine };
        self.bands.iter().find(|(q, _)| *q == disinfectant).map_or(0.0, |(_, b)| b.low)
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
            let cell = match self.case.tub.regime {
                Regime::SaltCell => " The cell stays off until the salt reads inside its window.",
                Regime::HandDosedChlorine | Regime::Bromine => "",
            };
            let mixed = if dosed(Role::Salt) { "salt and hardness read" } else { "hardness reads" };
            return LookAgain {
                after_hours: 24.0,
                quantities,
                why: format!(
                    "A new fill: {mixed} true after a day of mixing; the pH climbs for 7 to 10 days as carbon dioxide leaves, \
                     then settles (common practice), and is trimmed by reading. Cloudiness clears within about a day.{cell}"
                ),
                then_hours: vec![72.0, 168.0, 240.0],
            };
        }
        let first = self.to_test(true);
        if steps.iter().all(|s| matches!(s.kind, StepKind::Retest | StepKind::KeepOut)) && !first.is_empty() {
            return LookAgain {
                after_hours: 0.5,
                quantities: first,
                why: "The plan waits for this test.".to_string(),
                then_hours: vec![24.0],
            };
        }
        if !self.needs.act.is_empty() {
            let acted = |q: Q| self.needs.act.contains(&q);
            for (changed, q) in [
                (dosed(Role::Alkalinity) || acted(Q::TotalAlkalinity), Q::TotalAlkalinity),
                (dosed(Role::Calcium), Q::CalciumHardness),
                (dosed(Role::Salt), Q::Salt),
            ] {
                if changed {
                    quantities.push(q);
                }
            }
            let mut why = if self.problem.used(self.choice).next().is_some() {
                "One day shows what the doses did and how fast the disinfectant goes".to_string()
            } else {
                "One day shows which way it goes".to_string()
            };
            if acted(Q::Ph) && self.ph_mends_itself() && self.est.value(Q::Ph) < self.ph_aim_low() {
                why +=
                    "; a pH that carbon dioxide holds down mends itself in about that time (common practice)";
            } else if dosed(Role::AcidBase) {
                why += "; after acid the pH climbs again as carbon dioxide leaves";
            }
            // Disinfectant that was low is followed every day until it holds (common practice).
            let daily = acted(disinfectant) && self.est.value(disinfectant) < self.disinfectant_low();
            if daily {
                why += &format!("; {} that was low is read every day until it holds", disinfectant.name());
            }
            return LookAgain {
                after_hours: 24.0,
                quantities,
                why: why + ".",
                then_hours: if daily { vec![48.0, 72.0] } else { vec![72.0] },
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
            let seen = |eq_kg: f64| water::units::mg_l_caco3_from_eq_kg(eq_kg) > 1.0;
            let rest: Vec<&str> =
                [("cyanurate", parts.cyanurate), ("borate", parts.borate), ("chlorine", parts.hypohalite)]
                    .into_iter()
                    .filter(|(_, eq_kg)| seen(*eq_kg))
                    .map(|(name, _)| name)
                    .collect();
            find(
                Weight::Note,
                &[Q::TotalAlkalinity],
                format!(
                    "Of the titrated {:.0} mg/L only {carbonate:.0} mg/L is carbonate alkalinity; the rest is {}.",
                    est.value(Q::TotalAlkalinity),
                    rest.join(" and ")
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
                "Between baths keep air valves closed and the waterfall off. Acid against the pH alone would go on for ever; if the pH still climbs at \
                 the new alkalinity, go a little lower.",
            );
        }
        findings
    }

    /// Considered and not done, beyond what the set-up already left out.
    pub(crate) fn not_done(&self) -> Vec<NotDone> {
        let mut not_done = Vec::new();
        let doses_acid = self.problem.used(self.choice).any(|(r, ..)| r == Role::AcidBase);
        let unsure = self.needs.unsure.iter().filter(|q| **q != Q::SaturationIndex);
        for q in unsure.filter(|q| **q != Q::Ph || !doses_acid) {
            let Some(level) = self.est.level(*q) else { continue };
            not_done.push(NotDone {
                what: format!("Dose for {}", q.name()),
                why: format!(
                    "{} is outside its band by less than its own error (± {:.*}): a test is worth more than a dose.",
                    capital(&with_unit(*q, level.value)),
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
                why: "No sequestrant is on the shelf: fill through a fine pre-filter and, better, get a sequestrant before the first oxidiser, which turns \
                      metals into stains.".to_string(),
            });
        }
        let salt = self.problem.used(self.choice).any(|(r, ..)| r == Role::Salt);
        let has_display = self.case.entries.iter().any(
            |e| matches!(&e.what, Happening::Reading(r) if r.quantity == Q::Salt && r.method == "display"),
        );
        let doubted =
            self.est.findings.iter().any(|f| f.quantities.contains(&Q::Salt) && f.weight >= Weight::Doubt);
        if has_display && doubted && !salt {
            let fits = self
                .conductivity_that_fits()
                .map_or(String::new(), |ms_cm| format!(", and a conductivity of {ms_cm:.1} mS/cm fits it"));
            not_done.push(NotDone {
                what: "Add salt on a display's word".to_string(),
                why: format!(
                    "Readings that do not hang on the cell put the salt at {:.0} mg/L{fits}; the disagreement points to the display, sensor or \
                     cell.",
                    self.est.value(Q::Salt)
                ),
            });
        }
        let high = |q: Q| {
            let band = self.bands.iter().find(|(b, _)| *b == q).map(|(_, b)| b);
            band.filter(|b| self.needs.act.contains(&q) && self.est.value(q) > b.high)
        };
        let source_alkalinity = self.case.source_water.as_ref().and_then(|s| s.total_alkalinity_mg_l_caco3);
        if let (Some(band), Some(source)) = (high(Q::TotalAlkalinity), source_alkalinity)
            && source > band.high
        {
            not_done.push(NotDone {
                what: "Replace water to lower the alkalinity".to_string(),
                why: format!(
                    "The source water itself has {source:.0} mg/L: it would bring the trouble back."
                ),
            });
        }
        if high(Q::CombinedChlorine).is_some() {
            not_done.push(NotDone {
                what: "Burn the combined chlorine off with a large dose of chlorine".to_string(),
                why: "It takes several times its amount, keeps the tub closed meanwhile, and the organic part stays; fresh water takes it away."
                    .to_string(),
            });
        }
        if self.needs.act.contains(&Q::Ph)
            && self.est.value(Q::Ph) < self.ph_aim_low()
            && self.choice.stop.is_none()
            && self.ph_mends_itself()
        {
            not_done.push(NotDone {
                what: "Lift the pH today".to_string(),
                why: "Wait 24 hours: carbon dioxide leaves and the pH rises by itself; then look at the alkalinity.".to_string(),
            });
        }
        not_done
    }

    /// The conductivity that was read, if the water as estimated would show it within a tenth and a half.
    fn conductivity_that_fits(&self) -> Option<f64> {
        let read = self.est.level(Q::Conductivity)?.value;
        let at_25 = Equilibria::at(Celsius(25.0)).and_then(|at| at.solve(&self.est.water.totals)).ok()?;
        let expected = specific_conductance_25c_us_cm(&at_25) / 1000.0;
        ((read - expected).abs() <= 0.15 * expected).then_some(read)
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
