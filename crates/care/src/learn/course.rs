//! The water from its start to any hour, for one set of parameters.
//!
//! Totals are carried, so doses and mixing are exact; pH is derived. Between acts, in steps of some hours:
//! - carbon dioxide in excess of the air under the cover leaves in first order: exact for a step, with what the water
//!   gives back as its carbonate shifts in linear form;
//! - free chlorine is used in first order and made by the cell: exact for a step; what bathers brought takes its share
//!   at a pace of its own while there is chlorine. Made and used chlorine are each other's reverse, in acid too, but that what
//!   bathers brought leaves some more of it;
//! - each dose is stirred in with jets on and the cover off, which lets out carbon dioxide as an hour's bathing does;
//! - what evaporates is made up with source water, and so is what leaks, which takes its salt along.
//!
//! A reduced form of crate `tub`, held against it by a test: what the readings of a technician cannot tell apart is one
//! parameter here.

use super::end_point::EndPoint;
use super::history::{Act, History, Start};
use super::kits::Kits;
use super::near::{Carbonates, Near};
use super::oxidant::{Oxidant, Remains};
use super::parameter::{Name, Parameter, WEEK_H};
use super::unrecorded::Suspected;
use water::units::{eq_kg_from_mg_l_caco3, mol_kg_from_hardness_mg_l_caco3, mol_kg_from_mg_l, molar_mass};
use water::{Equilibria, Hint, Ph, Speciation, Totals};

/// Acid that chlorine leaves with what bathers brought beyond one equivalent for each mole: ammonia and nitrate are no bases any
/// more. From what sweat holds (WHO 2006, Guidelines for safe recreational water environments vol. 2, table 4.1, as crate `tub`
/// has it) and what becomes of urea (De Laat et al. 2011); held against it in `against_physics`.
pub(super) const MORE_ACID: f64 = 0.26;
/// Where no bathing was written down, this share of what the tub uses is taken to be its bathers' (judgement).
pub(super) const IN_BURSTS: f64 = 0.7;
/// Longest step, hours.
pub(super) const STEP_H: f64 = 6.0;
/// Water carried out by a bather in an hour and made up, L (judgement; crate `tub`, where bathers play, has 4: what is more is a leak's).
const SPLASH_L: f64 = 2.0;
/// Beyond this all has left, ln: a millionth remains.
const LONGEST_LOSS: f64 = 13.8;
/// Start pH's range that can be asked for.
const START_PH: (f64, f64) = (5.5, 9.8);

/// The parameters as things.
#[derive(Debug, Clone)]
pub(super) struct Things {
    pub(super) volume_l: f64,
    /// What was told, whatever the true volume is.
    told_l: f64,
    pub(super) demand_per_h: f64,
    pub(super) bather_mol: f64,
    pub(super) pace_per_h: f64,
    carbon_per_h: f64,
    bathing_loss: f64,
    air_mol_kg: f64,
    pub(super) cell_mol_per_h: f64,
    pub(super) decline_per_h: f64,
    evaporation_l_per_h: f64,
    pub(super) leak_l_per_h: f64,
    /// Base that goes in without an entry.
    base_eq_kg_per_h: f64,
    pub(super) source: Totals,
    start: [f64; 6],
    measures: Vec<f64>,
    pub(super) unseen: f64,
    pub(super) week_demand: Vec<f64>,
    week_carbon: Vec<f64>,
    pub(super) kits: Kits,
    pub(super) unrecorded: Vec<f64>,
    pub(super) bursts: Bursts,
}

/// Days ahead whose demand differs from the week's.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Bursts {
    pub(super) from_h: f64,
    /// Each day's demand as a multiple of the week's.
    pub(super) days: Vec<f64>,
}

impl Bursts {
    pub(super) fn at(&self, at_h: f64) -> f64 {
        let day = (at_h - self.from_h) / 24.0;
        if day < 0.0 { 1.0 } else { self.days.get(day as usize).copied().unwrap_or(1.0) }
    }
}

impl Things {
    pub(super) fn of(history: &History, at: &Equilibria, parameters: &[Parameter], scores: &[f64]) -> Things {
        let source = history.source.unwrap_or_default();
        let mut t = Things {
            volume_l: history.volume_l,
            told_l: history.volume_l,
            demand_per_h: 0.0,
            bather_mol: 0.0,
            pace_per_h: 0.0,
            carbon_per_h: 0.0,
            bathing_loss: 0.0,
            air_mol_kg: 0.0,
            cell_mol_per_h: 0.0,
            decline_per_h: 0.0,
            evaporation_l_per_h: 0.0,
            leak_l_per_h: 0.0,
            base_eq_kg_per_h: 0.0,
            source,
            start: [0.0; 6],
            measures: vec![1.0; history.measures.len()],
            unseen: if history.bathing_is_seen() { 0.0 } else { IN_BURSTS },
            week_demand: Vec::new(),
            week_carbon: Vec::new(),
            kits: Kits::of(history.kits.len(), parameters.iter().zip(scores.iter().copied())),
            unrecorded: Vec::new(),
            bursts: Bursts::default(),
        };
        let set = |list: &mut Vec<f64>, i: usize, x: f64| {
            if list.len() <= i {
                list.resize(i + 1, 1.0);
            }
            if let Some(place) = list.get_mut(i) {
                *place = x;
            }
        };
        for (p, score) in parameters.iter().zip(scores) {
            let x = p.at(*score);
            match p.name {
                Name::Volume => t.volume_l = x,
                // A share a day as a first-order rate, per hour.
                Name::Demand => t.demand_per_h = x / 24.0,
                Name::Bather => t.bather_mol = x / molar_mass::CL2,
                Name::BatherPace => t.pace_per_h = x,
                Name::CarbonLoss => t.carbon_per_h = x / 24.0,
                Name::BathingLoss => t.bathing_loss = x,
                Name::Air => t.air_mol_kg = at.co2_at_pressure_mol_kg(x * 1e-6),
                Name::Cell => t.cell_mol_per_h = x / (24.0 * molar_mass::CL2),
                Name::CellDecline => t.decline_per_h = x / 2400.0,
                Name::Evaporation => t.evaporation_l_per_h = x / 24.0,
                Name::Leak => t.leak_l_per_h = x / 24.0,
                Name::Base => t.base_eq_kg_per_h = eq_kg_from_mg_l_caco3(x) / 24.0,
                Name::SourceAlkalinity => {
                    let more = (x - 1.0) * source.alkalinity;
                    t.source.alkalinity += more;
                    exchange(&mut t.source.sodium, &mut t.source.chloride, more);
                    t.source.carbon *= x;
                }
                Name::SourceCalcium => {
                    add_calcium(&mut t.source, (x - 1.0) * source.calcium);
                }
                Name::StartPh => t.start[0] = x,
                Name::StartAlkalinity => t.start[1] = x,
                Name::StartChlorine => t.start[2] = x,
                Name::StartCyanurate => t.start[3] = x,
                Name::StartCalcium => t.start[4] = x,
                Name::StartSalt => t.start[5] = x,
                Name::Measure(i) => set(&mut t.measures, i, x),
                Name::Hand | Name::KitError(_) | Name::Bias(_) | Name::Drift(_) => {}
                Name::WeekDemand(i) => set(&mut t.week_demand, i, x),
                Name::WeekCarbon(i) => set(&mut t.week_carbon, i, x),
                Name::Unrecorded(i) => set(&mut t.unrecorded, i, x),
            }
        }
        t
    }

    /// The water at the start.
    fn first(&self, start: &Start, at: &Equilibria) -> Option<Totals> {
        match start {
            // A fill loses or finds a little carbon dioxide on its way.
            Start::Filled(_) => {
                let ph = at.solve(&self.source).ok()?.ph().0 + self.start[0];
                let ph = Ph(ph.clamp(START_PH.0, START_PH.1));
                at.solve_at_ph(&self.source, ph).ok().map(|s| s.totals)
            }
            Start::Unknown => {
                let [ph, alkalinity, _, cyanurate, calcium, salt] = self.start;
                let free_chlorine = self.start_chlorine_mol_kg();
                let totals = Totals {
                    alkalinity: eq_kg_from_mg_l_caco3(alkalinity) - free_chlorine,
                    calcium: mol_kg_from_hardness_mg_l_caco3(calcium),
                    magnesium: 0.2 * mol_kg_from_hardness_mg_l_caco3(calcium),
                    cyanurate: mol_kg_from_mg_l(cyanurate, molar_mass::CYANURIC_ACID),
                    chloride: mol_kg_from_mg_l(salt, molar_mass::NACL),
                    free_chlorine,
                    ..Totals::default()
                };
                let ph = Ph(ph.clamp(START_PH.0, START_PH.1));
                let solved = at.solve_at_ph(&totals, ph).ok()?.totals;
                // Chloride was said: what is missing is sodium, or another anion.
                let short = solved.charge_imbalance();
                Some(if short < 0.0 {
                    Totals { sodium: solved.sodium - short, ..solved }
                } else {
                    Totals { inert_anion: solved.inert_anion + short, ..solved }
                })
            }
        }
    }

    /// Free chlorine of a start that nobody knows, mol/kg.
    pub(super) fn start_chlorine_mol_kg(&self) -> f64 {
        mol_kg_from_mg_l(self.start[2], molar_mass::CL2)
    }

    /// What a product's measure holds, as a multiple of what is written down.
    pub(super) fn held(&self, product: usize) -> f64 {
        self.measures.get(product).copied().unwrap_or(1.0)
    }

    /// Share of the water that bathers carry out.
    pub(super) fn splashed(&self, person_hours: f64) -> f64 {
        (SPLASH_L * person_hours / self.volume_l).min(0.5)
    }

    /// Amount of something that nobody wrote down, in its kind's own unit.
    pub(super) fn amount(&self, number: usize) -> f64 {
        self.unrecorded.get(number).copied().unwrap_or(0.0)
    }

    pub(super) fn week(list: &[f64], at_h: f64) -> f64 {
        list.get((at_h.max(0.0) / WEEK_H) as usize).or(list.last()).copied().unwrap_or(1.0)
    }
}

/// Ions of a slight dose at most, mol/kg: less than moves an activity coefficient by a thousandth.
const SLIGHT: f64 = 3e-4;

/// Whether a dose is one that [`EndPoint`] can follow. It goes by the entries alone, so that the course stays smooth.
fn is_slight(moles: &Totals, litres: f64) -> bool {
    let t = moles;
    let followed =
        [t.alkalinity, t.carbon, t.sodium, t.potassium, t.sulfate, t.chloride, t.cyanurate, t.free_chlorine];
    let paired = [t.calcium, t.magnesium, t.boron, t.ammonia, t.bromide];
    followed.iter().map(|x| x.abs()).sum::<f64>() < SLIGHT * litres && paired.iter().all(|x| *x == 0.0)
}

/// More of one ion, or less while there is any of it, and then more of its counterpart: the charge stays closed, and there is
/// no less than nothing of either.
fn exchange(ion: &mut f64, counterpart: &mut f64, more: f64) {
    *ion += more;
    if *ion < 0.0 {
        *counterpart -= *ion;
        *ion = 0.0;
    }
}

/// Calcium with its chloride, or less of both, mol/kg.
fn add_calcium(totals: &mut Totals, mol: f64) {
    totals.calcium += mol;
    exchange(&mut totals.chloride, &mut totals.sodium, 2.0 * mol);
}

/// Sodium bicarbonate, eq/kg.
fn add_bicarbonate(totals: &mut Totals, eq: f64) {
    totals.alkalinity += eq;
    totals.sodium += eq;
    totals.carbon += eq;
}

/// A water under way.
#[derive(Debug, Clone, Copy)]
pub(super) struct Now {
    pub(super) at_h: f64,
    pub(super) totals: Totals,
    oxidant: Oxidant,
    /// What helps to solve it.
    hint: Option<Hint>,
    near: Option<Near>,
    end_point: Option<EndPoint>,
    leak: Remains,
    /// Hour of the last dose, which was stirred in with jets on and the cover off.
    stirred_h: f64,
}

/// A dose is stirred in for half an hour, jets on and cover off (common practice: 20 to 30 minutes), hours.
const STIRRED_H: f64 = 0.5;
/// No loss and no airing takes more of the carbon.
const LET_OUT_MOST: f64 = 0.9;

/// Hours for which [`Near`] is held at most.
const NEAR_H: f64 = 24.0;

impl Now {
    /// At hour 0.
    fn first(totals: Totals) -> Now {
        Now {
            at_h: 0.0,
            totals,
            oxidant: Oxidant::FIRST,
            hint: None,
            near: None,
            end_point: None,
            leak: Remains::NOTHING_GONE,
            stirred_h: f64::NEG_INFINITY,
        }
    }

    /// The water, solved.
    pub(super) fn solved(&mut self, at: &Equilibria) -> Option<Speciation> {
        let by_hint = at.solve_by(&self.totals, self.hint.as_ref());
        let solved = by_hint.or_else(|_| at.solve(&self.totals)).ok()?;
        self.hint = Some(solved.hint());
        Some(solved)
    }

    /// What a titration of its alkalinity reads, eq/kg.
    pub(super) fn titrated_eq_kg(&mut self, at: &Equilibria) -> Option<f64> {
        if self.end_point.is_none_or(|end| !end.holds(self.at_h)) {
            self.end_point = EndPoint::of(at, &self.totals, self.at_h);
        }
        self.end_point.map(|end| end.titrated(&self.totals))
    }

    /// So much chlorine was left that was taken to be used, mol/kg; less than nothing is the reverse.
    pub(super) fn leave_unused(&mut self, mol: f64) {
        let mol = mol.max(-self.totals.free_chlorine);
        self.totals.free_chlorine += mol;
        self.totals.chloride -= mol;
        self.totals.alkalinity += mol;
    }

    /// Something changed what was held of it.
    pub(super) fn forget(&mut self) {
        (self.near, self.end_point) = (None, None);
    }

    /// Its carbonates.
    pub(super) fn carbonates(&mut self, at: &Equilibria) -> Option<Carbonates> {
        if self.near.is_none_or(|near| self.at_h - near.at_h >= NEAR_H - 1e-9) {
            self.near = Near::of(&self.solved(at)?, self.at_h);
        }
        self.near?.carbonates(&self.totals)
    }
}

/// A tub with its parameters, ready to be followed.
pub(super) struct Course<'a> {
    pub(super) at: &'a Equilibria,
    pub(super) things: Things,
}

impl Course<'_> {
    /// The water at hour 0.
    pub(super) fn begin(&self, start: &Start) -> Option<Now> {
        let totals = self.things.first(start, self.at)?;
        Some(Now::first(totals))
    }

    /// Lets time pass until `until_h`; `None` if the water leaves what the chemistry covers.
    pub(super) fn pass(&self, now: &mut Now, until_h: f64) -> Option<()> {
        while until_h - now.at_h > 1e-9 {
            let hours = (until_h - now.at_h).min(STEP_H);
            self.step(now, hours)?;
            now.at_h += hours;
        }
        Some(())
    }

    fn step(&self, now: &mut Now, hours: f64) -> Option<()> {
        let t = &self.things;
        let rate = t.carbon_per_h * Things::week(&t.week_carbon, now.at_h + 0.5 * hours);
        self.lose_carbon(now, rate * hours)?;
        let before = now.totals.free_chlorine;
        let (after, by_bathers) =
            now.oxidant.step(before, &t.rates(now.at_h, hours, now.oxidant.cell), hours);
        // A cell makes no more than there is chloride for.
        let after = after.min(before + now.totals.chloride.max(0.0));
        // HOCl + Cl-'s electron pair: what is made takes a chloride and leaves a base, what is used gives both back.
        now.totals.free_chlorine = after;
        now.totals.chloride -= after - before;
        let more_acid = MORE_ACID * by_bathers;
        now.totals.alkalinity += after - before - more_acid;
        now.totals.inert_anion += more_acid;
        if t.base_eq_kg_per_h > 0.0 {
            add_bicarbonate(&mut now.totals, t.base_eq_kg_per_h * hours);
        }
        if t.evaporation_l_per_h > 0.0 {
            now.totals = now.totals.plus(&t.source, t.evaporation_l_per_h * hours / t.volume_l);
        }
        if t.leak_l_per_h > 0.0 {
            // What leaves takes its salt along: a first-order exchange, exact for a step.
            let stays = now.leak.after(t.leak_l_per_h * hours / t.volume_l);
            self.replace(now, 1.0 - stays);
        }
        Some(())
    }

    /// Carbon dioxide in excess of the air's leaves; the carbonate follows.
    ///
    /// With only water open to the air the excess would fall by e^−`loss`; of each mole that leaves, the water gives back a
    /// part from bicarbonate, so that its own CO2 falls by only `slope` of it and relaxation is slower by `slope`.
    fn lose_carbon(&self, now: &mut Now, loss: f64) -> Option<()> {
        if loss <= 0.0 {
            return Some(());
        }
        let Carbonates { gas, slope, .. } = now.carbonates(self.at)?;
        let excess = gas - self.things.air_mol_kg;
        let left = libm::exp(-slope * loss.min(LONGEST_LOSS));
        let leaves = excess * (1.0 - left) / slope.max(1e-6);
        // Uptake from the air cannot more than fill it, loss not more than empty it.
        now.totals.carbon -= leaves.min(LET_OUT_MOST * now.totals.carbon);
        Some(())
    }

    /// Something happens.
    pub(super) fn act(&self, now: &mut Now, act: &Act) -> Option<()> {
        let t = &self.things;
        match *act {
            Act::Dose { moles, product } => {
                now.totals = now.totals.plus(&moles, t.held(product) / t.volume_l);
                if is_slight(&moles, t.told_l) {
                    now.near = None;
                } else {
                    now.forget();
                }
                // What takes chlorine away takes no more than there is.
                now.totals.free_chlorine = now.totals.free_chlorine.max(0.0);
                // Doses that follow each other within the half hour share it.
                let hours = (now.at_h - now.stirred_h).clamp(0.0, STIRRED_H);
                now.stirred_h = now.at_h;
                self.lose_carbon(now, t.bathing_loss * hours)?;
            }
            Act::Replaced(share) => {
                self.replace(now, share);
                now.forget();
            }
            Act::LetOut(mol) => {
                now.totals.carbon -= (mol / t.volume_l).min(LET_OUT_MOST * now.totals.carbon);
                now.near = None;
            }
            Act::Bathers(person_hours) => {
                self.lose_carbon(now, t.bathing_loss * person_hours)?;
                now.oxidant.debt += t.bather_mol * person_hours / t.volume_l;
                self.replace(now, t.splashed(person_hours));
            }
            Act::Cell(output) => now.oxidant.cell = output,
            Act::Unrecorded { suspected, number } => {
                self.unrecorded(now, suspected, t.amount(number));
                now.forget();
            }
        }
        Some(())
    }

    /// Something that nobody wrote down: an amount of the kind's own unit; where less than nothing means nothing it is none.
    fn unrecorded(&self, now: &mut Now, suspected: Suspected, amount: f64) {
        let totals = &mut now.totals;
        match suspected {
            Suspected::Chlorine => {
                // As sodium hypochlorite; less than nothing is something that took chlorine away.
                let mol = mol_kg_from_mg_l(amount, molar_mass::CL2).max(-totals.free_chlorine);
                totals.free_chlorine += mol;
                if mol > 0.0 {
                    totals.sodium += 2.0 * mol;
                    totals.chloride += mol;
                    totals.alkalinity += mol;
                } else {
                    totals.chloride -= mol;
                    totals.alkalinity += mol;
                }
            }
            Suspected::Alkalinity => {
                // Acid without carbon, base as bicarbonate: what owners have.
                let eq = eq_kg_from_mg_l_caco3(amount);
                if eq > 0.0 {
                    add_bicarbonate(totals, eq);
                } else {
                    totals.alkalinity += eq;
                    totals.sulfate -= 0.5 * eq;
                }
            }
            Suspected::Salt => {
                // None is ever taken out but with the water.
                let mol = mol_kg_from_mg_l(amount.max(0.0), molar_mass::NACL);
                totals.sodium += mol;
                totals.chloride += mol;
            }
            Suspected::Calcium => {
                add_calcium(totals, mol_kg_from_hardness_mg_l_caco3(amount).max(-totals.calcium));
            }
            Suspected::Cyanurate => {
                // The acid itself, which brings no base.
                totals.cyanurate += mol_kg_from_mg_l(amount.max(0.0), molar_mass::CYANURIC_ACID);
            }
            Suspected::Replaced => self.replace(now, (amount / 100.0).clamp(0.0, 1.0)),
        }
    }

    fn replace(&self, now: &mut Now, share: f64) {
        now.totals = now.totals.mixed_with(&self.things.source, share);
        now.oxidant.debt *= 1.0 - share;
    }
}
