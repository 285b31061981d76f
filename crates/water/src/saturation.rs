//! Saturation: can this water lay down a mineral, or take it away? And what carbon dioxide pressure does it hold?
//!
//! In: a solved [`Speciation`] and its constants. Out: log10 indices (0 is balance, above 0 scale can form) and a
//! pressure in atm. Thermodynamics only: it says *whether*, not *how fast*.
//! Left out: inhibitors in the water, and magnesium taken up by the crystal; both make the truth milder.
//! Checked: `tests/phreeqc.rs` (reference cases, both directions), `tests/published.rs` (worked examples).

use crate::equilibrium::{Equilibria, Speciation};
use crate::species::Id;

impl Equilibria {
    /// Calcite saturation index, log10(ion activity product / solubility product); −∞ without calcium or carbonate.
    pub fn calcite_saturation_index(&self, s: &Speciation) -> f64 {
        s.log10_activity(Id::Calcium) + s.log10_activity(Id::Carbonate) - self.log_k_calcite
    }

    /// Aragonite saturation index.
    pub fn aragonite_saturation_index(&self, s: &Speciation) -> f64 {
        s.log10_activity(Id::Calcium) + s.log10_activity(Id::Carbonate) - self.log_k_aragonite
    }

    /// Gypsum saturation index.
    pub fn gypsum_saturation_index(&self, s: &Speciation) -> f64 {
        s.log10_activity(Id::Calcium) + s.log10_activity(Id::Sulfate) + 2.0 * s.water_activity.log10()
            - self.log_k_gypsum
    }

    /// Pressure (fugacity) of carbon dioxide with which the water would be in balance, atm.
    pub fn co2_partial_pressure_atm(&self, s: &Speciation) -> f64 {
        10f64.powf(s.log10_activity(Id::CarbonDioxide) - self.log_k_co2_gas)
    }

    /// Carbon dioxide that the water would keep in balance with a pressure of the gas, mol/kg (activity, which for a
    /// neutral species in a tub's water is its molality within 1 %).
    pub fn co2_at_pressure_mol_kg(&self, atm: f64) -> f64 {
        10f64.powf(self.log_k_co2_gas) * atm
    }
}
