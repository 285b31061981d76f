//! From a found decision to a plan that a person can follow.

use super::caution;
use super::coarse::{Coarse, raised_by};
use super::evaluate::Dosed;
use super::goal::Goal;
use super::measure::measure_text;
use super::path::{Deed, What};
use super::problem::{Choice, Problem, Role, Start};
use super::setup::{LOWERED_BY_WATER, Needs, carbon_dioxide_will_lift, closed, role_of};
use crate::band::{Band, BathingLimits, Place, Regime, default_band};
use crate::case::{Bands, Case, PlanKind, Product, Substance};
use crate::chem::linear;
use crate::estimate::{Estimated, Level};
use crate::plan::{Cover, Estimate, Miss, Risk, Snapshot, Step, StepKind};
use crate::quantity::Quantity as Q;
use crate::text::{Text, figures, say};
use water::units::hardness_mg_l_caco3_from_mol_kg;
use water::{Chemical, Speciation};

/// A new fill is dosed from this temperature up, °C (common practice).
const START_UP_TEMPERATURE_C: f64 = 30.0;
/// Tap water whose temperature nobody told, °C (judgement).
const TAP_C: f64 = 12.0;
/// What a tub's heater has, kW (common practice).
const HEATER_WEAK_KW: f64 = 2.0;
const HEATER_STRONG_KW: f64 = 3.0;
/// Heat of a litre of water, kWh/K: 4.18 kJ.
const HEAT_KWH_L_K: f64 = 0.001161;
/// z of the 5 % and 95 % points.
const Z_90: f64 = 1.645;

/// What the whole report is written from.
pub(crate) struct Report<'a> {
    pub(crate) case: &'a Case,
    pub(crate) est: &'a Estimated,
    pub(crate) bands: &'a Bands,
    pub(crate) limits: &'a BathingLimits,
    pub(crate) problem: &'a Problem,
    /// The goals by the tub's own bands; the problem's may be narrower.
    pub(crate) judged: &'a [Goal],
    pub(crate) needs: &'a Needs,
    pub(crate) choice: &'a Choice,
}

impl Report<'_> {
    /// The water as it stands now.
    pub(crate) fn now(&self) -> Snapshot {
        let mut quantities: Vec<Estimate> = self
            .est
            .levels
            .iter()
            .map(|l| interval(l.quantity, l.value, l.standard_error, self.is_known(l)))
            .collect();
        quantities.sort_by_key(|e| e.quantity);
        Snapshot { water: self.est.water, totals: self.est.water.totals, quantities }
    }

    /// The water after a step, with intervals.
    pub(crate) fn snapshot(&self, deed: &Deed) -> Snapshot {
        let start = &self.problem.starts[self.choice.start];
        let mut quantities = Vec::new();
        for level in &self.est.levels {
            let q = level.quantity;
            let (value, error) = match q {
                Q::Ph => (deed.water.ph().0, self.ph_error(start, deed)),
                Q::SaturationIndex => (self.problem.index_of(&deed.water), level.standard_error),
                Q::Iron | Q::Copper | Q::Turbidity | Q::CombinedChlorine => {
                    ((1.0 - start.share) * level.value, (1.0 - start.share) * level.standard_error)
                }
                Q::Temperature => (level.value, level.standard_error),
                Q::TotalHardness => {
                    let t = &deed.water.totals;
                    (hardness_mg_l_caco3_from_mol_kg(t.calcium + t.magnesium), level.standard_error)
                }
                _ => {
                    // Readings of a probe or meter are not predicted.
                    let Some(linear_part) = linear(q, &deed.water.totals) else { continue };
                    let residue =
                        if q == Q::TotalAlkalinity { self.problem.alkalinity_residue_mg_l } else { 0.0 };
                    let value = linear_part + residue;
                    (value, self.linear_error(start, q, value, level.standard_error))
                }
            };
            quantities.push(interval(q, value, error, self.is_known(level) || q == Q::FreeChlorine));
        }
        quantities.sort_by_key(|e| e.quantity);
        Snapshot { water: deed.water, totals: deed.water.totals, quantities }
    }

    /// Read or analysed, and not a guess beyond the end of a scale.
    fn is_known(&self, level: &Level) -> bool {
        level.known && self.est.over_scale(level.quantity).is_none()
    }

    fn linear_error(&self, start: &Start, q: Q, value: f64, before: f64) -> f64 {
        match self.problem.goal(q) {
            Some(i) => self.problem.goal_error(start, i, value - start.values[i]),
            None => before,
        }
    }

    fn ph_error(&self, start: &Start, deed: &Deed) -> f64 {
        let dosed = Dosed { dosed_alkalinity: deed.dosed.0, dosed_carbon: deed.dosed.1, ..Dosed::of(start) };
        let stop = self.choice.stop.filter(|_| deed.aired);
        self.problem.ph_error_at(&dosed, start, stop, &deed.water)
    }

    /// The chosen deeds as steps, with what goes around them.
    pub(crate) fn steps(&self, deeds: &[Deed]) -> Vec<Step> {
        let mut steps = Vec::new();
        if let Some(why) = self.keep_out() {
            steps.push(Step { kind: StepKind::KeepOut, why, ..self.plain(StepKind::KeepOut) });
        }
        self.before_dosing(&mut steps, !deeds.is_empty());
        let mut before = self.now();
        for (i, deed) in deeds.iter().enumerate() {
            let after = self.snapshot(deed);
            steps.extend(self.step(deed, deeds.get(i + 1), &before, &after));
            before = after;
        }
        if let Some(wait) = self.wait_for_the_water(&before) {
            steps.push(wait);
        } else if !deeds.is_empty() {
            steps.push(self.last_test(&before, deeds));
        }
        steps
    }

    /// A day's wait where the water mends itself: a low pH as carbon dioxide leaves, too much chlorine as it is used.
    fn wait_for_the_water(&self, end: &Snapshot) -> Option<Step> {
        let acted = |q: Q| self.needs.act.contains(&q) || self.est.over_scale(q).is_some();
        let band = |q: Q| self.bands.iter().find(|(b, _)| *b == q).map(|(_, b)| b);
        let (ph, disinfectant) =
            (value(end, Q::Ph), if self.problem.bromine { Q::TotalBromine } else { Q::FreeChlorine });
        let low_ph = acted(Q::Ph) && band(Q::Ph).is_some_and(|b| ph < b.low) && self.ph_mends_itself();
        let much =
            acted(disinfectant) && band(disinfectant).is_some_and(|b| value(end, disinfectant) > b.high);
        let (text, why, cover) = if low_ph {
            (
                say!("care-wait-for-ph", "wait 24 hours, then test the pH again and look at the alkalinity"),
                say!(
                    "care-why-wait-for-ph",
                    "The pH is low because of dissolved carbon dioxide: it leaves by itself and lifts the pH in about a day (common practice); a base \
                 added now would overshoot."
                ),
                Cover::Closed,
            )
        } else if much {
            (
                say!(
                    "care-wait-for-disinfectant",
                    "leave the cover open, jets on now and then, and test again before anybody bathes"
                ),
                say!(
                    "care-why-wait-for-disinfectant",
                    "Too much disinfectant goes by itself, in hours in the sun and in one to three days in the shade (common practice)."
                ),
                Cover::Open,
            )
        } else {
            return None;
        };
        Some(Step {
            measure_text: text,
            wait_min: 1440.0,
            why,
            cover,
            water_after: end.clone(),
            ..self.plain(StepKind::Wait)
        })
    }

    /// Whether carbon dioxide alone, as it leaves, lifts the pH to its aim.
    pub(crate) fn ph_mends_itself(&self) -> bool {
        let aim_low = self.bands.iter().find(|(q, _)| *q == Q::Ph).map_or(7.2, |(_, b)| b.aim_low);
        carbon_dioxide_will_lift(self.est, aim_low, self.est.value(Q::TotalAlkalinity))
    }

    fn plain(&self, kind: StepKind) -> Step {
        Step {
            order: 0,
            kind,
            product: None,
            chemical: None,
            mass_g: None,
            volume_ml: None,
            share: None,
            measure_text: Text::default(),
            pre_dissolve: false,
            jets_on: false,
            cover: Cover::Closed,
            wait_min: 0.0,
            until_ph: None,
            why: Text::default(),
            cautions: Vec::new(),
            water_after: self.now(),
        }
    }

    /// Why people stay out, if they do.
    fn keep_out(&self) -> Option<Text> {
        let (l, units) = (self.limits, self.case.units);
        let mut because: Vec<Text> = Vec::new();
        let mut outside = |q: Q, (low, high): (f64, f64)| {
            if let Some(level) = self.est.level(q).filter(|l| l.known)
                && (level.value < low || level.value > high)
            {
                because.push(self.stands(q, level.value));
            }
        };
        let disinfectant = if self.problem.bromine { Q::TotalBromine } else { Q::FreeChlorine };
        let range = if self.problem.bromine { l.total_bromine } else { l.free_chlorine };
        outside(disinfectant, range);
        outside(Q::Ph, l.ph);
        outside(Q::Temperature, (0.0, l.temperature_high_c));
        if let Some(high) = l.combined_chlorine_high {
            outside(Q::CombinedChlorine, (0.0, high));
        }
        // What else has to be put right before anybody bathes.
        let mut and = Vec::new();
        if self.est.value(Q::Temperature) > l.temperature_high_c {
            and.push(say!(
                "care-water-at-most",
                "the water at most {temperature}",
                temperature = Text::figures(units.temperature(l.temperature_high_c))
            ));
        }
        let combined = self.band_to_bathe_in(Q::CombinedChlorine).map(|b| b.high);
        if let Some(high) = combined.filter(|_| {
            self.needs.act.contains(&Q::CombinedChlorine)
                || self.est.over_scale(Q::CombinedChlorine).is_some()
        }) {
            if because.iter().all(|b| !b.starts_with("combined")) {
                because.push(self.stands(Q::CombinedChlorine, self.est.value(Q::CombinedChlorine)));
            }
            and.push(say!(
                "care-combined-at-most",
                "combined chlorine at most {high} mg/L",
                high = figures!("{high}")
            ));
        }
        let cyanurate_banned = self.band_to_bathe_in(Q::CyanuricAcid).is_some_and(|b| b.high == 0.0)
            && self.needs.act.contains(&Q::CyanuricAcid);
        if self.active_chlorine_is_held_back() || cyanurate_banned {
            because.push(if cyanurate_banned {
                say!("care-cyanuric-banned", "cyanuric acid is not allowed here")
            } else {
                say!("care-cyanuric-holds-back", "cyanuric acid holds nearly all of the chlorine back")
            });
            // Where cyanuric acid is beyond its test's scale, that test comes before the drain.
            and.push(match self.est.over_scale(Q::CyanuricAcid) {
                Some(_) => {
                    say!(
                        "care-diluted-test-done",
                        "what the diluted test of cyanuric acid asks for has been done"
                    )
                }
                None => say!("care-water-replaced", "the water has been replaced"),
            });
        }
        if self.case.tub.place == Place::Public && self.too_turbid().is_some() {
            because.push(self.stands(Q::Turbidity, self.est.value(Q::Turbidity)));
            and.push(say!("care-suction-covers-seen", "the suction covers are seen sharply from the rim"));
        }
        if self.problem.starts[self.choice.start].share >= 1.0 && because.is_empty() {
            because.push(say!("care-tub-drained", "the tub is drained"));
        }
        if self.est.retest.contains(&disinfectant) {
            because.push(say!("care-not-known", "{quantity} is not known", quantity = disinfectant.said()));
        }
        let high = self.band_to_bathe_in(disinfectant).map_or(range.1, |b| b.high.min(range.1));
        if because.is_empty() && self.est.level(disinfectant).is_some_and(|v| v.known && v.value > high) {
            because.push(self.stands(disinfectant, self.est.value(disinfectant)));
        }
        let doses_disinfectant =
            self.problem.used(self.choice).any(|(r, ..)| matches!(r, Role::Disinfect | Role::Dechlorinate));
        if because.is_empty() && self.est.kind == PlanKind::StartUp && doses_disinfectant {
            because.push(say!("care-new-fill-here", "this is a new fill"));
        }
        if because.is_empty() && self.choice.stop.is_some() {
            because.push(say!("care-acid-in-plan", "acid is added in this plan"));
        }
        // Common practice where others bathe: in band twice, half an hour apart.
        let tests = match self.case.tub.place {
            Place::Home => say!("care-a-test-shows", "a test, not the clock, shows"),
            Place::Rental | Place::Public => {
                say!("care-two-tests-show", "two tests half an hour apart, not the clock, show")
            }
        };
        let until = match (self.band_to_bathe_in(disinfectant), self.band_to_bathe_in(Q::Ph)) {
            (Some(d), Some(p)) => say!(
                "care-keep-out-until",
                "Keep out until {test} {disinfectant} {range} mg/L and pH {ph}",
                test = tests,
                disinfectant = disinfectant.said(),
                range = figures!("{}-{}", d.low, d.high.min(range.1)),
                ph = figures!("{:.1}-{:.1}", p.low, p.high)
            ),
            _ => say!(
                "care-keep-out-until-back",
                "Keep out until {test} disinfectant and pH back in their bands",
                test = tests
            ),
        };
        if self.problem.goal(disinfectant).is_some_and(|i| self.problem.goals[i].low > range.1) {
            because.push(say!(
                "care-beyond-bathing-limit",
                "this plan takes the disinfectant beyond the bathing limit"
            ));
        }
        and.insert(0, until);
        (!because.is_empty()).then(|| {
            say!(
                "care-keep-out",
                "{until}: {reasons}.",
                until = Text::joined(and, ", and "),
                reasons = Text::joined(because, ", ")
            )
        })
    }

    /// "pH is 8.01"; of what is beyond its test's scale only that is said.
    fn stands(&self, q: Q, value: f64) -> Text {
        match self.est.over_scale(q) {
            Some(least) => say!(
                "care-stands-above",
                "{quantity} is above {value}",
                quantity = q.said(),
                value = Text::figures(self.case.units.number(q, least))
            ),
            None => say!(
                "care-stands",
                "{quantity} is {value}",
                quantity = q.said(),
                value = Text::figures(self.case.units.number(q, value))
            ),
        }
    }

    /// The band to bathe in: one that the user set for a closed tub is not.
    fn band_to_bathe_in(&self, q: Q) -> Option<Band> {
        let own = self.bands.iter().find(|(b, _)| *b == q).map(|(_, b)| b).filter(|b| !closed(b)).cloned();
        own.or_else(|| default_band(q, self.case.tub.regime, self.case.tub.place))
    }

    /// Free chlorine in its band, and yet next to none of it active.
    pub(crate) fn active_chlorine_is_held_back(&self) -> bool {
        let cyanuric = self.est.value(Q::CyanuricAcid);
        let active = self.est.water.hypochlorous_mol_kg() * 70_906.0;
        !self.problem.bromine && cyanuric >= 60.0 && self.est.value(Q::FreeChlorine) > 0.0 && active < 0.05
    }

    /// Tests first, metals, heat: what comes before the first dose.
    fn before_dosing(&self, steps: &mut Vec<Step>, doses: bool) {
        let est = self.est;
        let test = self.to_test(!doses);
        if !test.is_empty() {
            steps.push(Step {
                measure_text: self.tests(&test, ", "),
                why: self.why_test(&test),
                ..self.plain(StepKind::Retest)
            });
        }
        let metal = est.value(Q::Iron) > 0.1 || est.value(Q::Copper) > 0.1;
        let sequestrant = self.case.shelf.iter().find(|p| p.substance == Substance::Sequestrant);
        if let (true, Some(product)) = (metal, sequestrant) {
            steps.push(Step {
                product: Some(product.name.clone()),
                measure_text: say!(
                    "care-amount-by-label",
                    "the amount its label gives for {volume}",
                    volume = Text::figures(self.case.units.volume(self.problem.volume_l))
                ),
                jets_on: true,
                wait_min: 720.0,
                why: say!(
                    "care-bind-metal",
                    "{holds} ({metals}): bind it before any oxidiser turns it into stains.",
                    holds = if est.kind == PlanKind::StartUp {
                        say!(
                            "care-fill-holds-metal",
                            "Filled through a fine pre-filter, the water still holds metal"
                        )
                    } else {
                        say!("care-water-holds-metal", "The water holds metal")
                    },
                    metals = Text::joined(
                        [Q::Iron, Q::Copper]
                            .into_iter()
                            .filter(|q| est.value(*q) > 0.0)
                            .map(|q| {
                                Text::joined(vec![q.said(), figures!("{:.2} mg/L", est.value(q))], " ")
                            })
                            .collect(),
                        ", "
                    )
                ),
                cautions: vec![
                    say!("care-caution-by-label", "Gloves and goggles; by its label only."),
                    caution::always(),
                ],
                ..self.plain(StepKind::Add)
            });
        }
        if doses && est.kind == PlanKind::StartUp {
            steps.push(Step {
                measure_text: self.heat(),
                jets_on: true,
                wait_min: self.case.tub.pump_cycle_min,
                why: say!(
                    "care-why-heat",
                    "Warm moving water dissolves everything, and only then does the pH mean something."
                ),
                ..self.plain(StepKind::Circulate)
            });
        }
    }

    /// How warm a new fill is made, and how long that takes: hours, where a pump's cycle is minutes.
    fn heat(&self) -> Text {
        let temperature = Text::figures(self.case.units.temperature(START_UP_TEMPERATURE_C));
        let cell = self.case.tub.regime == Regime::SaltCell;
        let from = self.case.source_water.as_ref().and_then(|s| s.temperature_c).unwrap_or(TAP_C);
        let kwh = HEAT_KWH_L_K * self.case.tub.volume_l * (START_UP_TEMPERATURE_C - from);
        let hours = |kw: f64| Text::figures(format!("{:.0}", (kwh / kw).ceil()));
        if kwh < HEATER_STRONG_KW {
            return if cell {
                say!(
                    "care-heat-cell-off",
                    "heat to at least {temperature}, pumps on, cell off",
                    temperature = temperature
                )
            } else {
                say!("care-heat", "heat to at least {temperature}, pumps on", temperature = temperature)
            };
        }
        let (short, long) = (hours(HEATER_STRONG_KW), hours(HEATER_WEAK_KW));
        if cell {
            say!(
                "care-heat-hours-cell-off",
                "heat to at least {temperature}, pumps on, cell off; {short} to {long} hours by a heater of 3 to 2 kW",
                temperature = temperature,
                short = short,
                long = long
            )
        } else {
            say!(
                "care-heat-hours",
                "heat to at least {temperature}, pumps on; {short} to {long} hours by a heater of 3 to 2 kW",
                temperature = temperature,
                short = short,
                long = long
            )
        }
    }

    /// What is tested before anything is dosed for it; with nothing to dose, what is in doubt too. The saturation index
    /// is no test of its own.
    pub(crate) fn to_test(&self, unsure_too: bool) -> Vec<Q> {
        let unsure = self.needs.unsure.iter().filter(|_| unsure_too);
        let all = self.needs.test_first.iter().chain(unsure);
        all.copied().filter(|q| *q != Q::SaturationIndex).collect()
    }

    /// What to test, and of which in a diluted sample.
    pub(crate) fn tests(&self, quantities: &[Q], last: &'static str) -> Text {
        let each: Vec<Text> = quantities
            .iter()
            .map(|q| match dilutable(*q) && self.est.over_scale(*q).is_some() {
                true => say!("care-in-diluted-sample", "{quantity} in a diluted sample", quantity = q.said()),
                false => q.said(),
            })
            .collect();
        Text::listed(each, last)
    }

    /// How a sample is diluted so that its test can tell; source water serves where it holds none itself.
    fn how_to_dilute(&self, quantities: &[Q]) -> Option<Text> {
        let over: Vec<Q> = quantities
            .iter()
            .copied()
            .filter(|q| dilutable(*q) && self.est.over_scale(*q).is_some())
            .collect();
        let with = match over[..] {
            [] => return None,
            [Q::CyanuricAcid] => say!("care-distilled-or-source", "distilled or source water"),
            _ => say!("care-distilled", "distilled water (source water brings some of its own)"),
        };
        Some(say!(
            "care-how-to-dilute",
            "For {quantities}: mix 1 part of tub water with 1 part of {with}, test the mix and double the result; if that is beyond the scale too, 1 part with \
             3 parts, times four. Then plan again.",
            quantities = and_names(&over),
            with = with
        ))
    }

    /// Why a test comes before a dose, for each quantity.
    fn why_test(&self, quantities: &[Q]) -> Text {
        let unread = |q: Q| self.est.level(q).is_none_or(|l| !l.known);
        let over: Vec<Q> = self.est.over_scale.iter().map(|(q, _)| *q).collect();
        let reasons = [
            (say!("care-test-over", "beyond the scale of its test, and how far is a guess"), over),
            (
                say!(
                    "care-test-void",
                    "void or contradictory, or something has taken from what was read since"
                ),
                self.est.retest.clone(),
            ),
            (
                say!("care-test-unsure", "outside its band by less than its own error"),
                self.needs.unsure.clone(),
            ),
            (
                say!("care-test-blurred", "blurred by monopersulfate, which reads like it"),
                self.est.combined_blurred_for_h.map(|_| Q::CombinedChlorine).into_iter().collect(),
            ),
            (
                say!("care-test-unread", "not read by anybody"),
                quantities.iter().copied().filter(|q| unread(*q)).collect(),
            ),
            (
                say!("care-test-vague", "known too vaguely to dose for (an old or an uncertain reading)"),
                quantities.to_vec(),
            ),
        ];
        let mut said: Vec<Q> = Vec::new();
        let mut parts = Vec::new();
        for (reason, of) in reasons {
            let these: Vec<Q> =
                quantities.iter().copied().filter(|q| of.contains(q) && !said.contains(q)).collect();
            if !these.is_empty() {
                let names = and_names(&these);
                let who = if these.len() > 1 {
                    say!("care-they-are", "{names} are", names = names)
                } else {
                    say!("care-it-is", "{names} is", names = names)
                };
                parts.push(Text::joined(vec![who, reason], " "));
                said.extend(these);
            }
        }
        let mut text = vec![say!(
            "care-why-test",
            "{reasons}: a test is worth more than a dose.",
            reasons = Text::joined(parts, "; ").capital()
        )];
        text.extend(self.how_to_dilute(quantities));
        if self.problem.starts[self.choice.start].share > 0.0 && self.tests_decide_on_water() {
            text.push(say!(
                "care-test-may-spare-water",
                "It may spare the fresh water: enter the result and plan again before any water goes."
            ));
        }
        let low_ph = self.bands.iter().any(|(q, b)| *q == Q::Ph && self.est.value(Q::Ph) < b.low);
        if quantities.contains(&Q::Ph)
            && !self.est.retest.contains(&Q::Ph)
            && low_ph
            && self.ph_mends_itself()
        {
            text.push(say!(
                "care-low-ph-mends-itself",
                "A low pH that carbon dioxide holds down mends itself within a day (common practice): wait 24 hours before any base."
            ));
        }
        Text::joined(text, " ")
    }

    fn step(&self, deed: &Deed, next: Option<&Deed>, before: &Snapshot, after: &Snapshot) -> Vec<Step> {
        match deed.what {
            What::Replace(share) => vec![self.replace(share, after)],
            What::Add { role, product, mass_g, portion, portions } => {
                let Some(p) = self.case.shelf.get(product) else { return Vec::new() };
                let mut steps =
                    vec![self.addition(p, role, mass_g, (portion, portions), next, before, after)];
                if portion < portions {
                    steps.extend(self.test_between(role, portion, next, after));
                }
                steps
            }
            What::Air { until_ph, last } => vec![Step {
                until_ph: Some(until_ph),
                measure_text: say!(
                    "care-air-until",
                    "cover open, jets and air on, until the pH reads {ph}",
                    ph = figures!("{until_ph:.1}")
                ),
                jets_on: true,
                cover: Cover::Open,
                wait_min: 30.0,
                why: {
                    let ph = figures!("{:.2}", value(before, Q::Ph));
                    if last {
                        say!(
                            "care-why-air-last",
                            "Carbon dioxide leaves and lifts the pH from {ph} without adding base; look every 15 to 30 minutes.",
                            ph = ph
                        )
                    } else {
                        say!(
                            "care-why-air",
                            "Carbon dioxide leaves and lifts the pH from {ph} without adding base; look every 15 to 30 minutes, then comes the next round of acid.",
                            ph = ph
                        )
                    }
                },
                cautions: vec![say!(
                    "care-caution-open-tub",
                    "Nobody in the water; children and pets away from the open tub."
                )],
                water_after: after.clone(),
                ..self.plain(StepKind::LeaveOpen)
            }],
        }
    }

    /// A test between two portions, where the first may do more or less than was computed.
    fn test_between(
        &self,
        role: Role,
        portion: usize,
        next: Option<&Deed>,
        after: &Snapshot,
    ) -> Option<Step> {
        let disinfectant = if self.problem.bromine { Q::TotalBromine } else { Q::FreeChlorine };
        // Airing ends with a pH reading anyway.
        let aired_next = next.is_some_and(|d| matches!(d.what, What::Air { .. }));
        let (q, why) = match role {
            Role::Dechlorinate => {
                let goal = self.problem.goals.iter().find(|g| g.quantity == disinfectant)?;
                (
                    disinfectant,
                    say!(
                        "care-rest-only-if",
                        "How much a gram takes varies: add the rest only if {quantity} is still above {high}.",
                        quantity = disinfectant.said(),
                        high = figures!("{} {}", goal.bathing.1.min(goal.high), disinfectant.unit())
                    ),
                )
            }
            Role::AcidBase if portion == 1 && self.est.ph_at_scale_end && !aired_next => {
                let (_, band) = self.bands.iter().find(|(q, _)| *q == Q::Ph)?;
                let (low, high) = (band.aim_low, band.aim_high);
                (
                    Q::Ph,
                    say!(
                        "care-ph-at-end",
                        "The pH was read at the end of its scale, so the water may lie beyond it. Within {range} leave the rest out; at the \
                         end of the scale still, go on; else plan again from this reading.",
                        range = figures!("{low:.1}-{high:.1}")
                    ),
                )
            }
            _ => return None,
        };
        Some(Step {
            measure_text: q.said(),
            jets_on: true,
            why,
            water_after: after.clone(),
            ..self.plain(StepKind::Retest)
        })
    }

    fn replace(&self, share: f64, after: &Snapshot) -> Step {
        let volume = |share: f64| self.case.units.volume(share * self.problem.volume_l);
        let all = share >= 1.0;
        Step {
            share: Some(share),
            measure_text: if all {
                say!(
                    "care-purge-drain-refill",
                    "purge, drain and refill: {volume}",
                    volume = Text::figures(volume(1.0))
                )
            } else {
                say!(
                    "care-part-out",
                    "{part} of {volume} ({percent} %) out, the same of source water in",
                    part = Text::figures(volume(share)),
                    volume = Text::figures(volume(1.0)),
                    percent = figures!("{:.0}", 100.0 * share)
                )
            },
            wait_min: if all { 0.0 } else { 2.0 * self.case.tub.pump_cycle_min },
            why: {
                let (falls, rises) = self.changed_by_water(after);
                let falls = say!(
                    "care-why-replace",
                    "{falls}; nothing on the shelf takes that out of the water.",
                    falls = falls
                );
                let rises = rises.map(|rises| say!("care-why-replace-rises", "{rises}.", rises = rises));
                Text::joined([falls].into_iter().chain(rises).collect(), " ")
            },
            cautions: caution::of_replacing(all),
            water_after: after.clone(),
            ..self.plain(StepKind::ReplaceWater)
        }
    }

    /// What stands above its band and is acted on, of all that fresh water is replaced for.
    pub(crate) fn asking_for_water(&self) -> impl Iterator<Item = Q> {
        let above =
            |q: &Q| self.problem.goal(*q).is_some_and(|i| self.est.value(*q) > self.problem.goals[i].high);
        LOWERED_BY_WATER.into_iter().filter(move |q| self.needs.act.contains(q) && above(q))
    }

    /// What falls with fresh water of what is above its band, and what rises.
    fn changed_by_water(&self, after: &Snapshot) -> (Text, Option<Text>) {
        let changed: Vec<(bool, Text)> = self
            .problem
            .goals
            .iter()
            .filter(|g| !matches!(g.quantity, Q::Ph | Q::SaturationIndex | Q::FreeChlorine | Q::TotalBromine))
            .filter(|g| self.est.value(g.quantity) > g.high)
            .map(|g| {
                let q = g.quantity;
                let (now, then) = (self.est.value(q), value(after, q));
                let before = figures!("{:.*}", q.decimals(), now);
                let after = figures!("{:.*}", q.decimals(), then);
                let quantity = q.said();
                let rises = then > now;
                let said = if rises {
                    say!(
                        "care-rises",
                        "{quantity} rises from {before} to {after}",
                        quantity = quantity,
                        before = before,
                        after = after
                    )
                } else {
                    say!(
                        "care-falls",
                        "{quantity} falls from {before} to {after}",
                        quantity = quantity,
                        before = before,
                        after = after
                    )
                };
                (rises, said)
            })
            .collect();
        let of = |up: bool| {
            let which: Vec<Text> =
                changed.iter().filter(|(rises, _)| *rises == up).map(|(_, said)| said.clone()).collect();
            Text::joined(which, ", ").capital()
        };
        (of(false), changed.iter().any(|(rises, _)| *rises).then(|| of(true)))
    }

    #[allow(clippy::too_many_arguments)] // one addition and what surrounds it
    fn addition(
        &self,
        p: &Product,
        role: Role,
        mass_g: f64,
        (portion, portions): (usize, usize),
        next: Option<&Deed>,
        before: &Snapshot,
        after: &Snapshot,
    ) -> Step {
        let chemical = match p.substance {
            Substance::Chemical(c) => Some(c),
            _ => None,
        };
        let next_role = next.and_then(|d| match d.what {
            What::Add { role, .. } => Some(role),
            _ => None,
        });
        let mut why = self.why(role, before, after, p);
        if portions > 1 {
            let portion = say!(
                "care-portion",
                "Portion {n} of {portions}.",
                n = figures!("{portion}"),
                portions = figures!("{portions}")
            );
            why = Text::joined(vec![portion, why], " ");
        }
        Step {
            product: Some(p.name.clone()),
            chemical: chemical.map(Chemical::id),
            mass_g: Some(mass_g),
            volume_ml: p.density_g_ml.map(|d| mass_g / d),
            measure_text: measure_text(p, mass_g, self.case.units),
            pre_dissolve: pre_dissolve(p, role),
            jets_on: true,
            cover: Cover::Open,
            wait_min: self.wait_after(role, next_role),
            why,
            cautions: caution::cautions(p, role),
            water_after: after.clone(),
            ..self.plain(StepKind::Add)
        }
    }

    /// Why an addition, in one plain sentence with its numbers.
    fn why(&self, role: Role, before: &Snapshot, after: &Snapshot, p: &Product) -> Text {
        let change = |q: Q| {
            let unit = if q.unit().is_empty() { String::new() } else { format!(" {}", q.unit()) };
            say!(
                "care-change",
                "{quantity} from {before} to {after}",
                quantity = q.said(),
                before = figures!("{:.*}", q.decimals(), value(before, q)),
                after = figures!("{:.*}{unit}", q.decimals(), value(after, q))
            )
        };
        let disinfectant = if self.problem.bromine { Q::TotalBromine } else { Q::FreeChlorine };
        let lift = value(after, Q::Ph) - value(before, Q::Ph);
        match role {
            Role::Disinfect if lift > 0.02 && !self.problem.bromine => {
                say!(
                    "care-brings-ph-back",
                    "Brings {change}; {other}, which goes back as the chlorine is used.",
                    change = change(disinfectant),
                    other = change(Q::Ph)
                )
            }
            Role::Disinfect if value(after, Q::CyanuricAcid) > value(before, Q::CyanuricAcid) + 0.5 => {
                say!(
                    "care-brings-cyanuric",
                    "Brings {change}; {other}, which only fresh water takes out again.",
                    change = change(disinfectant),
                    other = change(Q::CyanuricAcid)
                )
            }
            Role::Disinfect => say!(
                "care-brings-two",
                "Brings {change}; {other}.",
                change = change(disinfectant),
                other = change(Q::Ph)
            ),
            Role::Dechlorinate => say!("care-takes", "Takes {change}.", change = change(disinfectant)),
            Role::Stabilise => say!("care-brings", "Brings {change}.", change = change(Q::CyanuricAcid)),
            Role::Borate => say!("care-brings", "Brings {change}.", change = change(Q::Borate)),
            Role::Calcium => say!(
                "care-brings-calcium",
                "Brings {change} against corrosion and foam; its chloride also counts as salt ({salt}).",
                change = change(Q::CalciumHardness),
                salt = change(Q::Salt)
            ),
            Role::Salt => match self.bands.iter().find(|(q, _)| *q == Q::Salt) {
                Some((_, b)) => {
                    say!(
                        "care-brings-salt",
                        "Brings {change}; the cell works between {low} and {high}.",
                        change = change(Q::Salt),
                        low = figures!("{:.0}", b.low),
                        high = figures!("{:.0}", b.high)
                    )
                }
                None => say!("care-brings", "Brings {change}.", change = change(Q::Salt)),
            },
            Role::Bromide => {
                say!("care-fills-bank", "Fills the bromide bank that the oxidiser turns into bromine.")
            }
            Role::Alkalinity => say!(
                "care-brings-alkalinity",
                "Brings {change}, which steadies the pH.",
                change = change(Q::TotalAlkalinity)
            ),
            Role::AcidBase
                if matches!(
                    p.substance,
                    Substance::Chemical(Chemical::SodiumBisulfate | Chemical::HydrochloricAcid)
                ) =>
            {
                say!(
                    "care-brings-both",
                    "Brings {change} and {other}.",
                    change = change(Q::Ph),
                    other = change(Q::TotalAlkalinity)
                )
            }
            Role::AcidBase => say!("care-brings", "Brings {change}.", change = change(Q::Ph)),
        }
    }

    /// Minutes with the pumps on before the next step (common practice; see the trade's waiting rules).
    fn wait_after(&self, role: Role, next: Option<Role>) -> f64 {
        let cycle = self.case.tub.pump_cycle_min;
        match (role, next) {
            (Role::Alkalinity, Some(Role::Calcium)) | (Role::Calcium, Some(Role::Alkalinity)) => 180.0,
            (Role::AcidBase, Some(Role::Disinfect)) => 30.0_f64.max(cycle),
            (Role::AcidBase | Role::Alkalinity, _) => 30.0_f64.max(cycle),
            (Role::Calcium, Some(_)) => 60.0,
            _ => cycle,
        }
    }

    fn last_test(&self, end: &Snapshot, deeds: &[Deed]) -> Step {
        let mut quantities = vec![Q::Ph];
        quantities.push(if self.problem.bromine { Q::TotalBromine } else { Q::FreeChlorine });
        let dosed =
            |role: Role| deeds.iter().any(|d| matches!(d.what, What::Add { role: r, .. } if r == role));
        if dosed(Role::Alkalinity) || deeds.iter().any(|d| matches!(d.what, What::Air { .. })) {
            quantities.push(Q::TotalAlkalinity);
        }
        Step {
            measure_text: names(&quantities),
            jets_on: true,
            wait_min: 20.0,
            why: say!(
                "care-why-last-test",
                "What was really added and mixed in is known only by a test; bathing is opened by it, not by the clock."
            ),
            water_after: end.clone(),
            ..self.plain(StepKind::Retest)
        }
    }

    /// Where the bands are not met at the end.
    pub(crate) fn misses(&self, end: &Snapshot) -> Vec<Miss> {
        self.bands
            .iter()
            .filter_map(|(q, band)| {
                let e = end.quantities.iter().find(|e| e.quantity == *q)?;
                let slack = 0.5 * 10f64.powi(-(q.decimals() as i32));
                (e.value < band.low - slack || e.value > band.high + slack).then(|| Miss {
                    quantity: *q,
                    value: e.value,
                    low: band.low,
                    high: band.high,
                    why: self.why_missed(*q, e, e.value < band.low, end),
                })
            })
            .collect()
    }

    fn why_missed(&self, q: Q, e: &Estimate, below: bool, end: &Snapshot) -> Text {
        if let Some(least) = self.est.over_scale(q) {
            return say!(
                "care-missed-over",
                "Only that it was above {value} is known, and nothing is dosed on a guess: test it first.",
                value = Text::figures(self.case.units.figure(q, least))
            );
        }
        if self.needs.test_first.contains(&q) {
            return say!("care-missed-vague", "It is not known well enough to dose for: test it first.");
        }
        if self.needs.unsure.contains(&q) {
            return say!(
                "care-missed-unsure",
                "It is outside by less than the error of its reading (± {error}).",
                error = Text::figures(self.case.units.error(q, e.standard_error))
            );
        }
        if let Some(coarse) = self.too_coarse(q, end) {
            return self.weigh(q, &coarse);
        }
        match (q, below) {
            (Q::Ph, true) if self.ph_mends_itself() => say!(
                "care-missed-co2",
                "Carbon dioxide leaves by itself within a day and lifts it; look again then."
            ),
            (Q::FreeChlorine | Q::TotalBromine, false) => {
                say!(
                    "care-missed-falls",
                    "It falls by itself with the cover open; nobody bathes until it has."
                )
            }
            (Q::Turbidity, _) => {
                say!(
                    "care-missed-turbidity",
                    "Nothing is dosed for it: filter, clean the filter, look for the cause; fresh water if it stays."
                )
            }
            (Q::Temperature, _) => say!("care-missed-heater", "Set the heater; nothing is dosed for it."),
            (Q::SaturationIndex, true) if self.est.kind == PlanKind::StartUp => {
                say!(
                    "care-missed-index-start-up",
                    "A new fill's pH climbs as carbon dioxide leaves, and the index with it."
                )
            }
            (Q::SaturationIndex, _) => {
                say!("care-missed-index", "It follows from the other quantities, which weigh more.")
            }
            (Q::Iron | Q::Copper, _)
                if self.case.shelf.iter().any(|p| p.substance == Substance::Sequestrant) =>
            {
                say!(
                    "care-missed-sequestrant",
                    "The sequestrant binds it and does not take it out: stains are less likely, a test still finds it."
                )
            }
            (Q::Iron | Q::Copper, _) => {
                say!("care-missed-metal", "Filter at the fill or bind it by a sequestrant's label.")
            }
            (_, true) => self.why_not_raised(q),
            (Q::Ph | Q::TotalAlkalinity, false) => {
                say!(
                    "care-missed-acid",
                    "Acid lowers it; there is none on the shelf that may be used here, or a further round is not worth it."
                )
            }
            (_, false) if self.est.source.is_none() => {
                say!(
                    "care-missed-source-unknown",
                    "Only fresh water lowers it, and the source water is not known: give its analysis."
                )
            }
            (_, false) => say!(
                "care-missed-water",
                "Only fresh water lowers it, and the source water does not allow more, or the gain is not worth the water."
            ),
        }
    }

    /// What to do where a measure is too coarse. The scale goes into the case, so that the amount comes with its steps.
    fn weigh(&self, q: Q, coarse: &Coarse<'_>) -> Text {
        let (product, units) = (coarse.product, self.case.units);
        let smallest = measure_text(product, coarse.smallest_g, units);
        say!(
            "care-missed-coarse",
            "The least that is measured of {product}, {smallest} ({mass}), would take it to {value}. Weigh {needed} on a fine scale instead: enter the scale as its \
             measure and plan again, for the steps and cautions that go with it.",
            product = Text::name(product.name.clone()),
            smallest = smallest,
            mass = Text::figures(units.mass(coarse.smallest_g)),
            value = Text::figures(units.figure(q, coarse.would_be)),
            needed = Text::figures(units.mass(coarse.needed_g))
        )
    }

    /// What keeps a low quantity low: no product, too little of it, or a limit.
    fn why_not_raised(&self, q: Q) -> Text {
        let Some(role) = raised_by(q) else {
            return say!("care-nothing-raises", "Nothing on the shelf may be used to raise it here.");
        };
        let raising: Vec<&Product> =
            self.case.shelf.iter().filter(|p| role_of(p, self.problem.bromine) == Some(role)).collect();
        let used: f64 = self.problem.used(self.choice).map(|(_, m, units)| (m, f64::from(units))).fold(
            0.0,
            |sum, (m, units)| {
                let of_role = self.case.shelf.get(m.product).is_some_and(|p| raising.contains(&p));
                sum + if of_role { m.unit_g * units } else { 0.0 }
            },
        );
        match raising[..] {
            [] => say!(
                "care-no-product-raises",
                "No product on the shelf raises {quantity}: get one, then plan again.",
                quantity = q.said()
            ),
            [only] if only.stock_g.is_some_and(|left| left - used < only.measure.smallest_g()) => {
                say!(
                    "care-not-enough-left",
                    "There is not enough {product} left on the shelf.",
                    product = Text::name(only.name.clone())
                )
            }
            _ => say!(
                "care-larger-dose",
                "A larger dose would break a limit on the way, or is not worth its step."
            ),
        }
    }

    /// Chance of ending outside each band.
    pub(crate) fn risks(&self, end: &Snapshot) -> Vec<Risk> {
        self.judged
            .iter()
            .filter_map(|g: &Goal| {
                let e = end.quantities.iter().find(|e| e.quantity == g.quantity)?;
                let (below, above) = g.risk(e.value, e.standard_error);
                Some(Risk { quantity: g.quantity, below, above })
            })
            .collect()
    }

    /// The deed-less end: the water as it is.
    pub(crate) fn end(&self, deeds: &[Deed]) -> Snapshot {
        deeds.last().map_or_else(|| self.now(), |d| self.snapshot(d))
    }
}

/// A figure with its 5 % and 95 % points.
pub(crate) fn interval(quantity: Q, value: f64, standard_error: f64, known: bool) -> Estimate {
    let floor = if matches!(quantity, Q::SaturationIndex | Q::Redox) { f64::NEG_INFINITY } else { 0.0 };
    Estimate {
        quantity,
        value,
        standard_error,
        low: (value - Z_90 * standard_error).max(floor),
        high: value + Z_90 * standard_error,
        known,
    }
}

pub(crate) fn value(s: &Snapshot, q: Q) -> f64 {
    s.quantities.iter().find(|e| e.quantity == q).map_or(f64::NAN, |e| e.value)
}

pub(crate) fn names(quantities: &[Q]) -> Text {
    Text::joined(quantities.iter().map(|q| q.said()).collect(), ", ")
}

/// Names as a sentence has them: "pH, salt and free chlorine".
pub(crate) fn and_names(quantities: &[Q]) -> Text {
    Text::listed(quantities.iter().map(|q| q.said()).collect(), " and ")
}

/// Whether a sample can be diluted for its test.
fn dilutable(q: Q) -> bool {
    !matches!(q, Q::Ph | Q::Temperature | Q::Redox | Q::SaturationIndex)
}

fn pre_dissolve(p: &Product, role: Role) -> bool {
    matches!(role, Role::Salt | Role::Calcium | Role::Stabilise | Role::Borate)
        || matches!(
            p.substance,
            Substance::Chemical(
                Chemical::SodiumBisulfate
                    | Chemical::CalciumHypochlorite
                    | Chemical::SodiumCarbonate
                    | Chemical::SodiumBicarbonate
            )
        )
}

/// A solved water's chlorine that disinfects, mg/L as Cl2.
pub(crate) fn active_chlorine_mg_l(water: &Speciation) -> f64 {
    water.hypochlorous_mol_kg() * 70_906.0
}
