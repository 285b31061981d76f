//! The simplified saturation index: worked examples and the terms it is summed from.

use super::equilibria;
use crate::compare::{Section, Table, Worst, number, reference_file};
use water::units::{
    eq_kg_from_mg_l_caco3, mg_l_from_mol_kg, mol_kg_from_hardness_mg_l_caco3, mol_kg_from_mg_l, molar_mass,
};
use water::{Celsius, Chemical, Ph, Totals, constants};

/// A water of calcium hardness and alkalinity (mg/L CaCO3), filled up with sodium chloride to its dissolved solids.
fn hard_water(hardness: f64, alkalinity: f64, tds: f64) -> Totals {
    let calcium = mol_kg_from_hardness_mg_l_caco3(hardness);
    let alkalinity = eq_kg_from_mg_l_caco3(alkalinity);
    let t = Totals { alkalinity, calcium, ..Totals::default() }.closed_with_sodium_chloride();
    let solids = mg_l_from_mol_kg(t.calcium, molar_mass::CA)
        + mg_l_from_mol_kg(t.sodium, molar_mass::NA)
        + mg_l_from_mol_kg(t.chloride, molar_mass::CL)
        + 61.017 * 1000.0 * alkalinity; // bicarbonate
    let salt = mol_kg_from_mg_l((tds - solids).max(0.0), molar_mass::NACL);
    t.plus(&Chemical::SodiumChloride.per_mole(), salt)
}

fn calcite_index(t_c: f64, ph: f64, t: &Totals) -> f64 {
    let at = equilibria(t_c);
    at.calcite_saturation_index(&at.solve_at_ph(t, Ph(ph)).expect("a worked example solves"))
}

/// Worked saturation-index examples.
pub(crate) fn saturation_examples() -> Section {
    let rows = Table::parse(reference_file!("published/saturation_index_examples.csv"))
        .lines()
        .filter(|l| l.number("t_c") <= 50.0) // one is a boiler at 82 °C: beyond our constants
        .map(|l| {
            let water =
                hard_water(l.number("calcium_hardness"), l.number("alkalinity"), l.optional("tds_mg_l").unwrap_or(400.0));
            number(
                format!(
                    "pH {}, {} °C, calcium hardness {}, alkalinity {} mg/L",
                    l.text("ph"),
                    l.text("t_c"),
                    l.text("calcium_hardness"),
                    l.text("alkalinity")
                ),
                l.number("printed_index"),
                calcite_index(l.number("t_c"), l.number("ph"), &water),
                2,
                (
                    0.3,
                    "",
                    "simplified index of rounded terms, printed to 0.1; it leaves out ion pairs and lies 0.1-0.2 below a speciation",
                ),
            )
        })
        .collect();
    Section {
        title: "Worked examples of the saturation index",
        source: "a corrosion reference page, an operators' training page, a photometer manual (all read); \
            `reference/published/saturation_index_examples.csv`; dissolved solids, where not printed, taken as 400 mg/L",
        rows,
    }
}

/// The terms of the simplified index: how it moves with temperature, calcium, alkalinity, solids.
pub(crate) fn saturation_factors() -> Section {
    let index =
        |t_c, hardness, alkalinity, tds| calcite_index(t_c, 7.5, &hard_water(hardness, alkalinity, tds));
    let (mut warm, mut cold) = (Worst::default(), Worst::default());
    let (mut calcium, mut alkalinity) = (Worst::default(), Worst::default());
    let base = index(24.4, 150.0, 100.0, 900.0);
    for l in Table::parse(reference_file!("published/saturation_factor_table.csv")).lines() {
        let t = l.number("t_c");
        if t <= 50.0 {
            let moved = index(t, 150.0, 100.0, 900.0) - base;
            let worst = if t > 15.0 { &mut warm } else { &mut cold };
            worst.see(&format!("{t} °C"), moved - (l.number("temperature_factor") - 0.6));
        }
        let hardness = l.number("calcium_hardness");
        if hardness <= 400.0 {
            let moved = index(24.4, hardness, 100.0, 900.0) - base;
            calcium.see(&format!("{hardness} mg/L"), moved - (l.number("calcium_factor") - 1.8));
        }
        let mg_l = l.number("alkalinity");
        if mg_l <= 400.0 {
            let moved = index(24.4, 150.0, mg_l, 900.0) - base;
            alkalinity.see(&format!("{mg_l} mg/L"), moved - (l.number("alkalinity_factor") - 2.0));
        }
    }
    let mut solids = Worst::default();
    let fresh = index(25.0, 20.0, 20.0, 100.0);
    for l in Table::parse(reference_file!("published/langelier_tds_constant.csv")).lines() {
        let tds = l.number("tds_mg_l");
        if tds >= 100.0 {
            let moved = fresh - index(25.0, 20.0, 20.0, tds);
            solids.see(&format!("{tds} mg/L"), moved - (l.number("constant_b") - 9.77));
        }
    }
    let mut constant = Worst::default();
    for l in Table::parse(reference_file!("published/langelier_constants.csv")).lines() {
        if l.number("ionic_strength") > 0.0 {
            continue;
        }
        for t in ["0", "10", "20", "30", "40"] {
            let at = Celsius(t.parse().expect("a temperature"));
            let ours = constants::BICARBONATE.at(at) + constants::CALCITE.at(at);
            constant.see(&format!("{t} °C"), ours - l.number(&format!("c_{t}c")));
        }
    }
    Section {
        title: "Terms of the simplified saturation index",
        source: "Montana ARM 37.115 (superseded version, read); US Army TM 5-813-3, table 2-5 (read); Davis, Water and Wastewater \
            Engineering, table 7-5 (read; its activity term, 0.40 at an ionic strength of 0.014, is 1.6 times any Debye-Hückel \
            law's and is not compared)",
        rows: vec![
            warm.row(
                "change from 24.4 to 15.6-40.6 °C, against the factor table",
                (0.1, "", "printed to 0.1; older solubility and dissociation constants"),
            ),
            cold.row(
                "change from 24.4 to 0-11.7 °C, against the factor table",
                (0.25, "", "as above: the older constants are 0.20 off at 0 °C (last row of this table)"),
            ),
            calcium.row(
                "change with calcium hardness, 5-400 mg/L, against the factor table",
                (0.1, "", "printed to 0.1; the table has no ion pairs"),
            ),
            alkalinity.row(
                "change with alkalinity, 5-400 mg/L, against the factor table",
                (0.12, "", "printed to 0.1; the table has no ion pairs, and hydroxide and carbonate have a share of a small alkalinity"),
            ),
            solids.row(
                "change with dissolved solids, 100-1000 mg/L, against the army manual",
                (0.1, "", "printed to 0.01, but a fit linear in log solids; the solids here are sodium chloride"),
            ),
            constant.row(
                "pK2 - pKs at 0-40 °C, against the textbook table",
                (0.21, "", "older constants: 2.45 against 2.25 at 0 °C, 2.02 against 1.92 at 20 °C, 1.68 against 1.64 at 40 °C"),
            ),
        ],
    }
}
