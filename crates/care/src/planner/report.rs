//! From a found decision to a plan that a person can follow.

use super::caution::{self, ALWAYS};
use super::evaluate::Dosed;
use super::goal::Goal;
use super::measure::measure_text;
use super::path::{Deed, What};
use super::problem::{Choice, Problem, Role, Start};
use super::setup::{Needs, carbon_dioxide_will_lift, closed, role_of};
use crate::band::{Band, BathingLimits, Place, Regime, default_band};
use crate::case::{Bands, Case, PlanKind, Product, Substance};
use crate::chem::linear;
use crate::estimate::{Estimated, capital};
use crate::plan::{Cover, Estimate, Miss, Risk, Snapshot, Step, StepKind};
use crate::quantity::Quantity as Q;
use water::units::hardness_mg_l_caco3_from_mol_kg;
use water::{Chemical, Speciation};

/// z of the 5 % and 95 % points.
const Z_90: f64 = 1.645;

/// What the whole report is written from.
pub(crate) struct Report<'a> {
    pub(crate) case: &'a Case,
    pub(crate) est: &'a Estimated,
    pub(crate) bands: &'a Bands,
    pub(crate) limits: &'a BathingLimits,
    pub(crate) problem: &'a Problem,
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
            .map(|l| interval(l.quantity, l.value, l.standard_error, l.known))
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
                Q::Iron | Q::Copper | Q::CombinedChlorine => {
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
            quantities.push(interval(q, value, error, level.known || q == Q::FreeChlorine));
        }
        quantities.sort_by_key(|e| e.quantity);
        Snapshot { water: deed.water, totals: deed.water.totals, quantities }
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
        let acted = |q: Q| self.needs.act.contains(&q);
        let band = |q: Q| self.bands.iter().find(|(b, _)| *b == q).map(|(_, b)| b);
        let (ph, disinfectant) =
            (value(end, Q::Ph), if self.problem.bromine { Q::TotalBromine } else { Q::FreeChlorine });
        let low_ph = acted(Q::Ph) && band(Q::Ph).is_some_and(|b| ph < b.low) && self.ph_mends_itself();
        let much =
            acted(disinfectant) && band(disinfectant).is_some_and(|b| value(end, disinfectant) > b.high);
        let (text, why, cover) = if low_ph {
            (
                "wait 24 hours, then test the pH again and look at the alkalinity",
                "The pH is low because of dissolved carbon dioxide: it leaves by itself and lifts the pH in about a day (common practice); a base \
                 added now would overshoot.",
                Cover::Closed,
            )
        } else if much {
            (
                "leave the cover open, jets on now and then, and test again before anybody bathes",
                "Too much disinfectant goes by itself, in hours in the sun and in one to three days in the shade (common practice).",
                Cover::Open,
            )
        } else {
            return None;
        };
        Some(Step {
            measure_text: text.to_string(),
            wait_min: 1440.0,
            why: why.to_string(),
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
            measure_text: String::new(),
            pre_dissolve: false,
            jets_on: false,
            cover: Cover::Closed,
            wait_min: 0.0,
            until_ph: None,
            why: String::new(),
            cautions: Vec::new(),
            water_after: self.now(),
        }
    }

    /// Why people stay out, if they do.
    fn keep_out(&self) -> Option<String> {
        let l = self.limits;
        let mut because = Vec::new();
        let mut outside = |q: Q, (low, high): (f64, f64)| {
            if let Some(level) = self.est.level(q).filter(|l| l.known)
                && (level.value < low || level.value > high)
            {
                because.push(format!("{} is {:.*}", q.name(), q.decimals().max(1), level.value));
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
            and.push(format!("the water at most {:.0} °C", l.temperature_high_c));
        }
        let combined = self.band_to_bathe_in(Q::CombinedChlorine).map(|b| b.high);
        if let Some(high) = combined.filter(|_| self.needs.act.contains(&Q::CombinedChlorine)) {
            if because.iter().all(|b| !b.starts_with("combined")) {
                because.push(format!("combined chlorine is {:.1}", self.est.value(Q::CombinedChlorine)));
            }
            and.push(format!("combined chlorine at most {high} mg/L"));
        }
        let cyanurate_banned = self.band_to_bathe_in(Q::CyanuricAcid).is_some_and(|b| b.high == 0.0)
            && self.needs.act.contains(&Q::CyanuricAcid);
        if self.active_chlorine_is_held_back() || cyanurate_banned {
            because.push(if cyanurate_banned {
                "cyanuric acid is not allowed here".to_string()
            } else {
                "cyanuric acid holds nearly all of the chlorine back".to_string()
            });
            and.push("the water has been replaced".to_string());
        }
        if self.problem.starts[self.choice.start].share >= 1.0 && because.is_empty() {
            because.push("the tub is drained".to_string());
        }
        if self.est.retest.contains(&disinfectant) {
            because.push(format!("{} is not known", disinfectant.name()));
        }
        let high = self.band_to_bathe_in(disinfectant).map_or(range.1, |b| b.high.min(range.1));
        if because.is_empty() && self.est.level(disinfectant).is_some_and(|v| v.known && v.value > high) {
            because.push(format!("{} is {:.1}", disinfectant.name(), self.est.value(disinfectant)));
        }
        let doses_disinfectant =
            self.problem.used(self.choice).any(|(r, ..)| matches!(r, Role::Disinfect | Role::Dechlorinate));
        if because.is_empty() && self.est.kind == PlanKind::StartUp && doses_disinfectant {
            because.push("this is a new fill".to_string());
        }
        if because.is_empty() && self.choice.stop.is_some() {
            because.push("acid is added in this plan".to_string());
        }
        // Common practice where others bathe: in band twice, half an hour apart.
        let tests = match self.case.tub.place {
            Place::Home => "a test, not the clock, shows",
            Place::Rental | Place::Public => "two tests half an hour apart, not the clock, show",
        };
        let until = match (self.band_to_bathe_in(disinfectant), self.band_to_bathe_in(Q::Ph)) {
            (Some(d), Some(p)) => format!(
                "Keep out until {tests} {} {}-{} mg/L and pH {:.1}-{:.1}",
                disinfectant.name(),
                d.low,
                d.high.min(range.1),
                p.low,
                p.high
            ),
            _ => format!("Keep out until {tests} disinfectant and pH back in their bands"),
        };
        if self.problem.goal(disinfectant).is_some_and(|i| self.problem.goals[i].low > range.1) {
            because.push("this plan takes the disinfectant beyond the bathing limit".to_string());
        }
        let also = if and.is_empty() { String::new() } else { format!(", and {}", and.join(", and ")) };
        (!because.is_empty()).then(|| format!("{until}{also}: {}.", because.join(", ")))
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
                measure_text: names(&test),
                why: self.why_test(&test),
                ..self.plain(StepKind::Retest)
            });
        }
        let metal = est.value(Q::Iron) > 0.1 || est.value(Q::Copper) > 0.1;
        let sequestrant = self.case.shelf.iter().find(|p| p.substance == Substance::Sequestrant);
        if let (true, Some(product)) = (metal, sequestrant) {
            steps.push(Step {
                product: Some(product.name.clone()),
                measure_text: format!("the amount its label gives for {:.0} L", self.problem.volume_l),
                jets_on: true,
                wait_min: 720.0,
                why: format!(
                    "{} ({}): bind it before any oxidiser turns it into stains.",
                    if est.kind == PlanKind::StartUp {
                        "Filled through a fine pre-filter, the water still holds metal"
                    } else {
                        "The water holds metal"
                    },
                    [Q::Iron, Q::Copper]
                        .iter()
                        .filter(|q| est.value(**q) > 0.0)
                        .map(|q| format!("{} {:.2} mg/L", q.name(), est.value(*q)))
                        .collect::<Vec<_>>()
                        .join(", ")
                ),
                cautions: vec!["Gloves and goggles; by its label only.".to_string(), ALWAYS.to_string()],
                ..self.plain(StepKind::Add)
            });
        }
        if doses && est.kind == PlanKind::StartUp {
            steps.push(Step {
                measure_text: format!(
                    "heat to at least 30 °C, pumps on{}",
                    if self.case.tub.regime == Regime::SaltCell { ", cell off" } else { "" }
                ),
                jets_on: true,
                wait_min: self.case.tub.pump_cycle_min,
                why: "Warm moving water dissolves everything, and only then does the pH mean something."
                    .to_string(),
                ..self.plain(StepKind::Circulate)
            });
        }
    }

    /// What is tested before anything is dosed for it; with nothing to dose, what is in doubt too. The saturation index
    /// is no test of its own.
    pub(crate) fn to_test(&self, unsure_too: bool) -> Vec<Q> {
        let unsure = self.needs.unsure.iter().filter(|_| unsure_too);
        let all = self.needs.test_first.iter().chain(unsure);
        all.copied().filter(|q| *q != Q::SaturationIndex).collect()
    }

    /// Why a test comes before a dose, for each quantity.
    fn why_test(&self, quantities: &[Q]) -> String {
        let unread = |q: Q| self.est.level(q).is_none_or(|l| !l.known);
        let reasons = [
            ("void, or its readings contradict each other", self.est.retest.clone()),
            ("outside its band by less than its own error", self.needs.unsure.clone()),
            ("not read by anybody", quantities.iter().copied().filter(|q| unread(*q)).collect()),
            ("known too vaguely to dose for (an old or an uncertain reading)", quantities.to_vec()),
        ];
        let mut said: Vec<Q> = Vec::new();
        let mut parts = Vec::new();
        for (reason, of) in reasons {
            let these: Vec<Q> =
                quantities.iter().copied().filter(|q| of.contains(q) && !said.contains(q)).collect();
            if !these.is_empty() {
                let be = if these.len() > 1 { "are" } else { "is" };
                parts.push(format!("{} {be} {reason}", and_names(&these)));
                said.extend(these);
            }
        }
        let mut text = format!("{}: a test is worth more than a dose.", capital(&parts.join("; ")));
        let low_ph = self.bands.iter().any(|(q, b)| *q == Q::Ph && self.est.value(Q::Ph) < b.low);
        if quantities.contains(&Q::Ph)
            && !self.est.retest.contains(&Q::Ph)
            && low_ph
            && self.ph_mends_itself()
        {
            text += " A low pH that carbon dioxide holds down mends itself within a day (common practice): wait 24 hours before any base.";
        }
        text
    }

    fn step(&self, deed: &Deed, next: Option<&Deed>, before: &Snapshot, after: &Snapshot) -> Vec<Step> {
        match deed.what {
            What::Replace(share) => vec![self.replace(share, after)],
            What::Add { role, product, mass_g, portion, portions } => {
                let Some(p) = self.case.shelf.get(product) else { return Vec::new() };
                vec![self.addition(p, role, mass_g, (portion, portions), next, before, after)]
            }
            What::Air { until_ph, last } => vec![Step {
                until_ph: Some(until_ph),
                measure_text: format!("cover open, jets and air on, until the pH reads {until_ph:.1}"),
                jets_on: true,
                cover: Cover::Open,
                wait_min: 30.0,
                why: format!(
                    "Carbon dioxide leaves and lifts the pH from {:.2} without adding base; look every 15 to 30 minutes{}.",
                    value(before, Q::Ph),
                    if last { "" } else { ", then comes the next round of acid" }
                ),
                cautions: vec!["Nobody in the water; children and pets away from the open tub.".to_string()],
                water_after: after.clone(),
                ..self.plain(StepKind::LeaveOpen)
            }],
        }
    }

    fn replace(&self, share: f64, after: &Snapshot) -> Step {
        let litres = share * self.problem.volume_l;
        let all = share >= 1.0;
        let mut cautions: Vec<String> = caution::DRAIN.iter().map(|s| (*s).to_string()).collect();
        if !all {
            cautions.retain(|c| !caution::ONLY_AT_A_DRAIN.contains(&c.as_str()));
        }
        Step {
            share: Some(share),
            measure_text: if all {
                format!("purge, drain and refill: {litres:.0} L")
            } else {
                format!(
                    "{litres:.0} L of {:.0} L ({:.0} %) out, the same of source water in",
                    self.problem.volume_l,
                    100.0 * share
                )
            },
            wait_min: if all { 0.0 } else { 2.0 * self.case.tub.pump_cycle_min },
            why: format!(
                "{}; nothing on the shelf takes that out of the water.",
                self.lowered_by_water(after)
            ),
            cautions,
            water_after: after.clone(),
            ..self.plain(StepKind::ReplaceWater)
        }
    }

    fn lowered_by_water(&self, after: &Snapshot) -> String {
        let lowered: Vec<String> = self
            .problem
            .goals
            .iter()
            .filter(|g| !matches!(g.quantity, Q::Ph | Q::SaturationIndex | Q::FreeChlorine | Q::TotalBromine))
            .filter(|g| self.est.value(g.quantity) > g.high)
            .map(|g| {
                let q = g.quantity;
                format!(
                    "{} falls from {:.*} to {:.*}",
                    q.name(),
                    q.decimals(),
                    self.est.value(q),
                    q.decimals(),
                    value(after, q)
                )
            })
            .collect();
        capital(&lowered.join(", "))
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
        let portion_text =
            if portions > 1 { format!("Portion {portion} of {portions}. ") } else { String::new() };
        Step {
            product: Some(p.name.clone()),
            chemical: chemical.map(Chemical::id),
            mass_g: Some(mass_g),
            volume_ml: p.density_g_ml.map(|d| mass_g / d),
            measure_text: measure_text(p, mass_g),
            pre_dissolve: pre_dissolve(p, role),
            jets_on: true,
            cover: Cover::Open,
            wait_min: self.wait_after(role, next_role),
            why: format!("{portion_text}{}", self.why(role, before, after, p)),
            cautions: caution::cautions(p, role),
            water_after: after.clone(),
            ..self.plain(StepKind::Add)
        }
    }

    /// Why an addition, in one plain sentence with its numbers.
    fn why(&self, role: Role, before: &Snapshot, after: &Snapshot, p: &Product) -> String {
        let change = |q: Q| {
            let unit = if q.unit().is_empty() { String::new() } else { format!(" {}", q.unit()) };
            format!(
                "{} from {:.*} to {:.*}{unit}",
                q.name(),
                q.decimals(),
                value(before, q),
                q.decimals(),
                value(after, q)
            )
        };
        let disinfectant = if self.problem.bromine { Q::TotalBromine } else { Q::FreeChlorine };
        let lift = value(after, Q::Ph) - value(before, Q::Ph);
        match role {
            Role::Disinfect if lift > 0.02 && !self.problem.bromine => {
                format!(
                    "Brings {}; {}, which goes back as the chlorine is used.",
                    change(disinfectant),
                    change(Q::Ph)
                )
            }
            Role::Disinfect if value(after, Q::CyanuricAcid) > value(before, Q::CyanuricAcid) + 0.5 => {
                format!(
                    "Brings {}; {}, which only fresh water takes out again.",
                    change(disinfectant),
                    change(Q::CyanuricAcid)
                )
            }
            Role::Disinfect => format!("Brings {}; {}.", change(disinfectant), change(Q::Ph)),
            Role::Dechlorinate => format!("Takes {}.", change(disinfectant)),
            Role::Stabilise => format!("Brings {}.", change(Q::CyanuricAcid)),
            Role::Borate => format!("Brings {}.", change(Q::Borate)),
            Role::Calcium => format!(
                "Brings {} against corrosion and foam; its chloride also counts as salt ({}).",
                change(Q::CalciumHardness),
                change(Q::Salt)
            ),
            Role::Salt => match self.bands.iter().find(|(q, _)| *q == Q::Salt) {
                Some((_, b)) => {
                    format!(
                        "Brings {}; the cell works between {:.0} and {:.0}.",
                        change(Q::Salt),
                        b.low,
                        b.high
                    )
                }
                None => format!("Brings {}.", change(Q::Salt)),
            },
            Role::Bromide => "Fills the bromide bank that the oxidiser turns into bromine.".to_string(),
            Role::Alkalinity => format!("Brings {}, which steadies the pH.", change(Q::TotalAlkalinity)),
            Role::AcidBase
                if matches!(
                    p.substance,
                    Substance::Chemical(Chemical::SodiumBisulfate | Chemical::HydrochloricAcid)
                ) =>
            {
                format!("Brings {} and {}.", change(Q::Ph), change(Q::TotalAlkalinity))
            }
            Role::AcidBase => format!("Brings {}.", change(Q::Ph)),
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
            why: "What was really added and mixed in is known only by a test; bathing is opened by it, not by the clock.".to_string(),
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
                    why: self.why_missed(*q, e, e.value < band.low),
                })
            })
            .collect()
    }

    fn why_missed(&self, q: Q, e: &Estimate, below: bool) -> String {
        if self.needs.test_first.contains(&q) {
            return "It is not known well enough to dose for: test it first.".to_string();
        }
        if self.needs.unsure.contains(&q) {
            return format!(
                "It is outside by less than the error of its reading (± {:.*}).",
                q.decimals(),
                e.standard_error
            );
        }
        match (q, below) {
            (Q::Ph, true) if self.ph_mends_itself() => "Carbon dioxide leaves by itself within a day and lifts it; look again then.".to_string(),
            (Q::FreeChlorine | Q::TotalBromine, false) => {
                "It falls by itself with the cover open; nobody bathes until it has.".to_string()
            }
            (Q::Temperature, _) => "Set the heater; nothing is dosed for it.".to_string(),
            (Q::SaturationIndex, true) if self.est.kind == PlanKind::StartUp => {
                "A new fill's pH climbs as carbon dioxide leaves, and the index with it.".to_string()
            }
            (Q::SaturationIndex, _) => "It follows from the other quantities, which weigh more.".to_string(),
            (Q::Iron | Q::Copper, _) if self.case.shelf.iter().any(|p| p.substance == Substance::Sequestrant) => {
                "The sequestrant binds it and does not take it out: stains are less likely, a test still finds it."
                    .to_string()
            }
            (Q::Iron | Q::Copper, _) => "Filter at the fill or bind it by a sequestrant's label.".to_string(),
            (_, true) => self.why_not_raised(q),
            (Q::Ph | Q::TotalAlkalinity, false) => {
                "Acid lowers it; there is none on the shelf that may be used here, or a further round is not worth it.".to_string()
            }
            (_, false) if self.est.source.is_none() => {
                "Only fresh water lowers it, and the source water is not known: give its analysis.".to_string()
            }
            (_, false) => "Only fresh water lowers it, and the source water does not allow more, or the gain is not worth the water."
                .to_string(),
        }
    }

    /// What keeps a low quantity low: no product, too little of it, or a limit.
    fn why_not_raised(&self, q: Q) -> String {
        let role = match q {
            Q::FreeChlorine | Q::TotalBromine => Role::Disinfect,
            Q::TotalAlkalinity => Role::Alkalinity,
            Q::CalciumHardness => Role::Calcium,
            Q::CyanuricAcid => Role::Stabilise,
            Q::Salt => Role::Salt,
            Q::Borate => Role::Borate,
            _ => return "Nothing on the shelf may be used to raise it here.".to_string(),
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
            [] => format!("No product on the shelf raises {}: get one, then plan again.", q.name()),
            [only] if only.stock_g.is_some_and(|left| left - used < only.measure.smallest_g()) => {
                format!("There is not enough {} left on the shelf.", only.name)
            }
            _ => "A larger dose would break a limit on the way, or is not worth its step.".to_string(),
        }
    }

    /// Chance of ending outside each band.
    pub(crate) fn risks(&self, end: &Snapshot) -> Vec<Risk> {
        self.problem
            .goals
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

fn interval(quantity: Q, value: f64, standard_error: f64, known: bool) -> Estimate {
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

pub(crate) fn names(quantities: &[Q]) -> String {
    quantities.iter().map(|q| q.name()).collect::<Vec<_>>().join(", ")
}

/// Names as a sentence has them: "pH, salt and free chlorine".
pub(crate) fn and_names(quantities: &[Q]) -> String {
    match quantities {
        [] => String::new(),
        [only] => only.name().to_string(),
        [first @ .., last] => format!("{} and {}", names(first), last.name()),
    }
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
