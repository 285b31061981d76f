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

use crate::activity::DebyeHuckel;
use crate::constants;
use crate::error::WaterError;
use crate::linear::{self, Matrix};
use crate::species::{COMPONENTS, COUNT, Component, Gamma, Id, TABLE};
use crate::totals::Totals;
use crate::units::{Celsius, Ph, mg_l_caco3_from_eq_kg};

const LN_10: f64 = std::f64::consts::LN_10;
const HYDROGEN: usize = Component::Hydrogen as usize;
const CARBON: usize = Component::Carbon as usize;
/// Sweeps before the solver gives up; ordinary waters take six to ten.
const MAX_SWEEPS: u32 = 300;
/// No activity changes by more than this factor's logarithm in one sweep.
const MAX_STEP: f64 = 3.0;
/// Settled when no ln activity moves by more than this.
const TOLERANCE: f64 = 1e-10;

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
    pub(crate) ln_activity: [f64; COMPONENTS],
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
    debye_huckel: DebyeHuckel,
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
            debye_huckel: DebyeHuckel::at(t),
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
        let inert_strength = 0.5
            * (totals.inert_cation + totals.inert_anion + totals.monopersulfate + 4.0 * totals.thiosulfate);
        let inert_moles = totals.inert_cation
            + totals.inert_anion
            + totals.monopersulfate
            + totals.thiosulfate
            + totals.hydrogen_peroxide;

        let mut x = first_guess(&total, start);
        if let Known::Ph(ph) | Known::PhAndCarbon(ph) = known {
            x[HYDROGEN] = -ph * LN_10;
        }
        let mut strength =
            start.map_or_else(|| rough_strength(&total) + inert_strength, |s| s.ionic_strength);
        let mut water = start.map_or(1.0, |s| s.water_activity);
        let mut ln_gamma = [0.0; COUNT];
        let mut m = [0.0; COUNT];
        let mut step = f64::INFINITY;

        for sweeps in 1..=MAX_SWEEPS {
            self.fill_ln_gamma(strength, &mut ln_gamma);
            let ln_water = water.ln();
            for &s in active.species() {
                let spec = &TABLE[s];
                let ln_a: f64 = spec.made_of.iter().map(|&(c, n)| f64::from(n) * x[c as usize]).sum();
                m[s] = (self.ln_k[s] + ln_a + f64::from(spec.water) * ln_water - ln_gamma[s]).min(50.0).exp();
            }
            if active.passive_chloride {
                m[Id::Chloride as usize] = total[Component::Chloride as usize];
            }
            let (mut sum_z2, mut sum_m) = (0.0, 0.0);
            for (spec, m) in TABLE.iter().zip(&m) {
                sum_z2 += f64::from(spec.charge * spec.charge) * m;
                sum_m += m;
            }
            let new_strength = (0.5 * sum_z2 + inert_strength).min(20.0);
            let settled_strength = (new_strength - strength).abs() <= 1e-9 * new_strength + 1e-14;
            strength = new_strength;
            water = (1.0 - 0.017 * (sum_m + inert_moles)).max(0.3);

            if step <= TOLERANCE && settled_strength {
                let mut solved = *totals;
                let amount = |c: Component| -> f64 {
                    TABLE.iter().zip(&m).map(|(s, m)| f64::from(s.coefficient(c)) * m).sum()
                };
                match known {
                    Known::Both => {}
                    Known::Ph(_) => solved.carbon = amount(Component::Carbon),
                    Known::PhAndCarbon(_) => solved.alkalinity = -amount(Component::Hydrogen),
                }
                return Ok(Speciation {
                    temperature: self.temperature,
                    totals: solved,
                    ionic_strength: strength,
                    water_activity: water,
                    sweeps,
                    ln_activity: x,
                    molality: m,
                    ln_gamma,
                });
            }

            step = newton_step(&total, &active, &m, known, sweeps, &mut x);
        }
        Err(WaterError::NotSettled { sweeps: MAX_SWEEPS, step })
    }

    fn fill_ln_gamma(&self, strength: f64, ln_gamma: &mut [f64; COUNT]) {
        let DebyeHuckel { a, b } = self.debye_huckel;
        let root = strength.sqrt();
        let davies = -a * (root / (1.0 + root) - 0.3 * strength) * LN_10;
        let neutral = 0.1 * strength * LN_10;
        for (g, s) in ln_gamma.iter_mut().zip(&TABLE) {
            let z2 = f64::from(s.charge * s.charge);
            *g = match s.gamma {
                Gamma::Neutral => neutral,
                Gamma::Davies => davies * z2,
                Gamma::DebyeHuckel { size, linear } => {
                    LN_10 * (-a * z2 * root / (1.0 + size * b * root) + linear * strength)
                }
            };
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

/// Which components and species take part.
struct Active {
    /// Position of each component among the unknowns, or `usize::MAX`.
    position: [usize; COMPONENTS],
    unknowns: [usize; COMPONENTS],
    unknown_count: usize,
    species: [usize; COUNT],
    species_count: usize,
    /// Chloride present but without chemistry (no oxidant): a spectator.
    passive_chloride: bool,
}

impl Active {
    fn of(total: &[f64; COMPONENTS], known: Known) -> Self {
        let oxidant = total[Component::Oxidant as usize] > 0.0;
        let bromide = total[Component::Bromide as usize] > 0.0;
        let chloride = total[Component::Chloride as usize] > 0.0;
        let mut present = total.map(|t| t > 0.0);
        present[HYDROGEN] = true;
        present[CARBON] |= matches!(known, Known::Ph(_));
        present[Component::Chloride as usize] = oxidant && (chloride || bromide);

        let mut active = Active {
            position: [usize::MAX; COMPONENTS],
            unknowns: [0; COMPONENTS],
            unknown_count: 0,
            species: [0; COUNT],
            species_count: 0,
            passive_chloride: chloride && !oxidant,
        };
        for c in 0..COMPONENTS {
            let given = c == HYDROGEN && !matches!(known, Known::Both);
            if present[c] && !given {
                active.position[c] = active.unknown_count;
                active.unknowns[active.unknown_count] = c;
                active.unknown_count += 1;
            }
        }
        for (s, spec) in TABLE.iter().enumerate() {
            if spec.made_of.iter().all(|(c, _)| present[*c as usize]) {
                active.species[active.species_count] = s;
                active.species_count += 1;
            }
        }
        active
    }

    fn species(&self) -> &[usize] {
        &self.species[..self.species_count]
    }
}

/// One damped Newton step in ln activities; returns the largest step.
fn newton_step(
    total: &[f64; COMPONENTS],
    active: &Active,
    m: &[f64; COUNT],
    known: Known,
    sweeps: u32,
    x: &mut [f64; COMPONENTS],
) -> f64 {
    let n = active.unknown_count;
    let mut jacobian: Matrix = [[0.0; COMPONENTS]; COMPONENTS];
    let mut residual = [0.0; COMPONENTS];
    for (r, &c) in residual.iter_mut().zip(&active.unknowns[..n]) {
        *r = -total[c];
    }
    // The row of carbon carries the balance of alkalinity when the carbon itself is sought.
    let carbon_row = if matches!(known, Known::Ph(_)) { active.position[CARBON] } else { usize::MAX };
    if carbon_row != usize::MAX {
        residual[carbon_row] = -total[HYDROGEN]; // + alkalinity, below less that of the species: the sign of −alkalinity's balance
    }
    for &s in active.species() {
        let made_of = TABLE[s].made_of;
        for &(c, nu) in made_of {
            let i = active.position[c as usize];
            if i == usize::MAX || i == carbon_row {
                continue;
            }
            let amount = f64::from(nu) * m[s];
            residual[i] += amount;
            for &(d, mu) in made_of {
                let j = active.position[d as usize];
                if j != usize::MAX {
                    jacobian[i][j] += amount * f64::from(mu);
                }
            }
        }
        if carbon_row != usize::MAX {
            let nu_h = f64::from(TABLE[s].coefficient(Component::Hydrogen));
            if nu_h != 0.0 {
                // alkalinity balance: Alk − Σ(−ν_H)·m, written so that it falls as carbon rises
                residual[carbon_row] += nu_h * m[s];
                for &(d, mu) in made_of {
                    let j = active.position[d as usize];
                    if j != usize::MAX {
                        jacobian[carbon_row][j] += nu_h * m[s] * f64::from(mu);
                    }
                }
            }
        }
    }
    let delta = if carbon_row == usize::MAX {
        linear::solve_symmetric(&mut jacobian, &mut residual, n)
    } else {
        linear::solve_general(&mut jacobian, &mut residual, n)
    };
    // Far from the answer a full step can cycle between the renewals of the activity coefficients: slow down late.
    let damping = if sweeps < 40 { 1.0 } else { 0.4 };
    let mut largest = 0.0_f64;
    for (d, &c) in delta[..n].iter().zip(&active.unknowns[..n]) {
        let step = if d.is_finite() { (damping * d).clamp(-MAX_STEP, MAX_STEP) } else { 0.5 };
        x[c] -= step;
        largest = largest.max(step.abs());
    }
    largest
}

/// Where to start: a similar water, or the totals as if nothing paired and pH were near 7.5.
fn first_guess(total: &[f64; COMPONENTS], start: Option<&Speciation>) -> [f64; COMPONENTS] {
    let mut x = [0.0; COMPONENTS];
    for (c, x) in x.iter_mut().enumerate() {
        let fresh = total[c].max(1e-12).ln();
        *x = match start {
            Some(s) if s.totals.components()[c] > 0.0 && s.ln_activity[c].is_finite() => s.ln_activity[c],
            _ => fresh,
        };
    }
    if let Some(s) = start {
        x[HYDROGEN] = s.ln_activity[HYDROGEN];
        return x;
    }
    let alkalinity = -total[HYDROGEN];
    let carbon = total[CARBON];
    // Carbonate alone, K1 = 10^-6.3: [H+] = K1·(C − A)/A between the limits of strong acid and strong base.
    let free = (carbon - alkalinity).max(0.02 * carbon);
    let h = if alkalinity <= 0.0 {
        (-alkalinity).max(1e-6)
    } else {
        (5e-7 * free.max(1e-9) / alkalinity).clamp(1e-12, 1e-4)
    };
    x[HYDROGEN] = h.ln();
    x[CARBON] = (carbon.max(1e-12) * h / (h + 5e-7)).ln();
    for c in [Component::Calcium, Component::Magnesium, Component::Sulfate] {
        x[c as usize] -= 0.6; // activity coefficient and pairing, roughly
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
