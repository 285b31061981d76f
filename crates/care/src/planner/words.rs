//! The sentences around the steps: what to do first, when to look again, what else the water tells.

use super::problem::Role;
use super::report::{Report, active_chlorine_mg_l, and_names};
use super::setup::fill_denies_hardness;
use crate::amount::{LITRES_PER_GALLON, Units};
use crate::band::{Regime, also_said};
use crate::case::{Happening, MeasureKind, PlanKind, Substance};
use crate::finding::{Finding, Weight};
use crate::plan::{LookAgain, NotDone, RuleBeside, Step, StepKind};
use crate::quantity::Quantity as Q;
use crate::text::{Text, figures, say};
use water::conductivity::specific_conductance_25c_us_cm;
use water::units::molar_mass;
use water::{Celsius, Chemical, Equilibria};

/// Salt that the trade gives a mid-size tub, g (common practice).
const USUAL_SALT_G: f64 = 3000.0;

impl Report<'_> {
    /// The one sentence that says what to do.
    pub(crate) fn headline(&self, steps: &[Step]) -> Text {
        let mut deeds: Vec<Text> = Vec::new();
        let mut last_product: Option<&str> = None;
        for step in steps {
            match (step.kind, step.product.as_deref(), step.share) {
                (StepKind::Add, Some(name), _) if last_product == Some(name) => {}
                (StepKind::Add, Some(name), _) => {
                    let product = Text::name(name);
                    deeds.push(match last_product {
                        None => say!("care-add", "add {product}", product = product),
                        Some(_) => product,
                    });
                    last_product = Some(name);
                }
                (StepKind::ReplaceWater, _, Some(share)) if share >= 1.0 => {
                    deeds.push(say!("care-drain-and-refill", "drain and refill"));
                }
                (StepKind::ReplaceWater, _, Some(share)) => {
                    deeds.push(say!(
                        "care-replace-part",
                        "replace {percent} % of the water",
                        percent = figures!("{:.0}", 100.0 * share)
                    ));
                }
                _ => {}
            }
        }
        let airings = steps.iter().filter(|s| s.kind == StepKind::LeaveOpen).count();
        let test = self.to_test(deeds.is_empty() && airings == 0);
        let tests = self.tests(&test, " and ");
        let test_first = if test.iter().any(|q| self.est.over_scale(*q).is_some()) {
            say!("care-test", "test {what}", what = tests)
        } else {
            say!("care-test-again", "test {what} again", what = tests)
        };
        if deeds.is_empty() {
            return match (airings, test.is_empty()) {
                (0, false) => {
                    say!("care-nothing-yet", "Do nothing yet: {test} first.", test = test_first)
                }
                (0, true) => self.headline_without_deeds(),
                _ => say!(
                    "care-only-air",
                    "Add nothing: leave the cover open with the air on and let the pH rise by itself."
                ),
            };
        }
        let replaces = steps.iter().find(|s| s.kind == StepKind::ReplaceWater);
        if replaces.is_some() && self.tests_decide_on_water() {
            let what = self.tests(&test, " and ");
            let deed = std::mem::take(&mut deeds[0]);
            deeds[0] = if test.len() > 1 {
                say!(
                    "care-tests-decide",
                    "test {what} first; they decide whether to {deed}",
                    what = what,
                    deed = deed
                )
            } else {
                say!(
                    "care-test-decides",
                    "test {what} first; it decides whether to {deed}",
                    what = what,
                    deed = deed
                )
            };
        } else if !test.is_empty() && replaces.is_none_or(|s| s.share.is_none_or(|share| share < 1.0)) {
            // Of water that is drained anyway nothing is tested.
            deeds.insert(0, test_first);
        }
        let in_order = deeds.len() > 1;
        let mut said = Text::joined(deeds, ", then ");
        if in_order {
            said = say!("care-in-this-order", "{deeds}, in this order", deeds = said);
        }
        said = match airings {
            0 => said,
            1 => say!(
                "care-with-air",
                "{deeds}, with the cover open and the air on where it says so",
                deeds = said
            ),
            _ => say!(
                "care-in-rounds",
                "{deeds}, in rounds with the cover open and the air on between them",
                deeds = said
            ),
        };
        let sentence = if self.est.kind == PlanKind::StartUp {
            say!("care-headline-new-fill", "new fill: {deeds}.", deeds = said)
        } else {
            say!("care-headline", "{deeds}.", deeds = said)
        };
        sentence.capital()
    }

    /// Nothing to add and nothing to test: all well, it mends itself, or it cannot be mended from this shelf.
    fn headline_without_deeds(&self) -> Text {
        if self.needs.act.is_empty() {
            return say!(
                "care-all-inside",
                "Do nothing: everything that was read is inside its band, within its error."
            );
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
        let mut parts: Vec<Text> = Vec::new();
        if !by_itself.is_empty() {
            parts.push(say!(
                "care-comes-back",
                "{quantities} should come back without a dose",
                quantities = and_names(&by_itself)
            ));
        }
        if not.contains(&Q::Temperature) {
            parts.push(say!("care-set-the-heater", "set the heater"));
        }
        let now = self.now();
        let (coarse, not): (Vec<Q>, Vec<Q>) = not
            .into_iter()
            .filter(|q| *q != Q::Temperature)
            .partition(|q| self.too_coarse(*q, &now).is_some());
        for c in coarse.iter().filter_map(|q| self.too_coarse(*q, &now)) {
            parts.push(say!(
                "care-too-coarse",
                "the measure of {product} is too coarse here, weigh {mass}",
                product = Text::name(c.product.name.clone()),
                mass = Text::figures(self.case.units.mass(c.needed_g))
            ));
        }
        if !not.is_empty() {
            parts.push(say!(
                "care-nothing-corrects",
                "nothing here corrects {quantities}, see below why",
                quantities = and_names(&not)
            ));
        }
        say!(
            "care-add-nothing",
            "Add nothing: {parts}; look again as said below.",
            parts = Text::joined(parts, "; ")
        )
    }

    /// Whether what is tested first may show that no water need be replaced: all that asks for fresh water hangs on it.
    /// Combined chlorine is the difference to free chlorine, and alkalinity has acid instead once the pH is known.
    pub(crate) fn tests_decide_on_water(&self) -> bool {
        let tested = self.to_test(false);
        let hangs_on_a_test = |q: Q| match q {
            Q::CombinedChlorine => tested.contains(&Q::FreeChlorine),
            Q::TotalAlkalinity => tested.contains(&Q::Ph),
            _ => false,
        };
        let mut asking = self.asking_for_water().peekable();
        asking.peek().is_some() && asking.all(hangs_on_a_test)
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
            let mixed = if dosed(Role::Salt) {
                say!("care-salt-and-hardness-read", "salt and hardness read")
            } else {
                say!("care-hardness-reads", "hardness reads")
            };
            let mut why = vec![say!(
                "care-look-new-fill",
                "A new fill: {mixed} true after a day of mixing; the pH climbs for 7 to 10 days as carbon dioxide leaves, \
                 then settles (common practice), and is trimmed by reading. Cloudiness clears within about a day.",
                mixed = mixed
            )];
            if self.case.tub.regime == Regime::SaltCell {
                why.push(say!(
                    "care-look-cell-off",
                    "The cell stays off until the salt reads inside its window."
                ));
            }
            return LookAgain {
                after_hours: 24.0,
                quantities,
                why: Text::joined(why, " "),
                then_hours: vec![72.0, 168.0, 240.0],
            };
        }
        let first = self.to_test(true);
        if steps.iter().all(|s| matches!(s.kind, StepKind::Retest | StepKind::KeepOut)) && !first.is_empty() {
            if let ([Q::CombinedChlorine], Some(hours)) = (&first[..], self.est.combined_blurred_for_h) {
                quantities.extend(first);
                return LookAgain {
                    after_hours: hours.ceil(),
                    quantities,
                    why: say!(
                        "care-look-blurred",
                        "By then next to no monopersulfate is left that reads as combined chlorine."
                    ),
                    then_hours: vec![hours.ceil() + 48.0],
                };
            }
            return LookAgain {
                after_hours: 0.5,
                quantities: first,
                why: say!("care-look-waits", "The plan waits for this test."),
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
            let mut why = vec![if self.problem.used(self.choice).next().is_some() {
                say!("care-look-doses", "One day shows what the doses did and how fast the disinfectant goes")
            } else {
                say!("care-look-way", "One day shows which way it goes")
            }];
            if acted(Q::Ph) && self.ph_mends_itself() && self.est.value(Q::Ph) < self.ph_aim_low() {
                why.push(say!(
                    "care-look-ph-mends",
                    "a pH that carbon dioxide holds down mends itself in about that time (common practice)"
                ));
            } else if dosed(Role::AcidBase) {
                why.push(say!(
                    "care-look-after-acid",
                    "after acid the pH climbs again as carbon dioxide leaves"
                ));
            }
            // Disinfectant that was low is followed every day until it holds (common practice).
            let daily = acted(disinfectant) && self.est.value(disinfectant) < self.disinfectant_low();
            if daily {
                why.push(say!(
                    "care-look-daily",
                    "{quantity} that was low is read every day until it holds",
                    quantity = disinfectant.said()
                ));
            }
            return LookAgain {
                after_hours: 24.0,
                quantities,
                why: say!("care-look", "{reasons}.", reasons = Text::joined(why, "; ")),
                then_hours: if daily { vec![48.0, 72.0] } else { vec![72.0] },
            };
        }
        LookAgain {
            after_hours: 72.0,
            quantities,
            why: say!(
                "care-look-nothing-presses",
                "Nothing presses; disinfectant and pH are looked at twice a week."
            ),
            then_hours: vec![168.0],
        }
    }

    /// What the water itself tells, beside the readings.
    pub(crate) fn water_findings(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        let est = self.est;
        let mut find = |weight, quantities: &[Q], what: Text, advice: Text| {
            findings.push(Finding { weight, quantities: quantities.to_vec(), what, advice });
        };
        let cyanuric = est.value(Q::CyanuricAcid);
        if self.active_chlorine_is_held_back() {
            find(
                Weight::Safety,
                &[Q::FreeChlorine, Q::CyanuricAcid],
                match est.over_scale(Q::CyanuricAcid) {
                    Some(least) => say!(
                        "care-held-back-over",
                        "Free chlorine reads {chlorine} mg/L, but with more than {cyanuric} mg/L of cyanuric acid next to none of it is active \
                         (hypochlorous) chlorine: it hardly disinfects.",
                        chlorine = figures!("{:.1}", est.value(Q::FreeChlorine)),
                        cyanuric = figures!("{least:.0}")
                    ),
                    None => say!(
                        "care-held-back",
                        "Free chlorine reads {chlorine} mg/L, but with {cyanuric} mg/L of cyanuric acid only {active} mg/L of it is active (hypochlorous) \
                         chlorine: it hardly disinfects.",
                        chlorine = figures!("{:.1}", est.value(Q::FreeChlorine)),
                        cyanuric = figures!("{cyanuric:.0}"),
                        active = figures!("{:.3}", active_chlorine_mg_l(&est.water))
                    ),
                },
                say!(
                    "care-held-back-advice",
                    "Keep out; more dichlor makes it worse, only fresh water helps. An itchy rash days after bathing usually clears alone, but with \
                 fever, spreading, pregnancy, weak immunity or more than a week ask a doctor: this plan does not judge health."
                ),
            );
        }
        let parts = est.water.alkalinity_parts();
        let carbonate = water::units::mg_l_caco3_from_eq_kg(parts.carbonate);
        let other = est.value(Q::TotalAlkalinity) - carbonate;
        if other > 15.0 {
            let seen = |eq_kg: f64| water::units::mg_l_caco3_from_eq_kg(eq_kg) > 1.0;
            let rest: Vec<Text> = [
                (say!("care-cyanurate", "cyanurate"), parts.cyanurate),
                (say!("care-borate", "borate"), parts.borate),
                (say!("care-chlorine", "chlorine"), parts.hypohalite),
            ]
            .into_iter()
            .filter(|(_, eq_kg)| seen(*eq_kg))
            .map(|(name, _)| name)
            .collect();
            find(
                Weight::Note,
                &[Q::TotalAlkalinity],
                say!(
                    "care-carbonate-part",
                    "Of the titrated {all} mg/L only {carbonate} mg/L is carbonate alkalinity; the rest is {rest}.",
                    all = figures!("{:.0}", est.value(Q::TotalAlkalinity)),
                    carbonate = figures!("{carbonate:.0}"),
                    rest = Text::joined(rest, " and ")
                ),
                say!(
                    "care-carbonate-part-advice",
                    "Saturation and pH follow the carbonate part; do not raise the alkalinity by the titration's figure alone."
                ),
            );
        }
        let band = self.bands.iter().find(|(q, _)| *q == Q::CalciumHardness).map(|(_, band)| band);
        if let Some(fill) = band.and_then(|band| fill_denies_hardness(est, band)).filter(|f| f.readings < 2) {
            let figure = |value| Text::figures(self.case.units.figure(Q::CalciumHardness, value));
            find(
                Weight::Doubt,
                &[Q::CalciumHardness],
                say!(
                    "care-hardness-of-fill",
                    "Calcium hardness reads {read}, but the fill of {date} and the doses since come to {analysis} by the source water's \
                     analysis: one of the two is wrong.",
                    read = figure(est.value(Q::CalciumHardness)),
                    date = Text::name(fill.filled.to_the_minute()),
                    analysis = figure(fill.by_analysis)
                ),
                say!(
                    "care-hardness-of-fill-advice",
                    "Test calcium hardness a second time, and that of the tap water, before any water is replaced for it."
                ),
            );
        }
        let index = est.value(Q::SaturationIndex);
        let scaling = self.problem.scaling_threshold;
        if index > scaling && est.level(Q::SaturationIndex).is_some() {
            let advice = if self.case.tub.regime == Regime::SaltCell {
                say!(
                    "care-scale-on-cell",
                    "Scale forms on the cell's cathode first: with the breaker off, inspect the cell; descale only by its maker's method."
                )
            } else {
                say!("care-scale-on-heater", "Scale can form on the heater first.")
            };
            find(
                Weight::Note,
                &[Q::SaturationIndex],
                say!(
                    "care-index-high",
                    "The saturation index is {index}, above {high}: calcium carbonate can form.",
                    index = figures!("{index:+.2}"),
                    high = figures!("{scaling:+.1}")
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
                say!(
                    "care-alkalinity-drives",
                    "The alkalinity of {alkalinity} mg/L is what drives the pH up: carbon dioxide keeps leaving until the pH is far above its band. It is \
                     not the cell, which makes no net base.",
                    alkalinity = figures!("{:.0}", est.value(Q::TotalAlkalinity))
                ),
                say!(
                    "care-alkalinity-drives-advice",
                    "Between baths keep air valves closed and the waterfall off. Acid against the pH alone would go on for ever; if the pH still climbs at \
                 the new alkalinity, go a little lower."
                ),
            );
        }
        findings
    }

    /// Considered and not done, beyond what the set-up already left out.
    pub(crate) fn not_done(&self) -> Vec<NotDone> {
        let units = self.case.units;
        let mut not_done = Vec::new();
        let doses_acid = self.problem.used(self.choice).any(|(r, ..)| r == Role::AcidBase);
        let unsure = self.needs.unsure.iter().filter(|q| **q != Q::SaturationIndex);
        for q in unsure.filter(|q| **q != Q::Ph || !doses_acid) {
            let Some(level) = self.est.level(*q) else { continue };
            not_done.push(NotDone {
                what: say!("care-dose-for", "Dose for {quantity}", quantity = q.said()),
                why: say!(
                    "care-dose-for-unsure",
                    "{quantity} {value} is outside its band by less than its own error (± {error}): a test is worth more than a dose.",
                    quantity = q.said().capital(),
                    value = Text::figures(units.figure(*q, level.value)),
                    error = Text::figures(units.error(*q, level.standard_error))
                ),
            });
        }
        let metal = self.est.value(Q::Iron) > 0.1 || self.est.value(Q::Copper) > 0.1;
        if metal
            && self.est.kind == PlanKind::StartUp
            && !self.case.shelf.iter().any(|p| p.substance == Substance::Sequestrant)
        {
            not_done.push(NotDone {
                what: say!("care-bind-metals", "Bind the metals of the source water"),
                why: say!("care-no-sequestrant", "No sequestrant is on the shelf: fill through a fine pre-filter and, better, get a sequestrant before the first oxidiser, which turns \
                      metals into stains."),
            });
        }
        let salt = self.problem.used(self.choice).any(|(r, ..)| r == Role::Salt);
        let has_display = self.case.entries.iter().any(
            |e| matches!(&e.what, Happening::Reading(r) if r.quantity == Q::Salt && r.method == "display"),
        );
        let doubted =
            self.est.findings.iter().any(|f| f.quantities.contains(&Q::Salt) && f.weight >= Weight::Doubt);
        if has_display && doubted && !salt {
            let salt = figures!("{:.0}", self.est.value(Q::Salt));
            not_done.push(NotDone {
                what: say!("care-salt-by-display", "Add salt on a display's word"),
                why: match self.conductivity_that_fits() {
                    Some(ms_cm) => say!(
                        "care-salt-by-display-fits",
                        "Readings that do not hang on the cell put the salt at {salt} mg/L, and a conductivity of {conductivity} mS/cm fits it; the \
                         disagreement points to the display, sensor or cell.",
                        salt = salt,
                        conductivity = figures!("{ms_cm:.1}")
                    ),
                    None => say!(
                        "care-salt-by-display-why",
                        "Readings that do not hang on the cell put the salt at {salt} mg/L; the disagreement points to the display, sensor or cell.",
                        salt = salt
                    ),
                },
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
                what: say!("care-water-for-alkalinity", "Replace water to lower the alkalinity"),
                why: say!(
                    "care-water-for-alkalinity-why",
                    "The source water itself has {source} mg/L: it would bring the trouble back.",
                    source = figures!("{source:.0}")
                ),
            });
        }
        if high(Q::CombinedChlorine).is_some() {
            not_done.push(NotDone {
                what: say!("care-burn-off", "Burn the combined chlorine off with a large dose of chlorine"),
                why: say!("care-burn-off-why", "It takes several times its amount, keeps the tub closed meanwhile, and the organic part stays; fresh water takes it away."),
            });
        }
        if self.needs.act.contains(&Q::Ph)
            && self.est.value(Q::Ph) < self.ph_aim_low()
            && self.choice.stop.is_none()
            && self.ph_mends_itself()
        {
            not_done.push(NotDone {
                what: say!("care-lift-ph", "Lift the pH today"),
                why: say!("care-lift-ph-why", "Wait 24 hours: carbon dioxide leaves and the pH rises by itself; then look at the alkalinity."),
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
        let units = self.case.units;
        let mut rules = Vec::new();
        let disinfectant = if self.problem.bromine { Q::TotalBromine } else { Q::FreeChlorine };
        for said in also_said(disinfectant, self.case.tub.regime, self.case.tub.place) {
            let range = match (said.low, said.high) {
                (Some(low), Some(high)) => say!(
                    "care-range-both",
                    "{low} to {high} mg/L",
                    low = figures!("{low}"),
                    high = figures!("{high}")
                ),
                (Some(low), None) => say!("care-range-least", "at least {low} mg/L", low = figures!("{low}")),
                (None, Some(high)) => {
                    say!("care-range-most", "at most {high} mg/L", high = figures!("{high}"))
                }
                (None, None) => continue,
            };
            let Some((_, band)) = self.bands.iter().find(|(q, _)| *q == disinfectant) else { continue };
            rules.push(RuleBeside {
                rule: say!(
                    "care-rule-said",
                    "{who}: {range} of {quantity} ({source})",
                    who = said.whom(units),
                    range = range,
                    quantity = disinfectant.said(),
                    source = said.source
                ),
                difference: say!(
                    "care-rule-this-plan",
                    "this plan uses {low} to {high} mg/L ({source})",
                    low = figures!("{}", band.low),
                    high = figures!("{}", band.high),
                    source = band.source.clone()
                ),
            });
        }
        for (role, a_move, count) in self.problem.used(self.choice) {
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
                let computed = f64::from(count) * a_move.unit_g / product.measure.grams_each;
                rules.push(RuleBeside {
                    rule: say!("care-rule-acid", "about one capful of dry acid for each visible step that the comparator reads high (common practice)"),
                    difference: say!(
                        "care-rule-acid-beside",
                        "the rule would give about {steps} capfuls; {computed} are computed for {volume} at this alkalinity",
                        steps = figures!("{steps:.0}"),
                        computed = figures!("{computed:.2}"),
                        volume = Text::figures(units.volume(self.problem.volume_l))
                    ),
                });
            }
            if role == Role::Salt && self.est.kind == PlanKind::StartUp {
                rules.push(RuleBeside {
                    rule: say!(
                        "care-rule-salt",
                        "{mass} of salt, one and a half pails, for a mid-size tub (common practice)",
                        mass = Text::figures(units.mass(USUAL_SALT_G))
                    ),
                    difference: say!(
                        "care-rule-salt-beside",
                        "{mass} are computed for {volume}, what the water already holds and what other chlorides bring counted",
                        mass = Text::figures(units.mass(f64::from(count) * a_move.unit_g)),
                        volume = Text::figures(units.volume(self.problem.volume_l))
                    ),
                });
            }
        }
        rules
    }

    /// Assumptions that every plan makes.
    pub(crate) fn assumptions(&self) -> Vec<Text> {
        let mut all = self.est.assumptions.clone();
        all.push(match self.case.units {
            Units::Metric => say!("care-assume-litre", "One litre counts as one kilogram of water."),
            Units::Us => {
                let gallon_g = 1000.0 * LITRES_PER_GALLON;
                say!(
                    "care-assume-gallon",
                    "A US gallon counts as {mass} of water.",
                    mass = Text::figures(Units::Us.mass(gallon_g))
                )
            }
        });
        for (_, a_move, _) in self.problem.used(self.choice) {
            if let Some(product) = self.case.shelf.get(a_move.product) {
                if product.substance == Substance::Chemical(Chemical::SodiumThiosulfate) {
                    all.push(say!(
                        "care-assume-thiosulfate",
                        "{product}: each gram is counted to take {chlorine} g of chlorine, the usual yield; it may take from half to four times that (from memory).",
                        product = Text::name(product.name.clone()).capital(),
                        chlorine = figures!("{:.2}", product.active_mol_per_g * molar_mass::CL2)
                    ));
                }
                all.extend(product.assumed.iter().map(|a| {
                    say!(
                        "care-assume-of",
                        "{product}: {what}",
                        product = Text::name(product.name.clone()).capital(),
                        what = a.said(self.case.units)
                    )
                }));
            }
        }
        if self.case.shelf.iter().any(|p| p.price_per_kg.is_none()) {
            all.push(say!("care-assume-price", "Products without a price count nothing in the cost."));
        }
        all.push(say!(
            "care-assume-between",
            "Between steps nothing else changes: no chlorine is used up and no carbon dioxide leaves except where a step says so."
        ));
        let mut unique: Vec<Text> = Vec::new();
        for a in all {
            if !unique.contains(&a) {
                unique.push(a);
            }
        }
        unique
    }
}
