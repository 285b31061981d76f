//! Contract 5.1, the way out.

use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;
use water::species::Id;
use water::titration::{
    ALKALINITY_END_POINT, Dechlorination, handbook_cyanurate_factor, titrated_alkalinity,
};
use water::units::{mg_l_caco3_from_eq_kg, mg_l_from_mol_kg, molar_mass};
use water::{Equilibria, Speciation};

/// What a water is. Chlorine figures are as Cl2; a saturation index is null where its calcium, carbonate or sulfate is absent.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaterOut {
    /// pH.
    pub ph: f64,
    /// Dissolved inorganic carbon, mmol/L.
    pub dic_mmol_l: f64,
    /// Acid-neutralising capacity to the CO2 equivalence point, mg/L as CaCO3.
    pub total_alkalinity_mg_l_caco3: f64,
    /// Of it, what carbonate species carry, mg/L as CaCO3.
    pub carbonate_alkalinity_mg_l_caco3: f64,
    /// The same by the handbook's correction (alkalinity less a pH-dependent share of cyanuric acid, about a third at
    /// pH 7.5), beside ours as a check; it knows no borate, chlorine or hydroxide.
    pub carbonate_alkalinity_by_handbook_mg_l_caco3: f64,
    /// What an acid titration to pH 4.5 reads, chlorine taken away with thiosulfate first, mg/L as CaCO3.
    pub titrated_alkalinity_mg_l_caco3: Option<f64>,
    /// Base that raises the pH by one, closed to the air, mmol/L.
    pub buffer_capacity_mmol_l_per_ph: f64,
    /// Moles of everything dissolved, mol/kg.
    pub osmolality_mol_kg: f64,
    /// Ionic strength, mol/kg.
    pub ionic_strength_mol_kg: f64,
    /// Calcite saturation index.
    pub calcite_saturation_index: Option<f64>,
    /// Aragonite saturation index.
    pub aragonite_saturation_index: Option<f64>,
    /// Gypsum saturation index.
    pub gypsum_saturation_index: Option<f64>,
    /// Carbon dioxide pressure with which the water would be in balance, atm.
    pub co2_partial_pressure_atm: f64,
    /// Active (hypochlorous) chlorine, mg/L as Cl2.
    pub hypochlorous_acid_mg_l: f64,
    /// Hypochlorite, mg/L as Cl2.
    pub hypochlorite_mg_l: f64,
    /// Chlorine that cyanurate holds, mg/L as Cl2.
    pub cyanurate_bound_chlorine_mg_l: f64,
    /// Active (hypobromous) bromine, mg/L as Br2.
    pub hypobromous_acid_mg_l: f64,
    /// Charge error, percent of all charge; positive if cations are in excess.
    pub charge_imbalance_percent: f64,
    /// Conductivity at 25 °C, mS/cm, estimated from the ions.
    pub conductivity_25c_ms_cm: Option<f64>,
    /// Molality of every species that is present, mol/kg.
    pub species_mol_kg: BTreeMap<&'static str, f64>,
    /// log10 of the activity coefficient of each.
    pub log10_activity_coefficient: BTreeMap<&'static str, f64>,
}

impl WaterOut {
    /// Of a solved water and the constants that it was solved with.
    pub fn of(at: &Equilibria, s: &Speciation) -> WaterOut {
        let finite = |x: f64| x.is_finite().then_some(x);
        let chlorine = |mol_kg: f64| mg_l_from_mol_kg(mol_kg, molar_mass::CL2);
        let conductivity = Equilibria::at(water::Celsius(25.0))
            .and_then(|at| at.solve(&s.totals))
            .map(|s| water::conductivity::specific_conductance_25c_us_cm(&s) / 1000.0);
        WaterOut {
            ph: s.ph().0,
            dic_mmol_l: s.totals.carbon * 1000.0,
            total_alkalinity_mg_l_caco3: mg_l_caco3_from_eq_kg(s.totals.alkalinity),
            carbonate_alkalinity_mg_l_caco3: mg_l_caco3_from_eq_kg(s.alkalinity_parts().carbonate),
            carbonate_alkalinity_by_handbook_mg_l_caco3: mg_l_caco3_from_eq_kg(s.totals.alkalinity)
                - handbook_cyanurate_factor(s.ph(), s.temperature, s.ionic_strength)
                    * mg_l_from_mol_kg(s.totals.cyanurate, molar_mass::CYANURIC_ACID),
            titrated_alkalinity_mg_l_caco3: titrated_alkalinity(
                at,
                &s.totals,
                ALKALINITY_END_POINT,
                Dechlorination::Thiosulfate,
            )
            .ok()
            .map(mg_l_caco3_from_eq_kg),
            buffer_capacity_mmol_l_per_ph: 1000.0 * s.buffering().capacity_eq_kg_per_ph,
            osmolality_mol_kg: s.osmolality_mol_kg(),
            ionic_strength_mol_kg: s.ionic_strength,
            calcite_saturation_index: finite(at.calcite_saturation_index(s)),
            aragonite_saturation_index: finite(at.aragonite_saturation_index(s)),
            gypsum_saturation_index: finite(at.gypsum_saturation_index(s)),
            co2_partial_pressure_atm: at.co2_partial_pressure_atm(s),
            hypochlorous_acid_mg_l: chlorine(s.molality(Id::HypochlorousAcid)),
            hypochlorite_mg_l: chlorine(s.molality(Id::Hypochlorite)),
            cyanurate_bound_chlorine_mg_l: chlorine(s.cyanurate_bound_chlorine_mol_kg() + 0.0),
            hypobromous_acid_mg_l: mg_l_from_mol_kg(s.molality(Id::HypobromousAcid), molar_mass::BR2),
            charge_imbalance_percent: s.charge_imbalance_percent(),
            conductivity_25c_ms_cm: conductivity.ok().and_then(finite),
            species_mol_kg: s.species().map(|(name, mol_kg, _)| (name, mol_kg)).collect(),
            log10_activity_coefficient: s.species().map(|(name, _, log10)| (name, log10)).collect(),
        }
    }
}
