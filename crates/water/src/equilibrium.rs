//! The equilibrium solve: from conserved totals and a temperature to pH and every dissolved species.
//!
//! In: [`Totals`] and a temperature. Out: a [`Speciation`]. Two ways round: alkalinity + carbon give the pH,
//! alkalinity + pH give the carbon; a third, pH + carbon → alkalinity, serves titrations.
//!
//! Method: with the components chosen at the zero level of alkalinity, the mass balances are the gradient of the
//! convex function Σ m(x) − Σ T·x in x = ln a(component), so Newton's method finds the one minimum. Components that
//! meet no other of their kind (`parts`) are shared out exactly in every sweep; the search (`newton`) is left with
//! hydrogen, carbon, sulfate, the halogens and the ionic strength. It starts from a rough solve (`guess`). Activity
//! coefficients and the activity of water are renewed in every sweep. No heap allocation; sweeps are bounded.
//!
//! Left out: redox between the components (kinetics of chlorine belong to the tub in time), solids and gases
//! (saturation tells about them), pressure.
//! Checked: `tests/phreeqc.rs` in both directions, `tests/properties.rs` (mass, charge, round trip, a million waters).

mod guess;
mod newton;
mod parts;

use crate::activity::{ActivityClasses, CLASSES, ClassGammas, DebyeHuckel};
use crate::constants::{self, LogK};
use crate::error::WaterError;
use crate::linear::{self, Vector};
use crate::species::{COMPONENTS, COUNT, Id, TABLE};
use crate::totals::Totals;
use crate::units::{Celsius, Ph, mg_l_caco3_from_eq_kg};
use guess::{Missed, Start};
use newton::{Molalities, Search, Sums};
use parts::{Active, CARBON, CORE, CORE_COMPONENTS, CORE_WITHOUT_OXIDANT, HYDROGEN, OXIDANT, form, part};

const LN_10: f64 = std::f64::consts::LN_10;
/// Sweeps before the solver gives up; ordinary waters take three or four.
const MAX_SWEEPS: u32 = 300;
/// Settled when the last step changed no ln activity by more: Newton's method squares it, so what remains is about 1e-9.
const TOLERANCE: f64 = 4e-5;
/// The same for ionic strength, as a share of it.
const STRENGTH_TOLERANCE: f64 = 1e-4;
/// The same for the activity of water, which the step foresees but does not solve for.
const WATER_TOLERANCE: f64 = 2e-9;

/// Accepted temperatures, °C: the constants' common range.
pub const TEMPERATURE_RANGE_C: (f64, f64) = (0.0, 50.0);
/// Accepted pH.
pub const PH_RANGE: (f64, f64) = (2.0, 12.5);

/// A water in equilibrium: molality and activity of every species.
#[derive(Debug, Clone, Copy)]
pub struct Speciation {
    /// Temperature of the solve.
    pub temperature: Celsius,
    /// Totals, with the one that was sought filled in.
    pub totals: Totals,
    /// Ionic strength, mol/kg.
    pub ionic_strength: f64,
    /// Activity of water.
    pub water_activity: f64,
    /// Sweeps that the solve took.
    pub sweeps: u32,
    /// ln activity of the core's components, in their order.
    ln_activity: [f64; CORE],
    /// What the solve's start had missed.
    missed: Missed,
    pub(crate) molality: [f64; COUNT],
    pub(crate) ln_gamma: [f64; COUNT],
}

/// What of a solved water helps to solve a similar one: a small part of it, for those who carry many waters along.
#[derive(Debug, Clone, Copy)]
pub struct Hint(Missed);

impl Speciation {
    /// For [`Equilibria::solve_by`].
    pub fn hint(&self) -> Hint {
        Hint(self.missed)
    }

    /// pH, molal activity scale.
    pub fn ph(&self) -> Ph {
        Ph(-self.ln_activity[HYDROGEN] / LN_10)
    }

    /// Molality of a species, mol/kg; 0 if it cannot form here.
    pub fn molality(&self, id: Id) -> f64 {
        self.molality[id as usize]
    }

    /// log10 of a species' activity coefficient.
    pub fn log10_gamma(&self, id: Id) -> f64 {
        self.ln_gamma[id as usize] / LN_10
    }

    /// log10 of a species' activity; −∞ if it is absent.
    pub fn log10_activity(&self, id: Id) -> f64 {
        (self.molality(id).ln() + self.ln_gamma[id as usize]) / LN_10
    }

    /// Every species that is present: name, molality in mol/kg, log10 γ.
    pub fn species(&self) -> impl Iterator<Item = (&'static str, f64, f64)> + '_ {
        TABLE
            .iter()
            .zip(self.molality)
            .zip(self.ln_gamma)
            .filter(|((_, m), _)| *m > 0.0)
            .map(|((s, m), g)| (s.name, m, g / LN_10))
    }

    /// Osmolality: moles of everything dissolved, mol/kg (osmotic coefficient taken as 1).
    pub fn osmolality_mol_kg(&self) -> f64 {
        let t = &self.totals;
        let inert = t.inert_cation + t.inert_anion + t.monopersulfate + t.thiosulfate + t.hydrogen_peroxide;
        self.molality.iter().sum::<f64>() + inert
    }

    /// Charge error as a percentage: 100·(cations − anions)/(cations + anions), equivalents of all species.
    pub fn charge_imbalance_percent(&self) -> f64 {
        let t = &self.totals;
        let mut cations = t.inert_cation;
        let mut anions = t.inert_anion + t.monopersulfate + 2.0 * t.thiosulfate;
        for (s, m) in TABLE.iter().zip(self.molality) {
            let eq = f64::from(s.charge) * m;
            if eq > 0.0 { cations += eq } else { anions -= eq }
        }
        if cations + anions == 0.0 { 0.0 } else { 100.0 * (cations - anions) / (cations + anions) }
    }
}

impl Speciation {
    /// Derivatives of every ln a(component) with respect to alkalinity (per eq/kg) and to carbon (per mol/kg), activity
    /// coefficients held: two columns of the inverse of the equilibrium's own matrix.
    pub(crate) fn ln_activity_responses(&self) -> (Vector, Vector) {
        let active = Active::of(&self.totals.components(), Known::Both);
        let mut m = [0.0; COUNT];
        for (m, &s) in m.iter_mut().zip(active.species()) {
            *m = self.molality[s as usize];
        }
        let held = [0.0; CLASSES];
        let mut sums = Sums::<CORE>::of(&active, &m, &held);
        for i in 0..CORE {
            if !active.core[i] {
                sums.jacobian[i][i] = 1.0;
            }
        }
        let mut core = [[0.0; CORE]; 2];
        core[0][HYDROGEN] = -1.0;
        core[1][CARBON] = 1.0;
        linear::solve(&mut sums.jacobian, &mut core);
        core.map(|core| {
            let mut all: Vector = [0.0; COMPONENTS];
            for (c, x) in CORE_COMPONENTS.iter().zip(core) {
                all[*c as usize] = x;
            }
            // A satellite's own activity moves against what its species do with the core, so that its total holds.
            for g in active.groups() {
                let moved: f64 = active.species()[g.start..g.end]
                    .iter()
                    .map(|&s| {
                        let by_core: f64 = form(part(s).form).n.iter().zip(core).map(|(n, x)| n * x).sum();
                        self.molality[s as usize] * by_core
                    })
                    .sum();
                all[g.component] = -moved / g.total;
            }
            all
        })
        .into()
    }
}

/// What is known beside the totals.
#[derive(Clone, Copy)]
enum Known {
    /// Alkalinity and carbon: find the pH.
    Both,
    /// Alkalinity and pH: find the carbon.
    Ph(f64),
    /// Carbon and pH: find the alkalinity.
    PhAndCarbon(f64),
}

/// ln K of every species' formation: the coefficients of each term of temperature, term by term.
static LN_K_COEFFICIENTS: [[f64; COUNT]; 6] = {
    let mut by_term = [[0.0; COUNT]; 6];
    let mut s = 0;
    while s < COUNT {
        let mut term = 0;
        while term < 6 {
            by_term[term][s] = LN_10 * TABLE[s].log_k[term];
            term += 1;
        }
        s += 1;
    }
    by_term
};

/// Equilibrium and activity constants at one temperature, ready to solve any number of waters.
#[derive(Debug, Clone)]
pub struct Equilibria {
    temperature: Celsius,
    activity: ActivityClasses,
    ln_k: [f64; COUNT],
    pub(crate) log_k_calcite: f64,
    pub(crate) log_k_aragonite: f64,
    pub(crate) log_k_gypsum: f64,
    pub(crate) log_k_co2_gas: f64,
}

impl Equilibria {
    /// Constants at a temperature.
    ///
    /// # Errors
    /// [`WaterError::OutOfRange`] outside [`TEMPERATURE_RANGE_C`].
    pub fn at(t: Celsius) -> Result<Self, WaterError> {
        let (low, high) = TEMPERATURE_RANGE_C;
        if !t.0.is_finite() {
            return Err(WaterError::NotANumber { field: "temperature_c" });
        }
        if !(low..=high).contains(&t.0) {
            return Err(WaterError::OutOfRange {
                field: "temperature_c", value: t.0, unit: "°C", low, high
            });
        }
        let k = t.kelvin();
        let terms = [1.0, k, 1.0 / k, k.log10(), 1.0 / (k * k), k * k];
        let mut ln_k = [0.0; COUNT];
        for (coefficients, term) in LN_K_COEFFICIENTS.iter().zip(terms) {
            for (ln_k, a) in ln_k.iter_mut().zip(coefficients) {
                *ln_k += a * term;
            }
        }
        let log_k = |k: &LogK| k.a.iter().zip(terms).map(|(a, x)| a * x).sum::<f64>();
        Ok(Equilibria {
            temperature: t,
            activity: ActivityClasses::new(&DebyeHuckel::at(t)),
            ln_k,
            log_k_calcite: log_k(&constants::CALCITE),
            log_k_aragonite: log_k(&constants::ARAGONITE),
            log_k_gypsum: log_k(&constants::GYPSUM),
            log_k_co2_gas: log_k(&constants::CARBON_DIOXIDE_GAS),
        })
    }

    /// The temperature of these constants.
    pub fn temperature(&self) -> Celsius {
        self.temperature
    }

    /// pH from alkalinity and carbon.
    ///
    /// # Errors
    /// [`WaterError`] if a total is outside its range, the pH would be outside [`PH_RANGE`], or the solve does not settle.
    pub fn solve(&self, totals: &Totals) -> Result<Speciation, WaterError> {
        self.solve_from(totals, None)
    }

    /// As [`Self::solve`], with the start put right by what that of a similar water had missed; the same answer.
    ///
    /// # Errors
    /// As [`Self::solve`].
    pub fn solve_from(&self, totals: &Totals, start: Option<&Speciation>) -> Result<Speciation, WaterError> {
        self.solve_by(totals, start.map(|s| Hint(s.missed)).as_ref())
    }

    /// As [`Self::solve_from`], where only the hint of the similar water was kept.
    ///
    /// # Errors
    /// As [`Self::solve`].
    pub fn solve_by(&self, totals: &Totals, hint: Option<&Hint>) -> Result<Speciation, WaterError> {
        totals.check()?;
        let solved = self.sweep(totals, Known::Both, hint)?;
        let (low, high) = PH_RANGE;
        let ph = solved.ph().0;
        if (low..=high).contains(&ph) {
            Ok(solved)
        } else {
            Err(WaterError::OutOfRange { field: "ph (as it results)", value: ph, unit: "", low, high })
        }
    }

    /// Carbon from alkalinity and pH; `totals.carbon` is ignored and filled in.
    ///
    /// # Errors
    /// [`WaterError::NoRoomForCarbonate`] if the alkalinity is already taken up without carbon; else as [`Self::solve`].
    pub fn solve_at_ph(&self, totals: &Totals, ph: Ph) -> Result<Speciation, WaterError> {
        check_ph(ph)?;
        let totals = Totals { carbon: 0.0, ..*totals };
        totals.check()?;
        if let Some(solved) = self.with_plenty_of_carbonate(&totals, ph) {
            solved.totals.check()?;
            return Ok(solved);
        }
        let bare = self.sweep(&totals, Known::PhAndCarbon(ph.0), None)?;
        let room = totals.alkalinity - bare.totals.alkalinity;
        if room < -1e-12 {
            return Err(WaterError::NoRoomForCarbonate {
                given: mg_l_caco3_from_eq_kg(totals.alkalinity),
                without_carbon: mg_l_caco3_from_eq_kg(bare.totals.alkalinity),
                ph: ph.0,
            });
        }
        if room < 1e-12 {
            return Ok(bare); // a water without carbon, to the last digit that means anything
        }
        let solved = self.sweep(&totals, Known::Ph(ph.0), None)?;
        solved.totals.check()?;
        Ok(solved)
    }

    /// The usual water, where most of the alkalinity is carbonate's: found at once, without first asking how much room
    /// there is.
    fn with_plenty_of_carbonate(&self, totals: &Totals, ph: Ph) -> Option<Speciation> {
        if totals.alkalinity < 1e-5 {
            return None;
        }
        let solved = self.sweep(totals, Known::Ph(ph.0), None).ok()?;
        (solved.totals.carbon > 0.1 * totals.alkalinity).then_some(solved)
    }

    /// The alkalinity that this water has once it is brought to a pH with its carbon kept: a titration's end point.
    ///
    /// # Errors
    /// As [`Self::solve`].
    pub fn with_alkalinity_of(&self, totals: &Totals, ph: Ph) -> Result<Speciation, WaterError> {
        check_ph(ph)?;
        totals.check()?;
        self.sweep(totals, Known::PhAndCarbon(ph.0), None)
    }

    fn sweep(&self, totals: &Totals, known: Known, start: Option<&Hint>) -> Result<Speciation, WaterError> {
        let components = totals.components();
        let active = Active::of(&components, known);
        if active.core[OXIDANT] {
            self.search::<CORE>(totals, &active, known, start)
        } else {
            self.search::<CORE_WITHOUT_OXIDANT>(totals, &active, known, start)
        }
    }

    /// The search in the first `N` components of the core.
    fn search<const N: usize>(
        &self,
        totals: &Totals,
        active: &Active,
        known: Known,
        similar: Option<&Hint>,
    ) -> Result<Speciation, WaterError> {
        let rough = guess::from_totals(totals, &self.activity, &self.ln_k, known);
        let Start { mut x, mut strength, mut water, .. } =
            similar.map_or(rough, |similar| rough.corrected_by(&similar.0));
        if let Known::Ph(ph) | Known::PhAndCarbon(ph) = known {
            x[HYDROGEN] = -ph * LN_10;
        }
        let mut ln_k = [0.0; COUNT];
        for (ln_k, &s) in ln_k.iter_mut().zip(active.species()) {
            *ln_k = self.ln_k[s as usize];
        }
        let idle = active.idle_chloride + active.idle_bromide;
        let spectators = Spectators::of(totals).and_monovalent(idle);
        let search = Search::<N> { active, ln_k: &ln_k, known, spectators };
        let mut now = Molalities { m: [0.0; COUNT], strength: 0.0, moles: 0.0 };
        let (mut step, mut small) = (f64::INFINITY, false);
        for sweeps in 1..=MAX_SWEEPS {
            let gamma = self.activity.at(strength);
            search.molalities(&x, water.ln(), &gamma, &mut now);
            let water_gap = (water_activity(now.moles) - water).abs();
            let strength_gap = (now.strength - strength).abs();
            if small && strength_gap <= 1e-7 * strength + 1e-14 && water_gap <= 1e-9 {
                return Ok(Solved { active, now: &now, gamma: &gamma, known }.speciation(
                    self.temperature,
                    totals,
                    water,
                    sweeps,
                    x,
                    rough.missed(&x, now.strength, water),
                ));
            }
            let moved = search.newton_step(sweeps, &now, &gamma.slope, &mut x, &mut strength);
            let foreseen = water_activity(now.moles + moved.moles);
            small = moved.largest <= TOLERANCE
                && moved.strength <= STRENGTH_TOLERANCE * strength
                && (foreseen - water).abs() <= WATER_TOLERANCE;
            (step, water) = (moved.largest, foreseen);
        }
        Err(WaterError::NotSettled { sweeps: MAX_SWEEPS, step })
    }
}

/// Activity of water from everything dissolved, mol/kg.
fn water_activity(moles: f64) -> f64 {
    (1.0 - 0.017 * moles).max(0.3)
}

/// What the last sweep left, to be spread over all species.
struct Solved<'a> {
    active: &'a Active,
    now: &'a Molalities,
    gamma: &'a ClassGammas,
    known: Known,
}

impl Solved<'_> {
    fn speciation(
        &self,
        temperature: Celsius,
        totals: &Totals,
        water_activity: f64,
        sweeps: u32,
        ln_activity: [f64; CORE],
        missed: Missed,
    ) -> Speciation {
        let mut molality = [0.0; COUNT];
        let mut ln_gamma = [0.0; COUNT];
        for (&s, &m) in self.active.species().iter().zip(&self.now.m) {
            molality[s as usize] = m;
            ln_gamma[s as usize] = self.gamma.ln[part(s).class()];
        }
        for (id, idle) in [(Id::Chloride, self.active.idle_chloride), (Id::Bromide, self.active.idle_bromide)]
        {
            if idle > 0.0 {
                molality[id as usize] = idle;
                ln_gamma[id as usize] = self.gamma.ln[part(id as u8).class()];
            }
        }
        let held = |component: usize| -> f64 {
            let amount = |(s, m): (&u8, &f64)| form(part(*s).form).n[component] * m;
            self.active.species().iter().zip(&self.now.m).map(amount).sum()
        };
        let totals = match self.known {
            Known::Both => *totals,
            Known::Ph(_) => Totals { carbon: held(CARBON), ..*totals },
            Known::PhAndCarbon(_) => Totals { alkalinity: -held(HYDROGEN), ..*totals },
        };
        Speciation {
            temperature,
            totals,
            ionic_strength: self.now.strength,
            water_activity,
            sweeps,
            ln_activity,
            missed,
            molality,
            ln_gamma,
        }
    }
}

/// What takes no part in any reaction.
#[derive(Clone, Copy)]
struct Spectators {
    /// mol/kg of ionic strength.
    strength: f64,
    /// mol/kg.
    moles: f64,
}

impl Spectators {
    fn of(totals: &Totals) -> Self {
        let others = Spectators {
            strength: 2.0 * totals.thiosulfate,
            moles: totals.thiosulfate + totals.hydrogen_peroxide,
        };
        others.and_monovalent(totals.inert_cation + totals.inert_anion + totals.monopersulfate)
    }

    fn and_monovalent(self, moles: f64) -> Self {
        Spectators { strength: self.strength + 0.5 * moles, moles: self.moles + moles }
    }
}

fn check_ph(ph: Ph) -> Result<(), WaterError> {
    let (low, high) = PH_RANGE;
    if !ph.0.is_finite() {
        Err(WaterError::NotANumber { field: "ph" })
    } else if (low..=high).contains(&ph.0) {
        Ok(())
    } else {
        Err(WaterError::OutOfRange { field: "ph", value: ph.0, unit: "", low, high })
    }
}
