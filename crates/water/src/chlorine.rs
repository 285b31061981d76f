//! Chlorine and bromine: which part disinfects, which part cyanurate holds.
//!
//! In: a solved [`Speciation`], or a pH and a temperature for the acid alone. Out: mol/kg or a share from 0 to 1.
//! Checked: `tests/published.rs` (Model Aquatic Health Code, Wahman & Alexander 2019), `tests/extended.rs`.

use crate::constants::LogK;
use crate::equilibrium::Speciation;
use crate::error::WaterError;
use crate::species::{Component, Id, TABLE};
use crate::units::{Celsius, Ph};

/// Share of an acid that is undissociated, from 0 to 1, at zero ionic strength and without cyanurate.
///
/// # Errors
/// [`WaterError::OutOfRange`] when `t` is outside 0–50 °C, [`WaterError::NotANumber`] when `ph` is none.
pub fn protonated_fraction(acid: &LogK, ph: Ph, t: Celsius) -> Result<f64, WaterError> {
    let (low, high) = crate::equilibrium::TEMPERATURE_RANGE_C;
    if !(low..=high).contains(&t.0) {
        return Err(WaterError::OutOfRange { field: "temperature_c", value: t.0, unit: "°C", low, high });
    }
    if !ph.0.is_finite() {
        return Err(WaterError::NotANumber { field: "ph" });
    }
    Ok(1.0 / (1.0 + 10f64.powf(acid.at(t) + ph.0)))
}

impl Speciation {
    /// Active (hypochlorous) chlorine, mol/kg.
    pub fn hypochlorous_mol_kg(&self) -> f64 {
        self.molality(Id::HypochlorousAcid)
    }

    /// Hypochlorite, mol/kg.
    pub fn hypochlorite_mol_kg(&self) -> f64 {
        self.molality(Id::Hypochlorite)
    }

    /// Chlorine that cyanurate holds, mol/kg as Cl2.
    pub fn cyanurate_bound_chlorine_mol_kg(&self) -> f64 {
        TABLE
            .iter()
            .zip(self.molality)
            .filter(|(s, _)| s.coefficient(Component::Cyanurate) > 0)
            .map(|(s, m)| f64::from(s.coefficient(Component::Oxidant)) * m)
            .sum()
    }

    /// Active (hypobromous) bromine, mol/kg as Br2.
    pub fn hypobromous_mol_kg(&self) -> f64 {
        self.molality(Id::HypobromousAcid)
    }

    /// Oxidising bromine in all its forms, mol/kg as Br2.
    pub fn total_bromine_mol_kg(&self) -> f64 {
        self.molality(Id::HypobromousAcid) + self.molality(Id::Hypobromite) + self.molality(Id::Bromine)
    }
}
