//! From figures to a solved water: charge closed, carbon from pH and a titration, salt from a conductivity.

use crate::finding::{Finding, Weight};
use crate::quantity::Quantity as Q;
use crate::text::{figures, say};
use water::conductivity::specific_conductance_25c_us_cm;
use water::titration::{ALKALINITY_END_POINT, Dechlorination, water_from_titration};
use water::units::{eq_kg_from_mg_l_caco3, mol_kg_from_mg_l, molar_mass};
use water::{Celsius, Equilibria, Ph, Speciation, Totals, WaterError};

/// Solved, with sodium closing the charge: it is what nobody measures.
pub(super) fn closed_and_solved(at: &Equilibria, totals: Totals) -> Result<Speciation, WaterError> {
    at.solve(&Totals { sodium: 0.0, ..totals }.closed_with_sodium_chloride())
}

/// The readings' totals just before the later doses; rounding must not leave a trace below zero.
pub(super) fn clamp_to_possible(t: Totals) -> Totals {
    let alkalinity = t.alkalinity;
    let mut a = t.to_array().map(|x| x.max(0.0));
    a[0] = alkalinity;
    Totals::from_array(a)
}

/// Carbon from pH and a titration. Where the two cannot both be true, alkalinity gives way and a finding says so.
pub(super) fn solve_titrated(
    at: &Equilibria,
    totals: &Totals,
    ph: f64,
    read_eq_kg: f64,
    findings: &mut Vec<Finding>,
    retest: &mut Vec<Q>,
) -> Result<Speciation, WaterError> {
    let closed = Totals { sodium: 0.0, alkalinity: read_eq_kg, ..*totals }.closed_with_sodium_chloride();
    let solve = |read: f64| {
        water_from_titration(at, &closed, Ph(ph), read, ALKALINITY_END_POINT, Dechlorination::Thiosulfate)
    };
    match solve(read_eq_kg) {
        Err(WaterError::NoRoomForCarbonate { without_carbon, given, .. }) => {
            findings.push(Finding {
                weight: Weight::Doubt,
                quantities: vec![Q::Ph, Q::TotalAlkalinity],
                what: say!(
                    "care-no-carbon-left",
                    "At pH {ph} cyanurate, borate, hypochlorite and hydroxide alone make {without} mg/L of alkalinity, \
                     but {given} was read: one of the readings is wrong.",
                    ph = figures!("{ph:.1}"),
                    without = figures!("{without_carbon:.0}"),
                    given = figures!("{given:.0}")
                ),
                advice: say!("care-no-carbon-left-advice", "Test pH, total alkalinity and cyanuric acid again before dosing acid or base."),
            });
            retest.extend([Q::Ph, Q::TotalAlkalinity]);
            solve(eq_kg_from_mg_l_caco3(without_carbon + 5.0) + totals.free_chlorine)
        }
        other => other,
    }
}

/// Conductivity at 25 °C of a water with so much salt, mS/cm.
pub(super) fn expected_conductivity(totals: &Totals, salt_mg_l: f64) -> f64 {
    let with = Totals { chloride: mol_kg_from_mg_l(salt_mg_l, molar_mass::NACL), sodium: 0.0, ..*totals };
    Equilibria::at(Celsius(25.0))
        .and_then(|at| at.solve(&with.closed_with_sodium_chloride()))
        .map_or(f64::NAN, |s| specific_conductance_25c_us_cm(&s) / 1000.0)
}

/// The water whose salt explains a conductivity.
pub(super) fn with_salt_from_conductivity(
    at: &Equilibria,
    totals: &Totals,
    ms_cm: f64,
) -> Result<Speciation, WaterError> {
    let (mut low, mut high) = (0.0, 40_000.0);
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if expected_conductivity(totals, middle) < ms_cm { low = middle } else { high = middle }
    }
    closed_and_solved(at, Totals { chloride: mol_kg_from_mg_l(low, molar_mass::NACL), ..*totals })
}
