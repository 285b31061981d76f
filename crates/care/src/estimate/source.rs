//! The source water: its analysis as totals, and how far each figure is trusted.

use super::EstimateError;
use crate::amount::Units;
use crate::case::SourceWater;
use crate::quantity::Quantity as Q;
use crate::text::{Text, say};
use water::titration::{ALKALINITY_END_POINT, Dechlorination, water_from_titration};
use water::units::{eq_kg_from_mg_l_caco3, mol_kg_from_hardness_mg_l_caco3, mol_kg_from_mg_l, molar_mass};
use water::{Celsius, Equilibria, Ph, Totals};

/// Temperature of a source water's pH where the analysis gives none, °C (laboratories measure near it).
const USUAL_SOURCE_TEMPERATURE_C: f64 = 20.0;

/// Standard error of a source-water figure (judgement): 5 % and 5 mg/L of a titration, 0.2 mg/L of chlorine; what no tap
/// holds has none.
pub(crate) fn source_error(q: Q, value: f64) -> f64 {
    match q {
        Q::CyanuricAcid | Q::Borate => 0.05 * value,
        Q::FreeChlorine | Q::TotalBromine => 0.2,
        _ => (0.05 * value).hypot(5.0),
    }
}

/// The source water as totals with its own carbon, if pH, alkalinity and calcium are known.
pub(crate) fn source_totals(
    s: &SourceWater,
    units: Units,
    assumptions: &mut Vec<Text>,
) -> Result<Option<Totals>, EstimateError> {
    let (Some(ph), Some(alkalinity)) = (s.ph, s.total_alkalinity_mg_l_caco3) else { return Ok(None) };
    let t_c = s.temperature_c.unwrap_or_else(|| {
        assumptions.push(say!(
            "care-source-temperature",
            "Source water: its pH counts as measured at {temperature}.",
            temperature = Text::figures(units.temperature(USUAL_SOURCE_TEMPERATURE_C))
        ));
        USUAL_SOURCE_TEMPERATURE_C
    });
    let calcium = s.calcium_hardness_mg_l_caco3.unwrap_or(0.0);
    let magnesium = s
        .magnesium_mg_l
        .map_or(0.2 * mol_kg_from_hardness_mg_l_caco3(calcium), |m| mol_kg_from_mg_l(m, molar_mass::MG));
    let sulfate = s.sulfate_mg_l.map_or(2e-4, |m| mol_kg_from_mg_l(m, molar_mass::SO4));
    let mut missing = Vec::new();
    if s.magnesium_mg_l.is_none() {
        missing.push(say!("care-source-magnesium", "magnesium a fifth of calcium"));
    }
    if s.sulfate_mg_l.is_none() {
        missing.push(say!("care-source-sulfate", "sulfate 19 mg/L"));
    }
    if !missing.is_empty() {
        assumptions.push(say!(
            "care-source-not-analysed",
            "Source water, not analysed: {ions}; the charge is closed with sodium or chloride.",
            ions = Text::joined(missing, ", ")
        ));
    }
    let mg = |v: Option<f64>, m: f64| mol_kg_from_mg_l(v.unwrap_or(0.0), m);
    let salt = mg(s.salt_mg_l, molar_mass::NACL);
    let totals = Totals {
        calcium: mol_kg_from_hardness_mg_l_caco3(calcium),
        magnesium,
        sodium: mg(s.sodium_mg_l, molar_mass::NA),
        potassium: mg(s.potassium_mg_l, molar_mass::K),
        chloride: if s.chloride_mg_l.is_some() { mg(s.chloride_mg_l, molar_mass::CL) } else { salt },
        sulfate,
        boron: mg(s.boron_mg_l, molar_mass::B),
        cyanurate: mg(s.cyanuric_acid_mg_l, molar_mass::CYANURIC_ACID),
        free_chlorine: mg(s.free_chlorine_mg_l, molar_mass::CL2),
        ..Totals::default()
    };
    let wrong = |error| EstimateError::Water { what: "source water", error };
    let at = Equilibria::at(Celsius(t_c)).map_err(wrong)?;
    let end = |t: &Totals| {
        water_from_titration(
            &at,
            t,
            Ph(ph),
            eq_kg_from_mg_l_caco3(alkalinity),
            ALKALINITY_END_POINT,
            Dechlorination::Thiosulfate,
        )
    };
    let solved = end(&totals).map_err(wrong)?.totals;
    let excess = solved.charge_imbalance();
    if excess > 0.0 && (s.chloride_mg_l.is_some() || s.salt_mg_l.is_some()) {
        // The chloride is known, so what is missing is another anion (nitrate, sulfate).
        return Ok(Some(Totals { inert_anion: solved.inert_anion + excess, ..solved }));
    }
    Ok(Some(solved.closed_with_sodium_chloride()))
}

/// Whether the analysis says anything of a quantity.
pub(super) fn source_names(source: Option<&SourceWater>, q: Q) -> bool {
    let Some(s) = source else { return false };
    match q {
        Q::CalciumHardness => s.calcium_hardness_mg_l_caco3.is_some(),
        Q::Salt => s.salt_mg_l.is_some() || s.chloride_mg_l.is_some(),
        // Not in tap water unless somebody says so.
        Q::CyanuricAcid | Q::Borate | Q::TotalBromine | Q::FreeChlorine => true,
        _ => false,
    }
}
