//! Active chlorine (HOCl) of a free chlorine and back: what a probe in the water answers to.
//!
//! The equilibrium is `water`'s own, cyanurate included; the carbonate system does not matter at a given pH.

use water::species::Id;
use water::units::{mg_l_from_mol_kg, mol_kg_from_mg_l, molar_mass};
use water::{Celsius, Equilibria, Ph, Totals, WaterError};

/// The water around a probe.
#[derive(Debug, Clone, Copy)]
pub(super) struct Around {
    pub(super) ph: f64,
    pub(super) temperature_c: f64,
    pub(super) cyanuric_acid_mg_l: f64,
    pub(super) salt_mg_l: f64,
}

impl Around {
    pub(super) fn active(&self, free_chlorine_mg_l: f64) -> Result<f64, WaterError> {
        active_chlorine_mg_l(
            free_chlorine_mg_l,
            self.ph,
            self.temperature_c,
            self.cyanuric_acid_mg_l,
            self.salt_mg_l,
        )
    }
}

/// Hypochlorous acid in mg/L as Cl2 of a water at this pH with so much free chlorine (what cyanurate holds included).
///
/// # Errors
/// [`WaterError`] if a figure lies outside the domain of the constants.
pub fn active_chlorine_mg_l(
    free_chlorine_mg_l: f64,
    ph: f64,
    temperature_c: f64,
    cyanuric_acid_mg_l: f64,
    salt_mg_l: f64,
) -> Result<f64, WaterError> {
    let at = Equilibria::at(Celsius(temperature_c))?;
    active_at(&at, free_chlorine_mg_l, ph, cyanuric_acid_mg_l, salt_mg_l)
}

fn active_at(at: &Equilibria, free: f64, ph: f64, cyanuric_acid: f64, salt: f64) -> Result<f64, WaterError> {
    let salt = mol_kg_from_mg_l(salt, molar_mass::NACL);
    let totals = Totals {
        sodium: salt,
        chloride: salt,
        cyanurate: mol_kg_from_mg_l(cyanuric_acid, molar_mass::CYANURIC_ACID),
        free_chlorine: mol_kg_from_mg_l(free, molar_mass::CL2),
        ..Totals::default()
    };
    let water = at.with_alkalinity_of(&totals, Ph(ph))?;
    Ok(mg_l_from_mol_kg(water.molality(Id::HypochlorousAcid), molar_mass::CL2))
}

/// Free chlorine in mg/L that has so much hypochlorous acid; `None` above `most_mg_l`.
/// Hypochlorous acid rises with free chlorine at a given pH, so halving the interval finds the one answer.
///
/// # Errors
/// As [`active_chlorine_mg_l`].
pub fn free_chlorine_from_active_mg_l(
    active_mg_l: f64,
    ph: f64,
    temperature_c: f64,
    cyanuric_acid_mg_l: f64,
    salt_mg_l: f64,
    most_mg_l: f64,
) -> Result<Option<f64>, WaterError> {
    let at = Equilibria::at(Celsius(temperature_c))?;
    let active = |free| active_at(&at, free, ph, cyanuric_acid_mg_l, salt_mg_l);
    if active_mg_l <= 0.0 {
        return Ok(Some(0.0));
    }
    if active(most_mg_l)? < active_mg_l {
        return Ok(None);
    }
    let (mut low, mut high) = (0.0, most_mg_l);
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if active(middle)? < active_mg_l { low = middle } else { high = middle }
    }
    Ok(Some(0.5 * (low + high)))
}
