//! Conductivity at 25 °C beside primary standards and the reference library's diffusion-based figure.

use super::{Row, Section, Table, Worst, f, json, list, percent, reference_file, text, totals};
use water::conductivity::specific_conductance_25c_us_cm;
use water::{Celsius, Equilibria, Totals, activity::water_density_kg_l};

fn at_25() -> Equilibria {
    Equilibria::at(Celsius(25.0)).expect("25 °C is in range")
}

fn ours(t: &Totals) -> f64 {
    specific_conductance_25c_us_cm(&at_25().solve(t).expect("a salt solution solves"))
}

/// Printed conductivities of single salts.
pub(crate) fn standards() -> Section {
    let table = Table::parse(reference_file!("published/conductivity_standards.csv"));
    let rows: Vec<Row> = table
        .lines()
        .filter(|l| l.number("t_c") == 25.0)
        .map(|l| {
            let salt = l.text("salt");
            let potassium = salt == "potassium_chloride";
            let c = l.number("concentration");
            // mol/L to mol/kg of water: a litre of salt water holds its density less the salt (density and molar volume from memory).
            let molal = match l.text("concentration_unit") {
                "mol/kg" => c,
                "mol/L" => c / (water_density_kg_l(Celsius(25.0)) - 0.0178 * c),
                other => panic!("unit {other}"),
            };
            let salt_water = if potassium {
                Totals { potassium: molal, chloride: molal, ..Totals::default() }
            } else {
                Totals { sodium: molal, chloride: molal, ..Totals::default() }
            };
            percent(
                format!("{c} {} {}, µS/cm", l.text("concentration_unit"), salt.replace('_', " ")),
                l.number("conductivity_us_cm"),
                ours(&salt_water),
                1,
                (0.3, "a limiting law with one ion size for all (4 Å) and no fitted number"),
            )
        })
        .collect();
    Section {
        title: "Conductivity of single salts at 25 °C",
        source: "potassium chloride: primary standards of NIST (Wu, Koch & Pratt 1991, J. Res. Natl. Inst. Stand. Technol. 96:191); \
            sodium chloride: CRC Handbook equivalent conductivities, from memory; `reference/published/conductivity_standards.csv`",
        rows,
    }
}

/// The reference library's waters at 25 °C.
pub(crate) fn reference_waters() -> Section {
    let doc = json(reference_file!("conductivity_25c.json"));
    let waters = list(&doc, "waters");
    assert_eq!(waters.len(), 63);
    let (mut salt, mut mixed) = (Worst::default(), Worst::default());
    for w in waters {
        let t = totals(&w["mol_per_kgw"], f(w, "alkalinity_eq_per_kgw"), f(w, "dic_mol_per_kgw"));
        let id = format!("{} ({})", text(w, "id"), text(w, "kind").replace('_', " "));
        let worst = if text(w, "kind") == "pure_sodium_chloride" { &mut salt } else { &mut mixed };
        worst.see_percent(&id, ours(&t), f(w, "spec_conductance_uS_cm"));
    }
    const WHY: &str = "that figure is itself 0.9 % (0.01 mol/kg) to 2.6 % (0.1 mol/kg) below the potassium chloride standards, ours is not";
    Section {
        title: "Conductivity of 63 waters at 25 °C",
        source: "IPhreeqc's conductance from diffusion coefficients; `reference/conductivity_25c.json`",
        rows: vec![
            salt.row("sodium chloride, 0.25 to 6 g/kg", (2.0, "%", WHY)),
            mixed.row("tub waters of all kinds", (2.0, "%", WHY)),
        ],
    }
}
