//! The equilibrium solve: from conserved totals and a temperature to pH and every dissolved species.
//!
//! In: [`Totals`] and a temperature. Out: a [`Speciation`]. Two ways round: alkalinity + carbon give the pH,
//! alkalinity + pH give the carbon; a third, pH + carbon → alkalinity, serves titrations.
//!
//! Method: with the components chosen at the zero level of alkalinity, the mass balances are the gradient of the
//! convex function Σ m(x) − Σ T·x in x = ln a(component), so Newton's method finds the one minimum. Activity
//! coefficients and the activity of water are renewed in every sweep. No heap allocation; sweeps are bounded.
//!
//! Left out: redox between the components (kinetics of chlorine belong to the tub in time), solids and gases
//! (saturation tells about them), pressure.
//! Checked: `tests/phreeqc.rs` in both directions, `tests/properties.rs` (mass, charge, round trip, a million waters).

use crate::activity::{ActivityClasses, CLASSES, ClassGammas, DebyeHuckel, class_of};
use crate::constants;
use crate::error::WaterError;
use crate::exponential;
use crate::linear::{self, Matrix, PADDED, Vector};
use crate::species::{COMPONENTS, COUNT, Component, Id, TABLE};
use crate::totals::Totals;
use crate::units::{Celsius, Ph, mg_l_caco3_from_eq_kg};

const LN_10: f64 = std::f64::consts::LN_10;
const HYDROGEN: usize = Component::Hydrogen as usize;
const CARBON: usize = Component::Carbon as usize;
const CHLORIDE: usize = Component::Chloride as usize;
/// Sweeps before the solver gives up; ordinary waters take six to ten.
const MAX_SWEEPS: u32 = 300;
/// No activity changes by more than this factor's logarithm in one sweep.
const MAX_STEP: f64 = 3.0;
/// Settled when the last step was no larger than this: Newton's method squares it, so what remains is below 1e-9.
const TOLERANCE: f64 = 1e-5;

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
    pub(crate) ln_activity: Vector,
    pub(crate) molality: [f64; COUNT],
    pub(crate) ln_gamma: [f64; COUNT],
}

impl Speciation {
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
        let mut matrix: Matrix = [[0.0; PADDED]; PADDED];
        for &s in active.species() {
            let part = &PARTS[s as usize];
            for (c, nu) in part.iter() {
                for (d, mu) in part.iter().filter(|(d, _)| *d <= c) {
                    matrix[c][d] += nu * mu * self.molality[s as usize];
                }
            }
        }
        let mut to_alkalinity = [0.0; PADDED];
        let mut to_carbon = [0.0; PADDED];
        to_alkalinity[HYDROGEN] = -1.0;
        to_carbon[CARBON] = 1.0;
        linear::solve_symmetric(&mut matrix, [&mut to_alkalinity, &mut to_carbon], active.unknowns());
        (to_alkalinity, to_carbon)
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
        for (ln_k, s) in ln_k.iter_mut().zip(&TABLE) {
            *ln_k = LN_10 * s.log_k.iter().zip(terms).map(|(a, x)| a * x).sum::<f64>();
        }
        Ok(Equilibria {
            temperature: t,
            activity: ActivityClasses::new(&DebyeHuckel::at(t)),
            ln_k,
            log_k_calcite: constants::CALCITE.at(t),
            log_k_aragonite: constants::ARAGONITE.at(t),
            log_k_gypsum: constants::GYPSUM.at(t),
            log_k_co2_gas: constants::CARBON_DIOXIDE_GAS.at(t),
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

    /// As [`Self::solve`], started from a similar water (fewer sweeps; the same answer).
    ///
    /// # Errors
    /// As [`Self::solve`].
    pub fn solve_from(&self, totals: &Totals, start: Option<&Speciation>) -> Result<Speciation, WaterError> {
        totals.check()?;
        let solved = self.sweep(totals, Known::Both, start)?;
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
        let mut totals = Totals { carbon: 0.0, ..*totals };
        totals.check()?;
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
        totals.carbon = room; // a first guess, replaced by the solve
        let solved = self.sweep(&totals, Known::Ph(ph.0), None)?;
        solved.totals.check()?;
        Ok(solved)
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

    fn sweep(
        &self,
        totals: &Totals,
        known: Known,
        start: Option<&Speciation>,
    ) -> Result<Speciation, WaterError> {
        let total = totals.components();
        let active = Active::of(&total, known);
        let spectator_chloride = if active.passive_chloride { totals.chloride } else { 0.0 };
        let spectator_strength = 0.5
            * (totals.inert_cation
                + totals.inert_anion
                + totals.monopersulfate
                + 4.0 * totals.thiosulfate
                + spectator_chloride);
        let spectator_moles = totals.inert_cation
            + totals.inert_anion
            + totals.monopersulfate
            + totals.thiosulfate
            + totals.hydrogen_peroxide
            + spectator_chloride;

        let mut strength = start.map_or_else(|| rough_strength(&total), |s| s.ionic_strength);
        let mut x = first_guess(&total, &active, &self.ln_k, strength, start);
        if let Known::Ph(ph) | Known::PhAndCarbon(ph) = known {
            x[HYDROGEN] = -ph * LN_10;
        }
        let mut water = start.map_or(1.0, |s| s.water_activity);
        // By place among the active species, not by species.
        let mut m = [0.0; COUNT];
        let mut ln_k = [0.0; COUNT];
        for (ln_k, &s) in ln_k.iter_mut().zip(active.species()) {
            *ln_k = self.ln_k[s as usize];
        }
        let mut step = f64::INFINITY;

        for sweeps in 1..=MAX_SWEEPS {
            let gamma = self.activity.at(strength);
            let ln_water = water.ln();
            for ((m, ln_k), &s) in m.iter_mut().zip(&ln_k).zip(active.species()) {
                let part = &PARTS[s as usize];
                *m = ln_k + part.water * ln_water - gamma.ln[part.class as usize % CLASSES] + part.dot(&x);
            }
            exponential::exp_in_place(&mut m[..active.species().len()]);
            let (mut new_strength, mut sum_m) = (spectator_strength, spectator_moles);
            for (m, &s) in m.iter().zip(active.species()) {
                new_strength += PARTS[s as usize].half_z2 * m;
                sum_m += m;
            }
            let strength_gap = new_strength - strength;
            let new_water = (1.0 - 0.017 * sum_m).max(0.3);
            let water_moved = (new_water - water).abs();
            water = new_water;

            if step <= TOLERANCE && strength_gap.abs() <= 1e-7 * strength + 1e-14 && water_moved <= 1e-9 {
                return Ok(Solved { active: &active, m: &m, gamma: &gamma, known }.speciation(
                    self.temperature,
                    totals,
                    new_strength,
                    water,
                    sweeps,
                    x,
                ));
            }

            let sweep =
                Sweep { total: &total, active: &active, m: &m, slope: &gamma.slope, strength_gap, known };
            step = sweep.newton_step(sweeps, &mut x, &mut strength);
        }
        Err(WaterError::NotSettled { sweeps: MAX_SWEEPS, step })
    }
}

/// What the last sweep left, to be spread over all species.
struct Solved<'a> {
    active: &'a Active,
    m: &'a [f64; COUNT],
    gamma: &'a ClassGammas,
    known: Known,
}

impl Solved<'_> {
    fn speciation(
        &self,
        temperature: Celsius,
        totals: &Totals,
        ionic_strength: f64,
        water_activity: f64,
        sweeps: u32,
        ln_activity: Vector,
    ) -> Speciation {
        let mut molality = [0.0; COUNT];
        let mut ln_gamma = [0.0; COUNT];
        let (mut carbon, mut hydrogen) = (0.0, 0.0);
        for (&s, &m) in self.active.species().iter().zip(self.m) {
            let part = &PARTS[s as usize];
            molality[s as usize] = m;
            ln_gamma[s as usize] = self.gamma.ln[part.class as usize % CLASSES];
            for (c, nu) in part.iter() {
                carbon += if c == CARBON { nu * m } else { 0.0 };
                hydrogen += if c == HYDROGEN { nu * m } else { 0.0 };
            }
        }
        if self.active.passive_chloride {
            molality[Id::Chloride as usize] = totals.chloride;
            ln_gamma[Id::Chloride as usize] =
                self.gamma.ln[PARTS[Id::Chloride as usize].class as usize % CLASSES];
        }
        let totals = match self.known {
            Known::Both => *totals,
            Known::Ph(_) => Totals { carbon, ..*totals },
            Known::PhAndCarbon(_) => Totals { alkalinity: -hydrogen, ..*totals },
        };
        Speciation {
            temperature,
            totals,
            ionic_strength,
            water_activity,
            sweeps,
            ln_activity,
            molality,
            ln_gamma,
        }
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

/// A species' make-up, flat: what the sweeps read.
#[derive(Clone, Copy)]
struct Part {
    /// Component indices, ascending; unused places hold a spare index with coefficient 0.
    component: [u8; 4],
    coefficient: [f64; 4],
    /// How many places are used.
    len: u8,
    /// Which class of activity coefficient.
    class: u8,
    /// A bit for every component in it.
    mask: u16,
    water: f64,
    half_z2: f64,
}

impl Part {
    #[inline]
    fn dot(&self, x: &Vector) -> f64 {
        let at = |i: usize| self.coefficient[i] * x[self.component[i] as usize % PADDED];
        (at(0) + at(1)) + (at(2) + at(3))
    }

    #[inline]
    fn iter(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        self.component
            .iter()
            .zip(&self.coefficient)
            .take(self.len as usize)
            .map(|(c, n)| (*c as usize % PADDED, *n))
    }
}

static PARTS: [Part; COUNT] = flatten();

const fn flatten() -> [Part; COUNT] {
    let spare = COMPONENTS as u8;
    let mut parts = [Part {
        component: [spare; 4],
        coefficient: [0.0; 4],
        len: 0,
        class: 0,
        mask: 0,
        water: 0.0,
        half_z2: 0.0,
    }; COUNT];
    let mut s = 0;
    while s < COUNT {
        let spec = &TABLE[s];
        let mut i = 0;
        while i < spec.made_of.len() {
            let (c, n) = spec.made_of[i];
            // Ascending components, so that a product of two lies in the lower triangle.
            let mut place = i;
            while place > 0 && parts[s].component[place - 1] > c as u8 {
                parts[s].component[place] = parts[s].component[place - 1];
                parts[s].coefficient[place] = parts[s].coefficient[place - 1];
                place -= 1;
            }
            parts[s].component[place] = c as u8;
            parts[s].coefficient[place] = n as f64;
            parts[s].mask |= 1 << c as u16;
            i += 1;
        }
        parts[s].len = spec.made_of.len() as u8;
        parts[s].class = class_of(spec) as u8;
        parts[s].water = spec.water as f64;
        parts[s].half_z2 = 0.5 * (spec.charge as f64) * (spec.charge as f64);
        s += 1;
    }
    parts
}

/// Which components and species take part.
struct Active {
    /// In ascending order.
    unknowns: [u8; COMPONENTS],
    count: usize,
    species: [u8; COUNT],
    species_count: usize,
    /// Chloride present but without chemistry (no oxidant): a spectator.
    passive_chloride: bool,
}

impl Active {
    fn of(total: &[f64; COMPONENTS], known: Known) -> Self {
        let there = |c: Component| total[c as usize] > 0.0;
        let oxidant = there(Component::Oxidant);
        let chloride_acts = oxidant && (there(Component::Chloride) || there(Component::Bromide));
        let mut active = Active {
            unknowns: [0; COMPONENTS],
            count: 0,
            species: [0; COUNT],
            species_count: 0,
            passive_chloride: there(Component::Chloride) && !oxidant,
        };
        let mut mask = 0u16;
        for (c, t) in total.iter().enumerate() {
            let present = match c {
                HYDROGEN => true,
                CHLORIDE => chloride_acts,
                CARBON => *t > 0.0 || matches!(known, Known::Ph(_)),
                _ => *t > 0.0,
            };
            if !present {
                continue;
            }
            mask |= 1 << c;
            let given = c == HYDROGEN && !matches!(known, Known::Both);
            if !given {
                active.unknowns[active.count] = c as u8;
                active.count += 1;
            }
        }
        for (s, part) in PARTS.iter().enumerate() {
            if part.mask & !mask == 0 {
                active.species[active.species_count] = s as u8;
                active.species_count += 1;
            }
        }
        active
    }

    fn species(&self) -> &[u8] {
        &self.species[..self.species_count]
    }

    fn unknowns(&self) -> &[u8] {
        &self.unknowns[..self.count]
    }
}

/// What a Newton step sums over the species.
struct Sums {
    /// Lower triangle of Σ m·ν·νᵀ.
    jacobian: Matrix,
    /// Balances: Σ ν·m − total.
    residual: Vector,
    /// Their slope with ionic strength, reversed.
    by_strength: Vector,
    /// Slope of ionic strength with each ln activity.
    strength_by_x: Vector,
}

impl Sums {
    /// One species of `LEN` components; unrolled, since this is where the time goes.
    #[inline(always)]
    fn add<const LEN: usize>(&mut self, part: &Part, m: f64, slope: f64) {
        for i in 0..LEN {
            let row = part.component[i] as usize % PADDED;
            let amount = part.coefficient[i] * m;
            self.residual[row] += amount;
            self.by_strength[row] += amount * slope;
            self.strength_by_x[row] += part.half_z2 * amount;
            let row = &mut self.jacobian[row];
            for j in 0..=i {
                row[part.component[j] as usize % PADDED] += amount * part.coefficient[j];
            }
        }
    }
}

/// One sweep's state: what the Newton step is made from.
struct Sweep<'a> {
    total: &'a [f64; COMPONENTS],
    active: &'a Active,
    /// Molality by place among the active species.
    m: &'a [f64; COUNT],
    /// d(ln γ)/dI of each class.
    slope: &'a [f64; CLASSES],
    /// Ionic strength of the species less the one their coefficients were taken at.
    strength_gap: f64,
    known: Known,
}

impl Sweep<'_> {
    /// A damped Newton step in ln activities and ionic strength together; returns the largest step.
    ///
    /// With m(x, I): the balances change by J·dx − u·dI, the strength by w·dx − v·dI, where u and v carry the slopes of
    /// the activity coefficients. Two right-hand sides with the same J eliminate dx.
    fn newton_step(&self, sweeps: u32, x: &mut Vector, strength: &mut f64) -> f64 {
        let mut sums = Sums {
            jacobian: [[0.0; PADDED]; PADDED],
            residual: [0.0; PADDED],
            by_strength: [0.0; PADDED],
            strength_by_x: [0.0; PADDED],
        };
        for (r, t) in sums.residual.iter_mut().zip(self.total) {
            *r = -t;
        }
        let mut strength_by_strength = 0.0;
        for (&s, &m) in self.active.species().iter().zip(self.m) {
            let part = &PARTS[s as usize];
            let slope = self.slope[part.class as usize % CLASSES];
            strength_by_strength += part.half_z2 * m * slope;
            match part.len {
                1 => sums.add::<1>(part, m, slope),
                2 => sums.add::<2>(part, m, slope),
                3 => sums.add::<3>(part, m, slope),
                _ => sums.add::<4>(part, m, slope),
            }
        }
        let Sums { jacobian, residual, by_strength, strength_by_x } = &mut sums;
        let right = [&mut *residual, &mut *by_strength];
        match self.known {
            // The balance of hydrogen (alkalinity) stands in for that of the carbon that is sought.
            Known::Ph(_) => {
                linear::solve_with_last_row_replaced(jacobian, right, self.active.unknowns(), HYDROGEN)
            }
            _ => linear::solve_symmetric(jacobian, right, self.active.unknowns()),
        }
        let along = |v: &Vector| -> f64 {
            self.active.unknowns().iter().map(|&c| v[c as usize] * strength_by_x[c as usize]).sum()
        };
        let denominator = 1.0 + strength_by_strength - along(by_strength);
        let raw = (self.strength_gap - along(residual)) / denominator;
        let strength_step =
            if raw.is_finite() { raw.clamp(-0.7 * *strength, 3.0 * *strength + 1e-6) } else { 0.0 };

        // Far from the answer full steps can cycle between the bounds: slow down late.
        let damping = if sweeps < 40 { 1.0 } else { 0.4 };
        let mut largest = 0.0_f64;
        for &c in self.active.unknowns() {
            let c = c as usize;
            let d = by_strength[c] * strength_step - residual[c];
            let step = if d.is_finite() { (damping * d).clamp(-MAX_STEP, MAX_STEP) } else { 0.5 };
            x[c] += step;
            largest = largest.max(step.abs());
        }
        *strength = (*strength + damping * strength_step).clamp(0.0, 20.0);
        largest
    }
}

/// Where to start: a similar water, or carbonate alone at the acid's own constants with sulfate paired once.
fn first_guess(
    total: &[f64; COMPONENTS],
    active: &Active,
    ln_k: &[f64; COUNT],
    strength: f64,
    start: Option<&Speciation>,
) -> Vector {
    let mut x: Vector = [0.0; PADDED];
    if let Some(s) = start {
        let before = s.totals.components();
        for &c in active.unknowns() {
            let c = c as usize;
            x[c] = if before[c] > 0.0 || c == HYDROGEN { s.ln_activity[c] } else { total[c].max(1e-12).ln() };
        }
        return x;
    }
    let t = |c: Component| total[c as usize];
    let root = strength.sqrt();
    let ln_gamma = -1.18 * root / (1.0 + 1.4 * root);
    // Free metals and sulfate, one round of pairing with K about 10^2.3.
    let pairing = 190.0 * (8.0 * ln_gamma).exp();
    let metal_free = 1.0 / (1.0 + pairing * t(Component::Sulfate));
    let sulfate_free = 1.0 / (1.0 + pairing * metal_free * (t(Component::Calcium) + t(Component::Magnesium)));

    let mut ln =
        |c: Component, ln_gamma: f64, free: f64| x[c as usize] = (t(c) * free).max(1e-12).ln() + ln_gamma;
    ln(Component::Calcium, 4.0 * ln_gamma, metal_free);
    ln(Component::Magnesium, 4.0 * ln_gamma, metal_free);
    ln(Component::Sulfate, 4.0 * ln_gamma, sulfate_free);
    for c in [
        Component::Sodium,
        Component::Potassium,
        Component::Chloride,
        Component::Ammonium,
        Component::Bromide,
    ] {
        if t(c) > 0.0 {
            ln(c, ln_gamma, 1.0);
        }
    }
    // Carbonate alone, less what other bases take near pH 7.5: A·h² − K1(C − A)·h − K1·K2(2C − A) = 0.
    let carbon = t(Component::Carbon);
    let others = 0.8 * t(Component::Cyanurate) + 0.03 * t(Component::Boron) + 0.5 * t(Component::Oxidant);
    let alkalinity = -t(Component::Hydrogen) - others.min(-0.8 * t(Component::Hydrogen));
    // Bicarbonate and carbonate with their ion pairs, relative to CO2: b/h and c/h².
    let x_of = |c: Component| if t(c) > 0.0 { x[c as usize] } else { f64::NEG_INFINITY };
    let of = |id: Id, ln_metal: f64, ln_gamma: f64| ln_k[id as usize] + ln_metal - ln_gamma;
    let (ca, mg, na) = (x_of(Component::Calcium), x_of(Component::Magnesium), x_of(Component::Sodium));
    let mut ratios = [
        of(Id::Bicarbonate, 0.0, ln_gamma),
        of(Id::CalciumBicarbonate, ca, ln_gamma),
        of(Id::MagnesiumBicarbonate, mg, ln_gamma),
        of(Id::SodiumBicarbonate, na, 0.0),
        of(Id::Carbonate, 0.0, 4.0 * ln_gamma),
        of(Id::CalciumCarbonate, ca, 0.0),
        of(Id::MagnesiumCarbonate, mg, 0.0),
        of(Id::SodiumCarbonate, na, ln_gamma),
    ];
    exponential::exp_in_place(&mut ratios);
    let k1: f64 = ratios[..4].iter().sum();
    let k2 = ratios[4..].iter().sum::<f64>() / k1;
    let h = if alkalinity <= 1e-7 {
        (-alkalinity).max(1e-6)
    } else if carbon <= 0.5 * alkalinity {
        1e-14 / (alkalinity - carbon)
    } else {
        let half = k1 * (carbon - alkalinity);
        let root = (half * half + 4.0 * alkalinity * k1 * k2 * (2.0 * carbon - alkalinity)).sqrt();
        ((half + root) / (2.0 * alkalinity)).clamp(1e-12, 1e-3)
    };
    x[HYDROGEN] = h.ln();
    let co2 = carbon.max(1e-12) / (1.0 + k1 / h + k1 * k2 / (h * h));
    x[CARBON] = co2.max(1e-14).ln();
    for c in [Component::Boron, Component::Cyanurate, Component::Oxidant] {
        if t(c) > 0.0 {
            x[c as usize] = (0.5 * t(c)).max(1e-14).ln();
        }
    }
    x
}

fn rough_strength(total: &[f64; COMPONENTS]) -> f64 {
    let t = |c: Component| total[c as usize];
    0.5 * (t(Component::Sodium)
        + t(Component::Potassium)
        + t(Component::Chloride)
        + 3.4 * (t(Component::Calcium) + t(Component::Magnesium) + t(Component::Sulfate))
        + (-total[HYDROGEN]).abs())
}
