//! Titrations: what a kit sees of a water, and what the water is if a kit saw this.
//!
//! An alkalinity titration counts every base that takes up acid before its end point: carbonate, but borate,
//! cyanurate and hypochlorite as well. What it sees is the water's alkalinity less the alkalinity that the same water,
//! its carbon kept, has at the end point's pH. No fixed factor: both ends are solved.
//!
//! A hardness titration at pH 10 sees calcium and magnesium; at pH 12–13 magnesium falls out as hydroxide and calcium
//! alone is seen (Standard Methods 2340 C and 3500-Ca B, from memory).
//! Left out: loss of carbon dioxide from the shaken sample, and dilution by the titrant.

use crate::equilibrium::{Equilibria, Speciation};
use crate::error::WaterError;
use crate::species::{Family, Id, TABLE};
use crate::totals::Totals;
use crate::units::{Celsius, Ph, mg_l_caco3_from_eq_kg, molar_mass};

/// End point used by most kits and agencies (US EPA method 310.1).
pub const ALKALINITY_END_POINT: Ph = Ph(4.5);

/// Alkalinity that the bases of a water hold, by family, eq/kg. The sum is the water's alkalinity.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct AlkalinityParts {
    /// Bicarbonate, carbonate and their ion pairs.
    pub carbonate: f64,
    /// Hydroxide less hydrogen ion (and hydrogen sulfate).
    pub hydroxide: f64,
    /// Borate.
    pub borate: f64,
    /// Cyanurate, chlorinated or not.
    pub cyanurate: f64,
    /// Hypochlorite, hypobromite.
    pub hypohalite: f64,
    /// Ammonia.
    pub ammonia: f64,
}

impl AlkalinityParts {
    /// Everything together, eq/kg.
    pub fn sum(&self) -> f64 {
        self.carbonate + self.hydroxide + self.borate + self.cyanurate + self.hypohalite + self.ammonia
    }
}

impl Speciation {
    /// Whose alkalinity it is.
    pub fn alkalinity_parts(&self) -> AlkalinityParts {
        let mut parts = AlkalinityParts::default();
        for (s, m) in TABLE.iter().zip(self.molality) {
            let eq = f64::from(s.alkalinity()) * m;
            match s.family {
                Family::Carbonate => parts.carbonate += eq,
                Family::Hydroxide => parts.hydroxide += eq,
                Family::Borate => parts.borate += eq,
                Family::Cyanurate => parts.cyanurate += eq,
                Family::Hypohalite => parts.hypohalite += eq,
                Family::Ammonia => parts.ammonia += eq,
                Family::None => {}
            }
        }
        parts
    }
}

/// What the kit does with the chlorine in the sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dechlorination {
    /// Nothing: hypochlorite takes up acid like any base.
    None,
    /// Thiosulfate in excess, to tetrathionate, which gives one equivalent of base per mole of chlorine (usual in kits).
    Thiosulfate,
}

/// The sample as it stands in the kit's tube once its chlorine has been dealt with.
fn prepared(totals: &Totals, how: Dechlorination) -> Totals {
    match how {
        Dechlorination::None => *totals,
        Dechlorination::Thiosulfate => Totals {
            free_chlorine: 0.0,
            alkalinity: totals.alkalinity + totals.free_chlorine,
            chloride: totals.chloride + totals.free_chlorine,
            ..*totals
        },
    }
}

/// Alkalinity that an acid titration of this water reads, eq/kg.
///
/// # Errors
/// [`WaterError`] if the end point cannot be solved.
pub fn titrated_alkalinity(
    at: &Equilibria,
    totals: &Totals,
    end_point: Ph,
    how: Dechlorination,
) -> Result<f64, WaterError> {
    let end = at_end_point(at, totals, end_point, how)?;
    Ok(prepared(totals, how).alkalinity - end.totals.alkalinity)
}

/// The sample when the titration ends, its carbon kept.
///
/// # Errors
/// [`WaterError`] if the end point cannot be solved.
pub fn at_end_point(
    at: &Equilibria,
    totals: &Totals,
    end_point: Ph,
    how: Dechlorination,
) -> Result<Speciation, WaterError> {
    at.with_alkalinity_of(&prepared(totals, how), end_point)
}

/// Alkalinity of a water whose titration read `read_eq_kg` and whose pH is `ph`: the inverse of
/// [`titrated_alkalinity`]. `totals` gives everything else; its alkalinity and carbon are filled in.
///
/// # Errors
/// [`WaterError`] if no such water exists.
pub fn water_from_titration(
    at: &Equilibria,
    totals: &Totals,
    ph: Ph,
    read_eq_kg: f64,
    end_point: Ph,
    how: Dechlorination,
) -> Result<Speciation, WaterError> {
    const ROUNDS: u32 = 30;
    let solve = |alkalinity: f64| -> Result<(Speciation, f64), WaterError> {
        let solved = at.solve_at_ph(&Totals { alkalinity, ..*totals }, ph)?;
        let off = read_eq_kg - titrated_alkalinity(at, &solved.totals, end_point, how)?;
        Ok((solved, off))
    };
    let mut alkalinity = read_eq_kg;
    let (mut solved, mut off) = solve(alkalinity)?;
    // What the end point leaves is nearly in proportion to the alkalinity: after a first substitution secants settle it in two
    // or three rounds, however near the end point lies to the water's own pH (where substitution alone would creep).
    let mut step = off;
    for _ in 0..ROUNDS {
        if off.abs() < 1e-10 {
            return Ok(solved);
        }
        alkalinity += step;
        let before = off;
        (solved, off) = solve(alkalinity)?;
        let secant = step * off / (before - off);
        step = if secant.is_finite() { secant } else { off };
    }
    Err(WaterError::NotSettled { sweeps: ROUNDS, step: step / read_eq_kg })
}

/// The handbook's correction beside ours: mg/L CaCO3 of cyanurate alkalinity per mg/L of cyanuric acid at this pH,
/// by the first dissociation alone and Davies' coefficient (the field rule "subtract one third" is its value near pH 7.5).
pub fn handbook_cyanurate_factor(ph: Ph, t: Celsius, ionic_strength: f64) -> f64 {
    let gamma =
        crate::activity::DebyeHuckel::at(t).log10_gamma(crate::species::Gamma::Davies, 1, ionic_strength);
    let pk = -crate::constants::CYANURIC_1.at(t) + gamma;
    let share = |ph: f64| 1.0 / (1.0 + 10f64.powf(pk - ph));
    mg_l_caco3_from_eq_kg(1.0 / (1000.0 * molar_mass::CYANURIC_ACID))
        * (share(ph.0) - share(ALKALINITY_END_POINT.0))
}

/// Hardness that a titration at pH 10 sees, mol/kg of divalent metal: calcium and magnesium together.
pub fn total_hardness_mol_kg(totals: &Totals) -> f64 {
    totals.calcium + totals.magnesium
}

/// Acid–base buffering of a solved water: how far pH and saturation move for a small change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Buffering {
    /// Equivalents of base per kilogram that raise the pH by one, closed to the air (buffer capacity β).
    pub capacity_eq_kg_per_ph: f64,
    /// pH per eq/kg of alkalinity at constant carbon.
    pub ph_per_alkalinity: f64,
    /// pH per mol/kg of carbon at constant alkalinity (negative).
    pub ph_per_carbon: f64,
    /// Calcite saturation index per eq/kg of alkalinity.
    pub saturation_per_alkalinity: f64,
    /// Calcite saturation index per mol/kg of carbon.
    pub saturation_per_carbon: f64,
}

impl Speciation {
    /// Buffer capacity and its companions, from the equilibrium's own derivatives (activity coefficients held).
    pub fn buffering(&self) -> Buffering {
        let (alkalinity, carbon) = self.ln_activity_responses();
        let to_log10 = 1.0 / std::f64::consts::LN_10;
        let index = |r: &crate::linear::Vector| -> f64 {
            use crate::species::Component as C;
            (r[C::Calcium as usize] + r[C::Carbon as usize] - 2.0 * r[C::Hydrogen as usize]) * to_log10
        };
        let ph_per_alkalinity = -alkalinity[crate::species::Component::Hydrogen as usize] * to_log10;
        Buffering {
            capacity_eq_kg_per_ph: 1.0 / ph_per_alkalinity,
            ph_per_alkalinity,
            ph_per_carbon: -carbon[crate::species::Component::Hydrogen as usize] * to_log10,
            saturation_per_alkalinity: index(&alkalinity),
            saturation_per_carbon: index(&carbon),
        }
    }

    /// Whether calcium is there at all (a saturation index can be said).
    pub fn has_calcium(&self) -> bool {
        self.molality(Id::Calcium) > 0.0
    }
}
